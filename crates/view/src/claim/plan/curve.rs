//! Power over the count, as a plot.
use super::numbers::MeasurePlan;
use crate::claim::frame::Frame;
use crate::claim::span::with_unit;
use crate::quantity::plain;

/// Counts go up to this at least, and at most.
const MOST: (usize, usize) = (10, 100);

/// The mark of a way to compare.
pub(super) fn mark(k: usize) -> char {
    "abcde".chars().nth(k).unwrap_or('*')
}

/// The plot of a measure; a letter a way to compare.
pub(super) fn text(of: &MeasurePlan) -> String {
    let largest = of.designs.iter().filter_map(|d| d.needed.get(of.told)?.count).max().unwrap_or(MOST.1);
    let most = (largest + largest / 4).clamp(MOST.0, MOST.1);
    let Some(mut frame) = Frame::new((1.0, most as f64), (0.0, 1.0)) else { return String::new() };
    for (k, design) in of.designs.iter().enumerate() {
        let points: Vec<(f64, f64)> =
            design.curve.iter().filter(|p| p.power.is_finite()).map(|p| (p.count as f64, p.power)).collect();
        for (x, y) in points.iter().filter(|p| p.0 <= most as f64) {
            frame.set(*x, *y, mark(k), true);
        }
        for pair in points.windows(2) {
            if let [first, second] = pair {
                frame.line(*first, *second, '·');
            }
        }
    }
    let change = with_unit(&plain(of.change(), of.digits), &of.unit);
    frame.text("count", &format!("chance of seeing a change of {change}; letters as above"), (0, 1)) + "\n"
}
