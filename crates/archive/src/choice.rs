//! A choice of swings as a line of text: "player=alder session=3", and as words for a question: "alder in session 3".
use crate::condition::Condition;
use crate::error::StudyError;
use crate::people::{key, near};
use crate::select::Selection;
use std::collections::BTreeSet;

/// What a choice may state, in the order in which it is told.
const KEYS: [&str; 11] =
    ["player", "session", "swing", "club", "from", "to", "plates", "rig", "tag", "finding", "where"];

/// The longest stretch of swing numbers.
const MOST: i64 = 100_000;

impl std::str::FromStr for Selection {
    type Err = StudyError;

    /// Reads `key=value` parts, the keys those of a command's options: player, session, swing (7 or 3-9), club, from, to, plates
    /// (one, two), rig, tag, finding, where, and the word no-stops. Several values are parted by commas; a value with spaces
    /// stands in quotes.
    ///
    /// Errors: a part that is none of them, with what would fit. Names are looked up when the swings are asked for.
    fn from_str(text: &str) -> Result<Self, StudyError> {
        let mut all = Self::default();
        for part in parts(text)? {
            if part == "no-stops" {
                all.no_stops = true;
                continue;
            }
            let refused = |why: &str| StudyError::Refused(format!("\"{part}\": {why}"));
            let Some((name, value)) = part.split_once('=') else {
                return Err(refused(
                    "a choice of swings reads KEY=VALUE, for example session=3 or \"player=alder club=driver\"",
                ));
            };
            let name = name.trim().to_lowercase();
            let words: Vec<String> =
                value.split(',').map(|w| w.trim().to_string()).filter(|w| !w.is_empty()).collect();
            if words.is_empty() {
                return Err(refused("nothing stands after the ="));
            }
            let one = || match words.as_slice() {
                [only] => Ok(only.clone()),
                _ => Err(refused("there can be only one of it")),
            };
            match name.as_str() {
                "player" => all.players.extend(words),
                "club" => all.clubs.extend(words),
                "rig" => all.rigs.extend(words),
                "tag" => all.tags.extend(words),
                "finding" => all.findings.extend(words),
                "session" => {
                    for word in words {
                        all.sessions.extend(
                            stretch(&word)
                                .ok_or_else(|| refused("a session is a number, or a stretch such as 3-9"))?,
                        );
                    }
                }
                "swing" => {
                    for word in words {
                        all.swings.extend(
                            stretch(&word)
                                .ok_or_else(|| refused("a swing is a number, or a stretch such as 3-9"))?,
                        );
                    }
                }
                "from" => all.from = Some(crate::date::day(&one()?)?),
                "to" => all.to = Some(crate::date::day(&one()?)?),
                "plates" => {
                    all.feet = Some(match one()?.to_lowercase().as_str() {
                        "one" | "1" => 1,
                        "two" | "2" => 2,
                        _ => return Err(refused("plates are one or two")),
                    });
                }
                // A condition holds its own signs of comparison.
                "where" => all.metrics.push(value.trim().parse::<Condition>()?),
                _ => return Err(near("choice", &name, KEYS.into_iter())),
            }
        }
        Ok(all)
    }
}

/// The parts of a line: parted by spaces, but not within quotes, which are taken off.
fn parts(text: &str) -> Result<Vec<String>, StudyError> {
    let (mut parts, mut part, mut quote) = (Vec::new(), String::new(), None);
    for c in text.chars() {
        match quote {
            Some(q) if c == q => quote = None,
            None if c == '"' || c == '\'' => quote = Some(c),
            None if c.is_whitespace() => {
                if !part.is_empty() {
                    parts.push(std::mem::take(&mut part));
                }
            }
            _ => part.push(c),
        }
    }
    if quote.is_some() {
        return Err(StudyError::Refused(format!("\"{text}\": a quotation mark is not closed")));
    }
    if !part.is_empty() {
        parts.push(part);
    }
    Ok(parts)
}

/// "7" or "3-9".
fn stretch(text: &str) -> Option<std::ops::RangeInclusive<i64>> {
    let number = |part: &str| part.trim().parse::<i64>().ok().filter(|n| *n > 0);
    let (first, last) = text.split_once(['-', '–']).unwrap_or((text, text));
    let (first, last) = (number(first)?, number(last)?);
    (first <= last && last - first < MOST).then_some(first..=last)
}

