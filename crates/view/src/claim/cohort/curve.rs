//! Bands of curves, and how deep a curve lies in them: `underfoot cohort --curve`.
use super::numbers::figure_of;
use super::said::{depth_method, depth_words};
use super::way::{Alike, Ends, PlayersCurves, alike, by_player, caveats, counted, settings};
use super::{LEAST_OTHERS, SHOWN, said};
use crate::claim::curves::{AccountOf, NoCurves, WayOf};
use crate::claim::span::Span;
use crate::claim::table::Traces;
use crate::claim::{Answer, Numbers, Setting, wrapped};
use crate::plot::{self, Axes, Points};
use crate::quantity::{count, plain};
use crate::table::{Align, Table};
use evidence::Spread;
use evidence::cohort::bands::bands;
use evidence::cohort::boxplot::boxplot;
use evidence::cohort::centile::{needed, standing};
use evidence::cohort::depth::among_others;
use evidence::cohort::unusual::as_shallow;
use evidence::many::{Control, adjusted};
use serde::Serialize;
use signal::stats;
use std::collections::BTreeSet;

/// What is asked. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurveHow {
    /// Between which events.
    pub ends: Ends,
    /// Place every swing by itself, not a player's together.
    pub each: bool,
    /// Level of every interval.
    pub level: f64,
    /// Probability of chance under which a curve is called unusual.
    pub alpha: f64,
}

/// Curves beside fewer others have no fences: they would stand too near. Source: ours, from simulated curves
/// (docs/evidence/cohort.md).
const FENCED: usize = 20;

/// Bands of curves, and what was placed in them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CurveCohort {
    /// The quantity.
    pub account: AccountOf,
    /// From where to where.
    pub way: WayOf,
    /// Level of every interval.
    pub level: f64,
    /// What is counted: "player"; "swing" where all swings are of one player.
    pub unit: &'static str,
    /// How many.
    pub units: usize,
    /// How many are defined at each node.
    pub defined: Vec<usize>,
    /// Centiles, node by node.
    pub bands: Vec<BandOf>,
    /// What was placed.
    pub placed: Vec<CurvePlaced>,
    /// Where the quartiles lie farthest apart: %, the same in words, and both of them; null where there are none.
    pub widest: Option<WidestOf>,
    /// Decimals that are shown.
    #[serde(skip)]
    pub(super) digits: usize,
}

/// Where quartiles lie farthest apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WidestOf {
    /// Where, %.
    pub percent: f64,
    /// The same in words.
    pub instant: String,
    /// The lower and the upper quartile there.
    pub quartiles: [f64; 2],
}

/// A centile of curves.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BandOf {
    /// Per cent of the curves below it.
    pub percent: u8,
    /// How many it takes.
    pub needs: usize,
    /// Value and limits of its interval, a node each; null where too few are defined.
    pub value: Vec<f64>,
    /// See `value`.
    pub low: Vec<f64>,
    /// See `value`.
    pub high: Vec<f64>,
}

/// A curve that was placed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CurvePlaced {
    /// In words: "swing 12 of alder", "alder (6 swings)".
    pub who: String,
    /// The player.
    pub player: String,
    /// Numbers of its swings.
    pub swings: Vec<i64>,
    /// What it is beside: "means of players", "single swings".
    pub of: &'static str,
    /// Players (swings, where all are of one player) it is beside.
    pub units: usize,
    /// The curve.
    pub values: Vec<f64>,
    /// Its depth: share of nodes at which it lies between two others.
    pub depth: f64,
    /// The middle depth of the others.
    pub usual_depth: f64,
    /// Per cent of the others that lie less deep.
    pub percent: Span,
    /// How often one of them lies as little deep.
    pub p: f64,
    /// The same held over all that was looked at (Holm).
    pub p_adjusted: f64,
    /// The least that p can be beside so few.
    pub least: f64,
    /// Whether it is called unusual.
    pub unusual: bool,
    /// Stretches beyond the fences, %; null where there are too few for fences.
    pub beyond_percent: Option<Vec<[f64; 2]>>,
    /// The stretches in words.
    pub beyond: Option<String>,
}

