//! How two sets of values lie to each other, which decides what may vary freely.
use super::distinct;

/// How the sets lie to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Design {
    /// One subject on both sides; units are values. It speaks of this subject only.
    OneSubject,
    /// The same, the first value of one side with the first of the other, and so on; units are pairs.
    OneSubjectInOrder,
    /// One subject on each side, two in all; units are values. It speaks of these two only.
    TwoSubjects,
    /// The same subjects on both sides; units are subjects, each with the change of his or her means.
    PairedSubjects,
    /// Other subjects on each side; units are subjects, each with his or her mean.
    TwoGroups,
}

impl Design {
    /// True where units come in pairs.
    pub fn paired(self) -> bool {
        matches!(self, Self::OneSubjectInOrder | Self::PairedSubjects)
    }
    /// True where units are subjects.
    pub fn of_subjects(self) -> bool {
        matches!(self, Self::PairedSubjects | Self::TwoGroups)
    }
}

/// How many units a side (pairs, where they come in pairs) it takes at least for a rearrangement test to come under alpha.
///
/// Undefined: `None` where alpha is not inside 0..1. Source: counting, as [`crate::permutation`] does.
pub fn enough(design: Design, alpha: f64) -> Option<usize> {
    // The least that n + n units can give is 2 over (2n over n); that n pairs can, 2 over 2 to the n.
    let mut least = 2.0;
    (1..2000_usize).find(|n| {
        let k = *n as f64;
        least *= if design.paired() { 0.5 } else { k / (4.0 * k - 2.0) };
        least <= alpha * (1.0 + 1e-9) && alpha > 0.0 && alpha < 1.0
    })
}

/// What a caller wants paired.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pairing {
    /// What the data allow.
    ByData,
    /// Subjects who are on both sides, even where few are.
    Subjects,
    /// For one subject, values in their order; for more, what the data allow.
    Order,
}

/// A design, and whom it leaves out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chosen {
    /// How the sets lie to each other.
    pub design: Design,
    /// Subjects on one side only, whom a paired question leaves out.
    pub on_one_side: Vec<usize>,
    /// Subjects on both sides, who belong to neither of two groups.
    pub on_both_sides: Vec<usize>,
}

impl Chosen {
    /// Whether a subject's values count.
    pub fn keeps(&self, subject: usize) -> bool {
        self.on_one_side.binary_search(&subject).is_err()
            && self.on_both_sides.binary_search(&subject).is_err()
    }
}

/// The design that the subjects of two sides make.
///
/// The same subjects on both sides are compared with themselves, which takes out how subjects differ; those on one side only are left out.
/// Where more are on each side alone than on both, there are two groups, and those on both are left out. Source: ours.
pub fn design(first: &[usize], second: &[usize], pairing: Pairing) -> Chosen {
    let (a, b) = (distinct(first.iter().copied()), distinct(second.iter().copied()));
    let (both, only_a): (Vec<usize>, Vec<usize>) = a.iter().partition(|s| b.binary_search(s).is_ok());
    let only_b: Vec<usize> = b.iter().copied().filter(|s| a.binary_search(s).is_err()).collect();
    let fewer = only_a.len().min(only_b.len());
    let with = |design| Chosen {
        design,
        on_one_side: distinct(only_a.iter().chain(&only_b).copied()),
        on_both_sides: Vec::new(),
    };
    let groups = |design| Chosen { design, on_one_side: Vec::new(), on_both_sides: both.clone() };
    match both.len() {
        0 if pairing == Pairing::Subjects => with(Design::PairedSubjects),
        0 if a.len() == 1 && b.len() == 1 => groups(Design::TwoSubjects),
        0 => groups(Design::TwoGroups),
        n if pairing != Pairing::Subjects && n < fewer => groups(Design::TwoGroups),
        1 if pairing == Pairing::Order => with(Design::OneSubjectInOrder),
        1 => with(Design::OneSubject),
        _ => with(Design::PairedSubjects),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 2 of 20 divisions of 3 + 3, 2 of 70 of 4 + 4; 2 of 64 sets of six signs.
    #[test]
    fn enough_for_an_answer() {
        assert_eq!(enough(Design::OneSubject, 0.05), Some(4));
        assert_eq!(enough(Design::TwoGroups, 0.1), Some(3));
        assert_eq!(enough(Design::PairedSubjects, 0.05), Some(6));
        assert_eq!(enough(Design::OneSubjectInOrder, 0.03), Some(7));
        assert_eq!(enough(Design::OneSubject, 0.0), None);
    }

    #[test]
    fn subjects_make_the_design() {
        use Design::{OneSubject, OneSubjectInOrder, PairedSubjects, TwoGroups, TwoSubjects};
        use Pairing::{ByData, Order, Subjects};
        for (first, second, pairing, expected, left) in [
            (&[7, 7][..], &[7, 7, 7][..], ByData, OneSubject, &[][..]),
            (&[7, 7], &[7], Order, OneSubjectInOrder, &[]),
            (&[1], &[2, 2], ByData, TwoSubjects, &[]),
            (&[1, 2, 3], &[3, 2, 1], ByData, PairedSubjects, &[]),
            (&[1, 2, 3], &[3, 2, 1], Order, PairedSubjects, &[]),
            (&[1, 2, 3], &[2, 3, 4, 5], ByData, PairedSubjects, &[1, 4, 5]),
            (&[1, 2], &[3, 4, 5], ByData, TwoGroups, &[]),
            (&[1, 2, 3], &[3, 4, 5], ByData, TwoGroups, &[3]),
            (&[1, 2, 3], &[3, 4, 5], Subjects, OneSubject, &[1, 2, 4, 5]),
            (&[1], &[1, 2, 3], ByData, OneSubject, &[2, 3]),
            (&[1, 2], &[3, 4], Subjects, PairedSubjects, &[1, 2, 3, 4]),
        ] {
            let found = design(first, second, pairing);
            assert_eq!(found.design, expected, "{first:?} {second:?}");
            let out: Vec<usize> = (0..9).filter(|s| !found.keeps(*s)).collect();
            assert_eq!(out, left, "{first:?} {second:?}");
        }
    }
}
