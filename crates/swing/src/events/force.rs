//! Address, takeaway and finish from force: where the player is at rest, and where rest ends and begins again.
use super::accounts::Accounts;
use super::departure::departure;
use super::file::event;
use super::movement::Movement;
use super::types::{Event, Name, Source, hypotenuse};

/// The address is this long before the takeaway, s, where the player stands still already. Common practice, no
/// source.
const ADDRESS_BEFORE_S: f64 = 0.5;

/// Accounts do not leave rest together, and come to rest one after another more slowly still: what a common instant
/// does not know, as a standard uncertainty, s. From the invented swings of the simulator, whose accounts start and
/// end unevenly; no source.
const LEAVES_UNEVEN_S: f64 = 0.012;
const SETTLES_UNEVEN_S: f64 = 0.035;

/// Candidates from force, and why one is missing.
///
/// Takeaway ("quiet-departure@1"): the common instant at which accounts leave rest, [`departure`]. Finish
/// ("quiet-return@1"): the same with the time reversed. Address ("before-takeaway@1"): half a second before the
/// takeaway, as far as the recording goes back; the player is still from there on.
pub(super) fn candidates(
    accounts: &Accounts,
    movement: &Movement,
    found: &mut Vec<Event>,
    absent: &mut Vec<(Name, String)>,
) {
    let mut take = |name, method, rough: usize, forward, uneven_s| {
        let at = departure(accounts, rough, forward)?;
        let moved: Vec<&str> =
            at.moved.iter().filter_map(|k| accounts.moving.get(*k)).map(|a| a.name).collect();
        let instant = (accounts.time_s(at.block), hypotenuse(at.u_blocks * accounts.step_s(), uneven_s));
        found.push(event(name, instant, Source::Force, method, moved.join(", ")));
        Some(instant)
    };
    let takeaway = take(Name::Takeaway, "quiet-departure@1", movement.begin, true, LEAVES_UNEVEN_S);
    match movement.end {
        None => absent.push((Name::Finish, "the recording ends before the player is at rest".into())),
        Some(end) => {
            if take(Name::Finish, "quiet-return@1", end, false, SETTLES_UNEVEN_S).is_none() {
                absent.push((Name::Finish, "the recording ends too soon after the finish".into()));
            }
        }
    }
    match takeaway {
        None => {
            let why = "the recording begins too shortly before the movement";
            absent.extend([(Name::Address, why.into()), (Name::Takeaway, why.into())]);
        }
        Some((time_s, u_s)) => {
            let at = (time_s - ADDRESS_BEFORE_S).max(0.0);
            let seen = format!("{:.1} s before the takeaway, at rest", time_s - at);
            found.push(event(Name::Address, (at, u_s), Source::Force, "before-takeaway@1", seen));
        }
    }
}
