//! The numbers of `underfoot cohort`, and the tables they make.
use super::said;
use crate::claim::Numbers;
use crate::claim::span::Span;
use crate::quantity::{count, plain, signed};
use crate::table::{Align, Table};
use serde::Serialize;

/// Reference values, and who stands where in them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cohort {
    /// Level of every interval.
    pub level: f64,
    /// What the reference is made of: "means of players", "single swings".
    pub of: &'static str,
    /// What is counted: "player"; "swing" where all swings are of one player.
    pub unit: &'static str,
    /// How many figures of what was placed were looked at.
    pub looked_at: usize,
    /// In the order asked for.
    pub measures: Vec<MeasureCohort>,
    /// What was placed.
    pub placed: Vec<Placed>,
}

/// Reference values of one measure, in its unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureCohort {
    /// Id of the metric or outcome.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Unit; empty for plain numbers.
    pub unit: String,
    /// A row a stratum.
    pub rows: Vec<StratumRow>,
    /// Decimals that are shown.
    #[serde(skip)]
    pub digits: usize,
    /// Whether a sign means something.
    #[serde(skip)]
    pub signed: bool,
}

/// Reference values of a stratum.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StratumRow {
    /// In words; "all" where nothing sets apart.
    pub stratum: String,
    /// Players with a value (swings, where all are of one player).
    pub units: usize,
    /// Swings with a value.
    pub swings: usize,
    /// Mean of the units.
    pub mean: f64,
    /// Standard deviation of what the reference is made of.
    pub sd: f64,
    /// Centiles.
    pub centiles: Vec<Centile>,
}

/// A centile with its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Centile {
    /// Per cent of the reference below it.
    pub percent: u8,
    /// Value and interval; null where the reference is too small for one.
    #[serde(flatten)]
    pub at: Span,
    /// Units it takes for this centile.
    pub needs: usize,
}

/// Swings that were placed together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Placed {
    /// In words: "swing 12 of alder", "alder (6 swings)".
    pub who: String,
    /// The player.
    pub player: String,
    /// Their numbers.
    pub swings: Vec<i64>,
    /// The stratum they are placed in.
    pub stratum: String,
    /// Measure by measure.
    pub standings: Vec<Standing>,
}

/// Where a figure stands in its reference.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// Id of the metric or outcome.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Unit of the value.
    pub unit: String,
    /// The figure, a mean where several swings were placed together; null where not defined.
    pub value: f64,
    /// Players (swings, where all are of one player) it is placed among.
    pub units: usize,
    /// Per cent of the reference that lies below it.
    pub percent: Span,
    /// True where all of the reference lies below.
    pub all_below: bool,
    /// True where all of the reference lies above.
    pub all_above: bool,
    /// Distance from the mean over the scatter of a further case.
    pub t: f64,
    /// Probability of a distance as large, if the reference scatters normally.
    pub p: f64,
    /// The same held over all that was looked at (Holm).
    pub p_adjusted: f64,
    /// Probability of a rank as far out.
    pub by_rank: f64,
    /// The least that this can be in so small a reference.
    pub least_by_rank: f64,
    /// Whether it is called unusual.
    pub unusual: bool,
    /// What `evidence` said.
    #[serde(skip)]
    pub(super) found: evidence::cohort::Unusual,
}

impl Numbers for Cohort {
    const SCHEMA: &'static str = "underfoot.cohort/1";

    fn text(&self) -> String {
        let mut out = String::new();
        for measure in &self.measures {
            out.push_str(&self.reference(measure));
            out.push('\n');
        }
        if let Some(needs) = self.needs() {
            out.push_str(&format!("  {needs}\n\n"));
        }
        for placed in &self.placed {
            out.push_str(&self.standings(placed));
            out.push('\n');
        }
        out
    }
}

impl Cohort {
    fn reference(&self, of: &MeasureCohort) -> String {
        let unit = if of.unit.is_empty() { String::new() } else { format!(", {}", of.unit) };
        let mut out = format!("  {}{unit}   ({}; centiles)\n", of.label, self.of);
        let percents: Vec<u8> =
            of.rows.first().map_or(Vec::new(), |r| r.centiles.iter().map(|c| c.percent).collect());
        let own = self.unit == "swing";
        let mut columns = vec![Align::Left, Align::Right];
        columns.extend((!own).then_some(Align::Right));
        columns.extend(percents.iter().map(|_| Align::Right));
        let mut table = Table::new(&columns);
        let counts = |a: String, b: String| if own { vec![a] } else { vec![a, b] };
        let mut head = vec![String::new()];
        head.extend(counts(format!("{}s", self.unit), "swings".into()));
        head.extend(percents.iter().map(u8::to_string));
        table.row(head);
        let figure = |v: f64| figure_of(v, of.digits, of.signed);
        for row in &of.rows {
            let mut line = vec![row.stratum.clone()];
            line.extend(counts(row.units.to_string(), row.swings.to_string()));
            line.extend(row.centiles.iter().map(|c| figure(c.at.value)));
            table.row(line);
            let known = |c: &Centile| !c.at.low.is_nan();
            if row.centiles.iter().any(known) {
                let limits = |name: String, of_limit: &dyn Fn(&Centile) -> f64| {
                    let mut line = vec![name];
                    line.extend(counts(String::new(), String::new()));
                    let cell = |c: &Centile| if known(c) { figure(of_limit(c)) } else { String::new() };
                    line.extend(row.centiles.iter().map(cell));
                    line
                };
                table.row(limits(format!("  {} % from", plain(100.0 * self.level, 0)), &|c| c.at.low));
                table.row(limits("  to".into(), &|c| c.at.high));
            }
        }
        out.push_str(&table.text());
        out
    }

    /// "— takes more players: 72 for 5 and 95, …", of centiles that some row lacks.
    fn needs(&self) -> Option<String> {
        let rows = self.measures.iter().flat_map(|m| &m.rows);
        let lacking = rows.flat_map(|r| r.centiles.iter().filter(|c| c.at.value.is_nan()));
        said::needs(self.unit, lacking.map(|c| (c.needs, c.percent)))
    }

    fn standings(&self, of: &Placed) -> String {
        let among = if of.stratum == "all" { String::new() } else { format!(", among {}", of.stratum) };
        let mut out = format!("  {}{among}\n", of.who);
        let mut table = Table::new(&[
            Align::Left,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Left,
        ]);
        table.row(["", "", "higher than", "between", "of", "p, held over all", ""]);
        for s in &of.standings {
            let measure = self.measures.iter().find(|m| m.measure == s.measure);
            let digits = measure.map_or(1, |m| m.digits);
            let value = if measure.is_some_and(|m| m.signed) {
                signed(s.value, digits)
            } else {
                plain(s.value, digits)
            };
            let unit = if s.unit.is_empty() { String::new() } else { format!(", {}", s.unit) };
            let percent = |v: f64| if v.is_nan() { "—".into() } else { format!("{} %", plain(v, 0)) };
            table.row([
                format!("  {}{unit}", s.label),
                value,
                percent(s.percent.value),
                s.percent.limits(&|v| plain(v, 0)),
                count(s.units, self.unit),
                said::probability(s.p_adjusted),
                if s.unusual { "unusual".into() } else { String::new() },
            ]);
        }
        out.push_str(&table.text());
        out
    }
}

/// A figure, with its sign where that means something.
pub(super) fn figure_of(value: f64, digits: usize, with_sign: bool) -> String {
    if with_sign { signed(value, digits) } else { plain(value, digits) }
}