impl Selection {
    /// Swings to which both choices apply.
    ///
    /// Errors: two lists of the same kind that share nothing, or two lists of findings, of which a swing need have only one each.
    pub fn and(&self, other: &Self) -> Result<Self, StudyError> {
        let words = |kind: &str, a: &[String], b: &[String]| -> Result<Vec<String>, StudyError> {
            shared(kind, a, b, |word| key(word))
        };
        let later = |a: &Option<String>, b: &Option<String>| a.clone().max(b.clone());
        let earlier = |a: &Option<String>, b: &Option<String>| match (a, b) {
            (Some(a), Some(b)) => Some(a.min(b).clone()),
            _ => a.clone().or_else(|| b.clone()),
        };
        let feet = match (self.feet, other.feet) {
            (Some(a), Some(b)) if a != b => {
                return Err(StudyError::Refused("no swing is on one plate and on two".into()));
            }
            (a, b) => a.or(b),
        };
        if !self.findings.is_empty() && !other.findings.is_empty() && self.findings != other.findings {
            return Err(StudyError::Refused(
                "findings can be asked for of both choices together, or of each alone".into(),
            ));
        }
        let mut tags = self.tags.clone();
        tags.extend(other.tags.iter().filter(|t| !self.tags.contains(t)).cloned());
        let mut metrics = self.metrics.clone();
        metrics.extend(other.metrics.iter().filter(|m| !self.metrics.contains(m)).cloned());
        Ok(Self {
            swings: shared("swing", &self.swings, &other.swings, |n| *n)?,
            players: words("player", &self.players, &other.players)?,
            sessions: shared("session", &self.sessions, &other.sessions, |n| *n)?,
            clubs: words("club", &self.clubs, &other.clubs)?,
            from: later(&self.from, &other.from),
            to: earlier(&self.to, &other.to),
            feet,
            rigs: words("rig", &self.rigs, &other.rigs)?,
            findings: if self.findings.is_empty() { other.findings.clone() } else { self.findings.clone() },
            no_stops: self.no_stops || other.no_stops,
            tags,
            metrics,
        })
    }

    /// The choice in words, as it stands in a question: "alder in session 3, driver".
    pub fn words(&self) -> String {
        let mut said = Vec::new();
        let of = if self.players.is_empty() { String::new() } else { listed(&self.players) };
        let sessions = match self.sessions.as_slice() {
            [] => String::new(),
            [one] => format!("session {one}"),
            more => format!("sessions {}", numbers(more)),
        };
        match (of.is_empty(), sessions.is_empty()) {
            (false, false) => said.push(format!("{of} in {sessions}")),
            (false, true) => said.push(of),
            (true, false) => said.push(sessions),
            (true, true) => {}
        }
        match self.swings.as_slice() {
            [] => {}
            [one] => said.push(format!("swing {one}")),
            more => said.push(format!("swings {}", numbers(more))),
        }
        if !self.clubs.is_empty() {
            said.push(listed(&self.clubs));
        }
        match (&self.from, &self.to) {
            (Some(a), Some(b)) if a == b => said.push(format!("on {a}")),
            (Some(a), Some(b)) => said.push(format!("from {a} to {b}")),
            (Some(a), None) => said.push(format!("from {a} on")),
            (None, Some(b)) => said.push(format!("up to {b}")),
            (None, None) => {}
        }
        if let Some(feet) = self.feet {
            said.push(if feet == 1 {
                "feet on one plate".into()
            } else {
                "a plate for each foot".to_string()
            });
        }
        if !self.rigs.is_empty() {
            said.push(format!("rig {}", listed(&self.rigs)));
        }
        if !self.tags.is_empty() {
            said.push(format!("tagged {}", listed(&self.tags)));
        }
        if !self.findings.is_empty() {
            said.push(format!("with finding {}", listed(&self.findings)));
        }
        if self.no_stops {
            said.push("without a stop".into());
        }
        for condition in &self.metrics {
            let by = if condition.by_weight { " of body weight" } else { "" };
            said.push(format!("{} {} {}{by}", condition.metric, condition.is.sign(), condition.value));
        }
        if said.is_empty() { "all swings".into() } else { said.join(", ") }
    }
}

