//! A comparison for a terminal: the sides, a table, a sentence a metric.
use super::rows::Row;
use super::side::SideView;
use super::words::{p_text, percent};
use super::{ChangeNumbers, Verdicts};
use crate::claim::wrapped;
use crate::quantity::{count, plain, signed};
use crate::table::{Align, Table};

/// Columns of a terminal.
const WIDTH: usize = 100;

/// Beyond so many metrics, those within noise are only counted, and only clear ones and those between days have a sentence.
const MANY: usize = 24;

pub(super) fn text(of: &ChangeNumbers) -> String {
    let mut out = String::new();
    for (name, side) in [("A", &of.a), ("B", &of.b)] {
        out.push_str(&wrapped(&side_line(side), &format!("  {name}  "), "     "));
        out.push('\n');
    }
    if of.metrics.is_empty() {
        return out;
    }
    let all = of.metrics.len() <= MANY;
    let mut shown: Vec<&Row> = of.metrics.iter().filter(|m| all || m.verdict != "within noise").collect();
    if !all {
        let place =
            |m: &Row| ["clear", "between-days", "unclear"].iter().position(|v| *v == m.verdict).unwrap_or(3);
        // Of the clear ones the greatest first; the others as the catalogue has them, which a stable sort keeps.
        let size = |m: &Row| if m.verdict == "clear" { m.g.g.value.abs() } else { 0.0 };
        shown.sort_by(|x, y| place(x).cmp(&place(y)).then(size(y).total_cmp(&size(x))));
    }
    if !shown.is_empty() {
        out.push('\n');
        out.push_str(&table(of, &shown));
        out.push('\n');
    }
    let (noise, mut told): (Vec<&Row>, Vec<&Row>) = shown.iter().partition(|m| m.verdict == "within noise");
    told.retain(|m| all || ["clear", "between-days"].contains(&m.verdict));
    let mut lines: Vec<(Vec<&str>, &str)> = Vec::new();
    for m in told {
        // What cannot be told is so for one reason, most often.
        match lines.last_mut().filter(|(_, said)| *said == m.said) {
            Some((labels, _)) => labels.push(&m.label),
            None => lines.push((vec![&m.label], &m.said)),
        }
    }
    let kind = if of.design.starts_with("two") { "difference" } else { "change" };
    let lines = lines.iter().map(|(labels, said)| format!("{}: {said}", labels.join("; ")));
    for line in lines.chain(noise_line(&noise, kind)) {
        out.push_str(&wrapped(&line, "  ", "    "));
        out.push('\n');
    }
    let Verdicts { within_noise, .. } = of.verdicts;
    if !all && within_noise > 0 {
        let line =
            format!("{} within noise, not shown here: --json has them all.", count(within_noise, "metric"));
        out.push_str(&wrapped(&line, "  ", "    "));
        out.push('\n');
    }
    out
}

/// What is within noise, in one line, with the change that would not have been.
fn noise_line(rows: &[&Row], kind: &str) -> Option<String> {
    let each = |m: &&Row| {
        let unit = if m.unit.is_empty() { String::new() } else { format!(" {}", m.unit) };
        format!("{} {}{unit}", m.label, plain(m.detectable.size, m.decimals))
    };
    let all: Vec<String> = rows.iter().map(each).collect();
    (!all.is_empty()).then(|| {
        format!("within noise, with the {kind} that would have stood out by itself: {}.", all.join("; "))
    })
}

fn side_line(side: &SideView) -> String {
    let days = match (&side.from, &side.to) {
        (Some(a), Some(b)) if side.named.contains(a) && side.named.contains(b) => String::new(),
        (Some(a), Some(b)) if a == b => format!(", {a}"),
        (Some(a), Some(b)) => format!(", {a} to {b}"),
        _ => String::new(),
    };
    let rigs = if side.rigs.is_empty() { String::new() } else { format!(", rig {}", side.rigs.join(", ")) };
    format!(
        "{}: {} of {} in {}{days}{rigs}",
        side.named,
        count(side.swings, "swing"),
        count(side.players, "player"),
        count(side.sessions, "session"),
    )
}

