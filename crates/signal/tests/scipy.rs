//! Against the stored outputs of scipy and numpy (refs/*.toml, made by refs/make.py, which names the versions).

#![allow(clippy::unwrap_used)]

use signal::filter::{Band, Section, ShortRuns, butterworth, noise_gain, pad_length, zero_phase};
use signal::{gaps, integrate, line, math, noncentral, periodic, resample, student};
use toml::Value;

/// The input of `column()` in refs/make.py, bit for bit.
fn column(length: usize) -> Vec<f64> {
    let mut s: u64 = 12345;
    (0..length)
        .map(|k| {
            s = (1_103_515_245 * s + 12345) % (1 << 31);
            100.0 * (s as f64 / (1_u64 << 31) as f64 - 0.5) + 700.0 + 0.5 * k as f64
        })
        .collect()
}

fn numbers(case: &Value, key: &str) -> Vec<f64> {
    case[key].as_array().unwrap().iter().map(|v| v.as_float().unwrap()).collect()
}

fn design(case: &Value) -> (usize, Band, Vec<Section>) {
    let order = usize::try_from(case["order"].as_integer().unwrap()).unwrap();
    let hz = numbers(case, "cut_off_hz");
    let band = match case["kind"].as_str().unwrap() {
        "low" => Band::Low(hz[0]),
        "high" => Band::High(hz[0]),
        _ => Band::Pass(hz[0], hz[1]),
    };
    (order, band, butterworth(order, band, case["rate_hz"].as_float().unwrap()).unwrap())
}

#[test]
fn equals_sosfiltfilt() {
    let reference: toml::Table = include_str!("../../../refs/butterworth.toml").parse().unwrap();
    let length = usize::try_from(reference["length"].as_integer().unwrap()).unwrap();
    let cases = reference["case"].as_array().unwrap();
    assert_eq!(cases.len(), 13);
    let mut scratch = Vec::new();
    for case in cases {
        let (order, band, sections) = design(case);
        assert_eq!(pad_length(&sections) as i64, case["pad"].as_integer().unwrap(), "{band:?}");

        let mut ours = column(length);
        let runs = zero_phase(&sections, &mut ours, ShortRuns::Drop, &mut scratch);
        assert_eq!(runs.filtered, 1);
        let theirs = numbers(case, "output");
        assert_eq!(ours.len(), theirs.len());
        let worst = ours.iter().zip(&theirs).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        // The column is near 700 and 100 wide.
        assert!(worst < 1e-9, "order {order} {band:?}: off by {worst:e}");
    }
}

