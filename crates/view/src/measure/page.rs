//! The page that a coach can read.
use super::MeasureView;
use crate::facts;
use crate::quantity::{COVERAGE, decimals, plain, signed, with_plus_minus};
use crate::table::{Align, Table};
use crate::units::{self, Shown as Unit};
use crate::words::{self, Component};
use std::collections::BTreeMap;
use swing::Measurement;
use swing::events::Name;
use swing::metrics::{Absent, Figure, Measured, Need};

/// The page: what a coach reads, from top to bottom.
pub fn text(page: &MeasureView, measured: &Measurement) -> String {
    let figures = Figures(measured);
    let mut out = facts::head("MEASURED", &page.facts);
    events(page, &figures, &mut out);
    in_words(&figures, &mut out);
    forces(&figures, &mut out);
    turn(&figures, &mut out);
    weight(&figures, &mut out);
    if !page.events.is_empty() {
        order(&figures, &mut out);
    }
    body(&figures, &mut out);
    absent(measured, &mut out);
    leading(measured, &mut out);
    out.push_str("  Underfoot measures; it does not diagnose. Full-effort swings: warm up, look to surface and surroundings, stop on pain.\n");
    out
}

const R: Align = Align::Right;
const L: Align = Align::Left;

/// Figures by id.
struct Figures<'a>(&'a Measurement);

impl Figures<'_> {
    fn get(&self, id: &str) -> Option<(&Measured, &Figure)> {
        self.0.metric(id).and_then(|m| m.figure.as_ref().ok().map(|f| (m, f)))
    }
    /// Value and ± in the unit that people use, marked where a finding or an estimate touches it.
    fn pair(&self, id: &str) -> [String; 2] {
        let Some((m, f)) = self.get(id) else { return ["—".into(), String::new()] };
        let Unit { value, plus_minus, decimals, .. } = units::shown(m.metric.unit, f);
        let (value, plus_minus) = with_plus_minus(value, plus_minus, decimals);
        [format!("{value}{}", mark(f)), plus_minus]
    }
    /// The same with at most one decimal, and that one wherever a figure of the table has it, so that points line up.
    fn lined_up(&self, id: &str, table: &[String]) -> [String; 2] {
        let digits =
            |id: &str| self.get(id).map_or(0, |(m, f)| decimals(units::shown(m.metric.unit, f).plus_minus));
        let Some((m, f)) = self.get(id) else { return ["—".into(), String::new()] };
        let digits = table.iter().map(|id| digits(id)).max().unwrap_or(1).min(1);
        let Unit { value, plus_minus, .. } = units::shown(m.metric.unit, f);
        [format!("{}{}", signed(value, digits), mark(f)), plain(plus_minus, digits)]
    }
    fn unit(&self, id: &str) -> &'static str {
        self.get(id).map_or("", |(m, f)| units::shown(m.metric.unit, f).unit)
    }
    /// Time of an instant: from impact (negative before it) where impact is known, else in the recording's time.
    fn when(&self, id: &str) -> String {
        match (self.get(&format!("{id}.before-impact")), self.get(&format!("{id}.time"))) {
            (Some((_, f)), _) => format!("{}{}", signed(-f.value, 3), if f.estimated { "~" } else { "" }),
            (None, Some((_, f))) => plain(f.value, 3),
            _ => "—".into(),
        }
    }
    fn knows_impact(&self) -> bool {
        self.get("up.net.most.before-impact").is_some()
    }
    fn two_feet(&self) -> bool {
        self.get("up.lead.most").is_some()
    }
}

/// What stands beside a figure: "~" where it rests on an estimate, "▲" where a finding puts it in doubt.
fn mark(figure: &Figure) -> &'static str {
    match (figure.estimated, figure.touched_by.is_empty()) {
        (true, _) => "~",
        (false, false) => "▲",
        (false, true) => "",
    }
}

