//! `underfoot values`: one metric of many swings, on the ground that they have in common.
use super::list::limit;
use super::{Done, print, print_json};
use crate::chosen::ChosenArgs;
use archive::condition::metric_called;
use archive::recipe::Basis;
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::Path;
use swing::About;
use underfoot::study::{InStudy, fail};
use view::study::{values_csv, values_text};

/// Options of `underfoot values`.
#[derive(Args, Debug)]
pub struct Values {
    /// The metric, as `underfoot metrics` lists it
    metric: String,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    /// Put the plates of each swing together, as if the feet had shared one: swings on two plates beside years on one
    #[arg(long, help_heading = "How to look at them")]
    collapse: bool,
    /// Reference point of turn; otherwise the study's. Swings are measured about it where they have not been
    #[arg(long, value_name = "POINT", allow_hyphen_values = true, help_heading = "How to look at them")]
    about: Option<About>,
    /// At most so many rows of the table; 0 is all. Summary, --json and --csv take all
    #[arg(long, value_name = "N", help_heading = "Output")]
    limit: Option<usize>,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
    /// As a table for other programs: SI, with standard uncertainties
    #[arg(long, conflicts_with = "json", help_heading = "Output")]
    csv: bool,
}

/// Runs it.
pub fn run(options: &Values) -> Done {
    let metric = metric_called(&options.metric).map_err(|e| fail(e, Path::new("METRIC")))?;
    let selection = options.chosen.selection()?;
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let usual = study.settings.point().map_err(of)?;
    let look = Basis { collapse: options.collapse, about: options.about.clone().unwrap_or(usual.clone()) };
    let view = if !look.collapse && look.about == usual {
        study.values_of(metric, &selection).map_err(of)?
    } else {
        let bar = ProgressBar::new(0);
        if let Ok(style) =
            ProgressStyle::with_template("{pos} of {len} swings measured  {bar:40}  {eta} left")
        {
            bar.set_style(style);
        }
        let told = study.values_on(&look, metric, &selection, |done, of| {
            bar.set_length(of as u64);
            bar.set_position(done as u64);
        });
        bar.finish_and_clear();
        told.map_err(of)?
    };
    if options.json {
        print_json(&view)?;
    } else if options.csv {
        print(&values_csv(&view))?;
    } else if view.values.is_empty() {
        eprintln!("no swing of the study is like that; `underfoot list` shows what there is");
    } else {
        print(&values_text(&view, limit(options.limit, false).unwrap_or(usize::MAX)))?;
    }
    Ok(None)
}
