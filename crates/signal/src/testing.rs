//! Random numbers for tests, the same on every machine.

/// Uniform in 0..1, of an integer generator (constants: Knuth, The Art of Computer Programming 2, 3.3.4).
pub(crate) fn uniform(seed: u64) -> impl FnMut() -> f64 {
    let mut s = seed;
    move || {
        s = s.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (s >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Near normal, mean 0 and variance 1: sums of twelve uniform values less 6.
pub(crate) fn normal(seed: u64) -> impl FnMut() -> f64 {
    let mut draw = uniform(seed);
    move || (0..12).map(|_| draw()).sum::<f64>() - 6.0
}
