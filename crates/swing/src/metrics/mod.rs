//! Metrics: the figures that a swing is remembered, compared and tested by.
//!
//! [`catalogue()`] is the one list: documentation, exports and screens are made from it, and [`figures`] computes it.
//! A metric is a [`Recipe`] over the accounts; its words follow from the recipe, so that the two cannot part.
mod build;
mod catalogue;
mod figure;
mod gathered;
mod instants;
mod measurer;
mod motion;
mod needs;
mod places;
mod series;
mod words;

pub use catalogue::catalogue;
pub use figure::{Absent, Figure, Leading, Measured, figures};
pub use needs::Need;

use crate::events::Name;
use mechanics::finding::Touch;
use mechanics::uncertainty::{Along, Column, Flat, Point, Who};

/// One metric of the catalogue.
#[derive(Clone, Debug, PartialEq)]
pub struct Metric {
    /// Stable id, parts joined by dots: "up.lead.most", "turn.net-cop.most.time".
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Where it is listed.
    pub group: Group,
    /// SI unit.
    pub unit: Unit,
    /// How it is computed.
    pub recipe: Recipe,
    /// In words.
    pub definition: String,
    /// As a formula.
    pub formula: String,
    /// What a positive value means; empty where there is no sign.
    pub sign: &'static str,
    /// What must be there for it.
    pub needs: Vec<Need>,
    /// Which findings put it in doubt.
    pub touches: Vec<Touch>,
    /// Where the definition comes from.
    pub source: &'static str,
}

/// Chapters of the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Forces and their peaks.
    Forces,
    /// Turn about each point, its entries and free moments.
    Turn,
    /// The accounts at events and at the peaks of the net.
    Instants,
    /// Impulses and loading rates.
    Impulses,
    /// When the peaks come, and in which order.
    Timing,
    /// Centres of pressure and the stance.
    Pressure,
    /// The centre of mass.
    Body,
}

impl Group {
    /// All, in order.
    pub const ALL: [Self; 7] =
        [Self::Forces, Self::Turn, Self::Instants, Self::Impulses, Self::Timing, Self::Pressure, Self::Body];
}

/// SI units of metrics.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// N
    Newton,
    /// N·m
    NewtonMetre,
    /// N·s
    NewtonSecond,
    /// N·m·s
    NewtonMetreSecond,
    /// N/s
    NewtonPerSecond,
    /// m
    Metre,
    /// m/s
    MetrePerSecond,
    /// W
    Watt,
    /// s
    Second,
    /// rad
    Radian,
    /// N·m/m
    NewtonMetrePerMetre,
    /// 1, a share of a whole
    Share,
    /// 1
    One,
}

impl Unit {
    /// As written in exports.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Newton => "N",
            Self::NewtonMetre => "N·m",
            Self::NewtonSecond => "N·s",
            Self::NewtonMetreSecond => "N·m·s",
            Self::NewtonPerSecond => "N/s",
            Self::Metre => "m",
            Self::MetrePerSecond => "m/s",
            Self::Watt => "W",
            Self::Second => "s",
            Self::Radian => "rad",
            Self::NewtonMetrePerMetre => "N·m/m",
            Self::Share | Self::One => "1",
        }
    }
    /// True where the value divided by body weight is a figure of its own (%BW, N·m/kg).
    pub fn by_weight(self) -> bool {
        matches!(
            self,
            Self::Newton
                | Self::NewtonMetre
                | Self::NewtonSecond
                | Self::NewtonMetreSecond
                | Self::NewtonPerSecond
        )
    }
}

/// A curve that metrics read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Series {
    /// A number of the accounts.
    Account(Column),
    /// Velocity of the centre of mass.
    Velocity(Along),
    /// Displacement of the centre of mass from its place at address.
    Displacement(Along),
    /// Power of the ground reaction on the centre of mass.
    Power,
}

/// An instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum When {
    /// Where a curve is greatest, within the movement.
    Most(Series),
    /// Where a curve is least, within the movement.
    Least(Series),
    /// An event.
    At(Name),
}

/// A stretch of the swing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// From takeaway and to finish, as far as they are found; else from the beginning, to the end.
    Movement,
    /// Takeaway to top.
    Backswing,
    /// Top to impact.
    Downswing,
    /// Impact to finish.
    FollowThrough,
}

/// Which part of a curve an integral takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// All of it.
    All,
    /// Where it is positive.
    Positive,
    /// Where it is negative.
    Negative,
}

/// How a metric is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Recipe {
    /// A curve's value at an instant.
    Value(Series, When),
    /// An instant, s of the recording.
    Time(When),
    /// How long before impact an instant comes, s.
    BeforeImpact(When),
    /// From one instant to another, s.
    Gap(When, When),
    /// Integral of a curve over a stretch; of the vertical force, above body weight.
    Integral(Column, Part, Over),
    /// The steepest rise of a curve, as the slope of a straight line over 50 ms.
    Steepest(Column),
    /// Length of the path of a centre of pressure, drawn through its places every 20 ms.
    Path(Who),
    /// From the least to the greatest value of a coordinate of a centre of pressure.
    Extent(Who, Flat),
    /// Greatest speed of a centre of pressure in a direction, over 20 ms.
    Speed(Who, Flat),
    /// Place of the net centre of pressure between the feet at address: 0 at the trail foot, 1 at the lead foot.
    Between(When),
    /// Distance of the feet's centres of pressure at address.
    StanceWidth,
    /// Angle of the line from trail to lead foot at address from the target line, toward the toes positive.
    StanceAngle,
    /// How much turn about a point at its greatest changes when the player stands farther along a direction.
    Placement(Point, Flat),
    /// How long a stretch lasts, s.
    Lasts(Over),
    /// Backswing over downswing.
    Tempo,
}
