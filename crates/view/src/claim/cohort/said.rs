//! What is said of a cohort: question, verdict, method, caveats.
use super::curve::CurveCohort;
use super::numbers::{Cohort, MeasureCohort, Placed, Standing, StratumRow, figure_of};
use super::{By, CohortHow, Counting, LEAST_OTHERS, Of};
use crate::claim::Setting;
use crate::claim::players::listed;
use crate::claim::span::with_unit;
use crate::claim::table::{Table, Traces};
use crate::quantity::{count, plain};

/// So many figures, or placed, have a sentence each.
const SENTENCES: usize = 4;

pub(super) fn question(table: &Table, of: &Cohort, placed: Option<&Table>, how: &CohortHow) -> String {
    let labels: Vec<&str> = of.measures.iter().take(SENTENCES).map(|m| m.label.as_str()).collect();
    let what = match of.measures.len() {
        n if n <= SENTENCES => labels.join("; "),
        n => count(n, "figure"),
    };
    let by: Vec<String> = how.by.iter().map(|b| b.name().to_string()).collect();
    let by = if by.is_empty() { String::new() } else { format!(", by {}", listed(&by)) };
    match placed {
        Some(p) => {
            format!(
                "Where do these stand among others{by}: {what}? ({}; the others: {})",
                p.named, table.named
            )
        }
        None => format!("How far apart are {}s{by}: {what}? ({})", of.unit, table.named),
    }
}

/// One other player is no cohort.
pub(super) fn alone(player: &str) -> String {
    format!(
        "Cannot be told: the reference has swings of {player} alone, and one player is no cohort; choose a reference of at least 3 \
         other players, or place {player}'s own swings."
    )
}

/// All are to be placed, and nothing is left beside them.
pub(super) fn all_placed(swings: usize) -> String {
    format!(
        "Cannot be told: {} of the reference {} to be placed, and no other swing of the player is left to place {} beside; place \
         fewer of them, or choose a reference of at least 3 other players.",
        if swings == 1 { "the one swing".into() } else { format!("all {swings} swings") },
        if swings == 1 { "is" } else { "are" },
        if swings == 1 { "it" } else { "them" },
    )
}

pub(super) fn verdict(of: &Cohort, counting: Counting) -> String {
    if of.placed.is_empty() {
        return spread(of);
    }
    let looked = of.looked_at;
    let odd: Vec<(&Placed, &Standing)> = of
        .placed
        .iter()
        .flat_map(|p| p.standings.iter().map(move |s| (p, s)))
        .filter(|(_, s)| s.unusual)
        .collect();
    let mut said = if looked == 0 {
        format!(
            "Whether it is unusual cannot be told: it takes at least 3 other {}s of the same stratum.",
            of.unit
        )
    } else if odd.is_empty() && looked == 1 {
        "The one figure looked at is not unusual.".to_string()
    } else if odd.is_empty() {
        format!("None of {looked} figures looked at is unusual.")
    } else {
        let named: Vec<String> =
            odd.iter().take(SENTENCES).map(|(p, s)| format!("{} of {}", s.label, p.who)).collect();
        let more = if odd.len() > SENTENCES {
            format!(" and {} more", odd.len() - SENTENCES)
        } else {
            String::new()
        };
        let are = if odd.len() == 1 { "is" } else { "are" };
        format!(
            "{} of {} looked at {are} unusual: {}{more}.",
            odd.len(),
            count(looked, "figure"),
            listed(&named)
        )
    };
    let least = if counting.own { 1 } else { LEAST_OTHERS };
    let told = |placed: &Placed| {
        let parts: Vec<String> =
            placed.standings.iter().filter(|s| s.units >= least).map(|s| standing(s, of)).collect();
        let units = placed.standings.iter().map(|s| s.units).max().unwrap_or(0);
        let others = match (counting.own, counting.of) {
            (true, _) => format!("{} of the player", count(units, "other swing")),
            (false, Of::Means) => count(units, "other player"),
            (false, Of::Swings) => format!("single swings of {}", count(units, "other player")),
        };
        format!("{}, beside {others}: {}.", capital(&placed.who), parts.join("; "))
    };
    let looked: Vec<&Placed> =
        of.placed.iter().filter(|p| p.standings.iter().any(|s| s.units >= least)).collect();
    if looked.len() <= SENTENCES && looked.iter().all(|p| p.standings.len() <= SENTENCES) {
        for placed in looked {
            said.push(' ');
            said.push_str(&told(placed));
        }
    } else {
        said.push_str(" Where each stands is in the tables.");
    }
    said
}

