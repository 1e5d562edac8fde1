//! What a person may ask to be done to the plates before accounts are formed.
use clap::Args;
use mechanics::{Conditioning, Drift, LowPass, Zero};
use std::path::PathBuf;
use std::sync::Arc;
use underfoot::fail::Fail;
use underfoot::open::{Loaded, decode};

/// Options of conditioning. What is not stated is as the rig file says, and as recorded where that says nothing.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Conditioning (else as the rig file's [conditioning] says, else as recorded)")]
pub struct ConditioningArgs {
    /// Zero of the plates: none; file (the file's ZERO window); found (the quietest empty interval of each plate);
    /// FROM:TO in seconds; or a recording of the empty plates
    #[arg(long, value_name = "ZERO", allow_hyphen_values = true)]
    zero: Option<String>,
    /// Drift of a plate that is empty both early and late: keep, or remove
    #[arg(long, value_enum, value_name = "DRIFT")]
    drift: Option<DriftWord>,
    /// Bridge gaps up to so many milliseconds
    #[arg(long, value_name = "MS", value_parser = milliseconds)]
    bridge: Option<f64>,
    /// Zero-lag Butterworth low-pass of forces and moments: the cut-off of both passes together
    #[arg(long, value_name = "HZ", value_parser = hertz)]
    low_pass: Option<f64>,
    /// The same for the forces alone
    #[arg(long, value_name = "HZ", value_parser = hertz)]
    force_low_pass: Option<f64>,
    /// The same for the moments alone
    #[arg(long, value_name = "HZ", value_parser = hertz)]
    moment_low_pass: Option<f64>,
    /// Order of one of the two passes (2 gives the fourth-order zero-lag filter of papers)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=8))]
    pub order: Option<u8>,
    /// Samples a second of everything that follows
    #[arg(long, value_name = "HZ", value_parser = hertz)]
    resample: Option<f64>,
    /// As recorded: nothing bridged, zeroed, filtered or resampled, whatever the rig file says
    #[arg(long, conflicts_with_all = ["zero", "drift", "bridge", "low_pass", "force_low_pass", "moment_low_pass", "order", "resample"])]
    raw: bool,
}

/// Drift as a word.
#[derive(clap::ValueEnum, Clone, Copy, Debug)]
enum DriftWord {
    /// Leave it
    Keep,
    /// Take the straight line between both empty intervals off
    Remove,
}

fn milliseconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(ms) if (0.0..=1000.0).contains(&ms) => Ok(ms),
        _ => Err("milliseconds between 0 and 1000".into()),
    }
}

fn hertz(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(hz) if hz > 0.0 && hz < 1e6 => Ok(hz),
        _ => Err("a frequency in Hz, for example 50".into()),
    }
}

impl ConditioningArgs {
    /// The rig's choice with what was asked for laid over it.
    pub fn over(&self, loaded: &Loaded) -> Result<Conditioning, Fail> {
        if self.raw {
            return Ok(Conditioning::RAW);
        }
        let mut how = loaded.rig.conditioning.clone();
        if let Some(zero) = &self.zero {
            how.zero = zero_of(zero, loaded)?;
        }
        if let Some(drift) = self.drift {
            how.drift = match drift {
                DriftWord::Keep => Drift::Kept,
                DriftWord::Remove => Drift::Removed,
            };
        }
        if let Some(ms) = self.bridge {
            how.bridge_s = ms / 1000.0;
        }
        let order = self.order.map(usize::from);
        let pass = |rigs: Option<LowPass>, asked: Option<f64>| {
            let cut_off_hz = asked.or(self.low_pass).or(rigs.map(|r| r.cut_off_hz))?;
            let order = order.or(rigs.map(|r| r.order)).unwrap_or(LowPass::ORDER);
            Some(LowPass { order, cut_off_hz })
        };
        how.force = pass(how.force, self.force_low_pass);
        how.moment = pass(how.moment, self.moment_low_pass);
        if order.is_some() && how.force.is_none() && how.moment.is_none() {
            return Err(Fail::usage("an order without a cut-off filters nothing")
                .at("--order")
                .fix("add --low-pass HZ"));
        }
        how.resample_hz = self.resample.or(how.resample_hz);
        if let Some(limit) =
            [how.force, how.moment].into_iter().flatten().map(|p| p.cut_off_hz).reduce(f64::max)
            && limit >= loaded.recording.analog.rate_hz / 2.0
        {
            return Err(Fail::usage(format!(
                "a cut-off of {limit} Hz is not below half the recording's {} samples a second",
                loaded.recording.analog.rate_hz
            ))
            .at("--low-pass, or [conditioning] in the rig file")
            .fix("choose a lower cut-off; `underfoot filter --suggest` proposes one"));
        }
        Ok(how)
    }
}

fn zero_of(text: &str, loaded: &Loaded) -> Result<Zero, Fail> {
    match text {
        "none" => return Ok(Zero::Nothing),
        "file" => return Ok(Zero::FileWindow),
        "found" => return Ok(Zero::Found),
        _ => {}
    }
    if let Some((from, to)) = text.split_once(':')
        && let (Ok(from), Ok(to)) = (from.trim().parse::<f64>(), to.trim().parse::<f64>())
    {
        if from.is_finite() && to.is_finite() && from < to {
            return Ok(Zero::Interval(from, to));
        }
        return Err(Fail::usage(format!("\"{text}\" is no interval"))
            .at("--zero")
            .fix("write FROM:TO in seconds, FROM before TO"));
    }
    let path = PathBuf::from(text);
    if !path.exists() {
        return Err(Fail::usage(format!("\"{text}\" is neither a word for a zero nor a file"))
            .at("--zero")
            .fix(
                "write none, file, found, FROM:TO in seconds, or the path of a recording of the empty plates",
            ));
    }
    let empty = decode(&path, loaded.rig_file.as_ref())?.value;
    Ok(Zero::Empty(Arc::new(empty)))
}
