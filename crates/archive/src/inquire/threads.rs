//! The machine's threads for work in pieces.
use evidence::Spread;
use rayon::prelude::*;

/// All threads of the machine, or as many as the caller's pool has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Threads;

impl Spread for Threads {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        (0..count).into_par_iter().map(piece).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use evidence::InTurn;

    #[test]
    fn as_one_after_the_other() {
        let of = |k: usize| evidence::chance::Chance::new(5, k).below(1000);
        assert_eq!(Threads.each(500, of), InTurn.each(500, of));
    }
}
