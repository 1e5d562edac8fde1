//! What is said of curves: question, verdict, what to mind, how it was done.
use super::cut::Cut;
use super::numbers::{
    AccountOf, CurveNumbers, EventOf, NumberOf, SetOf, StretchOf, TestOf, UnitOf, WarpOf, WayOf,
};
use super::units::Units;
use super::words::{Way, between, chance, direction, listed};
use super::{Asking, How, Method, Tails, degrees, letter, rearrangements, verb};
use crate::quantity::{count, plain, signed};
use evidence::curves::bands::Bands;
use evidence::curves::{By, Cluster, CurveTest, NoTest, SIGNS_NEED};
use signal::stats;
use std::collections::BTreeSet;
use swing::events::Name;
use swing::metrics::Unit;

/// Everything that sentences are made from.
pub(super) struct Case<'a> {
    pub asking: Asking<'a>,
    pub how: &'a How,
    pub cut: &'a Cut<'a>,
    pub who: &'a Units,
    pub bands: &'a [Bands],
    pub way: &'a Way,
    pub name: &'static str,
}

type Tested<'t> = Option<&'t CurveTest>;

impl Case<'_> {
    fn account(&self) -> Option<&crate::claim::table::Account> {
        self.cut.sets.first().map(|s| &s.of.account)
    }
    fn label(&self) -> &'static str {
        self.account().map_or("", |a| a.label)
    }
    fn unit(&self) -> &str {
        self.cut.sets.first().map_or("", |s| s.of.unit.as_str())
    }
    fn noun(&self) -> &'static str {
        if self.who.players { "player" } else { "swing" }
    }
    fn is_turn(&self) -> bool {
        self.account().is_some_and(|a| {
            a.unit == Unit::NewtonMetre && (a.id.starts_with("turn") || a.id == "entry.offset")
        })
    }
    /// The column that curves are asked to follow.
    fn column(&self) -> Option<&crate::claim::table::Column> {
        match self.asking {
            Asking::Along(table) => table.columns.first(),
            _ => None,
        }
    }
    fn percent(&self, node: f64) -> f64 {
        100.0 * node / self.how.nodes.saturating_sub(1).max(1) as f64
    }
    /// Level of bands and intervals, %.
    fn level(&self) -> f64 {
        100.0 * (1.0 - self.how.alpha)
    }

    /// "Does net force up differ between A (alder in session 3) and B (…), anywhere from takeaway to impact?"
    pub fn question(&self) -> String {
        let named: Vec<String> = self
            .cut
            .sets
            .iter()
            .enumerate()
            .map(|(k, s)| {
                if self.cut.sets.len() == 1 {
                    s.of.named.clone()
                } else {
                    format!("{} ({})", letter(k), s.of.named)
                }
            })
            .collect();
        let (label, ends, all) = (self.label(), self.way.ends(), listed(&named));
        match self.asking {
            Asking::Shape => format!("How does {label} go from {ends} ({all})?"),
            Asking::Differ | Asking::Paired if self.who.paired => {
                format!("Does {label} of the same players differ between {all}, anywhere from {ends}?")
            }
            Asking::Differ | Asking::Paired => {
                format!("Does {label} differ between {all}, anywhere from {ends}?")
            }
            Asking::Along(_) => {
                let number = self.column().map_or("", |c| c.measure.label.as_str());
                format!("Does {label} follow {number}, anywhere from {ends} ({all})?")
            }
        }
    }

    pub fn numbers(&self, test: Tested) -> CurveNumbers {
        let nodes = self.how.nodes;
        let percent: Vec<f64> = (0..nodes).map(|k| self.percent(k as f64)).collect();
        let seconds = percent.iter().map(|p| self.way.seconds(*p)).collect();
        let event = |(e, share): (&Name, &f64)| EventOf { event: e.name(), percent: 100.0 * share };
        let sets = self.cut.sets.iter().zip(&self.who.sets).zip(self.bands).enumerate();
        let set = |(k, ((s, units), b)): (usize, ((&super::Cutting, &Vec<super::Unit>), &Bands))| {
            let times = || s.curves.iter().map(|c| c.duration_s);
            let players: BTreeSet<&str> = s.curves.iter().map(|c| c.of.player.as_str()).collect();
            let warp = |c: &super::cut::Curve| WarpOf {
                swing: c.of.swing,
                events_percent: c.inner.iter().map(|s| 100.0 * s).collect(),
                moved_s: c.moved_s,
            };
            SetOf {
                letter: letter(k),
                named: s.of.named.clone(),
                players: players.len(),
                swings: s.curves.len(),
                duration_s: [
                    stats::mean(&times().collect::<Vec<_>>()),
                    times().fold(f64::NAN, f64::min),
                    times().fold(f64::NAN, f64::max),
                ],
                mean: b.mean.clone(),
                deviation: b.deviation.clone(),
                of_mean: b.of_mean.clone(),
                of_whole: b.of_whole.clone(),
                of_single: b.of_single.clone(),
                defined: b.defined.clone(),
                units: units
                    .iter()
                    .map(|u| UnitOf {
                        name: u.name.clone(),
                        swings: u.swings,
                        number: u.number,
                        values: u.values.clone(),
                    })
                    .collect(),
                warps: if self.cut.registered { s.curves.iter().map(warp).collect() } else { Vec::new() },
            }
        };
        let number = self.column().map(|c| {
            let all: Vec<f64> = self.who.sets.iter().flatten().map(|u| u.number).collect();
            NumberOf {
                id: c.measure.id.clone(),
                label: c.measure.label.clone(),
                unit: c.measure.unit.clone(),
                mean: stats::mean(&all),
                deviation: stats::standard_deviation(&all),
            }
        });
        let point = self.cut.sets.first().filter(|_| self.is_turn()).map(|s| s.of.point.clone());
        let mut out = CurveNumbers {
            outcome: "described",
            account: AccountOf {
                id: self.account().map_or("", |a| a.id),
                label: self.label(),
                unit: self.unit().to_string(),
                point,
            },
            way: WayOf {
                from: self.cut.from.name(),
                to: self.cut.to.name(),
                percent,
                anchor: self.way.anchor.name(),
                seconds,
                duration_s: self.way.duration_s,
                events: self.cut.inner.iter().zip(&self.cut.shares).map(event).collect(),
                registered: self.cut.registered,
            },
            counted: self.noun(),
            level_percent: self.level(),
            sets: sets.map(set).collect(),
            number,
            test: None,
        };
        out.test = test.map(|t| self.test(t, &out));
        out.outcome = match (self.asking, test) {
            (Asking::Shape, _) => "described",
            (_, None) => "cannot be told",
            (_, Some(t)) if least(t) > self.how.alpha => "cannot be told",
            (Asking::Along(_), Some(t)) if !t.clusters.is_empty() => "follow",
            (_, Some(t)) if !t.clusters.is_empty() => "differ",
            _ => "no difference seen",
        };
        out
    }

    fn test(&self, t: &CurveTest, numbers: &CurveNumbers) -> TestOf {
        let per = self.column().map_or(String::new(), |c| {
            if c.measure.unit.is_empty() { String::new() } else { format!(" per {}", c.measure.unit) }
        });
        let finite = |v: f64| if v.is_finite() { v } else { f64::NAN };
        let fwhm = match t.by {
            By::Field(field) => self.percent(field.fwhm),
            By::Permutation { .. } => f64::NAN,
        };
        let looked = rearrangements(t.by);
        TestOf {
            name: self.name,
            method: if looked.is_some() { "permutation" } else { "field" },
            degrees: degrees(t.kind),
            statistic: t.statistic.clone(),
            threshold: finite(t.threshold),
            p: t.p,
            alpha: t.rule.alpha,
            difference: t.estimate.clone(),
            difference_unit: format!("{}{per}", self.unit()),
            would_pass: t.se.iter().map(|s| finite(t.threshold * s)).collect(),
            stretches: t.clusters.iter().map(|c| self.stretch(c, t, numbers)).collect(),
            not_tested: t
                .left_out()
                .iter()
                .map(|s| [self.percent(s.start as f64), self.percent(s.end.saturating_sub(1) as f64)])
                .collect(),
            smoothness_percent: fwhm,
            rearrangements: looked.map(|(n, _)| n),
            exact: looked.map(|(_, exact)| exact),
        }
    }

    fn stretch(&self, c: &Cluster, t: &CurveTest, numbers: &CurveNumbers) -> StretchOf {
        let (from, to) = (self.percent(c.from), self.percent(c.to));
        let first = c.from.ceil().min(c.peak as f64) as usize;
        let last = c.to.floor().max(c.peak as f64) as usize;
        let inside = |curve: &[f64]| {
            let here: Vec<f64> = curve.iter().copied().skip(first).take(last + 1 - first).collect();
            stats::mean(&here)
        };
        // Where the difference is largest, which need not be where it is surest.
        let size = |q: &usize| t.estimate.get(*q).map_or(f64::NAN, |v| v.abs());
        let within = first..last + 1;
        let largest = within.filter(|q| size(q).is_finite()).max_by(|a, b| size(a).total_cmp(&size(b)));
        let largest = largest.unwrap_or(c.peak);
        let at = |of: &[f64]| of.get(largest).copied().unwrap_or(f64::NAN);
        let (difference, half) = (at(&t.estimate), t.threshold * at(&t.se));
        let direction = match (self.account(), numbers.sets.as_slice(), &numbers.number) {
            (Some(account), [only], Some(number)) => {
                let (mean, slope) = (inside(&only.mean), inside(&t.estimate) * number.deviation);
                let way = direction(account, [mean + slope, mean - slope], "", "with less");
                format!("with more {} {way}", number.label)
            }
            (Some(account), [a, b], None) => {
                format!(
                    "in B {}",
                    direction(account, [inside(&b.mean), inside(&a.mean)], "than in A", "in A")
                )
            }
            (_, sets, _) => {
                let here = |s: &SetOf| s.mean.get(c.peak).copied().unwrap_or(f64::NAN);
                let by = |a: &&SetOf, b: &&SetOf| here(a).total_cmp(&here(b));
                let name = |s: Option<&SetOf>| s.map_or(String::new(), |s| s.letter.clone());
                let most = name(sets.iter().max_by(by));
                format!("it is greatest in {most}, least in {}", name(sets.iter().min_by(by)))
            }
        };
        StretchOf {
            from_percent: from,
            to_percent: to,
            from_s: self.way.seconds(from),
            to_s: self.way.seconds(to),
            place: self.way.stretch(from, to),
            direction,
            peak_percent: self.percent(c.peak as f64),
            peak_statistic: c.peak_statistic,
            largest_percent: if difference.is_finite() { self.percent(largest as f64) } else { f64::NAN },
            largest: difference,
            largest_interval: [difference - half, difference + half],
            p: c.p,
        }
    }

    pub fn verdict(&self, numbers: &CurveNumbers, tested: Option<&Result<CurveTest, NoTest>>) -> String {
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
            let digits = if half(k) > 0.0 { crate::quantity::decimals(half(k)) } else { digits };
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
                plain(*low, crate::quantity::decimals(*low)),
                plain(*high, crate::quantity::decimals(*high)),
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
        let digits = if size > 0.0 { crate::quantity::decimals(size) } else { numbers.digits() };
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
            _ if self.who.paired => "They differ, in the same players",
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
                plain(*low, crate::quantity::decimals(*low)),
                plain(*high, crate::quantity::decimals(*high)),
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
        let least = numbers.test.as_ref().and_then(|t| t.rearrangements);
        let ways = least.map_or(String::new(), |n| {
            format!(
                "there are only {n} ways to deal so few {}s, and even the most different one would come by chance more often than \
                 in {} % of cases",
                self.noun(),
                plain(100.0 * self.how.alpha, 0)
            )
        });
        let takes = self.takes().map_or(String::new(), |t| format!("; {t}"));
        format!("Cannot be told: {ways}{takes}.")
    }

    fn no_test(&self, why: NoTest) -> String {
        match why {
            NoTest::TooFew { has, needs, .. } if self.who.paired => {
                format!(
                    "{} in every choice, where it takes {}{}",
                    verb(has, "player"),
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

    pub fn method(&self, test: Tested) -> Vec<String> {
        let mut all = vec![format!(
            "Each swing is cut from {} and brought to {} nodes, time stretched {}; between samples by the cubic through four, and none \
             across a gap.",
            self.way.ends(),
            self.how.nodes,
            if self.cut.registered {
                format!(
                    "piece by piece so that {} lies where it does on the mean (landmarks, Kneip & Gasser 1992; monotone cubics, Fritsch & \
                     Carlson 1980)",
                    listed(&self.cut.inner.iter().map(|e| e.name().to_string()).collect::<Vec<_>>())
                )
            } else {
                "evenly".into()
            }
        )];
        all.push(if self.who.players {
            "Counted are players: the curves of a player's swings are averaged first.".into()
        } else {
            "Counted are the swings of the one player.".into()
        });
        all.push(format!(
            "± of a mean: {} % band of the whole mean curve by throwing the signs of residuals (wild bootstrap, Liu 1988) where there \
             are {SIGNS_NEED} or more, else the interval at each place by itself (Student's t).",
            plain(self.level(), 0)
        ));
        if let Some(t) = test {
            let statistic = format!("Test: {} at every node;", self.name);
            all.push(match t.by {
                By::Field(field) => format!(
                    "{statistic} the height that smooth noise of the same smoothness ({} % of the way) passes anywhere by random field \
                     theory (Friston 1994, Worsley 1996, Pataky 2010); a stretch's chance is that of one as long.",
                    plain(self.percent(field.fwhm), 1)
                ),
                By::Permutation { looked_at, exact, .. } => format!(
                    "{statistic} the height passed anywhere when {} ({}; Nichols & Holmes 2002{}); a stretch's chance is that of as much \
                     area beyond it.",
                    self.rearranged(),
                    if exact { format!("all {looked_at}") } else { format!("{} of them drawn", looked_at - 1) },
                    if self.name.starts_with("Welch") { ", Winkler 2014" } else { "" }
                ),
            });
        }
        all
    }

    fn rearranged(&self) -> String {
        let noun = self.noun();
        match self.name {
            "Welch's t" => "the signs of residuals about each choice's mean are turned".into(),
            "Student's t of pairs" => "the signs of the players' differences are turned".into(),
            "F of choices of the same players" => "each player's choices are dealt again".into(),
            "t of the slope" => format!("the numbers are dealt to the {noun}s again"),
            _ => format!("the {noun}s are dealt to the choices again"),
        }
    }

    pub fn caveats(&self, numbers: &CurveNumbers, test: Tested) -> Vec<String> {
        let mut all = Vec::new();
        let swings = || self.cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.of));
        let several = self.cut.sets.len() > 1;
        all.extend(self.cut.why.clone());
        let stale: usize = self.cut.sets.iter().map(|s| s.of.stale).sum();
        if stale > 0 {
            all.push(format!(
                "{} out of date; `underfoot study rebuild --changed` measures again.",
                verb(stale, "swing")
            ));
        }
        if self.cut.estimated > 0 {
            all.push(format!(
                "In {} an event is an estimate: what is there at which time is as unsure.",
                count(self.cut.estimated, "swing")
            ));
        }
        if self.how.register == super::Register::Landmarks && !self.cut.registered {
            all.push(format!(
                "Not registered: no event between {} is known in every swing.",
                self.way.ends().replace(" to ", " and ")
            ));
        }
        if self.cut.registered {
            all.push(
                "Registered: differences in timing were taken out of the curves; they stand under \"moved by\" (in --json, swing by \
                 swing)."
                    .into(),
            );
        } else if !self.cut.inner.is_empty() && several {
            let apart = self.apart();
            if let Some((event, ms)) = apart.filter(|(_, ms)| *ms >= 10.0) {
                all.push(format!(
                    "The {} comes {} ms apart on the means of the choices: a difference in timing also shows as one in height beside it; \
                     --register takes it out.",
                    event.name(),
                    plain(ms, 0)
                ));
            }
        }
        let players: BTreeSet<&str> = swings().map(|s| s.player.as_str()).collect();
        if !self.who.players && !matches!(self.asking, Asking::Shape) {
            all.push(if players.len() == 1 {
                format!(
                    "It speaks of {} only: one player's swings are counted.",
                    players.first().copied().unwrap_or("")
                )
            } else {
                format!(
                    "It speaks of {} only: the swings of one player each are counted.",
                    listed(&players.iter().map(|p| p.to_string()).collect::<Vec<_>>())
                )
            });
            let sessions = |k: usize| -> BTreeSet<i64> {
                self.cut
                    .sets
                    .get(k)
                    .map_or(BTreeSet::new(), |s| s.curves.iter().map(|c| c.of.session).collect())
            };
            if several && players.len() == 1 && sessions(0).is_disjoint(&sessions(1)) {
                all.push(
                    "The choices are of different sessions: that days differ by themselves would look the same, and what days do is not \
                     taken off here (`underfoot repeat` tells it for metrics)."
                        .into(),
                );
            }
        }
        if self.column().is_some() && self.who.players {
            all.push("Between players: it says nothing of what a player's own swings do.".into());
        }
        let rigs: BTreeSet<&str> = swings().map(|s| s.rig.as_str()).collect();
        if rigs.len() > 1 {
            all.push(format!(
                "{} rigs are in it; what one of them measures differently does not cancel (`underfoot agree`).",
                rigs.len()
            ));
        }
        let clubs: BTreeSet<&str> = swings().map(|s| s.club.as_str()).collect();
        let of_set =
            |s: &super::Cutting| s.curves.iter().map(|c| c.of.club.as_str()).collect::<BTreeSet<_>>().len();
        if self.cut.sets.iter().any(|s| of_set(s) > 1) {
            let named: Vec<String> = clubs
                .iter()
                .map(|c| if c.is_empty() { "not stated".into() } else { (*c).to_string() })
                .collect();
            all.push(format!(
                "Clubs are together in {} ({}): what differs between clubs is in it; --club keeps to one.",
                if several { "a choice" } else { "it" },
                listed(&named)
            ));
        }
        if self.account().is_some_and(|a| a.unit == Unit::Metre) {
            all.push("The centre of pressure is told from the rig's centre: where a player stood on it counts too.".into());
        }
        if let Some(t) = test {
            let gaps: Vec<String> = numbers
                .test
                .iter()
                .flat_map(|t| &t.not_tested)
                .map(|[a, b]| {
                    if a == b {
                        format!("at {} %", plain(*a, 0))
                    } else {
                        format!("{} to {} %", plain(*a, 0), plain(*b, 0))
                    }
                })
                .collect();
            let nodes = t.statistic.len();
            let tested: usize = t.tested.iter().map(|s| s.len()).sum();
            if !gaps.is_empty() {
                all.push(format!(
                    "Not looked at: {} ({} of {nodes} nodes), where {}.",
                    listed(&gaps),
                    nodes - tested,
                    if t.without_scatter == nodes - tested {
                        "nothing scatters"
                    } else {
                        "not every curve is defined"
                    }
                ));
            }
            if matches!(t.by, By::Field(_)) {
                all.push("By field it is supposed that scatter is nearly normal and smooth; --method permutation supposes neither.".into());
            }
            if matches!(self.name, "F of choices" | "Student's t") && self.uneven() > 2.0 {
                all.push(format!(
                    "One choice scatters {} times as much as another, and this test takes scatter as alike: what it finds may be that.",
                    plain(self.uneven(), 1)
                ));
            }
            if let Some(two) = self.two_plates_beside_one() {
                all.push(two);
            }
            if self.how.method == Method::Permutation
                && self.who.sets.iter().map(Vec::len).min().unwrap_or(0) < 5
            {
                all.push(format!("Few {}s: only large differences can be seen.", self.noun()));
            }
        }
        all
    }

    /// The event whose mean place differs most between the choices, and by how much, ms.
    fn apart(&self) -> Option<(Name, f64)> {
        let places = |k: usize| -> Vec<f64> {
            self.cut
                .sets
                .iter()
                .map(|s| {
                    stats::mean(&s.curves.iter().filter_map(|c| c.inner.get(k).copied()).collect::<Vec<_>>())
                })
                .collect()
        };
        let width = |k: usize| {
            let all = places(k);
            let ends = stats::extent(&all);
            ends.map_or(0.0, |(low, high)| 1e3 * (high - low) * self.way.duration_s)
        };
        let all = self.cut.inner.iter().enumerate().map(|(k, e)| (*e, width(k)));
        all.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// How many times as much the widest choice scatters as the narrowest, at the middle node of their ratios.
    fn uneven(&self) -> f64 {
        let middle: Vec<f64> = self
            .bands
            .iter()
            .map(|b| {
                let mut all: Vec<f64> = b.deviation.iter().copied().filter(|v| v.is_finite()).collect();
                all.sort_by(f64::total_cmp);
                all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
            })
            .collect();
        stats::extent(&middle).map_or(f64::NAN, |(low, high)| high / low)
    }

    fn two_plates_beside_one(&self) -> Option<String> {
        let feet: BTreeSet<Option<u8>> =
            self.cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.of.feet)).collect();
        let collapsed = self.cut.sets.iter().all(|s| s.of.collapse);
        (feet.contains(&Some(1)) && feet.contains(&Some(2)) && !collapsed).then(|| {
            "Swings on one plate stand beside swings with a plate for each foot; --collapse measures all as on one plate.".to_string()
        })
    }
}

/// The least p that any rearrangement could get; 0 by field.
fn least(t: &CurveTest) -> f64 {
    match t.by {
        By::Permutation { least_p, .. } => least_p,
        By::Field(_) => 0.0,
    }
}
