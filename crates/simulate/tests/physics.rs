//! The simulated body against mechanics: what must hold for any body on the ground, and what golfers do.
#![allow(clippy::unwrap_used, clippy::panic)] // a test may

use glam::DVec3;
use proptest::prelude::*;
use simulate::{GRAVITY, Noise, PlateType, PlayerSpec, RigSpec, Scatter, Simulated, Style, ToePeaks, Truth};

fn bare_rig() -> RigSpec {
    RigSpec { marker_rate_hz: 0.0, ..RigSpec::two_plates(PlateType::Two) }
}

fn truth(player: &PlayerSpec, seed: u64) -> Truth {
    simulate::swing(player, &bare_rig(), &Noise::NONE, seed).unwrap().truth
}

/// The cast and both patterns of the toe–heel force, two swings each.
fn truths() -> Vec<(PlayerSpec, Truth)> {
    let patterns = [ToePeaks::One, ToePeaks::Two].map(|p| PlayerSpec::right(Style::early().with_toe(p)));
    PlayerSpec::cast()
        .into_iter()
        .chain(patterns)
        .flat_map(|p| [(p.clone(), truth(&p, 11)), (p.clone(), truth(&p, 12))])
        .collect()
}

/// Impulse of the net force, beyond weight, equals the change of momentum (Newton's second law). The force is
/// summed with Simpson's rule, whose error on these smooth curves at 1 kHz is far below the tolerance.
#[test]
fn impulse_is_the_change_of_momentum() {
    for (player, truth) in truths() {
        let m = player.mass_kg;
        let beyond = |i: usize| truth.net_n(i) - DVec3::Z * m * GRAVITY;
        let mut impulse = DVec3::ZERO;
        let mut largest = 0.0f64;
        for i in (0..truth.len() - 2).step_by(2) {
            impulse += (beyond(i) + beyond(i + 1) * 4.0 + beyond(i + 2)) / (3.0 * truth.rate_hz);
            let change = (truth.com_m_s[i + 2] - truth.com_m_s[0]) * m;
            largest = largest.max(change.length());
            assert!((impulse - change).length() < 2e-3, "{}: {impulse} instead of {change}", player.alias);
        }
        assert!(largest > 0.2 * m, "{} hardly moved: {largest} N·s", player.alias);
    }
}

/// Place follows from speed in the same way.
#[test]
fn displacement_is_the_integral_of_speed() {
    for (player, truth) in truths() {
        let mut moved = DVec3::ZERO;
        for i in (0..truth.len() - 2).step_by(2) {
            let v = &truth.com_m_s;
            moved += (v[i] + v[i + 1] * 4.0 + v[i + 2]) / (3.0 * truth.rate_hz);
            let change = truth.com_m[i + 2] - truth.com_m[0];
            assert!((moved - change).length() < 1e-6, "{}", player.alias);
        }
    }
}

#[test]
fn the_ground_carries_the_weight_at_rest() {
    for (player, truth) in truths() {
        let weight = player.mass_kg * GRAVITY;
        let at = |t: f64| (t * truth.rate_hz) as usize;
        for i in (0..at(truth.events.takeaway_s)).chain(at(truth.events.finish_s) + 1..truth.len()) {
            assert!((truth.net_n(i).z - weight).abs() < 1e-9 * weight, "{} sample {i}", player.alias);
        }
        assert!(truth.events.address_s + 0.5 - truth.events.takeaway_s < 1e-12);
        assert!(truth.events.takeaway_s >= 1.0, "a second of quiet address");
        assert!(truth.com_m_s[truth.len() - 1].length() < 0.02, "at rest but for sway");
    }
}

#[test]
fn centres_of_pressure_stay_under_the_feet_and_travel() {
    for (player, truth) in truths() {
        for foot in [&truth.lead, &truth.trail] {
            let length = (foot.print.toe_m - foot.print.heel_m).length();
            let along = (foot.print.toe_m - foot.print.heel_m) / length;
            let (mut low, mut high) = (1.0f64, 0.0f64);
            for (i, cop) in foot.cop_m.iter().enumerate() {
                let loaded = foot.force_n[i].z > 0.0;
                assert_eq!(cop.is_nan(), !loaded, "{} sample {i}", player.alias);
                assert!(foot.force_n[i].z >= 0.0, "{} sample {i} pulls on the ground", player.alias);
                if loaded {
                    assert!(
                        foot.print.covers(*cop),
                        "{} sample {i}: {cop} not under {:?}",
                        player.alias,
                        foot.print
                    );
                    let share = (*cop - foot.print.heel_m).dot(along) / length;
                    (low, high) = (low.min(share), high.max(share));
                }
            }
            assert!(high - low > 0.2, "{} moved {low} to {high} heel to toe", player.alias);
        }
    }
}

