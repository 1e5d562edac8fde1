//! A frame of characters with figures at its edges, into which marks are set.
use crate::quantity::plain;

/// Characters across, and lines.
const SIZE: (usize, usize) = (76, 20);

/// Letters of players, in order; further ones share a mark.
const LETTERS: &str = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";

/// The letter of a player by number.
pub fn letter(k: usize) -> char {
    LETTERS.chars().nth(k).unwrap_or('*')
}

/// A frame, lower left to upper right.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    left: f64,
    right: f64,
    low: f64,
    high: f64,
    cells: Vec<Vec<char>>,
}

impl Frame {
    /// A frame from place to place; `None` where it has no width or height.
    pub fn new((left, right): (f64, f64), (low, high): (f64, f64)) -> Option<Self> {
        let cells = vec![vec![' '; SIZE.0]; SIZE.1];
        (left < right && low < high).then_some(Self { left, right, low, high, cells })
    }

    /// Sets a mark; over what is there already, or only where nothing is. Outside the frame nothing happens.
    pub fn set(&mut self, x: f64, y: f64, mark: char, over: bool) {
        let across = ((x - self.left) / (self.right - self.left) * (SIZE.0 - 1) as f64).round();
        let down = ((self.high - y) / (self.high - self.low) * (SIZE.1 - 1) as f64).round();
        if across >= 0.0
            && down >= 0.0
            && let Some(cell) = self.cells.get_mut(down as usize).and_then(|l| l.get_mut(across as usize))
            && (over || *cell == ' ')
        {
            *cell = mark;
        }
    }

    /// A line across at a height, behind what is there.
    pub fn level(&mut self, y: f64, mark: char) {
        for k in 0..SIZE.0 {
            let x = self.left + (self.right - self.left) * k as f64 / (SIZE.0 - 1) as f64;
            self.set(x, y, mark, false);
        }
    }

    /// A straight line from point to point, behind what is there.
    pub fn line(&mut self, (x0, y0): (f64, f64), (x1, y1): (f64, f64), mark: char) {
        for k in 0..=SIZE.0 {
            let part = k as f64 / SIZE.0 as f64;
            self.set(x0 + part * (x1 - x0), y0 + part * (y1 - y0), mark, false);
        }
    }

    /// As text, with names over the y axis and under the x axis and figures at the ends of both; decimals of x and y.
    pub fn text(&self, x_name: &str, y_name: &str, (x_digits, y_digits): (usize, usize)) -> String {
        let ends = [plain(self.high, y_digits), plain(self.low, y_digits)];
        let gutter = ends.iter().map(|e| e.chars().count()).max().unwrap_or(0);
        let mut out = format!("  {y_name}\n");
        for (k, line) in self.cells.iter().enumerate() {
            let end = match k {
                0 => ends[0].as_str(),
                k if k + 1 == SIZE.1 => ends[1].as_str(),
                _ => "",
            };
            let line: String = line.iter().collect();
            out.push_str(format!("  {end:>gutter$} ┤{line}").trim_end());
            out.push('\n');
        }
        let (from, to) = (plain(self.left, x_digits), plain(self.right, x_digits));
        let rest = SIZE.0.saturating_sub(from.chars().count() + to.chars().count());
        out.push_str(&format!("  {:gutter$} └{}\n", "", "─".repeat(SIZE.0)));
        out.push_str(&format!("  {:gutter$}  {from}{x_name:^rest$}{to}\n", ""));
        out
    }
}

/// Least and greatest value with a little room around them.
pub fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let room = 0.04 * (high - low);
    (low - room, high + room)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn marks_stand_where_they_belong() {
        let mut frame = Frame::new((0.0, 10.0), (0.0, 1.0)).unwrap();
        frame.set(0.0, 0.0, 'a', true);
        frame.set(10.0, 1.0, 'b', true);
        frame.set(11.0, 0.5, 'x', true);
        frame.level(0.0, '-');
        let text = frame.text("n", "power", (0, 2));
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 23);
        assert!(lines.get(1).unwrap().starts_with("  1.00 ┤ ") && lines.get(1).unwrap().ends_with('b'));
        assert!(lines.get(20).unwrap().starts_with("  0.00 ┤a---") && !text.contains('x'));
        assert!(lines.last().unwrap().ends_with("10") && text.lines().all(|l| l.chars().count() <= 100));
        assert!(
            Frame::new((1.0, 1.0), (0.0, 1.0)).is_none() && Frame::new((0.0, f64::NAN), (0.0, 1.0)).is_none()
        );
        assert_eq!((letter(0), letter(27), letter(99)), ('a', 'B', '*'));
        assert_eq!(span([1.0, f64::NAN, 2.0].into_iter()), (0.96, 2.04));
    }
}
