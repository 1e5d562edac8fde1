//! `underfoot ledger`: the accounts at their peaks or at one time.
use super::{Done, analyse, ending, print, print_json, tell_findings};
use crate::asked::Asked;
use clap::Args;
use underfoot::fail::Fail;
use view::ledger::At;
use view::words::{self, Component};
use view::{Convention, Shown, Signs};

/// Options of `underfoot ledger`.
#[derive(Args, Debug)]
pub struct Ledger {
    #[command(flatten)]
    asked: Asked,
    /// When: peaks, or a time in seconds of the recording
    #[arg(long, value_name = "T|peaks", default_value = "peaks", allow_hyphen_values = true, value_parser = at)]
    at: AtWord,
    /// Show the reaction on the player, or the action of the player on the ground
    #[arg(long, value_enum, default_value = "reaction")]
    signs: SignsWord,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// When, as asked.
#[derive(Clone, Copy, Debug)]
struct AtWord(At);

fn at(text: &str) -> Result<AtWord, String> {
    if text == "peaks" {
        return Ok(AtWord(At::Peaks));
    }
    match text.parse::<f64>() {
        Ok(time_s) if time_s.is_finite() => Ok(AtWord(At::Time(time_s))),
        _ => Err("\"peaks\" or a time in seconds".into()),
    }
}

/// Signs as a word.
#[derive(clap::ValueEnum, Clone, Copy, Debug)]
pub enum SignsWord {
    /// The ground's force on the player
    Reaction,
    /// The player's force on the ground
    Action,
}

impl From<SignsWord> for Signs {
    fn from(word: SignsWord) -> Self {
        match word {
            SignsWord::Reaction => Self::Reaction,
            SignsWord::Action => Self::Action,
        }
    }
}

/// Runs it.
pub fn run(options: &Ledger) -> Done {
    let loaded = options.asked.load()?;
    let mut findings = Vec::new();
    let swing = analyse(&loaded, &options.asked.how, &mut findings)?;
    let convention = Convention { signs: options.signs.into(), frame: Shown::Player };
    let page =
        view::ledger::view(&loaded.recording, &loaded.rig, &swing, &findings, options.at.0, convention)
            .map_err(|(from, to)| {
                Fail::usage("that time is outside the recording")
                    .at("--at")
                    .fix(format!("give a time between {from:.3} and {to:.3} s"))
            })?;
    if options.json {
        print_json(&page)?;
        return Ok(ending(&findings));
    }
    let mut text = view::ledger::text(&page);
    if let (At::Time(_), [instant], Signs::Reaction) =
        (options.at.0, page.instants.as_slice(), convention.signs)
    {
        let (unit_n, unit) = swing.body_weight_n.map_or((1.0, "N"), |w| (w.newton / 100.0, "%BW"));
        let pushes = [Component::Up, Component::Target, Component::Toe]
            .into_iter()
            .filter_map(|c| words::push(&swing.ledger, c, instant.sample, unit_n, unit));
        text.push('\n');
        for sentence in pushes.chain(words::turn(&swing, instant.sample)) {
            text.push_str(&format!("  {sentence}\n"));
        }
    }
    print(&text)?;
    tell_findings(&findings);
    Ok(ending(&findings))
}
