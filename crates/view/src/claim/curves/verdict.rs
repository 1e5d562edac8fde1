//! The verdict, in words that need no statistics.
use super::case::Case;
use super::numbers::{CurveNumbers, StretchOf};
use super::words::{between, chance};
use super::{Asking, Tails, letter};
use crate::claim::players::verb;
use crate::quantity::{count, decimals, plain, signed};
use evidence::curves::{CurveTest, NoTest};

impl Case<'_> {
    pub(super) fn verdict(
        &self,
        numbers: &CurveNumbers,
        tested: Option<&Result<CurveTest, NoTest>>,
    ) -> String {
        match (numbers.outcome, tested) {
            ("described", _) => self.described(numbers),
            (_, Some(Err(why))) => format!("Cannot be told: {}.", self.no_test(*why)),
            ("cannot be told", _) => self.too_few(numbers),
            ("no difference seen", _) => self.nothing(numbers),
            _ => self.found(numbers),
        }
    }

    fn described(&self, numbers: &CurveNumbers) -> String {
        let Some(set) = numbers.sets.first() else { return String::new() };
        let digits = numbers.digits();
        let extreme = |sign: f64| {
            let defined = set.mean.iter().enumerate().filter(|(_, v)| v.is_finite());
            defined.max_by(|a, b| (sign * a.1).total_cmp(&(sign * b.1)))
        };
        let (Some((most, high)), Some((least, low))) = (extreme(1.0), extreme(-1.0)) else {
            return format!(
                "There is no place from {} where {} of all is defined.",
                self.way.ends(),
                self.label()
            );
        };
        let half = |k: usize| set.of_mean.get(k).copied().unwrap_or(f64::NAN);
        let told = |k: usize, value: f64| {
            let at = self.percent(k as f64);
            let digits = if half(k) > 0.0 { decimals(half(k)) } else { digits };
            let interval = if half(k).is_finite() {
                format!(" ({})", between(value - half(k), value + half(k), digits))
            } else {
                String::new()
            };
            format!(
                "{} {}{interval} at {} %, {}",
                signed(value, digits),
                self.unit(),
                plain(at, 0),
                self.way.instant(at)
            )
        };
        let mut single: Vec<f64> = set.of_single.iter().copied().filter(|v| v.is_finite()).collect();
        single.sort_by(f64::total_cmp);
        let further = match (single.first(), single.last()) {
            (Some(low), Some(high)) => format!(
                " At any one place, {} of 100 further {}s would lie within {} to {} {} of the mean, depending on the place.",
                plain(self.level(), 0),
                self.noun(),
                plain(*low, decimals(*low)),
                plain(*high, decimals(*high)),
                self.unit()
            ),
            _ => format!(" One {} says nothing of how far others lie from it.", self.noun()),
        };
        format!(
            "On the mean, {} is greatest with {}; least with {}.{further}",
            self.label(),
            told(most, *high),
            told(least, *low)
        )
    }

    /// The statistic at the peak of a stretch with its interval, in words.
    fn by(&self, s: &StretchOf, numbers: &CurveNumbers) -> String {
        let Some(test) = &numbers.test else { return String::new() };
        if !s.largest.is_finite() {
            return String::new();
        }
        let size = s.largest_interval[1] - s.largest;
        let digits = if size > 0.0 { decimals(size) } else { numbers.digits() };
        let per = numbers.number.as_ref().map_or(String::new(), |n| {
            format!(
                " for each {}",
                if n.unit.is_empty() { format!("1 of {}", n.label) } else { n.unit.clone() }
            )
        });
        format!(
            ", by {} {}{per} at most ({}, at {} %)",
            signed(s.largest, digits),
            if numbers.number.is_some() { self.unit() } else { &test.difference_unit },
            between(s.largest_interval[0], s.largest_interval[1], digits),
            plain(s.largest_percent, 0)
        )
    }

    fn found(&self, numbers: &CurveNumbers) -> String {
        let Some(test) = &numbers.test else { return String::new() };
        let shown = if test.stretches.len() > 3 { 2 } else { 3 };
        let mut largest: Vec<&StretchOf> = test.stretches.iter().collect();
        largest.sort_by(|a, b| {
            let long = |s: &StretchOf| s.to_percent - s.from_percent;
            long(b).total_cmp(&long(a))
        });
        largest.truncate(shown);
        largest.sort_by(|a, b| a.from_percent.total_cmp(&b.from_percent));
        let told: Vec<String> =
            largest.iter().map(|s| format!("{}, {}{}", s.place, s.direction, self.by(s, numbers))).collect();
        let rest = test.stretches.len().saturating_sub(shown);
        let rest = if rest > 0 { format!("; and in {rest} shorter stretches") } else { String::new() };
        let lead = match self.asking {
            Asking::Along(_) => "They go together",
            _ if self.who.paired => "They differ, in the same players,",
            _ if self.days() => "These sessions differ",
            _ => "They differ",
        };
        format!(
            "{lead} on the way from {}: {}{rest}. By chance alone curves would {} somewhere {}.",
            self.way.ends(),
            told.join("; "),
            if numbers.number.is_some() { "follow as closely" } else { "differ as much" },
            chance(test.p)
        )
    }

    fn nothing(&self, numbers: &CurveNumbers) -> String {
        let Some(test) = &numbers.test else { return String::new() };
        let mut pass: Vec<f64> = test.would_pass.iter().copied().filter(|v| v.is_finite()).collect();
        pass.sort_by(f64::total_cmp);
        let what = if numbers.number.is_some() {
            "Nothing was seen that follows it"
        } else {
            "No difference was seen"
        };
        let seen = match (pass.first(), pass.last()) {
            (Some(low), Some(high)) => format!(
                " One of more than {} to {} {}, depending on the place, would have been.",
                plain(*low, decimals(*low)),
                plain(*high, decimals(*high)),
                test.difference_unit,
            ),
            _ => String::new(),
        };
        format!(
            "{what} anywhere from {}: by chance alone curves would {} somewhere {}.{seen}",
            self.way.ends(),
            if numbers.number.is_some() { "follow as closely" } else { "differ as much" },
            chance(test.p)
        )
    }

    /// How many it takes until the most different arrangement is rarer than the level.
    fn takes(&self) -> Option<String> {
        let sides = if self.how.tails == Tails::Both { 2.0 } else { 1.0 };
        match (self.who.paired, self.who.sets.len()) {
            (false, 2) => {
                let mut ways = 1.0;
                (1..30_u32).find_map(|n| {
                    ways *= f64::from(2 * (2 * n - 1)) / f64::from(n);
                    (sides / ways <= self.how.alpha)
                        .then(|| format!("it takes {} in each choice", count(n as usize, self.noun())))
                })
            }
            (true, 2) => (1..60_i32)
                .find(|n| sides / 2_f64.powi(*n) <= self.how.alpha)
                .map(|n| format!("it takes {} in both", count(n as usize, self.noun()))),
            _ => None,
        }
    }

    fn too_few(&self, numbers: &CurveNumbers) -> String {
        let level = plain(100.0 * self.how.alpha, 1);
        let looked = numbers.test.as_ref().and_then(|t| Some((t.rearrangements?, t.exact?)));
        match looked {
            Some((n, true)) => format!(
                "Cannot be told: there are only {n} ways to deal so few {}s, and even the most different one would come by chance in \
                 more than {level} % of cases{}.",
                self.noun(),
                self.takes().map_or(String::new(), |t| format!("; {t}"))
            ),
            _ => format!(
                "Cannot be told: {} rearrangements are too few to find what comes by chance in {level} % of cases; \
                 --permutations draws more.",
                self.how.permutations
            ),
        }
    }

    fn no_test(&self, why: NoTest) -> String {
        match why {
            NoTest::TooFew { has, needs, .. } if self.who.paired => {
                format!(
                    "{} in every choice, where it takes {}{}",
                    verb(has, "player", "is", "are"),
                    needs,
                    self.takes()
                        .map_or(String::new(), |t| format!(" for any test, and with rearrangements {t}"))
                )
            }
            NoTest::TooFew { set, has, needs } => format!(
                "{} has only {}, where it takes {needs} to know how far they lie apart",
                if self.who.sets.len() == 1 { "the choice".to_string() } else { letter(set) },
                count(has, self.noun())
            ),
            NoTest::NoNode => format!(
                "there is no place from {} where the curves of all {}s are defined",
                self.way.ends(),
                self.noun()
            ),
            NoTest::FlatNumber | NoTest::NoNumber => {
                let number = self.column().map_or("", |c| c.measure.label.as_str());
                format!("{number} is the same for all, or not known")
            }
            NoTest::TooFewSets | NoTest::Uneven => "the choices do not hold the same players".into(),
        }
    }
}
