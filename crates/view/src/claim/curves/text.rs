//! Curves for a terminal: who is in it, figures at every tenth of the way, stretches, a small plot.
use super::numbers::{CurveNumbers, SetOf, TestOf};
use super::words::p;
use crate::plot::{self, Axes, Points};
use crate::quantity::{plain, signed};
use crate::table::{Align, Table};

const WIDE: usize = 72;
/// More choices than this leave no room for their half widths.
const MOST_WITH_WIDTHS: usize = 4;

pub(super) fn text(of: &CurveNumbers) -> String {
    let mut out = String::from("CHOICES\n");
    out.push_str(&choices(of));
    out.push_str(&format!("\nCURVES: {}, {}\n", of.account.label, of.account.unit));
    out.push_str(&figures(of));
    if let Some(test) = of.test.as_ref().filter(|t| !t.stretches.is_empty()) {
        out.push_str(
            "\nSTRETCHES THAT DIFFER\n"
                .replace("THAT DIFFER", if of.number.is_some() { "THAT FOLLOW" } else { "THAT DIFFER" })
                .as_str(),
        );
        out.push_str(&stretches(test, of));
    }
    out.push('\n');
    out.push_str(&drawn(of));
    out.push('\n');
    out
}

fn choices(of: &CurveNumbers) -> String {
    let moved = |s: &SetOf| -> Option<(f64, f64)> {
        let all: Vec<f64> = s.warps.iter().map(|w| w.moved_s).collect();
        let most = all.iter().copied().fold(f64::NAN, f64::max);
        (!all.is_empty()).then(|| (all.iter().sum::<f64>() / all.len() as f64, most))
    };
    let mut table =
        Table::new(&[Align::Left, Align::Left, Align::Right, Align::Right, Align::Right, Align::Right]);
    let registered = of.sets.iter().any(|s| !s.warps.is_empty());
    let time = format!("{} to {}, s", of.way.from, of.way.to);
    let head = ["", "", "players", "swings", time.as_str(), if registered { "moved by, s" } else { "" }];
    table.row(head);
    for s in &of.sets {
        let [mean, least, most] = s.duration_s;
        let span = if s.swings > 1 {
            format!(" ({} to {})", plain(least, 2), plain(most, 2))
        } else {
            String::new()
        };
        let by = moved(s)
            .map_or(String::new(), |(mean, most)| format!("{} (most {})", plain(mean, 3), plain(most, 3)));
        table.row([
            s.letter.clone(),
            s.named.clone(),
            s.players.to_string(),
            s.swings.to_string(),
            format!("{}{span}", plain(mean, 2)),
            by,
        ]);
    }
    table.text()
}

/// Every tenth of the way.
fn figures(of: &CurveNumbers) -> String {
    let digits = of.digits();
    let nodes = of.way.percent.len();
    let widths = of.sets.len() <= MOST_WITH_WIDTHS;
    let test = of.test.as_ref();
    let has_difference = test.is_some_and(|t| t.difference.iter().any(|v| v.is_finite()));
    let mut columns = vec![Align::Right, Align::Right];
    let mut head = vec!["%".to_string(), format!("s from {}", of.way.anchor)];
    for s in &of.sets {
        columns.push(Align::Right);
        head.push(if of.sets.len() == 1 { "mean".into() } else { s.letter.clone() });
        if widths {
            columns.push(Align::Right);
            head.push("±".into());
        }
    }
    if of.sets.len() == 1 {
        columns.push(Align::Right);
        head.push("a further one ±".into());
    }
    if has_difference {
        columns.extend([Align::Right, Align::Right, Align::Left]);
        let name = match &of.number {
            Some(number) => format!("for each {}", if number.unit.is_empty() { "1" } else { &number.unit }),
            None => "B − A".into(),
        };
        head.extend([name, "passes from".into(), String::new()]);
    }
    let mut table = Table::new(&columns);
    table.row(head);
    let at = |of: &[f64], k: usize| of.get(k).copied().unwrap_or(f64::NAN);
    let slope_digits = test.map_or(digits, |t| digits_of(&t.would_pass, digits));
    for tenth in 0..=10 {
        let k = tenth * nodes.saturating_sub(1) / 10;
        let mut row = vec![plain(at(&of.way.percent, k), 0), signed(at(&of.way.seconds, k), 2)];
        for s in &of.sets {
            row.push(signed(at(&s.mean, k), digits));
            if widths {
                row.push(plain(at(half_width(s), k), digits));
            }
        }
        if let [only] = of.sets.as_slice() {
            row.push(plain(at(&only.of_single, k), digits));
        }
        if let Some(t) = test.filter(|_| has_difference) {
            let percent = at(&of.way.percent, k);
            let inside = t.stretches.iter().any(|s| s.from_percent <= percent && percent <= s.to_percent);
            row.push(signed(at(&t.difference, k), slope_digits));
            row.push(plain(at(&t.would_pass, k), slope_digits));
            row.push(if inside { "◂".into() } else { String::new() });
        }
        table.row(row);
    }
    table.text()
}

