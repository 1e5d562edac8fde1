//! `underfoot note`: what is written beside a swing or a session.
use super::{Done, print};
use clap::Args;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};

/// Options of `underfoot note`.
#[derive(Args, Debug)]
pub struct Note {
    /// The swing's number, then the text; without a text, what is there is shown. With --session the text alone
    #[arg(value_name = "SWING TEXT")]
    words: Vec<String>,
    /// Beside a session instead
    #[arg(long, value_name = "N")]
    session: Option<i64>,
    /// Take the note away
    #[arg(long)]
    remove: bool,
    #[command(flatten)]
    study: InStudy,
}

/// Where a note stands.
#[derive(Clone, Copy)]
enum Beside {
    Swing(i64),
    Session(i64),
}

/// Runs it.
pub fn run(options: &Note) -> Done {
    let (beside, text) = asked(options)?;
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    match (beside, text) {
        (Beside::Swing(swing), Some(text)) => study.set_swing_note(swing, &text).map_err(of)?,
        (Beside::Session(session), Some(text)) => study.set_session_note(session, &text).map_err(of)?,
        (beside, None) => {
            let note = match beside {
                Beside::Swing(swing) => study.swing_note(swing).map_err(of)?,
                Beside::Session(session) => study.session(session).map_err(of)?.note,
            };
            if note.is_empty() {
                eprintln!("nothing is written there");
            } else {
                print(&format!("{note}\n"))?;
            }
        }
    }
    Ok(None)
}

/// What is to be written where; no text: what is there is to be shown.
fn asked(options: &Note) -> Result<(Beside, Option<String>), Fail> {
    let how = "underfoot note 12 \"pulled it\", underfoot note --session 3 \"wet mat\"; without a text, it is shown";
    let mut words = options.words.iter();
    let beside = match options.session {
        Some(session) => Beside::Session(session),
        None => {
            let first = words.next().ok_or_else(|| Fail::usage("no swing is named").fix(how))?;
            let number = first.parse();
            Beside::Swing(
                number.map_err(|_| Fail::usage(format!("\"{first}\" is no swing's number")).fix(how))?,
            )
        }
    };
    let rest: Vec<&str> = words.map(String::as_str).collect();
    match (rest.is_empty(), options.remove) {
        (true, true) => Ok((beside, Some(String::new()))),
        (true, false) => Ok((beside, None)),
        (false, false) => Ok((beside, Some(rest.join(" ")))),
        (false, true) => Err(Fail::usage("--remove takes no text").fix(how)),
    }
}
