//! What a person may say about the events of a recording.
use clap::Args;
use swing::events::{ByHand, EventSettings, Name, name_of, same_marker};
use underfoot::fail::Fail;
use underfoot::open::Loaded;

/// Options of events.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Events (else from the file, its channels, markers and forces)")]
pub struct EventArgs {
    /// Place an event by hand: address, takeaway, top, impact or finish at seconds of the recording; may be repeated
    #[arg(long = "set", value_name = "EVENT=SECONDS", value_parser = placed)]
    pub set: Vec<(Name, f64)>,
    /// How closely events placed by hand are meant: half of a 95 % interval, ms; otherwise 10
    #[arg(long, value_name = "MS", value_parser = within, requires = "set")]
    pub set_within: Option<f64>,
    /// The marker on the clubhead; otherwise one is recognised by its label
    #[arg(long, value_name = "LABEL")]
    pub club_marker: Option<String>,
}

impl EventArgs {
    /// The settings of events.
    ///
    /// Errors: an event placed outside the recording or twice, events placed out of order, a marker that is not there.
    pub fn settings(&self, loaded: &Loaded) -> Result<EventSettings, Fail> {
        let analog = &loaded.recording.analog;
        let (from, to) = (analog.start_s, analog.start_s + analog.duration_s());
        let u_s = self.set_within.map(|ms| ms / 1000.0 / view::quantity::COVERAGE);
        let mut by_hand: Vec<ByHand> = Vec::with_capacity(self.set.len());
        for &(name, time_s) in &self.set {
            if !(from..=to).contains(&time_s) {
                return Err(Fail::usage(format!("{} at {time_s} s is outside the recording", name.name()))
                    .at("--set")
                    .fix(format!("give a time between {from:.3} and {to:.3} s")));
            }
            if by_hand.iter().any(|b| b.name == name) {
                return Err(Fail::usage(format!("{} is placed twice", name.name()))
                    .at("--set")
                    .fix("place it once"));
            }
            by_hand.push(ByHand { name, time_s: time_s - from, u_s });
        }
        by_hand.sort_by_key(|b| b.name);
        if let Some([a, b]) = by_hand.array_windows().find(|[a, b]| a.time_s >= b.time_s) {
            return Err(Fail::usage(format!("{} is placed before {}", b.name.name(), a.name.name()))
                .at("--set")
                .fix("the order is address, takeaway, top, impact, finish"));
        }
        if let Some(label) = &self.club_marker
            && !loaded.recording.markers.iter().any(|m| same_marker(&m.label, label))
        {
            let labels: Vec<&str> =
                loaded.recording.markers.iter().take(30).map(|m| m.label.trim()).collect();
            let there = if labels.is_empty() { "no marker at all".into() } else { labels.join(", ") };
            return Err(Fail::usage(format!("there is no marker \"{label}\""))
                .at("--club-marker")
                .fix(format!("the recording has {there}")));
        }
        Ok(EventSettings { by_hand, club_marker: self.club_marker.clone() })
    }
}

pub fn placed(text: &str) -> Result<(Name, f64), String> {
    let (word, time) = text.split_once('=').ok_or("write an event and its time, for example impact=1.234")?;
    let name = name_of(word).ok_or("one of address, takeaway, top, impact, finish")?;
    match time.trim().parse::<f64>() {
        Ok(time_s) if time_s.is_finite() => Ok((name, time_s)),
        _ => Err("write the time in seconds, for example impact=1.234".into()),
    }
}

pub fn within(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        // Nobody places an instant closer than a sample.
        Ok(ms) if (0.1..=500.0).contains(&ms) => Ok(ms),
        _ => Err("milliseconds between 0.1 and 500".into()),
    }
}
