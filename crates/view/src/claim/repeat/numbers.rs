//! The numbers of `underfoot repeat`, and the tables they make.
use super::rests;
use crate::claim::Numbers;
use crate::claim::span::Span;
use crate::quantity::{COVERAGE, plain, signed};
use crate::table::{Align, Table};
use serde::Serialize;

/// How far figures wander by themselves.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Repeat {
    /// Level of every interval.
    pub level: f64,
    /// In the order asked for.
    pub measures: Vec<MeasureRepeat>,
}

/// How far the figures of one measure wander; everything in its unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureRepeat {
    /// Id of the metric or outcome.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Unit; empty for plain numbers.
    pub unit: String,
    /// Players with a value.
    pub players: usize,
    /// Sessions with a value.
    pub sessions: usize,
    /// Swings with a value.
    pub swings: usize,
    /// Mean of all values.
    pub mean: f64,
    /// Standard error of measurement: scatter of swings of a session about its mean.
    pub sem: Span,
    /// Its degrees of freedom.
    pub degrees: f64,
    /// Scatter from day to day of a player, freed of that of swings; null where no player has two sessions.
    pub day: Option<Span>,
    /// True where its estimate was under 0 and stands as 0.
    pub day_is_cut: bool,
    /// The player to whom more than half of it is due, where three or more players have several sessions.
    pub day_most: Option<DayMost>,
    /// Scatter between players, freed of the others; null with one player.
    pub between: Option<Span>,
    /// True where its estimate was under 0 and stands as 0.
    pub between_is_cut: bool,
    /// Intraclass correlation of single swings, ICC(1,1): share of their scatter that lies between players; null with one
    /// player. Where days are known apart they count as scatter within a player.
    pub icc: Option<Span>,
    /// The same as if all swings of a player were of one day, by the one-way analysis.
    pub icc_one_way: Option<Span>,
    /// Coefficient of variation of swings of a session, %; null where it says nothing.
    pub cv_percent: Option<Span>,
    /// Why there is none.
    pub no_cv: Option<&'static str>,
    /// How the error of a mean falls.
    pub means: Vec<MeanRow>,
    /// The same for the usual (median) number of swings of a session.
    pub usual: MeanRow,
    /// Whether players scatter alike.
    pub unlike: Option<Unlike>,
    /// How many swings bring a mean near enough; null where no precision was asked for, or where no number does.
    pub enough: Option<Enough>,
    /// True where a precision was asked for in a unit of this figure.
    #[serde(skip)]
    pub fits: bool,
    /// The six forms.
    pub forms: Option<Forms>,
    /// Players or sessions.
    pub rows: Vec<Row>,
    /// Decimals that go with the scatter.
    #[serde(skip)]
    pub digits: usize,
    /// Whether a sign means something.
    #[serde(skip)]
    pub signed: bool,
}

/// Who moves most from day to day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DayMost {
    /// Alias.
    pub player: String,
    /// Share of the squares between days that is this player's.
    pub share: f64,
    /// Scatter from day to day of all others.
    pub without: f64,
}

/// How well the mean of so many swings is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeanRow {
    /// Swings of one session.
    pub swings: usize,
    /// Standard error, as the player's figure of that day.
    pub error_that_day: Span,
    /// Standard error, as the player's figure on any day; null where the scatter of days is not known.
    pub error_any_day: Option<Span>,
    /// Least difference of two such means of one day that is more than noise.
    pub change_one_day: Span,
    /// Least difference of two such means of two days that is more than noise; null where the scatter of days is not known.
    pub change_two_days: Option<Span>,
}

/// Whether players scatter alike (Brown & Forsythe), and who scatters least and most.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unlike {
    /// F.
    pub f: f64,
    /// Probability where all scatter alike.
    pub p: f64,
    /// Who scatters least.
    pub least: String,
    /// By how much (standard error of measurement).
    pub least_sem: f64,
    /// Who scatters most.
    pub most: String,
    /// By how much.
    pub most_sem: f64,
}

/// How many swings bring a mean to a stated precision.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Enough {
    /// Half the width of the mean's interval.
    pub precision: f64,
    /// Swings for the figure of that day.
    pub that_day: usize,
    /// The same, were the scatter as small as its interval allows.
    pub that_day_low: usize,
    /// The same, were it as large.
    pub that_day_high: usize,
    /// Swings of one session for the figure of any day; null where none does, or days are not known.
    pub any_day: Option<usize>,
    /// True where the scatter of days is known.
    pub days_known: bool,
    /// Sessions of the usual number of swings that do; null where days are not known.
    pub sessions: Option<usize>,
    /// That usual number.
    pub swings_a_session: usize,
}

