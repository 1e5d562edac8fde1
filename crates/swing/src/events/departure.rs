//! When several accounts leave rest together.
//!
//! Each account is taken to rest on a straight line (sway is slow) and to leave it at one common instant t₀ as
//! (t − t₀)ᵖ. Every t₀ and p is tried; how well each fits, against what the account does while at rest, gives a
//! weight, and the weighted mean and spread of t₀ are the instant and its uncertainty. A threshold alone would be
//! late by however long the movement takes to grow past it.
//! Source: ours; profile likelihood of a change point with Gaussian errors, their correlation from sample to sample
//! allowed for as of first order.
use super::accounts::{Account, Accounts};

/// Rest that is looked at before the rough instant, and how much of it is surely rest, s.
const REST_S: f64 = 0.45;
const SURELY_S: f64 = 0.16;
/// Movement that is looked at after the rough instant, s.
const MOVE_S: f64 = 0.02;
/// Powers of growth that are tried.
const POWERS: [Power; 5] = [Power::OneHalf, Power::Two, Power::TwoHalf, Power::Three, Power::ThreeHalf];

#[derive(Clone, Copy)]
enum Power {
    OneHalf,
    Two,
    TwoHalf,
    Three,
    ThreeHalf,
}

impl Power {
    fn of(self, x: f64) -> f64 {
        match self {
            Self::OneHalf => x * x.sqrt(),
            Self::Two => x * x,
            Self::TwoHalf => x * x * x.sqrt(),
            Self::Three => x * x * x,
            Self::ThreeHalf => x * x * x * x.sqrt(),
        }
    }
}

/// An instant between blocks.
pub(super) struct Departure {
    /// Block, with a part.
    pub(super) block: f64,
    /// Standard uncertainty, blocks.
    pub(super) u_blocks: f64,
    /// Accounts that moved, as indices.
    pub(super) moved: Vec<usize>,
}

/// The departure near `rough`, the first block plainly under way; `forward` false looks at the time reversed, for
/// when accounts come to rest. `None` where there is not enough rest.
pub(super) fn departure(accounts: &Accounts, rough: usize, forward: bool) -> Option<Departure> {
    let n = accounts.len();
    let place = |k: usize| if forward { k } else { n - 1 - k };
    let rough = place(rough);
    let (rest, surely, moving) =
        (accounts.blocks(REST_S), accounts.blocks(SURELY_S), accounts.blocks(MOVE_S));
    let first = rough.saturating_sub(rest);
    let last = (rough + moving).min(n - 1);
    // At least a quarter of a second of rest must be there.
    let quiet = rough.saturating_sub(surely).checked_sub(first)?;
    if quiet < accounts.blocks(0.25) || quiet < 10 {
        return None;
    }
    let count = last - first + 1;
    let columns: Vec<Fitted> =
        accounts.moving.iter().map(|a| Fitted::of(a, |i| place(first + i), count, quiet)).collect();
    let grid = || (quiet..count - moving / 2).map(|block| block as f64);
    let mut tried: Vec<(f64, f64)> = Vec::new();
    let mut best = (f64::NEG_INFINITY, 0.0, Power::Three);
    for power in POWERS {
        for t0 in grid() {
            let shape = Shape::of(t0, power, count);
            let gain: f64 = columns.iter().map(|c| shape.gain(c)).sum();
            if gain > best.0 {
                best = (gain, t0, power);
            }
            tried.push((t0, gain));
        }
    }
    // Half the gain in squares is the logarithm of the likelihood.
    let weights = tried.iter().map(|(t, g)| (*t, signal::math::exp((g - best.0) / 2.0)));
    let (w, wt, wtt) = weights.fold((0.0, 0.0, 0.0), |(a, b, c), (t, w)| (a + w, b + w * t, c + w * t * t));
    let mean = wt / w;
    let spread = (wtt / w - mean * mean).max(0.0).sqrt();
    let shape = Shape::of(best.1, best.2, count);
    let moved = (0..columns.len()).filter(|k| shape.gain(&columns[*k]) > 12.0).collect::<Vec<_>>();
    if moved.is_empty() || !mean.is_finite() {
        return None;
    }
    let at = first as f64 + mean;
    Some(Departure {
        block: if forward { at } else { (n - 1) as f64 - at },
        u_blocks: (spread * spread + 1.0 / 12.0).sqrt(),
        moved,
    })
}

/// An account less the straight line through the whole window, and what one square of it is worth.
struct Fitted {
    values: Vec<f64>,
    per_square: f64,
}

impl Fitted {
    fn of(account: &Account, place: impl Fn(usize) -> usize, count: usize, quiet: usize) -> Self {
        let mut values: Vec<f64> = (0..count).map(|i| account.values[place(i)]).collect();
        let mut rest = values[..quiet].to_vec();
        take_line(&mut rest);
        let power: f64 = rest.iter().map(|r| r * r).sum();
        let next: f64 = rest.windows(2).map(|p| p[0] * p[1]).sum();
        let variance = power / (quiet as f64 - 2.0);
        // First-order correlation ρ makes a sum of n as uncertain as n (1 − ρ)/(1 + ρ) independent ones.
        let rho = if power > 0.0 { (next / power).clamp(0.0, 0.95) } else { 0.0 };
        let most = values.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        // A simulated account without noise is still known to no more than a ten-thousandth.
        let variance = variance.max(1e-8 * most * most);
        take_line(&mut values);
        Self { values, per_square: if variance > 0.0 { (1.0 - rho) / (1.0 + rho) / variance } else { 0.0 } }
    }
}

/// A unit growth from t₀.
struct Shape {
    /// From the first block that it has reached.
    values: Vec<f64>,
    first: usize,
    /// Sum of its squares less its own straight line.
    squares: f64,
}

impl Shape {
    fn of(t0: f64, power: Power, count: usize) -> Self {
        // Everything before is 0 and adds nothing to any sum.
        let first = (t0.max(0.0).ceil() as usize).min(count);
        let values: Vec<f64> = (first..count).map(|i| power.of((i as f64 - t0).max(0.0))).collect();
        let n = count as f64;
        let middle = (n - 1.0) / 2.0;
        let (mut sum, mut moment, mut squares) = (0.0, 0.0, 0.0);
        for (i, v) in values.iter().enumerate() {
            sum += v;
            moment += ((first + i) as f64 - middle) * v;
            squares += v * v;
        }
        // The part that its straight line explains.
        let line = sum * sum / n + moment * moment / (n * (n * n - 1.0) / 12.0);
        Self { values, first, squares: squares - line }
    }
    /// By how much the growth lessens the sum of squares over their variance. The column has no straight line left, so
    /// that of the growth is square to it.
    fn gain(&self, column: &Fitted) -> f64 {
        let reached = column.values.get(self.first..).unwrap_or_default();
        let dot: f64 = self.values.iter().zip(reached).map(|(a, b)| a * b).sum();
        if self.squares > 0.0 { dot * dot / self.squares * column.per_square } else { 0.0 }
    }
}

/// Subtracts the least-squares straight line.
fn take_line(y: &mut [f64]) {
    let n = y.len() as f64;
    let middle = (n - 1.0) / 2.0;
    let mean = y.iter().sum::<f64>() / n;
    let slope =
        y.iter().enumerate().map(|(i, v)| (i as f64 - middle) * v).sum::<f64>() / (n * (n * n - 1.0) / 12.0);
    for (i, v) in y.iter_mut().enumerate() {
        *v -= mean + slope * (i as f64 - middle);
    }
}
