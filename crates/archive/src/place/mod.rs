//! Where a recording belongs: said by a manifest, by the names of folders and files, or by a person for all of them.
pub mod clock;
pub mod manifest;
pub mod pattern;
pub mod plan;

use crate::outcomes::Given;
use std::path::Path;

pub use manifest::Manifest;
pub use pattern::Pattern;

/// What is said of a recording.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stated {
    /// Alias of the player.
    pub player: Option<String>,
    /// Day, ISO.
    pub date: Option<String>,
    /// Time of day, ISO.
    pub time: Option<String>,
    /// Club.
    pub club: Option<String>,
    /// Number in its session.
    pub number: Option<i64>,
    /// A session that is in the study.
    pub session: Option<i64>,
    /// Name of a rig.
    pub rig: Option<String>,
    /// Target, as `--target` takes it.
    pub target: Option<String>,
    /// Body mass, kg.
    pub mass_kg: Option<f64>,
    /// Tags.
    pub tags: Vec<String>,
    /// Free text.
    pub note: Option<String>,
    /// Outcomes.
    pub given: Vec<Given>,
}

impl Stated {
    /// This, and where it says nothing, the other. Tags of both.
    pub fn over(self, other: &Self) -> Self {
        let mut tags = self.tags;
        tags.extend(other.tags.iter().filter(|t| !tags.contains(t)).cloned().collect::<Vec<_>>());
        Self {
            player: self.player.or_else(|| other.player.clone()),
            date: self.date.or_else(|| other.date.clone()),
            time: self.time.or_else(|| other.time.clone()),
            club: self.club.or_else(|| other.club.clone()),
            number: self.number.or(other.number),
            session: self.session.or(other.session),
            rig: self.rig.or_else(|| other.rig.clone()),
            target: self.target.or_else(|| other.target.clone()),
            mass_kg: self.mass_kg.or(other.mass_kg),
            tags,
            note: self.note.or_else(|| other.note.clone()),
            given: if self.given.is_empty() { other.given.clone() } else { self.given },
        }
    }

    /// What two sources say differently of who and when: "player P01, P02".
    fn differs(&self, other: &Self) -> Option<String> {
        let two = |what: &str, a: Option<&str>, b: Option<&str>| match (a, b) {
            (Some(a), Some(b)) if !a.eq_ignore_ascii_case(b) => Some(format!("{what} {a}, {b}")),
            _ => None,
        };
        two("player", self.player.as_deref(), other.player.as_deref())
            .or_else(|| two("day", self.date.as_deref(), other.date.as_deref()))
    }
}

/// Everything that says where recordings belong, the first before the next.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    /// A table with a row a file.
    pub manifest: Option<Manifest>,
    /// How names of folders and files are to be read.
    pub pattern: Option<Pattern>,
    /// What holds for all where nothing else says it.
    pub plain: Stated,
}

/// A recording of which it is not said where it belongs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misplaced {
    /// Recordings that go nowhere for the same reason are alike in it.
    pub kind: String,
    /// Why, in one line.
    pub why: String,
    /// A drawing under it, or nothing.
    pub drawing: String,
}

impl Misplaced {
    /// In one line.
    pub fn new(why: impl Into<String>) -> Self {
        let why = why.into();
        Self { kind: why.clone(), why, drawing: String::new() }
    }
}

impl Sources {
    /// What is said of a file, and what its sources say differently (the first holds).
    ///
    /// Errors: a file that neither manifest nor pattern speaks of, where there is one.
    pub fn of(&self, path: &Path) -> Result<(Stated, Option<String>), Misplaced> {
        let row = self.manifest.as_ref().map(|m| m.row(path)).transpose()?.flatten();
        let read = self.pattern.as_ref().map(|p| p.read(path));
        match (row, read) {
            (Some(row), Some(Ok(named))) => {
                let differs = row.differs(&named);
                Ok((row.clone().over(&named).over(&self.plain), differs))
            }
            (Some(row), _) => Ok((row.clone().over(&self.plain), None)),
            (None, Some(Ok(named))) => Ok((named.over(&self.plain), None)),
            (None, Some(Err(misfit))) => Err(Misplaced {
                kind: misfit.kind,
                why: format!("its name does not fit the pattern: {}", misfit.why),
                drawing: misfit.drawing,
            }),
            (None, None) if self.manifest.is_some() => Err(Misplaced::new("the manifest has no row for it")),
            (None, None) => Ok((self.plain.clone(), None)),
        }
    }
}