fn table(of: &ChangeNumbers, rows: &[&Row]) -> String {
    let heads: [[&str; 2]; 8] = [
        ["A", ""],
        ["B", ""],
        ["B − A", ""],
        ["", ""],
        ["stands", "out from"],
        ["p", "adj."],
        ["g", ""],
        ["", ""],
    ];
    let percent = percent(of.level);
    let interval = format!("{percent} % of it");
    let cells: Vec<[String; 8]> = rows
        .iter()
        .map(|m| {
            let level = |v: f64| if m.signed { signed(v, m.decimals) } else { plain(v, m.decimals) };
            let limit = |v: f64| signed(v, m.decimals);
            let between = if m.difference.low.is_nan() {
                "—".into()
            } else {
                format!("{} to {}", limit(m.difference.low), limit(m.difference.high))
            };
            let p = if m.p_adjusted.is_nan() { "—".into() } else { p_text(m.p_adjusted) };
            let verdict = match m.verdict {
                "within noise" => "noise",
                "cannot be told" => "too few",
                "between-days" => "days?",
                other => other,
            };
            [
                level(m.mean_a),
                level(m.mean_b),
                signed(m.difference.value, m.decimals),
                between,
                plain(m.detectable.size, m.decimals),
                p,
                signed(m.g.g.value, 1),
                verdict.to_string(),
            ]
        })
        .collect();
    let head = |k: usize, line: usize| -> String {
        match (k, line) {
            (3, 0) => interval.clone(),
            _ => heads.get(k).and_then(|h| h.get(line)).map_or(String::new(), |s| s.to_string()),
        }
    };
    let wide = |text: &str| text.chars().count();
    let widths: usize = (0..8)
        .map(|k| {
            let own = cells.iter().filter_map(|c| c.get(k)).map(|t| wide(t)).max().unwrap_or(0);
            own.max(wide(&head(k, 0))).max(wide(&head(k, 1)))
        })
        .sum();
    // Two before, two between; what is left is the metric's.
    let room = (WIDTH - 2).saturating_sub(widths + 2 * 8).max(12);
    let mut columns = vec![Align::Left];
    columns.extend([Align::Right; 7]);
    columns.push(Align::Left);
    let mut table = Table::new(&columns);
    let line = |first: String, rest: [String; 8]| std::iter::once(first).chain(rest).collect::<Vec<String>>();
    table.row(line("metric".into(), std::array::from_fn(|k| head(k, 0))));
    table.row(line(String::new(), std::array::from_fn(|k| head(k, 1))));
    table.rule();
    for (m, figures) in rows.iter().zip(cells) {
        let named = if m.unit.is_empty() { m.label.clone() } else { format!("{}, {}", m.label, m.unit) };
        let mut lines = folded(&named, room).into_iter();
        table.row(line(lines.next().unwrap_or_default(), figures));
        for more in lines {
            table.row([format!("  {more}")]);
        }
    }
    table.text()
}

/// A name in lines of at most `room` characters, those after the first two shorter.
fn folded(name: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    // A word too long for a line is cut.
    let most = room.saturating_sub(2).max(1);
    let parts = name.split(' ').flat_map(|word| {
        let letters: Vec<char> = word.chars().collect();
        let cut: Vec<String> = letters.chunks(most).map(|c| c.iter().collect()).collect();
        cut
    });
    for word in parts {
        let limit = if lines.len() > 1 { room.saturating_sub(2) } else { room };
        let Some(last) = lines.last_mut() else { break };
        if last.is_empty() {
            last.push_str(&word);
        } else if last.chars().count() + 1 + word.chars().count() <= limit {
            last.push(' ');
            last.push_str(&word);
        } else {
            lines.push(word);
        }
    }
    lines
}
