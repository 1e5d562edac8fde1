//! What is said of a comparison. Every figure in a sentence is one of the row beside it.
use super::super::players::listed;
use super::super::table::Table;
use super::rows::Row;
use super::side::Sides;
use super::{Asked, ChangeNumbers};
use crate::quantity::{count, plain, signed};
use evidence::change::{Change, Design, Judged, Verdict, enough};
use evidence::many::Control;
use std::collections::{BTreeMap, BTreeSet};
use swing::metrics::Recipe;

/// What sentences need beside a row.
pub(super) struct Case<'a> {
    pub sides: &'a Sides<'a>,
    pub asked: &'a Asked,
    /// Metrics whose probabilities were adjusted together.
    pub looked_at: usize,
    /// The smallest adjusted probability that could have come out for any of them.
    pub least: f64,
    /// Players and sessions that tell how far days of a player differ.
    pub days_from: Option<(usize, usize)>,
    /// Players whose days make most of how far days differ, with in how many metrics.
    pub days_of: BTreeMap<&'a str, usize>,
}

/// The smallest adjusted probability that could have come out.
pub(super) fn least(found: &[(usize, Change)], asked: &Asked, looked_at: usize) -> f64 {
    let least = found.iter().map(|(_, c)| c.permuted.least).filter(|p| *p <= asked.alpha);
    let one = least.fold(f64::NAN, f64::min);
    // The first of Holm's steps multiplies by all; in the other list all may be as small together.
    if asked.control == Control::Holm { (one * looked_at as f64).min(1.0) } else { one }
}

impl Case<'_> {
    fn design(&self) -> Design {
        self.sides.chosen.design
    }
    /// Two sets that are not one another's before and after.
    fn apart(&self) -> bool {
        matches!(self.design(), Design::TwoGroups | Design::TwoSubjects)
    }
    /// What stays open where days are not known.
    fn days_or_change(&self) -> &'static str {
        if self.apart() {
            "whether the players differ or days differ by as much anyway cannot be told from these"
        } else {
            "whether the player changed or days differ by as much anyway cannot be told from these"
        }
    }
    fn kind(&self) -> &'static str {
        if self.apart() { "difference" } else { "change" }
    }
    /// What stands out is of a figure alone; among several it takes more, since p is adjusted.
    fn by_itself(&self) -> &'static str {
        if self.looked_at > 1 { " by itself" } else { "" }
    }
    /// No metric could have come out clear, so many are looked at.
    fn too_many(&self) -> bool {
        self.least > self.asked.alpha
    }
    fn units(&self) -> &'static str {
        match self.design() {
            Design::OneSubject | Design::TwoSubjects => "swings",
            Design::OneSubjectInOrder => "pairs of swings",
            Design::PairedSubjects | Design::TwoGroups => "players",
        }
    }
    fn unit(&self, n: usize) -> String {
        match self.design() {
            Design::OneSubject | Design::TwoSubjects => count(n, "swing"),
            Design::OneSubjectInOrder => {
                if n == 1 {
                    "1 pair of swings".into()
                } else {
                    format!("{n} pairs of swings")
                }
            }
            Design::PairedSubjects | Design::TwoGroups => count(n, "player"),
        }
    }
}

/// "lead up, most", "lead up, most and tempo", "3 metrics: lead up, most; tempo; net up, most".
pub(super) fn named_metrics(labels: &[String]) -> String {
    match labels {
        [one] => one.clone(),
        [a, b] => format!("{a} and {b}"),
        many if many.len() <= 4 => format!("{} metrics ({})", many.len(), many.join("; ")),
        [a, b, c, rest @ ..] => format!("{} metrics ({a}; {b}; {c} …)", rest.len() + 3),
        [] => String::new(),
    }
}

/// A choice without the player whom the question names anyway.
fn without(player: &str, named: &str) -> String {
    // Letters in lower case may be longer or shorter than they were: the place is found in the choice as it is written.
    let rest = named.char_indices().map(|(k, _)| named.split_at(k)).find_map(|(start, rest)| {
        let rest = [" in ", ", "].iter().find_map(|join| rest.strip_prefix(join))?;
        (start.to_lowercase() == player.to_lowercase()).then_some(rest)
    });
    rest.unwrap_or(named).to_string()
}