/// The six intraclass correlations of the first swings of every player.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Forms {
    /// So many first swings.
    pub swings: usize,
    /// Players.
    pub players: usize,
    /// Players with a single swing, left out.
    pub left_out: usize,
    /// The six.
    pub rows: Vec<FormRow>,
}

/// One of the six.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FormRow {
    /// As Shrout & Fleiss write it.
    pub shrout_fleiss: &'static str,
    /// As McGraw & Wong write it.
    pub mcgraw_wong: &'static str,
    /// With its interval.
    pub icc: Span,
}

/// A player, or a session.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// The player's alias.
    pub player: String,
    /// The session's number; null for a player's row.
    pub session: Option<i64>,
    /// Its day.
    pub date: Option<String>,
    /// Sessions.
    pub sessions: usize,
    /// Swings with a value.
    pub swings: usize,
    /// Their mean.
    pub mean: f64,
    /// Scatter of swings of a session.
    pub sem: Span,
    /// The same over the mean, %; null where it says nothing.
    pub cv_percent: f64,
    /// Least difference of two single swings of one day that is more than noise.
    pub change_one_day: Span,
}

/// More measures than this stand as a row each.
const BLOCKS: usize = 6;

impl Numbers for Repeat {
    const SCHEMA: &'static str = "underfoot.repeat/1";

    fn text(&self) -> String {
        let mut out = String::new();
        if self.measures.len() > BLOCKS {
            out.push_str(&self.overview());
        }
        for of in &self.measures {
            if self.measures.len() <= BLOCKS {
                out.push_str(&of.block());
            }
            out.push_str(&of.details());
        }
        out
    }
}

impl Repeat {
    /// A row a measure.
    fn overview(&self) -> String {
        use Align::{Left, Right};
        let mut table = Table::new(&[Left, Left, Right, Right, Right, Right, Right, Right, Right, Right]);
        table.row(["", "unit", "mean", "swing", "day", "players", "ICC", "CV %", "least", "swings"]);
        table.row(["", "", "", "to swing", "to day", "apart", "", "", "change", "a day"]);
        table.rule();
        for of in &self.measures {
            let sd = |span: Option<Span>| span.map_or("—".into(), |s| plain(s.value, of.digits));
            let change = of.usual.change_two_days.unwrap_or(of.usual.change_one_day);
            table.row([
                short(&of.measure),
                of.unit.clone(),
                of.figure(of.mean),
                sd(Some(of.sem)),
                sd(of.day),
                sd(of.between),
                of.icc.map_or("—".into(), |s| plain(s.value, 2)),
                of.cv_percent.map_or("—".into(), |s| plain(s.value, 1)),
                plain(change.value, of.digits),
                of.usual.swings.to_string(),
            ]);
        }
        table.text() + "\n"
    }
}

/// An id short enough for a column.
fn short(id: &str) -> String {
    const MOST: usize = 32;
    let long = id.chars().count();
    if long <= MOST {
        return id.to_string();
    }
    format!("…{}", id.chars().skip(long + 1 - MOST).collect::<String>())
}

impl MeasureRepeat {
    fn figure(&self, value: f64) -> String {
        if self.signed { signed(value, self.digits) } else { plain(value, self.digits) }
    }

