//! The way of the centres of pressure: places every 20 ms, so that noise does not lengthen a path.
use super::instants::{REACH, lift};
use super::series::Curves;
use crate::sure::given_m;
use mechanics::uncertainty::noise::{mean_var, step_var};
use mechanics::uncertainty::{Column, Flat, Linear, PlateAt, Uncertain, Who};
use std::ops::Range;

/// Length of a block whose mean wrench gives a place, s.
pub const PLACE_S: f64 = 0.02;

/// Each foot's and the net's places, block by block.
pub struct Places {
    blocks: Vec<Block>,
    block_s: f64,
    block_samples: f64,
}

/// One block.
struct Block {
    /// Its middle, samples.
    middle: f64,
    /// Places with their errors: lead, trail, net; target, toe.
    cop: [[Place; 2]; 3],
}

/// A coordinate of a place.
struct Place {
    number: Uncertain,
    /// What it contributes to the variance of noise of a step to or from it: less than its own where noise goes on from
    /// block to block.
    step_var: f64,
}

impl Places {
    /// Every whole block of a stretch.
    pub fn new(curves: &Curves, within: Range<usize>) -> Self {
        let rate_hz = curves.swing.rate_hz;
        let length = ((PLACE_S * rate_hz).round() as usize).max(1);
        let starts =
            (within.start..within.end).step_by(length).take_while(|from| from + length <= within.end);
        let blocks = starts
            .map(|from| {
                let read = curves
                    .sure
                    .scene
                    .readings(&curves.swing.series, |w| PlateAt::mean(w, from..from + length, rate_hz));
                let linear = Linear::new(&curves.sure.scene, &read, given_m(curves.swing, from));
                let of = |who, flat| {
                    let column = Column::Cop(who, flat);
                    let number = linear.of(&curves.sure.scene, &curves.sure.errors, column);
                    let grain = linear.noise_length(&curves.sure.errors, column);
                    let share = step_var(length as f64, grain) / (2.0 * mean_var(length as f64, grain));
                    Place { step_var: share * number.noise_var, number }
                };
                let cop =
                    [Who::Lead, Who::Trail, Who::Net].map(|who| [of(who, Flat::Target), of(who, Flat::Toe)]);
                Block { middle: from as f64 + (length as f64 - 1.0) / 2.0, cop }
            })
            .collect();
        Self { blocks, block_s: length as f64 / rate_hz, block_samples: length as f64 }
    }

    fn of(&self, who: Who) -> impl Iterator<Item = (&Block, &[Place; 2])> {
        self.blocks.iter().map(move |b| (b, &b.cop[who as usize]))
    }

    /// Neighbouring blocks in which the foot is loaded.
    fn steps(&self, who: Who) -> impl Iterator<Item = (&Block, &[Place; 2], &[Place; 2])> {
        let defined = |c: &[Place; 2]| c.iter().all(|p| p.number.value.is_finite());
        self.of(who)
            .zip(self.of(who).skip(1))
            .filter(move |((_, a), (_, b))| defined(a) && defined(b))
            .map(|((block, a), (_, b))| (block, a, b))
    }

    /// Length of the path, m; `None` without two neighbouring places.
    ///
    /// Noise makes every step longer: the square of a step is too great by the variance of its noise, which is taken
    /// off. A quarter of what that takes off the whole is added to the uncertainty, since a step cannot become less than 0.
    pub fn path(&self, who: Who) -> Option<Uncertain> {
        let (mut raw, mut total, mut walked) = (0.0, 0.0, 0.0);
        let mut terms: Vec<(f64, &Uncertain)> = Vec::new();
        for (_, a, b) in self.steps(who) {
            let [dx, dy] = [0, 1].map(|along| b[along].number.value - a[along].number.value);
            let [x_var, y_var] = [0, 1].map(|along| a[along].step_var + b[along].step_var);
            let length = signal::math::hypot(dx, dy);
            raw += length;
            total += (length * length - x_var - y_var).max(0.0).sqrt();
            if length > 0.0 {
                let (x, y) = (dx / length, dy / length);
                let [(ax, bx), (ay, by)] = [0, 1].map(|along| (&a[along].number, &b[along].number));
                terms.extend([(x, bx), (-x, ax), (y, by), (-y, ay)]);
                walked += x * x * x_var + y * y * y_var;
            }
        }
        let number = Uncertain { noise_var: walked, ..Uncertain::function(total, &terms) };
        (!terms.is_empty()).then(|| number.with(0.25 * (raw - total)))
    }

    /// From the least to the greatest coordinate, m.
    ///
    /// Noise drives both ends outward, as it lifts a peak: how far is added to the uncertainty.
    pub fn extent(&self, who: Who, flat: Flat) -> Option<Uncertain> {
        let coordinates =
            || self.of(who).map(|(_, c)| &c[flat as usize].number).filter(|c| c.value.is_finite());
        let most = coordinates().max_by(|a, b| a.value.total_cmp(&b.value))?;
        let least = coordinates().min_by(|a, b| a.value.total_cmp(&b.value))?;
        let lifted = |end: &Uncertain| {
            let sigma = end.noise_var.sqrt();
            let as_good = |c: &&Uncertain| (c.value - end.value).abs() <= REACH * sigma;
            lift(coordinates().filter(as_good).count() as f64) * sigma
        };
        Some(most.minus(least).with(lifted(most)).with(lifted(least)))
    }

    /// Greatest speed in a direction, m/s, and the place between the two blocks, samples.
    pub fn speed(&self, who: Who, flat: Flat) -> Option<(Uncertain, f64)> {
        let along = flat as usize;
        let run = |a: &[Place; 2], b: &[Place; 2]| b[along].number.value - a[along].number.value;
        let (block, a, b) = self.steps(who).max_by(|(_, a, b), (_, c, d)| run(a, b).total_cmp(&run(c, d)))?;
        let (a, b) = (&a[along], &b[along]);
        let step = Uncertain { noise_var: a.step_var + b.step_var, ..b.number.minus(&a.number) };
        Some((step.times(1.0 / self.block_s), block.middle + self.block_samples / 2.0))
    }
}
