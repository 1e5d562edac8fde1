//! The way of the centres of pressure: places every 20 ms, so that noise does not lengthen a path.
use super::series::Curves;
use crate::sure::given_m;
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
    cop: [[Uncertain; 2]; 3],
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
                let of =
                    |who, flat| linear.of(&curves.sure.scene, &curves.sure.errors, Column::Cop(who, flat));
                let cop =
                    [Who::Lead, Who::Trail, Who::Net].map(|who| [of(who, Flat::Target), of(who, Flat::Toe)]);
                Block { middle: from as f64 + (length as f64 - 1.0) / 2.0, cop }
            })
            .collect();
        Self { blocks, block_s: length as f64 / rate_hz, block_samples: length as f64 }
    }

    fn of(&self, who: Who) -> impl Iterator<Item = (&Block, &[Uncertain; 2])> {
        self.blocks.iter().map(move |b| (b, &b.cop[who as usize]))
    }

    /// Neighbouring blocks in which the foot is loaded.
    fn steps(&self, who: Who) -> impl Iterator<Item = (&Block, &[Uncertain; 2], &[Uncertain; 2])> {
        let defined = |c: &[Uncertain; 2]| c.iter().all(|u| u.value.is_finite());
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
        let (mut raw, mut total) = (0.0, 0.0);
        let mut terms: Vec<(f64, &Uncertain)> = Vec::new();
        for (_, a, b) in self.steps(who) {
            let (dx, dy) = (b[0].value - a[0].value, b[1].value - a[1].value);
            let length = signal::math::hypot(dx, dy);
            let noise_var: f64 = a.iter().chain(b).map(|c| c.noise_var).sum();
            raw += length;
            total += (length * length - noise_var).max(0.0).sqrt();
            if length > 0.0 {
                let (x, y) = (dx / length, dy / length);
                terms.extend([(x, &b[0]), (-x, &a[0]), (y, &b[1]), (-y, &a[1])]);
            }
        }
        (!terms.is_empty()).then(|| Uncertain::function(total, &terms).with(0.25 * (raw - total)))
    }

    /// From the least to the greatest coordinate, m.
    pub fn extent(&self, who: Who, flat: Flat) -> Option<Uncertain> {
        let coordinates = || self.of(who).map(|(_, c)| &c[flat as usize]).filter(|c| c.value.is_finite());
        let most = coordinates().max_by(|a, b| a.value.total_cmp(&b.value))?;
        let least = coordinates().min_by(|a, b| a.value.total_cmp(&b.value))?;
        Some(most.minus(least))
    }

    /// Greatest speed in a direction, m/s, and the place between the two blocks, samples.
    pub fn speed(&self, who: Who, flat: Flat) -> Option<(Uncertain, f64)> {
        let along = flat as usize;
        let (block, a, b) = self.steps(who).max_by(|(_, a, b), (_, c, d)| {
            (b[along].value - a[along].value).total_cmp(&(d[along].value - c[along].value))
        })?;
        let number = b[along].minus(&a[along]).times(1.0 / self.block_s);
        Some((number, block.middle + self.block_samples / 2.0))
    }
}
