//! The floor as a plan drawing in text: plates to scale, target to the right, and who stands where.
use glam::DVec3;
use mechanics::wrench::Surface;

/// Something to mark on the plan: one character at a place of the golf frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What to draw.
    pub sign: char,
    /// Where, golf frame, m.
    pub place_m: DVec3,
}

/// Columns of the drawing.
const WIDTH: usize = 60;
/// A character is about twice as tall as it is wide.
const ASPECT: f64 = 2.0;

/// Draws plates (name in the middle) and marks. x (target) runs to the right, y up the page.
pub fn plan(plates: &[(String, Surface)], marks: &[Mark]) -> String {
    let corners = || plates.iter().flat_map(|(_, s)| s.corners_m).chain(marks.iter().map(|m| m.place_m));
    let low = corners().filter(|c| c.is_finite()).fold(DVec3::INFINITY, DVec3::min);
    let high = corners().filter(|c| c.is_finite()).fold(DVec3::NEG_INFINITY, DVec3::max);
    let size = high - low;
    if !(size.x > 0.0 && size.y > 0.0) {
        return "  (no plates to draw)\n".into();
    }
    // Metres a column: wide rigs fill the width, tall ones at most 24 lines.
    let metres = (size.x / (WIDTH - 1) as f64).max(size.y / (24.0 * ASPECT));
    let columns = (size.x / metres).round() as usize + 1;
    let lines = (size.y / (metres * ASPECT)).round() as usize + 1;
    let mut canvas = vec![vec![' '; columns]; lines];
    let cell = |p: DVec3| {
        let column = ((p.x - low.x) / metres).round();
        let line = ((high.y - p.y) / (metres * ASPECT)).round();
        (line.clamp(0.0, (lines - 1) as f64) as usize, column.clamp(0.0, (columns - 1) as f64) as usize)
    };
    for (name, surface) in plates {
        outline(surface, &cell, &mut canvas);
        let (line, column) = cell(surface.centre_m);
        for (k, c) in name.chars().enumerate() {
            if let Some(slot) = canvas[line].get_mut(column + k) {
                *slot = c;
            }
        }
    }
    for mark in marks.iter().filter(|m| m.place_m.is_finite()) {
        let (line, column) = cell(mark.place_m);
        canvas[line][column] = mark.sign;
    }
    let mut out = String::new();
    for line in canvas {
        out.push_str("  ");
        out.push_str(line.iter().collect::<String>().trim_end());
        out.push('\n');
    }
    out.push_str(&format!("  {}\n", scale(metres, columns)));
    out
}

/// A bar of a round length and the target's direction.
fn scale(metres: f64, columns: usize) -> String {
    let bar = [1.0, 0.5, 0.2, 0.1].into_iter().find(|m| m / metres <= columns as f64 * 0.6).unwrap_or(0.1);
    let cells = ((bar / metres).round() as usize).max(2);
    format!("├{}┤ {bar} m      target →", "─".repeat(cells.saturating_sub(1)))
}

fn outline(surface: &Surface, cell: &dyn Fn(DVec3) -> (usize, usize), canvas: &mut [Vec<char>]) {
    let corners = surface.corners_m;
    let cells = corners.map(cell);
    let level = |a: (usize, usize), b: (usize, usize)| a.0 == b.0 || a.1 == b.1;
    let square = (0..4).all(|k| level(cells[k], cells[(k + 1) % 4]));
    for k in 0..4 {
        let (a, b) = (corners[k], corners[(k + 1) % 4]);
        let (from, to) = (cells[k], cells[(k + 1) % 4]);
        let steps = from.0.abs_diff(to.0).max(from.1.abs_diff(to.1)).max(1);
        for step in 0..=steps {
            let (line, column) = cell(a.lerp(b, step as f64 / steps as f64));
            canvas[line][column] = match (square, from.0 == to.0) {
                (false, _) => '·',
                (true, true) => '─',
                (true, false) => '│',
            };
        }
    }
    if square {
        let top = cells.iter().map(|c| c.0).min().unwrap_or(0);
        let left = cells.iter().map(|c| c.1).min().unwrap_or(0);
        for (line, column) in cells {
            canvas[line][column] = match (line == top, column == left) {
                (true, true) => '┌',
                (true, false) => '┐',
                (false, true) => '└',
                (false, false) => '┘',
            };
        }
    }
}
