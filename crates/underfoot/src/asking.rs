//! What commands that ask a question of a study have in common: how swings are looked at, choices of swings as text, answers.
use crate::chosen::ChosenArgs;
use crate::commands::{print, print_json};
use archive::inquire::{Ask, Looking, asked};
use archive::recipe::Basis;
use archive::{Selection, Study};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::Path;
use swing::About;
use underfoot::fail::Fail;
use underfoot::study::fail;
use view::claim::table::{Account, Scale, Table, Traces};
use view::claim::{Answer, Numbers};

/// How swings are looked at.
#[derive(Args, Clone, Debug)]
#[command(next_help_heading = "How to look at them")]
pub struct LookArgs {
    /// Put the plates of each swing together, as if the feet had shared one: swings on two plates beside years on one
    #[arg(long)]
    pub collapse: bool,
    /// Reference point of turn; otherwise the study's
    #[arg(long, value_name = "POINT", allow_hyphen_values = true)]
    pub about: Option<About>,
    /// Newtons and newton metres instead of %BW and N·m/kg
    #[arg(long)]
    pub absolute: bool,
}

impl LookArgs {
    /// The same for the archive.
    pub fn looking(&self, study: &Study) -> Result<Looking, Fail> {
        let usual = study.settings.point().map_err(|e| fail(e, &study.root))?;
        let basis = Basis { collapse: self.collapse, about: self.about.clone().unwrap_or(usual) };
        let scale = if self.absolute { Scale::Absolute } else { Scale::Body };
        Ok(Looking { basis, scale })
    }
}

/// Swings to which a text ("session=3 club=driver") and the options that hold for all choices apply.
pub fn chosen(text: &str, common: &ChosenArgs) -> Result<Selection, Fail> {
    let of = |e| fail(e, Path::new(&format!("\"{text}\"")));
    let own: Selection = text.parse().map_err(of)?;
    own.and(&common.selection()?).map_err(of)
}

/// Metrics and outcomes by their names; those given otherwise where none is named.
pub fn columns(study: &Study, named: &[String], otherwise: &[&str]) -> Result<Vec<Ask>, Fail> {
    let usual: Vec<String> = otherwise.iter().map(|s| s.to_string()).collect();
    asked(study, if named.is_empty() { &usual } else { named }).map_err(|e| fail(e, Path::new("--metric")))
}

/// A table, with a bar while swings are measured. Errors: a choice that no swing is of.
pub fn table(study: &Study, chosen: &Selection, asked: &[Ask], looking: &Looking) -> Result<Table, Fail> {
    let bar = bar("swings measured");
    let told = study.table(chosen, asked, looking, &mut |done, of| {
        bar.set_length(of as u64);
        bar.set_position(done as u64);
    });
    bar.finish_and_clear();
    let table = told.map_err(|e| fail(e, &study.root))?;
    if table.swings.is_empty() { Err(nothing(chosen)) } else { Ok(table) }
}

/// Curves, with a bar while swings are read. Errors: a choice that no swing is of, or none that has such a curve.
pub fn traces(
    study: &Study,
    chosen: &Selection,
    account: Account,
    looking: &Looking,
) -> Result<Traces, Fail> {
    let bar = bar("swings read");
    let told = study.traces(chosen, account, looking, &mut |done, of| {
        bar.set_length(of as u64);
        bar.set_position(done as u64);
    });
    bar.finish_and_clear();
    let traces = told.map_err(|e| fail(e, &study.root))?;
    match (traces.traces.is_empty(), traces.absent.first()) {
        (false, _) => Ok(traces),
        (true, None) => Err(nothing(chosen)),
        (true, Some(first)) => Err(Fail::input(format!(
            "no swing of {} has a curve of {}: {}",
            chosen.words(),
            account.label,
            first.why
        ))
        .fix("choose another account, or other swings")),
    }
}

fn nothing(chosen: &Selection) -> Fail {
    Fail::usage(format!("no swing of the study is of this choice: {}", chosen.words()))
        .fix("`underfoot list` shows what there is")
}

fn bar(what: &str) -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) =
        ProgressStyle::with_template(&format!("{{pos}} of {{len}} {what}  {{bar:40}}  {{eta}} left"))
    {
        bar.set_style(style);
    }
    bar
}

/// Prints an answer, for people or for machines.
pub fn answer<N: Numbers>(answer: &Answer<N>, json: bool) -> Result<(), Fail> {
    if json { print_json(answer) } else { print(&answer.text()) }
}
