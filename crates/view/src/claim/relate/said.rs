//! What is said of associations: question, verdict, method, caveats.
use super::RelateHow;
use super::numbers::{BetweenView, Found, Pair, Relate, WithinView};
use super::scatter::figure;
use crate::claim::players::listed;
use crate::claim::span::{Span, digits_of, probability};
use crate::claim::table::Table;
use crate::claim::{Counted, Setting};
use crate::quantity::{count, plain, signed};
use evidence::many::Control;

/// So many pairs have sentences of their own.
const SENTENCES: usize = 3;

pub(super) fn question(table: &Table, of: &Relate) -> String {
    let labels: Vec<String> = of.pairs.iter().map(|p| format!("\"{}\"", p.label)).collect();
    let with = match labels.len() {
        0 => "anything".to_string(),
        n if n <= 6 => listed(&labels),
        n => format!("each of {n} figures"),
    };
    format!(
        "Does \"{}\" go with {with}: from player to player, and from swing to swing of one player? ({})",
        of.label, table.named
    )
}

pub(super) fn verdict(of: &Relate, counted: &Counted) -> String {
    if of.pairs.is_empty() || of.looked_at == 0 {
        return "It cannot be told: too few swings have both figures.".into();
    }
    if of.pairs.len() <= SENTENCES {
        return of.pairs.iter().map(|p| sentence(of, p, counted)).collect::<Vec<_>>().join(" ");
    }
    let seen = |part: &dyn Fn(&Pair) -> Option<Found>| {
        let found = of.pairs.iter().filter(|p| part(p).is_some_and(|f| f != Found::NotSeen));
        found.map(|p| format!("\"{}\"", p.label)).collect::<Vec<String>>()
    };
    let (outer, inner) =
        (seen(&|p| Some(p.between.as_ref()?.found)), seen(&|p| Some(p.within.as_ref()?.found)));
    let told = |found: &[String]| if found.is_empty() { "none".to_string() } else { listed(found) };
    format!(
        "Of {} figures, \"{}\" goes with {} from player to player, and with {} from swing to swing of a player.",
        of.pairs.len(),
        of.label,
        told(&outer),
        told(&inner)
    )
}

/// Both parts of a pair, and whether they disagree.
fn sentence(of: &Relate, pair: &Pair, counted: &Counted) -> String {
    let mut said = match &pair.between {
        Some(b) => between(of, pair, b),
        None if counted.players == 1 => String::new(),
        None => format!(
            "Whether players with more \"{}\" have more \"{}\" cannot be told from {}.",
            pair.label,
            of.label,
            count(pair.points.len(), "player")
        ),
    };
    if let Some(w) = &pair.within {
        if !said.is_empty() {
            said.push(' ');
        }
        said.push_str(&within(of, pair, w, counted));
    }
    said
}

/// "+1.5 m/s for each 10 %BW (+1.0 to +2.0)".
fn slope(of: &Relate, pair: &Pair, slope: Span) -> String {
    let slope = slope.times(pair.step);
    let digits = digits_of(&slope);
    format!(
        "{} for each {} ({})",
        figure(slope.value, digits, &of.unit),
        pair.step_text(),
        slope.limits(&|v| signed(v, digits))
    )
}

fn between(of: &Relate, pair: &Pair, b: &BetweenView) -> String {
    let players = count(b.players, "player");
    match b.found {
        Found::NotSeen => format!(
            "Players with more \"{}\" are not seen to have more or less \"{}\": {}, {players}; by itself, only a \
             correlation beyond ±{} would have stood out.",
            pair.label,
            of.label,
            slope(of, pair, b.slope),
            plain(b.least_seen, 2)
        ),
        found => format!(
            "Players with more \"{}\" have {} \"{}\": {}, {players}.",
            pair.label,
            if found == Found::More { "more" } else { "less" },
            of.label,
            slope(of, pair, b.slope)
        ),
    }
}

