//! What is said of agreement: question, verdict, method, caveats.
use super::numbers::{Agree, MeasureAgree, Size};
use super::{AgreeHow, Pairing};
use crate::claim::players::listed;
use crate::claim::repeat::capital;
use crate::claim::span::{probability, with_unit};
use crate::claim::table::Table;
use crate::claim::{Counted, Setting};
use crate::quantity::{count, plain, signed};

/// So many measures have a sentence each.
const SENTENCES: usize = 4;

pub(super) fn question(first: &Table, of: &Agree, how: &AgreeHow) -> String {
    match how.pairing {
        Pairing::SameRecording => format!(
            "Do swings on two plates measure the same when the plates are put together as one? ({})",
            first.named
        ),
        Pairing::SameSwing => {
            format!("Do {} and {} measure the same of the same swings?", of.first, of.second)
        }
    }
}

pub(super) fn verdict(of: &Agree, counted: &Counted) -> String {
    if of.measures.is_empty() {
        return format!("It cannot be told: {} is too few.", count(counted.swings, "pair"));
    }
    let same: Vec<String> =
        of.measures.iter().filter(|m| m.size == Size::Same).map(|m| m.label.clone()).collect();
    let mut said = Vec::new();
    match same.as_slice() {
        [] => {}
        [one] => said.push(format!("{} comes out the same, to rounding.", capital(one))),
        several => said.push(format!(
            "{} of {} come out the same, to rounding.",
            several.len(),
            count(of.measures.len(), "figure")
        )),
    }
    let others: Vec<&MeasureAgree> = of.measures.iter().filter(|m| m.size != Size::Same).collect();
    if others.len() <= SENTENCES {
        said.extend(others.iter().map(|m| sentence(of, m)));
        return said.join(" ");
    }
    let group = |size: Size| -> Vec<String> {
        of.measures.iter().filter(|m| m.size == size).map(|m| format!("\"{}\"", m.label)).collect()
    };
    for (size, words) in
        [(Size::Small, "small beside"), (Size::OfTheSize, "of the size of"), (Size::Larger, "larger than")]
    {
        let labels = group(size);
        if !labels.is_empty() {
            said.push(format!(
                "The largest plausible disagreement is {words} what one swing scatters by in {} of {}: {}.",
                labels.len(),
                count(of.measures.len(), "figure"),
                listed(&labels)
            ));
        }
    }
    said.join(" ")
}

fn sentence(of: &Agree, m: &MeasureAgree) -> String {
    let figure = |v: f64| with_unit(&signed(v, m.digits), &m.unit);
    let bias = if m.bias.leaves_out_nothing() {
        let more = if m.bias.value > 0.0 { "more" } else { "less" };
        format!(
            "{} reads {} {more} than {} on average ({} to {})",
            of.first,
            with_unit(&plain(m.bias.value.abs(), m.digits), &m.unit),
            of.second,
            signed(m.bias.low, m.digits),
            signed(m.bias.high, m.digits)
        )
    } else {
        format!(
            "on average there is no difference to be seen ({} to {})",
            signed(m.bias.low, m.digits),
            figure(m.bias.high)
        )
    };
    let apart =
        format!("single swings differ by {} to {}", signed(m.lower.value, m.digits), figure(m.upper.value));
    let largest = with_unit(&plain(m.largest, m.digits), &m.unit);
    let one = with_unit(&plain(m.one_swing, m.digits), &m.unit);
    let beside = match m.size {
        Size::Small => format!("is small beside what one swing scatters by (±{one})"),
        Size::OfTheSize => format!("is of the size of what one swing scatters by (±{one})"),
        Size::Larger => format!("is larger than what one swing scatters by (±{one})"),
        Size::Same => "is rounding".into(),
        Size::NotKnown => "has nothing to be held against: no session has two swings".into(),
    };
    format!(
        "{}: {bias}; {apart}; the largest plausible disagreement, {largest}, {beside}.",
        capital(&m.label)
    )
}

pub(super) fn caveats(of: &Agree, counted: &Counted, how: &AgreeHow) -> Vec<String> {
    let alpha = 1.0 - how.level;
    let mut all = Vec::new();
    if counted.players < 3 {
        all.push(format!(
            "The pairs are of {}: they stand as if free of one another, and the answer speaks of {} only.",
            count(counted.players, "player"),
            if counted.players == 1 { "this player" } else { "these players" }
        ));
    }
    for m in of.measures.iter().filter(|m| m.size != Size::Same) {
        if m.bias_trend.p <= alpha {
            all.push(format!(
                "{}: the difference follows the size ({} for each 1 of it, p {}): from {} at {} to {} at {}.",
                m.label,
                signed(m.bias_trend.slope.value, 3),
                probability(m.bias_trend.p),
                signed(middle(m.at_least.lower, m.at_least.upper), m.digits),
                plain(m.at_least.size, m.decimals),
                signed(middle(m.at_most.lower, m.at_most.upper), m.digits),
                with_unit(&plain(m.at_most.size, m.decimals), &m.unit)
            ));
        }
        if m.scatter_trend.p <= alpha {
            all.push(format!(
                "{}: differences scatter unlike over the size (p {}), so that one pair of limits fits no size well: {} to {} at {}, \
                 {} to {} at {}.",
                m.label,
                probability(m.scatter_trend.p),
                signed(m.at_least.lower, m.digits),
                signed(m.at_least.upper, m.digits),
                plain(m.at_least.size, m.decimals),
                signed(m.at_most.lower, m.digits),
                signed(m.at_most.upper, m.digits),
                with_unit(&plain(m.at_most.size, m.decimals), &m.unit)
            ));
        }
    }
    if how.pairing == Pairing::SameRecording {
        all.push(
            "The same recordings are looked at twice: noise of the plates is in both and cancels.".into(),
        );
    }
    all
}

fn middle(low: f64, high: f64) -> f64 {
    0.5 * (low + high)
}

pub(super) fn method(of: &Agree, counted: &Counted) -> Vec<String> {
    let mut all = vec![if counted.players < 3 {
        "Limits of agreement: mean difference ± 1.96 standard deviations of single pairs (Bland & Altman 1986), with their intervals."
            .to_string()
    } else {
        "Limits of agreement with several pairs a player: scatter between players and within them together (Bland & Altman 2007), \
         intervals by the recovery of variances (Zou 2013); every player counts alike."
            .to_string()
    }];
    if of.measures.iter().any(|m| !matches!(m.size, Size::NotKnown | Size::Same)) {
        all.push(
            "Held against 1.96·SEM, the scatter of single swings about the mean of their session: up to a third of it is small, up to \
             all of it of its size, beyond it larger (ours)."
                .into(),
        );
    }
    all.push("Whether bias and scatter follow the size: lines of differences, and of their distances from it, over the mean of both \
         (Bland & Altman 1999)."
        .into());
    all
}

pub(super) fn settings(how: &AgreeHow) -> Vec<Setting> {
    let pairs = match how.pairing {
        Pairing::SameSwing => "player, day and number",
        Pairing::SameRecording => "recording",
    };
    vec![Setting::of("level", how.level), Setting::of("pairs by", pairs)]
}
