//! Conditioning against recordings whose truth is known: what was spoilt comes back, what cannot be mended is said.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use formats::c3d::{self, Encoding};
use glam::DVec3;
use mechanics::conditioning::{Drift, LowPass, Zero};
use mechanics::finding::{self, Finding, Kind};
use mechanics::{
    Analog, Axis, Channel, Conditioning, Hand, Measures, Plate, Recording, Rig, Sensing, Target,
};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style, faults};
use std::sync::Arc;
use swing::events::{ByHand, EventSettings, Name};
use swing::{MeasureSettings, Settings, Swing, analyse, measure};

const RATE_HZ: f64 = 500.0;

/// The offset that nobody removed: plate axes.
const FORCE_N: DVec3 = DVec3::new(6.0, -4.0, 9.0);
const MOMENT_NM: DVec3 = DVec3::new(1.5, -0.8, 0.6);

fn made() -> Simulated {
    let player = PlayerSpec { quiet_s: 2.0, hold_s: 1.0, ..PlayerSpec::right(Style::press()) };
    let rig = RigSpec { rate_hz: RATE_HZ, ..RigSpec::two_plates(PlateType::Two) };
    simulate::swing(&player, &rig, &Noise::NONE, 5).expect("a swing")
}

/// The player steps onto the plates after 0.5 s and off them 0.5 s before the end: these plates read 0 when empty.
fn stepped_on() -> Simulated {
    let mut made = made();
    let samples = made.recording.analog.len();
    let away = (0.5 * RATE_HZ) as usize;
    for channel in made.recording.analog.channels.iter_mut().filter(|c| c.label != "IMPACT") {
        channel.samples[..away].fill(0.0);
        channel.samples[samples - away..].fill(0.0);
    }
    made
}

fn read(recording: &Recording, rig: &Rig, how: &Conditioning) -> (Swing, Vec<Finding>) {
    let settings =
        Settings { hand: Some(Hand::Right), conditioning: Some(how.clone()), ..Settings::UNSTATED };
    let checked = analyse(recording, rig, &settings).expect("a swing");
    (checked.value, checked.findings)
}

fn has(findings: &[Finding], kind: &'static Kind) -> bool {
    findings.iter().any(|f| f.kind.code == kind.code)
}

/// Largest difference of force, N, and of turn, N·m, while somebody is on the plates.
fn apart(a: &Swing, b: &Swing) -> (f64, f64) {
    let largest = |d: &mut dyn Iterator<Item = f64>| d.filter(|d| !d.is_nan()).fold(0.0, f64::max);
    let (Some(a_feet), Some(b_feet)) = (&a.series.feet, &b.series.feet) else { panic!("two feet") };
    let force = [(&a_feet.lead, &b_feet.lead), (&a_feet.trail, &b_feet.trail)]
        .into_iter()
        .flat_map(|(a, b)| a.wrench.force_n.iter().zip(&b.wrench.force_n).map(|(a, b)| (*a - *b).length()));
    let turn = a.ledger.turn_nm.iter().zip(&b.ledger.turn_nm).map(|(a, b)| (a - b).abs());
    (largest(&mut { force }), largest(&mut { turn }))
}

fn zeroed(zero: Zero) -> Conditioning {
    Conditioning { zero, ..Conditioning::RAW }
}

#[test]
fn an_offset_goes_by_every_way() {
    let made = stepped_on();
    let (sound, _) = read(&made.recording, &made.rig, &Conditioning::RAW);
    let spoil = |r: &Recording| faults::unloaded_offset(r, 0, FORCE_N, MOMENT_NM);
    let spoilt = spoil(&made.recording);
    let (raw, _) = read(&spoilt, &made.rig, &Conditioning::RAW);
    let (force, turn) = apart(&raw, &sound);
    assert!(force > 11.0 && turn > 0.5, "the offset shows: {force} N, {turn} N·m");

    let empty = Arc::new(spoil(&faults::never_loaded(&faults::never_loaded(&made.recording, 0), 1)));
    let mut with_window = made.rig.clone();
    with_window.plates.iter_mut().for_each(|p| p.baseline = Some((20, 200)));
    for (zero, rig) in [
        (Zero::Interval(0.05, 0.4), &made.rig),
        (Zero::Found, &made.rig),
        (Zero::Empty(empty), &made.rig),
        (Zero::FileWindow, &with_window),
    ] {
        let (mended, _) = read(&spoilt, rig, &zeroed(zero.clone()));
        let (force, turn) = apart(&mended, &sound);
        assert!(force < 1e-9 && turn < 1e-6, "{zero:?} leaves {force} N, {turn} N·m");
        // What was done is kept with the result.
        assert_eq!(mended.done.asked.zero, zero);
        let off = mended.done.plates[0].zero.as_ref().expect("a level").force_n;
        assert!((off.length() - FORCE_N.length()).abs() < 1e-9, "{zero:?} took {off} N off plate 1");
        let none = mended.done.plates[1].zero.as_ref().expect("a level").force_n;
        assert!(none.length() < 1e-9, "{zero:?} took {none} N off plate 2, which had none");
    }
}