/// "net up, most, +170 %BW, is higher than about 80 % (between 58 and 93 %)".
fn standing(of: &Standing, cohort: &Cohort) -> String {
    if of.percent.value.is_nan() {
        return format!("{} is not known", of.label);
    }
    let measure = cohort.measures.iter().find(|m| m.measure == of.measure);
    let digits = measure.map_or(1, |m| m.digits);
    let figure = figure_of(of.value, digits, measure.is_some_and(|m| m.signed));
    let head = format!("{}, {}, is", of.label, with_unit(&figure, &of.unit));
    let whole = |v: f64| plain(v, 0);
    let (value, low, high) = (of.percent.value, of.percent.low, of.percent.high);
    if of.all_below {
        return format!("{head} higher than all of them (than at least {} % of such)", whole(low));
    }
    if of.all_above {
        return format!("{head} lower than all of them (than at least {} % of such)", whole(100.0 - high));
    }
    if value >= 50.0 {
        format!("{head} higher than about {} % (between {} and {} %)", whole(value), whole(low), whole(high))
    } else {
        let (low, high) = (100.0 - high, 100.0 - low);
        format!(
            "{head} lower than about {} % (between {} and {} %)",
            whole(100.0 - value),
            whole(low),
            whole(high)
        )
    }
}

/// Where the middle half, or only the middle, of a reference lies.
fn spread(of: &Cohort) -> String {
    let rows: Vec<(&MeasureCohort, &StratumRow)> =
        of.measures.iter().flat_map(|m| m.rows.iter().map(move |r| (m, r))).collect();
    let at = |row: &StratumRow, percent: u8| {
        row.centiles.iter().find(|c| c.percent == percent).map_or(f64::NAN, |c| c.at.value)
    };
    if !rows.iter().any(|(_, r)| at(r, 50).is_finite()) {
        let most = rows.iter().map(|(_, r)| r.units).max().unwrap_or(0);
        let needs = of
            .measures
            .iter()
            .flat_map(|m| &m.rows)
            .flat_map(|r| &r.centiles)
            .map(|c| c.needs)
            .min()
            .unwrap_or(0);
        return format!(
            "Too few for any centile: at most {} in a stratum, and even the middle takes {needs}.",
            count(most, of.unit)
        );
    }
    let half = rows.iter().filter(|(_, r)| at(r, 25).is_finite() && at(r, 75).is_finite()).count();
    let sentence = |(m, row): &(&MeasureCohort, &StratumRow)| {
        let figure = |v: f64| figure_of(v, m.digits, m.signed);
        let who = if row.stratum == "all" { String::new() } else { format!(" ({})", row.stratum) };
        let (low, middle, high) = (at(row, 25), at(row, 50), at(row, 75));
        let limits = if half > 0 {
            format!("{} to {}", figure(low), with_unit(&figure(high), &m.unit))
        } else {
            with_unit(&figure(middle), &m.unit)
        };
        format!("{}{who} {limits}", m.label)
    };
    let wanted = |row: &StratumRow| {
        if half > 0 { at(row, 25).is_finite() && at(row, 75).is_finite() } else { at(row, 50).is_finite() }
    };
    let told: Vec<String> = rows.iter().filter(|(_, r)| wanted(r)).map(sentence).collect();
    let few: Vec<String> = told.iter().take(2 * SENTENCES).cloned().collect();
    let more = if told.len() > few.len() { "; the rest is in the table" } else { "" };
    let who = match (of.unit, of.of) {
        ("swing", _) => "the swings",
        (_, "single swings") => "single swings, every player counting the same,",
        _ => "the players",
    };
    let head = if half > 0 {
        format!("Half of {who} lie within")
    } else {
        format!("Half of {who} lie above, half below")
    };
    format!("{head}: {}{more}.", few.join("; "))
}

pub(super) fn method(of: &Cohort, counting: Counting) -> Vec<String> {
    let mut all = Vec::new();
    all.push(match (counting.own, counting.of) {
        (true, _) => "Every swing counts: all are of one player.".to_string(),
        (false, Of::Means) => "Every player counts once, with the mean of the swings in the stratum.".into(),
        (false, Of::Swings) => {
            "Every player counts the same, with all of the swings in the stratum: centiles are of one swing of any player.".into()
        }
    });
    let single = counting.own || counting.of == Of::Means;
    all.push(if single {
        "Centiles: linear between order statistics (definition 7 of Hyndman & Fan 1996); intervals between order statistics, by the \
         binomial distribution (Thompson 1936), and only where they lie within the data."
            .into()
    } else {
        "Centiles: of the values weighted by player; intervals by drawing players anew (percentiles of the bootstrap; Davison & \
         Hinkley 1997), only where as many players as single values would take."
            .into()
    });
    if !of.placed.is_empty() {
        all.push(if counting.own {
            "What is placed is left out of its reference.".into()
        } else {
            "The player of what is placed is left out of the reference.".into()
        });
        all.push(
            "Standing: share of the reference below, ties counted half; exact binomial interval (Clopper & Pearson 1934) for as many \
             as are counted."
                .into(),
        );
        all.push(format!(
            "Unusual: farther from the mean than chance has it, by the t test of one case against a sample (Crawford & Howell 1998), held \
             over all that was looked at (Holm 1979), and by rank among the outermost {} %, or beyond all of the reference where \
             it is too small for that.",
            share(counting.alpha)
        ));
    }
    all
}

