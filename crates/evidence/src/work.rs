//! Work in pieces that can be done in any order, by whoever has hands free.
//!
//! The crate starts no threads. A caller that has some hands in a [`Spread`] of its own; what comes out is the same, since
//! every piece knows its number, draws from its own stream of chance ([`crate::chance::Chance`]) and is put back in its place.

/// Somebody who does pieces of work.
pub trait Spread: Sync {
    /// The results of pieces 0..count, in the order of their numbers, whenever and by whomever each was done.
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T>;
}

/// One piece after the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InTurn;

impl Spread for InTurn {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        (0..count).map(piece).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_come_back_in_order() {
        assert_eq!(InTurn.each(4, |k| k * k), [0, 1, 4, 9]);
        assert!(InTurn.each(0, |k| k).is_empty());
    }
}
