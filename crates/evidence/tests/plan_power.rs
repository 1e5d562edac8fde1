//! Power by trying it is power by formula, for every kind of sides; and what no number of repeats can see, no simulation sees.

use evidence::draws::Draws;
use evidence::plan::{Noise, Sides, Simulation, simulated};
use evidence::{InTurn, Spread};

const NOISE: Noise = Noise { subject: 10.0, occasion: 3.0, repeat: 8.0, response: 2.0 };

const HOW: Simulation = Simulation { trials: 1000, rearrangements: 199, seed: 5, level: 0.95 };

/// A share of 1,000 trials scatters by 0.016 at most (standard error). The permutation test is within two hundredths of Student's
/// where there are enough units (it looks at 199 rearrangements).
#[test]
fn simulation_and_formula_agree() {
    for (sides, count) in [
        (Sides::OneOccasion, 15),
        (Sides::SameSubjects { repeats: 6 }, 14),
        (Sides::TwoGroups { repeats: 6 }, 20),
    ] {
        let scatter = sides.scatter(&NOISE, count);
        for share in [0.4, 0.9] {
            // The difference that the formula sees with this chance: found by halving.
            let (mut low, mut high) = (0.0, 10.0 * scatter);
            for _ in 0..50 {
                let middle = 0.5 * (low + high);
                if sides.power(middle, &NOISE, count, 0.05) < share { low = middle } else { high = middle }
            }
            let found = simulated(sides, low, &NOISE, count, 0.05, &HOW, &InTurn).power;
            assert!((found.value - share).abs() < 0.05, "{sides:?} {share}: {found:?}");
        }
        let nothing = simulated(sides, 0.0, &NOISE, count, 0.05, &HOW, &InTurn).power.value;
        // At 5 %, 1,000 trials: 99.9 % of binomial outcomes.
        assert!((0.028..=0.073).contains(&nothing), "{sides:?}: {nothing}");
    }
}

/// Between two occasions the known scatter rules where occasions scatter; the test of repeats, which knows nothing of them,
/// takes nothing away.
#[test]
fn between_two_occasions_the_floor_rules() {
    let of = |difference: f64, count: usize| {
        let formula = Sides::TwoOccasions.power(difference, &NOISE, count, 0.05);
        (formula, simulated(Sides::TwoOccasions, difference, &NOISE, count, 0.05, &HOW, &InTurn).power.value)
    };
    for (difference, count) in [(0.0, 12), (8.0, 12), (14.0, 12), (14.0, 40)] {
        let (formula, tried) = of(difference, count);
        assert!((formula - tried).abs() < 0.05, "{difference} {count}: {formula} {tried}");
    }
    let many = Sides::Occasions { repeats: 6 };
    for (difference, days) in [(0.0, 5), (4.0, 5), (8.0, 5), (8.0, 12)] {
        let formula = many.power(difference, &NOISE, days, 0.05);
        let tried = simulated(many, difference, &NOISE, days, 0.05, &HOW, &InTurn).power.value;
        assert!((formula - tried).abs() < 0.05, "{difference} {days} days: {formula} {tried}");
    }
    let sure = Noise { repeat: 0.5, ..NOISE };
    let found = simulated(Sides::TwoOccasions, 8.0, &sure, 20, 0.05, &HOW, &InTurn).power.value;
    assert!(found < 0.55, "repeats are hardly noise, and still: {found}");
}

/// With too few units no rearrangement is rare enough: nothing is ever seen, however large.
#[test]
fn too_few_see_nothing() {
    for sides in [Sides::OneOccasion, Sides::SameSubjects { repeats: 6 }, Sides::TwoGroups { repeats: 6 }] {
        let least = sides.least(0.05);
        let of = |count| simulated(sides, 1000.0, &NOISE, count, 0.05, &HOW, &InTurn).power.value;
        assert_eq!((of(least - 1), of(least)), (0.0, 1.0), "{sides:?}");
    }
}

/// The scatters of [`Sides::scatter`] are those of data made swing by swing.
#[test]
fn scatters_are_those_of_whole_data() {
    let (mut pairs, mut groups) = (Vec::new(), Vec::new());
    let mut draws = Draws::new(6, 0);
    for _ in 0..20_000 {
        let subject = NOISE.subject * draws.normal();
        let mut day = |middle: f64| {
            let day = middle + NOISE.occasion * draws.normal();
            (0..6).map(|_| day + NOISE.repeat * draws.normal()).sum::<f64>() / 6.0
        };
        let before = day(subject);
        groups.push(before);
        let after = day(subject);
        pairs.push(after + NOISE.response * draws.normal() - before);
    }
    for (values, sides) in
        [(pairs, Sides::SameSubjects { repeats: 6 }), (groups, Sides::TwoGroups { repeats: 6 })]
    {
        let (found, said) = (signal::stats::standard_deviation(&values), sides.scatter(&NOISE, 9));
        assert!((found / said - 1.0).abs() < 0.02, "{sides:?}: {found} {said}");
    }
}

/// Pieces done last to first.
struct Backwards;

impl Spread for Backwards {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let mut all: Vec<T> = (0..count).rev().map(piece).collect();
        all.reverse();
        all
    }
}

#[test]
fn the_same_whoever_does_it() {
    let of = |sides| {
        let one = simulated(sides, 6.0, &NOISE, 9, 0.05, &HOW, &InTurn);
        assert_eq!(one, simulated(sides, 6.0, &NOISE, 9, 0.05, &HOW, &Backwards));
        one.power.value
    };
    assert!(of(Sides::OneOccasion) > 0.1 && of(Sides::SameSubjects { repeats: 3 }) > 0.1);
}
