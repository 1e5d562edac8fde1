//! Seeded chance: one stream of numbers for each purpose of each swing, so that no draw disturbs another.
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use signal::math;

/// What a stream of chance is for. The number is part of the seed: changing one changes every recording.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// How this swing differs from the player's usual one.
    Variation,
    /// Standing sway.
    Sway,
    /// Noise of a plate (index from 0).
    Plate(u16),
    /// What stays the same in a plate over a whole session, such as cross-talk.
    PlateFixed(u16),
    /// Noise of the markers.
    Markers,
    /// What club and ball do.
    Ball,
    /// How a player's day differs from another; one number a day, whatever the swing.
    Day,
    /// How far a plate (index from 0) of rig `k` is from what its rig file says.
    Misfit(u16),
    /// Noise of a plate of rig `k`.
    MisfitNoise(u16),
}

/// A stream of chance.
#[derive(Clone, Debug)]
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The stream of one purpose in swing `k` of a session.
    pub fn new(seed: u64, k: u32, purpose: Purpose) -> Self {
        let (k, code): (u32, u32) = match purpose {
            Purpose::Variation => (k, 1),
            Purpose::Sway => (k, 2),
            Purpose::Markers => (k, 3),
            Purpose::Day => (k, 4),
            Purpose::Ball => (k, 5),
            Purpose::Plate(p) => (k, 0x1_0000 + u32::from(p)),
            Purpose::Misfit(p) => (k, 0x3_0000 + u32::from(p)),
            Purpose::MisfitNoise(p) => (k, 0x4_0000 + u32::from(p)),
            Purpose::PlateFixed(p) => (0, 0x2_0000 + u32::from(p)),
        };
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(u64::from(k) << 32 | u64::from(code));
        Self(rng)
    }
    /// Uniform in 0..1.
    pub fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }
    /// Normal with mean 0 and standard deviation 1.
    /// Source: Box & Muller 1958, Ann. Math. Stat. 29:610-611.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * math::ln(1.0 - self.uniform())).sqrt();
        radius * math::cos(core::f64::consts::TAU * self.uniform())
    }
    /// Normal, held within ±2.5 standard deviations: no swing is a freak.
    pub fn tame(&mut self) -> f64 {
        self.normal().clamp(-2.5, 2.5)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_has_mean_0_and_variance_1() {
        let mut chance = Chance::new(7, 0, Purpose::Sway);
        let draws: Vec<f64> = (0..40_000).map(|_| chance.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 40_000.0;
        let variance = draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 39_999.0;
        assert!(mean.abs() < 0.02, "mean {mean}: five standard errors are 0.025");
        assert!((variance - 1.0).abs() < 0.035, "variance {variance}");
    }

    #[test]
    fn streams_differ_and_repeat() {
        let first = |k, p| Chance::new(1, k, p).uniform();
        assert_eq!(first(3, Purpose::Sway), first(3, Purpose::Sway));
        assert_ne!(first(3, Purpose::Sway), first(4, Purpose::Sway));
        assert_ne!(first(3, Purpose::Sway), first(3, Purpose::Variation));
        assert_eq!(first(3, Purpose::PlateFixed(0)), first(4, Purpose::PlateFixed(0)));
    }
}
