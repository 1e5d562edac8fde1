//! `underfoot metrics`: what can be measured, and how it is defined.
use super::{Done, print, print_json};
use clap::Args;
use underfoot::fail::Fail;
use view::catalogue;

/// Options of `underfoot metrics`.
#[derive(Args, Debug)]
pub struct Metrics {
    /// Ids to explain; without one, the list
    ids: Vec<String>,
    /// The list (also without it)
    #[arg(long)]
    list: bool,
    /// For machines, with definitions
    #[arg(long)]
    json: bool,
    /// The whole catalogue as the page docs/metrics.md
    #[arg(long, conflicts_with_all = ["ids", "list", "json"])]
    manual: bool,
}

/// Runs it.
pub fn run(options: &Metrics) -> Done {
    if options.manual {
        print(&catalogue::manual())?;
        return Ok(None);
    }
    let rows = if options.ids.is_empty() || options.list {
        catalogue::rows()
    } else {
        options.ids.iter().map(|id| find(id)).collect::<Result<Vec<_>, Fail>>()?
    };
    if options.json {
        print_json(&rows)?;
    } else if options.ids.is_empty() || options.list {
        print(&catalogue::list())?;
    } else {
        for row in &rows {
            print(&catalogue::explain(row))?;
        }
    }
    Ok(None)
}

fn find(id: &str) -> Result<catalogue::Row, Fail> {
    let rows = catalogue::rows();
    rows.iter().find(|r| r.id == id).cloned().ok_or_else(|| {
        let mut near: Vec<&str> = rows.iter().map(|r| r.id).filter(|r| r.contains(id)).collect();
        near.sort_by_key(|r| !r.starts_with(id));
        near.truncate(5);
        let fix = if near.is_empty() {
            "`underfoot metrics` lists them all".to_string()
        } else {
            format!("did you mean {}?", near.join(", "))
        };
        Fail::usage(format!("there is no metric \"{id}\"")).fix(fix)
    })
}