#[test]
fn the_files_own_window_works_through_c3d() {
    let made = stepped_on();
    let mut spoilt = faults::unloaded_offset(&made.recording, 0, FORCE_N, MOMENT_NM);
    spoilt.plates.iter_mut().for_each(|p| p.baseline = Some((20, 200)));
    let bytes = c3d::encode(&spoilt, &Encoding::PLAIN).expect("a file");
    let recording = c3d::decode("swing.c3d", &bytes).expect("a recording").value;
    let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(&recording) };
    let window = rig.plates[0].baseline.expect("the file states it");
    assert!(window.0 <= 20 && window.1 >= 190 && window.1 <= 210, "{window:?}");
    let (sound, _) = read(&made.recording, &made.rig, &Conditioning::RAW);
    let (mended, _) = read(&recording, &rig, &zeroed(Zero::FileWindow));
    // A file keeps 24 bits.
    let (force, turn) = apart(&mended, &sound);
    assert!(force < 1e-3 && turn < 1e-2, "{force} N, {turn} N·m");
}

#[test]
fn a_loaded_interval_is_refused() {
    let made = stepped_on();
    let spoilt = faults::unloaded_offset(&made.recording, 0, FORCE_N, MOMENT_NM);
    let (raw, _) = read(&spoilt, &made.rig, &Conditioning::RAW);
    let (kept, findings) = read(&spoilt, &made.rig, &zeroed(Zero::Interval(1.0, 1.4)));
    assert!(has(&findings, &finding::BASELINE_LOADED));
    assert_eq!(apart(&kept, &raw), (0.0, 0.0));
    assert!(kept.done.plates.iter().all(|p| p.zero.is_none()));
    // Somebody on it from end to end: there is no zero to find. A recording with a player is no empty one.
    let always = made_and_offset();
    let (_, findings) = read(&always, &made.rig, &zeroed(Zero::Found));
    assert!(has(&findings, &finding::ZERO_NOT_FOUND));
    // Nor does standing at the same load from end to end look like an empty plate.
    let mut standing = always.clone();
    standing.analog.channels.iter_mut().for_each(|c| c.samples.truncate(600));
    standing.marks.clear();
    let (_, findings) = read(&standing, &made.rig, &zeroed(Zero::Interval(0.2, 0.6)));
    assert!(has(&findings, &finding::BASELINE_LOADED));
    let (_, findings) = read(&spoilt, &made.rig, &zeroed(Zero::Empty(Arc::new(always))));
    assert!(has(&findings, &finding::ZERO_NOT_FOUND));
    let (_, findings) = read(&spoilt, &made.rig, &zeroed(Zero::Interval(90.0, 91.0)));
    assert!(has(&findings, &finding::ZERO_NOT_FOUND), "outside the recording");
}

fn made_and_offset() -> Recording {
    faults::unloaded_offset(&made().recording, 0, FORCE_N, MOMENT_NM)
}

