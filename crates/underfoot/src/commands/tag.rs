//! `underfoot tag`: words on swings, to find them again by.
use super::{Done, count, print, print_json};
use crate::chosen::{ChosenArgs, Numbers};
use archive::Study;
use clap::{Args, Subcommand};
use serde_json::json;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::table::{Align, Table};

/// Options of `underfoot tag`.
#[derive(Subcommand, Debug)]
pub enum Tag {
    /// Put a tag on swings
    Add(Box<Which>),
    /// Take a tag off swings
    Remove(Box<Which>),
    /// The tags of a study
    List(List),
}

/// Options of `underfoot tag add` and `tag remove`.
#[derive(Args, Debug)]
pub struct Which {
    /// The tag: a word or a few, without commas
    word: String,
    /// Swings by their numbers: 7, or 3-9
    #[arg(value_name = "SWINGS", value_delimiter = ',')]
    named: Vec<Numbers>,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
}

/// Options of `underfoot tag list`.
#[derive(Args, Debug)]
pub struct List {
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(command: &Tag) -> Done {
    match command {
        Tag::Add(which) => change(which, true),
        Tag::Remove(which) => change(which, false),
        Tag::List(options) => list(options),
    }
}

fn change(which: &Which, add: bool) -> Done {
    let mut chosen = which.chosen.clone();
    chosen.swings.extend(which.named.iter().copied());
    if chosen.is_empty() {
        return Err(Fail::usage("no swing is named").fix(
            "name swings by their numbers (7, or 3-9), or choose them: --session 2, --club driver, --where …",
        ));
    }
    let selection = chosen.selection()?;
    let study: Study = which.study.open()?;
    let of = |e| fail(e, &study.root);
    let swings = study.chosen(&selection).map_err(of)?;
    if swings.is_empty() {
        return Err(
            Fail::usage("no swing of the study is like that").fix("`underfoot list` shows what there is")
        );
    }
    let count = |n: usize| count(n, "swing");
    let word = which.word.trim();
    let told = if add {
        let new = study.add_tag(&swings, word).map_err(of)?;
        match swings.len() - new {
            0 => format!("tagged \"{word}\": {}\n", count(new)),
            had => format!("tagged \"{word}\": {}; {} had it\n", count(new), count(had)),
        }
    } else {
        let gone = study.remove_tag(&swings, word).map_err(of)?;
        match swings.len() - gone {
            0 => format!("no longer tagged \"{word}\": {}\n", count(gone)),
            without => {
                format!("no longer tagged \"{word}\": {}; {} had it not\n", count(gone), count(without))
            }
        }
    };
    print(&told)?;
    Ok(None)
}

fn list(options: &List) -> Done {
    let study = options.study.open()?;
    let tags = study.tags().map_err(|e| fail(e, &study.root))?;
    if options.json {
        print_json(&json!({ "schema": "underfoot.tags/1", "tags": tags }))?;
        return Ok(None);
    }
    if tags.is_empty() {
        eprintln!("no swing has a tag yet; `underfoot tag add WORD SWINGS…` puts one on");
        return Ok(None);
    }
    let mut table = Table::new(&[Align::Left, Align::Right]);
    table.row(["tag", "swings"]).rule();
    for tag in &tags {
        table.row([tag.word.clone(), tag.swings.to_string()]);
    }
    print(&table.text())?;
    Ok(None)
}
