//! When things happened: events, landmarks, phases, each with where it comes from.
use crate::findings::{self, FindingView};
use crate::page::fold;
use crate::quantity::{COVERAGE, decimals, plain, signed};
use crate::table::{Align, Table};
use mechanics::{Finding, Recording};
use serde::Serialize;
use swing::Swing;
use swing::events::{Event, Events, Landmark, Name, Source, Span, Tempo, Unit};

/// Everything `underfoot events` says.
#[derive(Clone, Debug, Serialize)]
pub struct EventsView {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// The recording's file name.
    pub recording: String,
    /// Begin of the recording, s.
    pub from_s: f64,
    /// End of the recording, s.
    pub to_s: f64,
    /// The events used, in order of a swing.
    pub events: Vec<EventView>,
    /// Other candidates of the same names.
    pub others: Vec<EventView>,
    /// Names without an event, and why.
    pub absent: Vec<AbsentView>,
    /// What force alone defines.
    pub landmarks: Vec<LandmarkView>,
    /// Marks of the file that are none of the five.
    pub unnamed: Vec<UnnamedView>,
    /// Backswing, downswing, follow-through.
    pub phases: Vec<PhaseView>,
    /// Backswing over downswing.
    pub tempo: Option<TempoView>,
    /// Findings, stops first.
    pub findings: Vec<FindingView>,
}

/// One event.
#[derive(Clone, Debug, Serialize)]
pub struct EventView {
    /// "address", "takeaway", "top", "impact" or "finish".
    pub name: &'static str,
    /// Seconds of the recording.
    pub time_s: f64,
    /// Half width of its 95 % interval, s.
    pub plus_minus_s: f64,
    /// Where it comes from.
    pub source: &'static str,
    /// Method and version.
    pub method: &'static str,
    /// What was seen.
    pub seen: String,
    /// True for an estimate.
    pub estimate: bool,
}

/// One name without an event.
#[derive(Clone, Debug, Serialize)]
pub struct AbsentView {
    /// The name.
    pub name: &'static str,
    /// The reason.
    pub why: String,
}

/// One landmark.
#[derive(Clone, Debug, Serialize)]
pub struct LandmarkView {
    /// Stable name.
    pub name: &'static str,
    /// In words.
    pub label: &'static str,
    /// Seconds of the recording.
    pub time_s: f64,
    /// Half width of its 95 % interval, s.
    pub plus_minus_s: f64,
    /// Value of the account there.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Method and version.
    pub method: &'static str,
}

/// One mark of the file that is none of the five.
#[derive(Clone, Debug, Serialize)]
pub struct UnnamedView {
    /// As written.
    pub label: String,
    /// Seconds of the recording.
    pub time_s: f64,
}

/// One phase.
#[derive(Clone, Debug, Serialize)]
pub struct PhaseView {
    /// "backswing", "downswing" or "follow-through".
    pub name: &'static str,
    /// Begin, s of the recording.
    pub from_s: f64,
    /// End, s of the recording.
    pub to_s: f64,
    /// Duration, s.
    pub lasts_s: f64,
    /// Half width of its 95 % interval, s.
    pub plus_minus_s: f64,
    /// True where an end is only an estimate.
    pub estimate: bool,
}

/// Tempo.
#[derive(Clone, Debug, Serialize)]
pub struct TempoView {
    /// Backswing over downswing.
    pub ratio: f64,
    /// Half width of its 95 % interval.
    pub plus_minus: f64,
    /// True where it rests on an estimate.
    pub estimate: bool,
}

