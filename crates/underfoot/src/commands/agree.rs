//! `underfoot agree`: whether two ways of recording the same swings agree.
use super::Done;
use super::repeat::level;
use crate::asking::{answer, chosen, columns, table};
use crate::chosen::ChosenArgs;
use archive::Selection;
use archive::inquire::Looking;
use archive::recipe::Basis;
use clap::Args;
use swing::About;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::claim::agree::{AgreeHow, Pairing, agree};
use view::claim::table::Scale;
use view::study::KEYS;

/// Options of `underfoot agree`.
#[derive(Args, Debug)]
pub struct Agree {
    /// Two choices of swings, "rig=bay" and "rig=portable"; none with --collapse alone
    #[arg(value_name = "SIDE", num_args = 0..=2)]
    sides: Vec<String>,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    /// Swings on two plates against themselves as one plate; with two sides, both looked at as one plate
    #[arg(long, help_heading = "How to look at them")]
    collapse: bool,
    /// Reference point of turn; otherwise the study's
    #[arg(long, value_name = "POINT", allow_hyphen_values = true, help_heading = "How to look at them")]
    about: Option<About>,
    /// Newtons and newton metres instead of %BW and N·m/kg
    #[arg(long, help_heading = "How to look at them")]
    absolute: bool,
    /// Metrics: up.net.most, up.net.*; otherwise those of a list of swings
    #[arg(long = "metric", value_name = "ID", value_delimiter = ',', help_heading = "What is asked")]
    metrics: Vec<String>,
    /// Level of the intervals
    #[arg(long, value_name = "LEVEL", default_value_t = 0.95, value_parser = level, help_heading = "How it is done")]
    level: f64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// Runs it.
pub fn run(options: &Agree) -> Done {
    let (pairing, sides, names) = match (options.sides.as_slice(), options.collapse) {
        ([a, b], _) => {
            let sides = [chosen(a, &options.chosen)?, chosen(b, &options.chosen)?];
            (Pairing::SameSwing, sides, [a.clone(), b.clone()])
        }
        ([], true) => {
            let both = Selection { feet: Some(2), ..options.chosen.selection()? };
            (Pairing::SameRecording, [both.clone(), both], ["two plates".into(), "one plate".into()])
        }
        _ => {
            return Err(Fail::usage(
                "two choices of swings are held against each other, or --collapse alone",
            )
            .fix("for example `underfoot agree \"rig=bay\" \"rig=portable\"`"));
        }
    };
    let study = options.study.open()?;
    let asked = columns(&study, &options.metrics, &KEYS.map(|k| k.metric))?;
    let usual = study.settings.point().map_err(|e| fail(e, &study.root))?;
    let about = options.about.clone().unwrap_or(usual);
    let scale = if options.absolute { Scale::Absolute } else { Scale::Body };
    let looking = |collapse: bool| Looking { basis: Basis { collapse, about: about.clone() }, scale };
    // The first side of a recording with itself is looked at as it is.
    let apart = options.collapse && pairing == Pairing::SameSwing;
    let [first, second] = &sides;
    let first = table(&study, first, &asked, &looking(apart))?;
    let second = table(&study, second, &asked, &looking(options.collapse))?;
    let how = AgreeHow { level: options.level, pairing };
    let [a, b] = &names;
    let found = agree(&first, &second, [a, b], &how).map_err(|why| {
        Fail::input(why).fix(
            "record swings with both rigs at once; `underfoot compare` holds other swings against each other",
        )
    })?;
    answer(&found, options.json)?;
    Ok(None)
}