/// Bands of curves of the first choice, and where the curves of the second lie, if there is one.
///
/// What is placed is compared with others than its player (where the reference is one player's own: with other swings).
/// Errors: as `underfoot curves` has them.
pub fn cohort_curve(
    sets: &[Traces],
    how: &CurveHow,
    spread: &impl Spread,
) -> Result<Answer<CurveCohort>, NoCurves> {
    let of = alike(sets, &how.ends)?;
    let (Some(first), Some(reference)) = (sets.first(), of.cut.sets.first()) else {
        return Err(NoCurves { what: "no choice of swings".into(), remedy: String::new() });
    };
    let players = by_player(&reference.curves);
    let placed_curves = of.cut.sets.get(1).map(|s| by_player(&s.curves));
    let own = match players.as_slice() {
        [one] => placed_curves.iter().flatten().all(|p| p.alias == one.alias),
        _ => false,
    };
    let chosen: BTreeSet<i64> = placed_curves.iter().flatten().flat_map(|p| p.swings.clone()).collect();
    let no_others = match players.as_slice() {
        [one] if placed_curves.is_some() && !own => Some(said::alone(&one.alias)),
        [one] if own && one.swings.iter().all(|s| chosen.contains(s)) => {
            Some(said::all_placed(one.swings.len()))
        }
        _ => None,
    };
    let rows: Vec<Vec<f64>> = if own {
        players.iter().flat_map(|p| p.curves.clone()).collect()
    } else {
        players.iter().map(PlayersCurves::mean).collect()
    };
    let shares = SHOWN.map(|p| f64::from(p) / 100.0);
    let found = bands(&rows, &shares, how.level, spread);
    let band = |(percent, b): (&u8, &evidence::cohort::Band)| BandOf {
        percent: *percent,
        needs: needed(b.share, how.level).unwrap_or(0),
        value: b.at.iter().map(|i| i.value).collect(),
        low: b.at.iter().map(|i| i.low).collect(),
        high: b.at.iter().map(|i| i.high).collect(),
    };
    let scatter: Vec<f64> = (0..how.ends.nodes)
        .map(|q| {
            stats::standard_deviation(&rows.iter().filter_map(|r| r.get(q).copied()).collect::<Vec<_>>())
        })
        .collect();
    let large = stats::quantile(&scatter, 0.75, &mut Vec::new());
    // Among single swings of one player a mean has no place.
    let mut placed = placed_curves.map_or(Vec::new(), |curves| {
        let groups = together(curves, how.each || own);
        groups.iter().map(|g| place(g, &players, own.then_some(&chosen), &of, how, spread)).collect()
    });
    let p: Vec<f64> = placed.iter().map(|c| c.p).collect();
    for (c, held) in placed.iter_mut().zip(adjusted(&p, Control::Holm)) {
        c.p_adjusted = held;
        c.unusual = held <= how.alpha;
    }
    let numbers = CurveCohort {
        account: AccountOf {
            id: first.account.id,
            label: first.account.label,
            unit: first.unit.clone(),
            point: first.account.id.starts_with("turn").then(|| first.point.clone()),
        },
        level: how.level,
        unit: if own { "swing" } else { "player" },
        units: rows.len(),
        defined: found.n.clone(),
        widest: widest(&found.bands, &of),
        bands: SHOWN.iter().zip(&found.bands).map(band).collect(),
        placed,
        // A third of a scatter is an uncertainty with one digit where the scatter has two.
        digits: if large > 0.0 { crate::quantity::decimals(large / 3.0) } else { 1 },
        way: of.shown.clone(),
    };
    let mut minded = said::whose(own);
    minded.extend(caveats(&of, &how.ends));
    minded.extend(said::curve_caveats(&numbers, how.alpha));
    let mut left_out = of.left_out.clone();
    left_out.extend(sets.iter().flat_map(|s| s.absent.clone()));
    let mut chosen = vec![Setting::of("level", how.level)];
    if !numbers.placed.is_empty() {
        chosen.push(Setting::of("alpha", how.alpha));
    }
    chosen.extend(settings(&of, &how.ends));
    Ok(Answer {
        schema: CurveCohort::SCHEMA,
        question: said::curve_question(sets, &numbers),
        verdict: no_others.unwrap_or_else(|| depth_words(&numbers)),
        counted: counted(&reference.curves),
        left_out,
        method: depth_method(&numbers),
        settings: chosen,
        caveats: minded,
        numbers,
    })
}

