//! `underfoot study rebuild`: everything made again from the recordings; a damaged catalogue made whole.
use crate::commands::again::{as_json, tell};
use crate::commands::{Done, print, print_json};
use archive::rebuild::{Mended, Rebuilt, Which, rebuild};
use archive::salvage::Lost;
use clap::Args;
use underfoot::fail::{Exit, Fail};
use underfoot::progress::Bar;
use underfoot::study::{InStudy, fail};

/// Options of `underfoot study rebuild`.
#[derive(Args, Debug)]
pub struct Rebuild {
    /// Only what is out of date: a rig, a player, a session or a setting was changed
    #[arg(long)]
    changed: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Keys that the page shows of a table's losses; JSON has all.
const SHOWN: usize = 12;

/// Runs it.
pub fn run(options: &Rebuild) -> Done {
    let folder = options.study.folder()?;
    let which = if options.changed { Which::Changed } else { Which::All };
    let bar = Bar::new();
    let done = rebuild(&folder, which, &mut |progress| bar.show(progress)).map_err(|e| fail(e, &folder))?;
    drop(bar);
    let study = options.study.open()?;
    if options.json {
        let swings = study.info().map_err(|e| fail(e, &folder))?.swings;
        let mut all = as_json(&done.again, usize::try_from(swings).unwrap_or_default());
        let value =
            |v: Result<serde_json::Value, serde_json::Error>| v.map_err(|e| Fail::input(e.to_string()));
        all["unreadable"] = value(serde_json::to_value(&done.failed))?;
        all["mended"] = value(serde_json::to_value(&done.mended))?;
        print_json(&all)?;
    } else {
        if let Some(mended) = &done.mended {
            print(&mending(mended))?;
        }
        if done.mended.is_some() && done.again.is_empty() {
            print(&format!("{} measurements made again\n", done.measured))?;
        } else {
            tell(&study, &done.again, false)?;
        }
        print(&unreadable(&done))?;
    }
    let lost = done.mended.as_ref().is_some_and(|m| !m.lost.is_empty());
    Ok((lost || !done.failed.is_empty()).then_some(Exit::Input))
}

fn mending(mended: &Mended) -> String {
    let mut out = String::from("the catalogue was damaged and is whole again");
    if !mended.tables.is_empty() {
        out.push_str(&format!(" (damaged: {})", mended.tables.join(", ")));
    }
    out.push_str(&format!(
        "\nthe damaged file is kept as {}; it holds the players that were in it: once you need it no more,\n\
         `underfoot study vacuum --strays` removes it\n",
        mended.kept
    ));
    if mended.lost.is_empty() {
        out.push_str("nothing that a person entered is lost\n");
    }
    mended.lost.iter().for_each(|lost| out.push_str(&losses(lost)));
    if !mended.strays.is_empty() {
        out.push_str(&format!(
            "{} recordings are kept of which no swing speaks any more; `underfoot study verify` names them, and importing \
             them again takes them in\n",
            mended.strays.len()
        ));
    }
    out
}

fn losses(lost: &Lost) -> String {
    let list = |keys: &[String]| {
        let more =
            if keys.len() > SHOWN { format!(" and {} more", keys.len() - SHOWN) } else { String::new() };
        format!("{}{more}", keys.iter().take(SHOWN).cloned().collect::<Vec<_>>().join(", "))
    };
    let mut out = String::new();
    let table = &lost.table;
    if !lost.partly.is_empty() {
        let (rows, columns) = (list(&lost.partly), lost.columns.join(", "));
        out.push_str(&format!(
            "{table}: put together from what else knew of them: {rows}; lost of these: {columns}\n"
        ));
    }
    if !lost.rows.is_empty() {
        out.push_str(&format!("{table}: lost: {}\n", list(&lost.rows)));
    }
    if !lost.unreadable.is_empty() {
        out.push_str(&format!("{table}: lost, if there were any: {}\n", list(&lost.unreadable)));
    }
    out
}

fn unreadable(done: &Rebuilt) -> String {
    let one = |(swing, why): &(i64, String)| format!("swing {swing} was not measured again: {why}\n");
    let mut out: String = done.failed.iter().take(SHOWN).map(one).collect();
    if done.failed.len() > SHOWN {
        out.push_str(&format!("and {} more\n", done.failed.len() - SHOWN));
    }
    out
}
