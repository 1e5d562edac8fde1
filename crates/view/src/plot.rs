//! Small plots for a terminal: points and lines over a frame with figures at its edges.
use crate::quantity::plain;

/// One set of points.
#[derive(Clone, Debug)]
pub struct Points<'a> {
    /// Mark of each point.
    pub mark: char,
    /// Abscissae; as many as ordinates.
    pub x: &'a [f64],
    /// Ordinates; NaN is left out.
    pub y: &'a [f64],
}

/// A plot's frame.
#[derive(Clone, Debug)]
pub struct Axes<'a> {
    /// Characters across.
    pub width: usize,
    /// Lines.
    pub height: usize,
    /// Under the x axis.
    pub x_name: &'a str,
    /// Over the y axis.
    pub y_name: &'a str,
    /// Vertical lines: place and mark.
    pub upright: &'a [(f64, char)],
}

/// Sets the points in order; later ones cover earlier ones. Empty where no point is defined.
pub fn text(axes: &Axes, sets: &[Points]) -> String {
    let (_, low, high) = extent(sets);
    drawn(axes, sets, (low.min(0.0), high), 2, None).0
}

/// The same over the ordinates that there are, with 0 only where it lies within a third of their range; figures with so many
/// decimals, and "*" where letters of different sets fall on one character. True where they do.
pub fn fitted(axes: &Axes, sets: &[Points], decimals: usize) -> (String, bool) {
    let (_, low, high) = extent(sets);
    let near = |v: f64| v.abs() <= (high - low) / 3.0;
    let ends = (if near(low) { low.min(0.0) } else { low }, if near(high) { high.max(0.0) } else { high });
    drawn(axes, sets, ends, decimals, Some('*'))
}

/// Abscissae, the least and the greatest ordinate.
fn extent(sets: &[Points]) -> ((f64, f64), f64, f64) {
    let defined =
        || sets.iter().flat_map(|s| s.x.iter().zip(s.y)).filter(|(x, y)| x.is_finite() && y.is_finite());
    let span = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let (left, right) = span(&mut defined().map(|(x, _)| *x));
    let (low, high) = span(&mut defined().map(|(_, y)| *y));
    ((left, right), low, high)
}

fn drawn(
    axes: &Axes,
    sets: &[Points],
    (low, high): (f64, f64),
    decimals: usize,
    both: Option<char>,
) -> (String, bool) {
    let ((left, right), ..) = extent(sets);
    let mut met = false;
    if !(left < right && low < high) || axes.width < 2 || axes.height < 2 {
        return (String::new(), false);
    }
    let mut cells = vec![vec![' '; axes.width]; axes.height];
    let column = |x: f64| ((x - left) / (right - left) * (axes.width - 1) as f64).round();
    let row = |y: f64| ((high - y) / (high - low) * (axes.height - 1) as f64).round();
    let mut set = |x: f64, y: f64, mark: char| {
        let (c, r) = (column(x), row(y));
        if c >= 0.0
            && r >= 0.0
            && let Some(cell) = cells.get_mut(r as usize).and_then(|line| line.get_mut(c as usize))
        {
            *cell = match both {
                Some(both)
                    if mark.is_alphabetic() && (*cell == both || (cell.is_alphabetic() && *cell != mark)) =>
                {
                    met = true;
                    both
                }
                _ => mark,
            };
        }
    };
    for (x, mark) in axes.upright {
        for k in 0..axes.height {
            set(*x, high - (high - low) * k as f64 / (axes.height - 1) as f64, *mark);
        }
    }
    for points in sets {
        for (x, y) in points.x.iter().zip(points.y) {
            set(*x, *y, points.mark);
        }
    }
    let figures = [plain(high, decimals), plain(low, decimals)];
    let gutter = figures.iter().map(|f| f.chars().count()).max().unwrap_or(0);
    let mut out = format!("  {:gutter$}  {}\n", "", axes.y_name);
    for (k, line) in cells.iter().enumerate() {
        let figure = if k == 0 {
            figures[0].as_str()
        } else if k + 1 == axes.height {
            figures[1].as_str()
        } else {
            ""
        };
        let line: String = line.iter().collect();
        out.push_str(format!("  {figure:>gutter$} ┤{line}").trim_end());
        out.push('\n');
    }
    let (from, to) = (plain(left, 0), plain(right, 0));
    let rest = axes.width.saturating_sub(from.chars().count() + to.chars().count());
    out.push_str(&format!("  {:gutter$} └{}\n", "", "─".repeat(axes.width)));
    out.push_str(&format!("  {:gutter$}  {from}{:^rest$}{to}\n", "", axes.x_name));
    (out, met)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_plot() {
        let axes = Axes { width: 9, height: 3, x_name: "Hz", y_name: "N", upright: &[(4.0, '│')] };
        let points = Points { mark: '•', x: &[0.0, 4.0, 8.0, 2.0], y: &[2.0, 1.0, 0.0, f64::NAN] };
        let drawn = text(&axes, &[points]);
        assert_eq!(
            drawn,
            "        N\n  2.00 ┤•   │\n       ┤    •\n  0.00 ┤    │   •\n       └─────────\n        0  Hz   8\n"
        );
        assert_eq!(text(&axes, &[]), "");
    }

    /// Far from 0 the axis begins with the data, near it at 0; where two letters meet there is a star.
    #[test]
    fn a_plot_that_fits() {
        let axes = Axes { width: 3, height: 3, x_name: "", y_name: "N", upright: &[] };
        let x = [0.0, 1.0, 2.0];
        let far = [
            Points { mark: 'A', x: &x, y: &[100.0, 101.0, 102.0] },
            Points { mark: 'B', x: &x, y: &[102.0, 101.0, 101.0] },
        ];
        let (drawn, both) = fitted(&axes, &far, 0);
        assert!(both && drawn.contains("  102 ┤B A\n      ┤ *B\n  100 ┤A\n"), "{drawn}");
        let near = Points { mark: 'A', x: &x, y: &[1.0, 3.0, 5.0] };
        let (drawn, both) = fitted(&axes, &[near], 1);
        assert!(!both && drawn.contains("  0.0 ┤"), "{drawn}");
    }
}