fn widest(bands: &[evidence::cohort::Band], of: &Alike) -> Option<WidestOf> {
    let find = |share: f64| bands.iter().find(|b| b.share == share);
    let (lower, upper) = (find(0.25)?, find(0.75)?);
    let each = lower.at.iter().zip(&upper.at).map(|(l, u)| [l.value, u.value]).zip(&of.shown.percent);
    let known = each.filter(|([l, u], _)| (u - l).is_finite());
    let most = known.fold(None, |best: Option<([f64; 2], f64)>, (q, percent)| match best {
        Some((b, _)) if b[1] - b[0] >= q[1] - q[0] => best,
        _ => Some((q, *percent)),
    });
    most.map(|(quartiles, percent)| WidestOf { percent, instant: of.way.instant(percent), quartiles })
}

/// What is placed together.
fn together(players: Vec<PlayersCurves>, each: bool) -> Vec<PlayersCurves> {
    if !each {
        return players;
    }
    let apart = |p: PlayersCurves| {
        let alias = p.alias;
        p.swings.into_iter().zip(p.curves).map(move |(swing, curve)| PlayersCurves {
            alias: alias.clone(),
            swings: vec![swing],
            curves: vec![curve],
        })
    };
    players.into_iter().flat_map(apart).collect()
}

/// `own`: all that are placed, where the reference is one player's own swings.
fn place(
    group: &PlayersCurves,
    players: &[PlayersCurves],
    own: Option<&BTreeSet<i64>>,
    of: &Alike,
    how: &CurveHow,
    spread: &impl Spread,
) -> CurvePlaced {
    let single = group.curves.len() == 1;
    let values = group.mean();
    // Single swings beside single swings: a mean scatters less.
    let mut subjects: Vec<Vec<Vec<f64>>> = if let Some(chosen) = own {
        let others = players.iter().flat_map(|p| p.swings.iter().zip(&p.curves));
        others.filter(|(s, _)| !chosen.contains(s)).map(|(_, c)| vec![c.clone()]).collect()
    } else {
        let others = players.iter().filter(|p| p.alias != group.alias);
        others.map(|p| if single { p.curves.clone() } else { vec![p.mean()] }).collect()
    };
    let units = subjects.len();
    if own.is_none() && units < LEAST_OTHERS {
        subjects.clear();
    }
    let fences = (units >= FENCED).then(|| boxplot(&subjects.concat(), spread)).flatten();
    subjects.push(vec![values.clone()]);
    let mut depths = among_others(&subjects, spread);
    let depth = depths.pop().and_then(|d| d.first().copied()).unwrap_or(f64::NAN);
    let beyond = fences.map(|f| stretches(&f.beyond(&values), &of.shown.percent));
    CurvePlaced {
        who: match group.swings.as_slice() {
            [one] => format!("swing {one} of {}", group.alias),
            many => format!("{} ({})", group.alias, count(many.len(), "swing")),
        },
        player: group.alias.clone(),
        swings: group.swings.clone(),
        of: if own.is_some() || single { "single swings" } else { "means of players" },
        units,
        values,
        depth,
        usual_depth: stats::median(&depths.concat(), &mut Vec::new()),
        percent: Span::from(standing(&depths, depth, how.level).share).times(100.0),
        p: if depths.is_empty() { f64::NAN } else { as_shallow(&depths, depth) },
        p_adjusted: f64::NAN,
        least: 1.0 / (units as f64 + 1.0),
        unusual: false,
        beyond: beyond
            .as_ref()
            .map(|s| s.iter().map(|[from, to]| of.way.stretch(*from, *to)).collect::<Vec<_>>().join(", ")),
        beyond_percent: beyond,
    }
}

/// Nodes in a row as stretches of the way, %.
fn stretches(nodes: &[usize], percent: &[f64]) -> Vec<[f64; 2]> {
    let at = |k: &usize| percent.get(*k).copied().unwrap_or(f64::NAN);
    let runs = nodes.chunk_by(|a, b| a + 1 == *b);
    runs.filter_map(|run| Some([at(run.first()?), at(run.last()?)])).collect()
}

impl Numbers for CurveCohort {
    const SCHEMA: &'static str = "underfoot.cohort-curve/1";

    fn text(&self) -> String {
        let mut out = format!(
            "  {}, {}   ({}; centiles)\n",
            self.account.label,
            self.account.unit,
            if self.unit == "swing" { "single swings" } else { "means of players" }
        );
        out.push_str(&self.table());
        if let Some(needs) = said::needs(
            self.unit,
            self.bands.iter().filter(|b| b.value.iter().all(|v| v.is_nan())).map(|b| (b.needs, b.percent)),
        ) {
            out.push_str(&format!("  {needs}\n"));
        }
        out.push('\n');
        out.push_str(&self.drawn());
        out.push('\n');
        if !self.placed.is_empty() {
            out.push_str(&self.depths());
            out.push('\n');
        }
        out
    }
}

