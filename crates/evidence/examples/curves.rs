//! Tests of curves for another program: a question and its curves as lines of text in, what was found as lines of text out. It is how
//! checks/curves_peer.py and benches/peers/curves.py put the same matrices to us and to public packages.
//!
//! ```text
//! two-groups 0.05 both permutation 10000 1      question, level, tails, method, rearrangements, seed
//! set                                           then a line a curve
//! 1.0 2.0 NaN …
//! set
//! …
//! number 3.1 2.2 …                              of a regression
//! ```
#![allow(clippy::print_stdout)]

use evidence::InTurn;
use evidence::curves::{By, Comparison, CurveTest, Kind, Rule, Tails, by_field, by_permutation};
use evidence::permutation::Permutation;
use std::fmt::Write as _;
use std::io::Read as _;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut text = String::new();
    let told = std::io::stdin().read_to_string(&mut text).map_err(|e| e.to_string()).and_then(|_| run(&text));
    match told {
        Ok(out) => {
            print!("{out}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("error: {why}");
            ExitCode::from(3)
        }
    }
}

fn run(text: &str) -> Result<String, String> {
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap_or_default().split_whitespace().collect();
    let [question, alpha, tails, method, rest @ ..] = head.as_slice() else {
        return Err("the first line is: question level tails method".into());
    };
    let numbers = |line: &str| -> Result<Vec<f64>, String> {
        line.split_whitespace().map(|w| w.parse().map_err(|_| format!("\"{w}\" is no number"))).collect()
    };
    let (mut sets, mut number): (Vec<Vec<Vec<f64>>>, Vec<f64>) = (Vec::new(), Vec::new());
    for line in lines {
        if line.trim() == "set" {
            sets.push(Vec::new());
        } else if let Some(all) = line.strip_prefix("number") {
            number = numbers(all)?;
        } else {
            sets.last_mut().ok_or("a curve before the first set")?.push(numbers(line)?);
        }
    }
    let each: Vec<&[Vec<f64>]> = sets.iter().map(Vec::as_slice).collect();
    let comparison = match (*question, each.as_slice()) {
        ("one-sample", [rows]) => Comparison::OneSample(rows),
        ("pairs", [a, b]) => Comparison::Pairs(a, b),
        ("two-groups", [a, b]) => Comparison::TwoGroups(a, b),
        ("welch", [a, b]) => Comparison::Welch(a, b),
        ("groups", all) => Comparison::Groups(all),
        ("repeated", all) => Comparison::Repeated(all),
        ("regression", [rows]) => Comparison::Regression(rows, &number),
        (other, all) => return Err(format!("no question \"{other}\" of {} sets", all.len())),
    };
    let rule = Rule {
        alpha: alpha.parse().map_err(|_| "the level is no number")?,
        tails: match *tails {
            "both" => Tails::Both,
            "above" => Tails::Above,
            other => return Err(format!("tails are both or above, not \"{other}\"")),
        },
    };
    let test = match (*method, rest) {
        ("field", _) => by_field(&comparison, rule),
        ("permutation", [most, seed]) => {
            let count = |word: &str| word.parse::<usize>().map_err(|_| format!("\"{word}\" is no count"));
            let how = Permutation { most: count(most)?, seed: count(seed)? as u64 };
            by_permutation(&comparison, rule, &how, &InTurn)
        }
        _ => return Err("the method is field, or permutation with rearrangements and seed".into()),
    };
    test.map(|test| told(&test)).map_err(|why| format!("{why:?}"))
}

fn told(test: &CurveTest) -> String {
    let row = |values: &[f64]| values.iter().map(|v| format!(" {v:?}")).collect::<String>();
    let mut out = format!("statistic{}\nestimate{}\n", row(&test.statistic), row(&test.estimate));
    let degrees = match test.kind {
        Kind::T(v) => vec![v],
        Kind::F(k, v) => vec![k, v],
        Kind::ChiSquare(k) => vec![k],
    };
    let _ = writeln!(out, "degrees{}\nthreshold {:?}\np {:?}", row(&degrees), test.threshold, test.p);
    let _ = match test.by {
        By::Field(field) => writeln!(out, "fwhm {:?}", field.fwhm),
        By::Permutation { looked_at, exact, .. } => {
            writeln!(out, "looked-at {looked_at} {}", u8::from(exact))
        }
    };
    for c in &test.clusters {
        let _ = writeln!(out, "cluster{} {}", row(&[c.from, c.to, c.p, c.mass]), u8::from(c.above));
    }
    out
}
