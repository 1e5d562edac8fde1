//! Findings: what a careful reader of the recording would want to be told.
//!
//! Every kind of finding is one row of [`CATALOGUE`] (`catalogue.rs`); manuals, screens and exports are printed
//! from it.
//! A function of the core that cannot fail returns a value *and* its findings ([`Checked`]).
mod catalogue;

pub use catalogue::*;

/// How much a finding matters. Ordered: a note is less than a doubt is less than a stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; the numbers stand.
    Note,
    /// The numbers may be off; read on before trusting them.
    Doubt,
    /// The numbers named are wrong or undecided until the remedy is applied.
    Stop,
}

/// Which numbers a finding puts in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Touch {
    /// Vertical forces.
    Up,
    /// Horizontal forces.
    Shear,
    /// Centres of pressure.
    Cop,
    /// Turn and free moments.
    Turn,
    /// Which foot did what: lead and trail.
    Split,
    /// The signs of toe and turn.
    Signs,
    /// Anything in %BW.
    Weight,
    /// Rates, impulses and instants.
    Time,
    /// All of them.
    Everything,
}

impl Touch {
    /// All, in the order in which they are told.
    pub const ALL: [Self; 9] = [
        Self::Up,
        Self::Shear,
        Self::Cop,
        Self::Turn,
        Self::Split,
        Self::Signs,
        Self::Weight,
        Self::Time,
        Self::Everything,
    ];
}

/// One row of the catalogue: a kind of finding.
#[derive(Debug, PartialEq, Eq)]
pub struct Kind {
    /// Stable code, never reused. F: files, R: rigs, Q: quality of the recording.
    pub code: &'static str,
    /// Stable name for machines.
    pub name: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// One line for people.
    pub title: &'static str,
    /// Which numbers it touches, and why it matters.
    pub why: &'static str,
    /// What the user can do.
    pub remedy: &'static str,
    /// Which numbers it puts in doubt; empty where the numbers stand.
    pub touches: &'static [Touch],
    /// Where the rule comes from.
    pub source: &'static str,
}

/// One finding in one recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The row of the catalogue.
    pub kind: &'static Kind,
    /// Index of the plate it concerns, if one.
    pub plate: Option<usize>,
    /// The plate's name, where the rig gives it one that is more than its number.
    pub plate_name: Option<String>,
    /// From and to, in seconds of the recording, if it has a place in time.
    pub span_s: Option<(f64, f64)>,
    /// What was seen, against what was expected, with figures and place (file part, channel, line).
    pub seen: String,
    /// The remedy worked out for this recording (lines of a rig file, an option), told instead of the catalogue's.
    pub remedy_here: Option<String>,
}

impl Finding {
    /// A finding about the whole recording.
    pub fn new(kind: &'static Kind, seen: impl Into<String>) -> Self {
        Self { kind, plate: None, plate_name: None, span_s: None, seen: seen.into(), remedy_here: None }
    }
    /// The same, about one plate (index from 0).
    pub fn on_plate(mut self, plate: usize) -> Self {
        self.plate = Some(plate);
        self
    }
    /// The same, knowing its plate's name. A name that is the plate's number says nothing.
    pub fn naming(mut self, plates: &[crate::Plate]) -> Self {
        if let Some(plate) = self.plate {
            let name = plates.get(plate).map(|p| p.name.as_str());
            self.plate_name = name.filter(|n| *n != (plate + 1).to_string()).map(str::to_string);
        }
        self
    }
    /// The same, with a remedy worked out for this recording.
    pub fn with_remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy_here = Some(remedy.into());
        self
    }
    /// What the user can do: the remedy worked out for this recording, else the catalogue's.
    pub fn remedy(&self) -> &str {
        self.remedy_here.as_deref().unwrap_or(self.kind.remedy)
    }
    /// True where this finding puts numbers of the sort asked for in doubt: a doubt or a stop that touches them.
    /// Metrics ask it, so that a metric says what touches it. A note leaves the numbers standing.
    pub fn touches(&self, asked: &[Touch]) -> bool {
        let touched = self.kind.touches;
        self.kind.severity > Severity::Note
            && (touched.contains(&Touch::Everything) || touched.iter().any(|t| asked.contains(t)))
    }
    /// The same, with a place in time (seconds).
    pub fn during(mut self, from_s: f64, to_s: f64) -> Self {
        self.span_s = Some((from_s, to_s));
        self
    }
}

/// A value and what was noticed on the way to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked<T> {
    /// The value; NaN inside it where something is not defined.
    pub value: T,
    /// Findings in the order in which they were made.
    pub findings: Vec<Finding>,
}

impl<T> Checked<T> {
    /// A value with nothing to say about it.
    pub fn clean(value: T) -> Self {
        Self { value, findings: Vec::new() }
    }
    /// Goes on with the value, keeping both lists of findings in order.
    pub fn then<U>(self, next: impl FnOnce(T) -> Checked<U>) -> Checked<U> {
        let mut findings = self.findings;
        let mut out = next(self.value);
        findings.append(&mut out.findings);
        Checked { value: out.value, findings }
    }
    /// Takes the value out and appends the findings to `into`.
    pub fn take(mut self, into: &mut Vec<Finding>) -> T {
        into.append(&mut self.findings);
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_warns_says_of_what() {
        for kind in CATALOGUE.iter().filter(|k| k.severity > Severity::Note) {
            assert!(!kind.touches.is_empty(), "{} touches nothing", kind.code);
        }
    }

    #[test]
    fn a_note_touches_no_metric_and_everything_touches_all() {
        let swapped = Finding::new(&FEET_SWAPPED, "");
        assert!(swapped.touches(&[Touch::Up, Touch::Split]) && !swapped.touches(&[Touch::Up, Touch::Time]));
        assert!(Finding::new(&NOTHING_LOADED, "").touches(&[Touch::Time]));
        assert!(!Finding::new(&FILE_RATE_FROM_HEADER, "").touches(&[Touch::Time]));
    }

    #[test]
    fn codes_and_names_are_unique_and_in_order() {
        for pair in CATALOGUE.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let family = |k: &Kind| "FRQ".find(&k.code[..1]);
            assert!((family(a), a.code) < (family(b), b.code), "{} then {}", a.code, b.code);
        }
        let mut names: Vec<_> = CATALOGUE.iter().map(|k| k.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), CATALOGUE.len());
    }
}
