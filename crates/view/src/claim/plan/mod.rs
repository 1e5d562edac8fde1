//! How many swings and players would show a change: `underfoot plan`.
mod curve;
mod numbers;
mod said;
#[cfg(test)]
mod tests;

pub use numbers::{CurvePoint, DesignPlan, MeasurePlan, Needed, Plan, Tried};

use super::players::{absent, caveats, counted, has, players, values};
use super::repeat::Precision;
use super::table::{Column, Table};
use super::{Answer, LeftOut, Numbers as _};
use evidence::plan::{Noise, Sides, Simulated, Simulation, needed, simulated};
use evidence::repeatability::{Levels, levels};
use evidence::{Interval, Spread};
use signal::stats;

/// What is asked. No hidden default.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanHow {
    /// Level of the intervals of the noise.
    pub level: f64,
    /// A change is claimed falsely so often.
    pub alpha: f64,
    /// A change is to be seen so often.
    pub power: f64,
    /// The change, with its unit; otherwise three that the study's own scatter gives.
    pub change: Option<Precision>,
    /// Swings of a session in plans that count players or days; otherwise as many as a session of the study has (median).
    pub swings: Option<usize>,
    /// How much players' own true changes scatter, in the unit of each measure.
    pub response: f64,
    /// How often a plan is tried; 0 is not at all.
    pub trials: usize,
    /// Rearrangements that each test of a trial looks at.
    pub rearrangements: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// Counts for which power is shown.
pub const COUNTS: [usize; 11] = [2, 4, 6, 8, 10, 12, 15, 20, 30, 50, 100];

/// How many swings, days and players would show a change of each measure of a table, with the noise that the table holds.
///
/// Counts of few units are tried out, and so is the whole plan of the first measure. Source: docs/evidence/planning.md.
pub fn plan(table: &Table, how: &PlanHow, spread: &impl Spread) -> Answer<Plan> {
    let mut measures = Vec::new();
    let mut left_out = absent(&table.columns, table.columns.len() > 1);
    for column in &table.columns {
        match of_column(table, column, how, measures.is_empty(), spread) {
            Ok(found) => measures.push(found),
            Err(why) => left_out.push(LeftOut { what: column.measure.label.clone(), why: why.into() }),
        }
    }
    let counted = counted(table, |row| table.columns.iter().any(|c| has(c, row)));
    let numbers = Plan { alpha: how.alpha, power: how.power, level: how.level, measures };
    let mut minded = said::caveats(&numbers, &counted, how);
    minded.extend(caveats(table, &table.columns));
    Answer {
        schema: Plan::SCHEMA,
        question: said::question(table, &numbers),
        verdict: said::verdict(&numbers, &left_out),
        counted,
        left_out,
        method: said::method(&numbers, how),
        settings: said::settings(how),
        caveats: minded,
        numbers,
    }
}

fn of_column(
    table: &Table,
    column: &Column,
    how: &PlanHow,
    first: bool,
    spread: &impl Spread,
) -> Result<MeasurePlan, &'static str> {
    let players = players(table, |row| has(column, row));
    let data = values(&players, column);
    let of = levels(&data).ok_or("no session has two swings with a value: there is no noise to plan with")?;
    if of.repeat.value.is_nan() || of.repeat.value <= 0.0 {
        return Err("its swings do not scatter at all");
    }
    let sizes: Vec<f64> = data.iter().flatten().map(|s| s.len() as f64).collect();
    let usual = (stats::median(&sizes, &mut Vec::new()) as usize).max(1);
    let swings = how.swings.unwrap_or(usual).max(1);
    let (repeat, day, between) =
        (of.repeats(how.level).sd, of.between_occasions(how.level).sd, of.between_subjects(how.level).sd);
    let (days_known, players_known) = (of.knows_occasions(), of.subjects > 1);
    let noise = Noise {
        subject: if players_known { between.value } else { f64::NAN },
        occasion: if days_known { day.value } else { 0.0 },
        repeat: repeat.value,
        response: how.response,
    };
    let changes = match &how.change {
        Some(change) => vec![change.of(&column.measure).ok_or("the change is in another unit")?],
        None if players_known && between.value > 0.0 => [0.2, 0.5, 0.8].map(|d| d * between.value).to_vec(),
        None => [0.5, 1.0, 2.0].map(|d| d * repeat.value).to_vec(),
    };
    let mut designs = vec![Sides::OneOccasion];
    if days_known {
        designs.extend([Sides::TwoOccasions, Sides::Occasions { repeats: swings }]);
    }
    designs.push(Sides::SameSubjects { repeats: swings });
    if players_known {
        designs.push(Sides::TwoGroups { repeats: swings });
    }
    // What is told in words, drawn and tried: the change asked for, or the middle one.
    let told = changes.len() / 2;
    let designs = designs
        .into_iter()
        .map(|sides| {
            let of_design = Design { sides, of: &of, noise: &noise, how };
            of_design.plan(&changes, told, first, spread)
        })
        .collect();
    Ok(MeasurePlan {
        measure: column.measure.id.clone(),
        label: column.measure.label.clone(),
        unit: column.measure.unit.clone(),
        swing: repeat.into(),
        day: days_known.then(|| day.into()),
        between: players_known.then(|| between.into()),
        swings,
        changes_are: match (&how.change, players_known && between.value > 0.0) {
            (Some(_), _) => "asked for",
            (None, true) => "0.2, 0.5 and 0.8 of the scatter between players",
            (None, false) => "0.5, 1 and 2 of the scatter of swings",
        },
        changes,
        told,
        designs,
        digits: super::span::digits(&column.measure, repeat.value),
    })
}

