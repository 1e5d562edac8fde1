//! `underfoot cohort`: where players and swings stand among others.
use super::Done;
use super::curves::Event;
use super::repeat::level;
use crate::asking::{LookArgs, answer, columns, table, traces};
use crate::chosen::ChosenArgs;
use archive::Selection;
use archive::Study;
use archive::inquire::{Ask, Looking, Threads};
use clap::{Args, ValueEnum};
use std::path::Path;
use swing::events::Name;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::claim::accounts::account_called;
use view::claim::cohort::{By, CohortHow, CurveHow, Ends, HANDICAPS, Of, cohort, cohort_curve};
use view::claim::curves::Register;
use view::claim::table::Account;
use view::study::KEYS;

/// Options of `underfoot cohort`.
#[derive(Args, Debug)]
pub struct Cohort {
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    /// Metrics or outcomes: up.net.most, up.lead.*, outcome.clubhead-speed; otherwise those of a list of swings
    #[arg(long = "metric", value_name = "ID", value_delimiter = ',', help_heading = "What is asked")]
    metrics: Vec<String>,
    /// Whole curves of an account instead: up.net, toe.lead, turn …; `underfoot curves --list` lists them
    #[arg(long, value_name = "ACCOUNT", conflicts_with_all = ["metrics", "by", "of"], help_heading = "What is asked")]
    curve: Option<String>,
    /// What sets swings apart; each has a reference of its own
    #[arg(long, value_enum, value_name = "WHAT", value_delimiter = ',', help_heading = "What is asked")]
    by: Vec<Apart>,
    /// Where bands of handicap begin
    #[arg(long, value_name = "H,H…", value_delimiter = ',', default_values_t = HANDICAPS, allow_hyphen_values = true, help_heading = "What is asked")]
    handicap_cuts: Vec<f64>,
    /// Where bands of speed begin, in the unit of the outcome
    #[arg(long, value_name = "V,V…", value_delimiter = ',', help_heading = "What is asked")]
    speed_cuts: Vec<f64>,
    /// The outcome whose mean, player by player, makes bands of speed
    #[arg(
        long,
        value_name = "OUTCOME",
        default_value = "outcome.clubhead-speed",
        help_heading = "What is asked"
    )]
    speed_of: String,
    /// Say where these stand: "swing=12", "player=alder from=2026-09-01". Swings of a player are placed as their mean.
    /// --club, --plates, --rig and --no-stops hold for them too
    #[arg(long, value_name = "CHOICE", help_heading = "What is asked")]
    place: Option<String>,
    /// Place every swing by itself
    #[arg(long, requires = "place", help_heading = "What is asked")]
    each: bool,
    /// What the reference is made of; otherwise single swings where single swings are placed, else means
    #[arg(long, value_enum, value_name = "WHAT", help_heading = "How it is done")]
    of: Option<MadeOf>,
    #[command(flatten)]
    ends: EndsArgs,
    /// Level of the intervals
    #[arg(long, value_name = "LEVEL", default_value_t = 0.95, value_parser = level, help_heading = "How it is done")]
    level: f64,
    /// Probability of chance under which something is called unusual, held over all that is looked at
    #[arg(long, value_name = "SHARE", default_value_t = 0.05, value_parser = share, help_heading = "How it is done")]
    alpha: f64,
    /// How often players are drawn anew for intervals of single swings
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u32).range(200..=100_000), help_heading = "How it is done")]
    resamples: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// Between which events curves are cut.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = "Of curves")]
pub struct EndsArgs {
    /// The event at 0 %; otherwise takeaway
    #[arg(long = "from-event", value_enum, value_name = "EVENT")]
    from_event: Option<Event>,
    /// The event at 100 %; otherwise impact where every swing has it, else finish
    #[arg(long = "to-event", value_enum, value_name = "EVENT")]
    to_event: Option<Event>,
    /// Take estimated events for events
    #[arg(long)]
    estimates: bool,
    /// Lay the events on the way (the top, say) over one another, so that timing does not show as height
    #[arg(long)]
    register: bool,
    /// Nodes of a curve
    #[arg(long, value_name = "N", default_value_t = 101)]
    nodes: usize,
}

impl EndsArgs {
    /// The same for an answer.
    pub fn ends(&self) -> Ends {
        Ends {
            from: self.from_event.map(Name::from),
            to: self.to_event.map(Name::from),
            estimates: self.estimates,
            register: if self.register { Register::Landmarks } else { Register::Even },
            nodes: self.nodes,
        }
    }
}

/// An account by its name.
pub fn account(named: &str, place: &str) -> Result<Account, Fail> {
    account_called(named)
        .map_err(|e| Fail::usage(e.to_string()).at(place).fix("`underfoot curves --list` lists them"))
}

