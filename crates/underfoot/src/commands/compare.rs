//! `underfoot compare A B`: is it a real change, or is it noise?
use super::{Done, count};
use crate::asking::{LookArgs, answer, chosen, columns, table};
use crate::chosen::ChosenArgs;
use archive::inquire::{Ask, Looking, Threads};
use archive::{Selection, Study};
use clap::{Args, ValueEnum};
use std::collections::BTreeSet;
use swing::metrics::{Group, catalogue};
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::claim::change::{Asked, Control, Pairing, USUAL, about_swings, compared};
use view::claim::table::Table;

/// Options of `underfoot compare`.
#[derive(Args, Debug)]
pub struct Compare {
    /// The one side, such as "session=3" or "player=alder to=2026-06-30"
    #[arg(value_name = "A")]
    a: String,
    /// The other side; differences are B minus A
    #[arg(value_name = "B")]
    b: String,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    /// Metrics or outcomes: up.net.most, up.lead.*, outcome.clubhead-speed; otherwise twelve, one of each kind
    #[arg(long = "metric", value_name = "ID", value_delimiter = ',', help_heading = "What is asked")]
    metrics: Vec<String>,
    /// All metrics of a chapter of `underfoot metrics`
    #[arg(
        long = "chapter",
        value_enum,
        value_name = "CHAPTER",
        value_delimiter = ',',
        help_heading = "What is asked"
    )]
    chapters: Vec<Chapter>,
    /// All metrics and outcomes, but for times of the recording's own clock
    #[arg(long, conflicts_with_all = ["metrics", "chapters"], help_heading = "What is asked")]
    all: bool,
    /// What is paired: players with themselves, even where few are on both sides; or a player's swings in their order.
    /// Otherwise players are paired where the same are on both sides
    #[arg(long, value_enum, value_name = "WHAT", help_heading = "How it is done")]
    pair: Option<Pair>,
    /// What is held where many metrics are looked at: holm, the chance of even one false claim; bh, the share of false ones
    /// among the claims
    #[arg(long, value_enum, value_name = "WHICH", default_value = "holm", help_heading = "How it is done")]
    control: Which,
    /// Probability of chance under which a change may be called clear
    #[arg(long, value_name = "SHARE", default_value_t = 0.05, value_parser = share, help_heading = "How it is done")]
    alpha: f64,
    /// Level of intervals, and of what would have stood out
    #[arg(long, value_name = "SHARE", default_value_t = 0.95, value_parser = level, help_heading = "How it is done")]
    level: f64,
    /// Resamples of the intervals
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u32).range(1_000..=10_000_000), help_heading = "How it is done")]
    resamples: u32,
    /// Up to so many rearrangements are gone through; beyond, so many are drawn
    #[arg(long, value_name = "N", default_value_t = 20_000, value_parser = clap::value_parser!(u32).range(1_000..=100_000_000), help_heading = "How it is done")]
    permutations: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// A chapter of the catalogue.
#[derive(ValueEnum, Clone, Copy, Debug)]
enum Chapter {
    /// Forces and their peaks
    Forces,
    /// Turn and free moments
    Turn,
    /// Accounts at events and peaks
    Instants,
    /// Impulses and loading rates
    Impulses,
    /// Timing
    Timing,
    /// Centres of pressure and stance
    Pressure,
    /// Centre of mass
    Body,
}

impl Chapter {
    fn group(self) -> Group {
        match self {
            Self::Forces => Group::Forces,
            Self::Turn => Group::Turn,
            Self::Instants => Group::Instants,
            Self::Impulses => Group::Impulses,
            Self::Timing => Group::Timing,
            Self::Pressure => Group::Pressure,
            Self::Body => Group::Body,
        }
    }
}

/// What is paired.
#[derive(ValueEnum, Clone, Copy, Debug)]
enum Pair {
    /// Players who are on both sides
    Players,
    /// The first swing of A with the first of B, and so on
    Order,
}

/// Which promise is kept.
#[derive(ValueEnum, Clone, Copy, Debug)]
enum Which {
    /// Holm 1979
    Holm,
    /// Benjamini & Hochberg 1995
    Bh,
}

