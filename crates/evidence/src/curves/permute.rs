//! How high a statistic rises anywhere along a curve when rows are rearranged.
//!
//! With the sum of squares of a node fixed, every statistic here but Welch's rises with a plain sum over the rows: a correlation
//! r, or a share R² of the squares. So the rows are brought to a scale on which that sum *is* r, and the search for the
//! highest node needs additions only.
//!
//! Where two groups differ in scatter their curves must not change places: what a small group of wide scatter lends to a large one
//! makes the rearrangements too narrow, and even Welch's t then claims two or three times too often (1,000 made-up trials, 8 curves
//! of twice the scatter against 16: 91 and 128 claims at 5 %). So Welch's t keeps every curve in its group and turns the signs of the
//! residuals about the group's mean.
use super::clusters::beyond;
use super::comparison::Prepared;
use super::field::Kind;
use super::fit::{Design, centre};
use super::rearrange::Ways;
use super::test::{Rule, Tails};
use crate::chance::{BLOCK, Chance};
use crate::permutation::Permutation;
use crate::work::Spread;

/// Nodes that are summed together, so that sums stay in registers.
const TILE: usize = 16;

/// Heights this close to the one that happened count as high: sums in another order differ in their last digits.
const SLACK: f64 = 1e-9;

/// What came of it.
pub(super) struct Permuted {
    /// Rearrangements looked at, the one that happened among them.
    pub looked_at: usize,
    /// True where these are all there are.
    pub exact: bool,
    /// Share of them whose highest node is as high as that of the curve that happened.
    pub p: f64,
    /// The least p that any curve could get of these.
    pub least_p: f64,
    /// The height that is passed by no more than a share alpha; infinite where they are too few.
    pub threshold: f64,
    /// Largest masses beyond the threshold, of those rearrangements that pass it.
    masses: Vec<f64>,
}

impl Permuted {
    /// Share of rearrangements with as much mass beyond the threshold in one stretch.
    pub fn p_of_mass(&self, mass: f64) -> f64 {
        let as_much = self.masses.iter().filter(|m| **m >= mass - SLACK * (1.0 + mass)).count();
        as_much as f64 / self.looked_at as f64
    }
}

/// Rows on the scale of r, tile by tile of the tested nodes; row k of tile i is at i · rows + k. Nodes that fill the last tile are 0.
struct Engine<'a> {
    of: &'a Prepared,
    ways: Ways,
    rule: Rule,
    rows: usize,
    tiles: Vec<[f64; TILE]>,
    /// Numbers of a regression, likewise.
    numbers: Vec<f64>,
    /// Welch: the squares of the first and the second group, a pair a tile.
    squares: Vec<[[f64; TILE]; 2]>,
}

/// A tile's sum over rows named in slots.
fn sum(tile: &[[f64; TILE]], slots: &[u32]) -> [f64; TILE] {
    let mut all = [0.0; TILE];
    for row in slots.iter().filter_map(|s| tile.get(*s as usize)) {
        for (a, x) in all.iter_mut().zip(row) {
            *a += x;
        }
    }
    all
}

