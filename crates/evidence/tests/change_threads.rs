//! The same seed gives the same bits, whoever does the work and in which order.
#![allow(missing_docs)] // tests may

use evidence::bootstrap::{Bootstrap, bca};
use evidence::chance::Chance;
use evidence::change::{Change, How, Pairing, Value, change, design};
use evidence::{InTurn, Spread};
use signal::stats;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Some threads, each taking the next piece that is left, the last pieces first.
struct Hands(usize);

impl Spread for Hands {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let (left, done) = (AtomicUsize::new(count), Mutex::new(Vec::new()));
        std::thread::scope(|scope| {
            for _ in 0..self.0 {
                scope.spawn(|| {
                    while let Ok(k) =
                        left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |k| k.checked_sub(1))
                    {
                        let value = piece(k - 1);
                        done.lock().unwrap_or_else(|e| e.into_inner()).push((k - 1, value));
                    }
                });
            }
        });
        let mut all = done.into_inner().unwrap_or_else(|e| e.into_inner());
        all.sort_by_key(|(k, _)| *k);
        all.into_iter().map(|(_, value)| value).collect()
    }
}

fn values(subjects: &[usize], each: usize, add: f64) -> Vec<Value> {
    let mut chance = Chance::new(3, subjects.len() + each);
    subjects
        .iter()
        .flat_map(|s| std::iter::repeat_n(*s, each))
        .map(|subject| Value {
            subject,
            occasion: subject,
            instrument: 0,
            value: add + chance.below(1000) as f64 / 97.0,
            u: 0.1,
        })
        .collect()
}

#[test]
fn any_number_of_threads() {
    let how = How { level: 0.95, resamples: 3000, permutations: 3000, seed: 11 };
    let many: Vec<usize> = (0..15).collect();
    let others: Vec<usize> = (20..34).collect();
    for (a, b, pairing) in [
        (values(&[1], 12, 0.0), values(&[1], 14, 1.0), Pairing::ByData),
        (values(&[1], 14, 0.0), values(&[1], 15, 1.0), Pairing::Order),
        (values(&many, 3, 0.0), values(&many, 2, 1.0), Pairing::ByData),
        (values(&many, 3, 0.0), values(&others, 2, 1.0), Pairing::ByData),
    ] {
        let who = |of: &[Value]| of.iter().map(|v| v.subject).collect::<Vec<_>>();
        let chosen = design(&who(&a), &who(&b), pairing);
        let one = change(&a, &b, &chosen, None, &how, &InTurn);
        assert!(!one.permuted.exact && one.difference.low < one.difference.high);
        for hands in [1, 2, 7] {
            let more: Change = change(&a, &b, &chosen, None, &how, &Hands(hands));
            assert_eq!(one, more, "{hands} threads");
        }
    }
    let numbers = [3.0, 1.0, 4.0, 1.5, 9.0, 2.0, 6.0];
    let middle = |units: &[Vec<usize>]| {
        let drawn: Vec<f64> = units.iter().flatten().filter_map(|k| numbers.get(*k)).copied().collect();
        stats::median(&drawn, &mut Vec::new())
    };
    let how = Bootstrap { resamples: 2000, seed: 2, level: 0.9 };
    assert_eq!(bca(&[7], &how, &InTurn, middle), bca(&[7], &how, &Hands(3), middle));
}
