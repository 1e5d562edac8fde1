//! `underfoot list`: the swings of a study, a row each.
use super::{Done, count, print, print_json};
use crate::chosen::ChosenArgs;
use archive::list::{By, Order};
use clap::Args;
use serde::Serialize;
use underfoot::study::{InStudy, fail};
use view::study::{SwingRow, list_csv, list_text};

/// Options of `underfoot list`.
#[derive(Args, Debug)]
pub struct List {
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    /// In which order: newest, player, club, or a metric, the greatest first
    #[arg(long, value_name = "ORDER", default_value = "newest", help_heading = "Output")]
    sort: String,
    /// The other way round
    #[arg(long, help_heading = "Output")]
    reverse: bool,
    /// At most so many; 0 is all. A table shows 50 unless told, --json and --csv give all
    #[arg(long, value_name = "N", help_heading = "Output")]
    limit: Option<usize>,
    /// Leave out so many at the beginning
    #[arg(long, value_name = "N", default_value_t = 0, help_heading = "Output")]
    offset: usize,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
    /// As a table for other programs: SI, with standard uncertainties
    #[arg(long, conflicts_with = "json", help_heading = "Output")]
    csv: bool,
}

/// Everything `underfoot list --json` says.
#[derive(Serialize)]
struct Listed {
    schema: &'static str,
    total: usize,
    offset: usize,
    /// Numbers of those shown whose figures are out of date.
    out_of_date: Vec<i64>,
    swings: Vec<SwingRow>,
}

/// Rows of a table unless told otherwise.
pub const FEW: usize = 50;

/// How many rows are asked for: `None` is all.
pub fn limit(asked: Option<usize>, machine: bool) -> Option<usize> {
    match asked {
        Some(0) => None,
        Some(n) => Some(n),
        None => (!machine).then_some(FEW),
    }
}

/// Runs it.
pub fn run(options: &List) -> Done {
    let selection = options.chosen.selection()?;
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let by: By = options.sort.parse().map_err(|e| fail(e, std::path::Path::new("--sort")))?;
    let order = Order { by, reverse: options.reverse };
    let limit = limit(options.limit, options.json || options.csv);
    let page = study.list(&selection, order, limit, options.offset).map_err(of)?;
    if options.json {
        print_json(&Listed {
            schema: "underfoot.list/1",
            total: page.total,
            offset: options.offset,
            out_of_date: page.stale,
            swings: page.rows,
        })?;
        return Ok(None);
    }
    if options.csv {
        print(&list_csv(&page.rows))?;
        return Ok(None);
    }
    if page.rows.is_empty() {
        eprintln!("{}", nothing(page.total, options));
        return Ok(None);
    }
    print(&list_text(&page.rows))?;
    if !page.stale.is_empty() {
        print(&format!(
            "\nout of date: {}; `underfoot study rebuild --changed` measures again\n",
            super::again::ranges(&page.stale)
        ))?;
    }
    let (first, last) = (options.offset + 1, options.offset + page.rows.len());
    if last < page.total || options.offset > 0 {
        let more = if last < page.total {
            format!("; --offset {last} shows the next, --limit 0 all")
        } else {
            String::new()
        };
        print(&format!("\nswings {first} to {last} of {}{more}\n", page.total))?;
    } else {
        print(&format!("\n{}\n", count(page.total, "swing")))?;
    }
    Ok(None)
}

fn nothing(total: usize, options: &List) -> String {
    match (total, options.chosen.is_empty()) {
        (0, true) => "no swing is in the study yet; `underfoot import` takes recordings in".into(),
        (0, false) => "no swing of the study is like that; leave out a condition".into(),
        (n, _) => format!("there are {n} swings; --offset {} is past the last", options.offset),
    }
}