fn worst(ours: &[f64], theirs: &[f64]) -> f64 {
    assert_eq!(ours.len(), theirs.len());
    // `max` would swallow a NaN.
    assert!(ours.iter().all(|x| x.is_finite()));
    ours.iter().zip(theirs).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

#[test]
fn integrals_derivatives_and_lines() {
    let reference: Value = include_str!("../../../refs/calculus.toml").parse::<toml::Table>().unwrap().into();
    let number = |key: &str| reference[key].as_float().unwrap();
    let (x, step) = (column(40), number("step"));
    assert!(worst(&integrate::cumulative(&x, step), &numbers(&reference, "cumulative")) < 1e-11);
    assert!(worst(&integrate::derivative(&x, step), &numbers(&reference, "derivative")) < 1e-9);
    let line = line::fit(x.iter().enumerate().map(|(i, &y)| (i as f64 * step, y))).unwrap();
    assert!((line.slope - number("slope")).abs() < 1e-9);
    assert_eq!(line.slope, integrate::slope(&x, step));
    assert!((line.intercept - number("intercept")).abs() < 1e-9);
    assert!((line.slope_error - number("slope_error")).abs() < 1e-9);
    assert!((line.r2 - number("r2")).abs() < 1e-12);
}

/// Our sum over the impulse response against scipy's integral over the frequencies.
#[test]
fn noise_gains() {
    let designs: toml::Table = include_str!("../../../refs/butterworth.toml").parse().unwrap();
    let reference: Value =
        include_str!("../../../refs/noise_gain.toml").parse::<toml::Table>().unwrap().into();
    let gains = |case: &Value| noise_gain(&design(case).2);
    let ours: Vec<f64> = designs["case"].as_array().unwrap().iter().map(gains).collect();
    assert!(worst(&ours, &numbers(&reference, "gain")) < 1e-9);
}

#[test]
fn fitted_sines() {
    let reference: Value = include_str!("../../../refs/periodic.toml").parse::<toml::Table>().unwrap().into();
    let number = |key: &str| reference[key].as_float().unwrap();
    let fit = periodic::sines(&column(90), number("rate_hz"), &numbers(&reference, "frequency_hz")).unwrap();
    assert!((fit.level - number("level")).abs() < 1e-9);
    assert!((fit.residual - number("residual")).abs() < 1e-9);
    let sine = fit.sines.iter().map(|s| s.amplitude * math::cos(s.phase_rad));
    let cosine = fit.sines.iter().map(|s| s.amplitude * math::sin(s.phase_rad));
    assert!(worst(&sine.chain(cosine).collect::<Vec<_>>(), &numbers(&reference, "weights")) < 1e-9);
}

#[test]
fn equals_resample_poly() {
    let reference: toml::Table = include_str!("../../../refs/resample.toml").parse().unwrap();
    let cases = reference["case"].as_array().unwrap();
    assert_eq!(cases.len(), 8);
    for case in cases {
        let whole = |key: &str| u32::try_from(case[key].as_integer().unwrap()).unwrap();
        let ratio = resample::Ratio { up: whole("up"), down: whole("down") };
        let ours = resample::resample(&column(whole("length") as usize), ratio).unwrap();
        let off = worst(&ours, &numbers(case, "output"));
        assert!(off < 1e-9, "{ratio:?}: off by {off:e}");
    }
}

#[test]
fn equals_pchip() {
    let reference: Value = include_str!("../../../refs/gaps.toml").parse::<toml::Table>().unwrap().into();
    let mut x = column(60);
    x[20..30].fill(640.0);
    let missing: Vec<usize> =
        reference["missing"].as_array().unwrap().iter().map(|v| v.as_integer().unwrap() as usize).collect();
    missing.iter().for_each(|&i| x[i] = f64::NAN);
    let filled = gaps::fill(&mut x, 3);
    assert!(filled.into_iter().flatten().eq(missing.iter().copied()));
    let ours: Vec<f64> = missing.iter().map(|&i| x[i]).collect();
    assert!(worst(&ours, &numbers(&reference, "filled")) < 1e-9);
}

#[test]
fn quantiles_of_t() {
    let reference: toml::Table = include_str!("../../../refs/student.toml").parse().unwrap();
    let cases = reference["case"].as_array().unwrap();
    assert_eq!(cases.len(), 121);
    for case in cases {
        let number = |key: &str| case[key].as_float().unwrap();
        let (p, degrees, t) = (number("p"), number("degrees"), number("t"));
        let ours = student::quantile(p, degrees);
        assert!((ours - t).abs() <= 2e-12 * t.abs().max(1e-3), "t({p}, {degrees}) = {ours}, not {t}");
    }
}

/// Shares of both tails and limits of a noncentrality, by `stats.nct`; the stored figures agree with a mean over S taken by
/// mpmath with 30 digits to 1e-11.
#[test]
fn noncentral_t() {
    let reference: toml::Table = include_str!("../../../refs/noncentral.toml").parse().unwrap();
    let cases = reference["case"].as_array().unwrap();
    assert_eq!(cases.len(), 56);
    for case in cases {
        let number = |key: &str| case[key].as_float().unwrap();
        let (t, degrees, delta) = (number("t"), number("degrees"), number("noncentrality"));
        let near =
            |a: f64, b: f64, by: f64| assert!((a - b).abs() < by, "{t} {degrees} {delta}: {a}, not {b}");
        near(noncentral::share_below(t, degrees, delta), number("below"), 1e-11);
        near(noncentral::share_above(t, degrees, delta), number("above"), 1e-11);
        near(noncentral::noncentrality(0.975, t, degrees), number("low"), 1e-9 * (1.0 + t.abs()));
        near(noncentral::noncentrality(0.025, t, degrees), number("high"), 1e-9 * (1.0 + t.abs()));
    }
}