/// What was asked.
pub(super) fn question(of: &ChangeNumbers, sides: &Sides<'_>) -> String {
    let names = [sides.names(0), sides.names(1)];
    let name = |side: usize| names.get(side).and_then(|n| n.first()).map_or("nobody", String::as_str);
    let a = |player: &str| without(player, &of.a.named);
    let b = |player: &str| without(player, &of.b.named);
    match sides.chosen.design {
        Design::OneSubject | Design::OneSubjectInOrder => {
            let player = name(0);
            format!("Did {player}'s swings change from A ({}) to B ({})?", a(player), b(player))
        }
        Design::TwoSubjects => {
            format!(
                "Do {}'s swings (B: {}) differ from {}'s (A: {})?",
                name(1),
                b(name(1)),
                name(0),
                a(name(0))
            )
        }
        Design::PairedSubjects => format!(
            "Did {} change from A ({}) to B ({})?",
            count(of.a.players, "player"),
            of.a.named,
            of.b.named
        ),
        Design::TwoGroups => format!(
            "Do the {} of B ({}) differ from the {} of A ({})?",
            count(of.b.players, "player"),
            of.b.named,
            count(of.a.players, "player"),
            of.a.named
        ),
    }
}

fn with_unit(figure: String, unit: &str) -> String {
    if unit.is_empty() { figure } else { format!("{figure} {unit}") }
}

impl Row {
    fn level(&self, value: f64) -> String {
        if self.signed { signed(value, self.decimals) } else { plain(value, self.decimals) }
    }
    fn size(&self, value: f64) -> String {
        with_unit(plain(value.abs(), self.decimals), &self.unit)
    }
    /// "between +12.1 and +18.4".
    fn between(&self) -> String {
        let limit = |v: f64| signed(v, self.decimals);
        format!("between {} and {}", limit(self.difference.low), limit(self.difference.high))
    }
    /// "+15.2 %BW (between +12.1 and +18.4)".
    fn shortly(&self) -> String {
        let by = with_unit(signed(self.difference.value, self.decimals), &self.unit);
        format!("{by} ({})", self.between())
    }
}

/// What happened, without judging it: "rose by 15.2 %BW (between +12.1 and +18.4), from +160.2 to +175.4".
fn happened(row: &Row, case: &Case<'_>) -> String {
    let (d, a, b) = (row.difference.value, row.mean_a, row.mean_b);
    let size = row.size(d);
    let up = d > 0.0;
    let nearer = b.abs() < a.abs();
    let way = match (a < 0.0 && b < 0.0, a < 0.0 || b < 0.0) {
        (true, _) => {
            let word = if nearer { "nearer to zero" } else { "farther from zero" };
            if case.apart() { format!("is {word} in B by {size}") } else { format!("moved {word} by {size}") }
        }
        (false, true) => with_unit(format!("went by {}", signed(d, row.decimals)), &row.unit),
        (false, false) if case.apart() => {
            format!("is {} in B by {size}", if up { "higher" } else { "lower" })
        }
        (false, false) => format!("{} by {size}", if up { "rose" } else { "fell" }),
    };
    let levels = if case.apart() {
        format!("A {}, B {}", row.level(a), row.level(b))
    } else {
        format!("from {} to {}", row.level(a), row.level(b))
    };
    format!("{way}, {levels} ({})", row.between())
}

fn of_players(row: &Row) -> String {
    match row.rose {
        Some([up, down]) if !row.players.is_empty() => {
            let n = row.players.len();
            if up >= down {
                format!("; it rose in {up} of {n} players")
            } else {
                format!("; it fell in {down} of {n} players")
            }
        }
        _ => String::new(),
    }
}

/// "8 in 100", "3 in 1000", "fewer than 1 in 1000".
fn in_words(p: f64) -> String {
    match p {
        p if p < 0.001 => "fewer than 1 in 1000".into(),
        p if p < 0.01 => format!("{:.0} in 1000", 1000.0 * p),
        p => format!("{:.0} in 100", 100.0 * p),
    }
}