/// A shoe does not slide: shear under 0.8 of the load. Common practice, no source.
#[test]
fn no_foot_slips() {
    for (player, truth) in truths() {
        for foot in [&truth.lead, &truth.trail] {
            for f in foot.force_n.iter().filter(|f| f.z > 5.0) {
                assert!(f.truncate().length() < 0.8 * f.z, "{}: {f}", player.alias);
            }
        }
    }
}

#[test]
fn the_press_style_lifts_the_trail_foot() {
    let truth = truth(&PlayerSpec { scatter: Scatter::NONE, ..PlayerSpec::right(Style::press()) }, 3);
    let off: Vec<usize> = (0..truth.len()).filter(|&i| truth.trail.force_n[i] == DVec3::ZERO).collect();
    assert!(off.len() > 20, "{} samples in the air", off.len());
    let t = off[0] as f64 / truth.rate_hz - truth.events.impact_s;
    assert!((0.0..0.3).contains(&t), "lifted {t} s after impact");
    assert!(truth.trail.cop_m[off[0]].is_nan() && truth.trail.free_moment_nm[off[0]] == 0.0);
}

/// Standing as an inverted pendulum (Winter 1995, Gait & Posture 3:193-214): the ground pushes the body back over
/// the centre of pressure, so in a band where the body hardly moves, force and centre of pressure go opposite.
/// Differences over 0.1 s keep what is faster than the sway's slow part.
#[test]
fn sway_is_a_pendulum() {
    for (player, truth) in truths() {
        let quiet = (truth.events.takeaway_s * truth.rate_hz) as usize;
        for axis in [0, 1] {
            let change =
                |f: &dyn Fn(usize) -> f64| -> Vec<f64> { (100..quiet).map(|i| f(i) - f(i - 100)).collect() };
            let cop = change(&|i| truth.net_cop_m(i)[axis]);
            let force = change(&|i| truth.net_n(i)[axis]);
            let r = correlation(&cop, &force);
            assert!(r < -0.6, "{} axis {axis}: r = {r}", player.alias);
        }
        // And no moment about the centre of mass while standing: pendulum, not gymnast.
        for i in (0..quiet).step_by(10) {
            let m = truth.moment_about(i, truth.com_m[i]);
            assert!(m.length() < 0.2, "{} at rest has {m} N·m", player.alias);
        }
    }
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    let (ma, mb) = (mean(a), mean(b));
    let sum = |f: &dyn Fn(f64, f64) -> f64| a.iter().zip(b).map(|(x, y)| f(x - ma, y - mb)).sum::<f64>();
    sum(&|x, y| x * y) / (sum(&|x, _| x * x) * sum(&|_, y| y * y)).sqrt()
}

/// The body does not spin before the takeaway nor at the finish: turn about the centre of mass integrates to
/// nothing (angular impulse = change of angular momentum). About the horizontal axes it stays bounded.
#[test]
fn turn_about_the_centre_of_mass_is_given_back() {
    for (player, truth) in truths() {
        let dt = 1.0 / truth.rate_hz;
        let at = |t: f64| (t * truth.rate_hz) as usize;
        let (mut angular, mut most) = (DVec3::ZERO, DVec3::ZERO);
        let mut swung = 0.0f64;
        for i in at(truth.events.takeaway_s)..=at(truth.events.finish_s) + 1 {
            let moment = truth.moment_about(i, truth.com_m[i]);
            angular += moment * dt;
            most = most.max(moment.abs());
            swung = swung.max(angular.z.abs());
        }
        assert!(angular.z.abs() < 0.02, "{}: {} N·m·s left", player.alias, angular.z);
        assert!(swung > 3.0, "{}: the swing has angular momentum on the way", player.alias);
        assert!(
            most.x.max(most.y) < 3.5 * player.mass_kg,
            "{}: {most} N·m about the horizontal axes",
            player.alias
        );
        assert!(angular.x.abs() < 60.0 && angular.y.abs() < 60.0, "{}: {angular} N·m·s", player.alias);
    }
}

