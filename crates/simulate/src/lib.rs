//! Invented swings whose truth is known. See ARCHITECTURE.md.
//!
//! [`swing`] makes one recording, [`session`] many, [`jump()`] a vertical jump whose figures are in closed form;
//! [`faults`] spoils a recording on purpose, [`misfit`] records it with a rig that is a little off.
//!
//! **Invariant:** same specs, same seed, same bytes, on any machine; swing k does not depend on how many were asked.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod bench;
pub mod body;
pub mod chance;
pub mod club;
pub mod day;
pub mod faults;
pub mod jump;
pub mod kind;
mod least;
pub mod misfit;
pub mod noise;
pub mod plate;
pub mod player;
pub mod shape;
pub mod style;
pub mod truth;

pub use bench::{PlateSpec, RigSpec, Simulated, Unbuildable};
pub use day::Days;
pub use jump::{JumpFigures, JumpSpec, jump};
pub use kind::{PlateType, Units};
pub use noise::{Adc, Noise};
pub use player::{PlayerSpec, Scatter};
pub use style::{Style, ToePeaks};
pub use truth::{Events, FootTruth, Footprint, GRAVITY, Truth};

/// One swing: the first of the session with this seed.
///
/// Errors: a spec of which no recording can be made.
pub fn swing(player: &PlayerSpec, rig: &RigSpec, noise: &Noise, seed: u64) -> Result<Simulated, Unbuildable> {
    nth(player, rig, noise, seed, 0)
}

/// Swing `k` (from 0) of the session with this seed, whatever the length of the session.
///
/// Errors: as [`swing`].
pub fn nth(
    player: &PlayerSpec,
    rig: &RigSpec,
    noise: &Noise,
    seed: u64,
    k: u32,
) -> Result<Simulated, Unbuildable> {
    nth_felt(player, rig, noise, seed, seed, k)
}

/// The same swing `k` of the session with this seed, as plates of another seed felt it: other noise, other cross-talk.
///
/// Errors: as [`swing`].
pub fn nth_felt(
    player: &PlayerSpec,
    rig: &RigSpec,
    noise: &Noise,
    seed: u64,
    plates: u64,
    k: u32,
) -> Result<Simulated, Unbuildable> {
    player.check()?;
    // The bench checks the rest; the clock is needed before it is reached.
    if !(rig.rate_hz >= 20.0 && rig.rate_hz <= 50_000.0) {
        return Err(Unbuildable::Figure("rate_hz", rig.rate_hz));
    }
    let body = body::Swing::draw(player, seed, k).ok_or(Unbuildable::Figure("follow_s", player.follow_s))?;
    bench::record(body.truth(player, rig.rate_hz, rig.stand_m), rig, noise, plates, k)
}

/// The first `swings` swings of a session, in order.
///
/// Errors: as [`swing`].
pub fn session(
    player: &PlayerSpec,
    swings: u32,
    seed: u64,
    rig: &RigSpec,
    noise: &Noise,
) -> Result<Vec<Simulated>, Unbuildable> {
    (0..swings).map(|k| nth(player, rig, noise, seed, k)).collect()
}
