//! The command line.
mod asked;
#[allow(dead_code)] // until its first callers, in the next commits
mod asking;
mod chosen;
mod commands;
mod conditioning;
mod placed;

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
    /// Write a rig file from a recording, explain one, or keep it in a study
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
    /// Players of a study: by alias, with consent and how long their recordings are kept
    #[command(
        subcommand,
        after_help = "\
Examples:
  underfoot player add P01 --hand right
  underfoot player due"
    )]
    Player(commands::player::PlayerCommand),
    /// Sessions of a study: one player, one day, one rig
    #[command(
        subcommand,
        after_help = "\
Examples:
  underfoot session add P01 --date 2026-05-12 --target +x
  underfoot session edit 1 --rig bay"
    )]
    Session(commands::session::SessionCommand),
    /// Recordings into a study: kept as they came, measured, each in the session where it belongs
    #[command(after_help = "\
Examples:
  underfoot import lesson/ --player P01 --date 2026-05-12 --target +x
  underfoot import archive/ --recursive --pattern \"{player}/{date}/{club}-{number}.c3d\" --dry-run
  underfoot import --manifest swings.csv --rig bay

Player and day (and rig) decide the session: one that is there is used, else one is made, and said. A player, a rig
or a day that nobody knows is reported, never invented. The same bytes twice are one swing.

Exit codes: 0 all taken in · 1 a stop in some recording · 3 a recording was not taken in")]
    Import(Box<commands::import::Import>),
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
    /// What the ball and the club did, from another instrument's table: clubhead speed, carry, spin…
    #[command(after_help = "\
Examples:
  underfoot outcomes radar.csv --by order --session 3
  underfoot outcomes radar.csv --by time --player P01 --date 2026-05-12 --dry-run
  underfoot outcomes radar.csv --by file --column \"Club Speed=clubhead-speed [mph]\" --column \"Ball=-\"

A column states its unit: in its head, as \"Carry (yd)\", in a row of units, or with --column. Without one it is not
taken. Known by name: clubhead, ball and smash; carry, total, side, apex; launch, spin, attack, path and face.
Others are kept under the name they have. Everything is kept in SI, with the figure as it was given.

Exit codes: 0 every row found its swing · 3 a row did not, or nothing could be written")]
    Outcomes(Box<commands::outcomes::Outcomes>),
    /// The swings of a study, a row each; chosen by player, club, day, finding, tag or a metric
    #[command(after_help = "\
Examples:
  underfoot list
  underfoot list --player P03 --club driver --from 2026-01-01
  underfoot list --where \"up.net.most > 150 %BW\" --no-stops --sort up.net.most
  underfoot list --plates two --finding Q303 --csv > swings.csv")]
    List(Box<commands::list::List>),
    /// Everything a study keeps of one swing: where it comes from, how it was measured, what came out
    #[command(after_help = "\
Examples:
  underfoot show 7 --study practice
  underfoot show 7 --study practice --all")]
    Show(commands::show::Show),
    /// One metric of many swings with ±, its median and quartiles; one- and two-plate swings on common ground
    #[command(after_help = "\
Examples:
  underfoot values turn.net-cop.most --club driver
  underfoot values up.net.most --player P03 --collapse
  underfoot values turn.rig-centre.most --session 4 --csv

Swings with both feet on one plate have net accounts alone. --collapse measures those on two plates as the one plate
they would have been, about one point for all, and keeps it: the next look is quick.")]
    Values(Box<commands::values::Values>),
    /// Where along the swing do they differ? Whole curves of an account: one choice, several, or beside a number
    #[command(after_help = "\
Examples:
  underfoot curves up.net --player alder                          its mean curve, and where further swings lie
  underfoot curves up.net session=2 session=3                     where along the swing do two sessions differ?
  underfoot curves turn to=2026-06-30 from=2026-07-01 --register  before and after, the top laid over the top
  underfoot curves toe.lead club=driver 'club=\"7 iron\"' --pair    the same players with two clubs
  underfoot curves up.net --on outcome.clubhead-speed             does it go with clubhead speed, and when?
  underfoot curves --list                                         the quantities there are

A choice is a line of the words of the options below: player, session, swing, club, from, to, plates, rig, tag, finding, where.
These options hold for every choice. Players are counted where a choice has several, each with the mean of his or her curves;
the swings of one player otherwise. How it is done, and when not to believe it: docs/evidence/curves.md.")]
    Curves(Box<commands::curves::Curves>),
    /// How far a figure wanders by itself, from swing to swing and day to day; how many swings are enough
    #[command(after_help = "\
Examples:
  underfoot repeat
  underfoot repeat --club driver --metric up.net.most --precision 5%BW
  underfoot repeat --player P01 --by session
  underfoot repeat --metric up.lead.*,outcome.clubhead-speed --forms --json

SEM is the scatter of single swings about the mean of their session; ± is what 19 of 20 lie within. A change of two means is
more than noise where it is larger than the least change. docs/evidence/repeatability.md says how it is computed.")]
    Repeat(Box<commands::repeat::Repeat>),
    /// Is it a real change, or is it noise? Two choices of swings, metric by metric, with a verdict in plain words
    #[command(after_help = "\
Examples:
  underfoot compare session=2 session=3
  underfoot compare \"player=alder to=2026-06-30\" \"player=alder from=2026-07-01\" --club driver
  underfoot compare to=2026-06-30 from=2026-07-01 --metric \"up.*,turn.net-cop.most\"
  underfoot compare club=driver \"club=7 iron\" --player alder --chapter timing --json

