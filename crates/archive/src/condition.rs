//! Conditions on metrics as people write them: "up.net.most > 150 %BW".
use crate::error::StudyError;
use formats::rigfile;
use serde::Serialize;
use swing::metrics::{Metric, catalogue};
use view::units::way;

/// A condition on a metric.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Condition {
    /// Id of the metric.
    pub metric: String,
    /// How it is compared.
    pub is: Comparison,
    /// With what: SI, or, where `by_weight`, as a multiple of body weight.
    pub value: f64,
    /// True where the figure over body weight is meant.
    pub by_weight: bool,
}

/// How a figure is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Comparison {
    /// Less than.
    Less,
    /// At most.
    AtMost,
    /// More than.
    More,
    /// At least.
    AtLeast,
}

impl Comparison {
    /// As SQL and people write it.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::More => ">",
            Self::AtLeast => ">=",
        }
    }
}

/// Signs that stand for a comparison; the longer of two that begin alike comes first.
const SIGNS: [(&str, Comparison); 8] = [
    ("<=", Comparison::AtMost),
    ("=<", Comparison::AtMost),
    ("≤", Comparison::AtMost),
    ("<", Comparison::Less),
    (">=", Comparison::AtLeast),
    ("=>", Comparison::AtLeast),
    ("≥", Comparison::AtLeast),
    (">", Comparison::More),
];

impl std::str::FromStr for Condition {
    type Err = StudyError;

    /// Reads "METRIC SIGN VALUE \[UNIT\]", with or without spaces; without a unit the value is SI.
    fn from_str(text: &str) -> Result<Self, StudyError> {
        let refused = |why: &str| StudyError::Refused(format!("\"{}\": {why}", text.trim()));
        let Some(at) = text.find(['<', '>', '=', '≤', '≥']) else {
            return Err(refused("it compares nothing; write METRIC > VALUE UNIT, with <, <=, > or >="));
        };
        let (name, rest) = text.split_at(at);
        let Some((sign, is)) = SIGNS.iter().find(|(sign, _)| rest.starts_with(sign)) else {
            return Err(refused(
                "figures have a ±, so that none equals another; compare with <, <=, > or >=",
            ));
        };
        let metric = metric_called(name.trim())?;
        let rest = rest.get(sign.len()..).unwrap_or_default().trim();
        let Some((value, unit)) = number(rest) else {
            return Err(refused(&format!("\"{rest}\" does not begin with a number, such as 1.5 or −20")));
        };
        let way = way(metric.unit, unit).map_err(|why| refused(&format!("{why} ({})", metric.label)))?;
        let value = value * way.factor;
        Ok(Self { metric: metric.id.clone(), is: *is, value, by_weight: way.by_weight })
    }
}

/// The number that a text begins with, and what follows it. A minus may be the true one.
fn number(text: &str) -> Option<(f64, &str)> {
    let part = |c: char| c.is_ascii_digit() || ['.', '+', '-', '−', 'e', 'E'].contains(&c);
    let end = text.find(|c| !part(c)).unwrap_or(text.len());
    // An "e" may begin a unit: the longest beginning that is a number counts.
    let mut ends: Vec<usize> = text.char_indices().map(|(k, _)| k).filter(|k| *k > 0 && *k < end).collect();
    ends.push(end);
    ends.into_iter().rev().find_map(|end| {
        let (head, tail) = text.split_at_checked(end)?;
        let value: f64 = head.replace('−', "-").parse().ok()?;
        // A comma would part a number in two.
        (value.is_finite() && !tail.starts_with(',')).then_some((value, tail))
    })
}

/// A metric of the catalogue, whatever the case.
///
/// Errors: a name that is not in it, with the nearest that is: one that goes on from it, a slip of the hand, one that holds the same words.
pub fn metric_called(name: &str) -> Result<&'static Metric, StudyError> {
    let known = catalogue();
    if let Some(metric) = known.iter().find(|m| m.id.eq_ignore_ascii_case(name)) {
        return Ok(metric);
    }
    let asked = name.to_lowercase();
    let words: Vec<&str> = asked.split(['.', ' ', '-', '_']).filter(|w| !w.is_empty()).collect();
    let shared =
        |m: &&Metric| words.iter().filter(|w| m.id.split(['.', '-']).any(|part| part == **w)).count();
    let ids = || known.iter().map(|m| m.id.as_str());
    let longer = (!asked.is_empty()).then(|| ids().find(|id| id.starts_with(&format!("{asked}.")))).flatten();
    let slip = || rigfile::nearest(name, ids());
    let alike = || {
        // Of those that share most, the shortest name.
        let best = known.iter().max_by_key(|m| (shared(m), std::cmp::Reverse(m.id.len())));
        best.filter(|m| shared(m) > 0).map(|m| m.id.as_str())
    };
    let near = longer
        .or_else(slip)
        .or_else(alike)
        .map_or_else(String::new, |id| format!("; did you mean \"{id}\"?"));
    Err(StudyError::Unknown { kind: "metric", name: name.to_string(), near })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn read(text: &str) -> (String, Comparison, f64, bool) {
        let c: Condition = text.parse().unwrap();
        (c.metric, c.is, c.value, c.by_weight)
    }

    #[test]
    fn conditions_are_read_as_people_write_them() {
        let up = |is, value, by_weight| ("up.net.most".to_string(), is, value, by_weight);
        assert_eq!(read("up.net.most > 1500"), up(Comparison::More, 1500.0, false));
        assert_eq!(read("UP.NET.MOST>=150%BW"), up(Comparison::AtLeast, 1.5, true));
        assert_eq!(read(" up.net.most ≤ 1.5 kN "), up(Comparison::AtMost, 1500.0, false));
        assert_eq!(read("up.net.most<-1e3 N"), up(Comparison::Less, -1000.0, false));
        let (_, _, value, by_weight) = read("turn.net-cop.most ≥ −0.5 N·m/kg");
        // Per kilogram is per newton of weight times standard gravity, 9.80665 m/s² (BIPM, The SI Brochure).
        assert!((value + 0.5 / 9.80665).abs() < 1e-12 && by_weight);
        assert_eq!(read("tempo < 3").2, 3.0);
    }

    #[test]
    fn what_cannot_be_read_says_why() {
        let why = |text: &str| text.parse::<Condition>().unwrap_err().to_string();
        assert!(why("up.net.most").contains("<, <=, > or >="));
        assert!(why("up.net.most = 3").contains("none equals another"));
        assert!(why("up.net.most > much").contains("\"much\" does not begin with a number"));
        assert!(why("up.net.most > 1,5 N").contains("does not begin with a number"));
        assert!(why("up.net.most > nan").contains("number"));
        assert!(why("up.net.most > 3 kg").contains("units that do: N, kN, %BW, BW"));
        assert!(why("up.net.mots > 3").contains("did you mean \"up.net.most\"?"));
        assert!(why("up.net > 3").contains("did you mean \"up.net.most\"?"));
        assert!(why("turn most > 3").contains("did you mean \"turn."), "{}", why("turn most > 3"));
        assert!(why("weather > 3").ends_with("there is no metric \"weather\""));
    }
}