fn events(page: &MeasureView, figures: &Figures, out: &mut String) {
    if page.events.is_empty() {
        out.push_str("EVENTS  none was found; figures are taken over the whole recording\n\n");
        return;
    }
    out.push_str("EVENTS\n");
    let mut table = Table::new(&[L, R, R, L]);
    table.row(["", "s", "± s", "from"]).rule();
    for e in &page.events {
        let digits = decimals(e.plus_minus_s).clamp(3, 4);
        let from = if e.estimate {
            format!("estimate: not measured ({})", e.method)
        } else {
            format!("{} ({})", e.source, e.method)
        };
        table.row([e.name.into(), plain(e.time_s, digits), format!("{:.digits$}", e.plus_minus_s), from]);
    }
    out.push_str(&table.text());
    let phase = |id: &str, name: &str| {
        figures.get(id).map(|(_, f)| {
            let (value, plus_minus) = with_plus_minus(f.value, COVERAGE * f.u, 3);
            let unit = if id == "tempo" { "" } else { " s" };
            let mark = mark(f);
            format!("{name} {}{mark} ± {plus_minus}{unit}", value.trim_start_matches('+'))
        })
    };
    let phases: Vec<String> = [
        ("lasts.backswing", "backswing"),
        ("lasts.downswing", "downswing"),
        ("lasts.follow-through", "follow-through"),
        ("tempo", "tempo"),
    ]
    .into_iter()
    .filter_map(|(id, name)| phase(id, name))
    .collect();
    if !phases.is_empty() {
        out.push_str(&format!("  {}\n", phases.join(" · ")));
    }
    out.push('\n');
}

/// The net's peaks as sentences, each with the figures it is made from.
fn in_words(figures: &Figures, out: &mut String) {
    let swing = &figures.0.swing;
    let (unit_n, unit) = swing.body_weight_n.map_or((1.0, "N"), |w| (w.newton / 100.0, "%BW"));
    // The sample of the peak's value, so that the sentence says what the table says.
    let sample = |id: &str| figures.get(id)?.1.sample;
    let when = |id: &str| match figures.get(&format!("{id}.before-impact")) {
        Some((_, f)) => {
            let way = if f.value >= 0.0 { "before" } else { "after" };
            let impact = if f.estimated { "the estimated impact" } else { "impact" };
            format!("{} s {way} {impact}", plain(f.value.abs(), 3))
        }
        None => format!("At {} s", figures.when(id)),
    };
    let mut told: Vec<(usize, String)> = Vec::new();
    for (id, component) in [
        ("target.net.most", Component::Target),
        ("up.net.most", Component::Up),
        ("toe.net.least", Component::Toe),
    ] {
        let Some(k) = sample(id) else { continue };
        if let Some(sentence) = words::push(&swing.ledger, component, k, unit_n, unit) {
            told.push((k, format!("{}: {}", when(id), lower(&sentence))));
        }
    }
    if let Some(k) = sample("turn.net-cop.most")
        && let Some((_, f)) = figures.get("turn.net-cop.most")
    {
        let feet = |foot: &str| figures.get(&format!("at.turn.net-cop.most.turn-of-{foot}.net-cop"));
        let parts = match (feet("lead"), feet("trail")) {
            (Some((_, lead)), Some((_, trail))) => format!(
                "lead {}, trail {}, together {}",
                signed(lead.value, 1),
                signed(trail.value, 1),
                signed(f.value, 1)
            ),
            _ => signed(f.value, 1),
        };
        let way = if f.value >= 0.0 { "toward" } else { "away from" };
        told.push((
            k,
            format!(
                "{}: the ground turns the player {way} the target about the net cop: {parts} N·m.",
                when("turn.net-cop.most")
            ),
        ));
    }
    told.sort_by_key(|(k, _)| *k);
    if told.is_empty() {
        return;
    }
    out.push_str("IN WORDS, at the peaks of the net\n");
    for (_, sentence) in told {
        out.push_str(&format!("  {sentence}\n"));
    }
    out.push('\n');
}

fn lower(sentence: &str) -> String {
    sentence.strip_prefix("The ").map_or_else(|| sentence.to_string(), |rest| format!("the {rest}"))
}