impl<'a> Engine<'a> {
    fn new(of: &'a Prepared, rule: Rule) -> Self {
        let rows = of.rows.len();
        let n = rows as f64;
        let nodes: Vec<usize> = of.tested.iter().cloned().flatten().collect();
        let is_welch = matches!(of.design, Design::Welch(_));
        let mut tiles = vec![[0.0; TILE]; rows * nodes.len().div_ceil(TILE)];
        let mut squares_of = vec![[[0.0; TILE]; 2]; if is_welch { nodes.len().div_ceil(TILE) } else { 0 }];
        let mut column = vec![0.0; rows];
        for (k, q) in nodes.iter().enumerate() {
            for (place, row) in column.iter_mut().zip(&of.rows) {
                *place = row.get(*q).copied().unwrap_or(f64::NAN);
            }
            match &of.design {
                Design::Mean => {}
                Design::Within { units, sets } => {
                    for unit in 0..*units {
                        let own = column.iter().skip(unit).step_by(*units).sum::<f64>() / *sets as f64;
                        column.iter_mut().skip(unit).step_by(*units).for_each(|v| *v -= own);
                    }
                }
                Design::Welch(first) => {
                    let (a, b) = column.split_at_mut((*first).min(rows));
                    centre(a);
                    centre(b);
                }
                _ => {
                    centre(&mut column);
                }
            }
            let squares: f64 = column.iter().map(|v| v * v).sum();
            let scale = match &of.design {
                Design::Mean => 1.0 / n.sqrt(),
                // The smaller group is summed; the other's sum is its negative.
                Design::Two(first) => {
                    let (a, b) = (*first as f64, n - *first as f64);
                    (1.0 / a + 1.0 / b).sqrt() * if a <= b { 1.0 } else { -1.0 }
                }
                _ => 1.0,
            };
            let (tile, lane) = (k / TILE, k % TILE);
            if let (Design::Welch(first), Some(pair)) = (&of.design, squares_of.get_mut(tile)) {
                let own: f64 = column.iter().take(*first).map(|v| v * v).sum();
                for (group, v) in pair.iter_mut().zip([own / squares, 1.0 - own / squares]) {
                    if let Some(x) = group.get_mut(lane) {
                        *x = v;
                    }
                }
            }
            for (place, v) in tiles.iter_mut().skip(tile * rows).zip(&column) {
                if let Some(x) = place.get_mut(lane) {
                    *x = scale * v / squares.sqrt();
                }
            }
        }
        let numbers = match &of.design {
            Design::Line(centred) => {
                let length = centred.iter().map(|x| x * x).sum::<f64>().sqrt();
                centred.iter().map(|x| x / length).collect()
            }
            _ => Vec::new(),
        };
        Self { of, ways: Ways::of(&of.design, rows), rule, rows, tiles, numbers, squares: squares_of }
    }

    /// r, R² or Welch's t of the nodes of tile number `which`. `signs`: +1 and −1 of the slots, for rows that keep or turn theirs.
    fn tile(&self, which: usize, slots: &[u32], signs: &[f64]) -> [f64; TILE] {
        let tile = self.tiles.chunks_exact(self.rows).nth(which).unwrap_or(&[]);
        match &self.of.design {
            Design::Mean => weighted(tile.iter().zip(signs)),
            Design::Line(_) => {
                weighted(slots.iter().filter_map(|s| tile.get(*s as usize)).zip(&self.numbers))
            }
            Design::Two(first) => {
                let (a, b) = slots.split_at_checked(*first).unwrap_or((slots, &[]));
                sum(tile, if a.len() <= b.len() { a } else { b })
            }
            Design::Groups(sizes) => shares(tile, slots, sizes.iter().copied()),
            Design::Within { units, sets } => shares(tile, slots, std::iter::repeat_n(*units, *sets)),
            Design::Welch(first) => {
                let (rows, signs) = (tile.split_at_checked(*first), signs.split_at_checked(*first));
                let (Some((a, b)), Some((of_a, of_b))) = (rows, signs) else { return [f64::NAN; TILE] };
                let sums = [weighted(a.iter().zip(of_a)), weighted(b.iter().zip(of_b))];
                let squares = self.squares.get(which).copied().unwrap_or([[f64::NAN; TILE]; 2]);
                welch(sums, squares, [a.len() as f64, b.len() as f64])
            }
        }
    }

    /// Where the rule looks for the highest: |r| to both sides, otherwise as it is.
    fn score(&self, slots: &[u32], signs: &mut Vec<f64>) -> f64 {
        self.signs(slots, signs);
        let both = self.rule.tails == Tails::Both;
        let mut most = [f64::NEG_INFINITY; TILE];
        for which in 0..self.tiles.len() / self.rows {
            let here = self.tile(which, slots, signs);
            for (m, v) in most.iter_mut().zip(here) {
                let v = if both { v.abs() } else { v };
                *m = if v > *m { v } else { *m };
            }
        }
        most.into_iter().fold(f64::NEG_INFINITY, f64::max)
    }

