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
    let defined =
        || sets.iter().flat_map(|s| s.x.iter().zip(s.y)).filter(|(x, y)| x.is_finite() && y.is_finite());
    let span = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let (left, right) = span(&mut defined().map(|(x, _)| *x));
    let (low, high) = span(&mut defined().map(|(_, y)| *y));
    let low = low.min(0.0);
    if !(left < right && low < high) || axes.width < 2 || axes.height < 2 {
        return String::new();
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
            *cell = mark;
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
    let figures = [plain(high, 2), plain(low, 2)];
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
    out
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
}
