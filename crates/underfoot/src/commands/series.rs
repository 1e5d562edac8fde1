//! `underfoot series`: one row a sample.
use super::ledger::SignsWord;
use super::{Done, analyse, ending, print, print_json, tell_findings};
use crate::asked::Asked;
use clap::Args;
use std::path::PathBuf;
use underfoot::export;
use underfoot::fail::Fail;
use view::series::{Column, SeriesFacts};
use view::{Convention, Shown};

/// Options of `underfoot series`.
#[derive(Args, Debug)]
pub struct Series {
    #[command(flatten)]
    asked: Asked,
    /// Format; otherwise from the ending of OUT, otherwise CSV
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// File to write; without it the series goes to standard output (CSV and JSON)
    #[arg(short, long, value_name = "OUT")]
    out: Option<PathBuf>,
    /// Show the reaction on the player, or the action of the player on the ground
    #[arg(long, value_enum, default_value = "reaction")]
    signs: SignsWord,
    /// Axes: the player's (target, toe, up), the golf frame's, or the laboratory's
    #[arg(long, value_enum, default_value = "player")]
    frame: FrameWord,
    /// Add the standard uncertainty of every column (player axes), from the rig's error budget and the plates' noise
    #[arg(long)]
    uncertainty: bool,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
enum Format {
    /// Comma-separated; its units and convention go beside it as OUT-metadata.json (W3C tabular metadata)
    Csv,
    /// Parquet with units and convention inside
    Parquet,
    /// JSON with units and convention inside
    Json,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug)]
enum FrameWord {
    /// Target, toe, up: the same for right- and left-handed players
    Player,
    /// x toward the target, z up, y = z × x
    Golf,
    /// The recording's own axes and origin
    Lab,
}

/// Runs it.
pub fn run(options: &Series) -> Done {
    if options.uncertainty && !matches!(options.frame, FrameWord::Player) {
        return Err(Fail::usage("uncertainties are worked out in the player's axes")
            .at("--uncertainty")
            .fix("leave --frame out, or write a second file without --uncertainty"));
    }
    let name_ends = options.out.as_ref().and_then(|p| p.extension()).map(|e| e.to_ascii_lowercase());
    let format = match (options.format, name_ends.as_ref().and_then(|e| e.to_str())) {
        (Some(format), _) => format,
        (None, Some("parquet")) => Format::Parquet,
        (None, Some("json")) => Format::Json,
        (None, Some("csv" | "txt") | None) => Format::Csv,
        (None, Some(other)) => {
            return Err(Fail::usage(format!("\".{other}\" is no format of a series"))
                .at("-o")
                .fix("end the name in .csv, .parquet or .json, or state --format"));
        }
    };
    if format == Format::Parquet && options.out.is_none() {
        return Err(Fail::usage("Parquet needs a file to write to").at("-o").fix("add -o OUT.parquet"));
    }
    if let Some(out) = &options.out {
        let rig = options.asked.how.rig.as_deref().unwrap_or(&options.asked.file);
        export::not_over(out, &[&options.asked.file, rig])?;
    }
    let loaded = options.asked.load()?;
    let mut findings = Vec::new();
    let swing = analyse(&loaded, &options.asked.how, &mut findings)?;
    let convention = Convention {
        signs: options.signs.into(),
        frame: match options.frame {
            FrameWord::Player => Shown::Player,
            FrameWord::Golf => Shown::Golf,
            FrameWord::Lab => Shown::Lab,
        },
    };
    let mut columns = view::series::columns(&swing, convention);
    if options.uncertainty {
        columns.extend(view::series::uncertainties(&swing, &loaded.rig));
    }
    let facts = SeriesFacts::of(&loaded.recording, &loaded.rig, &swing, convention);
    write(options, format, &columns, &facts)?;
    tell_findings(&findings);
    Ok(ending(&findings))
}

fn write(options: &Series, format: Format, columns: &[Column], facts: &SeriesFacts) -> Result<(), Fail> {
    let Some(out) = &options.out else {
        return match format {
            Format::Json => print_json(&export::json(columns, facts)),
            _ => print(&String::from_utf8_lossy(&export::csv(columns))),
        };
    };
    match format {
        Format::Csv => {
            let about = serde_json::to_vec_pretty(&export::csv_metadata(out, columns, facts)).map_err(bug)?;
            export::whole_file(out, &export::csv(columns))?;
            export::whole_file(&export::csv_metadata_path(out), &about)?;
        }
        Format::Json => {
            let bytes = serde_json::to_vec(&export::json(columns, facts)).map_err(bug)?;
            export::whole_file(out, &bytes)?;
        }
        Format::Parquet => export::whole_file(out, &parquet(columns, facts)?)?,
    }
    let rows = columns.first().map_or(0, |c| c.values.len());
    eprintln!("wrote {}: {rows} rows, {} columns, {}", out.display(), columns.len(), facts.convention_words);
    Ok(())
}

fn parquet(columns: &[Column], facts: &SeriesFacts) -> Result<Vec<u8>, Fail> {
    archive::columnar::series(columns, facts).map_err(|why| Fail {
        exit: underfoot::fail::Exit::Bug,
        ..Fail::input(format!("Parquet could not be written: {why}"))
    })
}

fn bug(error: serde_json::Error) -> Fail {
    Fail { exit: underfoot::fail::Exit::Bug, ..Fail::input(format!("JSON could not be written: {error}")) }
}
