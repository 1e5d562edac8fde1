//! What is wrong with every real plate: noise, drift, cross-talk, hum and digitisation.
use crate::chance::{Chance, Purpose};
use crate::plate::{Inverse, Wrench};
use signal::math;

/// Errors of the plates and markers; standard deviations where not said otherwise. They act on the force and
/// the moment about the surface centre, in the plate's axes, before the channels are formed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// White noise of each force component, N.
    pub force_n: f64,
    /// White noise of each moment component, N·m.
    pub moment_nm: f64,
    /// Drift of each force component from begin to end of 5 s, N.
    pub drift_n: f64,
    /// Drift of each moment component from begin to end of 5 s, N·m.
    pub drift_nm: f64,
    /// Share of one component that appears in another; fixed for a plate over a session. Into moments from
    /// forces the share is taken of the force at 0.1 m.
    pub crosstalk: f64,
    /// Amplitude of mains hum in each force component, N; a tenth of it, in N·m, in each moment.
    pub hum_n: f64,
    /// Mains frequency, Hz.
    pub hum_hz: f64,
    /// Digitisation.
    pub adc: Option<Adc>,
    /// Noise of each marker coordinate, m.
    pub marker_m: f64,
}

impl Noise {
    /// No error at all: the truth comes back to rounding.
    pub const NONE: Self = Self {
        force_n: 0.0,
        moment_nm: 0.0,
        drift_n: 0.0,
        drift_nm: 0.0,
        crosstalk: 0.0,
        hum_n: 0.0,
        hum_hz: 50.0,
        adc: None,
        marker_m: 0.0,
    };
    /// A plate in good order. Sizes are common practice, no source.
    pub const USUAL: Self = Self {
        force_n: 0.8,
        moment_nm: 0.25,
        drift_n: 0.6,
        drift_nm: 0.2,
        crosstalk: 0.004,
        hum_n: 0.3,
        hum_hz: 50.0,
        adc: Some(Adc { bits: 16, force_n: 5000.0, moment_nm: 2000.0 }),
        marker_m: 0.0003,
    };
}

/// An analog-to-digital converter. Each channel's range is what it reads when all six components are at theirs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adc {
    /// Bits of the whole range, plus and minus.
    pub bits: u8,
    /// Range of a force, ± N.
    pub force_n: f64,
    /// Range of a moment, ± N·m.
    pub moment_nm: f64,
}

/// A channel's step and range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steps {
    /// One count, channel unit.
    pub step: f64,
    /// Largest count.
    pub counts: f64,
}

impl Steps {
    fn of(range: f64, bits: u8) -> Self {
        let counts = (1u64 << bits.clamp(2, 32).saturating_sub(1)) as f64;
        Self { step: range / counts, counts }
    }
    /// The value after conversion: whole counts, held within the range.
    pub fn round(&self, value: f64) -> f64 {
        if self.step > 0.0 {
            (value / self.step).round().clamp(-self.counts, self.counts - 1.0) * self.step
        } else {
            value
        }
    }
}

impl Adc {
    fn ranges(&self) -> [f64; 6] {
        let (f, m) = (self.force_n, self.moment_nm);
        [f, f, f, m, m, m]
    }
    /// Steps of each channel of a plate with linear sensing; `None` for reduced sensing, whose wrench is rounded
    /// before it is reduced ([`Adc::round_wrench`]).
    pub fn steps(&self, inverse: &Inverse) -> Option<Vec<Steps>> {
        let ranges = inverse.ranges(self.ranges())?;
        Some(ranges.into_iter().map(|r| Steps::of(r, self.bits)).collect())
    }
    /// The wrench in whole counts.
    pub fn round_wrench(&self, wrench: Wrench) -> Wrench {
        let mut w = wrench.to_array();
        for (value, range) in w.iter_mut().zip(self.ranges()) {
            *value = Steps::of(range, self.bits).round(*value);
        }
        Wrench::from_array(w)
    }
}

/// The errors of one plate in one recording.
pub struct PlateNoise {
    noise: Noise,
    chance: Chance,
    rate_hz: f64,
    talk: [[f64; 6]; 6],
    /// Drift in units of its standard deviation, per 5 s.
    drift: [f64; 6],
    hum_phase: f64,
}

impl PlateNoise {
    /// Draws what is fixed for the plate, from the seed of its bay, and what is of the recording.
    pub fn new(noise: &Noise, bay: u64, seed: u64, k: u32, plate: usize, rate_hz: f64) -> Self {
        let plate = u16::try_from(plate).unwrap_or(u16::MAX);
        let mut fixed = Chance::new(bay, k, Purpose::PlateFixed(plate));
        let mut talk = [[0.0; 6]; 6];
        for (i, row) in talk.iter_mut().enumerate() {
            for (j, share) in row.iter_mut().enumerate() {
                let lever = if i >= 3 && j < 3 { 0.1 } else { 1.0 };
                let share_of = fixed.uniform() * 2.0 - 1.0;
                // Moments do not appear in forces: their unit is another.
                *share = if i == j || (i < 3 && j >= 3) { 0.0 } else { noise.crosstalk * lever * share_of };
            }
        }
        let mut chance = Chance::new(seed, k, Purpose::Plate(plate));
        let drift = [0; 6].map(|_| chance.tame());
        let hum_phase = core::f64::consts::TAU * chance.uniform();
        Self { noise: *noise, chance, rate_hz, talk, drift, hum_phase }
    }

    /// The wrench of sample `i` with its errors; samples must come in order.
    pub fn spoil(&mut self, wrench: Wrench, i: usize) -> Wrench {
        let n = self.noise;
        if n == (Noise { adc: n.adc, marker_m: n.marker_m, ..Noise::NONE }) {
            return wrench;
        }
        let t = i as f64 / self.rate_hz;
        let hum = n.hum_n * math::sin(core::f64::consts::TAU * n.hum_hz * t + self.hum_phase);
        let clean = wrench.to_array();
        let mut out = clean;
        for (j, value) in out.iter_mut().enumerate() {
            let (white, drift, hum) =
                if j < 3 { (n.force_n, n.drift_n, hum) } else { (n.moment_nm, n.drift_nm, hum / 10.0) };
            *value += self.talk[j].iter().zip(clean).map(|(s, c)| s * c).sum::<f64>();
            *value += white * self.chance.normal() + drift * self.drift[j] * t / 5.0 + hum;
        }
        Wrench::from_array(out)
    }
}
