//! Swings over a frame: a letter a player, and the player's own line.
use super::numbers::{Pair, Relate};
use crate::claim::frame::{Frame, letter, span};
use crate::claim::span::with_unit;
use crate::claim::wrapped;

/// With more players than this, players' means stand instead of their swings.
const FEW: usize = 8;

/// The plot and who is who; empty where nothing is spread out.
pub(super) fn text(of: &Relate, pair: &Pair) -> String {
    let (few, points) = (pair.points.len() <= FEW, &pair.points);
    let shown: Vec<(f64, f64)> = if few {
        pair.x_values.iter().copied().zip(pair.y_values.iter().copied()).collect()
    } else {
        points.iter().map(|p| (p.x, p.y)).collect()
    };
    let (xs, ys) = (span(shown.iter().map(|p| p.0)), span(shown.iter().map(|p| p.1)));
    let Some(mut frame) = Frame::new(xs, ys) else { return String::new() };
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
        let end = |x: f64| (point.x + x, point.y + point.slope * x);
        frame.line(end(-reach), end(reach), '·');
    }
    let named = |label: &str, unit: &str| {
        if unit.is_empty() { label.to_string() } else { format!("{label}, {unit}") }
    };
    let letters: Vec<String> =
        points.iter().enumerate().map(|(k, p)| format!("{} {}", letter(k), p.player)).collect();
    let what = if few { "a letter a swing" } else { "a letter a player's mean" };
    let legend = format!("{what}, dots the player's own line: {}", letters.join(" · "));
    format!(
        "{}{}\n\n",
        frame.text(
            &named(&pair.label, &pair.unit),
            &named(&of.label, &of.unit),
            (pair.x_digits, pair.y_digits)
        ),
        wrapped(&legend, "  ", "  ")
    )
}

/// "+1.5 m/s", as a slope is told.
pub(super) fn figure(value: f64, digits: usize, unit: &str) -> String {
    with_unit(&crate::quantity::signed(value, digits), unit)
}
