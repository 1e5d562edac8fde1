//! `underfoot rig`: write a rig file from a recording, explain one; the rigs of a study are in `rigs`.
use super::{Done, ending, print, print_json, rigs, tell_findings};
use clap::{Args, Subcommand};
use formats::rigfile;
use formats::rigfile::guess::{Proposal, Question};
use mechanics::{Frame, Rig as Bench};
use std::io::{BufRead as _, IsTerminal as _, Write as _};
use std::path::PathBuf;
use underfoot::fail::Fail;
use underfoot::{export, load, open};

/// What to do with a rig file.
#[derive(Subcommand, Debug)]
pub enum Rig {
    /// Look at a recording and write a rig file, asking what the recording cannot say
    #[command(after_help = "\
Examples:
  underfoot rig new swing.csv -o bay.toml
  underfoot rig new swing.csv -o bay.toml --answer target=+y --answer plate1.size=0.6,0.4 --yes")]
    New(New),
    /// Explain a rig file in words and a drawing, with a recording made on it
    #[command(after_help = "\
Examples:
  underfoot rig check bay.toml swing.csv")]
    Check(Check),
    /// Add a rig file to a study, or a new version of one; what depends on it is measured again
    #[command(after_help = "\
Examples:
  underfoot rig add bay bay.toml
  underfoot rig add bay bay-moved.toml --from 2026-06-01     the bay was rebuilt: sessions before keep what they have
  underfoot rig add bay bay-right.toml --corrects            it was described wrongly: takes the newest version's place")]
    Add(rigs::Add),
    /// Rigs of a study, version by version, with the sessions that are read by them
    #[command(after_help = "\
Example:
  underfoot rig list --study practice")]
    List(rigs::List),
    /// The rig file that a study keeps
    #[command(after_help = "\
Examples:
  underfoot rig show bay
  underfoot rig show bay 1 > bay-1.toml")]
    Show(rigs::Show),
}

/// Options of `underfoot rig new`.
#[derive(Args, Debug)]
pub struct New {
    /// The recording
    file: PathBuf,
    /// Rig file to write; without it the text goes to standard output
    #[arg(short, long, value_name = "RIG")]
    out: Option<PathBuf>,
    /// Ask nothing: take the defaults, marked in the file as assumed
    #[arg(short, long)]
    yes: bool,
    /// Answer a question beforehand; may be given many times
    #[arg(long = "answer", value_name = "QUESTION=ANSWER", value_parser = pair, allow_hyphen_values = true)]
    answers: Vec<(String, String)>,
    /// Only list the questions
    #[arg(long)]
    questions: bool,
    /// Replace a rig file that is there
    #[arg(long)]
    force: bool,
}

/// Options of `underfoot rig check`.
#[derive(Args, Debug)]
pub struct Check {
    /// The rig file
    rig: PathBuf,
    /// A recording made with it
    file: PathBuf,
    /// For machines
    #[arg(long)]
    json: bool,
}

fn pair(text: &str) -> Result<(String, String), String> {
    let (id, answer) = text.split_once('=').ok_or("QUESTION=ANSWER, for example target=+y")?;
    Ok((id.trim().into(), answer.trim().into()))
}

/// Runs it.
pub fn run(options: &Rig) -> Done {
    match options {
        Rig::New(options) => new(options),
        Rig::Check(options) => check(options),
        Rig::Add(options) => rigs::add(options),
        Rig::List(options) => rigs::list(options),
        Rig::Show(options) => rigs::show(options),
    }
}

