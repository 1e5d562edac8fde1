//! A number with the contributions of every source to its uncertainty, and the arithmetic that keeps them apart.
use super::source::{Cause, Errors};

/// Half the width of a 95 % interval in standard uncertainties: the normal distribution's 0.975 quantile.
/// Source: JCGM 100:2008, table G.1 (infinite degrees of freedom; 1.960).
pub const COVERAGE_95: f64 = 1.959_963_984_540_054;

/// A number, what each source contributes to it, and what is independent of everything else.
///
/// Contributions keep their signs, so errors that two numbers share cancel in their difference and do not count
/// twice in their sum. Source: JCGM 100:2008 (GUM), 5.1.2 and 5.2.2: with independent sources s,
/// u²(y) = Σ_s (Σ_i ∂y/∂x_i · c_i,s)².
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// The number; NaN where not defined.
    pub value: f64,
    /// Derivative times standard uncertainty for each of [`Errors::sources`], in the number's unit; empty: exact.
    pub parts: Vec<f64>,
    /// Variance from noise, taken as independent of that of any other number. Two numbers of one sample share their
    /// noise: take the column that already is their sum or quotient where there is one.
    pub noise_var: f64,
}

impl Uncertain {
    /// A number without error.
    pub fn exact(value: f64) -> Self {
        Self { value, parts: Vec::new(), noise_var: 0.0 }
    }

    /// Standard uncertainty; NaN where the value is.
    pub fn u(&self) -> f64 {
        if self.value.is_nan() {
            return f64::NAN;
        }
        (self.parts.iter().map(|p| p * p).sum::<f64>() + self.noise_var).sqrt()
    }

    /// A function of other numbers: its value, and its derivative by each of them.
    pub fn function(value: f64, of: &[(f64, &Self)]) -> Self {
        let sources = of.iter().map(|(_, x)| x.parts.len()).max().unwrap_or(0);
        let mut out = Self { value, parts: vec![0.0; sources], noise_var: 0.0 };
        for (slope, x) in of {
            for (sum, part) in out.parts.iter_mut().zip(&x.parts) {
                *sum += slope * part;
            }
            out.noise_var += slope * slope * x.noise_var;
        }
        out
    }

    /// Sum.
    pub fn plus(&self, other: &Self) -> Self {
        Self::function(self.value + other.value, &[(1.0, self), (1.0, other)])
    }
    /// Difference: what both share falls out.
    pub fn minus(&self, other: &Self) -> Self {
        Self::function(self.value - other.value, &[(1.0, self), (-1.0, other)])
    }
    /// Multiple by an exact number.
    pub fn times(&self, factor: f64) -> Self {
        Self::function(self.value * factor, &[(factor, self)])
    }
    /// Product.
    pub fn by(&self, other: &Self) -> Self {
        Self::function(self.value * other.value, &[(other.value, self), (self.value, other)])
    }
    /// Quotient; not finite where the divisor is 0.
    pub fn over(&self, other: &Self) -> Self {
        let value = self.value / other.value;
        Self::function(value, &[(1.0 / other.value, self), (-value / other.value, other)])
    }
    /// With a further error that nothing else shares (the instant it was read at, for one): standard uncertainty.
    pub fn with(mut self, u: f64) -> Self {
        self.noise_var += u * u;
        self
    }

    /// Standard uncertainty by cause, in the order of [`Cause::ALL`]; their squares sum to u².
    pub fn by_cause(&self, errors: &Errors) -> [(Cause, f64); 8] {
        let mut variance = [0.0; 8];
        for (source, part) in errors.sources.iter().zip(&self.parts) {
            variance[source.kind.cause() as usize] += part * part;
        }
        variance[Cause::Noise as usize] += self.noise_var;
        Cause::ALL.map(|cause| (cause, variance[cause as usize].sqrt()))
    }

    /// The cause that contributes most, with its share of the variance, 0..1; `None` for an exact or undefined number.
    pub fn dominant(&self, errors: &Errors) -> Option<(Cause, f64)> {
        let square = self.u() * self.u();
        let (cause, u) = self.by_cause(errors).into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (square > 0.0).then(|| (cause, u * u / square))
    }
}