/// The verdict on a metric, in a sentence or two.
pub(super) fn said(row: &Row, found: &Change, judged: &Judged, case: &Case<'_>) -> String {
    if judged.verdict == Verdict::CannotBeTold {
        return format!("cannot be told. {}.", too_few(found, case));
    }
    let (enough, kind) = (row.size(row.detectable.size), case.kind());
    let by_itself = case.by_itself();
    let seen = format!("a {kind} of {enough} or more would have stood out{by_itself}");
    let what = happened(row, case);
    match judged.verdict {
        Verdict::BetweenDays => {
            let two = if found.first.occasions == 1 && found.second.occasions == 1 { "two " } else { "" };
            format!(
                "between days. It differs between these {two}days by {}; {}.",
                row.shortly(),
                case.days_or_change()
            )
        }
        Verdict::Clear => format!("clear. It {what}{}; {seen}.", of_players(row)),
        Verdict::WithinNoise => {
            format!(
                "within noise. A {kind} of {enough} or more would have stood out{by_itself}; it was {}.",
                row.shortly()
            )
        }
        _ => {
            let mut against = Vec::new();
            if !judged.interval_leaves_out_zero {
                against.push("no change at all lies in that interval too".to_string());
            }
            if !judged.improbable {
                let least_there_is = if row.p <= row.p_least * (1.0 + 1e-9) {
                    "; p before that is the least that so few can show"
                } else {
                    ""
                };
                against.push(if row.p <= case.asked.alpha {
                    format!(
                        "of {} looked at, one as large may come by chance ({} after {})",
                        count(case.looked_at, "metric"),
                        p_text(row.p_adjusted),
                        super::control_word(case.asked.control)
                    ) + least_there_is
                } else {
                    format!("chance alone gives as much in {}", in_words(row.p))
                });
            }
            if !judged.stands_out {
                let d = &row.detectable;
                let why = if d.of_days > d.of_units {
                    ", since days of a player differ"
                } else if d.of_rigs > d.of_units {
                    ", since the sides were measured by different rigs"
                } else {
                    ""
                };
                against.push(format!("it is less than the {enough} that would have stood out{why}"));
            }
            let seen = if judged.stands_out { format!("; {seen}") } else { String::new() };
            format!("unclear. It {what}{}, but {}{seen}.", of_players(row), against.join(", and "))
        }
    }
}

/// Why nothing could have come out.
fn too_few(found: &Change, case: &Case<'_>) -> String {
    let (a, b) = match case.design() {
        Design::PairedSubjects => (found.changes.len(), found.changes.len()),
        Design::TwoGroups => (found.first.subjects, found.second.subjects),
        _ => (found.first.values, found.second.values),
    };
    let there = if case.design().paired() {
        format!("There {} {}", if a == 1 { "is" } else { "are" }, case.unit(a))
    } else {
        format!("A has {}, B {}", case.unit(a), case.unit(b))
    };
    let takes = enough(case.design(), case.asked.alpha).map_or(String::new(), |n| {
        let a_side = if case.design().paired() { "" } else { " a side" };
        format!("; it takes at least {}{a_side}", case.unit(n))
    });
    if found.permuted.least.is_finite() && found.permuted.least > case.asked.alpha {
        format!(
            "{there}, and among so few the greatest difference comes by chance in {}{takes}",
            in_words(found.permuted.least)
        )
    } else {
        format!("{there}, too few to show how far they scatter{takes}")
    }
}

/// A share in percent, with as many digits as it has: "95", "99.9".
pub(super) fn percent(share: f64) -> String {
    format!("{}", (1e9 * 100.0 * share).round() / 1e9)
}

/// "0.034", "<0.001".
pub(super) fn p_text(p: f64) -> String {
    if p < 0.0005 { "<0.001".into() } else { plain(p, 3) }
}