fn new(options: &New) -> Done {
    if let Some(out) = options.out.as_ref().filter(|out| out.exists() && !options.force) {
        return Err(Fail::usage(format!("{} is there already", out.display()))
            .at("-o")
            .fix("choose another name, or add --force to replace it"));
    }
    let mut findings = Vec::new();
    let recording = open::decode(&options.file, None)?.take(&mut findings);
    let mut proposal = rigfile::propose(&recording);
    if options.questions {
        print(&questions(&proposal))?;
        return Ok(None);
    }
    for (id, answer) in &options.answers {
        proposal
            .answer(id, answer)
            .map_err(|e| Fail::usage(format!("{}: {}", e.id, e.why)).at("--answer"))?;
    }
    let asks = !options.yes && std::io::stdin().is_terminal();
    eprintln!("{}", options.file.display());
    for line in &proposal.seen {
        eprintln!("  {line}");
    }
    if asks {
        ask_all(&mut proposal)?;
    }
    // A target nobody stated would be believed ever after: it is left open, and commands go on asking for it.
    let target_open = proposal.questions.iter().any(|q| q.id == "target" && !q.answered);
    if target_open {
        proposal.rig.target = None;
        eprintln!(
            "the target was not stated and is left open; add `target = \"+x\"` or the like to the rig file"
        );
    }
    let text = proposal.write();
    match &options.out {
        Some(out) => {
            export::whole_file(out, text.as_bytes())?;
            eprintln!(
                "wrote {}; check it with `underfoot rig check {} {}`",
                out.display(),
                out.display(),
                options.file.display()
            );
        }
        None => print(&text)?,
    }
    let open = proposal.questions.iter().filter(|q| !q.answered).count();
    if open > 0 && !asks {
        eprintln!("{open} questions were not answered; their defaults are marked in the file as assumed");
    }
    tell_findings(&findings);
    Ok(None)
}

fn questions(proposal: &Proposal) -> String {
    let mut text = String::new();
    for q in &proposal.questions {
        let choices =
            if q.choices.is_empty() { String::new() } else { format!("  one of {}", q.choices.join(", ")) };
        text.push_str(
            &format!("{} = {}\n  {}\n{choices}\n", q.id, q.default, q.wording).replace("\n\n", "\n"),
        );
    }
    text
}

/// Asks each open question until it has an answer that fits; end of input takes the defaults that are left.
fn ask_all(proposal: &mut Proposal) -> Result<(), Fail> {
    let open: Vec<Question> = proposal.questions.iter().filter(|q| !q.answered).cloned().collect();
    let mut input = std::io::stdin().lock();
    let unreadable = |e: std::io::Error| Fail::input(format!("cannot read the answer: {e}"));
    for question in open {
        loop {
            let choices = if question.choices.is_empty() {
                String::new()
            } else {
                format!(" ({})", question.choices.join(", "))
            };
            eprint!("{}{choices}\n  [{}] ", question.wording, question.default);
            std::io::stderr().flush().map_err(unreadable)?;
            let mut line = String::new();
            if input.read_line(&mut line).map_err(unreadable)? == 0 {
                eprintln!();
                return Ok(());
            }
            match proposal.answer(&question.id, &line) {
                Ok(()) => break,
                Err(e) => eprintln!("  {}", e.why),
            }
        }
    }
    Ok(())
}

fn check(options: &Check) -> Done {
    let loaded = load(&options.file, Some(&options.rig))?;
    let words = rigfile::explain(&loaded.rig, Some(&loaded.recording));
    if options.json {
        print_json(&serde_json::json!({
            "schema": "underfoot.rig/1",
            "rig": options.rig,
            "recording": loaded.recording.name,
            "words": words.lines().collect::<Vec<_>>(),
            "findings": view::findings::view(&loaded.findings),
        }))?;
        return Ok(ending(&loaded.findings));
    }
    print(&words)?;
    print(&drawing(&loaded.rig, &loaded.recording))?;
    tell_findings(&loaded.findings);
    Ok(ending(&loaded.findings))
}

/// The plates to scale, target to the right.
fn drawing(rig: &Bench, recording: &mechanics::Recording) -> String {
    let Ok(frame) = swing::target::frame(recording, rig, None, mechanics::Hand::Right) else {
        return String::new();
    };
    let frame: Frame = frame.value;
    let surfaces: Vec<_> = rig
        .plates
        .iter()
        .filter_map(|p| Some((p.name.clone(), mechanics::wrench::surface_of(p, &frame)?)))
        .collect();
    format!("\n{}", view::floor::plan(&surfaces, &[]))
}