#[test]
fn a_mirrored_player_gives_the_mirrored_swing_exactly() {
    let flip = |v: DVec3| DVec3::new(v.x, -v.y, v.z);
    let same = |a: DVec3, b: DVec3| (0..3).all(|k| a[k] == b[k] || (a[k].is_nan() && b[k].is_nan()));
    for style in Style::all() {
        let right = PlayerSpec::right(style);
        let (a, b) = (truth(&right, 4), truth(&right.mirrored(), 4));
        assert_eq!(a.events, b.events);
        for (p, q) in [(&a.lead, &b.lead), (&a.trail, &b.trail)] {
            for i in 0..a.len() {
                assert!(same(p.force_n[i], flip(q.force_n[i])));
                assert!(same(p.cop_m[i], flip(q.cop_m[i])));
                assert_eq!(p.free_moment_nm[i], -q.free_moment_nm[i]);
            }
            assert_eq!(p.print.toe_m, flip(q.print.toe_m));
        }
        assert!((0..a.len()).all(|i| same(a.com_m[i], flip(b.com_m[i]))));
        // The same table of player's components: only the words for the hand differ.
        assert!(a.csv() == b.csv(), "the tables differ");
    }
}

#[test]
fn same_seed_same_bytes_and_swing_k_stands_alone() {
    let (player, rig) = (&PlayerSpec::cast()[3], &RigSpec::two_plates(PlateType::Three));
    let three = simulate::session(player, 3, 99, rig, &Noise::USUAL).unwrap();
    let five = simulate::session(player, 5, 99, rig, &Noise::USUAL).unwrap();
    let bits = |s: &Simulated| -> Vec<u64> {
        let samples = s.recording.analog.channels.iter().flat_map(|c| &c.samples);
        samples.map(|v| v.to_bits()).collect()
    };
    for k in 0..3 {
        assert!(bits(&three[k]) == bits(&five[k]), "swing {k}");
        assert!(three[k].truth.csv() == five[k].truth.csv(), "truth of swing {k}");
        assert_eq!(three[k].recording.marks, five[k].recording.marks);
    }
    assert!(bits(&five[0]) != bits(&five[1]), "swings differ");
    let (first, second) = (&five[0].truth, &five[1].truth);
    assert!(first.events != second.events && first.lead.print != second.lead.print, "so does the player");
    let other = simulate::swing(player, rig, &Noise::USUAL, 100).unwrap();
    assert!(bits(&five[0]) != bits(&other), "seeds differ");
}

/// Golfers' forces. Ranges (largest minus smallest over the swing, body weights): Worsfold, Smith & Dyson 2007,
/// J Sports Sci Med 6:484-489, Table 1, widened by three standard deviations and to both driver and irons; free
/// moments: the same authors 2008, 7:408-414, front about 40 and back 10 to 16 N·m in range. Totals, order of peaks
/// and turn: common practice, no source.
#[test]
fn sizes_and_order_are_those_of_golfers() {
    for style in Style::all() {
        for seed in 0..5 {
            let player = PlayerSpec::right(style.clone());
            let truth = truth(&player, seed);
            let weight = player.mass_kg * GRAVITY;
            let at = |t: f64| (t * truth.rate_hz) as usize;
            let e = truth.events;
            let span = |f: &dyn Fn(usize) -> f64| {
                let all: Vec<f64> = (at(e.takeaway_s)..at(e.finish_s)).map(f).collect();
                all.iter().cloned().fold(f64::MIN, f64::max) - all.iter().cloned().fold(f64::MAX, f64::min)
            };
            let peak = |f: &dyn Fn(usize) -> f64, from: f64, to: f64| {
                (at(from)..at(to)).map(|i| (f(i), i)).max_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
            };
            let name = format!("{} seed {seed}", style.name);
            let check = |what: &str, value: f64, low: f64, high: f64| {
                assert!((low..=high).contains(&value), "{name}: {what} is {value}, not {low} to {high}");
            };
            check("lead up range", span(&|i| truth.lead.force_n[i].z) / weight, 0.49, 1.45);
            check("trail up range", span(&|i| truth.trail.force_n[i].z) / weight, 0.12, 1.06);
            check("lead target range", span(&|i| truth.lead.force_n[i].x) / weight, 0.08, 0.40);
            check("trail target range", span(&|i| truth.trail.force_n[i].x) / weight, 0.07, 0.33);
            check("lead toe range", span(&|i| truth.lead.force_n[i].y) / weight, 0.13, 0.48);
            check("trail toe range", span(&|i| truth.trail.force_n[i].y) / weight, 0.07, 0.42);
            check("lead free moment range", span(&|i| truth.lead.free_moment_nm[i]), 8.0, 60.0);
            check("trail free moment range", span(&|i| truth.trail.free_moment_nm[i]), 4.0, 24.0);
            check("backswing", e.top_s - e.takeaway_s, 0.70, 1.0);
            check("downswing", e.impact_s - e.top_s, 0.233, 0.333);

            let turn = |i: usize| truth.moment_about(i, truth.com_m[i]).z;
            let (most_turn, turn_at) = peak(&turn, e.top_s, e.impact_s + 0.05);
            let (_, target_at) = peak(&|i| truth.net_n(i).x, e.top_s - 0.15, e.impact_s);
            let (most_up, up_at) = peak(&|i| truth.lead.force_n[i].z, e.top_s, e.impact_s + 0.1);
            check("turn", most_turn, 40.0, 100.0);
            check("lead up", most_up / weight, 0.9, 1.6);
            assert!(target_at < turn_at && turn_at < up_at, "{name}: {target_at}, {turn_at}, {up_at}");
            // Early in the downswing the trail foot drives toward the target; at impact the lead foot brakes.
            assert!(truth.trail.force_n[at(e.top_s)].x > 0.05 * weight, "{name}");
            assert!(truth.lead.force_n[at(e.impact_s)].x < -0.05 * weight, "{name}");
            // The feet shear against each other while the player turns.
            assert!(truth.lead.force_n[turn_at].y > 0.0 && truth.trail.force_n[turn_at].y < 0.0, "{name}");
            let before = e.impact_s - up_at as f64 / truth.rate_hz;
            match style.name.as_str() {
                "late" => check("lead up before impact", before, -0.05, 0.03),
                _ => check("lead up before impact", before, 0.04, 0.12),
            }
        }
    }
}

