//! `underfoot relate`: whether one figure goes with others, between players and within them.
use super::Done;
use super::repeat::level;
use crate::asking::{LookArgs, answer, columns, table};
use crate::chosen::ChosenArgs;
use archive::inquire::Threads;
use clap::{Args, ValueEnum};
use underfoot::fail::Fail;
use underfoot::study::InStudy;
use view::claim::relate::{Control, RelateHow, relate};

/// Options of `underfoot relate`.
#[derive(Args, Debug)]
pub struct Relate {
    /// What is asked about: a metric or an outcome, such as outcome.clubhead-speed
    #[arg(value_name = "Y")]
    y: String,
    /// What it may go with: metrics or outcomes; all that begin alike as up.lead.*
    #[arg(value_name = "X", required = true)]
    x: Vec<String>,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    /// Keep a player's days as one heap; otherwise swings are held against the mean of their own session
    #[arg(long, help_heading = "How it is done")]
    across_days: bool,
    /// Which promise is kept over all that is looked at
    #[arg(long, value_enum, value_name = "CONTROL", default_value = "holm", help_heading = "How it is done")]
    control: Held,
    /// Level of the intervals; an association is claimed at one less this
    #[arg(long, value_name = "LEVEL", default_value_t = 0.95, value_parser = level, help_heading = "How it is done")]
    level: f64,
    /// How often players are drawn again, and orders shuffled
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u32).range(100..=1_000_000), help_heading = "How it is done")]
    resamples: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// Which promise is kept when many are looked at.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum Held {
    /// The chance of even one false claim (Holm 1979)
    Holm,
    /// The share of false ones among the claims (Benjamini & Hochberg 1995)
    Bh,
}

impl From<Held> for Control {
    fn from(held: Held) -> Self {
        match held {
            Held::Holm => Self::Holm,
            Held::Bh => Self::BenjaminiHochberg,
        }
    }
}

/// Runs it.
pub fn run(options: &Relate) -> Done {
    let selection = options.chosen.selection()?;
    let study = options.study.open()?;
    let mut named = vec![options.y.clone()];
    named.extend(options.x.iter().cloned());
    let asked = columns(&study, &named, &[])?;
    if options.y.contains('*') {
        return Err(Fail::usage(format!("\"{}\" may be several figures", options.y))
            .at("Y")
            .fix("name the one that is asked about first; those after it may be several"));
    }
    if asked.len() < 2 {
        return Err(Fail::usage("a figure goes with itself").at("X").fix("name another metric or outcome"));
    }
    let looking = options.look.looking(&study)?;
    let table = table(&study, &selection, &asked, &looking)?;
    let how = RelateHow {
        level: options.level,
        seed: options.seed,
        resamples: options.resamples as usize,
        permutations: options.resamples as usize,
        control: options.control.into(),
        across_days: options.across_days,
    };
    answer(&relate(&table, &how, &Threads), options.json)?;
    Ok(None)
}