fn forces(figures: &Figures, out: &mut String) {
    let accounts = [
        ("up", "most", "up, most"),
        ("target", "most", "target, most (driving)"),
        ("target", "least", "target, least (braking)"),
        ("toe", "most", "toe, most"),
        ("toe", "least", "toe, least"),
    ];
    let unit = figures.unit("up.net.most");
    let when = if figures.knows_impact() { "s from impact" } else { "at s" };
    let whose = if figures.two_feet() { "at each foot's own peaks" } else { "at the peaks of the net" };
    out.push_str(&format!("FORCES {whose}, ± half of a 95 % interval\n"));
    let sides: &[&str] = if figures.two_feet() { &["lead", "trail", "net"] } else { &["net"] };
    let mut columns = vec![L];
    let mut head = vec![String::new()];
    let mut units = vec![String::new()];
    for side in sides {
        columns.extend([R, R, R]);
        head.extend([(*side).to_string(), "±".into(), String::new()]);
        units.extend([unit.to_string(), String::new(), when.to_string()]);
    }
    let mut table = Table::new(&columns);
    table.row(head).row(units).rule();
    let ids: Vec<String> = accounts
        .iter()
        .flat_map(|(account, extreme, _)| sides.iter().map(move |side| format!("{account}.{side}.{extreme}")))
        .collect();
    for (account, extreme, label) in accounts {
        let mut row = vec![label.to_string()];
        for side in sides {
            let id = format!("{account}.{side}.{extreme}");
            let [value, plus_minus] = figures.lined_up(&id, &ids);
            row.extend([value, plus_minus, figures.when(&id)]);
        }
        table.row(row);
    }
    out.push_str(&table.text());
    let opposed = ["up", "target", "toe"].map(|a| (a, format!("opposition.{a}.most")));
    let words: Vec<String> = opposed
        .iter()
        .filter(|(a, id)| *a != "up" && figures.get(id).is_some())
        .map(|(a, id)| {
            let [value, plus_minus] = figures.pair(id);
            format!("{a} {} ± {plus_minus} {}", value.trim_start_matches('+'), figures.unit(id))
        })
        .collect();
    if !words.is_empty() {
        out.push_str(&format!("  the feet push against each other by up to: {}\n", words.join(", ")));
    }
    out.push('\n');
}

/// Turn about every point that this recording allows.
fn points(figures: &Figures, out: &mut String) {
    let when = if figures.knows_impact() { "s from impact" } else { "at s" };
    let mut table = Table::new(&[L, R, R, R, R, R, R]);
    table.row(["TURN about", "most", "±", "", "least", "±", ""]);
    table.row(["", "N·m", "", when, "N·m", "", when]).rule();
    let mut any = false;
    let points = [
        ("net-cop", "the net cop"),
        ("mid-cop", "the midpoint of the cops"),
        ("stance", "the stance centre at address"),
        ("rig-centre", "the rig's centre"),
        ("lead-plate", "the lead plate's centre"),
        ("trail-plate", "the trail plate's centre"),
    ];
    let ids: Vec<String> = points
        .iter()
        .flat_map(|(point, _)| [format!("turn.{point}.most"), format!("turn.{point}.least")])
        .collect();
    for (point, label) in points {
        let (most, least) = (format!("turn.{point}.most"), format!("turn.{point}.least"));
        if figures.get(&most).is_none() {
            continue;
        }
        any = true;
        let ([a, b], [c, d]) = (figures.lined_up(&most, &ids), figures.lined_up(&least, &ids));
        table.row([label.to_string(), a, b, figures.when(&most), c, d, figures.when(&least)]);
    }
    if any {
        // The heading stands in the table's first row, without its indent.
        out.push_str(table.text().trim_start());
        out.push('\n');
    }
}

