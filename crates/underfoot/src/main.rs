//! The command line.
mod asked;
mod commands;
mod conditioning;
mod placed;
mod practice;

use clap::{Parser, Subcommand};
use commands::Done;
use std::process::ExitCode;
use underfoot::fail::Exit;

/// A bench for ground reaction recordings of golf swings: every net force and turning moment as the exact sum of
/// what each foot did.
#[derive(Parser, Debug)]
#[command(name = "underfoot", version, propagate_version = true, max_term_width = 100)]
#[command(after_help = "\
Examples:
  underfoot demo                                   an invented session, recorded, read back and explained
  underfoot inspect swing.c3d                      what is in a file
  underfoot check session/                         what is odd, and what to do about it
  underfoot ledger swing.c3d --target +y           the accounts at their peaks
  underfoot ledger swing.csv --rig bay.toml --at 1.25
  underfoot series swing.c3d --target +y -o swing.parquet

Exit codes: 0 done · 1 done, with findings of severity stop · 2 usage · 3 bad input · 4 our bug

Full-effort swings and jumps on plates: warm up, check surface, footwear and surroundings, stop on pain;
local rules and licensed practice come first. Underfoot measures; it is not a medical device.")]
struct Underfoot {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// What is in a file: plates with a plan, channels, rates, markers, events, anything odd
    #[command(after_help = "\
Examples:
  underfoot inspect swing.c3d
  underfoot inspect swing.csv --rig bay.toml --json")]
    Inspect(Box<commands::inspect::Inspect>),
    /// What a careful reader would notice, one recording or a folder of them: why it matters and what to do
    #[command(after_help = "\
Examples:
  underfoot check swing.c3d --target +y --hand right
  underfoot check session/ --rig bay.toml --hand left
  underfoot check session/ --json

Exit codes: 0 no stop · 1 a stop in some recording · 3 a recording could not be read")]
    Check(Box<commands::check::Check>),
    /// The accounts: every net force and turning moment as the sum of what each foot did
    #[command(after_help = "\
Examples:
  underfoot ledger swing.c3d --target +y --hand left
  underfoot ledger swing.c3d --target +y --about rig-centre --at 1.25
  underfoot ledger swing.csv --rig bay.toml --mass 78.5 --json")]
    Ledger(Box<commands::ledger::Ledger>),
    /// When things happened: address, takeaway, top, impact, finish, each with its source and ±
    #[command(after_help = "\
Examples:
  underfoot events swing.c3d --target +y
  underfoot events swing.c3d --target +y --set impact=1.234
  underfoot events swing.c3d --club-marker CLUB2 --json")]
    Events(Box<commands::events::Events>),
    /// Events and metrics with their ±, on one page; many recordings at once as a table
    #[command(after_help = "\
Examples:
  underfoot measure swing.c3d --target +y --hand right
  underfoot measure session/ --rig bay.toml -o metrics.csv
  underfoot measure swing.c3d --target +y --all

Where only force is known, top and impact are estimates: no figure rests on them unless you say --estimates.")]
    Measure(Box<commands::measure::Measure>),
    /// Which low-pass a recording proposes, with the plot it is read from
    #[command(after_help = "\
Examples:
  underfoot filter --suggest swing.c3d
  underfoot filter --suggest swing.csv --rig bay.toml --json")]
    Filter(Box<commands::filter::Filter>),
    /// What can be measured: every metric with its definition, needs and source
    #[command(after_help = "\
Examples:
  underfoot metrics
  underfoot metrics turn.net-cop.most")]
    Metrics(commands::metrics::Metrics),
    /// The accounts as one row a sample: CSV, Parquet or JSON
    #[command(after_help = "\
Examples:
  underfoot series swing.c3d --target +y -o swing.csv
  underfoot series swing.c3d --target +y --frame lab --signs action --format parquet -o swing.parquet

A foot under the load floor has no centre of pressure (empty). Its small wrench is booked at the other foot's
centre of pressure: it makes no couple there, and the entries still sum to turn_nm.")]
    Series(Box<commands::series::Series>),
    /// Write a rig file from a recording, or explain one
    #[command(subcommand)]
    Rig(commands::rig::Rig),
    /// A study: the folder that keeps recordings, what was measured of them, and how
    #[command(
        subcommand,
        after_help = "\
Examples:
  underfoot study new practice
  underfoot study info --study practice"
    )]
    Study(commands::study::StudyCommand),
    /// Events of a swing of a study: see them, place one by hand, take it back
    #[command(
        subcommand,
        after_help = "\
Examples:
  underfoot event list 7 --study practice
  underfoot event set 7 impact=2.541 --study practice
  underfoot event clear 7 impact --study practice"
    )]
    Event(commands::event::EventCommand),
    /// Everything a study keeps of one swing: where it comes from, how it was measured, what came out
    #[command(after_help = "\