#[test]
fn a_drift_goes_where_the_plate_is_empty_twice() {
    let made = stepped_on();
    let (sound, _) = read(&made.recording, &made.rig, &Conditioning::RAW);
    // 2.4 N/s of the vertical force.
    let spoilt = faults::drifting(&made.recording, 0, DVec3::new(0.5, 0.3, 2.4), DVec3::new(0.1, 0.2, 0.3));
    let duration_s = spoilt.analog.duration_s();
    let (raw, _) = read(&spoilt, &made.rig, &Conditioning::RAW);
    assert!(apart(&raw, &sound).0 > 2.0 * duration_s);
    // Wherever the zero was taken, nothing is left: early, late, or where the plate happens to be stillest.
    for zero in [Zero::Interval(0.0, 0.4), Zero::Interval(duration_s - 0.4, duration_s - 0.05), Zero::Found] {
        let how = Conditioning { drift: Drift::Removed, ..zeroed(zero.clone()) };
        let (mended, _) = read(&spoilt, &made.rig, &how);
        let (force, turn) = apart(&mended, &sound);
        assert!(force < 1e-6 && turn < 1e-6, "{zero:?}: {force} N, {turn} N·m are left");
        assert!(mended.done.plates[0].drift_removed);
    }
    // Without a zero the early reading stays, and the slope is gone.
    let how = Conditioning { drift: Drift::Removed, ..Conditioning::RAW };
    let (mended, _) = read(&spoilt, &made.rig, &how);
    let lead = |s: &Swing, k: usize| s.series.feet.as_ref().expect("feet").lead.wrench.force_n[k];
    let late = made.recording.analog.len() - 300;
    let left = |k: usize| lead(&mended, k) - lead(&sound, k);
    assert!((left(300) - left(late)).length() < 1e-6, "{} and {}", left(300), left(late));
    // A plate on which somebody stands at the end does not show its drift.
    let always = faults::drifting(&self::made().recording, 0, DVec3::new(0.5, 0.3, 2.4), DVec3::ZERO);
    let how = Conditioning { drift: Drift::Removed, ..Conditioning::RAW };
    let (kept, findings) = read(&always, &made.rig, &how);
    assert!(has(&findings, &finding::DRIFT_NOT_SEEN));
    assert_eq!(apart(&kept, &read(&always, &made.rig, &Conditioning::RAW).0), (0.0, 0.0));
    assert!(kept.done.plates.iter().all(|p| !p.drift_removed));
}

/// Samples whose lead force is not defined.
fn holes(swing: &Swing) -> Vec<usize> {
    let force = &swing.series.feet.as_ref().expect("feet").lead.wrench.force_n;
    (0..force.len()).filter(|k| force[*k].is_nan()).collect()
}

#[test]
fn short_gaps_are_bridged_and_long_ones_never_spread() {
    let made = made();
    let mut holed = made.recording.clone();
    let (short, long) = (400..405, 700..740);
    for gap in [short.clone(), long.clone()] {
        // One channel of six: the wrench needs them all.
        holed.analog.channels[1].samples[gap].fill(f64::NAN);
    }
    let (sound, _) = read(&made.recording, &made.rig, &Conditioning::RAW);
    let (raw, _) = read(&holed, &made.rig, &Conditioning::RAW);
    let both: Vec<usize> = short.clone().chain(long.clone()).collect();
    assert_eq!(holes(&raw), both);
    let bridge = Conditioning { bridge_s: 0.02, ..Conditioning::RAW };
    let (bridged, findings) = read(&holed, &made.rig, &bridge);
    assert_eq!(holes(&bridged), long.clone().collect::<Vec<usize>>());
    assert_eq!(bridged.done.plates[0].bridged, vec![short.clone()]);
    assert!(bridged.done.plates[1].bridged.is_empty());
    assert!(has(&findings, &finding::GAPS_BRIDGED));
    // The cubic stays near a curve that moves slowly; what was not missing is untouched.
    let (force, _) = apart(&bridged, &sound);
    assert!(force < 1.0, "{force} N");
    let low = LowPass { order: 2, cut_off_hz: 30.0 };
    for bridge_s in [0.0, 0.02] {
        let how = Conditioning { bridge_s, force: Some(low), moment: Some(low), ..Conditioning::RAW };
        let (filtered, _) = read(&holed, &made.rig, &how);
        let expected = if bridge_s > 0.0 { long.clone().collect() } else { both.clone() };
        assert_eq!(holes(&filtered), expected, "a filter makes no gap longer");
    }
    // Exactly as long as stated is bridged, a sample more is not.
    let just = Conditioning { bridge_s: 5.0 / RATE_HZ, ..Conditioning::RAW };
    assert_eq!(holes(&read(&holed, &made.rig, &just).0).len(), long.len());
    let under = Conditioning { bridge_s: 4.0 / RATE_HZ, ..Conditioning::RAW };
    assert_eq!(holes(&read(&holed, &made.rig, &under).0).len(), both.len());
}

