//! What is in a recording, before anything is analysed.
use crate::findings::{self, FindingView};
use crate::floor::{self, Mark};
use crate::quantity::{plain, signed};
use crate::table::{Align, Table};
use mechanics::plate::Sensing;
use mechanics::{Finding, Recording, Rig};
use serde::Serialize;
use swing::Swing;

/// Everything `underfoot inspect` says.
#[derive(Clone, Debug, Serialize)]
pub struct InspectView {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// File name.
    pub recording: String,
    /// Kind of file.
    pub format: String,
    /// Channels a second.
    pub rate_hz: f64,
    /// Samples per channel.
    pub samples: usize,
    /// Duration, s.
    pub duration_s: f64,
    /// Laboratory axis taken as up.
    pub up: &'static str,
    /// Markers a second.
    pub marker_rate_hz: f64,
    /// Marker labels.
    pub markers: Vec<String>,
    /// Body mass in the file, kg.
    pub mass_kg: Option<f64>,
    /// Body weight guess, N.
    pub body_weight_n: Option<f64>,
    /// Plates.
    pub plates: Vec<PlateView>,
    /// Channels.
    pub channels: Vec<ChannelView>,
    /// Events.
    pub events: Vec<EventView>,
    /// Findings.
    pub findings: Vec<FindingView>,
}

/// A plate as the rig or the file describes it.
#[derive(Clone, Debug, Serialize)]
pub struct PlateView {
    /// Number from 1.
    pub number: usize,
    /// Name.
    pub name: String,
    /// Kind in words.
    pub kind: String,
    /// Length along plate x, width along plate y, m.
    pub size_m: (f64, f64),
    /// Centre, laboratory, m.
    pub centre_m: [f64; 3],
    /// Corners, laboratory, m.
    pub corners_m: [[f64; 3]; 4],
    /// Sensor origin to surface centre, plate axes, m.
    pub origin_m: Option<[f64; 3]>,
    /// Labels of its channels.
    pub channels: Vec<String>,
    /// Largest vertical force, N.
    pub peak_n: f64,
    /// Median vertical force, N.
    pub median_n: f64,
    /// Carries a foot.
    pub loaded: bool,
}

/// A channel with its range.
#[derive(Clone, Debug, Serialize)]
pub struct ChannelView {
    /// Number from 1.
    pub number: usize,
    /// Label.
    pub label: String,
    /// Unit as written.
    pub unit: String,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Mean.
    pub mean: f64,
}

/// An event.
#[derive(Clone, Debug, Serialize)]
pub struct EventView {
    /// Label as written.
    pub label: String,
    /// Context as written.
    pub context: String,
    /// s.
    pub time_s: f64,
}

/// Builds the view; `swing` where the recording could be analysed.
pub fn view(recording: &Recording, rig: &Rig, swing: Option<&Swing>, findings: &[Finding]) -> InspectView {
    let analog = &recording.analog;
    InspectView {
        schema: "underfoot.inspect/1",
        recording: recording.name.clone(),
        format: recording.format.clone(),
        rate_hz: analog.rate_hz,
        samples: analog.len(),
        duration_s: analog.duration_s(),
        up: rig.up.name(),
        marker_rate_hz: recording.marker_rate_hz,
        markers: recording.markers.iter().map(|m| m.label.clone()).collect(),
        mass_kg: recording.mass_kg,
        body_weight_n: swing.and_then(|s| s.body_weight_n).map(|w| w.newton),
        plates: (0..rig.plates.len()).map(|k| plate(recording, rig, swing, k)).collect(),
        channels: analog
            .channels
            .iter()
            .enumerate()
            .map(|(k, c)| {
                let (low, high) = c.extent();
                ChannelView {
                    number: k + 1,
                    label: c.label.clone(),
                    unit: c.unit.clone(),
                    low,
                    high,
                    mean: c.mean(),
                }
            })
            .collect(),
        events: recording
            .marks
            .iter()
            .map(|m| EventView {
                label: m.label.clone(),
                context: m.context.clone(),
                time_s: analog.start_s + m.time_s,
            })
            .collect(),
        findings: findings::view(findings),
    }
}

fn plate(recording: &Recording, rig: &Rig, swing: Option<&Swing>, k: usize) -> PlateView {
    let plate = &rig.plates[k];
    let shadow = swing.and_then(|s| s.plates.iter().find(|p| p.plate == k));
    let (channels, origin_m) = match &plate.sensing {
        Sensing::Linear { channels, origin_m, .. } => (channels.clone(), Some(origin_m.to_array())),
        Sensing::Reduced { force, centre, free_moment, .. } => {
            let all = force.iter().copied().chain(centre.iter().flatten().copied()).chain(*free_moment);
            (all.collect(), None)
        }
    };
    let label = |c: &usize| recording.analog.channels.get(*c).map_or_else(|| "?".into(), |c| c.label.clone());
    PlateView {
        number: k + 1,
        name: plate.name.clone(),
        kind: plate.kind.clone(),
        size_m: plate.size_m(),
        centre_m: plate.centre_m().to_array(),
        corners_m: plate.corners_m.map(|c| c.to_array()),
        origin_m,
        channels: channels.iter().map(label).collect(),
        peak_n: shadow.map_or(f64::NAN, |s| s.peak_n),
        median_n: shadow.map_or(f64::NAN, |s| s.median_n),
        loaded: shadow.is_some_and(|s| s.loaded),
    }
}

