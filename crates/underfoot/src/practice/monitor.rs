//! The invented launch monitor. Between players of the group the club is faster where the push up is greater; from swing to
//! swing of a player, speed does not know what the ground did.
use super::people::{LAUNCH_DEG, Person, speed};
use super::{Visit, bug, truth};
use crate::fail::Fail;
use simulate::chance::{Chance, Purpose};

/// Head of the table.
pub const HEAD: &str = "file,Clubhead speed (mph),Carry (yd),Launch angle (deg)\n";

const MPH: f64 = 0.44704;

/// Speed of a player of the group, m/s: by the rule, and faster or slower by the player's own share.
///
/// Errors: our bug only.
pub fn usual_speed(person: &Person) -> Result<f64, Fail> {
    let peak = truth::Usual::of(&person.spec(false)).map_err(bug)?.up;
    Ok(speed::MEAN_M_S + speed::SLOPE_M_S * (peak - speed::AT_BW) + person.faster_m_s)
}

/// The row of one swing.
pub(super) fn row(file: &str, visit: &Visit, k: u32) -> String {
    let mut chance = Chance::new(visit.seed, k, Purpose::Ball);
    // An iron goes slower than a driver.
    let share = if visit.club == "driver" { 1.0 } else { 0.78 };
    let mph = share * (visit.club_m_s + speed::SCATTER_M_S * chance.tame()) / MPH;
    let [mean, between, within] = LAUNCH_DEG;
    let launch = mean + between * own(&visit.alias) + within * chance.tame();
    format!("{file},{mph:.1},{:.0},{launch:.1}\n", 2.6 * mph - 18.0)
}

/// A draw that belongs to a player, the same on every day.
fn own(alias: &str) -> f64 {
    let seed = alias.bytes().fold(0u64, |sum, b| sum.wrapping_mul(131).wrapping_add(u64::from(b)));
    Chance::new(seed, 0, Purpose::Ball).tame()
}
