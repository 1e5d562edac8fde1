//! Against the stored outputs of scipy, scikit-learn, scikit-fda and diptest (refs/cohort.toml, made by refs/make_cohort.py, which
//! names the versions).
#![allow(clippy::unwrap_used)] // tests may

use evidence::InTurn;
use evidence::chance::Chance;
use evidence::cohort::boxplot::boxplot;
use evidence::cohort::components::components;
use evidence::cohort::dip::dip;
use evidence::cohort::k_means::k_means;
use evidence::cohort::peaks::peaks;
use evidence::cohort::rand_index::adjusted;
use evidence::cohort::{centile, depth};
use toml::{Table, Value};

fn cases(kind: &str) -> Vec<Value> {
    let all: Table = include_str!("../../../refs/cohort.toml").parse().unwrap();
    all[kind].as_array().unwrap().clone()
}

fn whole(case: &Value, key: &str) -> usize {
    usize::try_from(case[key].as_integer().unwrap()).unwrap()
}

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_float().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_float().unwrap()).collect()
}

fn wholes(value: &Value) -> Vec<usize> {
    value.as_array().unwrap().iter().map(|v| usize::try_from(v.as_integer().unwrap()).unwrap()).collect()
}

/// The input of `rows()` in refs/make_cohort.py, bit for bit.
fn rows(seed: usize, count: usize, length: usize) -> Vec<Vec<f64>> {
    let mut s = seed as u64;
    let mut next = || {
        s = (1_103_515_245 * s + 12345) % (1 << 31);
        s as f64 / (1_u64 << 31) as f64
    };
    (0..count)
        .map(|_| {
            let (mut a, mut b) = (0.0, 0.0);
            let level = 12.0 * (next() - 0.5);
            (0..length)
                .map(|_| {
                    a = 0.7 * a + next() - 0.5;
                    b = 0.9 * b + a;
                    level + b
                })
                .collect()
        })
        .collect()
}

fn of_case(case: &Value) -> Vec<Vec<f64>> {
    rows(whole(case, "seed"), whole(case, "count"), whole(case, "length"))
}

fn near(ours: &[f64], theirs: &[f64], by: f64) {
    assert_eq!(ours.len(), theirs.len());
    assert!(ours.iter().zip(theirs).all(|(a, b)| (a - b).abs() <= by), "{ours:?} {theirs:?}");
}

#[test]
fn intervals_of_centiles_and_shares_are_scipys() {
    for case in cases("rank") {
        let found = centile::ranks(whole(&case, "n"), number(&case, "share"), 0.95);
        assert_eq!(found.unwrap_or((0, 0)), (whole(&case, "low"), whole(&case, "high")), "{case}");
    }
    for case in cases("exact") {
        let found =
            centile::exact(whole(&case, "hits") as f64, whole(&case, "n") as f64, number(&case, "level"));
        near(&[found.low, found.high], &[number(&case, "low"), number(&case, "high")], 1e-10);
    }
}

#[test]
fn depths_and_central_regions_are_those_of_scikit_fda() {
    for case in cases("depth") {
        let rows = of_case(&case);
        near(&depth::modified_band(&rows, &InTurn), &numbers(&case["modified"]), 1e-12);
        near(&depth::band(&rows, &InTurn), &numbers(&case["band"]), 1e-12);
        let found = boxplot(&rows, &InTurn).unwrap();
        assert_eq!(found.median, whole(&case, "median"));
        near(&found.central_low, &numbers(&case["central_low"]), 1e-9);
        near(&found.central_high, &numbers(&case["central_high"]), 1e-9);
    }
}

#[test]
fn components_are_those_of_scikit_fda() {
    for case in cases("components") {
        let length = whole(&case, "length");
        let at: Vec<f64> = (0..length).map(|q| q as f64 / (length - 1) as f64).collect();
        let found = components(&of_case(&case), &at).unwrap();
        let theirs: Vec<Vec<f64>> = case["scores"].as_array().unwrap().iter().map(numbers).collect();
        near(&found.variances[..4], &numbers(&case["variances"]), 1e-10 * found.total);
        for k in 0..4 {
            let column = |rows: &[Vec<f64>]| rows.iter().map(|r| r[k]).collect::<Vec<f64>>();
            let (ours, mut theirs) = (column(&found.scores), column(&theirs));
            // Either sign is a component.
            if ours[0] * theirs[0] < 0.0 {
                theirs.iter_mut().for_each(|v| *v = -*v);
            }
            near(&ours, &theirs, 1e-8 * found.total.sqrt());
        }
    }
}

#[test]
fn groups_are_those_of_scikit_learn() {
    for case in cases("k_means") {
        let points = rows(whole(&case, "seed"), whole(&case, "count"), 5);
        let found = k_means(&points, whole(&case, "k"), 50, &mut Chance::new(1, 0));
        near(&[found.within], &[number(&case, "within")], 1e-9 * found.within);
    }
    for case in cases("rand") {
        near(&[adjusted(&wholes(&case["one"]), &wholes(&case["other"]))], &[number(&case, "index")], 1e-12);
    }
}

#[test]
fn humps_are_counted_as_others_do() {
    for case in cases("dip") {
        near(&[dip(&numbers(&case["values"]))], &[number(&case, "dip")], 1e-12);
    }
    for case in cases("peaks") {
        let row = rows(whole(&case, "seed"), 1, 80).remove(0);
        let found = peaks(&row, 0.1);
        assert_eq!(found.iter().map(|p| p.node).collect::<Vec<_>>(), wholes(&case["nodes"]));
        near(&found.iter().map(|p| p.prominence).collect::<Vec<_>>(), &numbers(&case["prominences"]), 1e-9);
    }
}