A side is a line of the words of the options below: player, session, swing, club, from, to, plates, rig, tag, finding, where.
These options hold for both sides. One player on both sides: swings are compared, and the answer speaks of that player.
Several players: each counts once, however many swings, and is compared with himself or herself where on both sides.
The rule of the verdicts: docs/evidence/change.md.")]
    Compare(Box<commands::compare::Compare>),
    /// Do two rigs measure the same of the same swings; does one plate what two do
    #[command(after_help = "\
Examples:
  underfoot agree \"rig=bay\" \"rig=portable\"
  underfoot agree \"session=14\" \"session=43\" --metric up.net.most
  underfoot agree --collapse
  underfoot agree --collapse --metric turn.net-cop.most,cop.net.path --json

A pair is one swing recorded twice: the same player, day and number. --collapse alone holds every swing on two plates against
itself as the one plate they would have been. docs/evidence/agreement.md says how it is computed.")]
    Agree(Box<commands::agree::Agree>),
    /// Does one figure go with another: from player to player, and from swing to swing of one player
    #[command(after_help = "\
Examples:
  underfoot relate outcome.clubhead-speed up.net.most turn.net-cop.most
  underfoot relate outcome.clubhead-speed up.net.most --player P01
  underfoot relate outcome.carry up.lead.* --club driver --control bh

The two parts need not agree: players who push harder may swing faster while a player's own harder swings do not.
Neither says that one causes the other. docs/evidence/association.md says how it is computed.")]
    Relate(Box<commands::relate::Relate>),
    /// How many swings and players would show a change, from the study's own noise
    #[command(after_help = "\
Examples:
  underfoot plan
  underfoot plan --metric up.net.most --change 5%BW --player P01
  underfoot plan --metric outcome.clubhead-speed --change 1 --swings 8 --power 0.9

Five ways to compare: one player on one day, between two days, over many days; a group before and after; two groups. Ranges in
brackets say how well the noise is known. docs/evidence/planning.md says how it is computed.")]
    Plan(Box<commands::plan::Plan>),
    /// Where players and swings stand among others: centiles with intervals, by stratum; is it unusual?
    #[command(after_help = "\
Examples:
  underfoot cohort --club driver
  underfoot cohort --club driver --by sex,handicap --metric up.net.most
  underfoot cohort --club driver --place swing=12
  underfoot cohort --club driver --by speed --speed-cuts 40,45 --place \"player=P01 from=2026-09-01\"
  underfoot cohort --player P01 --place swing=12          one swing among the player's own
  underfoot cohort --club driver --curve up.net --place swing=12

A centile stands only where the data hold an interval for it: 6 players for the middle, 13 for the quartiles, 36 and 72 for the
outer ones. docs/evidence/cohort.md says how it is computed.")]
    Cohort(Box<commands::cohort::Cohort>),
    /// Are there kinds of swings? Groups of whole curves of an account, shown only where they come again
    #[command(after_help = "\
Examples:
  underfoot shapes toe.net --club driver
  underfoot shapes up.net --club driver --with-size
  underfoot shapes turn --player P01                      kinds of swings of one player
  underfoot shapes toe.net --register --json

Players are counted, each with the mean of the curves; of one player, swings. That no groups are seen does not say that there
are none. docs/evidence/cohort.md says how it is computed, and how often it errs.")]
    Shapes(Box<commands::shapes::Shapes>),
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
    /// Words on swings, to find them again by
    #[command(
        subcommand,
        after_help = "\
Examples:
  underfoot tag add warm-up 1-5
  underfoot tag add \"new shoes\" --session 4
  underfoot tag remove warm-up 5
  underfoot tag list"
    )]
    Tag(commands::tag::Tag),
    /// What is written beside a swing or a session: write it, or show it
    #[command(after_help = "\
Examples:
  underfoot note 12 \"lost balance\"
  underfoot note 12
  underfoot note --session 3 \"mat was wet\"
  underfoot note 12 --remove")]
    Note(commands::note::Note),
    /// Out of a study: a package that describes itself, tables as CSV or Parquet, JSON, C3D with our series
    #[command(after_help = "\
Examples:
  underfoot export paper --study practice --without-identity --series
  underfoot export driver.csv --table figures --club driver
  underfoot export swings --format c3d --player P01 --from 2026-05-01

A package is a folder after the Data Package standard: CSV tables, and for machines and people what every column means.
Names are part of an export only with --with-identity.

Exit codes: 0 done · 2 usage · 3 some swing is not in it as asked, or nothing could be written")]
    Export(Box<commands::export::Export>),
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
        Command::Study(command) => commands::study::run(command),
        Command::Player(command) => commands::player::run(command),
        Command::Session(command) => commands::session::run(command),
        Command::Import(options) => commands::import::run(options),
        Command::Watch(options) => commands::watch::run(options),
        Command::Outcomes(options) => commands::outcomes::run(options),
        Command::List(options) => commands::list::run(options),
        Command::Show(options) => commands::show::run(options),
        Command::Values(options) => commands::values::run(options),
        Command::Agree(options) => commands::agree::run(options),
        Command::Plan(options) => commands::plan::run(options),
        Command::Relate(options) => commands::relate::run(options),
        Command::Repeat(options) => commands::repeat::run(options),
        Command::Compare(options) => commands::compare::run(options),
        Command::Cohort(options) => commands::cohort::run(options),
        Command::Shapes(options) => commands::shapes::run(options),
        Command::Curves(options) => commands::curves::run(options),
        Command::Event(command) => commands::event::run(command),
        Command::Tag(command) => commands::tag::run(command),
        Command::Note(options) => commands::note::run(options),
        Command::Export(options) => commands::export::run(options),
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