fn within(of: &Relate, pair: &Pair, w: &WithinView, counted: &Counted) -> String {
    let whose = if counted.players == 1 { "The player's" } else { "A player's" };
    let told = slope(of, pair, w.slope);
    let outer = pair.between.as_ref().map(|b| b.found).filter(|f| *f != Found::NotSeen);
    let apart = pair.slopes_differ.is_some_and(|d| d.leaves_out_nothing());
    match (w.found, outer) {
        (Found::NotSeen, Some(_)) if apart => format!(
            "But from swing to swing of one player this is not seen: {told}, clearly another slope than between players."
        ),
        (Found::NotSeen, Some(_)) => format!(
            "From swing to swing of one player it is not seen: {told}; but these swings do not rule out the same slope either."
        ),
        (Found::NotSeen, None) => format!(
            "{whose} own swings with more \"{}\" are not seen to have more or less \"{}\": {told}.",
            pair.label, of.label
        ),
        (found, Some(outer)) if found == outer => {
            format!("So do {} own swings: {told}.", whose.to_lowercase())
        }
        (found, Some(_)) => format!(
            "But {} own swings with more of it have {}: {told}. The two go opposite ways.",
            whose.to_lowercase(),
            if found == Found::More { "more" } else { "less" }
        ),
        (found, None) => format!(
            "{whose} own swings with more \"{}\" have {} \"{}\": {told}.",
            pair.label,
            if found == Found::More { "more" } else { "less" },
            of.label
        ),
    }
}

pub(super) fn caveats(of: &Relate, counted: &Counted, how: &RelateHow) -> Vec<String> {
    let alpha = 1.0 - how.level;
    let mut all = vec![
        "Going together is not causing: something else may move both, and nothing here says what would happen if one were changed."
            .to_string(),
    ];
    if counted.players == 1 {
        all.push("This speaks of one player only, from swing to swing.".into());
    }
    for pair in &of.pairs {
        if let Some(b) = &pair.between
            && (b.p <= alpha) != (b.p_rank <= alpha)
        {
            all.push(format!(
                "\"{}\": by the order of players alone p is {}, along a line {}; one or two players may carry it, see the plot.",
                pair.label,
                probability(b.p_rank),
                probability(b.p)
            ));
        }
        if let Some(w) = &pair.within
            && w.sloped > 1
            && w.found != Found::NotSeen
        {
            let same = if w.found == Found::More { w.rising } else { w.sloped - w.rising };
            all.push(format!(
                "\"{}\": one slope is taken for all players; the own line of {same} of {} goes that way.",
                pair.label, w.sloped
            ));
        }
    }
    if how.across_days {
        all.push("A player's days are one heap: what differs from day to day is part of \"within\".".into());
    }
    all
}

pub(super) fn method(of: &Relate, how: &RelateHow) -> Vec<String> {
    let mut all = Vec::new();
    if of.pairs.iter().any(|p| p.between.is_some()) {
        all.push(
            "Between players: one mean a player; Pearson's r with Fisher's interval, Spearman's with that of Bonett & Wright 2000 \
             (p by shuffling), least-squares slope with Student's interval; drawing players again (BCa) gives another one (--json)."
                .to_string(),
        );
    }
    if of.pairs.iter().any(|p| p.within.is_some()) {
        let moved = if how.across_days { "player" } else { "session (and club)" };
        all.push(format!(
            "Within: repeated-measures correlation (Bland & Altman 1995, Bakdash & Marusich 2017), every swing about the mean of its \
             {moved}. Where there are several players, p and the interval of the slope come from leaving out one player at a time \
             (Tukey 1958): players may follow slopes of their own."
        ));
    }
    let control = match how.control {
        Control::Holm => "Holm 1979: the chance of even one false claim",
        Control::BenjaminiHochberg => "Benjamini & Hochberg 1995: the share of false claims",
    };
    if of.looked_at > 1 {
        all.push(format!("{} probabilities were looked at and are held together ({control}).", of.looked_at));
    }
    all
}

pub(super) fn settings(how: &RelateHow) -> Vec<Setting> {
    vec![
        Setting::of("level", how.level),
        Setting::of("control", if how.control == Control::Holm { "holm" } else { "bh" }),
        Setting::of("within", if how.across_days { "player" } else { "session" }),
        Setting::of("resamples", how.resamples),
        Setting::of("permutations", how.permutations),
        Setting::of("seed", how.seed),
    ]
}