pub(super) fn caveats(of: &Cohort, counting: Counting) -> Vec<String> {
    let mut all = whose(counting.own);
    if of.placed.is_empty() {
        return all;
    }
    let standings = || of.placed.iter().flat_map(|p| &p.standings).filter(|s| s.least_by_rank.is_finite());
    if standings().any(|s| s.least_by_rank > counting.alpha) {
        all.push(format!(
            "Beside fewer than {} {}s a rank alone cannot say that something is unusual; the distance supposes that the reference \
             scatters about evenly to both sides.",
            ranked(counting.alpha),
            of.unit
        ));
    }
    if !counting.own && counting.of == Of::Means && of.placed.iter().any(|p| p.swings.len() == 1) {
        all.push("A single swing among means of players looks more unusual than it is; --of swings compares it with single swings.".into());
    }
    if !counting.own && counting.of == Of::Swings {
        all.push(
            "Intervals of standings are for one swing of each player, and on the wide side where players have several.".into(),
        );
    }
    all
}

pub(super) fn settings(of: &Cohort, how: &CohortHow) -> Vec<Setting> {
    let by: Vec<String> = how
        .by
        .iter()
        .map(|b| match b {
            By::Handicap(cuts) | By::Speed { cuts, .. } => {
                format!("{} ({})", b.name(), cuts.iter().map(f64::to_string).collect::<Vec<_>>().join(", "))
            }
            _ => b.name().to_string(),
        })
        .collect();
    let mut all = vec![
        Setting::of("level", how.level),
        Setting::of("of", of.of),
        Setting::of("by", if by.is_empty() { "nothing".into() } else { by.join(", ") }),
    ];
    if !of.placed.is_empty() {
        all.push(Setting::of("alpha", how.alpha));
    }
    if of.of == "single swings" && of.unit == "player" {
        all.push(Setting::of("resamples", how.resamples));
        all.push(Setting::of("seed", how.seed));
    }
    all
}

/// "0.03", "< 0.001", "—".
pub(super) fn probability(p: f64) -> String {
    if p < 0.001 { "< 0.001".into() } else { plain(p, if p < 0.0995 { 3 } else { 2 }) }
}

/// A share in per cent: "5", "0.1".
fn share(alpha: f64) -> String {
    let percent = (1e6 * alpha).round() / 1e4;
    percent.to_string()
}

