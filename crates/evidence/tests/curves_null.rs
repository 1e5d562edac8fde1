//! On made-up smooth curves with nothing to see, each test claims something as often as its level says; bands hold the mean as often
//! as theirs.
#![allow(missing_docs, clippy::unwrap_used)]

use evidence::InTurn;
use evidence::curves::bands::bands;
use evidence::curves::{Comparison, Rule, Tails, by_field, by_permutation};
use evidence::permutation::Permutation;
use signal::math::{cos, exp, ln};
use std::f64::consts::PI;

const NODES: usize = 101;
const TRIALS: usize = 1000;

/// A generator for noise alone (SplitMix64, Steele & others 2014): many more numbers are wanted than of good chance.
struct Noise(u64);

impl Noise {
    fn new(seed: u64, trial: usize) -> Self {
        Self(seed << 32 | trial as u64)
    }
    /// A number inside 0..1.
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / 2_f64.powi(53)
    }
    /// A normal number (Box & Muller 1958).
    fn normal(&mut self) -> f64 {
        (-2.0 * ln(self.uniform())).sqrt() * cos(2.0 * PI * self.uniform())
    }
}

/// Normal noise seen through a bell of a width (full at half maximum, nodes), scaled to a standard deviation of 1.
fn smooth(count: usize, fwhm: f64, mut noise: Noise) -> Vec<Vec<f64>> {
    let sd = fwhm / (8.0 * ln(2.0)).sqrt();
    let half = (3.0 * sd).ceil() as i32;
    let bell: Vec<f64> =
        (-half..=half).map(|k| exp(-0.5 * (f64::from(k) / sd) * (f64::from(k) / sd))).collect();
    let length = bell.iter().map(|b| b * b).sum::<f64>().sqrt();
    (0..count)
        .map(|_| {
            let row: Vec<f64> = (0..NODES + bell.len() - 1).map(|_| noise.normal()).collect();
            row.windows(bell.len()).map(|w| w.iter().zip(&bell).map(|(a, b)| a * b / length).sum()).collect()
        })
        .collect()
}

fn scaled(rows: &[Vec<f64>], by: f64) -> Vec<Vec<f64>> {
    rows.iter().map(|r| r.iter().map(|v| by * v).collect()).collect()
}

/// How a trial is decided.
#[derive(Clone, Copy, Debug)]
enum How {
    Field,
    /// 99 rearrangements and the one that happened.
    Permutation,
}

/// Claims of each test at 5 % among a thousand trials; told where they are not 29 to 73, in which 99.9 of a hundred such counts
/// lie (binomial).
fn held(fwhm: f64, seed: u64, how: How) {
    let rule = Rule { alpha: 0.05, tails: Tails::Both };
    let mut claims: Vec<(&'static str, usize)> = Vec::new();
    for trial in 0..TRIALS {
        let curves = smooth(24, fwhm, Noise::new(seed, trial));
        let wide = scaled(&curves[..8], 2.0);
        // Each unit is off by something of its own in all sets.
        let off = smooth(8, fwhm, Noise::new(seed + 1, trial));
        let with_units: Vec<Vec<f64>> = (0..24)
            .map(|k| curves[k].iter().zip(&off[k % 8]).map(|(v, unit)| v + 3.0 * unit).collect())
            .collect();
        let number: Vec<f64> = (0..12).map(|k| f64::from(k * k % 17)).collect();
        let groups: Vec<&[Vec<f64>]> = curves.chunks(8).collect();
        let sets: Vec<&[Vec<f64>]> = with_units.chunks(8).collect();
        let questions = [
            ("one sample of 10", Comparison::OneSample(&curves[..10])),
            ("pairs, 12", Comparison::Pairs(&curves[..12], &curves[12..])),
            ("two groups of 10", Comparison::TwoGroups(&curves[..10], &curves[10..20])),
            ("Welch, 8 of twice the scatter and 16", Comparison::Welch(&wide, &curves[8..])),
            ("Welch, 6 and 10 alike", Comparison::Welch(&curves[..6], &curves[14..])),
            ("three groups of 8", Comparison::Groups(&groups)),
            ("three sets of the same 8", Comparison::Repeated(&sets)),
            ("line, 12", Comparison::Regression(&curves[..12], &number)),
        ];
        claims.resize(questions.len(), ("", 0));
        for ((name, of), (named, count)) in questions.into_iter().zip(&mut claims) {
            let test = match how {
                How::Field => by_field(&of, rule),
                How::Permutation => {
                    by_permutation(&of, rule, &Permutation { most: 99, seed: trial as u64 }, &InTurn)
                }
            }
            .unwrap();
            assert_eq!(test.p <= 0.05, !test.clusters.is_empty(), "{name}: p and threshold part");
            assert!(test.clusters.iter().all(|c| c.p <= 0.05), "{name}: a stretch has more than its level");
            *named = name;
            *count += usize::from(test.p <= 0.05);
        }
    }
    println!("{how:?}, smooth over {fwhm} nodes: {claims:?}");
    assert!(claims.iter().all(|(_, count)| (29..=73).contains(count)), "{claims:?}");
}

#[test]
fn fields_of_smooth_curves() {
    held(25.0, 41, How::Field);
}

#[test]
fn fields_of_rough_curves() {
    held(8.0, 51, How::Field);
}

#[test]
fn permutations() {
    held(15.0, 61, How::Permutation);
}

/// Two groups whose scatter differs: Student's t, which takes it as alike, claims three times too often, either way of deciding;
/// that is why there is Welch's.
#[test]
fn scatter_taken_as_alike_where_it_is_not() {
    let rule = Rule { alpha: 0.05, tails: Tails::Both };
    let mut claims = 0;
    for trial in 0..TRIALS {
        let curves = smooth(24, 15.0, Noise::new(71, trial));
        let wide = scaled(&curves[..8], 2.0);
        claims += usize::from(by_field(&Comparison::TwoGroups(&wide, &curves[8..]), rule).unwrap().p <= 0.05);
    }
    assert!(claims > 120, "{claims}");
}

/// Bands at 95 % hold, of 1,000 samples, the whole of the true mean (nothing), the mean at one node, and a further curve there, as
/// often as they say: 927 to 971 (99.9 %, binomial). The narrower interval of single nodes holds the whole far less often.
#[test]
fn bands_hold_the_mean() {
    let how = Permutation { most: 400, seed: 1 };
    for n in [7, 15] {
        let (mut whole, mut at_node, mut by_nodes, mut single) = (0, 0, 0, 0);
        for trial in 0..TRIALS {
            let curves = smooth(n + 1, 15.0, Noise::new(81, trial));
            let found = bands(&curves[1..], 0.95, Some(&how), &InTurn);
            let inside = |half: &[f64]| found.mean.iter().zip(half).all(|(m, h)| m.abs() <= *h);
            whole += usize::from(inside(&found.of_whole));
            by_nodes += usize::from(inside(&found.of_mean));
            at_node += usize::from(found.mean[50].abs() <= found.of_mean[50]);
            single += usize::from((curves[0][50] - found.mean[50]).abs() <= found.of_single[50]);
        }
        println!(
            "{n} curves: whole {whole}, nodes by themselves {by_nodes}, one node {at_node}, single {single}"
        );
        assert!((927..=971).contains(&at_node) && (927..=971).contains(&single), "{n} {at_node} {single}");
        assert!((927..=971).contains(&whole) && by_nodes < 850, "{n} {whole} {by_nodes}");
    }
}
