//! Seeded chance in blocks: block k of a seed is a stream of its own, so that blocks can be drawn in any order, by any number of
//! threads, and are the same.
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Resamples that are drawn from one stream.
pub const BLOCK: usize = 256;

/// The stream of a block.
#[derive(Clone, Debug)]
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// Block `block` of a seed.
    pub fn new(seed: u64, block: usize) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(block as u64);
        Self(rng)
    }
    /// A whole number in 0..n, each as likely; 0 for n = 0.
    ///
    /// Source: Lemire 2019, ACM TOMACS 29(1):3, multiplication with rejection.
    pub fn below(&mut self, n: usize) -> usize {
        let n = n as u64;
        if n == 0 {
            return 0;
        }
        let threshold = n.wrapping_neg() % n;
        loop {
            let wide = u128::from(self.0.next_u64()) * u128::from(n);
            if (wide as u64) >= threshold {
                return (wide >> 64) as usize;
            }
        }
    }
    /// One bit.
    pub fn coin(&mut self) -> bool {
        self.0.next_u32() & 1 == 1
    }
    /// Puts a list into an order, each as likely (Fisher & Yates, as Durstenfeld 1964 has it).
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for k in (1..list.len()).rev() {
            list.swap(k, self.below(k + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_as_likely_and_blocks_apart() {
        let mut seen = [0_u32; 7];
        let mut chance = Chance::new(3, 0);
        for _ in 0..70_000 {
            seen[chance.below(7)] += 1;
        }
        // Chi-square with six degrees: 99.9 % lie below 22.46 (tables).
        let chi: f64 = seen.iter().map(|n| (f64::from(*n) - 1e4).powi(2) / 1e4).sum();
        assert!(chi < 22.46, "{chi}");
        let draw = |block| {
            (0..5)
                .map({
                    let mut c = Chance::new(3, block);
                    move |_| c.below(1000)
                })
                .collect::<Vec<_>>()
        };
        assert_ne!(draw(0), draw(1));
        assert_eq!(draw(1), draw(1));
        assert_eq!(Chance::new(1, 1).below(0), 0);
    }
}