/// The line a hurried reader takes away.
pub(super) fn verdict(of: &ChangeNumbers, case: &Case<'_>) -> String {
    let n = of.metrics.len();
    if n == 0 {
        return "Nothing can be compared: no metric that was asked for is on both sides.".into();
    }
    let told = &of.verdicts;
    let with = |word: &str| of.metrics.iter().filter(|m| m.verdict == word).collect::<Vec<&Row>>();
    if told.cannot_be_told == n {
        let said = of.metrics.first().map_or("", |m| m.said.as_str());
        return format!("It {said}");
    }
    let (did, differ) = (if case.apart() { "differ" } else { "changed" }, case.kind());
    let clear = with("clear");
    let mut rest = Vec::new();
    if told.between_days > 0 {
        let k = told.between_days;
        let differs = if k == 1 { "differs" } else { "differ" };
        rest.push(if k == n {
            "all differ between these days".into()
        } else {
            format!("{k} {differs} between these days")
        });
    }
    for (k, word) in [
        (told.within_noise, "within noise"),
        (told.unclear, "unclear"),
        (told.cannot_be_told, "cannot be told"),
    ] {
        if k > 0 {
            let verb = if word == "cannot be told" {
                ""
            } else if k == 1 {
                "is "
            } else {
                "are "
            };
            rest.push(if k == n { format!("all are {word}") } else { format!("{k} {verb}{word}") });
        }
    }
    let rest = rest.join(", ");
    if !clear.is_empty() {
        let some: Vec<String> =
            clear.iter().take(3).map(|m| format!("{} {}", m.label, m.shortly())).collect();
        let more = match clear.len() {
            k if k > 3 => format!("; and {} more", k - 3),
            _ => String::new(),
        };
        let others = match n - clear.len() {
            0 => String::new(),
            1 => format!(" The other {}.", rest.trim_start_matches("1 ")),
            _ => format!(" Of the others, {rest}."),
        };
        let head = if n == 1 {
            if case.apart() { "The sides differ clearly".into() } else { "It changed clearly".to_string() }
        } else {
            format!("{} of {n} metrics {did} clearly", clear.len())
        };
        return format!("{head}: {}{more}.{others}", some.join("; "));
    }
    let between = with("between-days");
    let days = if between.is_empty() {
        String::new()
    } else {
        let some: Vec<String> =
            between.iter().take(3).map(|m| format!("{} by {}", m.label, m.shortly())).collect();
        let more = if between.len() > 3 { " …" } else { "" };
        let open = case.days_or_change();
        format!(
            " Between these days {} differ{}{more}; {open}.",
            some.join("; "),
            if between.len() == 1 { "s" } else { "" }
        )
    };
    let head = if n == 1 && !between.is_empty() {
        format!("No clear {differ} can be told.")
    } else if n == 1 {
        let word = of.metrics.first().map_or("", |m| m.verdict);
        format!("No clear {differ} of {}: it is {word}.", of.metrics.first().map_or("", |m| m.label.as_str()))
    } else {
        format!("No clear {differ} in any of {n} metrics: {rest}.")
    };
    let unclear = with("unclear");
    let doubtful = if n > 1 && !unclear.is_empty() {
        let some: Vec<String> =
            unclear.iter().take(3).map(|m| format!("{} {}", m.label, m.shortly())).collect();
        let more = if unclear.len() > 3 { " …" } else { "" };
        format!(" Unclear: {}{more}.", some.join("; "))
    } else {
        String::new()
    };
    let seen = of.metrics.iter().find(|m| m.detectable.size.is_finite()).map_or(String::new(), |m| {
        format!(
            " In {}, a {differ} of {} would have stood out{}.",
            m.label,
            m.size(m.detectable.size),
            case.by_itself()
        )
    });
    let many = if case.too_many() {
        format!(
            "With {} looked at, so few {} cannot show any of them clearly (no adjusted p is under {}); ask about fewer \
             (--metric). ",
            count(case.looked_at, "figure"),
            case.units(),
            p_text(case.least)
        )
    } else {
        String::new()
    };
    format!("{many}{head}{days}{doubtful}{seen}")
}