/// From the events of a swing.
pub fn view(recording: &Recording, swing: &Swing, events: &Events, findings: &[Finding]) -> EventsView {
    let start = swing.start_s;
    let phases = events.phases();
    let parts = [
        ("backswing", phases.backswing),
        ("downswing", phases.downswing),
        ("follow-through", phases.follow_through),
    ];
    EventsView {
        schema: "underfoot.events/1",
        recording: recording.name.clone(),
        from_s: start,
        to_s: start + recording.analog.duration_s(),
        events: events.chosen.iter().map(|e| event(e, start)).collect(),
        others: events.others.iter().map(|e| event(e, start)).collect(),
        absent: events
            .absent
            .iter()
            .map(|(name, why)| AbsentView { name: name.name(), why: why.clone() })
            .collect(),
        landmarks: events.landmarks.iter().map(|l| landmark(l, start)).collect(),
        unnamed: events
            .unnamed
            .iter()
            .map(|u| UnnamedView { label: u.label.clone(), time_s: u.time_s + start })
            .collect(),
        phases: parts.into_iter().filter_map(|(name, span)| Some(phase(name, &span?, start))).collect(),
        tempo: phases.tempo.map(|t: Tempo| TempoView {
            ratio: t.ratio,
            plus_minus: COVERAGE * t.u,
            estimate: t.estimated,
        }),
        findings: findings::view(findings),
    }
}

/// One event; `start`: the recording's own time of the first sample, s.
pub fn event(e: &Event, start: f64) -> EventView {
    EventView {
        name: e.name.name(),
        time_s: e.time_s + start,
        plus_minus_s: COVERAGE * e.u_s,
        source: e.source.name(),
        method: e.method,
        seen: e.seen.clone(),
        estimate: e.source == Source::Estimate,
    }
}

fn landmark(l: &Landmark, start: f64) -> LandmarkView {
    LandmarkView {
        name: l.name,
        label: words(l.name),
        time_s: l.time_s + start,
        plus_minus_s: COVERAGE * l.u_s,
        value: if l.unit == Unit::Share { 100.0 * l.value } else { l.value },
        unit: match l.unit {
            Unit::Newton => "N",
            Unit::NewtonMetre => "N·m",
            Unit::Share => "%",
        },
        method: l.method,
    }
}

fn phase(name: &'static str, span: &Span, start: f64) -> PhaseView {
    PhaseView {
        name,
        from_s: span.from_s + start,
        to_s: span.to_s + start,
        lasts_s: span.duration_s(),
        plus_minus_s: COVERAGE * span.u_s,
        estimate: span.estimated,
    }
}

