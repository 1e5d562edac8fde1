//! What can be wrong with a rig file, and on which line.
use super::schema::Source;
use toml::de::{DeTable, DeValue};

/// Why a rig file cannot be used: where, what, and what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}{fault}", place(.file, .line))]
pub struct RigError {
    /// Name of the rig file; empty for a rig made in memory.
    pub file: String,
    /// Line in it, from 1; `None` where the fault is in what is not there.
    pub line: Option<usize>,
    /// What is wrong.
    pub fault: Box<RigFault>,
}

fn place(file: &str, line: &Option<usize>) -> String {
    match (file.is_empty(), line) {
        (false, Some(line)) => format!("{file}, line {line}: "),
        (false, None) => format!("{file}: "),
        (true, Some(line)) => format!("line {line}: "),
        (true, None) => String::new(),
    }
}

/// Kinds of fault. `plate` is the plate's name as people say it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RigFault {
    /// Not TOML, an unknown key, or a value of the wrong kind.
    #[error("{message}{hint}")]
    Syntax {
        /// What the reader says.
        message: String,
        /// A suggestion, or nothing.
        hint: String,
    },
    /// The recording has no such channel.
    #[error("{what}: the recording has no channel {wanted}; {near}")]
    NoChannel {
        /// Which plate and which of its channels.
        what: String,
        /// As written.
        wanted: String,
        /// The nearest names there are.
        near: String,
    },
    /// One channel is used for two things in one plate.
    #[error("{what}: channel \"{label}\" is already used for {other}; each needs a channel of its own")]
    ChannelTwice {
        /// Which plate and which of its channels.
        what: String,
        /// The channel.
        label: String,
        /// The earlier use.
        other: String,
    },
    /// Nobody says where the plate lies.
    #[error(
        "plate {plate}: {missing} missing; state corners_m (four corners), or size_m, centre_m, angle_deg and z"
    )]
    NoGeometry {
        /// The plate.
        plate: String,
        /// What is not there.
        missing: String,
    },
    /// The corners make a plate whose z points the other way than stated.
    #[error(
        "plate {plate}: z = \"{stated}\" but the corners in this order make z point {found}; list them as (+x,+y), (-x,+y), (-x,-y), (+x,-y) of the plate's own axes: with z down they run clockwise seen from above"
    )]
    NormalContradictsZ {
        /// The plate.
        plate: String,
        /// As stated.
        stated: &'static str,
        /// As the corners have it.
        found: &'static str,
    },
    /// The corners are no rectangle.
    #[error(
        "plate {plate}: {why}; list the corners as (+x,+y), (-x,+y), (-x,-y), (+x,-y) of the plate's own axes"
    )]
    Corners {
        /// The plate.
        plate: String,
        /// What is wrong with them.
        why: String,
    },
    /// Two statements of one thing.
    #[error("plate {plate}: both {first} and {second} are stated; keep one")]
    Both {
        /// The plate.
        plate: String,
        /// One.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// Nobody says whose force the channels hold.
    #[error(
        "plate {plate}: `force` is missing; state force = \"on player\" (reaction) or force = \"on plate\""
    )]
    NoForce {
        /// The plate.
        plate: String,
    },
    /// Nobody says what the channels are.
    #[error("plate {plate}: no channels; state one of `six`, `piezo`, `reduced`, `matrix`")]
    NoSensing {
        /// The plate.
        plate: String,
    },
    /// A unit that does not fit.
    #[error("{what}: \"{unit}\" is not a unit of {wants}; state {key} (for example {key} = \"{example}\")")]
    Unit {
        /// Which plate and which of its channels.
        what: String,
        /// As found.
        unit: String,
        /// "force", "moment", "length".
        wants: &'static str,
        /// The key to state.
        key: &'static str,
        /// A good value.
        example: &'static str,
    },
    /// A value that cannot be.
    #[error("{what}: {why}")]
    Value {
        /// Which key.
        what: String,
        /// What is wrong and what to write.
        why: String,
    },
    /// Neither the rig nor the recording has a plate.
    #[error(
        "neither the rig file nor the recording describes a plate; add a [[plate]] or run `underfoot rig new`"
    )]
    NoPlates,
}

/// A step into a TOML document.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Step<'a> {
    Key(&'a str),
    Index(usize),
}

impl Source {
    /// The fault at this place. Where the place is not in the text, the nearest part of it that is.
    pub(crate) fn fail(&self, path: &[Step], fault: RigFault) -> RigError {
        RigError { file: self.name.clone(), line: self.line_of(path), fault: Box::new(fault) }
    }

    fn line_of(&self, path: &[Step]) -> Option<usize> {
        let document = DeTable::parse(&self.text).ok()?;
        let mut table = Some(document.get_ref());
        let mut array = None;
        let mut start = None;
        for step in path {
            let value = match step {
                Step::Key(key) => {
                    let Some((name, value)) = table.and_then(|t| t.iter().find(|(k, _)| k.get_ref() == key))
                    else {
                        break;
                    };
                    start = Some(name.span().start);
                    value
                }
                Step::Index(index) => {
                    let Some(value) = array.and_then(|a: &toml::de::DeArray| a.get(*index)) else { break };
                    start = Some(value.span().start);
                    value
                }
            };
            table = None;
            array = None;
            match value.get_ref() {
                DeValue::Table(inner) => table = Some(inner),
                DeValue::Array(inner) => array = Some(inner),
                _ => {}
            }
        }
        start.map(|byte| line_at(&self.text, byte))
    }
}

/// Line number (from 1) of a byte.
pub(crate) fn line_at(text: &str, byte: usize) -> usize {
    1 + text.bytes().take(byte).filter(|b| *b == b'\n').count()
}