/// Decimals of some positive figures: three quarters of them are not larger.
fn digits_of(sizes: &[f64], otherwise: usize) -> usize {
    let mut all: Vec<f64> = sizes.iter().copied().filter(|v| *v > 0.0 && v.is_finite()).collect();
    all.sort_by(f64::total_cmp);
    all.get(3 * all.len() / 4).map_or(otherwise, |middle| crate::quantity::decimals(*middle))
}

/// That of the whole curve where there is one, else of each node by itself.
fn half_width(s: &SetOf) -> &[f64] {
    if s.of_whole.iter().any(|v| v.is_finite()) { &s.of_whole } else { &s.of_mean }
}

fn stretches(test: &TestOf, of: &CurveNumbers) -> String {
    let digits = digits_of(&test.would_pass, of.digits());
    let mut table = Table::new(&[
        Align::Right,
        Align::Right,
        Align::Right,
        Align::Right,
        Align::Right,
        Align::Right,
        Align::Left,
    ]);
    let has_difference = test.difference.iter().any(|v| v.is_finite());
    let (most, at) = if has_difference {
        (format!("largest, {}", test.difference_unit), "at, %")
    } else {
        (String::new(), "surest at, %")
    };
    table.row(["from, %", "to, %", most.as_str(), at, "chance", "statistic, most", ""]);
    for s in &test.stretches {
        table.row([
            plain(s.from_percent, 1),
            plain(s.to_percent, 1),
            if has_difference { signed(s.largest, digits) } else { String::new() },
            plain(if has_difference { s.largest_percent } else { s.peak_percent }, 0),
            p(s.p),
            if has_difference { signed(s.peak_statistic, 2) } else { plain(s.peak_statistic, 2) },
            if s.barely { "barely".into() } else { String::new() },
        ]);
    }
    table.text()
}

/// Means, and on the axis the stretches in heavy line.
fn drawn(of: &CurveNumbers) -> String {
    let x = &of.way.percent;
    let mut sets: Vec<Points> = Vec::new();
    let (low, high): (Vec<f64>, Vec<f64>) = match of.sets.as_slice() {
        [only] => only.mean.iter().zip(&only.of_single).map(|(m, h)| (m - h, m + h)).unzip(),
        _ => (Vec::new(), Vec::new()),
    };
    for band in [&low, &high].into_iter().filter(|b| !b.is_empty()) {
        sets.push(Points { mark: '·', x, y: band });
    }
    for s in &of.sets {
        let mark = if of.sets.len() == 1 { '•' } else { s.letter.chars().next().unwrap_or('•') };
        sets.push(Points { mark, x, y: &s.mean });
    }
    let upright: Vec<(f64, char)> = of.way.events.iter().map(|e| (e.percent, '┊')).collect();
    let name = format!("% of the way from {} to {}", of.way.from, of.way.to);
    let axes = Axes { width: WIDE, height: 16, x_name: &name, y_name: &of.account.unit, upright: &upright };
    let (plain_plot, both) = plot::fitted(&axes, &sets, of.digits());
    let beyond = |column: usize| {
        let percent = 100.0 * column as f64 / (WIDE - 1) as f64;
        let step = 50.0 / (WIDE - 1) as f64;
        of.test
            .iter()
            .flat_map(|t| &t.stretches)
            .any(|s| s.from_percent - step <= percent && percent <= s.to_percent + step)
    };
    let mut out = String::new();
    for line in plain_plot.lines() {
        match line.split_once('└') {
            Some((gutter, axis)) => {
                let heavy: String =
                    axis.chars().enumerate().map(|(k, c)| if beyond(k) { '━' } else { c }).collect();
                out.push_str(&format!("{gutter}└{heavy}\n"));
            }
            None => out.push_str(&format!("{line}\n")),
        }
    }
    let mut legend = vec![match of.sets.len() {
        1 => "• mean   · where a further one lies".to_string(),
        n => format!(
            "means of {}",
            (0..n).filter_map(|k| of.sets.get(k)).map(|s| s.letter.as_str()).collect::<Vec<_>>().join(", ")
        ),
    }];
    if both {
        legend.push("* both".into());
    }
    if !of.way.events.is_empty() {
        let events: Vec<&str> = of.way.events.iter().map(|e| e.event).collect();
        legend.push(format!("┊ {}", events.join(", ")));
    }
    if of.test.as_ref().is_some_and(|t| !t.stretches.is_empty()) {
        legend.push(if of.number.is_some() {
            "━ where they follow".into()
        } else {
            "━ where they differ".into()
        });
    }
    out.push_str(&format!("    {}\n", legend.join("   ")));
    out
}
