//! Draws from distributions, from the seeded streams of [`crate::chance`].
use crate::chance::Chance;
use signal::math;

/// A stream of draws.
#[derive(Clone, Debug)]
pub struct Draws {
    chance: Chance,
    spare: Option<f64>,
}

impl Draws {
    /// Block `block` of a seed.
    pub fn new(seed: u64, block: usize) -> Self {
        Self { chance: Chance::new(seed, block), spare: None }
    }

    /// Uniform, above 0 and up to 1.
    pub fn uniform(&mut self) -> f64 {
        const STEPS: usize = 1 << 53;
        (self.chance.below(STEPS) + 1) as f64 / STEPS as f64
    }

    /// Normal, mean 0 and variance 1. Source: BoxMuller1958.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * math::ln(self.uniform())).sqrt();
        let (sin, cos) = math::sin_cos(2.0 * std::f64::consts::PI * self.uniform());
        self.spare = Some(radius * sin);
        radius * cos
    }

    /// Chi-square. Degrees need not be whole.
    ///
    /// Undefined: NaN where they are not positive. Source: MarsagliaTsang2000 (gamma of half the degrees, twice), with their
    /// step for shapes under 1.
    pub fn chi_square(&mut self, degrees: f64) -> f64 {
        if !(degrees > 0.0 && degrees.is_finite()) {
            return f64::NAN;
        }
        let shape = 0.5 * degrees;
        if shape < 1.0 {
            let smaller = math::powf(self.uniform(), 1.0 / shape);
            return self.chi_square(degrees + 2.0) * smaller;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = 1.0 + c * x;
            let v = v * v * v;
            if v > 0.0 && math::ln(self.uniform()) < 0.5 * x * x + d - d * v + d * math::ln(v) {
                return 2.0 * d * v;
            }
        }
    }

    /// The chance behind them.
    pub fn chance(&mut self) -> &mut Chance {
        &mut self.chance
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use signal::{chi_square, student};

    /// Shares below the deciles are tenths: chi-square with nine degrees, 99.9 % lie below 27.88 (tables).
    fn tenths(mut draw: impl FnMut() -> f64, below: impl Fn(f64) -> f64) -> f64 {
        let mut counts = [0.0_f64; 10];
        for _ in 0..20_000 {
            let place = ((below(draw()) * 10.0) as usize).min(9);
            if let Some(count) = counts.get_mut(place) {
                *count += 1.0;
            }
        }
        counts.iter().map(|c| (c - 2000.0) * (c - 2000.0) / 2000.0).sum()
    }

    #[test]
    fn they_fall_where_their_distributions_say() {
        let mut draws = Draws::new(4, 0);
        assert!(tenths(|| draws.uniform(), |u| u) < 27.88);
        assert!(tenths(|| draws.normal(), |x| 1.0 - student::upper_tail(x, f64::INFINITY)) < 27.88);
        for degrees in [0.7, 1.0, 2.0, 5.5, 300.0] {
            let found = tenths(|| draws.chi_square(degrees), |x| 1.0 - chi_square::upper_tail(x, degrees));
            assert!(found < 27.88, "{degrees}: {found}");
        }
        assert!(draws.chi_square(0.0).is_nan());
    }
}
