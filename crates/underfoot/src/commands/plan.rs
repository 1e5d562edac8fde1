//! `underfoot plan`: how many swings and players would show a change.
use super::Done;
use super::repeat::level;
use crate::asking::{LookArgs, answer, columns, table};
use crate::chosen::ChosenArgs;
use archive::inquire::Threads;
use clap::Args;
use underfoot::study::InStudy;
use view::claim::plan::{PlanHow, plan};
use view::claim::repeat::Precision;
use view::study::KEYS;

/// Options of `underfoot plan`.
#[derive(Args, Debug)]
pub struct Plan {
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    /// Metrics or outcomes; otherwise those of a list of swings. The first is drawn and tried
    #[arg(long = "metric", value_name = "ID", value_delimiter = ',', help_heading = "What is asked")]
    metrics: Vec<String>,
    /// The change that is to be seen: 5, 5%BW; otherwise 0.2, 0.5 and 0.8 of the scatter between players, or 0.5, 1 and 2 of
    /// that of swings
    #[arg(long, value_name = "CHANGE", help_heading = "What is asked")]
    change: Option<Precision>,
    /// How often it is to be seen
    #[arg(long, value_name = "SHARE", default_value_t = 0.8, value_parser = level, help_heading = "What is asked")]
    power: f64,
    /// Swings of a session where players or days are counted; otherwise as many as sessions of the study have
    #[arg(long = "swings", value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000), help_heading = "What is asked")]
    a_session: Option<u32>,
    /// How much players' own changes scatter, in the metric's unit
    #[arg(long, value_name = "SD", default_value_t = 0.0, value_parser = scatter, help_heading = "What is asked")]
    response: f64,
    /// How often a change is claimed where there is none
    #[arg(long, value_name = "SHARE", default_value_t = 0.05, value_parser = alpha, help_heading = "How it is done")]
    alpha: f64,
    /// Level of the intervals of the noise
    #[arg(long, value_name = "LEVEL", default_value_t = 0.95, value_parser = level, help_heading = "How it is done")]
    level: f64,
    /// How often the first metric's plans are tried; 0 is not at all
    #[arg(long, value_name = "N", default_value_t = 1000, value_parser = clap::value_parser!(u32).range(0..=100_000), help_heading = "How it is done")]
    trials: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

fn scatter(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if v >= 0.0 && v.is_finite() => Ok(v),
        _ => Err("a figure of 0 or more".into()),
    }
}

fn alpha(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if v > 0.0 && v < 0.5 => Ok(v),
        _ => Err("a share above 0 and below 0.5, such as 0.05".into()),
    }
}

/// Rearrangements that a test looks at, in trials.
const REARRANGEMENTS: usize = 499;

/// Runs it.
pub fn run(options: &Plan) -> Done {
    let selection = options.chosen.selection()?;
    let study = options.study.open()?;
    let asked = columns(&study, &options.metrics, &KEYS.map(|k| k.metric))?;
    let looking = options.look.looking(&study)?;
    let table = table(&study, &selection, &asked, &looking)?;
    let how = PlanHow {
        level: options.level,
        alpha: options.alpha,
        power: options.power,
        change: options.change.clone(),
        swings: options.a_session.map(|n| n as usize),
        response: options.response,
        trials: options.trials as usize,
        rearrangements: REARRANGEMENTS,
        seed: options.seed,
    };
    answer(&plan(&table, &how, &Threads), options.json)?;
    Ok(None)
}
