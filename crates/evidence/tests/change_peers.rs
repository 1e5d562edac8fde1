//! Two sets of values as four public libraries see them: refs/change.toml, made by refs/make.py.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing)] // tests may

use evidence::bootstrap::{Bootstrap, mean, mean_difference};
use evidence::many::{Control, adjusted};
use evidence::permutation::{Permutation, signs, two_groups};
use evidence::{InTurn, effect, mixed};
use toml::{Table, Value};

fn reference() -> Table {
    include_str!("../../../refs/change.toml").parse().unwrap()
}

fn numbers(of: &Value, key: &str) -> Vec<f64> {
    of[key].as_array().unwrap().iter().map(|v| v.as_float().unwrap()).collect()
}

fn near(a: f64, b: f64, by: f64, what: &str) {
    assert!((a - b).abs() <= by, "{what}: {a}, not {b}");
}

/// scipy 1.17.1 (`permutation_test`, every arrangement; `bootstrap` BCa of 200,000 resamples) and pingouin 0.7.0
/// (`compute_effsize`, with its approximate correction undone).
#[test]
fn sets_of_values() {
    let reference = reference();
    let sets = reference["sets"].as_array().unwrap();
    assert_eq!(sets.len(), 5);
    let everything = Permutation { most: 13_000, seed: 1 };
    let how = Bootstrap { resamples: 40_000, seed: 1, level: 0.9 };
    for set in sets {
        let number = |key: &str| set[key].as_float().unwrap();
        let (a, b) = (numbers(set, "first"), numbers(set, "second"));
        let changes: Vec<f64> = a.iter().zip(&b).map(|(a, b)| b - a).collect();
        let paired = set["paired"].as_bool().unwrap();
        let found = if paired {
            (
                signs(&changes, &everything, &InTurn),
                mean(&changes, &how, &InTurn),
                effect::pairs(&a, &b, 0.95).average,
            )
        } else {
            (
                two_groups(&a, &b, &everything, &InTurn),
                mean_difference(&a, &b, &how, &InTurn),
                effect::two_groups(&a, &b, 0.95),
            )
        };
        if !number("exact").is_nan() {
            assert!(found.0.exact);
            near(found.0.p, number("exact"), 1e-12, "p");
        }
        // Both draw: what is left is their own scatter, a hundredth of the standard error or so.
        let (interval, se) = (found.1.interval, number("bca_se"));
        near(interval.low, number("bca_low"), 0.03 * se, "low");
        near(interval.high, number("bca_high"), 0.03 * se, "high");
        near(found.1.se, se, 0.012 * se, "standard error");
        near(found.2.d, number("cohen"), 1e-10, "d");
        let degrees = (a.len() + b.len()) as f64 - 2.0;
        near(number("hedges_nearly") / number("cohen"), 1.0 - 3.0 / (4.0 * degrees - 1.0), 1e-10, "theirs");
        near(effect::unbiased(degrees), 1.0 - 3.0 / (4.0 * degrees - 1.0), 5e-4, "correction");
    }
}

/// statsmodels 0.15.0 MixedLM, restricted likelihood (its Powell search ends some 1e-6 off): unbalanced subjects, a side
/// between or within them, and a number. Standard errors: numpy, from the variances that statsmodels found.
#[test]
fn mixed_models() {
    let reference = reference();
    let models = reference["mixed"].as_array().unwrap();
    assert_eq!(models.len(), 4);
    for model in models {
        let subjects: Vec<usize> = model["subjects"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| usize::try_from(v.as_integer().unwrap()).unwrap())
            .collect();
        let columns = [numbers(model, "side"), numbers(model, "number")];
        let ours = mixed::random_intercept(&numbers(model, "values"), &subjects, &columns, 0.95).unwrap();
        let (estimates, errors) = (numbers(model, "estimates"), numbers(model, "errors"));
        for (k, term) in ours.terms.iter().enumerate() {
            near(term.estimate.value, estimates[k], 2e-6, "estimate");
            near(term.se, errors[k], 2e-6, "standard error");
        }
        near(ours.between, model["between"].as_float().unwrap(), 2e-5, "between");
        near(ours.within, model["within"].as_float().unwrap(), 2e-5, "within");
        // A side between subjects has about as many degrees as there are subjects, one within has nearly those of the values.
        let (degrees, players) = (ours.terms[1].degrees, ours.subjects as f64);
        let between = ours.terms[1].se > 1.2;
        assert_eq!(between, degrees < players + 2.0, "{degrees} of {players}");
    }
}

/// statsmodels 0.15.0 `multipletests`.
#[test]
fn many_at_once() {
    let reference = reference();
    let of = &reference["adjusted"];
    let p = numbers(of, "p");
    for (control, key) in [(Control::Holm, "holm"), (Control::BenjaminiHochberg, "benjamini_hochberg")] {
        for (ours, theirs) in adjusted(&p, control).iter().zip(numbers(of, key)) {
            near(*ours, theirs, 1e-12, key);
        }
    }
}