/// The page for a terminal. `all` lists every channel and marker.
pub fn text(view: &InspectView, swing: Option<&Swing>, all: bool) -> String {
    let mut out = format!("RECORDING  {}\n", view.recording);
    let mut table = Table::new(&[Align::Left, Align::Left]);
    table.row(["file", &view.format]);
    table.row([
        "channels",
        &format!(
            "{} at {} Hz, {} samples, {} s",
            view.channels.len(),
            view.rate_hz,
            view.samples,
            plain(view.duration_s, 3)
        ),
    ]);
    let markers = if view.markers.is_empty() {
        "none".into()
    } else {
        format!("{} at {} Hz", view.markers.len(), view.marker_rate_hz)
    };
    table.row(["markers", &markers]);
    table.row(["up", view.up]);
    if let Some(kg) = view.mass_kg {
        table.row(["mass", &format!("{kg:.1} kg, written in the file")]);
    }
    if let Some(n) = view.body_weight_n {
        table.row(["weight", &format!("{n:.1} N, {:.1} kg", n / swing::analyse::STANDARD_GRAVITY)]);
    }
    out.push_str(&table.text());
    plates_text(view, swing, &mut out);
    events_text(view, &mut out);
    channels_text(view, all, &mut out);
    if all && !view.markers.is_empty() {
        out.push_str("\nMARKERS\n");
        out.push_str(&crate::page::fold(&view.markers.join("  "), 96, "  "));
    }
    out
}

fn plates_text(view: &InspectView, swing: Option<&Swing>, out: &mut String) {
    if view.plates.is_empty() {
        out.push_str("\nPLATES  none described\n");
        return;
    }
    out.push_str("\nPLATES\n");
    let r = Align::Right;
    let mut table = Table::new(&[Align::Left, Align::Left, r, r, r, r, Align::Left]);
    table.row(["plate", "kind", "size", "centre (lab)", "peak", "median", "channels"]);
    table.row(["", "", "mm", "mm", "N up", "N up", ""]).rule();
    let mm = |m: f64| plain(m * 1e3, 0);
    for p in &view.plates {
        table.row([
            p.name.clone(),
            p.kind.clone(),
            format!("{} × {}", mm(p.size_m.0), mm(p.size_m.1)),
            p.centre_m.map(mm).join(", "),
            signed(p.peak_n, 1),
            signed(p.median_n, 1),
            span(&p.channels),
        ]);
    }
    out.push_str(&table.text());
    let Some(swing) = swing else { return };
    let surfaces: Vec<_> = swing.plates.iter().map(|p| (p.name.clone(), p.surface)).collect();
    let range = swing.address.as_ref().map_or(0..swing.ledger.turn_nm.len(), |a| a.samples.clone());
    let mean = |foot: &mechanics::feet::Foot| {
        let defined = foot.contact.get(range.clone()).unwrap_or_default().iter().map(|c| c.cop_m);
        let (sum, n) =
            defined.filter(|c| c.is_finite()).fold((glam::DVec3::ZERO, 0.0), |(s, n), c| (s + c, n + 1.0));
        sum / n
    };
    let mut marks = Vec::new();
    if let Some(feet) = &swing.series.feet {
        marks.push(Mark { sign: '◆', place_m: mean(&feet.lead) });
        marks.push(Mark { sign: '◇', place_m: mean(&feet.trail) });
    }
    marks.push(Mark { sign: '⊕', place_m: mean(&swing.series.net) });
    out.push('\n');
    out.push_str(&floor::plan(&surfaces, &marks));
    let when = match &swing.address {
        Some(address) if address.after_movement => "in quiet standing",
        Some(_) => "at address",
        None => "on average",
    };
    let feet = if marks.len() > 1 { "◆ lead  ◇ trail  " } else { "" };
    let turned = crate::words::direction(swing.frame.axes.x_axis);
    out.push_str(&format!("  {feet}⊕ net centre of pressure, {when}; target is laboratory {turned}\n"));
}

/// "Fx1 … Mz1 (6)".
fn span(labels: &[String]) -> String {
    match labels {
        [] => "none".into(),
        [one] => one.clone(),
        [first, .., last] => format!("{first} … {last} ({})", labels.len()),
    }
}

fn events_text(view: &InspectView, out: &mut String) {
    if view.events.is_empty() {
        return;
    }
    out.push_str("\nEVENTS\n");
    let mut table = Table::new(&[Align::Right, Align::Left, Align::Left]);
    for e in &view.events {
        table.row([format!("{} s", plain(e.time_s, 3)), e.label.clone(), e.context.clone()]);
    }
    out.push_str(&table.text());
}

fn channels_text(view: &InspectView, all: bool, out: &mut String) {
    const FEW: usize = 24;
    out.push_str("\nCHANNELS\n");
    let r = Align::Right;
    let mut table = Table::new(&[r, Align::Left, Align::Left, r, r, r]);
    table.row(["", "label", "unit", "least", "mean", "most"]).rule();
    let shown = if all { view.channels.len() } else { FEW };
    for c in view.channels.iter().take(shown) {
        let figure = |v: f64| if v.abs() >= 1e6 { format!("{v:.3e}") } else { signed(v, 3) };
        table.row([
            c.number.to_string(),
            c.label.clone(),
            c.unit.clone(),
            figure(c.low),
            figure(c.mean),
            figure(c.high),
        ]);
    }
    out.push_str(&table.text());
    if view.channels.len() > shown {
        out.push_str(&format!("  and {} more; --all lists them\n", view.channels.len() - shown));
    }
}
