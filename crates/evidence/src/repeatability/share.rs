//! Which share of the scatter of single values lies between subjects, where occasions scatter too.
use super::levels::Levels;
use crate::draws::Draws;
use crate::interval::Interval;
use signal::stats;

/// How mean squares are redrawn. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Redrawn {
    /// How often.
    pub draws: usize,
    /// Seed of chance.
    pub seed: u64,
    /// Level of the interval.
    pub level: f64,
}

impl Levels {
    /// Intraclass correlation of two single repeats of a subject on different occasions: σ² of subjects over the whole.
    ///
    /// Unit: 1, 0..=1 (variances under 0 count as 0). Undefined: NaN with one subject or where occasions are not known apart.
    /// Source: the definition of the one-way form with a third level; interval: generalised confidence (Weerahandi1993), mean
    /// squares over chi-square draws of their degrees. Checked: coverage in tests/repeat_coverage.rs.
    pub fn icc(&self, how: &Redrawn) -> Interval {
        if !(self.subject.degrees > 0.0 && self.knows_occasions()) {
            return Interval::NONE;
        }
        let value = self.share(self.repeat.value, self.occasion.value, self.subject.value);
        let mut draws = Draws::new(how.seed, 0);
        let drawn: Vec<f64> = (0..how.draws)
            .map(|_| {
                let mut redrawn =
                    |of: super::MeanSquare| of.value * of.degrees / draws.chi_square(of.degrees);
                let (repeat, occasion) = (redrawn(self.repeat), redrawn(self.occasion));
                self.share(repeat, occasion, redrawn(self.subject))
            })
            .collect();
        let mut scratch = Vec::new();
        let tail = 0.5 * (1.0 - how.level);
        let mut at = |p: f64| stats::quantile(&drawn, p, &mut scratch);
        Interval { value, low: at(tail), high: at(1.0 - tail) }
    }

    /// σ² of subjects over the whole, from what the mean squares expect.
    fn share(&self, repeat: f64, occasion: f64, subject: f64) -> f64 {
        let (one, two, three) = self.weights;
        let of_occasions = ((occasion - repeat) / one).max(0.0);
        let of_subjects = ((subject - repeat - two * of_occasions) / three).max(0.0);
        of_subjects / (of_subjects + of_occasions + repeat)
    }
}
