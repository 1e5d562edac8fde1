//! `underfoot shapes ACCOUNT`: are there kinds of swings?
use super::Done;
use super::cohort::{EndsArgs, account};
use crate::asking::{LookArgs, answer, traces};
use crate::chosen::ChosenArgs;
use archive::inquire::Threads;
use clap::Args;
use underfoot::fail::Fail;
use underfoot::study::InStudy;
use view::claim::shapes::{ShapesHow, shapes};

/// Options of `underfoot shapes`.
#[derive(Args, Debug)]
pub struct Shapes {
    /// The quantity: up.net, toe.net, turn …; `underfoot curves --list` lists them
    #[arg(value_name = "ACCOUNT")]
    account: String,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    #[command(flatten)]
    ends: EndsArgs,
    /// Let the level and the size of curves count too, not their shape alone
    #[arg(long, help_heading = "What is asked")]
    with_size: bool,
    /// Up to so many groups
    #[arg(long, value_name = "N", default_value_t = 6, value_parser = clap::value_parser!(u8).range(2..=12), help_heading = "How it is done")]
    most: u8,
    /// The mean adjusted Rand index from which groups are shown
    #[arg(long, value_name = "INDEX", default_value_t = 0.75, value_parser = index, help_heading = "How it is done")]
    stable: f64,
    /// Even clouds that groups are held against
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(40..=10_000), help_heading = "How it is done")]
    references: u32,
    /// How often players are drawn anew
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(20..=10_000), help_heading = "How it is done")]
    resamples: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// An index of agreement.
fn index(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(index) if (0.0..=1.0).contains(&index) => Ok(index),
        _ => Err("a figure from 0 to 1, such as 0.75".into()),
    }
}

/// Runs it.
pub fn run(options: &Shapes) -> Done {
    let account = account(&options.account, "ACCOUNT")?;
    let selection = options.chosen.selection()?;
    let study = options.study.open()?;
    let looking = options.look.looking(&study)?;
    let traces = traces(&study, &selection, account, &looking)?;
    let how = ShapesHow {
        ends: options.ends.ends(),
        with_size: options.with_size,
        most: options.most.into(),
        stable: options.stable,
        references: options.references as usize,
        resamples: options.resamples as usize,
        seed: options.seed,
    };
    let told = shapes(&traces, &how, &Threads).map_err(|e| Fail::usage(e.what).fix(e.remedy))?;
    answer(&told, options.json)?;
    Ok(None)
}