Examples:
  underfoot show 7 --study practice
  underfoot show 7 --study practice --all")]
    Show(commands::show::Show),
    /// A lesson: every recording that comes into a folder is in the study and measured as soon as it is whole
    #[command(after_help = "\
Examples:
  underfoot watch captures --player P01 --rig bay --study practice
  underfoot watch captures --session 12 --club driver --study practice
  underfoot watch captures --session 12 --once --json --study practice

Half-written and locked files are waited for, renamed and replaced ones are found; what came while nobody watched
is taken in at the next start. Files that are older than the session are left unless you say --all.
Exit codes: 0 done · 1 with --once, a stop in some swing · 3 with --once, a file could not be taken in")]
    Watch(Box<commands::watch::Watch>),
    /// Invented swings with known truth, written as recordings
    #[command(after_help = "\
Examples:
  underfoot simulate -o swings --swings 5 --seed 7
  underfoot simulate -o swings --hand left --plates one --type 3 --noise none --format csv")]
    Simulate(Box<commands::simulate::Simulate>),
    /// The whole job on an invented player: simulate, record, read back, explain
    #[command(after_help = "\
Example:
  underfoot demo -o my-demo --seed 2")]
    Demo(commands::demo::Demo),
    /// Turn a C3D file into a table, or a table with its rig into a C3D file
    #[command(after_help = "\
Examples:
  underfoot convert swing.c3d swing.csv
  underfoot convert swing.csv swing.c3d --rig bay.toml")]
    Convert(commands::convert::Convert),
    /// What a finding means, why it matters and what to do
    #[command(after_help = "\
Examples:
  underfoot explain
  underfoot explain Q303")]
    Explain(commands::explain::Explain),
    /// A completion script for your shell
    #[command(after_help = "\
Example:
  underfoot completions bash > ~/.local/share/bash-completion/completions/underfoot")]
    Completions(commands::completions::Completions),
}

fn run(command: &Command) -> Done {
    match command {
        Command::Inspect(options) => commands::inspect::run(options),
        Command::Check(options) => commands::check::run(options),
        Command::Ledger(options) => commands::ledger::run(options),
        Command::Events(options) => commands::events::run(options),
        Command::Measure(options) => commands::measure::run(options),
        Command::Filter(options) => commands::filter::run(options),
        Command::Metrics(options) => commands::metrics::run(options),
        Command::Series(options) => commands::series::run(options),
        Command::Rig(options) => commands::rig::run(options),
        Command::Event(command) => commands::event::run(command),
        Command::Show(options) => commands::show::run(options),
        Command::Watch(options) => commands::watch::run(options),
        Command::Study(command) => commands::study::run(command),
        Command::Simulate(options) => commands::simulate::run(options),
        Command::Demo(options) => commands::demo::run(options),
        Command::Convert(options) => commands::convert::run(options),
        Command::Explain(options) => commands::explain::run(options),
        Command::Completions(options) => commands::completions::run(options),
    }
}

fn main() -> ExitCode {
    let asked = Underfoot::parse();
    let code = |exit: Exit| ExitCode::from(exit as u8);
    // A panic is our bug whatever the input: say so and end with our own code. The message went to standard error.
    match std::panic::catch_unwind(|| run(&asked.command)) {
        Ok(Ok(None)) => ExitCode::SUCCESS,
        Ok(Ok(Some(exit))) => code(exit),
        Ok(Err(fail)) => {
            eprintln!("{fail}");
            code(fail.exit)
        }
        Err(_) => {
            eprintln!(
                "error: this is a bug in underfoot\ndo:    please report it with the command and, if you may, the file"
            );
            code(Exit::Bug)
        }
    }
}
