//! `underfoot rig add|list|show`: the rigs that a study keeps.
use super::player::{day, measure_again};
use super::{Done, print, print_json};
use archive::rigs::{RigVersion, Since, holding};
use clap::Args;
use serde_json::json;
use std::path::PathBuf;
use underfoot::fail::Fail;
use underfoot::open::load_rig;
use underfoot::study::{InStudy, fail};
use view::table::{Align, Table};

/// Options of `underfoot rig add`.
#[derive(Args, Debug)]
pub struct Add {
    /// Name of the rig in the study
    name: String,
    /// The rig file
    file: PathBuf,
    /// The bay as it stands from this day on; sessions before it keep the version they have
    #[arg(long, value_name = "DAY", value_parser = day, conflicts_with = "corrects")]
    from: Option<String>,
    /// The same bay described better: takes the place of the newest version
    #[arg(long)]
    corrects: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot rig list`.
#[derive(Args, Debug)]
pub struct List {
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot rig show`.
#[derive(Args, Debug)]
pub struct Show {
    /// Name of the rig in the study
    name: String,
    /// Number of a version; otherwise the newest
    number: Option<i64>,
    #[command(flatten)]
    study: InStudy,
}

/// Adds a rig, or a version of one.
pub fn add(options: &Add) -> Done {
    load_rig(&options.file)?;
    let text = std::fs::read_to_string(&options.file)
        .map_err(|e| Fail::input(format!("cannot read {}: {e}", options.file.display())))?;
    let since = match (&options.from, options.corrects) {
        (Some(day), _) => Since::From(day.clone()),
        (None, true) => Since::Corrects,
        (None, false) => Since::New,
    };
    let study = options.study.open()?;
    if since == Since::Corrects {
        let versions = study.rig_called(&options.name).map_err(|e| fail(e, &study.root))?;
        if let Some(newest) = versions.last().filter(|v| v.text == text) {
            let (name, number) = (&newest.name, newest.version);
            return Err(Fail::usage(format!(
                "{name}, version {number}, is this very text: there is nothing to correct"
            ))
            .at(options.file.display()));
        }
    }
    let version = study.add_rig(&options.name, &text, &since).map_err(|e| fail(e, &study.root))?;
    let from = match version.from_date.as_str() {
        "" => String::new(),
        day => format!(", from {day} on"),
    };
    eprintln!("rig {}, version {}{from}, is in the study", version.name, version.version);
    if since == Since::New {
        if options.json {
            print_json(&json!({ "schema": "underfoot.rig-version/1", "rig": version }))?;
        } else {
            print(&format!(
                "sessions take it with --rig {}: `underfoot session add`, `underfoot session edit`, `underfoot import`\n",
                version.name
            ))?;
        }
        return Ok(None);
    }
    measure_again(&study, true, options.json)
}

/// Rigs of a study.
pub fn list(options: &List) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let rigs = study.rigs().map_err(of)?;
    let sessions = study.sessions(None).map_err(of)?;
    let held = |version: &RigVersion| -> usize {
        let versions: Vec<RigVersion> = rigs.iter().filter(|v| v.rig == version.rig).cloned().collect();
        let by = |date: Option<&str>| holding(&versions, date).map(|v| v.id);
        sessions
            .iter()
            .filter(|s| s.rig == Some(version.rig) && by(s.date.as_deref()) == Some(version.id))
            .count()
    };
    if options.json {
        let all: Vec<_> = rigs
            .iter()
            .map(|v| {
                let mut one = json!(v);
                one["sessions"] = json!(held(v));
                one
            })
            .collect();
        print_json(&json!({ "schema": "underfoot.rigs/1", "rigs": all }))?;
        return Ok(None);
    }
    if rigs.is_empty() {
        print(
            "no rig yet; `underfoot rig new RECORDING -o bay.toml` writes a rig file, `underfoot rig add bay bay.toml` adds it\n",
        )?;
        return Ok(None);
    }
    let mut table =
        Table::new(&[Align::Left, Align::Right, Align::Left, Align::Right, Align::Right, Align::Left]);
    table.row(["rig", "version", "from", "sessions", "plates", "content"]).rule();
    for v in &rigs {
        let plates = v.file().map_or_else(|_| "—".to_string(), |f| f.plate.len().to_string());
        let from = if v.from_date.is_empty() { "ever" } else { &v.from_date };
        table.row([
            v.name.clone(),
            v.version.to_string(),
            from.to_string(),
            held(v).to_string(),
            plates,
            v.hash.get(..12).unwrap_or_default().to_string(),
        ]);
    }
    print(&table.text())?;
    Ok(None)
}

/// The rig file as it was given.
pub fn show(options: &Show) -> Done {
    let study = options.study.open()?;
    let versions = study.rig_called(&options.name).map_err(|e| fail(e, &study.root))?;
    let found = match options.number {
        None => versions.last(),
        Some(n) => versions.iter().find(|v| v.version == n),
    };
    let Some(version) = found else {
        let there: Vec<String> = versions.iter().map(|v| v.version.to_string()).collect();
        return Err(Fail::usage(format!("{} has no such version", options.name))
            .fix(format!("there are versions {}", there.join(", "))));
    };
    print(&version.text)?;
    Ok(None)
}
