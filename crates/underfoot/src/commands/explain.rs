//! `underfoot explain`: what a finding means.
use super::{Done, print, print_json};
use clap::Args;
use mechanics::finding::{CATALOGUE, Kind};
use underfoot::fail::Fail;
use view::findings::{severity, touch};
use view::table::{Align, Table};

/// Options of `underfoot explain`.
#[derive(Args, Debug)]
pub struct Explain {
    /// Code (Q303) or name (reads-as-action) of a finding; without it all are listed
    finding: Option<String>,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(options: &Explain) -> Done {
    let wanted = options.finding.as_deref();
    let same =
        |k: &&&Kind| wanted.is_none_or(|w| k.code.eq_ignore_ascii_case(w) || k.name.eq_ignore_ascii_case(w));
    let kinds: Vec<&Kind> = CATALOGUE.iter().filter(same).copied().collect();
    if kinds.is_empty() {
        return Err(Fail::usage(format!("there is no finding \"{}\"", wanted.unwrap_or_default()))
            .fix("list all findings with `underfoot explain`"));
    }
    if options.json {
        let rows: Vec<_> = kinds
            .iter()
            .map(|k| {
                serde_json::json!({ "code": k.code, "name": k.name, "severity": severity(k.severity),
                    "title": k.title, "why": k.why, "remedy": k.remedy, "source": k.source,
                    "touches": k.touches.iter().map(|t| touch(*t)).collect::<Vec<_>>() })
            })
            .collect();
        print_json(&rows)?;
        return Ok(None);
    }
    if wanted.is_none() {
        let mut table = Table::new(&[Align::Left; 4]);
        table.row(["code", "severity", "name", "what it says"]).rule();
        for k in kinds {
            table.row([k.code, severity(k.severity), k.name, k.title]);
        }
        print(&table.text())?;
        return Ok(None);
    }
    for k in kinds {
        let fold = |text: &str| view::page::fold(text, 86, "    ");
        print(&format!(
            "{} {} ({})\n  {}\n  why it matters\n{}  what to do\n{}  source\n{}",
            k.code,
            k.name,
            severity(k.severity),
            k.title,
            fold(k.why),
            fold(k.remedy),
            fold(k.source)
        ))?;
    }
    Ok(None)
}