/// The centre of pressure is that of the filtered wrench, and is not defined where the filtered foot is unloaded.
#[test]
fn filter_first_then_pressure() {
    let made = stepped_on();
    let low = LowPass { order: 2, cut_off_hz: 25.0 };
    let how = Conditioning { force: Some(low), moment: Some(low), ..Conditioning::RAW };
    let (swing, _) = read(&made.recording, &made.rig, &how);
    let mut undefined = 0;
    for foot in [&swing.series.feet.as_ref().expect("feet").lead, &swing.series.net] {
        for (k, contact) in foot.contact.iter().enumerate() {
            let (f, m) = (foot.wrench.force_n[k], foot.wrench.moment_nm[k]);
            if f.z >= 20.0 {
                let cop = DVec3::new(-m.y / f.z, m.x / f.z, 0.0);
                assert!((contact.cop_m - cop).length() < 1e-9, "at {k}");
            } else {
                assert!(contact.cop_m.is_nan() && contact.free_nm.is_nan(), "at {k}: {} N", f.z);
                undefined += 1;
            }
        }
    }
    assert!(undefined > 400, "{undefined}");
}

#[test]
fn forces_and_moments_have_cut_offs_of_their_own() {
    let made = made();
    let low = LowPass { order: 2, cut_off_hz: 12.0 };
    let (raw, _) = read(&made.recording, &made.rig, &Conditioning::RAW);
    let about_centre = |swing: &Swing, k: usize| {
        let lead = &swing.series.feet.as_ref().expect("feet").lead.wrench;
        lead.moment_nm[k] - swing.plates[0].surface.centre_m.cross(lead.force_n[k])
    };
    let moved = |a: &Swing, b: &Swing| {
        let lead = |s: &Swing, k: usize| s.series.feet.as_ref().expect("feet").lead.wrench.force_n[k];
        (0..made.truth.len()).fold((0.0_f64, 0.0_f64), |(force, moment), k| {
            let by = (lead(a, k) - lead(b, k)).length();
            (force.max(by), moment.max((about_centre(a, k) - about_centre(b, k)).length()))
        })
    };
    let forces = Conditioning { force: Some(low), ..Conditioning::RAW };
    let (force, moment) = moved(&read(&made.recording, &made.rig, &forces).0, &raw);
    assert!(force > 5.0 && moment < 1e-9, "forces alone: {force} N, {moment} N·m about the plate");
    let moments = Conditioning { moment: Some(low), ..Conditioning::RAW };
    let (force, moment) = moved(&read(&made.recording, &made.rig, &moments).0, &raw);
    assert!(force < 1e-9 && moment > 1.0, "moments alone: {force} N, {moment} N·m about the plate");
}

/// Raw is raw: the same bits as no conditioning at all, which are those of the plates themselves.
#[test]
fn raw_is_what_was_recorded() {
    let made = made();
    assert_eq!(made.rig.conditioning, Conditioning::RAW);
    let unstated = Settings { hand: Some(Hand::Right), ..Settings::UNSTATED };
    let as_rig = analyse(&made.recording, &made.rig, &unstated).expect("a swing").value;
    let (raw, _) = read(&made.recording, &made.rig, &Conditioning::RAW);
    let plates = mechanics::wrench::wrenches(&made.recording, &made.rig, &raw.frame).value;
    let feet = raw.series.feet.as_ref().expect("feet");
    for (foot, plate) in [(&feet.lead, &plates[0]), (&feet.trail, &plates[1])] {
        for (a, b) in foot.wrench.force_n.iter().zip(&plate.wrench.force_n) {
            assert_eq!(a.to_array().map(f64::to_bits), b.to_array().map(f64::to_bits));
        }
        for (a, b) in foot.wrench.moment_nm.iter().zip(&plate.wrench.moment_nm) {
            assert_eq!(a.to_array().map(f64::to_bits), b.to_array().map(f64::to_bits));
        }
    }
    for (a, b) in as_rig.ledger.turn_nm.iter().zip(&raw.ledger.turn_nm) {
        assert_eq!(a.to_bits(), b.to_bits());
    }
    assert!(raw.done.plates.iter().all(|p| p.zero.is_none() && p.bridged.is_empty() && !p.drift_removed));
}

