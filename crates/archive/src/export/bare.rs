//! What may be told without identity. A text that a person wrote may name somebody, whatever it was meant for: such a text
//! goes out only as far as every word of it is known here; the rest is left out, never mended.
use regex::Regex;
use std::sync::LazyLock;

/// A sex in the usual words.
pub fn sex(text: &str) -> Option<String> {
    let word = text.trim().to_lowercase();
    let known =
        ["f", "m", "w", "x", "d", "female", "male", "woman", "man", "girl", "boy", "diverse", "other"];
    known.contains(&word.as_str()).then_some(word)
}

/// A club by its usual name: "driver", "3-wood", "7 iron", "i7", "pw", "wedge 56".
///
/// Source: common practice, no source.
pub fn club(text: &str) -> Option<String> {
    static USUAL: LazyLock<Option<Regex>> = LazyLock::new(|| {
        let kind = r"(?:driver|d|wood|w|hybrid|h|rescue|utility|u|iron|i|wedge|[pagsl]w|putter|p)";
        Regex::new(&format!(r"^(?:[1-9]\d?[ -]?)?{kind}(?:[ -]?[1-9]\d?)?$")).ok()
    });
    let word = text.trim().to_lowercase();
    USUAL.as_ref().filter(|r| r.is_match(&word)).map(|_| word)
}

/// What was done to the plates, as `view::words::conditioning` says it, without the names of files.
pub fn conditioning(text: &str) -> Option<String> {
    static KNOWN: LazyLock<Option<Regex>> = LazyLock::new(|| {
        let n = r"[−-]?\d+(?:\.\d+)?";
        let low = format!(r"low-pass {n} Hz \(zero-lag Butterworth, order \d+ both ways\)");
        let zero =
            format!(r"zero from the file's ZERO window|zero from {n} to {n} s|zero found in the recording");
        let done =
            format!(r"(?:not done on any plate: )?(?:{zero}|drift removed)(?: \(plate [\d and]+ only\))?");
        Regex::new(&format!(
            r"^(?:as recorded: no zero taken off, unfiltered|gaps up to {n} ms bridged|{done}|(?:forces |moments )?{low}|resampled to {n} Hz)$"
        ))
        .ok()
    });
    let known = |part: &str| KNOWN.as_ref().is_some_and(|r| r.is_match(part));
    let told: Vec<&str> = text
        .split("; ")
        .map(|part| match part {
            part if known(part) => part,
            _ if part.contains("zero from ") => "zero from an empty recording",
            _ => "something that is not told here",
        })
        .collect();
    Some(told.join("; "))
}

/// Outcomes with a usual name; others may be called anything.
///
/// Source: common practice, no source.
pub const OUTCOMES: &[&str] = &[
    "apex",
    "attack-angle",
    "back-spin",
    "ball-speed",
    "carry",
    "carry-side",
    "club-path",
    "clubhead-speed",
    "dynamic-lie",
    "dynamic-loft",
    "face-angle",
    "face-to-path",
    "hang-time",
    "land-angle",
    "launch-angle",
    "launch-direction",
    "low-point",
    "side",
    "side-spin",
    "smash-factor",
    "spin-axis",
    "spin-loft",
    "spin-rate",
    "swing-direction",
    "swing-plane",
    "total",
    "total-side",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_known_words_pass() {
        assert_eq!(club(" 7 Iron"), Some("7 iron".into()));
        for usual in ["driver", "3-wood", "i7", "pw", "wedge 56", "4h"] {
            assert_eq!(club(usual).as_deref(), Some(usual));
        }
        for other in ["Anna's driver", "7 iron (Anna)", "driver\nAnna", "anna", ""] {
            assert_eq!(club(other), None, "{other}");
        }
        assert_eq!((sex("Female"), sex("as Anna says")), (Some("female".into()), None));
        assert!(OUTCOMES.is_sorted());
    }

    /// Every form that `view::words::conditioning` writes, and names of files inside it.
    #[test]
    fn conditioning_loses_names_and_nothing_else() {
        for whole in [
            "as recorded: no zero taken off, unfiltered",
            "gaps up to 5 ms bridged; zero from 0.10 to 0.50 s; drift removed (plate 1 only); low-pass 50 Hz (zero-lag Butterworth, order 4 both ways)",
            "zero found in the recording (plate 1 and 2 only); forces low-pass 50 Hz (zero-lag Butterworth, order 4 both ways); resampled to 500 Hz",
            "not done on any plate: zero from the file's ZERO window; moments low-pass 12.5 Hz (zero-lag Butterworth, order 2 both ways)",
        ] {
            assert_eq!(conditioning(whole).as_deref(), Some(whole));
        }
        let named = conditioning("zero from anna-empty.c3d; drift removed; low-pass Anna Hz");
        assert_eq!(
            named.as_deref(),
            Some("zero from an empty recording; drift removed; something that is not told here")
        );
    }
}
