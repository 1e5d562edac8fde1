//! What scatters, and what a unit of a comparison is.
use super::Test;
use crate::change::{Design, enough};

/// Standard deviations of single values, each freed of the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// Between subjects; NaN where it is not known.
    pub subject: f64,
    /// From occasion to occasion of a subject; 0 where it is not known.
    pub occasion: f64,
    /// From repeat to repeat on an occasion.
    pub repeat: f64,
    /// Of subjects' own true differences about their mean; 0 where all change alike.
    pub response: f64,
}

impl Noise {
    /// Scatter of the mean of `repeats` of one occasion about the subject's own figure.
    pub fn of_mean(&self, repeats: usize) -> f64 {
        let repeats = repeats.max(1) as f64;
        (self.occasion * self.occasion + self.repeat * self.repeat / repeats).sqrt()
    }
}

/// What is compared with what, and what is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sides {
    /// One subject on one occasion: so many repeats on each side.
    OneOccasion,
    /// One subject on two occasions, one a side: so many repeats on each, against the scatter that is known.
    TwoOccasions,
    /// One subject on several occasions: so many on each side, against the scatter that is known.
    Occasions {
        /// Repeats on each occasion.
        repeats: usize,
    },
    /// So many subjects, each before and after, on an occasion each.
    SameSubjects {
        /// Repeats on each occasion.
        repeats: usize,
    },
    /// So many subjects in each of two groups, each on one occasion.
    TwoGroups {
        /// Repeats of each subject.
        repeats: usize,
    },
}

impl Sides {
    /// The test by which a difference is looked for.
    pub fn test(self) -> Test {
        match self {
            Self::OneOccasion | Self::TwoGroups { .. } => Test::Two,
            Self::SameSubjects { .. } => Test::Paired,
            Self::TwoOccasions | Self::Occasions { .. } => Test::Known,
        }
    }

    /// Scatter that the test meets: of a unit, of a unit's difference, or of the one difference; `count` as for [`Sides::power`].
    pub fn scatter(self, noise: &Noise, count: usize) -> f64 {
        let root_2 = std::f64::consts::SQRT_2;
        let both = |a: f64, b: f64| (a * a + b * b).sqrt();
        match self {
            Self::OneOccasion => noise.repeat,
            Self::TwoOccasions => root_2 * noise.of_mean(count),
            Self::Occasions { repeats } => root_2 * noise.of_mean(repeats) / (count.max(1) as f64).sqrt(),
            Self::SameSubjects { repeats } => both(root_2 * noise.of_mean(repeats), noise.response),
            Self::TwoGroups { repeats } => both(noise.subject, noise.of_mean(repeats)),
        }
    }

    /// Chance of seeing a difference, by formula.
    ///
    /// `count`: repeats a side ([`Sides::OneOccasion`], [`Sides::TwoOccasions`]), occasions a side, subjects, or subjects a group.
    /// Source, checked: [`Test::power`].
    pub fn power(self, difference: f64, noise: &Noise, count: usize, alpha: f64) -> f64 {
        self.test().power(difference, self.scatter(noise, count), count, alpha)
    }

    /// The least count with which the permutation tests can claim anything at `alpha`: with fewer, even the most extreme
    /// arrangement is too likely. Source: counting ([`crate::change::enough`]).
    pub fn least(self, alpha: f64) -> usize {
        let of = |design| enough(design, alpha).unwrap_or(usize::MAX);
        match self {
            Self::OneOccasion | Self::TwoOccasions | Self::TwoGroups { .. } => of(Design::TwoGroups),
            Self::Occasions { repeats } => of(Design::TwoGroups).div_ceil(repeats.max(1)),
            Self::SameSubjects { .. } => of(Design::PairedSubjects),
        }
    }

    /// The least count with which the chance of seeing a difference reaches `wanted` by formula, not under [`Sides::least`];
    /// `None` where none does.
    pub fn needed(self, wanted: f64, difference: f64, noise: &Noise, alpha: f64) -> Option<usize> {
        if self == Self::TwoOccasions {
            // What occasions add stays, however many repeats.
            let endless = Noise { repeat: 0.0, ..*noise };
            if self.power(difference, &endless, 1, alpha) < wanted {
                return None;
            }
        }
        super::needed(wanted, self.least(alpha), |count| self.power(difference, noise, count, alpha))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOISE: Noise = Noise { subject: 12.0, occasion: 3.0, repeat: 8.0, response: 0.0 };

    /// By hand: 3² + 8²/16 = 13; twice that and a square root; with 12² added.
    #[test]
    fn scatters_by_hand() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
        near(NOISE.of_mean(16), 13.0_f64.sqrt());
        near(Sides::TwoOccasions.scatter(&NOISE, 16), 26.0_f64.sqrt());
        near(Sides::SameSubjects { repeats: 16 }.scatter(&NOISE, 5), 26.0_f64.sqrt());
        let unlike = Noise { response: 2.0, ..NOISE };
        near(Sides::SameSubjects { repeats: 16 }.scatter(&unlike, 5), 30.0_f64.sqrt());
        near(Sides::TwoGroups { repeats: 16 }.scatter(&NOISE, 5), 157.0_f64.sqrt());
        near(Sides::OneOccasion.scatter(&NOISE, 5), 8.0);
    }

    /// Between two occasions nothing under 2.8·√2·3 = 11.9 is seen four times in five, with any number of repeats.
    #[test]
    fn occasions_set_a_floor() {
        assert_eq!(Sides::TwoOccasions.needed(0.8, 11.8, &NOISE, 0.05), None);
        assert!(Sides::TwoOccasions.needed(0.8, 12.0, &NOISE, 0.05).is_some());
        // 2·(9 + 64/10)/n with 2.8016 standard errors in 6: n = 30.8·2.8016²/36 = 6.7.
        assert_eq!(Sides::Occasions { repeats: 10 }.needed(0.8, 6.0, &NOISE, 0.05), Some(7));
        let alone = Noise { occasion: 0.0, ..NOISE };
        // 2·8²/n with 2.8016 standard errors in 10: n = 2·64·2.8016²/100 = 10.05.
        assert_eq!(Sides::TwoOccasions.needed(0.8, 10.0, &alone, 0.05), Some(11));
        let blind = Noise { subject: f64::NAN, ..NOISE };
        assert_eq!(Sides::TwoGroups { repeats: 5 }.needed(0.8, 10.0, &blind, 0.05), None);
    }

    /// By hand: 2/20 is over 5 % and 2/70 is not; 2/32 is over it and 2/64 is not; at 1 %, 2/252 and 2/256.
    #[test]
    fn fewer_cannot_claim_anything() {
        let of = |sides: Sides| (sides.least(0.05), sides.least(0.01));
        assert_eq!(of(Sides::OneOccasion), (4, 5));
        assert_eq!(of(Sides::TwoGroups { repeats: 9 }), (4, 5));
        assert_eq!(of(Sides::SameSubjects { repeats: 9 }), (6, 8));
        assert_eq!(of(Sides::Occasions { repeats: 3 }), (2, 2));
        assert_eq!(Sides::SameSubjects { repeats: 9 }.needed(0.8, 1000.0, &NOISE, 0.05), Some(6));
    }
}