/// At half the rate the figures are the same: the swing has nothing up there.
#[test]
fn resampling_keeps_the_figures() {
    let made = made();
    let by_hand =
        Name::ALL.into_iter().zip(made.truth.events.list()).map(|(n, (_, t))| ByHand::at(n, t)).collect();
    let events = EventSettings { by_hand, ..EventSettings::UNSTATED };
    let what = MeasureSettings { events, estimates: false };
    let at = |resample_hz: Option<f64>| {
        let conditioning = Some(Conditioning { resample_hz, ..Conditioning::RAW });
        let how = Settings { hand: Some(Hand::Right), conditioning, ..Settings::UNSTATED };
        measure(&made.recording, &made.rig, &how, &what).expect("a swing").value
    };
    let (full, half) = (at(None), at(Some(250.0)));
    assert_eq!((full.swing.rate_hz, half.swing.rate_hz), (500.0, 250.0));
    assert_eq!(half.swing.done.asked.resample_hz, Some(250.0));
    for (id, within) in [
        ("up.net.most", 0.5),
        ("up.lead.most", 0.5),
        ("target.net.most", 0.2),
        ("turn.net-cop.most", 0.1),
        ("free-moment.lead.most", 0.05),
        ("up.net.most.time", 5e-4),
        ("turn.net-cop.most.time", 1e-3),
        ("impulse.downswing.target.net.all", 0.05),
        ("impulse.downswing.up.net.all", 0.05),
        ("rate.up.lead", 30.0),
        ("cop.net.target.extent", 1e-3),
        ("stance.width", 1e-3),
        ("tempo", 1e-9),
    ] {
        let value = |m: &swing::Measurement| m.metric(id).expect(id).figure.as_ref().expect(id).value;
        let (a, b) = (value(&full), value(&half));
        assert!((a - b).abs() <= within, "{id}: {a} at 500 Hz, {b} at 250 Hz");
    }
}

/// The input of `column()` in refs/make.py.
fn column(length: usize) -> Vec<f64> {
    let mut s: u64 = 12345;
    (0..length)
        .map(|k| {
            s = (1_103_515_245 * s + 12345) % (1 << 31);
            100.0 * (s as f64 / (1_u64 << 31) as f64 - 0.5) + 700.0 + 0.5 * k as f64
        })
        .collect()
}

/// From channels to centre of pressure and free moment as scipy has it: refs/conditioned.toml, made by refs/make.py.
#[test]
fn the_whole_way_equals_scipy() {
    let up = column(160);
    let fx: Vec<f64> = up.iter().rev().map(|v| 0.1 * v).collect();
    let of = |f: &dyn Fn(usize) -> f64| (0..160).map(f).collect::<Vec<f64>>();
    let columns = [
        fx.clone(),
        of(&|k| 0.2 * fx[k] - 0.05 * up[k]),
        up.clone(),
        of(&|k| 0.1 * up[k] + 0.3 * fx[k]),
        of(&|k| -0.05 * up[k]),
        of(&|k| 0.02 * up[159 - k]),
    ];
    let channels = columns.into_iter().map(|samples| Channel { samples, ..Channel::default() }).collect();
    let corner = |x: f64, y: f64| DVec3::new(0.3 * x, 0.2 * y, 0.0);
    let plate = Plate {
        name: "1".into(),
        corners_m: [corner(1.0, 1.0), corner(-1.0, 1.0), corner(-1.0, -1.0), corner(1.0, -1.0)],
        sensing: Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::ZERO),
        measures: Measures::OnPlayer,
        cover_m: 0.0,
        baseline: None,
        foot: None,
        kind: "six channels".into(),
    };
    let recording = Recording {
        analog: Analog { rate_hz: 1000.0, start_s: 0.0, channels },
        plates: vec![plate],
        up: Some(Axis::PlusZ),
        ..made().recording
    };
    let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(&recording) };
    let how = Conditioning {
        force: Some(LowPass { order: 2, cut_off_hz: 50.0 }),
        moment: Some(LowPass { order: 3, cut_off_hz: 20.0 }),
        ..Conditioning::RAW
    };
    let (swing, _) = read(&recording, &rig, &how);
    let reference: toml::Table = include_str!("../../../refs/conditioned.toml").parse().expect("a table");
    let stored = |key: &str, k: usize| reference[key].as_array().expect(key)[k].as_float().expect("a number");
    let net = &swing.series.net;
    for k in 0..160 {
        let (f, m, c) = (net.wrench.force_n[k], net.wrench.moment_nm[k], net.contact[k]);
        for (key, value) in [
            ("fx", f.x),
            ("fy", f.y),
            ("fz", f.z),
            ("mx", m.x),
            ("my", m.y),
            ("mz", m.z),
            ("cop_x", c.cop_m.x),
            ("cop_y", c.cop_m.y),
            ("free", c.free_nm),
        ] {
            let known = stored(key, k);
            assert!(
                (value - known).abs() < 1e-9 * known.abs().max(1.0),
                "{key} at {k}: {value}, scipy {known}"
            );
        }
    }
}
