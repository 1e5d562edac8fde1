//! The numbers of an answer about curves.
use super::text;
use crate::claim::Numbers;
use serde::Serialize;

/// Everything that was found; NaN is null. Curves hold a value a node, the same nodes for all.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CurveNumbers {
    /// "differ", "follow", "no difference seen", "cannot be told", or "described" where nothing was tested.
    pub outcome: &'static str,
    /// The quantity.
    pub account: AccountOf,
    /// From where to where.
    pub way: WayOf,
    /// Who is counted: "player" or "swing".
    pub counted: &'static str,
    /// Level of the bands, %.
    pub level_percent: f64,
    /// The choices, in the order in which they were made.
    pub sets: Vec<SetOf>,
    /// The number that curves may follow, where one was asked for.
    pub number: Option<NumberOf>,
    /// The test; `None` where none was asked for or there is none.
    pub test: Option<TestOf>,
}

/// A quantity over time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AccountOf {
    /// "up.net".
    pub id: &'static str,
    /// "net force up".
    pub label: &'static str,
    /// Unit of every curve.
    pub unit: String,
    /// Reference point, where the quantity has one.
    pub point: Option<String>,
}

/// The time that curves run over.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WayOf {
    /// The event at 0 %.
    pub from: &'static str,
    /// The event at 100 %.
    pub to: &'static str,
    /// Place of every node, %.
    pub percent: Vec<f64>,
    /// The event that seconds are told from.
    pub anchor: &'static str,
    /// Seconds of every node from it on the average of all swings, negative before it.
    pub seconds: Vec<f64>,
    /// Mean time from the one event to the other, s.
    pub duration_s: f64,
    /// Events on the way that every swing has, with their mean places.
    pub events: Vec<EventOf>,
    /// True where these were laid over one another in every curve.
    pub registered: bool,
}

/// An event on the way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EventOf {
    /// Its name.
    pub event: &'static str,
    /// Its mean place, %.
    pub percent: f64,
}

/// A choice of swings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SetOf {
    /// "A", "B" …
    pub letter: String,
    /// The choice in words.
    pub named: String,
    /// Players.
    pub players: usize,
    /// Swings.
    pub swings: usize,
    /// Mean, shortest and longest time of a swing from the one event to the other, s.
    pub duration_s: [f64; 3],
    /// Mean curve.
    pub mean: Vec<f64>,
    /// Standard deviation between those who are counted.
    pub deviation: Vec<f64>,
    /// Half width of the interval of the mean, each node by itself.
    pub of_mean: Vec<f64>,
    /// Half width of the band that holds the whole mean curve; null with fewer than six.
    pub of_whole: Vec<f64>,
    /// Half width of the band in which a further one lies, each node by itself.
    pub of_single: Vec<f64>,
    /// How many are defined at each node.
    pub defined: Vec<usize>,
    /// Those who are counted.
    pub units: Vec<UnitOf>,
    /// What registration did to each swing; empty where there was none.
    pub warps: Vec<WarpOf>,
}

/// One who is counted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnitOf {
    /// A player's alias, or "swing 7".
    pub name: String,
    /// Swings behind the curve.
    pub swings: usize,
    /// The number that curves may follow.
    pub number: f64,
    /// The curve.
    pub values: Vec<f64>,
}

/// What registration did to a swing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WarpOf {
    /// The swing.
    pub swing: i64,
    /// Where its own events lie, % of its time.
    pub events_percent: Vec<f64>,
    /// The largest move, s.
    pub moved_s: f64,
}

/// A number a swing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NumberOf {
    /// Its id.
    pub id: String,
    /// Its name.
    pub label: String,
    /// Its unit.
    pub unit: String,
    /// Its mean among those who are counted.
    pub mean: f64,
    /// Its standard deviation.
    pub deviation: f64,
}

/// A test along the whole curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TestOf {
    /// "Welch's t", "Student's t", "Student's t of pairs", "F of sets", "F of sets of the same players", "t of the slope".
    pub name: &'static str,
    /// "permutation" or "field".
    pub method: &'static str,
    /// Degrees of freedom.
    pub degrees: Vec<f64>,
    /// The statistic, node by node; null where not tested.
    pub statistic: Vec<f64>,
    /// The height that passes; null where no rearrangement can pass.
    pub threshold: f64,
    /// Chance of a curve that rises as high anywhere.
    pub p: f64,
    /// Level.
    pub alpha: f64,
    /// B minus A, or the slope; null where several choices are compared.
    pub difference: Vec<f64>,
    /// Unit of it.
    pub difference_unit: String,
    /// The size from which a difference passes, node by node.
    pub would_pass: Vec<f64>,
    /// Stretches that pass.
    pub stretches: Vec<StretchOf>,
    /// Stretches that were not tested, from and to in %.
    pub not_tested: Vec<[f64; 2]>,
    /// Smoothness of the scatter, full width at half maximum, % of the way; null with permutation.
    pub smoothness_percent: f64,
    /// Rearrangements looked at; null by field.
    pub rearrangements: Option<usize>,
    /// True where these are all there are.
    pub exact: Option<bool>,
}

/// A stretch that passes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StretchOf {
    /// Where it begins, %.
    pub from_percent: f64,
    /// Where it ends, %.
    pub to_percent: f64,
    /// The same in seconds from the anchor.
    pub from_s: f64,
    /// The same in seconds from the anchor.
    pub to_s: f64,
    /// Where it is, in words.
    pub place: String,
    /// Which way, in words.
    pub direction: String,
    /// Where the statistic is greatest, %.
    pub peak_percent: f64,
    /// The statistic there.
    pub peak_statistic: f64,
    /// Where the difference, or the slope, is largest, %; null where several choices are compared.
    pub largest_percent: f64,
    /// The difference or slope there.
    pub largest: f64,
    /// Its interval, which holds for all nodes at once.
    pub largest_interval: [f64; 2],
    /// True where it passes at one node only, or the interval, as it is written, touches 0.
    pub barely: bool,
    /// Chance of such a stretch anywhere (of touching ones told as one, the least): of one as long by field, of as much mass by permutation.
    pub p: f64,
}

impl Numbers for CurveNumbers {
    const SCHEMA: &'static str = "underfoot.curves/1";
    fn text(&self) -> String {
        text::text(self)
    }
}

impl CurveNumbers {
    /// Decimals of figures in the account's unit: what the mean's interval leaves.
    pub(super) fn digits(&self) -> usize {
        let mut all: Vec<f64> =
            self.sets.iter().flat_map(|s| &s.of_mean).copied().filter(|v| *v > 0.0).collect();
        all.sort_by(f64::total_cmp);
        // Three quarters of them are not wider.
        all.get(3 * all.len() / 4).map_or(1, |wide| crate::quantity::decimals(*wide))
    }
}
