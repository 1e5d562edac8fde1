//! Swings over a frame: a letter a player, and the player's own line.
use super::numbers::{Pair, Relate};
use crate::claim::span::with_unit;
use crate::claim::wrapped;
use crate::quantity::plain;

/// Characters across, and lines.
const SIZE: (usize, usize) = (76, 20);

/// With more players than this, players' means stand instead of their swings.
const FEW: usize = 8;

/// Letters of players, in order; further ones share a mark.
const LETTERS: &str = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";

fn letter(k: usize) -> char {
    LETTERS.chars().nth(k).unwrap_or('*')
}

struct Frame {
    left: f64,
    right: f64,
    low: f64,
    high: f64,
    cells: Vec<Vec<char>>,
}

impl Frame {
    fn place(&self, x: f64, y: f64) -> Option<(usize, usize)> {
        let across = (x - self.left) / (self.right - self.left) * (SIZE.0 - 1) as f64;
        let down = (self.high - y) / (self.high - self.low) * (SIZE.1 - 1) as f64;
        let inside = |v: f64, most: usize| v > -0.5 && v < most as f64 - 0.5;
        (inside(across, SIZE.0) && inside(down, SIZE.1))
            .then(|| (down.round().max(0.0) as usize, across.round().max(0.0) as usize))
    }
    fn set(&mut self, x: f64, y: f64, mark: char, over: bool) {
        if let Some((row, column)) = self.place(x, y)
            && let Some(cell) = self.cells.get_mut(row).and_then(|line| line.get_mut(column))
            && (over || *cell == ' ')
        {
            *cell = mark;
        }
    }
}

/// The plot and who is who; empty where nothing is spread out.
pub(super) fn text(of: &Relate, pair: &Pair) -> String {
    let (few, points) = (pair.points.len() <= FEW, &pair.points);
    let shown: Vec<(f64, f64)> = if few {
        pair.x_values.iter().copied().zip(pair.y_values.iter().copied()).collect()
    } else {
        points.iter().map(|p| (p.x, p.y)).collect()
    };
    let span = |values: &mut dyn Iterator<Item = f64>| {
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let room = 0.04 * (high - low);
        (low - room, high + room)
    };
    let (left, right) = span(&mut shown.iter().map(|p| p.0));
    let (low, high) = span(&mut shown.iter().map(|p| p.1));
    if !(left < right && low < high) {
        return String::new();
    }
    let mut frame = Frame { left, right, low, high, cells: vec![vec![' '; SIZE.0]; SIZE.1] };
    let mut at = 0;
    for (k, point) in points.iter().enumerate() {
        let swings = at..at + point.swings;
        at += point.swings;
        if few {
            for (x, y) in shown.get(swings).unwrap_or_default() {
                frame.set(*x, *y, letter(k), true);
            }
        } else {
            frame.set(point.x, point.y, letter(k), true);
        }
    }
    // Own lines go behind: as far as the player's x scatters to either side.
    for point in points.iter().filter(|p| p.slope.is_finite() && p.x_scatter > 0.0) {
        let reach = if few { 2.0 } else { 1.0 } * point.x_scatter;
        for k in 0..=60 {
            let x = reach * (f64::from(k) / 30.0 - 1.0);
            frame.set(point.x + x, point.y + point.slope * x, '·', false);
        }
    }
    drawn(of, pair, &frame, few)
}

fn drawn(of: &Relate, pair: &Pair, frame: &Frame, few: bool) -> String {
    let named = |label: &str, unit: &str| {
        if unit.is_empty() { label.to_string() } else { format!("{label}, {unit}") }
    };
    let ends = [plain(frame.high, pair.y_digits), plain(frame.low, pair.y_digits)];
    let gutter = ends.iter().map(|e| e.chars().count()).max().unwrap_or(0);
    let mut out = format!("  {}\n", named(&of.label, &of.unit));
    for (k, line) in frame.cells.iter().enumerate() {
        let end = match k {
            0 => ends[0].as_str(),
            k if k + 1 == SIZE.1 => ends[1].as_str(),
            _ => "",
        };
        let line: String = line.iter().collect();
        out.push_str(format!("  {end:>gutter$} ┤{line}").trim_end());
        out.push('\n');
    }
    let (from, to) = (plain(frame.left, pair.x_digits), plain(frame.right, pair.x_digits));
    let rest = SIZE.0.saturating_sub(from.chars().count() + to.chars().count());
    let name = named(&pair.label, &pair.unit);
    out.push_str(&format!("  {:gutter$} └{}\n", "", "─".repeat(SIZE.0)));
    out.push_str(&format!("  {:gutter$}  {from}{name:^rest$}{to}\n", ""));
    let letters: Vec<String> =
        pair.points.iter().enumerate().map(|(k, p)| format!("{} {}", letter(k), p.player)).collect();
    let what = if few { "a letter a swing" } else { "a letter a player's mean" };
    let legend = format!("{what}, dots the player's own line: {}", letters.join(" · "));
    format!("{out}{}\n\n", wrapped(&legend, "  ", "  "))
}

/// "+1.5 m/s", as a slope is told.
pub(super) fn figure(value: f64, digits: usize, unit: &str) -> String {
    with_unit(&crate::quantity::signed(value, digits), unit)
}
