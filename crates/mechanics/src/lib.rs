//! Recordings, rigs, frames, wrenches, feet and the ledger.
//!
//! **Invariant:** no I/O, clock, threads, randomness or file formats. Time arrives as a rate and a start.
//! **Invariant:** inside, every force and moment is the ground reaction on the player, in newtons and
//! newton metres; what a file holds is converted once, in [`wrench`].
//! **Invariant:** no function chooses a reference point; the caller passes [`ledger::Reference`].
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod body;
pub mod conditioning;
pub mod feet;
pub mod finding;
pub mod frame;
pub mod ledger;
pub mod plate;
pub mod pressure;
pub mod recording;
pub mod rig;
pub mod uncertainty;
pub mod wrench;

pub use conditioning::{Conditioning, Drift, LowPass, Zero};
pub use finding::{Checked, Finding, Severity};
pub use frame::{Frame, Hand, Player};
pub use plate::{Measures, Plate, Sensing};
pub use recording::Axis;
pub use recording::{Analog, Channel, Mark, Marker, Recording};
pub use rig::{ErrorBudget, Rig, Target, Trigger, TriggerKind};
