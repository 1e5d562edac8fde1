//! Labels in several forms, and the name that each means.
use super::types::Name;

/// Ways in which people write the five names; compared as words, ignoring case, digits and punctuation.
/// Common practice, no source.
const FORMS: [(Name, &[&str]); 5] = [
    (Name::Address, &["address", "ball address", "set up", "setup", "ad", "addr"]),
    (
        Name::Takeaway,
        &[
            "takeaway",
            "take away",
            "takeaway start",
            "start of takeaway",
            "start of swing",
            "swing start",
            "start of backswing",
            "backswing start",
            "initiation",
            "move away",
            "ta",
        ],
    ),
    (
        Name::Top,
        &[
            "top",
            "top of backswing",
            "top of the backswing",
            "top of back swing",
            "top of swing",
            "top backswing",
            "end of backswing",
            "transition",
            "tob",
            "tb",
        ],
    ),
    (
        Name::Impact,
        &[
            "impact",
            "ball impact",
            "ball contact",
            "contact",
            "club contact",
            "hit",
            "ball strike",
            "strike",
            "bc",
        ],
    ),
    (
        Name::Finish,
        &[
            "finish",
            "end of follow through",
            "follow through end",
            "end of swing",
            "swing end",
            "finish position",
            "fin",
        ],
    ),
];

/// The words of a label, lower case: split at everything that is not a letter, and where a small letter meets a
/// capital ("BallContact").
pub(super) fn words(label: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut open = false;
    let mut small = false;
    for c in label.chars() {
        if !c.is_alphabetic() {
            open = false;
            small = false;
            continue;
        }
        if !open || (small && c.is_uppercase()) {
            out.push(String::new());
            open = true;
        }
        small = c.is_lowercase();
        if let Some(last) = out.last_mut() {
            last.extend(c.to_lowercase());
        }
    }
    out
}

/// The name that a label means; `None` where it is none of the forms, word for word.
pub fn name_of(label: &str) -> Option<Name> {
    let words = words(label);
    let joined = words.join(" ");
    // "Event impact", "impact event" and "the top" say no more than the name.
    let bare: Vec<&str> =
        words.iter().map(String::as_str).filter(|w| !["event", "the"].contains(w)).collect();
    let bare = bare.join(" ");
    FORMS
        .iter()
        .find(|(_, forms)| forms.contains(&joined.as_str()) || forms.contains(&bare.as_str()))
        .map(|f| f.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_read_word_for_word() {
        for (label, name) in [
            ("Impact", Name::Impact),
            ("BALL CONTACT", Name::Impact),
            ("BallContact", Name::Impact),
            ("ball_contact_1", Name::Impact),
            ("Top of Backswing", Name::Top),
            ("TOB", Name::Top),
            ("take-away", Name::Takeaway),
            ("TakeAway", Name::Takeaway),
            ("Set-up", Name::Address),
            ("address", Name::Address),
            ("FINISH", Name::Finish),
            ("Impact event", Name::Impact),
        ] {
            assert_eq!(name_of(label), Some(name), "{label}");
        }
        for other in ["Foot Strike", "Foot Off", "toptop", "stop", "", "1", "impact of rain", "Heel strike"] {
            assert_eq!(name_of(other), None, "{other}");
        }
    }
}
