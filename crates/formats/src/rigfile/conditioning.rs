//! `[conditioning]`: what is done to a rig's recordings before accounts are formed.
use super::error::{RigError, RigFault, Step};
use super::schema::Source;
use mechanics::{Conditioning, Drift, LowPass, Zero};
use serde::{Deserialize, Deserializer};

/// `[conditioning]` as written; what is left out is not done.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConditioningEntry {
    /// What counts as zero.
    pub zero: Option<ZeroEntry>,
    /// What happens to drift.
    pub drift: Option<DriftWord>,
    /// Longest gap that is bridged, ms.
    pub bridge_gaps_ms: Option<f64>,
    /// Cut-off of force and moment alike, Hz.
    pub low_pass_hz: Option<f64>,
    /// Cut-off of the forces, Hz.
    pub force_low_pass_hz: Option<f64>,
    /// Cut-off of the moments, Hz.
    pub moment_low_pass_hz: Option<f64>,
    /// Order of one of the two passes.
    pub order: Option<usize>,
    /// Samples a second afterwards.
    pub resample_hz: Option<f64>,
}

/// What counts as zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ZeroEntry {
    /// "none"
    Nothing,
    /// "file"
    FileWindow,
    /// "found"
    Found,
    /// [0.0, 0.5]
    Interval(f64, f64),
}

/// What happens to drift.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DriftWord {
    /// It stays.
    Keep,
    /// It is taken off.
    Remove,
}

impl<'de> Deserialize<'de> for ZeroEntry {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Visitor;
        const WORDS: &str = "\"none\", \"file\", \"found\", or an interval in seconds such as [0.0, 0.5]";
        impl<'de> serde::de::Visitor<'de> for Visitor {
            type Value = ZeroEntry;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(WORDS)
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<ZeroEntry, E> {
                match text {
                    "none" => Ok(ZeroEntry::Nothing),
                    "file" => Ok(ZeroEntry::FileWindow),
                    "found" => Ok(ZeroEntry::Found),
                    _ => Err(E::custom(format!("\"{text}\" is no zero; write {WORDS}"))),
                }
            }
            fn visit_seq<A: serde::de::SeqAccess<'de>>(self, seq: A) -> Result<ZeroEntry, A::Error> {
                let ends = serde::de::value::SeqAccessDeserializer::new(seq);
                <[f64; 2]>::deserialize(ends).map(|[from, to]| ZeroEntry::Interval(from, to))
            }
        }
        input.deserialize_any(Visitor)
    }
}

impl ConditioningEntry {
    /// What is to be done.
    ///
    /// Errors: a cut-off, order, rate or interval that cannot be, with its line. Whether a cut-off fits a recording's
    /// rate shows only there.
    pub(super) fn resolve(&self, source: &Source) -> Result<Conditioning, RigError> {
        let fail = |key: &'static str, why: &str| {
            let fault = RigFault::Value { what: format!("conditioning.{key}"), why: why.into() };
            Err(source.fail(&[Step::Key("conditioning"), Step::Key(key)], fault))
        };
        for (key, value) in [
            ("low_pass_hz", self.low_pass_hz),
            ("force_low_pass_hz", self.force_low_pass_hz),
            ("moment_low_pass_hz", self.moment_low_pass_hz),
            ("resample_hz", self.resample_hz),
        ] {
            if value.is_some_and(|v| !(v > 0.0 && v < 1e6)) {
                return fail(key, "state a frequency in Hz, more than 0");
            }
        }
        let order = self.order.unwrap_or(LowPass::ORDER);
        if !(1..=8).contains(&order) {
            return fail(
                "order",
                "state the order of one pass, 1 to 8; 2 is usual and gives order 4 both ways",
            );
        }
        let bridge_ms = self.bridge_gaps_ms.unwrap_or(0.0);
        if !(0.0..=1000.0).contains(&bridge_ms) {
            return fail("bridge_gaps_ms", "state milliseconds between 0 and 1000");
        }
        let zero = match self.zero.unwrap_or(ZeroEntry::Nothing) {
            ZeroEntry::Nothing => Zero::Nothing,
            ZeroEntry::FileWindow => Zero::FileWindow,
            ZeroEntry::Found => Zero::Found,
            ZeroEntry::Interval(from, to) if from.is_finite() && to.is_finite() && from < to => {
                Zero::Interval(from, to)
            }
            ZeroEntry::Interval(..) => return fail("zero", "state [from, to] in seconds, from before to"),
        };
        let pass =
            |own: Option<f64>| own.or(self.low_pass_hz).map(|cut_off_hz| LowPass { order, cut_off_hz });
        Ok(Conditioning {
            bridge_s: bridge_ms / 1000.0,
            zero,
            drift: match self.drift {
                Some(DriftWord::Remove) => Drift::Removed,
                Some(DriftWord::Keep) | None => Drift::Kept,
            },
            force: pass(self.force_low_pass_hz),
            moment: pass(self.moment_low_pass_hz),
            resample_hz: self.resample_hz,
        })
    }

    /// The lines of the table: key, value, meaning.
    pub(super) fn lines(&self) -> Vec<(&'static str, Option<String>, &'static str)> {
        let number = |v: Option<f64>| v.map(|v| format!("{v:?}"));
        let word = |w: &str| Some(format!("\"{w}\""));
        vec![
            (
                "zero",
                self.zero.and_then(|zero| match zero {
                    ZeroEntry::Nothing => word("none"),
                    ZeroEntry::FileWindow => word("file"),
                    ZeroEntry::Found => word("found"),
                    ZeroEntry::Interval(from, to) => Some(format!("[{from:?}, {to:?}]")),
                }),
                "zero of the plates: none, the file's ZERO window, found, or an interval, s",
            ),
            (
                "drift",
                self.drift.and_then(|d| word(if d == DriftWord::Keep { "keep" } else { "remove" })),
                "drift between an empty interval early and one late",
            ),
            ("bridge_gaps_ms", number(self.bridge_gaps_ms), "longest gap that is bridged"),
            ("low_pass_hz", number(self.low_pass_hz), "cut-off, both passes together, forces and moments"),
            ("force_low_pass_hz", number(self.force_low_pass_hz), "cut-off of the forces"),
            ("moment_low_pass_hz", number(self.moment_low_pass_hz), "cut-off of the moments"),
            ("order", self.order.map(|o| o.to_string()), "of one of the two passes"),
            ("resample_hz", number(self.resample_hz), "samples a second afterwards"),
        ]
    }
}

impl ConditioningEntry {
    /// A choice as a table; `None` where nothing is done. A zero taken from a recording of empty plates cannot be
    /// written down and is left out.
    pub fn of(how: &Conditioning) -> Option<Self> {
        let cut_off = |pass: Option<LowPass>| pass.map(|p| p.cut_off_hz);
        let entry = Self {
            zero: match how.zero {
                Zero::Nothing | Zero::Empty(_) => None,
                Zero::FileWindow => Some(ZeroEntry::FileWindow),
                Zero::Found => Some(ZeroEntry::Found),
                Zero::Interval(from, to) => Some(ZeroEntry::Interval(from, to)),
            },
            drift: (how.drift == Drift::Removed).then_some(DriftWord::Remove),
            bridge_gaps_ms: (how.bridge_s > 0.0).then_some(how.bridge_s * 1000.0),
            low_pass_hz: None,
            force_low_pass_hz: cut_off(how.force),
            moment_low_pass_hz: cut_off(how.moment),
            order: how.force.or(how.moment).map(|p| p.order),
            resample_hz: how.resample_hz,
        };
        (entry != Self::default()).then_some(entry)
    }
}
