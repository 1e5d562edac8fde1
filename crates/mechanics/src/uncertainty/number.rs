//! Numbers that carry their derivatives, so that each formula of the accounts is written once.
//!
//! Source: forward accumulation; Griewank & Walther, Evaluating Derivatives (2008), ch. 3 (from memory).
use std::ops::{Add, Div, Mul, Neg, Sub};

/// What the formulas of the accounts ask of a number.
pub(super) trait Real:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Mul<f64, Output = Self>
    + Neg<Output = Self>
{
    fn of(value: f64) -> Self;
    fn value(self) -> f64;
    /// The derivative at 0 is taken from the positive side.
    fn abs(self) -> Self {
        if self.value() < 0.0 { -self } else { self }
    }
}

impl Real for f64 {
    #[inline]
    fn of(value: f64) -> Self {
        value
    }
    #[inline]
    fn value(self) -> f64 {
        self
    }
}

/// A value with its derivatives with respect to `K` inputs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Dual<const K: usize> {
    pub v: f64,
    pub d: [f64; K],
}

impl<const K: usize> Dual<K> {
    /// Input number `k` of the inputs.
    pub fn input(v: f64, k: usize) -> Self {
        let mut d = [0.0; K];
        d[k] = 1.0;
        Self { v, d }
    }
    #[inline]
    fn blend(v: f64, a: f64, x: &[f64; K], b: f64, y: &[f64; K]) -> Self {
        let mut d = [0.0; K];
        for k in 0..K {
            d[k] = a * x[k] + b * y[k];
        }
        Self { v, d }
    }
}

impl<const K: usize> Real for Dual<K> {
    #[inline]
    fn of(v: f64) -> Self {
        Self { v, d: [0.0; K] }
    }
    #[inline]
    fn value(self) -> f64 {
        self.v
    }
}

impl<const K: usize> Add for Dual<K> {
    type Output = Self;
    #[inline]
    fn add(self, o: Self) -> Self {
        Self::blend(self.v + o.v, 1.0, &self.d, 1.0, &o.d)
    }
}
impl<const K: usize> Sub for Dual<K> {
    type Output = Self;
    #[inline]
    fn sub(self, o: Self) -> Self {
        Self::blend(self.v - o.v, 1.0, &self.d, -1.0, &o.d)
    }
}
impl<const K: usize> Mul for Dual<K> {
    type Output = Self;
    #[inline]
    fn mul(self, o: Self) -> Self {
        Self::blend(self.v * o.v, o.v, &self.d, self.v, &o.d)
    }
}
impl<const K: usize> Div for Dual<K> {
    type Output = Self;
    #[inline]
    fn div(self, o: Self) -> Self {
        let v = self.v / o.v;
        Self::blend(v, 1.0 / o.v, &self.d, -v / o.v, &o.d)
    }
}
impl<const K: usize> Mul<f64> for Dual<K> {
    type Output = Self;
    #[inline]
    fn mul(self, o: f64) -> Self {
        Self { v: self.v * o, d: self.d.map(|d| d * o) }
    }
}
impl<const K: usize> Neg for Dual<K> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self * -1.0
    }
}

/// A vector of such numbers.
pub(super) type Vec3<T> = [T; 3];

#[inline]
pub(super) fn constant<T: Real>(v: glam::DVec3) -> Vec3<T> {
    [T::of(v.x), T::of(v.y), T::of(v.z)]
}
#[inline]
pub(super) fn sub<T: Real>(a: Vec3<T>, b: Vec3<T>) -> Vec3<T> {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
#[inline]
pub(super) fn plus<T: Real>(a: Vec3<T>, b: Vec3<T>) -> Vec3<T> {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
#[inline]
pub(super) fn cross<T: Real>(a: Vec3<T>, b: Vec3<T>) -> Vec3<T> {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
/// Product with a constant vector.
#[inline]
pub(super) fn dot<T: Real>(a: Vec3<T>, b: glam::DVec3) -> T {
    a[0] * b.x + a[1] * b.y + a[2] * b.z
}
/// c × b with a constant c.
#[inline]
pub(super) fn cross_from<T: Real>(c: glam::DVec3, b: Vec3<T>) -> Vec3<T> {
    [b[2] * c.y - b[1] * c.z, b[0] * c.z - b[2] * c.x, b[1] * c.x - b[0] * c.y]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// d(x·y/(x − y)) against the quotient rule by hand at (3, 2): value 6, ∂x = −y²/(x−y)² = −4, ∂y = x²/(x−y)² = 9.
    #[test]
    fn derivatives_by_hand() {
        let (x, y) = (Dual::<2>::input(3.0, 0), Dual::<2>::input(2.0, 1));
        let z = x * y / (x - y);
        assert!((z.v - 6.0).abs() < 1e-15 && (z.d[0] + 4.0).abs() < 1e-14 && (z.d[1] - 9.0).abs() < 1e-14);
        let z = (-(x * 2.0)).abs() + Dual::of(1.0);
        assert!(z.v == 7.0 && z.d == [2.0, 0.0]);
    }
}