/// How many it takes until the outermost rank, on either side, is rarer than alpha.
fn ranked(alpha: f64) -> usize {
    // A whole number that division left a little above is meant.
    (2.0 / alpha - 1.0 - 1e-9).ceil() as usize
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Whom a reference speaks of.
pub(super) fn whose(own: bool) -> Vec<String> {
    vec![if own {
        "The reference is one player's own swings: it speaks of this player only.".to_string()
    } else {
        "The reference is the players of this study, not golfers at large.".into()
    }]
}

/// "— takes more players: 36 for 10 and 90, 72 for 5 and 95": how many it takes for which centiles.
pub(super) fn needs(unit: &str, lacking: impl Iterator<Item = (usize, u8)>) -> Option<String> {
    let mut all: Vec<(usize, u8)> = lacking.collect();
    all.sort_unstable();
    all.dedup();
    let groups = all.chunk_by(|a, b| a.0 == b.0).map(|same| {
        let percents: Vec<String> = same.iter().map(|(_, p)| p.to_string()).collect();
        format!("{} for {}", same.first().map_or(0, |s| s.0), listed(&percents))
    });
    let told: Vec<String> = groups.collect();
    (!told.is_empty()).then(|| format!("— takes more {unit}s: {}", told.join(", ")))
}

pub(super) fn curve_question(sets: &[Traces], of: &CurveCohort) -> String {
    let named = |k: usize| sets.get(k).map_or("", |s| s.named.as_str());
    let what = format!("the curve of {} from {} to {}", of.account.label, of.way.from, of.way.to);
    if sets.len() > 1 {
        format!("Is {what} unusual beside others? ({}; the others: {})", named(1), named(0))
    } else {
        format!("How far apart are {}s in {what}? ({})", of.unit, named(0))
    }
}

/// What a hurried reader takes away of curves.
pub(super) fn depth_words(of: &CurveCohort) -> String {
    if of.placed.is_empty() {
        return match &of.widest {
            Some(w) => format!(
                "{} are farthest apart at {} % ({}): half of them lie from {} to {} there.",
                count(of.units, of.unit),
                plain(w.percent, 0),
                w.instant,
                figure_of(w.quartiles[0], of.digits, true),
                with_unit(&figure_of(w.quartiles[1], of.digits, true), &of.account.unit)
            ),
            None => format!(
                "Too few for quartiles: {}, and they take {}.",
                count(of.units, of.unit),
                of.bands.iter().find(|b| b.percent == 25).map_or(0, |b| b.needs)
            ),
        };
    }
    let looked = of.placed.iter().filter(|c| !c.p.is_nan()).count();
    let odd: Vec<String> = of.placed.iter().filter(|c| c.unusual).map(|c| c.who.clone()).collect();
    let mut said = match (looked, odd.len()) {
        (0, _) => "Whether it is unusual cannot be told: there are too few others.".to_string(),
        (1, 0) => "The curve is not unusual.".into(),
        (n, 0) => format!("None of {n} curves looked at is unusual."),
        (n, k) => {
            format!(
                "{k} of {} looked at {} unusual: {}.",
                count(n, "curve"),
                if k == 1 { "is" } else { "are" },
                listed(&odd)
            )
        }
    };
    for c in of.placed.iter().filter(|c| !c.p.is_nan()).take(SENTENCES) {
        let whole = |v: f64| plain(v, 0);
        let others = match (of.unit, c.of) {
            ("swing", _) => format!("{} of the player", count(c.units, "other swing")),
            (_, "single swings") => format!("single swings of {}", count(c.units, "other player")),
            _ => count(c.units, "other player"),
        };
        said.push_str(&format!(
            " {} lies nearer the middle than about {} % of {others} (between {} and {} %)",
            capital(&c.who),
            whole(c.percent.value),
            whole(c.percent.low),
            whole(c.percent.high)
        ));
        match c.beyond.as_deref() {
            Some("") | None => said.push('.'),
            Some(place) => said.push_str(&format!("; it leaves what is usual {place}.")),
        }
    }
    if of.placed.len() > SENTENCES {
        said.push_str(" Where each lies is in the table.");
    }
    said
}

pub(super) fn depth_method(of: &CurveCohort) -> Vec<String> {
    let mut all = vec![
        if of.unit == "swing" {
            "Every swing counts: all are of one player.".to_string()
        } else {
            "Bands: every player counts once, with the mean of the curves of his or her swings.".into()
        },
        "Bands are centiles node by node, with intervals between order statistics; they hold for a node, not for the whole curve at once."
            .into(),
    ];
    if !of.placed.is_empty() {
        all.push(
            "Depth: share of nodes at which a curve lies between two others, over all pairs (modified band depth, López-Pintado & \
             Romo 2009; by ranks, Sun, Genton & Nychka 2012), a single swing among single swings. Its player is not among the others."
                .into(),
        );
        all.push(
            "Unusual: so little deep that one as little deep would come by chance less often than alpha, held over all that was looked \
             at (Holm 1979)."
                .into(),
        );
        if of.placed.iter().any(|c| c.beyond.is_some()) {
            all.push(
                "What is usual, along the curve: the span of the deeper half of the curves, and 1.5 times its height beyond on either side \
                 (functional boxplot, Sun & Genton 2011)."
                    .into(),
            );
        }
    }
    all
}

pub(super) fn curve_caveats(of: &CurveCohort, alpha: f64) -> Vec<String> {
    let mut all = Vec::new();
    if !of.placed.is_empty() {
        all.push(
            "One account looked at; asking several accounts until one is unusual finds such by chance."
                .into(),
        );
    }
    let few = of.placed.iter().filter(|c| c.least > alpha).map(|c| c.units).max();
    if let Some(units) = few {
        let least = (1.0 / alpha - 1.0).ceil() as usize;
        all.push(format!(
            "Beside {} no curve can be called unusual by its rank: it takes {least}.",
            count(units, of.unit)
        ));
    }
    if of.placed.iter().any(|c| c.beyond.is_none()) {
        all.push(
            "Beside fewer than 20 curves there are no fences: they would call too many curves unusual."
                .into(),
        );
    }
    all
}