/// How it was done.
pub(super) fn method(of: &ChangeNumbers, found: &[&Change], case: &Case<'_>) -> Vec<String> {
    let asked = case.asked;
    let percent = percent(asked.level);
    let player = case.sides.names(0).first().cloned().unwrap_or_default();
    let (units, drawn, rearranged, scatter) = match case.design() {
        Design::OneSubject => (
            format!("Swings are the units; the answer speaks of {player} only."),
            "swings of each side",
            "which swings are A's and which are B's",
            "the scatter of swings",
        ),
        Design::OneSubjectInOrder => (
            format!("The first swing of A is paired with the first of B, and so on; the answer speaks of {player} only."),
            "pairs",
            "which swing of each pair is A's",
            "the scatter of the pairs' changes",
        ),
        Design::TwoSubjects => (
            "Swings are the units; the answer speaks of these two players only.".to_string(),
            "swings of each side",
            "which swings are A's and which are B's",
            "the scatter of swings",
        ),
        Design::PairedSubjects => (
            "Players are the units: the swings of each are averaged on each side, and every player is compared with himself or herself."
                .to_string(),
            "players",
            "which side of each player is A",
            "how differently players change",
        ),
        Design::TwoGroups => (
            "Players are the units: the swings of each are averaged, and every player counts once.".to_string(),
            "players of each side",
            "which players are A's and which are B's",
            "how much players differ",
        ),
    };
    let known = found.iter().any(|c| c.detectable.of_occasions > 0.0);
    let days = match case.days_from.filter(|_| known) {
        Some((players, sessions)) => format!(
            ", and how far days of one player differ by themselves (from {} of {})",
            count(sessions, "day"),
            count(players, "player")
        ),
        None => String::new(),
    };
    let rigs = if found.iter().any(|c| c.detectable.of_instruments > 0.0) {
        ", and what the rigs may be off by"
    } else {
        ""
    };
    let promise = match asked.control {
        Control::Holm => "Holm 1979: the chance of even one false claim",
        Control::BenjaminiHochberg => "Benjamini & Hochberg 1995: the share of false ones among the claims",
    };
    let mut lines = vec![
        units,
        format!(
            "Intervals are {percent} %, bias-corrected and accelerated bootstrap (Efron 1987), {} resamples of {drawn}.",
            asked.resamples
        ),
        format!(
            "p is the share of rearrangements ({rearranged}) with a difference as large, to either side (Fisher 1935): all of \
             them up to {}, beyond that so many drawn (Phipson & Smyth 2010).",
            asked.permutations
        ),
        format!("{} looked at together, p adjusted after {promise}.", count(of.looked_at, "metric")),
        format!(
            "What would have stood out is t·√(variance of the difference), at {percent} %, from {scatter}{days}{rigs}."
        ),
        format!(
            "Clear: the interval leaves out 0, the adjusted p is at most {}, and the difference is greater than what would have \
             stood out. Within noise: the interval holds 0 and the difference is less. Rule: docs/evidence/change.md.",
            asked.alpha
        ),
    ];
    if !case.design().of_subjects() {
        let days = if known {
            "how far days differ is not in it, only in what would have stood out"
        } else if found.iter().any(|c| c.detectable.of_occasions.is_nan()) {
            "how far days differ is not known, and neither in it nor in what would have stood out"
        } else {
            "other days are not in it"
        };
        lines.insert(2, format!("The interval speaks of these swings only: {days}."));
    }
    if of.metrics.iter().any(|m| m.model.is_some()) {
        lines.push(
            "--json has beside it a mixed model of single swings with a level of each player's own (restricted likelihood, \
             Satterthwaite 1946)."
                .into(),
        );
    }
    lines
}