/// A landmark in words.
fn words(name: &'static str) -> &'static str {
    match name {
        "net-up-most" => "up, most",
        "net-up-least" => "up, least",
        "net-target-most" => "target, most (driving)",
        "net-target-least" => "target, least (braking)",
        "net-toe-most" => "toe, most",
        "net-toe-least" => "toe, least",
        "turn-most" => "turn about the net cop, most",
        "turn-least" => "turn about the net cop, least",
        "trail-heaviest" => "trail foot heaviest",
        "lead-lightest" => "lead foot lightest, share of the weight",
        "lead-up-most" => "lead up, most",
        "lead-target-least" => "lead target, least (braking)",
        "trail-target-most" => "trail target, most (driving)",
        "lead-toe-least" => "lead toe, least",
        "trail-toe-most" => "trail toe, most",
        "lead-free-most" => "lead free moment, most",
        "trail-free-most" => "trail free moment, most",
        "weights-cross" => "the feet carry the same",
        other => other,
    }
}

const L: Align = Align::Left;
const R: Align = Align::Right;

/// For a terminal.
pub fn text(page: &EventsView) -> String {
    let mut out = format!("EVENTS OF {} ({:.3} to {:.3} s)\n", page.recording, page.from_s, page.to_s);
    if page.events.is_empty() {
        out.push_str("  none\n");
    } else {
        table(&page.events, &mut out);
    }
    if page.events.iter().any(|e| e.estimate) {
        out.push_str(&fold(
            "~ An estimate is not measured: force alone does not show top and impact. It comes from the usual order \
             of peaks, and no figure rests on it unless asked to. Place the event with --set, or record a channel or \
             marker that shows it.",
            100,
            "  ",
        ));
    }
    absent(&page.absent, &mut out);
    phases(page, &mut out);
    if !page.others.is_empty() {
        out.push_str("\nOTHER SOURCES, not used\n");
        table(&page.others, &mut out);
    }
    landmarks(page, &mut out);
    if !page.unnamed.is_empty() {
        out.push_str("\nMARKS IN THE FILE that are none of the five\n");
        let mut table = Table::new(&[R, L]);
        table.row(["s", "label"]).rule();
        for mark in &page.unnamed {
            table.row([plain(mark.time_s, 3), mark.label.clone()]);
        }
        out.push_str(&table.text());
    }
    out
}

/// Names that are missing for one reason are told together.
fn absent(absent: &[AbsentView], out: &mut String) {
    let mut told: Vec<&str> = Vec::new();
    for one in absent {
        if told.contains(&one.why.as_str()) {
            continue;
        }
        told.push(&one.why);
        let names: Vec<&str> = absent.iter().filter(|a| a.why == one.why).map(|a| a.name).collect();
        out.push_str(&fold(&format!("no {}: {}", names.join(", "), one.why), 100, "  "));
    }
}

fn table(events: &[EventView], out: &mut String) {
    let mut table = Table::new(&[L, R, R, L, L, L]);
    table.row(["", "s", "± s", "source", "method", "seen"]).rule();
    for e in events {
        let mark = if e.estimate { " ~" } else { "" };
        table.row([
            format!("{}{mark}", e.name),
            plain(e.time_s, 4),
            plus_minus(e.plus_minus_s),
            e.source.into(),
            e.method.into(),
            e.seen.clone(),
        ]);
    }
    out.push_str(&table.text());
}

/// Half a width of an interval in seconds, four decimals as the times beside it.
fn plus_minus(half_s: f64) -> String {
    plain(half_s, 4)
}

fn phases(page: &EventsView, out: &mut String) {
    if page.phases.is_empty() {
        return;
    }
    out.push_str("\nPHASES\n");
    let mut table = Table::new(&[L, R, R, R, R, L]);
    table.row(["", "from s", "to s", "lasts s", "± s", ""]).rule();
    let rests = |estimate: bool| if estimate { "~ rests on an estimate" } else { "" };
    for p in &page.phases {
        table.row([
            p.name.into(),
            plain(p.from_s, 3),
            plain(p.to_s, 3),
            plain(p.lasts_s, 3),
            plain(p.plus_minus_s, 3),
            rests(p.estimate).into(),
        ]);
    }
    out.push_str(&table.text());
    if let Some(t) = &page.tempo {
        let digits = decimals(t.plus_minus).min(2);
        out.push_str(&format!(
            "  tempo {} ± {} (backswing over downswing) {}\n",
            plain(t.ratio, digits),
            plain(t.plus_minus, digits),
            rests(t.estimate)
        ));
    }
}

fn landmarks(page: &EventsView, out: &mut String) {
    if page.landmarks.is_empty() {
        return;
    }
    let impact = page.events.iter().find(|e| e.name == Name::Impact.name() && !e.estimate);
    out.push_str("\nLANDMARKS that force alone defines, of curves smoothed to place them (the ledger has the values)\n");
    let mut table = Table::new(&[R, R, R, R, L, L]);
    let before = if impact.is_some() { "from impact s" } else { "" };
    table.row(["s", "± s", before, "value", "", ""]).rule();
    for l in &page.landmarks {
        table.row([
            plain(l.time_s, 4),
            plus_minus(l.plus_minus_s),
            impact.map_or(String::new(), |i| signed(l.time_s - i.time_s, 3)),
            signed(l.value, if l.unit == "N" { 0 } else { 1 }),
            l.unit.into(),
            l.label.into(),
        ]);
    }
    out.push_str(&table.text());
}