/// Counts up to this are tried where plans are: the formula is a little hopeful with few units.
const FEW: usize = 12;

/// A way to compare, with the noise it meets.
struct Design<'a> {
    sides: Sides,
    of: &'a Levels,
    noise: &'a Noise,
    how: &'a PlanHow,
}

impl Design<'_> {
    fn plan(&self, changes: &[f64], told: usize, first: bool, spread: &impl Spread) -> DesignPlan {
        let how = self.how;
        let needed: Vec<Needed> = changes.iter().map(|c| self.needed(*c, spread)).collect();
        let change = changes.get(told).copied().unwrap_or(f64::NAN);
        let formula = |count: usize| self.sides.power(change, self.noise, count, how.alpha);
        let count = needed.get(told).and_then(|n| n.count);
        let trying = first && how.trials > 0;
        let tried = count.filter(|_| trying).map(|count| {
            let found = self.tried(change, count, spread);
            Tried { count, formula: formula(count), power: found.power.into(), trials: found.trials }
        });
        let least = self.sides.least(how.alpha);
        let curve = COUNTS
            .iter()
            .map(|count| {
                let power = match (*count < least, trying && *count <= FEW) {
                    (true, _) => 0.0,
                    (false, true) => self.tried(change, *count, spread).power.value,
                    (false, false) => formula(*count),
                };
                CurvePoint { count: *count, power, tried: trying && *count <= FEW }
            })
            .collect();
        DesignPlan { design: self.name(), counts: self.counts(), least, needed, curve, tried }
    }

    fn tried(&self, change: f64, count: usize, spread: &impl Spread) -> Simulated {
        let how = self.how;
        let simulation = Simulation {
            trials: how.trials,
            rearrangements: how.rearrangements,
            seed: how.seed,
            level: 0.95,
        };
        simulated(self.sides, change, self.noise, count, how.alpha, &simulation, spread)
    }

    /// How many: as likely as the noise is known, and were it as small or as large as its interval allows.
    fn needed(&self, change: f64, spread: &impl Spread) -> Needed {
        let (how, least) = (self.how, self.sides.least(self.how.alpha));
        let of = |which: fn(&Interval) -> f64| {
            let power = |count: usize| {
                let scatter = self.sides.scatter(self.noise, count) * self.share(count, which);
                self.sides.test().power(change, scatter, count, how.alpha)
            };
            // Between two days, repeats reach no farther than this.
            if self.sides == Sides::TwoOccasions && power(100_000) < how.power {
                return None;
            }
            needed(how.power, least, power)
        };
        let formula = self.sides.needed(how.power, change, self.noise, how.alpha);
        let count = formula.map(|n| self.enough_when_tried(change, n, spread));
        // What trying adds, it adds to the limits as well.
        let more = count.unwrap_or(0) - formula.unwrap_or(0);
        Needed { change, count, low: of(|i| i.low).map(|n| n + more), high: of(|i| i.high).map(|n| n + more) }
    }

    /// The first count from here on with which trials do not clearly see the change too seldom.
    fn enough_when_tried(&self, change: f64, from: usize, spread: &impl Spread) -> usize {
        let how = self.how;
        let mut count = from;
        while how.trials > 0 && count <= FEW && self.tried(change, count, spread).power.high < how.power {
            count += 1;
        }
        count
    }

    /// A limit of the scatter that this design meets, over its estimate.
    fn share(&self, count: usize, which: fn(&Interval) -> f64) -> f64 {
        let level = self.how.level;
        let interval = match self.sides {
            Sides::OneOccasion => self.of.repeats(level).sd,
            Sides::TwoOccasions => self.of.error_of_mean(count, level),
            Sides::Occasions { repeats } | Sides::SameSubjects { repeats } => {
                self.of.error_of_mean(repeats, level)
            }
            Sides::TwoGroups { repeats } => self.of.scatter_of_means(repeats, level),
        };
        which(&interval) / interval.value
    }

    fn name(&self) -> &'static str {
        match self.sides {
            Sides::OneOccasion => "one-player-one-day",
            Sides::TwoOccasions => "one-player-two-days",
            Sides::Occasions { .. } => "one-player-days",
            Sides::SameSubjects { .. } => "same-players",
            Sides::TwoGroups { .. } => "two-groups",
        }
    }

    fn counts(&self) -> &'static str {
        match self.sides {
            Sides::OneOccasion | Sides::TwoOccasions => "swings a side",
            Sides::Occasions { .. } => "days a side",
            Sides::SameSubjects { .. } => "players",
            Sides::TwoGroups { .. } => "players a group",
        }
    }
}
