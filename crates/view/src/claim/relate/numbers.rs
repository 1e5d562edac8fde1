//! The numbers of `underfoot relate`, and the tables they make.
use super::scatter;
use crate::claim::span::{Span, digits_of, probability, with_unit};
use crate::claim::{Numbers, wrapped};
use crate::quantity::{count, plain, signed};
use crate::table::{Align, Table};
use serde::Serialize;

/// Whether one figure goes with others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Relate {
    /// Level of every interval.
    pub level: f64,
    /// Id of the figure asked about: y.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Its unit; empty for plain numbers.
    pub unit: String,
    /// Probabilities that were looked at together.
    pub looked_at: usize,
    /// One for each of the others: x.
    pub pairs: Vec<Pair>,
}

/// What was found of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// More of x, more of y.
    More,
    /// More of x, less of y.
    Less,
    /// Not more than chance gives.
    NotSeen,
}

/// Whether y goes with one x.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pair {
    /// Id of x.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Its unit; empty for plain numbers.
    pub unit: String,
    /// A round amount of x, for which slopes are told in words.
    pub step: f64,
    /// From player to player; null with fewer than four players.
    pub between: Option<BetweenView>,
    /// From swing to swing of a player; null with too few swings.
    pub within: Option<WithinView>,
    /// The slope between players less that within them; null where one is absent.
    pub slopes_differ: Option<Span>,
    /// Players: their means and own lines.
    pub points: Vec<Point>,
    /// Of every swing, player by player.
    #[serde(skip)]
    pub x_values: Vec<f64>,
    /// The same of y.
    #[serde(skip)]
    pub y_values: Vec<f64>,
    /// Decimals of x.
    #[serde(skip)]
    pub x_digits: usize,
    /// Decimals of y.
    #[serde(skip)]
    pub y_digits: usize,
}

/// From player to player: one pair of means each.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BetweenView {
    /// Players.
    pub players: usize,
    /// Pearson's correlation.
    pub r: Span,
    /// Spearman's.
    pub rank: Span,
    /// Probability of the first where there is nothing.
    pub p: f64,
    /// Probability of the second, by shuffling.
    pub p_rank: f64,
    /// True where all orders were gone through.
    pub p_rank_exact: bool,
    /// The first over all that was looked at.
    pub p_adjusted: f64,
    /// Rise of y for each unit of x.
    pub slope: Span,
    /// The same, its interval by drawing players again.
    pub slope_again: Span,
    /// y at x = 0.
    pub intercept: f64,
    /// A correlation under this would not have been seen, even alone.
    pub least_seen: f64,
    /// What was found.
    pub found: Found,
}

/// From swing to swing: pairs about the means of their session (and club).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WithinView {
    /// Players.
    pub players: usize,
    /// Sessions, apart by club.
    pub cells: usize,
    /// Swings in them.
    pub swings: usize,
    /// The repeated-measures correlation.
    pub r: Span,
    /// Its degrees of freedom.
    pub degrees: f64,
    /// Probability of such a slope where there is nothing: of players where there are several, else of swings.
    pub p: f64,
    /// The same of the correlation, as if all players followed one slope: every swing counts.
    pub p_of_swings: f64,
    /// The same over all that was looked at.
    pub p_adjusted: f64,
    /// Rise of y for each unit of x on the whole; the interval minds that players may follow slopes of their own.
    pub slope: Span,
    /// The same as if all players followed one slope.
    pub slope_of_swings: Span,
    /// The same, its interval by drawing players again.
    pub slope_again: Span,
    /// Players whose own line rises.
    pub rising: usize,
    /// Players who have a line.
    pub sloped: usize,
    /// What was found.
    pub found: Found,
}

/// A player: means and own line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Point {
    /// Alias.
    pub player: String,
    /// Swings with both figures.
    pub swings: usize,
    /// Mean of x.
    pub x: f64,
    /// Mean of y.
    pub y: f64,
    /// Slope of the player's own swings.
    pub slope: f64,
    /// Scatter of the player's x.
    #[serde(skip)]
    pub x_scatter: f64,
}

/// Pairs that have a plot.
const PLOTS: usize = 3;

impl Numbers for Relate {
    const SCHEMA: &'static str = "underfoot.relate/1";

    fn text(&self) -> String {
        let mut out = self.table();
        if self.pairs.len() <= PLOTS {
            for pair in &self.pairs {
                out.push_str(&scatter::text(self, pair));
            }
        }
        out
    }
}

impl Relate {
    fn table(&self) -> String {
        use Align::{Left, Right};
        let mut table = Table::new(&[Left, Right, Left, Right, Right, Left, Right]);
        let interval = format!("{} %", plain(100.0 * self.level, 0));
        let slope = if self.unit.is_empty() { "slope".to_string() } else { format!("slope, {}", self.unit) };
        let over = format!("p over {}", self.looked_at);
        table.row(["", "r", &interval, "ranks", &slope, &interval, &over]);
        table.rule();
        for (k, pair) in self.pairs.iter().enumerate() {
            table.row([mark(k)]);
            if let Some(b) = &pair.between {
                let name = format!("  between {}", count(b.players, "player"));
                table.row(cells(name, &b.r, b.rank.value, b.slope.times(pair.step), b.p_adjusted));
            }
            if let Some(w) = &pair.within {
                let name = format!("  within, {}", count(w.swings, "swing"));
                table.row(cells(name, &w.r, f64::NAN, w.slope.times(pair.step), w.p_adjusted));
            }
        }
        // Names are longer than a column should be, and stand over it.
        let mut out = table.text();
        for (k, pair) in self.pairs.iter().enumerate() {
            let head = format!("  {}, for {} more", pair.label, pair.step_text());
            out =
                out.replacen(&format!("  {}\n", mark(k)), &format!("{}\n", wrapped(&head, "  ", "    ")), 1);
        }
        out + "\n"
    }
}

/// Where the name of a pair will stand.
fn mark(k: usize) -> String {
    format!("§{k}")
}

fn cells(name: String, r: &Span, rank: f64, slope: Span, p: f64) -> [String; 7] {
    let (digits, two) = (digits_of(&slope), |v| signed(v, 2));
    let of_slope = |v| signed(v, digits);
    let rank = if rank.is_nan() { String::new() } else { two(rank) };
    [name, two(r.value), r.limits(&two), rank, of_slope(slope.value), slope.limits(&of_slope), probability(p)]
}

impl Pair {
    /// "10 %BW", "0.1".
    pub(super) fn step_text(&self) -> String {
        let places = (-signal::math::log10(self.step)).round().max(0.0) as usize;
        with_unit(&plain(self.step, places), &self.unit)
    }
}