    /// Everything that holds for all players.
    fn block(&self) -> String {
        use Align::{Left, Right};
        let digits = self.digits;
        let unit = if self.unit.is_empty() { String::new() } else { format!(", {}", self.unit) };
        let mut out =
            format!("  {}{unit}   ({}; mean {})\n", self.label, rests(self), self.figure(self.mean));
        let mut scatter = Table::new(&[Left, Right, Left, Left]);
        let limits = |of: &Span, digits: usize| {
            let text = of.limits(&|v| plain(v, digits));
            if text.is_empty() { text } else { format!("({text})") }
        };
        let sd = |of: &Span| [plain(of.value, digits), limits(of, digits)];
        let [value, between] = sd(&self.sem);
        let cv = match (&self.cv_percent, self.no_cv) {
            (Some(cv), _) => format!("CV {} % ({})", plain(cv.value, 1), cv.limits(&|v| plain(v, 1))),
            (None, Some(why)) => format!("no CV: {why}"),
            (None, None) => String::new(),
        };
        scatter.row(["swing to swing (SEM)".into(), value, between, cv]);
        if let Some(day) = &self.day {
            let [value, between] = sd(day);
            let note = if self.day_is_cut { "came out under 0, stands as 0" } else { "" };
            scatter.row(["day to day".into(), value, between, note.into()]);
        }
        if let Some(between) = &self.between {
            let [value, limits] = sd(between);
            let icc = self.icc.unwrap_or(Span::NONE).unsigned(2);
            let note = if self.between_is_cut { "; came out under 0, stands as 0" } else { "" };
            scatter.row(["between players".into(), value, limits, format!("ICC(1,1) {icc}{note}")]);
        }
        out.push_str(&indented(&scatter.text()));
        let mut means = Table::new(&[Left, Right, Right, Right, Right, Right, Right]);
        let counts = self.means.iter().map(|m| m.swings.to_string());
        means.row(std::iter::once("mean of so many swings".to_string()).chain(counts));
        let mut row = |name: &str, of: &dyn Fn(&MeanRow) -> Option<f64>| {
            let cells: Vec<String> =
                self.means.iter().map(|m| of(m).map_or("—".into(), |v| plain(v, digits))).collect();
            means.row(std::iter::once(name.to_string()).chain(cells));
        };
        row("± as that day's figure", &|m| Some(COVERAGE * m.error_that_day.value));
        if self.day.is_some() {
            row("± as any day's figure", &|m| Some(COVERAGE * m.error_any_day?.value));
        }
        row("least change, one day", &|m| Some(m.change_one_day.value));
        if self.day.is_some() {
            row("least change, two days", &|m| Some(m.change_two_days?.value));
        }
        out.push_str(&indented(&means.text()));
        out + "\n"
    }

    /// What was asked for beside it.
    fn details(&self) -> String {
        let mut out = String::new();
        if let Some(forms) = &self.forms {
            out.push_str(&self.of_forms(forms));
        }
        if !self.rows.is_empty() {
            out.push_str(&self.of_rows());
        }
        out
    }

    fn of_forms(&self, forms: &Forms) -> String {
        use Align::{Left, Right};
        let mut out = format!(
            "  {}: the first {} swings of each of {} players, in the order in which they were made\n",
            self.label, forms.swings, forms.players
        );
        let mut table = Table::new(&[Left, Left, Right, Left]);
        table.row(["Shrout & Fleiss", "McGraw & Wong", "value", "interval"]);
        table.rule();
        for row in &forms.rows {
            table.row([
                row.shrout_fleiss.to_string(),
                row.mcgraw_wong.to_string(),
                plain(row.icc.value, 2),
                row.icc.limits(&|v| plain(v, 2)),
            ]);
        }
        out.push_str(&indented(&table.text()));
        out + "\n"
    }

    fn of_rows(&self) -> String {
        use Align::{Left, Right};
        let by_session = self.rows.iter().any(|r| r.session.is_some());
        let mut table = Table::new(&[Left, Right, Left, Right, Right, Right, Left, Right, Right]);
        let unit = self.unit.as_str();
        let second = if by_session { ["session", "day"] } else { ["sessions", ""] };
        table.row([
            "player",
            second[0],
            second[1],
            "swings",
            "mean",
            "SEM",
            "interval",
            "CV %",
            "one swing, ±",
        ]);
        table.row(["", "", "", "", unit, unit, "", "", unit]);
        table.rule();
        for row in &self.rows {
            let session = row.session.map_or(row.sessions.to_string(), |s| s.to_string());
            table.row([
                row.player.clone(),
                session,
                row.date.clone().unwrap_or_default(),
                row.swings.to_string(),
                self.figure(row.mean),
                plain(row.sem.value, self.digits),
                row.sem.limits(&|v| plain(v, self.digits)),
                if self.no_cv.is_some() { "—".into() } else { plain(row.cv_percent, 1) },
                plain(COVERAGE * row.sem.value, self.digits),
            ]);
        }
        format!(
            "  {}, by {}\n{}\n",
            self.label,
            if by_session { "session" } else { "player" },
            indented(&table.text())
        )
    }
}

fn indented(text: &str) -> String {
    text.lines().map(|l| format!("  {l}\n")).collect()
}
