//! Butterworth filters: [`design`] makes the sections, [`mod@zero_phase`] runs them both ways over a column
//! or several at once, [`noise`] says how much noise they let through,
//! [`residual`] proposes a cut-off.
//!
//! ```
//! use signal::filter::{Band, ShortRuns, butterworth_both_ways, zero_phase};
//!
//! // 20 Hz as the half-power frequency of both passes together, force sampled at 1 kHz.
//! let sections = butterworth_both_ways(2, Band::Low(20.0), 1000.0)?;
//! let mut force_n: Vec<f64> = (0..500).map(|i| f64::from(i % 7)).collect();
//! let runs = zero_phase(&sections, &mut force_n, ShortRuns::Keep, &mut Vec::new());
//! assert_eq!(runs.filtered, 1);
//! # Ok::<(), signal::filter::DesignError>(())
//! ```

pub mod design;
pub mod noise;
pub mod residual;
pub mod zero_phase;

pub use design::{Band, DesignError, Section, butterworth, butterworth_both_ways, correction, gain};
pub use noise::noise_gain;
pub use residual::{NoiseLine, Residuals, Stretch, residual_analysis};
pub use zero_phase::{Runs, ShortRuns, pad_length, zero_phase, zero_phase_lanes};
