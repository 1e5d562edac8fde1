//! `underfoot repeat`: how far a player's figure wanders by itself, and how many swings are enough.
use super::Done;
use crate::asking::{LookArgs, answer, columns, table};
use crate::chosen::ChosenArgs;
use archive::inquire::Threads;
use clap::{Args, ValueEnum};
use std::collections::BTreeSet;
use underfoot::fail::Fail;
use underfoot::study::InStudy;
use view::claim::repeat::{By, Precision, RepeatHow, repeat};
use view::study::KEYS;

/// Options of `underfoot repeat`.
#[derive(Args, Debug)]
pub struct Repeat {
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    /// Metrics or outcomes: up.net.most, up.lead.*, outcome.clubhead-speed; otherwise those of a list of swings
    #[arg(long = "metric", value_name = "ID", value_delimiter = ',', help_heading = "What is asked")]
    metrics: Vec<String>,
    /// A row for each player or session as well
    #[arg(long, value_enum, value_name = "WHAT", help_heading = "What is asked")]
    by: Option<Each>,
    /// How near a mean is to come, half the width of its interval: 5%BW, 0.2, "3 N·m"
    #[arg(long, value_name = "HALF WIDTH", help_heading = "What is asked")]
    precision: Option<Precision>,
    /// All six intraclass correlations, of the first swings of every player
    #[arg(long, help_heading = "What is asked")]
    forms: bool,
    /// Level of the intervals
    #[arg(long, value_name = "LEVEL", default_value_t = 0.95, value_parser = level, help_heading = "How it is done")]
    level: f64,
    /// How often mean squares are redrawn for the interval of ICC
    #[arg(long, value_name = "N", default_value_t = 4000, value_parser = clap::value_parser!(u32).range(100..=1_000_000), help_heading = "How it is done")]
    draws: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// What has a row of its own.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum Each {
    /// Every player
    Player,
    /// Every session
    Session,
}

/// A level of confidence: above one half, below one.
pub fn level(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(level) if level > 0.5 && level < 1.0 => Ok(level),
        _ => Err("a share above 0.5 and below 1, such as 0.95".into()),
    }
}

/// Runs it.
pub fn run(options: &Repeat) -> Done {
    let selection = options.chosen.selection()?;
    let study = options.study.open()?;
    let asked = columns(&study, &options.metrics, &KEYS.map(|k| k.metric))?;
    let looking = options.look.looking(&study)?;
    let table = table(&study, &selection, &asked, &looking)?;
    if let Some(p) = &options.precision
        && table.columns.iter().all(|c| p.of(&c.measure).is_none())
    {
        let units: BTreeSet<&str> = table.columns.iter().map(|c| c.measure.unit.as_str()).collect();
        let units: Vec<&str> = units.into_iter().filter(|u| !u.is_empty()).collect();
        return Err(Fail::usage(format!(
            "--precision {} {}: no figure asked for is in such a unit",
            p.value, p.unit
        ))
        .fix(format!("theirs are {}; --absolute has newtons, --metric names figures", units.join(", "))));
    }
    let how = RepeatHow {
        level: options.level,
        seed: options.seed,
        draws: options.draws as usize,
        by: match options.by {
            None => By::All,
            Some(Each::Player) => By::Player,
            Some(Each::Session) => By::Session,
        },
        forms: options.forms,
        precision: options.precision.clone(),
    };
    answer(&repeat(&table, &how, &Threads), options.json)?;
    Ok(None)
}
