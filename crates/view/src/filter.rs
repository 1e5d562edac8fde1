//! What a residual analysis proposes, with its plot.
use crate::plot::{self, Axes, Points};
use crate::quantity::plain;
use crate::table::{Align, Table};
use serde::Serialize;
use swing::condition::{Component, Suggestion};

/// Everything `underfoot filter` says.
#[derive(Clone, Debug, Serialize)]
pub struct FilterView {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// The recording's file name.
    pub recording: String,
    /// Samples a second.
    pub rate_hz: f64,
    /// Order of one of the two passes.
    pub order: usize,
    /// Cut-off for forces and moments alike, Hz; null where nothing is proposed.
    pub low_pass_hz: Option<f64>,
    /// Highest proposal of a force, Hz.
    pub force_low_pass_hz: Option<f64>,
    /// Highest proposal of a moment, Hz.
    pub moment_low_pass_hz: Option<f64>,
    /// Component by component.
    pub components: Vec<ComponentView>,
}

/// One component of a plate.
#[derive(Clone, Debug, Serialize)]
pub struct ComponentView {
    /// Name of the plate.
    pub plate: String,
    /// "Fx" … "Mz".
    pub name: &'static str,
    /// "N" or "N·m".
    pub unit: &'static str,
    /// What it proposes, Hz.
    pub proposed_hz: Option<f64>,
    /// Size of the noise, root mean square; null where no line of noise was found.
    pub noise: Option<f64>,
    /// Cut-offs, Hz.
    pub cutoffs_hz: Vec<f64>,
    /// Residuals at them.
    pub residual: Vec<f64>,
    /// The line of noise: from and to, Hz.
    pub line_hz: Option<(f64, f64)>,
}

/// Builds the view.
pub fn view(recording: &str, suggestion: &Suggestion) -> FilterView {
    FilterView {
        schema: "underfoot.filter/1",
        recording: recording.into(),
        rate_hz: suggestion.rate_hz,
        order: suggestion.order,
        low_pass_hz: suggestion.both_hz(),
        force_low_pass_hz: suggestion.force_hz,
        moment_low_pass_hz: suggestion.moment_hz,
        components: suggestion.components.iter().map(component).collect(),
    }
}

fn component(c: &Component) -> ComponentView {
    let line = c.residuals.line.as_ref();
    ComponentView {
        plate: c.plate.clone(),
        name: c.name,
        unit: if c.force { "N" } else { "N·m" },
        proposed_hz: c.residuals.proposed_hz,
        noise: line.filter(|_| c.residuals.proposed_hz.is_some()).map(|l| l.line.intercept),
        cutoffs_hz: c.residuals.cutoffs_hz.clone(),
        residual: c.residuals.residual.clone(),
        line_hz: line.map(|l| (l.from_hz, l.to_hz)),
    }
}

/// The page for a terminal.
pub fn text(page: &FilterView, suggestion: &Suggestion) -> String {
    let mut out = format!(
        "FILTER  {}\n  residual analysis at {} Hz, order {} both ways: what a low-pass takes away, against its cut-off\n\n",
        page.recording, page.rate_hz, page.order
    );
    let mut table = Table::new(&[Align::Left, Align::Left, Align::Right, Align::Right, Align::Left]);
    table.row(["plate", "", "proposes", "noise", ""]);
    table.row(["", "", "Hz", "rms", ""]).rule();
    for c in &page.components {
        let proposed = c.proposed_hz.map_or("—".into(), |hz| plain(hz, 0));
        let noise = c.noise.map_or("—".into(), |n| plain(n, 3));
        table.row([c.plate.clone(), c.name.to_string(), proposed, noise, c.unit.to_string()]);
    }
    out.push_str(&table.text());
    out.push('\n');
    if let Some(c) = widest(suggestion) {
        out.push_str(&drawn(c));
        out.push('\n');
    }
    match page.low_pass_hz {
        Some(hz) => {
            let rounded = up_to_five(hz);
            out.push_str(&format!(
                "  The highest proposal is {} Hz, here up to the next 5 Hz. One cut-off for forces and moments keeps centres of pressure true.\n  In the rig file:\n\n    [conditioning]\n    low_pass_hz = {rounded}\n    order = {}\n\n  or for one look: --low-pass {rounded} --order {}\n",
                plain(hz, 0),
                page.order,
                page.order
            ));
        }
        None => out.push_str(
            "  No cut-off is proposed: no straight line of noise is seen above the movement. The recording is either clean\n  enough to be left as it is, or was filtered before; look at it with --raw and with a filter before you decide.\n",
        ),
    }
    out.push_str(
        "  The method balances movement lost against noise kept; it is known to smooth too much where movements are short.\n  Filter all recordings that you compare alike.\n",
    );
    out
}

/// The next multiple of 5 Hz: a cut-off is not known more closely, and a little too high loses nothing.
fn up_to_five(hz: f64) -> f64 {
    (hz / 5.0).ceil() * 5.0
}

/// The component with the highest proposal, else the first vertical force.
fn widest(suggestion: &Suggestion) -> Option<&Component> {
    let proposing = suggestion.components.iter().filter(|c| c.residuals.proposed_hz.is_some());
    let key = |c: &&Component| c.residuals.proposed_hz.unwrap_or(0.0);
    proposing
        .max_by(|a, b| key(a).total_cmp(&key(b)))
        .or_else(|| suggestion.components.iter().find(|c| c.name == "Fz"))
}

/// Residual against cut-off, the line of noise, and the proposal.
fn drawn(c: &Component) -> String {
    let r = &c.residuals;
    let (line_x, line_y): (Vec<f64>, Vec<f64>) = match &r.line {
        Some(l) => {
            let to = l.to_hz;
            (0..=60)
                .map(|k| to * f64::from(k) / 60.0)
                .map(|x| (x, l.line.intercept + l.line.slope * x))
                .unzip()
        }
        None => (Vec::new(), Vec::new()),
    };
    // The first residuals are all movement, many times the noise: leaving them out shows where the curve bends.
    let ceiling = r.line.as_ref().map_or(f64::INFINITY, |l| 6.0 * l.line.intercept.abs());
    let shown: Vec<f64> = r.residual.iter().map(|v| if *v <= ceiling { *v } else { f64::NAN }).collect();
    let upright: Vec<(f64, char)> = r.proposed_hz.map(|hz| (hz, '│')).into_iter().collect();
    let name = format!("{} of plate {}, residual in {}", c.name, c.plate, if c.force { "N" } else { "N·m" });
    let axes = Axes { width: 64, height: 14, x_name: "cut-off, Hz", y_name: &name, upright: &upright };
    let sets =
        [Points { mark: '·', x: &line_x, y: &line_y }, Points { mark: '•', x: &r.cutoffs_hz, y: &shown }];
    let mut out = plot::text(&axes, &sets);
    if out.is_empty() {
        return out;
    }
    out.push_str("  • residual   · line of noise carried back to 0 Hz");
    if let Some(hz) = r.proposed_hz {
        out.push_str(&format!("   │ {} Hz, where they meet", plain(hz, 0)));
    }
    out.push('\n');
    out
}
