//! What can go wrong, and how it ends: a sentence, a place, a remedy, an exit code.
use std::fmt;

/// Exit codes. 0 is done; these are the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done, with findings of severity *stop*.
    Findings = 1,
    /// The command was called wrongly.
    Usage = 2,
    /// A file cannot be used.
    Input = 3,
    /// Our bug.
    Bug = 4,
}

/// A failure as the face tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fail {
    /// How it ends.
    pub exit: Exit,
    /// What went wrong, in one line.
    pub what: String,
    /// Where: file, byte, line, channel; may be empty.
    pub place: String,
    /// What to do; may be empty.
    pub remedy: String,
}

impl Fail {
    /// The command was called wrongly.
    pub fn usage(what: impl fmt::Display) -> Self {
        Self::new(Exit::Usage, what)
    }
    /// A file cannot be used.
    pub fn input(what: impl fmt::Display) -> Self {
        Self::new(Exit::Input, what)
    }
    fn new(exit: Exit, what: impl fmt::Display) -> Self {
        Self { exit, what: what.to_string(), place: String::new(), remedy: String::new() }
    }
    /// The same, with a place.
    pub fn at(mut self, place: impl fmt::Display) -> Self {
        self.place = place.to_string();
        self
    }
    /// The same, with a remedy.
    pub fn fix(mut self, remedy: impl fmt::Display) -> Self {
        self.remedy = remedy.to_string();
        self
    }
}

impl fmt::Display for Fail {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "error: {}", self.what)?;
        if !self.place.is_empty() {
            write!(f, "\nwhere: {}", self.place)?;
        }
        if !self.remedy.is_empty() {
            write!(f, "\ndo:    {}", self.remedy)?;
        }
        Ok(())
    }
}

impl std::error::Error for Fail {}