/// What two lists have in common; an empty list asks for nothing.
fn shared<T: Clone, K: Ord>(
    kind: &str,
    a: &[T],
    b: &[T],
    key: impl Fn(&T) -> K,
) -> Result<Vec<T>, StudyError> {
    if a.is_empty() || b.is_empty() {
        return Ok(if a.is_empty() { b.to_vec() } else { a.to_vec() });
    }
    let theirs: BTreeSet<K> = b.iter().map(&key).collect();
    let both: Vec<T> = a.iter().filter(|x| theirs.contains(&key(x))).cloned().collect();
    if both.is_empty() {
        return Err(StudyError::Refused(format!("no {kind} is in both choices")));
    }
    Ok(both)
}

/// "alder", "alder and birch", "alder, birch and cedar", "alder, birch and 7 others".
fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first, second] => format!("{first} and {second}"),
        [first, second, third] => format!("{first}, {second} and {third}"),
        [first, second, rest @ ..] => format!("{first}, {second} and {} others", rest.len()),
    }
}

/// "3", "3 to 9", "3, 5 to 7 and 9".
fn numbers(list: &[i64]) -> String {
    let mut list = list.to_vec();
    list.sort_unstable();
    list.dedup();
    let mut runs: Vec<(i64, i64)> = Vec::new();
    for n in list {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == n => *last = n,
            _ => runs.push((n, n)),
        }
    }
    let told: Vec<String> =
        runs.iter().map(|(a, b)| if a == b { a.to_string() } else { format!("{a} to {b}") }).collect();
    listed(&told)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn a_line_says_what_options_say() {
        let of = |text: &str| text.parse::<Selection>();
        let found = of("player=alder,birch session=3-5 club='7 iron' plates=two no-stops where=\"up.net.most > 150 %BW\"").unwrap();
        assert_eq!(found.players, ["alder", "birch"]);
        assert_eq!(found.sessions, [3, 4, 5]);
        assert_eq!(found.clubs, ["7 iron"]);
        assert_eq!((found.feet, found.no_stops, found.metrics.len()), (Some(2), true, 1));
        assert_eq!(of("").unwrap(), Selection::default());
        for (wrong, hint) in [
            ("alder", "KEY=VALUE"),
            ("playr=alder", "player"),
            ("session=x", "number"),
            ("plates=3", "one or two"),
            ("club='7 iron", "not closed"),
            ("from=2026-05-01,2026-06-01", "only one"),
            ("tag=", "nothing"),
        ] {
            let told = of(wrong).unwrap_err().to_string();
            assert!(told.contains(hint), "{wrong}: {told}");
        }
    }

    #[test]
    fn both_choices_apply() {
        let of = |text: &str| text.parse::<Selection>().unwrap();
        let both = of("session=3 tag=warm").and(&of("player=alder tag=cold from=2026-05-01")).unwrap();
        assert_eq!(both, of("player=alder session=3 tag=warm,cold from=2026-05-01"));
        assert_eq!(of("player=Alder,birch").and(&of("player=alder")).unwrap().players, ["Alder"]);
        assert_eq!(
            of("from=2026-05-01 to=2026-07-01").and(&of("from=2026-06-01 to=2026-06-30")).unwrap(),
            of("from=2026-06-01 to=2026-06-30")
        );
        assert!(of("session=3").and(&of("session=4")).is_err());
        assert!(of("plates=one").and(&of("plates=two")).is_err());
    }

    #[test]
    fn in_words() {
        let of = |text: &str| text.parse::<Selection>().unwrap().words();
        assert_eq!(of(""), "all swings");
        assert_eq!(of("player=alder session=3 club=driver"), "alder in session 3, driver");
        assert_eq!(of("swing=3-5,7"), "swings 3 to 5 and 7");
        assert_eq!(of("player=a,b,c,d plates=one"), "a, b and 2 others, feet on one plate");
        assert_eq!(of("from=2026-05-01 to=2026-05-01"), "on 2026-05-01");
    }
}
