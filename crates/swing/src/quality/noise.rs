//! Noise of a plate, and mains hum.
use mechanics::finding::{self, Finding};
use mechanics::wrench::PlateWrench;
use signal::quiet::{Search, quietest};

/// White noise of the vertical force above this is told, N: one per cent of a person's weight. Common practice, no
/// source; plates in good order have 0.2 to 1, and measured recordings that serve well have up to 5.
const NOISE_N: f64 = 7.0;

/// Hum of any force component above this is told, N. Common practice, no source.
const HUM_N: f64 = 1.5;

/// And only where it is this many times its own uncertainty.
const SIGMAS: f64 = 5.0;

/// Mains frequencies, Hz.
const MAINS_HZ: [f64; 2] = [50.0, 60.0];

/// Under this rate movement itself looks like noise and the mains fold back, Hz.
const LEAST_HZ: f64 = 190.0;

/// Noise and hum of each plate over its quietest half second.
pub(super) fn check(plates: &[PlateWrench], rate_hz: f64, findings: &mut Vec<Finding>) {
    if rate_hz.is_nan() || rate_hz < LEAST_HZ {
        return;
    }
    let length = (0.5 * rate_hz).round() as usize;
    for plate in plates {
        let force = &plate.wrench.force_n;
        let vertical: Vec<f64> = force.iter().map(|f| f.z).collect();
        let search = Search {
            within: 0..vertical.len(),
            length,
            lowest_mean: f64::NEG_INFINITY,
            highest_mean: f64::INFINITY,
        };
        let Some(window) = quietest(&vertical, &search) else { continue };
        let (from_s, to_s) = (window.start as f64 / rate_hz, window.end as f64 / rate_hz);
        let quiet = force.get(window.start..window.end).unwrap_or_default();
        let column = |axis: usize| quiet.iter().map(|f| f[axis]).collect::<Vec<f64>>();
        let noise = signal::white::white_noise(&column(2));
        if noise > NOISE_N {
            let seen = format!("white noise of {noise:.1} N in the vertical force, over {NOISE_N} N");
            findings.push(Finding::new(&finding::NOISY, seen).on_plate(plate.plate).during(from_s, to_s));
        }
        let hums = (0..3).flat_map(|axis| {
            let column = column(axis);
            // A sine of this amplitude alone spreads the column so far; what spreads less holds none.
            let spread = signal::stats::standard_deviation(&column);
            let column = if spread > 0.7 * HUM_N { column } else { Vec::new() };
            MAINS_HZ.map(|hz| {
                signal::periodic::sines(&column, rate_hz, &[hz]).and_then(|fit| fit.sines.first().copied())
            })
        });
        let largest = hums.flatten().filter(|s| s.amplitude > SIGMAS * s.amplitude_uncertainty);
        let largest = largest.max_by(|a, b| a.amplitude.total_cmp(&b.amplitude));
        if let Some(hum) = largest.filter(|s| s.amplitude > HUM_N) {
            let seen = format!("{:.1} N at {} Hz, over {HUM_N} N", hum.amplitude, hum.frequency_hz);
            findings.push(Finding::new(&finding::MAINS_HUM, seen).on_plate(plate.plate).during(from_s, to_s));
        }
    }
}