/// What sets swings apart.
#[derive(ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Apart {
    /// The player's sex
    Sex,
    /// The club
    Club,
    /// Bands of the player's handicap
    Handicap,
    /// Bands of the player's speed with the club
    Speed,
    /// Both feet on one plate, or a plate for each
    Plates,
}

/// What a reference is made of.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum MadeOf {
    /// The mean of each player's swings
    Means,
    /// Single swings, every player counting the same
    Swings,
}

/// A probability of error: above nothing, below one half.
pub fn share(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(share) if share > 0.0 && share < 0.5 => Ok(share),
        _ => Err("a share above 0 and below 0.5, such as 0.05".into()),
    }
}

/// Runs it.
pub fn run(options: &Cohort) -> Done {
    let selection = options.chosen.selection()?;
    let by = options.by.iter().map(|b| apart(*b, options)).collect::<Result<Vec<By>, Fail>>()?;
    let study = options.study.open()?;
    let looking = options.look.looking(&study)?;
    if let Some(named) = &options.curve {
        return of_curve(options, named, &study, &selection, &looking);
    }
    let mut asks = columns(&study, &options.metrics, &KEYS.map(|k| k.metric))?;
    let mut aside = None;
    if options.by.contains(&Apart::Speed) {
        let speed = columns(&study, std::slice::from_ref(&options.speed_of), &[])?;
        for ask in speed.into_iter().filter(|a| !asks.contains(a)).collect::<Vec<Ask>>() {
            aside = Some(ask.id());
            asks.push(ask);
        }
    }
    let reference = table(&study, &selection, &asks, &looking)?;
    let of_placed =
        |text: &String| -> Result<_, Fail> { table(&study, &placed(text, &selection)?, &asks, &looking) };
    let placed = options.place.as_ref().map(of_placed).transpose()?;
    let how = CohortHow {
        by,
        of: options.of.map(|of| match of {
            MadeOf::Means => Of::Means,
            MadeOf::Swings => Of::Swings,
        }),
        each: options.each,
        aside,
        level: options.level,
        alpha: options.alpha,
        resamples: options.resamples as usize,
        seed: options.seed,
    };
    answer(&cohort(&reference, placed.as_ref(), &how, &Threads), options.json)?;
    Ok(None)
}

fn of_curve(options: &Cohort, named: &str, study: &Study, chosen: &Selection, looking: &Looking) -> Done {
    let account = account(named, "--curve")?;
    let mut sets = vec![traces(study, chosen, account, looking)?];
    if let Some(text) = &options.place {
        sets.push(traces(study, &placed(text, chosen)?, account, looking)?);
    }
    let how = CurveHow {
        ends: options.ends.ends(),
        each: options.each,
        level: options.level,
        alpha: options.alpha,
    };
    let told = cohort_curve(&sets, &how, &Threads).map_err(|e| Fail::usage(e.what).fix(e.remedy))?;
    answer(&told, options.json)?;
    Ok(None)
}

/// Swings to be placed: those of a text, as far as what makes swings comparable holds for them too.
pub fn placed(text: &str, reference: &Selection) -> Result<Selection, Fail> {
    let of = |e| fail(e, Path::new(&format!("--place \"{text}\"")));
    let own: Selection = text.parse().map_err(of)?;
    let alike = Selection {
        clubs: if own.clubs.is_empty() { reference.clubs.clone() } else { Vec::new() },
        rigs: if own.rigs.is_empty() { reference.rigs.clone() } else { Vec::new() },
        feet: if own.feet.is_none() { reference.feet } else { None },
        no_stops: reference.no_stops,
        ..Selection::default()
    };
    own.and(&alike).map_err(of)
}

fn apart(by: Apart, options: &Cohort) -> Result<By, Fail> {
    let rising = |cuts: &[f64], option: &str| {
        let fine = cuts.iter().all(|c| c.is_finite()) && cuts.windows(2).all(|w| w.first() < w.last());
        if fine {
            return Ok(cuts.to_vec());
        }
        Err(Fail::usage("the figures at which bands begin do not rise").at(option).fix("for example 5,10,20"))
    };
    Ok(match by {
        Apart::Sex => By::Sex,
        Apart::Club => By::Club,
        Apart::Handicap => By::Handicap(rising(&options.handicap_cuts, "--handicap-cuts")?),
        Apart::Plates => By::Plates,
        Apart::Speed if options.speed_cuts.is_empty() => {
            return Err(Fail::usage("nothing says where bands of speed begin").at("--by speed").fix(
                "state them in the unit of the outcome, for example --speed-cuts 40,45; `underfoot cohort --metric \
                 outcome.clubhead-speed` shows how it spreads",
            ));
        }
        Apart::Speed => By::Speed {
            measure: options.speed_of.clone(),
            cuts: rising(&options.speed_cuts, "--speed-cuts")?,
        },
    })
}
