//! `underfoot curves ACCOUNT A B`: where along the swing do they differ?
use super::cohort::share;
use super::{Done, print};
use crate::asking::{LookArgs, answer, chosen, columns, table, traces};
use crate::chosen::ChosenArgs;
use archive::inquire::Threads;
use clap::{Args, ValueEnum};
use swing::events::Name;
use underfoot::fail::Fail;
use underfoot::study::InStudy;
use view::claim::accounts::account_called;
use view::claim::curves::{Asking, How, Method, NoCurves, Register, Tails, apart, curves, settled};
use view::claim::table::{Table, Traces};

/// Options of `underfoot curves`.
#[derive(Args, Debug)]
pub struct Curves {
    /// The quantity: up.net, toe.lead, turn …; --list lists them
    #[arg(value_name = "ACCOUNT", required_unless_present = "list")]
    account: Option<String>,
    /// Choices of swings, such as "session=3" or "player=alder club=driver"; none: those that the options choose.
    /// Of two or more: do they differ? Differences are B minus A
    #[arg(value_name = "A B …")]
    choices: Vec<String>,
    #[command(flatten)]
    study: InStudy,
    #[command(flatten)]
    chosen: ChosenArgs,
    #[command(flatten)]
    look: LookArgs,
    /// Compare players with themselves, even where few are in every choice. Otherwise they are where the same players are in it
    #[arg(long, conflicts_with = "on", help_heading = "What is asked")]
    pair: bool,
    /// Do the curves of one choice follow this metric or outcome? up.net.most, outcome.clubhead-speed
    #[arg(long, value_name = "ID", help_heading = "What is asked")]
    on: Option<String>,
    /// The event at 0 %; otherwise takeaway
    #[arg(long, value_enum, value_name = "EVENT", help_heading = "How it is done")]
    from_event: Option<Event>,
    /// The event at 100 %; otherwise impact where every swing has it, else finish
    #[arg(long, value_enum, value_name = "EVENT", help_heading = "How it is done")]
    to_event: Option<Event>,
    /// Take estimated events for events
    #[arg(long, help_heading = "How it is done")]
    estimates: bool,
    /// Nodes of a curve
    #[arg(long, value_name = "N", default_value_t = 101, help_heading = "How it is done")]
    nodes: usize,
    /// Lay the events on the way (the top, say) over one another, so that timing does not show as height
    #[arg(long, help_heading = "How it is done")]
    register: bool,
    /// What decides
    #[arg(
        long,
        value_enum,
        value_name = "WHICH",
        default_value = "permutation",
        help_heading = "How it is done"
    )]
    method: Decide,
    /// Probability of chance under which a difference anywhere is claimed; bands hold with one minus it
    #[arg(long, value_name = "SHARE", default_value_t = 0.05, value_parser = share, help_heading = "How it is done")]
    alpha: f64,
    /// Look for B above A only
    #[arg(long, help_heading = "How it is done")]
    above: bool,
    /// Up to so many rearrangements are gone through; beyond, so many are drawn
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u32).range(100..=10_000_000), help_heading = "How it is done")]
    permutations: u32,
    /// Seed of chance
    #[arg(long, value_name = "SEED", default_value_t = 1, help_heading = "How it is done")]
    seed: u64,
    /// The quantities there are
    #[arg(long, exclusive = true, help_heading = "Output")]
    list: bool,
    /// For machines
    #[arg(long, help_heading = "Output")]
    json: bool,
}

/// An event, as a word.
#[derive(ValueEnum, Clone, Copy, Debug)]
pub enum Event {
    /// The player stands still over the ball
    Address,
    /// The swing begins
    Takeaway,
    /// The club turns round
    Top,
    /// Club meets ball
    Impact,
    /// The body has come to rest
    Finish,
}

impl From<Event> for Name {
    fn from(event: Event) -> Self {
        match event {
            Event::Address => Self::Address,
            Event::Takeaway => Self::Takeaway,
            Event::Top => Self::Top,
            Event::Impact => Self::Impact,
            Event::Finish => Self::Finish,
        }
    }
}

/// What decides.
#[derive(ValueEnum, Clone, Copy, Debug)]
enum Decide {
    /// Rearrangements: supposes no normal scatter
    Permutation,
    /// Random field theory: for very few players or swings, if their scatter is nearly normal
    Field,
}

/// Runs it.
pub fn run(options: &Curves) -> Done {
    let Some(named) = options.account.as_deref().filter(|_| !options.list) else {
        print(&view::claim::accounts::list())?;
        return Ok(None);
    };
    let account = account_called(named)
        .map_err(|e| Fail::usage(e.to_string()).at("ACCOUNT").fix("`underfoot curves --list` lists them"))?;
    let selections = if options.choices.is_empty() {
        vec![options.chosen.selection()?]
    } else {
        options.choices.iter().map(|text| chosen(text, &options.chosen)).collect::<Result<_, _>>()?
    };
    let how = How {
        from: options.from_event.map(Name::from),
        to: options.to_event.map(Name::from),
        estimates: options.estimates,
        nodes: options.nodes,
        register: if options.register { Register::Landmarks } else { Register::Even },
        method: match options.method {
            Decide::Permutation => Method::Permutation,
            Decide::Field => Method::Field,
        },
        alpha: options.alpha,
        tails: if options.above { Tails::Above } else { Tails::Both },
        permutations: options.permutations as usize,
        seed: options.seed,
    };
    let refused = |e: NoCurves| Fail::usage(e.what).fix(e.remedy);
    settled(&how).map_err(refused)?;
    let study = options.study.open()?;
    let looking = options.look.looking(&study)?;
    if selections.len() > 1 {
        // As the study looks at swings, which needs no recording.
        let usual = LookArgs { collapse: false, about: None, absolute: false }.looking(&study)?;
        let listed: Vec<Table> =
            selections.iter().map(|s| table(&study, s, &[], &usual)).collect::<Result<_, _>>()?;
        apart(&listed.iter().map(|t| t.swings.as_slice()).collect::<Vec<_>>()).map_err(refused)?;
    }
    let number = match (&options.on, selections.first()) {
        (Some(id), Some(selection)) => {
            let asks = columns(&study, std::slice::from_ref(id), &[])?;
            Some(table(&study, selection, &asks, &looking)?)
        }
        _ => None,
    };
    let sets: Vec<Traces> =
        selections.iter().map(|s| traces(&study, s, account, &looking)).collect::<Result<_, _>>()?;
    let asking = match (&number, sets.len()) {
        (Some(table), _) => Asking::Along(table),
        (None, 1) if !options.pair => Asking::Shape,
        (None, _) if options.pair => Asking::Paired,
        (None, _) => Asking::Differ,
    };
    let told = curves(&sets, asking, &how, &Threads).map_err(refused)?;
    answer(&told, options.json)?;
    Ok(None)
}