/// What the finish leaves in the force at impact: sharp, but no more than a few per cent of body weight.
#[test]
fn impact_is_a_bounded_kink() {
    let truth = truth(&PlayerSpec::right(Style::early()), 2);
    let weight = truth.mass_kg * GRAVITY;
    let change = |i: usize| (truth.net_n(i + 1) - truth.net_n(i)).length() / weight;
    let all = (0..truth.len() - 1).map(change);
    assert!(all.fold(0.0, f64::max) < 0.03, "no jump from sample to sample");
    let at = (truth.events.impact_s * truth.rate_hz) as usize;
    let bend =
        |i: usize| (truth.net_n(i + 8).x - 2.0 * truth.net_n(i).x + truth.net_n(i - 8).x).abs() / weight;
    let sharpest = (1000..truth.len() - 8).max_by(|&a, &b| bend(a).total_cmp(&bend(b))).unwrap();
    assert!(sharpest.abs_diff(at) < 30, "the sharpest bend along the target is {sharpest}, impact {at}");
}

#[test]
fn the_truth_file_reads_back() {
    let truth = truth(&PlayerSpec::cast()[1], 2);
    let csv = truth.csv();
    let mut lines = csv.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap();
    let (up, toe, cop) = (column("lead_up_n"), column("net_toe_n"), column("trail_cop_target_m"));
    let mut empty = 0;
    for (i, line) in lines.enumerate() {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), head.len());
        assert_eq!(cells[up].parse::<f64>().unwrap(), truth.lead.force_n[i].z);
        // Left-handed: toe is +y.
        assert_eq!(cells[toe].parse::<f64>().unwrap(), truth.net_n(i).y);
        empty += usize::from(cells[cop].is_empty());
    }
    assert_eq!(empty, truth.trail.cop_m.iter().filter(|c| c.is_nan()).count());
    assert!(empty > 0, "this player lifts the trail foot");
    let json = truth.json();
    assert!(json.contains("\"hand\": \"left\"") && json.contains("\"mass_kg\": 82"));
    assert_eq!(json.matches('{').count(), json.matches('}').count());
}

proptest! {
    /// The ledger's ground: Σ (T_i + (cop_i − P) × F_i) is the net moment about any P, and moving P by d adds
    /// (P − P') × F and nothing else (statics). The net is taken from what the plates read, not from the feet.
    #[test]
    fn the_feet_add_up_to_the_net_about_any_point(
        x in -2.0..2.0f64, y in -2.0..2.0f64, z in -1.0..2.0f64, seed in 0u64..4, who in 0usize..6,
    ) {
        let point = DVec3::new(x, y, z);
        let rig = RigSpec { rate_hz: 50.0, ..bare_rig() };
        let made = simulate::swing(&PlayerSpec::cast()[who], &rig, &Noise::NONE, seed).unwrap();
        let frame = mechanics::Frame::new(DVec3::ZERO, DVec3::Z, DVec3::X).unwrap();
        let plates = mechanics::wrench::wrenches(&made.recording, &made.rig, &frame).value;
        for i in 0..made.truth.len() {
            let force: DVec3 = plates.iter().map(|p| p.wrench.force_n[i]).sum();
            let moment: DVec3 = plates.iter().map(|p| p.wrench.moment_nm[i]).sum();
            let about = moment - point.cross(force);
            prop_assert!((made.truth.moment_about(i, point) - about).length() < 1e-9);
        }
    }
}
