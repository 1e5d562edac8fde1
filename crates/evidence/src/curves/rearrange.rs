//! Rearrangements of rows that would be as likely if there were nothing to see: by number where all are gone through, by chance
//! where some are drawn.
use super::fit::Design;
use crate::chance::Chance;

/// Which rearrangements there are.
///
/// A rearrangement is a list of slots: rows in their new order (so that the first set takes the first of them, and number k of a
/// regression goes to the row in slot k), or 0 and 1 for rows that keep and turn their sign.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Ways {
    /// Each row keeps or turns its sign.
    Signs(usize),
    /// Rows are dealt to sets of these sizes.
    Deal(Vec<usize>),
    /// The rows of a unit are dealt to the sets, each unit by itself; row of unit u in set k: k · units + u.
    Within {
        /// Units.
        units: usize,
        /// Sets.
        sets: usize,
    },
}

impl Ways {
    /// Those of a design with so many rows.
    pub fn of(design: &Design, rows: usize) -> Self {
        match design {
            Design::Mean | Design::Welch(_) => Self::Signs(rows),
            Design::Two(first) => Self::Deal(vec![*first, rows.saturating_sub(*first)]),
            Design::Groups(sizes) => Self::Deal(sizes.clone()),
            Design::Within { units, sets } => Self::Within { units: *units, sets: *sets },
            Design::Line(_) => Self::Deal(vec![1; rows]),
        }
    }

    /// How many there are; `None` where that passes what a count can hold.
    pub fn count(&self) -> Option<usize> {
        match self {
            Self::Signs(n) => u32::try_from(*n).ok().filter(|n| *n < 63).map(|n| 1 << n),
            Self::Deal(sizes) => {
                let mut left: usize = sizes.iter().sum();
                sizes.iter().try_fold(1_usize, |all, size| {
                    let ways = choices(left, *size)?;
                    left -= size;
                    all.checked_mul(ways)
                })
            }
            Self::Within { units, sets } => {
                let one = Self::Deal(vec![1; *sets]).count()?;
                one.checked_pow(u32::try_from(*units).ok()?)
            }
        }
    }

    /// The slots as they came.
    pub fn happened(&self) -> Vec<u32> {
        let list = |n: usize| (0..n as u32).collect();
        match self {
            Self::Signs(n) => vec![0; *n],
            Self::Deal(sizes) => list(sizes.iter().sum()),
            Self::Within { units, sets } => list(units * sets),
        }
    }

    /// Rearrangement number `which` of all; 0 is what happened.
    pub fn numbered(&self, mut which: usize, slots: &mut Vec<u32>) {
        slots.clear();
        match self {
            Self::Signs(n) => slots.extend((0..*n).map(|k| (which >> k & 1) as u32)),
            Self::Deal(sizes) => deal(sizes, which, slots),
            Self::Within { units, sets } => {
                let each = vec![1; *sets];
                let one = Self::Deal(each.clone()).count().unwrap_or(1);
                slots.resize(units * sets, 0);
                let mut order = Vec::with_capacity(*sets);
                for unit in 0..*units {
                    order.clear();
                    deal(&each, which % one, &mut order);
                    which /= one;
                    for (slot, from) in slots.iter_mut().skip(unit).step_by(*units).zip(&order) {
                        *slot = from * *units as u32 + unit as u32;
                    }
                }
            }
        }
    }

    /// Draws the next one; `slots` holds any one of them.
    pub fn draw(&self, chance: &mut Chance, slots: &mut [u32]) {
        match self {
            Self::Signs(_) => slots.iter_mut().for_each(|s| *s = u32::from(chance.coin())),
            Self::Deal(sizes) => {
                // Once all sets but the last are dealt, the rest is the last one.
                let n = slots.len();
                let dealt = n - sizes.last().copied().unwrap_or(0);
                for k in 0..dealt {
                    slots.swap(k, k + chance.below(n - k));
                }
            }
            Self::Within { units, sets } => {
                for unit in 0..*units {
                    for k in (1..*sets).rev() {
                        slots.swap(k * units + unit, chance.below(k + 1) * units + unit);
                    }
                }
            }
        }
    }
}

/// n over k; `None` where it passes what a count can hold.
fn choices(n: usize, k: usize) -> Option<usize> {
    let k = k.min(n.checked_sub(k)?);
    (0..k).try_fold(1_usize, |c, i| Some(c.checked_mul(n - i)? / (i + 1)))
}

/// Deal number `which`: each set in turn is one of the choices out of the rows that are left, in the order of a dictionary.
fn deal(sizes: &[usize], mut which: usize, slots: &mut Vec<u32>) {
    let mut left: Vec<u32> = (0..sizes.iter().sum::<usize>() as u32).collect();
    for size in sizes {
        let ways = choices(left.len(), *size).unwrap_or(1);
        let mut rank = which % ways;
        which /= ways;
        let (mut wanted, rows) = (*size, left.len());
        let mut others = Vec::with_capacity(rows.saturating_sub(wanted));
        for (k, row) in left.iter().enumerate() {
            // Choices that take this row.
            let with = wanted.checked_sub(1).and_then(|w| choices(rows - k - 1, w)).unwrap_or(0);
            if rank < with {
                slots.push(*row);
                wanted -= 1;
            } else {
                rank -= with;
                others.push(*row);
            }
        }
        left = others;
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use std::collections::BTreeMap;

    /// Numbered, every one comes once and what happened first; drawn, each comes as often as another.
    #[test]
    fn all_of_them_and_each_as_likely() {
        let ways = [
            (Ways::Signs(4), 16),
            (Ways::Deal(vec![2, 3]), 10),
            (Ways::Deal(vec![2, 1, 2]), 30),
            (Ways::Deal(vec![1; 4]), 24),
            (Ways::Within { units: 2, sets: 3 }, 36),
        ];
        for (ways, count) in ways {
            assert_eq!(ways.count(), Some(count), "{ways:?}");
            // Rows within a set are of no order.
            let canonical = |slots: &[u32]| {
                let mut slots = slots.to_vec();
                if let Ways::Deal(sizes) = &ways {
                    let mut rest = slots.as_mut_slice();
                    for size in sizes {
                        let (set, others) = rest.split_at_mut(*size);
                        set.sort_unstable();
                        rest = others;
                    }
                }
                slots
            };
            let mut seen: BTreeMap<Vec<u32>, u32> = BTreeMap::new();
            let mut slots = Vec::new();
            for which in 0..count {
                ways.numbered(which, &mut slots);
                if which == 0 {
                    assert_eq!(slots, ways.happened());
                }
                assert!(seen.insert(canonical(&slots), 0).is_none(), "{ways:?} {which} {slots:?}");
            }
            let mut chance = Chance::new(11, 0);
            let each = 1000;
            for _ in 0..each * count {
                ways.draw(&mut chance, &mut slots);
                *seen.get_mut(&canonical(&slots)).unwrap() += 1;
            }
            let far = |n: &u32| (f64::from(*n) - each as f64).powi(2) / each as f64;
            let chi: f64 = seen.values().map(far).sum();
            let limit = signal::chi_square::quantile(0.999, count as f64 - 1.0);
            assert!(chi < limit, "{ways:?} {chi} {limit}");
        }
        assert_eq!((Ways::Signs(80).count(), Ways::Deal(vec![60; 4]).count()), (None, None));
    }
}