fn turn(figures: &Figures, out: &mut String) {
    points(figures, out);
    let about = "turn.net-cop";
    if !figures.two_feet() || figures.get(&format!("{about}.most")).is_none() {
        return;
    }
    out.push_str(&format!(
        "ENTRIES of turn about the net cop where it is greatest, {} {}\n",
        if figures.knows_impact() { "s from impact:" } else { "s:" },
        figures.when(&format!("{about}.most"))
    ));
    let mut table = Table::new(&[L, R, R, R]);
    let net = format!("{about}.most");
    let entries = [
        ("entry.free-trail", "trail free moment"),
        ("entry.free-lead", "lead free moment"),
        ("entry.couple-toe", "shear couple, toe–heel"),
        ("entry.couple-target", "shear couple, along target"),
        ("entry.offset.net-cop", "offset"),
    ];
    let feet = [("turn-of-trail.net-cop", "of it trail foot"), ("turn-of-lead.net-cop", "of it lead foot")];
    let at = |part: &str| format!("at.{net}.{part}");
    // One number of decimals, so that the entries are seen to add up.
    let ids: Vec<String> =
        std::iter::once(net.clone()).chain(entries.iter().map(|(part, _)| at(part))).collect();
    table.row(["entry", figures.unit(&net), "±", "share"]).rule();
    let (whole, plus_minus) =
        figures.get(&net).map_or((f64::NAN, f64::NAN), |(_, f)| (f.value, COVERAGE * f.u));
    let line = |table: &mut Table, id: &str, label: &str| {
        if let Some((_, f)) = figures.get(id) {
            let [value, doubt] = figures.lined_up(id, &ids);
            // A share of next to nothing says nothing.
            let clear = whole.abs() >= 2.0 * plus_minus;
            let share =
                if clear { format!("{} %", signed(100.0 * f.value / whole, 0)) } else { "—".to_string() };
            table.row([label.to_string(), value, doubt, share]);
        }
    };
    entries.iter().for_each(|(part, label)| line(&mut table, &at(part), label));
    table.rule();
    line(&mut table, &net, "turn");
    feet.iter().for_each(|(part, label)| line(&mut table, &at(part), label));
    out.push_str(&table.text());
    out.push('\n');
}