fn share(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(share) if share > 0.0 && share < 0.5 => Ok(share),
        _ => Err("a share above 0 and below 0.5, such as 0.05".into()),
    }
}

fn level(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(level) if level > 0.5 && level < 1.0 => Ok(level),
        _ => Err("a share above 0.5 and below 1, such as 0.95".into()),
    }
}

/// Runs it.
pub fn run(options: &Compare) -> Done {
    let (a, b) = (chosen(&options.a, &options.chosen)?, chosen(&options.b, &options.chosen)?);
    let study = options.study.open()?;
    let asks = asks(options, &study)?;
    let looking = options.look.looking(&study)?;
    let (of_a, of_b) = (table(&study, &a, &asks, &looking)?, table(&study, &b, &asks, &looking)?);
    apart(&of_a, &of_b)?;
    let asked = Asked {
        pairing: match options.pair {
            None => Pairing::ByData,
            Some(Pair::Players) => Pairing::Subjects,
            Some(Pair::Order) => Pairing::Order,
        },
        control: match options.control {
            Which::Holm => Control::Holm,
            Which::Bh => Control::BenjaminiHochberg,
        },
        alpha: options.alpha,
        level: options.level,
        resamples: options.resamples as usize,
        permutations: options.permutations as usize,
        seed: options.seed,
    };
    let around = if about_swings(&of_a, &of_b, asked.pairing) {
        Some(around(&study, options, &of_a, &of_b, &asks, &looking)?)
    } else {
        None
    };
    answer(&compared(&of_a, &of_b, around.as_ref(), &asked, &Threads), options.json)?;
    Ok(None)
}

/// What is looked at.
fn asks(options: &Compare, study: &Study) -> Result<Vec<Ask>, Fail> {
    // When something is on the recording's clock depends on when it was started.
    let of_the_clock = |id: &str| id.ends_with(".time");
    if options.all {
        let outcomes = study.outcome_names().map_err(|e| fail(e, &study.root))?;
        let metrics = catalogue().iter().filter(|m| !of_the_clock(&m.id)).map(Ask::Metric);
        return Ok(metrics.chain(outcomes.into_iter().map(Ask::Outcome)).collect());
    }
    let mut named = options.metrics.clone();
    for chapter in &options.chapters {
        let of = catalogue().iter().filter(|m| m.group == chapter.group() && !of_the_clock(&m.id));
        named.extend(of.map(|m| m.id.clone()));
    }
    columns(study, &named, &USUAL)
}

/// A swing on both sides would be compared with itself.
fn apart(a: &Table, b: &Table) -> Result<(), Fail> {
    let in_a: BTreeSet<i64> = a.swings.iter().map(|s| s.swing).collect();
    let both = b.swings.iter().filter(|s| in_a.contains(&s.swing)).count();
    if both == 0 {
        return Ok(());
    }
    Err(Fail::usage(format!(
        "{} in both A ({}) and B ({})",
        if both == 1 { "1 swing is".to_string() } else { format!("{} are", count(both, "swing")) },
        a.named,
        b.named
    ))
    .fix("choose sides that have no swing in common, for example \"to=2026-06-30\" and \"from=2026-07-01\""))
}

/// Other swings with the same clubs, rigs and plates, which tell how far days of a player differ. Where swings would have to be
/// measured anew for it, only those of the players in question.
fn around(
    study: &Study,
    options: &Compare,
    a: &Table,
    b: &Table,
    asks: &[Ask],
    looking: &Looking,
) -> Result<Table, Fail> {
    let of = |e| fail(e, &study.root);
    let common = options.chosen.selection()?;
    let mut selection = Selection {
        clubs: common.clubs,
        rigs: common.rigs,
        feet: common.feet,
        no_stops: common.no_stops,
        ..Selection::default()
    };
    if looking.basis != study.usual_basis().map_err(of)?.1 {
        let players: BTreeSet<&String> = a.swings.iter().chain(&b.swings).map(|s| &s.player).collect();
        selection.players = players.into_iter().cloned().collect();
    }
    study.table(&selection, asks, looking, &mut |_, _| {}).map_err(of)
}