/// What a reader must mind.
pub(super) fn caveats(
    of: &ChangeNumbers,
    found: &[&Change],
    case: &Case<'_>,
    a: &Table,
    b: &Table,
) -> Vec<String> {
    let mut out = Vec::new();
    let design = case.design();
    if design.of_subjects() {
        let swings = of.a.swings + of.b.swings;
        let players = case.sides.counted().players;
        if swings > players && players > 0 {
            out.push(format!(
                "{} are of {}: swings of one player are not players, so each player counts once.",
                count(swings, "swing"),
                count(players, "player")
            ));
        }
    }
    if found.iter().any(|c| c.detectable.of_occasions.is_nan()) {
        out.push(match design {
            Design::TwoSubjects => {
                "The two were recorded on days of their own, and how far days of one player differ by themselves is not known here: \
                 what differs may be days. More days would tell."
                    .into()
            }
            _ => "A and B are of different days, and how far days of one player differ by themselves is not known here: what differs \
                  may be days and no change. More days would tell."
                .to_string(),
        });
    }
    for (alias, k) in &case.days_of {
        out.push(format!(
            "How far days differ rests on few: {alias}'s days make most of it in {k} of {}. A true change of {alias} raises what \
             would have stood out.",
            count(found.len(), "metric")
        ));
    }
    let clubs = [0, 1].map(|side| case.sides.clubs(side));
    let mixed: Vec<String> = clubs
        .iter()
        .filter(|c| c.len() > 1)
        .flatten()
        .cloned()
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    if !mixed.is_empty() {
        let named: Vec<String> =
            mixed.into_iter().map(|c| if c.is_empty() { "not stated".into() } else { c }).collect();
        out.push(format!(
            "Clubs are together in a side ({}): what differs between clubs is in it; --club keeps to one.",
            listed(&named)
        ));
    }
    for column in
        a.columns.iter().filter(|c| c.measure.metric.is_some_and(|m| matches!(m.recipe, Recipe::Time(_))))
    {
        out.push(format!(
            "{} is a time of the recording, whose beginning the recorder chose and not the player; the same before impact \
             (.before-impact) compares.",
            column.measure.label
        ));
    }
    if design == Design::TwoSubjects {
        out.push("Two players are no groups: nothing here speaks of others like them.".into());
    }
    if of.a.rigs != of.b.rigs {
        let named =
            |rigs: &[String]| if rigs.is_empty() { "none stated".to_string() } else { rigs.join(", ") };
        let unknown = found.iter().any(|c| c.detectable.of_instruments.is_nan());
        out.push(format!(
            "The sides were measured by different rigs (A: {}; B: {}): {}.",
            named(&of.a.rigs),
            named(&of.b.rigs),
            if unknown {
                "their errors do not cancel, and for some metrics are not known"
            } else {
                "their errors do not cancel, and are part of what would have stood out"
            }
        ));
    }
    let one_plate = |on_one: usize, swings: usize| match on_one {
        0 => "a plate for each foot",
        n if n == swings => "one plate for both feet",
        _ => "both kinds",
    };
    let (kind_a, kind_b) =
        (one_plate(of.a.on_one_plate, of.a.swings), one_plate(of.b.on_one_plate, of.b.swings));
    if !a.collapse && (kind_a != kind_b || kind_a == "both kinds") {
        out.push(format!(
            "Plates: A, {kind_a}; B, {kind_b}. Only net accounts compare, and those better with --collapse, which makes one plate \
             of the others."
        ));
    }
    let few =
        found.iter().map(|c| if design.paired() { c.changes.len() } else { least_units(c, design) }).min();
    if let Some(n) = few.filter(|n| (2..10).contains(n)) {
        out.push(format!(
            "{}: a bootstrap of so few tends to be too narrow; the verdict does not rest on it alone.",
            if design.paired() { case.unit(n) } else { format!("{} on a side", case.unit(n)) }
        ));
    }
    let values: usize = of.metrics.iter().map(|m| m.values_a + m.values_b).sum();
    // A side knows how many of its values these are, not which: where players are left out, theirs may be among them.
    let at_most = if case.sides.leaves_out() { "At most " } else { "" };
    let some = |k: usize, of: &str| format!("{at_most}{} of {} {of}", k.min(values), count(values, "value"));
    let sum = |of_row: fn(&Row) -> usize| of.metrics.iter().map(of_row).sum::<usize>();
    let (doubted, estimated) = (sum(|m| m.doubted), sum(|m| m.estimated));
    if doubted > 0 {
        out.push(format!(
            "{}; `underfoot show SWING` says by which.",
            some(doubted, "are put in doubt by a finding")
        ));
    }
    if estimated > 0 {
        out.push(format!("{}.", some(estimated, "rest on an estimated event")));
    }
    let stale = a.stale + b.stale;
    if stale > 0 {
        out.push(format!(
            "{} out of date: `underfoot study rebuild` measures anew.",
            if stale == 1 { "1 swing is".to_string() } else { format!("{stale} swings are") }
        ));
    }
    out
}

fn least_units(found: &Change, design: Design) -> usize {
    if design.of_subjects() {
        found.first.subjects.min(found.second.subjects)
    } else {
        found.first.values.min(found.second.values)
    }
}