fn weight(figures: &Figures, out: &mut String) {
    if !figures.two_feet() {
        return;
    }
    let at = |name: &str| {
        let id = format!("at.{name}.lead-share");
        figures.get(&id).map(|(_, f)| {
            let (value, plus_minus) = with_plus_minus(100.0 * f.value, 100.0 * COVERAGE * f.u, 0);
            format!("{name} {}{} ± {plus_minus}", value.trim_start_matches('+'), mark(f))
        })
    };
    let shares: Vec<String> =
        ["address", "takeaway", "top", "impact", "finish"].into_iter().filter_map(at).collect();
    if !shares.is_empty() {
        out.push_str(&format!("WEIGHT on the lead foot, %: {}\n", shares.join(" · ")));
    }
    let stance = |id: &str, name: &str, factor: f64, unit: &str| {
        figures.get(id).map(|(_, f)| {
            let (value, plus_minus) = with_plus_minus(factor * f.value, factor * COVERAGE * f.u, 0);
            format!("{name} {}{} ± {plus_minus} {unit}", value.trim_start_matches('+'), mark(f))
        })
    };
    let lines: Vec<String> = [
        stance("stance.width", "width", 100.0, "cm"),
        stance("stance.angle", "angle to the target line", 180.0 / std::f64::consts::PI, "°"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !lines.is_empty() {
        out.push_str(&format!("STANCE between the feet's cops: {}\n", lines.join(" · ")));
    }
    out.push('\n');
}

/// The peaks in the order in which they came.
fn order(figures: &Figures, out: &mut String) {
    let peaks = [
        ("target.net.most", "drive to the target"),
        ("turn.net-cop.most", "turn"),
        ("up.net.most", "push up"),
    ];
    let mut found: Vec<(f64, &str, &str)> = peaks
        .into_iter()
        .filter_map(|(id, name)| figures.get(&format!("{id}.time")).map(|(_, f)| (f.value, id, name)))
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    if found.len() < 2 {
        return;
    }
    let mut line = format!("ORDER of the net's peaks: {}", found[0].2);
    for pair in found.windows(2) {
        // The catalogue has the gap one way round; errors that both instants share have fallen out of it.
        let (a, b) = (pair[0].1, pair[1].1);
        let gap = figures.get(&format!("gap.{a}.to.{b}")).or_else(|| figures.get(&format!("gap.{b}.to.{a}")));
        let Some((_, f)) = gap else { continue };
        let (ms, plus_minus) = with_plus_minus(1e3 * f.value.abs(), 1e3 * COVERAGE * f.u, 0);
        line.push_str(&format!(" → {} {} ± {plus_minus} ms later", pair[1].2, ms.trim_start_matches('+')));
    }
    out.push_str(&line);
    out.push_str("\n\n");
}

fn body(figures: &Figures, out: &mut String) {
    let lines = [
        ("body.velocity.up.most", "fastest up"),
        ("body.velocity.target.most", "fastest to the target"),
        ("at.impact.body.velocity.target", "to the target at impact"),
        ("body.power.most", "greatest power"),
        ("body.displacement.up.least", "lowest"),
    ];
    let words: Vec<String> = lines
        .into_iter()
        .filter(|(id, _)| figures.get(id).is_some())
        .map(|(id, name)| {
            let [value, plus_minus] = figures.pair(id);
            format!("{name} {value} ± {plus_minus} {}", figures.unit(id))
        })
        .collect();
    if !words.is_empty() {
        out.push_str("CENTRE OF MASS from the force\n");
        out.push_str(&crate::page::fold(&words.join(" · "), 100, "  "));
        out.push('\n');
    }
}

/// Metrics that are not there, by what is missing.
fn absent(measured: &Measurement, out: &mut String) {
    let lacking = |of: &dyn Fn(&Absent) -> bool| {
        measured.metrics.iter().filter(|m| m.figure.as_ref().err().is_some_and(of)).count()
    };
    let mut lines = Vec::new();
    for need in Need::ALL {
        let count = lacking(&|a| matches!(a, Absent::Missing(needs) if needs.contains(&need)));
        if count > 0 {
            let why = measured.events.absent.iter().find(|(name, _)| Some(*name) == event_of(need));
            let why = why.map_or(String::new(), |(_, why)| format!(": {why}"));
            lines.push(format!("{} ({count} figures): {}{why}", need.word(), need.missing()));
        }
    }
    for reason in [Absent::OutOfOrder, Absent::Undefined] {
        let count = lacking(&|a| *a == reason);
        if count > 0 {
            lines.push(format!("{count} figures: {}", reason.words()));
        }
    }
    if lines.is_empty() {
        return;
    }
    out.push_str("NOT HERE for want of\n");
    for line in lines {
        out.push_str(&crate::page::fold(&line, 100, "  "));
    }
    out.push('\n');
}

fn event_of(need: Need) -> Option<Name> {
    match need {
        Need::Takeaway => Some(Name::Takeaway),
        Need::Top => Some(Name::Top),
        Need::Impact => Some(Name::Impact),
        Need::Finish => Some(Name::Finish),
        Need::AddressInstant => Some(Name::Address),
        Need::TwoFeet | Need::Address | Need::Weight | Need::Motion => None,
    }
}

/// What leads the uncertainties.
fn leading(measured: &Measurement, out: &mut String) {
    let mut causes: BTreeMap<&str, usize> = BTreeMap::new();
    for m in &measured.metrics {
        if let Ok(Figure { dominant: Some((leading, _)), .. }) = &m.figure {
            *causes.entry(leading.words()).or_default() += 1;
        }
    }
    let mut causes: Vec<(&str, usize)> = causes.into_iter().collect();
    causes.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    if causes.is_empty() {
        return;
    }
    let words: Vec<String> = causes.iter().map(|(cause, count)| format!("{cause} ({count})")).collect();
    out.push_str(&crate::page::fold(
        &format!(
            "± is half of a 95 % interval from the rig's error budget; it is led by (figures): {}.",
            words.join(", ")
        ),
        100,
        "  ",
    ));
    out.push_str(
        "  Values at a peak are those of its sample, so that parts add up; its time is the vertex of a parabola around it. ± of\n  a peak holds what noise adds to a greatest value.\n  ▲ a finding puts the figure in doubt · ~ it rests on an estimated event\n",
    );
}
