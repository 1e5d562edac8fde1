//! The numbers of `underfoot agree`, and the tables they make.
use crate::claim::frame::{Frame, letter, span};
use crate::claim::span::{Span, digits_of, probability, with_unit};
use crate::claim::{Numbers, wrapped};
use crate::quantity::{count, plain, signed};
use crate::table::{Align, Table};
use serde::Serialize;

/// Whether two ways of recording agree.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Agree {
    /// Level of every interval.
    pub level: f64,
    /// Name of the first side.
    pub first: String,
    /// Name of the second side.
    pub second: String,
    /// In the order asked for.
    pub measures: Vec<MeasureAgree>,
}

/// How large the largest plausible disagreement is beside what one swing scatters by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Size {
    /// Not more than rounding.
    Same,
    /// Up to a third.
    Small,
    /// Up to as much.
    OfTheSize,
    /// More.
    Larger,
    /// The scatter of swings is not known.
    NotKnown,
}

/// Agreement of one measure; everything in its unit, first less second.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasureAgree {
    /// Id of the metric or outcome.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Unit; empty for plain numbers.
    pub unit: String,
    /// Pairs with both values.
    pub pairs: usize,
    /// Players they are of.
    pub players: usize,
    /// True where players are the units; false where pairs are (fewer than three players).
    pub by_player: bool,
    /// Mean difference.
    pub bias: Span,
    /// Standard deviation of single differences.
    pub sd: f64,
    /// Lower limit of agreement.
    pub lower: Span,
    /// Upper limit of agreement.
    pub upper: Span,
    /// The largest disagreement of a single swing that is still plausible.
    pub largest: f64,
    /// Scatter of swings about the mean of their session (SEM), both sides together.
    pub sem: f64,
    /// What 19 of 20 single swings lie within: 1.96·SEM.
    pub one_swing: f64,
    /// The largest disagreement beside it.
    pub size: Size,
    /// Least and greatest mean of a pair.
    pub sizes: (f64, f64),
    /// The difference over the size.
    pub bias_trend: TrendView,
    /// How far differences lie from that line, over the size.
    pub scatter_trend: TrendView,
    /// Limits of agreement at the least size, were bias and scatter to follow it.
    pub at_least: AtSize,
    /// The same at the greatest size.
    pub at_most: AtSize,
    /// Aliases of the players, as dots name them by number.
    pub names: Vec<String>,
    /// Every pair.
    pub dots: Vec<Dot>,
    /// Decimals that go with the scatter of differences.
    #[serde(skip)]
    pub digits: usize,
    /// Decimals of the measure.
    #[serde(skip)]
    pub decimals: usize,
}

/// A line over the size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TrendView {
    /// Rise for each unit of size.
    pub slope: Span,
    /// Value at size 0.
    pub intercept: f64,
    /// Probability where there is none.
    pub p: f64,
}

/// Limits of agreement at a size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AtSize {
    /// The size.
    pub size: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

/// A pair.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dot {
    /// Number of the player, from 0.
    pub player: usize,
    /// Mean of the two.
    pub size: f64,
    /// First less second.
    pub difference: f64,
}

/// Measures that have a plot.
const PLOTS: usize = 2;

impl Numbers for Agree {
    const SCHEMA: &'static str = "underfoot.agree/1";

    fn text(&self) -> String {
        let mut out = String::new();
        for of in &self.measures {
            out.push_str(&of.block());
            if self.measures.len() <= PLOTS {
                out.push_str(&of.plot(&self.first, &self.second));
            }
        }
        out
    }
}

impl MeasureAgree {
    fn block(&self) -> String {
        use Align::{Left, Right};
        let unit = if self.unit.is_empty() { String::new() } else { format!(", {}", self.unit) };
        let mut out = format!(
            "  {}{unit}   ({} of {}; from {} to {})\n",
            self.label,
            count(self.pairs, "pair"),
            count(self.players, "player"),
            plain(self.sizes.0, self.decimals),
            plain(self.sizes.1, self.decimals)
        );
        if self.size == Size::Same {
            return format!("{out}    the same, to rounding\n\n");
        }
        let mut table = Table::new(&[Left, Right, Left]);
        let one = |v: f64| signed(v, self.digits);
        let limits = |span: &Span| {
            let text = span.limits(&one);
            if text.is_empty() { text } else { format!("({text})") }
        };
        table.row(["mean difference".into(), one(self.bias.value), limits(&self.bias)]);
        table.row(["lower limit of agreement".into(), one(self.lower.value), limits(&self.lower)]);
        table.row(["upper limit of agreement".into(), one(self.upper.value), limits(&self.upper)]);
        table.row(["one swing scatters by, ±".into(), plain(self.one_swing, self.digits), String::new()]);
        let slope = |of: &TrendView| {
            let digits = digits_of(&of.slope);
            let told = |v: f64| signed(v, digits);
            let limits = of.slope.limits(&told);
            (told(of.slope.value), format!("({limits}), p {}", probability(of.p)))
        };
        for (name, of) in [
            ("difference, for each 1 of size", &self.bias_trend),
            ("its scatter, for each 1 of size", &self.scatter_trend),
        ] {
            if !of.p.is_nan() {
                let (value, rest) = slope(of);
                table.row([name.to_string(), value, rest]);
            }
        }
        out.push_str(&table.text().lines().map(|l| format!("  {l}\n")).collect::<String>());
        out + "\n"
    }

    /// Differences over sizes, with the mean difference and its limits.
    fn plot(&self, first: &str, second: &str) -> String {
        let (sizes, differences) = (
            span(self.dots.iter().map(|d| d.size)),
            span(self.dots.iter().map(|d| d.difference).chain([self.lower.value, self.upper.value, 0.0])),
        );
        let Some(mut frame) = Frame::new(sizes, differences) else { return String::new() };
        for dot in &self.dots {
            frame.set(dot.size, dot.difference, letter(dot.player), true);
        }
        for (y, mark) in
            [(self.bias.value, '─'), (self.lower.value, '·'), (self.upper.value, '·'), (0.0, '╌')]
        {
            frame.level(y, mark);
        }
        let names: Vec<String> =
            self.names.iter().enumerate().map(|(k, n)| format!("{} {n}", letter(k))).collect();
        let legend = format!(
            "a letter a pair, ─ mean difference, · limits of agreement, ╌ no difference: {}",
            names.join(" · ")
        );
        format!(
            "{}{}\n\n",
            frame.text(
                &with_unit(&format!("mean of both, {}", self.label), ""),
                &with_unit(&format!("{first} less {second},"), &self.unit),
                (self.decimals, self.digits)
            ),
            wrapped(&legend, "  ", "  ")
        )
    }
}