    fn signs(&self, slots: &[u32], signs: &mut Vec<f64>) {
        if let Ways::Signs(_) = self.ways {
            signs.clear();
            signs.extend(slots.iter().map(|s| if *s == 0 { 1.0 } else { -1.0 }));
        }
    }

    /// The statistic of a score.
    fn statistic(&self, score: f64) -> f64 {
        match (&self.of.design, self.of.kind) {
            (Design::Welch(_), _) => score,
            (_, Kind::T(degrees)) => score * (degrees / (1.0 - score * score).max(0.0)).sqrt(),
            (_, Kind::F(above, below)) => score / above / ((1.0 - score).max(0.0) / below),
            (_, Kind::ChiSquare(_)) => f64::NAN,
        }
    }

    /// The largest mass beyond a threshold in one stretch.
    fn mass(&self, slots: &[u32], signs: &mut Vec<f64>, threshold: f64, curve: &mut [f64]) -> f64 {
        self.signs(slots, signs);
        let mut nodes = self.of.tested.iter().cloned().flatten();
        for which in 0..self.tiles.len() / self.rows {
            // The last tile holds more places than there are nodes.
            for (v, q) in self.tile(which, slots, signs).into_iter().zip(&mut nodes) {
                if let Some(place) = curve.get_mut(q) {
                    *place = self.statistic(v);
                }
            }
        }
        largest(curve, self.of, threshold, self.rule.tails)
    }

    /// Goes through the rearrangements of a block.
    fn block(&self, block: usize, plan: &Plan, mut each: impl FnMut(usize, &[u32])) {
        let mut slots = self.ways.happened();
        let mut chance = Chance::new(plan.seed, block);
        for k in block * BLOCK..((block + 1) * BLOCK).min(plan.count) {
            if plan.exact {
                self.ways.numbered(k, &mut slots);
            } else {
                self.ways.draw(&mut chance, &mut slots);
            }
            each(k - block * BLOCK, &slots);
        }
    }
}

/// Which rearrangements are looked at.
struct Plan {
    exact: bool,
    count: usize,
    seed: u64,
}

/// A tile's sum over rows, each with a weight.
fn weighted<'a>(rows: impl Iterator<Item = (&'a [f64; TILE], &'a f64)>) -> [f64; TILE] {
    let mut all = [0.0; TILE];
    for (row, weight) in rows {
        for (a, x) in all.iter_mut().zip(row) {
            *a += weight * x;
        }
    }
    all
}

/// Share of the squares that lies between sets of these sizes.
fn shares(tile: &[[f64; TILE]], slots: &[u32], sizes: impl Iterator<Item = usize>) -> [f64; TILE] {
    let mut all = [0.0; TILE];
    let mut rest = slots;
    for size in sizes {
        let Some((set, others)) = rest.split_at_checked(size) else { break };
        let own = sum(tile, set);
        for (a, s) in all.iter_mut().zip(own) {
            *a += s * s / size as f64;
        }
        rest = others;
    }
    all
}

/// Welch's t of two groups from their sums and their squares.
fn welch(sums: [[f64; TILE]; 2], squares: [[f64; TILE]; 2], [n, m]: [f64; 2]) -> [f64; TILE] {
    let mut all = [0.0; TILE];
    let ([a, b], [of_a, of_b]) = (sums, squares);
    for ((((t, a), b), of_a), of_b) in all.iter_mut().zip(a).zip(b).zip(of_a).zip(of_b) {
        let variance = (of_a - a * a / n) / (n * (n - 1.0)) + (of_b - b * b / m) / (m * (m - 1.0));
        *t = (a / n - b / m) / variance.sqrt();
    }
    all
}

/// Highest of a curve where the rule looks.
fn highest(curve: &[f64], tails: Tails) -> f64 {
    let heights = curve.iter().map(|v| if tails == Tails::Both { v.abs() } else { *v });
    heights.filter(|v| !v.is_nan()).fold(f64::NEG_INFINITY, f64::max)
}

