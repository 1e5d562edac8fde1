//! What every page says first: recording, player, feet, weight, reference point, signs, and what was done to the curves.
use crate::convention::{Convention, Signs};
use crate::table::{Align, Table};
use crate::words;
use mechanics::Recording;
use serde::Serialize;
use swing::Swing;
use swing::analyse::WeightSource;
use swing::feet::SplitBy;

/// What every figure of a page rests on.
#[derive(Clone, Debug, Serialize)]
pub struct Facts {
    /// The recording's file name.
    pub recording: String,
    /// What kind of file it is.
    pub format: String,
    /// Samples a second.
    pub rate_hz: f64,
    /// Samples.
    pub samples: usize,
    /// Signs and axes of every figure.
    pub convention: Convention,
    /// The convention in words.
    pub convention_words: &'static str,
    /// "right-handed" or "left-handed".
    pub hand: &'static str,
    /// Target direction in laboratory axes.
    pub target: String,
    /// N that make 100 %BW, if known.
    pub body_weight_n: Option<f64>,
    /// How the body weight is known.
    pub body_weight_from: Option<&'static str>,
    /// The quiet interval, s.
    pub address_s: Option<(f64, f64)>,
    /// Plate numbers (from 1) of the lead foot.
    pub lead_plates: Vec<usize>,
    /// Plate numbers of the trail foot.
    pub trail_plates: Vec<usize>,
    /// Plate numbers that carry both feet.
    pub both_plates: Vec<usize>,
    /// How feet were told apart.
    pub feet_by: &'static str,
    /// Reference point in words.
    pub about: String,
    /// What was done to the plates before.
    pub conditioning: String,
}

/// From a swing.
pub fn of(recording: &Recording, swing: &Swing, convention: Convention) -> Facts {
    let samples = swing.ledger.turn_nm.len();
    let numbers = |plates: &[usize]| plates.iter().map(|p| p + 1).collect();
    let time = |k: usize| swing.start_s + k as f64 / swing.rate_hz;
    Facts {
        recording: recording.name.clone(),
        format: recording.format.clone(),
        rate_hz: swing.rate_hz,
        samples,
        convention,
        convention_words: convention.sentence(),
        hand: words::hand(swing.player.hand),
        target: words::direction(swing.frame.axes.x_axis),
        body_weight_n: swing.body_weight_n.map(|w| w.newton),
        body_weight_from: swing.body_weight_n.map(|w| match w.from {
            WeightSource::Stated => "stated mass",
            WeightSource::Recording => "mass in the recording",
            WeightSource::Standing => "quiet standing",
        }),
        address_s: swing.address.as_ref().map(|a| (time(a.samples.start), time(a.samples.end))),
        lead_plates: numbers(&swing.split.lead),
        trail_plates: numbers(&swing.split.trail),
        both_plates: numbers(&swing.split.both),
        feet_by: match swing.split.by {
            SplitBy::OnePlate => "one loaded plate",
            SplitBy::Collapsed => "plates put together",
            SplitBy::Rig => "stated in the rig",
            SplitBy::NearerTarget => "nearer the target leads",
        },
        about: words::about(&swing.about),
        conditioning: words::conditioning(&swing.done),
    }
}

/// The head of a page: a title, then what every figure below it rests on.
pub fn head(title: &str, view: &Facts) -> String {
    let mut out = String::new();
    let list = |plates: &[usize]| match plates {
        [first @ .., last] if !first.is_empty() => {
            format!("{} and {last}", first.iter().map(usize::to_string).collect::<Vec<_>>().join(", "))
        }
        _ => plates.iter().map(usize::to_string).collect(),
    };
    let feet = if view.both_plates.is_empty() {
        format!(
            "lead on plate {}, trail on plate {} ({})",
            list(&view.lead_plates),
            list(&view.trail_plates),
            view.feet_by
        )
    } else {
        format!("plate {}, net accounts only ({})", list(&view.both_plates), view.feet_by)
    };
    let weight = match (view.body_weight_n, view.body_weight_from) {
        (Some(n), Some(from)) => format!("100 %BW = {n:.1} N ({from})"),
        _ => "not known; state --mass for %BW".into(),
    };
    let duration = view.samples as f64 / view.rate_hz;
    out.push_str(&format!("{title}  {}\n", view.recording));
    let mut table = Table::new(&[Align::Left, Align::Left]);
    table
        .row(["recording", &format!("{}, {} Hz, {duration:.3} s", view.format, view.rate_hz)])
        .row(["player", &format!("{}, target {}", view.hand, view.target)])
        .row(["feet", &feet])
        .row(["weight", &weight])
        .row(["turn about", &view.about])
        .row(["curves", &view.conditioning])
        .row(["signs", view.convention_words]);
    out.push_str(&table.text());
    if view.convention.signs == Signs::Action {
        out.push_str(
            "  most, least, driving and braking are named by the reaction; the figures are its opposite\n",
        );
    }
    out.push('\n');
    out
}
