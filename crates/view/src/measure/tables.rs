//! Every metric of one recording, the key figures of many, and a tidy table for other programs.
use super::MeasureView;
use crate::quantity::{plain, signed, with_plus_minus};
use crate::table::{Align, Table};
use crate::units::{self, Shown as Unit};
use swing::Measurement;
use swing::metrics::{Figure, Group, Metric};

const R: Align = Align::Right;
const L: Align = Align::Left;

/// Every metric in a table, chapter by chapter.
pub fn all(measured: &Measurement) -> String {
    let rows: Vec<Row<'_>> = measured
        .metrics
        .iter()
        .map(|m| Row { metric: m.metric, figure: m.figure.as_ref().map_err(|absent| absent.words()) })
        .collect();
    by_chapter(&rows)
}

/// A metric with its figure, or why it is absent.
#[derive(Clone, Debug)]
pub struct Row<'a> {
    /// The row of the catalogue.
    pub metric: &'a Metric,
    /// Its figure, or why there is none.
    pub figure: Result<&'a Figure, String>,
}

/// Figures in tables, chapter by chapter; chapters without a row are left out.
pub fn by_chapter(rows: &[Row<'_>]) -> String {
    let mut out = String::new();
    for group in Group::ALL {
        let mut inside = rows.iter().filter(|r| r.metric.group == group).peekable();
        if inside.peek().is_some() {
            out.push_str(&format!("{}\n{}\n", group_title(group), figures(inside)));
        }
    }
    out
}

/// Figures in one table.
pub fn figures<'a>(rows: impl Iterator<Item = &'a Row<'a>>) -> String {
    let mut table = Table::new(&[L, R, R, L, R, L]);
    table.row(["", "", "±", "", "at s", ""]).rule();
    for Row { metric, figure } in rows {
        match figure {
            Ok(f) => {
                let Unit { value, plus_minus, decimals, unit } = units::shown(metric.unit, f);
                let (value, plus_minus) = with_plus_minus(value, plus_minus, decimals);
                let at = f.at_s.map_or(String::new(), |t| plain(t, 3));
                let mut notes: Vec<String> = f.touched_by.iter().map(|c| format!("▲ {c}")).collect();
                if f.estimated {
                    notes.push("estimate".into());
                }
                table.row([metric.label.clone(), value, plus_minus, unit.into(), at, notes.join(" ")]);
            }
            Err(why) => {
                let nothing = String::new;
                table.row([metric.label.clone(), "—".into(), nothing(), nothing(), nothing(), why.clone()]);
            }
        }
    }
    table.text()
}

/// A chapter's title.
pub fn group_title(group: Group) -> &'static str {
    match group {
        Group::Forces => "FORCES",
        Group::Turn => "TURN AND FREE MOMENTS",
        Group::Instants => "ACCOUNTS AT EVENTS AND PEAKS",
        Group::Impulses => "IMPULSES AND LOADING RATES",
        Group::Timing => "TIMING",
        Group::Pressure => "CENTRES OF PRESSURE AND STANCE",
        Group::Body => "CENTRE OF MASS",
    }
}

/// One recording among many.
#[derive(Clone, Debug)]
pub struct Line {
    cells: Vec<String>,
}

/// The key figures of a page.
pub fn line(page: &MeasureView) -> Line {
    let metric = |id: &str| page.metrics.iter().find(|m| m.id == id);
    let body = |id: &str| {
        let Some(m) = metric(id) else { return "—".to_string() };
        match (m.body_value, m.body_plus_minus, m.value, m.plus_minus) {
            (Some(v), Some(p), ..) if m.unit == "N" => joined(v, p, 1),
            (_, _, Some(v), Some(p)) => joined(v, p, if m.unit == "1" { 2 } else { 1 }),
            _ => "—".into(),
        }
    };
    let count = |severity: &str| page.findings.iter().filter(|f| f.severity == severity).count();
    let found = [("■", count("stop")), ("▲", count("doubt"))]
        .into_iter()
        .filter(|(_, n)| *n > 0)
        .map(|(shape, n)| format!("{shape} {n}"))
        .collect::<Vec<_>>()
        .join(" ");
    Line {
        cells: vec![
            page.facts.recording.clone(),
            body("up.net.most"),
            body("target.net.most"),
            body("turn.net-cop.most"),
            body("tempo").trim_start_matches('+').to_string(),
            found,
        ],
    }
}

/// With a stated number of decimals, so that a column of recordings lines up.
fn joined(value: f64, plus_minus: f64, decimals: usize) -> String {
    format!("{} ± {}", signed(value, decimals), plain(plus_minus, decimals))
}

/// A table of recordings; `more`: a further column, its two headings and a cell for each recording.
pub fn lines(lines: &[Line], more: Option<([&str; 2], &[String])>) -> String {
    let mut table = Table::new(&[L, R, R, R, R, if more.is_some() { R } else { L }, L]);
    let mut heads = [vec!["", "up", "drive", "turn, net cop", "tempo"], vec!["", "%BW", "%BW", "N·m", ""]];
    if let Some((titles, _)) = more {
        heads[0].push(titles[0]);
        heads[1].push(titles[1]);
    }
    heads[0].push("findings");
    let [first, second] = heads;
    table.row(first).row(second).rule();
    for (k, line) in lines.iter().enumerate() {
        let mut cells = line.cells.clone();
        if let Some((_, column)) = more {
            let last = cells.len().saturating_sub(1);
            cells.insert(last, column.get(k).cloned().unwrap_or_default());
        }
        table.row(cells);
    }
    table.text()
}

/// One row a recording and metric, as text separated by commas: SI, standard uncertainty, why absent.
pub fn tidy(pages: &[MeasureView]) -> String {
    let mut out = String::from(TIDY_HEAD);
    pages.iter().for_each(|page| out.push_str(&tidy_rows(page)));
    out
}

/// The first row of [`tidy`].
pub const TIDY_HEAD: &str = "recording,metric,label,unit,value,u,plus_minus_95,body_unit,body_value,body_plus_minus_95,at_s,led_by,estimate,touched_by,absent\n";

/// The rows of one recording in [`tidy`].
pub fn tidy_rows(page: &MeasureView) -> String {
    let mut out = String::new();
    let number = |v: Option<f64>| v.filter(|v| v.is_finite()).map_or(String::new(), |v| format!("{v}"));
    let quoted = |text: &str| {
        if text.contains([',', '"', '\n']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.to_string()
        }
    };
    for m in &page.metrics {
        out.push_str(&format!(
            "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n",
            quoted(&page.facts.recording),
            m.id,
            quoted(m.label),
            m.unit,
            number(m.value),
            number(m.u),
            number(m.plus_minus),
            m.body_unit.unwrap_or(""),
            number(m.body_value),
            number(m.body_plus_minus),
            number(m.at_s),
            m.led_by.unwrap_or(""),
            m.estimate,
            m.touched_by.join(" "),
            quoted(m.absent.as_deref().unwrap_or("")),
        ));
    }
    out
}