/// Rearranges the rows of a question.
///
/// Source: Fisher1935, Pitman1937; the highest of all nodes NicholsHolmes2002; mass of a stretch Bullmore1999; drawn rearrangements as
/// PhipsonSmyth2010 ((b + 1)/(m + 1), never 0); Welch's t by the signs of each group's residuals Winkler2014. Checked: every
/// rearrangement written out (tests/curves_permutation.rs); how often it claims falsely (tests/curves_null.rs); spm1d
/// (checks/curves_peer.py).
pub(super) fn permuted(of: &Prepared, rule: Rule, how: &Permutation, hands: &impl Spread) -> Permuted {
    let engine = Engine::new(of, rule);
    let all = engine.ways.count().filter(|c| *c <= how.most);
    let plan = Plan { exact: all.is_some(), count: all.unwrap_or(how.most), seed: how.seed };
    // Residuals as they are have no difference: what happened is none of their rearrangements, and joins them.
    let of_residuals = matches!(of.design, Design::Welch(_));
    let joins = of_residuals || !plan.exact;
    let blocks = plan.count.div_ceil(BLOCK);
    let scores = hands.each(blocks, |block| {
        let mut signs = Vec::new();
        let mut scores = Vec::with_capacity(BLOCK);
        engine.block(block, &plan, |_, slots| scores.push(engine.score(slots, &mut signs)));
        scores
    });
    let happened = if of_residuals {
        highest(&of.statistic, rule.tails)
    } else {
        engine.score(&engine.ways.happened(), &mut Vec::new())
    };
    let mut ordered: Vec<f64> = scores.iter().flatten().copied().collect();
    if joins {
        ordered.push(happened);
    }
    let looked_at = ordered.len();
    let near = |score: f64| score - SLACK * (1.0 + score.abs());
    let share = |of: f64| ordered.iter().filter(|s| **s >= near(of)).count() as f64 / looked_at as f64;
    let most = ordered.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (p, least_p) = (share(happened), if joins { 1.0 / looked_at as f64 } else { share(most) });
    // As many may pass as alpha allows; the next is the height they must pass.
    let may = (rule.alpha * looked_at as f64 + SLACK) as usize;
    let next = if may < looked_at {
        let (_, next, _) = ordered.select_nth_unstable_by(may, |a, b| b.total_cmp(a));
        // Mirror images differ in their last digits only: none of them passes the other.
        *next + SLACK * (1.0 + next.abs())
    } else {
        f64::NEG_INFINITY
    };
    let limit = if least_p > rule.alpha + SLACK { f64::INFINITY } else { next };
    let threshold = if limit == f64::INFINITY { limit } else { engine.statistic(limit) };
    let mut out = Permuted { looked_at, exact: plan.exact, p, least_p, threshold, masses: Vec::new() };
    if happened > limit {
        let masses = hands.each(blocks, |block| {
            let here = scores.get(block).map_or(&[][..], Vec::as_slice);
            let passes = |k: usize| here.get(k).is_some_and(|s| *s > limit);
            let mut found = Vec::new();
            if !here.iter().any(|s| *s > limit) {
                return found;
            }
            let (mut signs, mut curve) = (Vec::new(), vec![f64::NAN; of.nodes]);
            engine.block(block, &plan, |k, slots| {
                if passes(k) {
                    found.push(engine.mass(slots, &mut signs, threshold, &mut curve));
                }
            });
            found
        });
        out.masses = masses.concat();
        if joins {
            out.masses.push(largest(&of.statistic, of, threshold, rule.tails));
        }
    }
    out
}

/// The largest mass beyond a threshold in one stretch.
fn largest(curve: &[f64], of: &Prepared, threshold: f64, tails: Tails) -> f64 {
    let found = beyond(curve, &of.tested, threshold, tails == Tails::Both);
    found.iter().map(|c| c.mass).fold(0.0, f64::max)
}
