//! The catalogue of metrics as a list, a manual and rows for machines.
use crate::measure::group_title;
use crate::table::{Align, Table};
use serde::Serialize;
use swing::metrics::{Group, Metric, catalogue};

/// One metric for machines.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// Stable id.
    pub id: &'static str,
    /// Name for people.
    pub label: &'static str,
    /// Chapter.
    pub group: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// In words.
    pub definition: &'static str,
    /// As a formula.
    pub formula: &'static str,
    /// What a positive value means.
    pub sign: &'static str,
    /// What must be there.
    pub needs: Vec<&'static str>,
    /// Where the definition comes from.
    pub source: &'static str,
}

/// Every metric, in order.
pub fn rows() -> Vec<Row> {
    catalogue().iter().map(row).collect()
}

fn row(metric: &'static Metric) -> Row {
    Row {
        id: &metric.id,
        label: &metric.label,
        group: group_title(metric.group),
        unit: metric.unit.symbol(),
        definition: &metric.definition,
        formula: &metric.formula,
        sign: metric.sign,
        needs: metric.needs.iter().map(|n| n.word()).collect(),
        source: metric.source,
    }
}

/// The list for a terminal: id, label, unit, needs.
pub fn list() -> String {
    let mut out = String::new();
    for group in Group::ALL {
        out.push_str(group_title(group));
        out.push('\n');
        let mut table = Table::new(&[Align::Left, Align::Left, Align::Left, Align::Left]);
        for m in catalogue().iter().filter(|m| m.group == group) {
            let needs = m.needs.iter().map(|n| n.word()).collect::<Vec<_>>().join(", ");
            table.row([m.id.as_str(), m.label.as_str(), m.unit.symbol(), needs.as_str()]);
        }
        out.push_str(&table.text());
        out.push('\n');
    }
    out
}

/// One metric for a terminal.
pub fn explain(row: &Row) -> String {
    let mut table = Table::new(&[Align::Left, Align::Left]);
    let needs = if row.needs.is_empty() { "nothing further".to_string() } else { row.needs.join(", ") };
    table.row(["unit", row.unit]).row(["definition", row.definition]).row(["formula", row.formula]);
    if !row.sign.is_empty() {
        table.row(["sign", row.sign]);
    }
    table.row(["needs", &needs]).row(["source", row.source]);
    format!("{}\n  {}\n{}\n", row.id, row.label, table.text())
}

/// The page docs/metrics.md.
pub fn manual() -> String {
    let mut out = String::from(
        "# Metrics\n\n\
         Made from the catalogue in `crates/swing/src/metrics` (`underfoot metrics --manual`); do not edit.\n\n\
         Every figure comes with its uncertainty (docs/uncertainty.md) and with the findings that put it in doubt. A metric\n\
         whose needs are not met is absent, with its reason. Forces are ground reactions on the player, in the player's\n\
         components (docs/signs.md). A top or impact that is only an estimate serves none of them, unless it is asked for and\n\
         said. Times of peaks are vertices of parabolas; integrals are trapezoids; *movement* is takeaway to finish.\n",
    );
    for group in Group::ALL {
        let title = group_title(group);
        let lower = title.to_lowercase();
        let mut letters = lower.chars();
        let title = letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect());
        out.push_str(&format!(
            "\n## {title}\n\n| id | unit | definition | formula | sign | needs | source |\n|---|---|---|---|---|---|---|\n"
        ));
        for m in catalogue().iter().filter(|m| m.group == group) {
            let needs = m.needs.iter().map(|n| n.word()).collect::<Vec<_>>().join(", ");
            let cells = [
                &format!("`{}`", m.id),
                m.unit.symbol(),
                &m.definition,
                &m.formula.replace('|', "\\|"),
                m.sign,
                &needs,
                m.source,
            ];
            out.push_str(&format!("| {} |\n", cells.join(" | ")));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `underfoot metrics --manual > docs/metrics.md` refreshes it.
    #[test]
    fn the_manual_is_made_from_the_catalogue() {
        let written = include_str!("../../../docs/metrics.md");
        assert!(
            written == manual(),
            "docs/metrics.md is out of date: `underfoot metrics --manual > docs/metrics.md`"
        );
        assert!(
            rows().iter().all(|r| !r.definition.is_empty() && !r.formula.is_empty() && !r.source.is_empty())
        );
    }
}