impl CurveCohort {
    /// The first few of what was placed have a column and a mark of their own.
    fn marked(&self) -> impl Iterator<Item = (char, &CurvePlaced)> {
        ['o', 'x', '+'].into_iter().zip(&self.placed)
    }

    fn table(&self) -> String {
        let marked = self.marked().count();
        let mut table = Table::new(&vec![Align::Right; 3 + self.bands.len() + marked]);
        let mut head =
            vec!["%".to_string(), format!("s from {}", self.way.anchor), format!("{}s", self.unit)];
        head.extend(self.bands.iter().map(|b| b.percent.to_string()));
        head.extend(self.marked().map(|(mark, _)| mark.to_string()));
        table.row(head);
        let last = self.way.percent.len().saturating_sub(1);
        for tenth in 0..=10 {
            let k = tenth * last / 10;
            let at = |of: &[f64]| of.get(k).copied().unwrap_or(f64::NAN);
            let figure = |of: &[f64]| figure_of(at(of), self.digits, true);
            let mut row = vec![
                plain(at(&self.way.percent), 0),
                figure_of(at(&self.way.seconds), 2, true),
                self.defined.get(k).map_or(String::new(), usize::to_string),
            ];
            row.extend(self.bands.iter().map(|b| figure(&b.value)));
            row.extend(self.marked().map(|(_, c)| figure(&c.values)));
            table.row(row);
        }
        table.text()
    }

    fn drawn(&self) -> String {
        let x = &self.way.percent;
        let band = |percent: u8| self.bands.iter().find(|b| b.percent == percent).map(|b| b.value.as_slice());
        let shown = |percent: u8, mark: char| band(percent).map(|y| Points { mark, x, y });
        let sides =
            [5, 95, 25, 75].into_iter().filter_map(|p| shown(p, if p == 25 || p == 75 { '·' } else { '˙' }));
        let mut sets: Vec<Points> = sides.chain(shown(50, '•')).collect();
        sets.extend(self.marked().map(|(mark, c)| Points { mark, x, y: &c.values }));
        let upright: Vec<(f64, char)> = self.way.events.iter().map(|e| (e.percent, '┊')).collect();
        let name = format!("% of the way from {} to {}", self.way.from, self.way.to);
        let axes =
            Axes { width: 72, height: 16, x_name: &name, y_name: &self.account.unit, upright: &upright };
        let mut legend = vec!["• middle   · 25 and 75   ˙ 5 and 95".to_string()];
        legend.extend(self.marked().map(|(mark, c)| format!("{mark} {}", c.who)));
        if !self.way.events.is_empty() {
            legend.push(format!(
                "┊ {}",
                self.way.events.iter().map(|e| e.event).collect::<Vec<_>>().join(", ")
            ));
        }
        let drawn = plot::text(&axes, &sets);
        if drawn.is_empty() { drawn } else { format!("{drawn}    {}\n", legend.join("   ")) }
    }

    fn depths(&self) -> String {
        let mut table = Table::new(&[
            Align::Left,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Right,
            Align::Left,
        ]);
        table.row(["", "depth", "usual", "deeper than", "between", "of", "p, held over all", ""]);
        for c in &self.placed {
            let percent = |v: f64| if v.is_nan() { "—".into() } else { format!("{} %", plain(v, 0)) };
            table.row([
                c.who.clone(),
                plain(c.depth, 2),
                plain(c.usual_depth, 2),
                percent(c.percent.value),
                c.percent.limits(&|v| plain(v, 0)),
                count(c.units, self.unit),
                said::probability(c.p_adjusted),
                if c.unusual { "unusual".into() } else { String::new() },
            ]);
        }
        let mut out = table.text();
        for c in self.placed.iter().filter(|c| c.beyond_percent.as_ref().is_some_and(|b| !b.is_empty())) {
            let told = format!("{} is beyond what is usual {}", c.who, c.beyond.as_deref().unwrap_or(""));
            out.push_str(&format!(
                "{}
",
                wrapped(&told, "  ", "    ")
            ));
        }
        out
    }
}

#[cfg(test)]
#[path = "curve_tests.rs"]
mod tests;
