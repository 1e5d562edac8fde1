//! One file a command. Each reads its files, calls the pure crates, and prints or writes.
pub mod again;
pub mod agree;
pub mod check;
pub mod cohort;
pub mod compare;
pub mod completions;
pub mod convert;
pub mod curves;
pub mod demo;
pub mod event;
pub mod events;
pub mod explain;
pub mod export;
pub mod filter;
pub mod import;
pub mod inspect;
pub mod ledger;
pub mod list;
pub mod measure;
pub mod metrics;
pub mod note;
pub mod outcomes;
pub mod plan;
pub mod player;
pub mod player_delete;
pub mod relate;
pub mod repeat;
pub mod rig;
pub mod rigs;
pub mod series;
pub mod session;
pub mod shapes;
pub mod show;
pub mod simulate;
pub mod study;
pub mod tag;
pub mod values;
pub mod watch;

use crate::asked::How;
use mechanics::Finding;
use std::io::Write as _;
use swing::{Swing, SwingError};
use underfoot::fail::{Exit, Fail};
use underfoot::open::Loaded;

pub use view::quantity::count;

/// How a command that ran to its end ends.
pub type Done = Result<Option<Exit>, Fail>;

/// Prints to standard output. A closed pipe (`| head`) is success.
pub fn print(text: &str) -> Result<(), Fail> {
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Fail::input(format!("cannot write to standard output: {e}")))
        }
        _ => Ok(()),
    }
}

/// Prints JSON, indented, with a newline.
pub fn print_json(value: &impl serde::Serialize) -> Result<(), Fail> {
    let text = serde_json::to_string_pretty(value)
        .map_err(|e| Fail { exit: Exit::Bug, ..Fail::input(format!("JSON could not be written: {e}")) })?;
    print(&(text + "\n"))
}

/// Prints an object as JSON that begins with its schema.
pub fn print_document(schema: &'static str, value: &impl serde::Serialize) -> Result<(), Fail> {
    #[derive(serde::Serialize)]
    struct Document<'a, T> {
        schema: &'static str,
        #[serde(flatten)]
        value: &'a T,
    }
    print_json(&Document { schema, value })
}

/// Findings go to standard error, so that standard output holds the result alone.
pub fn tell_findings(findings: &[Finding]) {
    if !findings.is_empty() {
        eprint!("\nFINDINGS\n{}", view::findings::text(findings));
    }
}

/// 0 or 1.
pub fn ending(findings: &[Finding]) -> Option<Exit> {
    view::findings::any_stop(findings).then_some(Exit::Findings)
}

/// Analyses a loaded recording as asked; `findings` gets everything that was noticed. Where there is no swing, they are
/// told here, since nobody else will.
pub fn analyse(loaded: &Loaded, asked: &How, findings: &mut Vec<Finding>) -> Result<Swing, Fail> {
    let how = asked.settings(loaded)?;
    findings.extend(loaded.findings.iter().cloned());
    swing::analyse_into(&loaded.recording, &loaded.rig, &how, findings).map_err(|error| {
        tell_findings(findings);
        no_swing(loaded, error)
    })
}

/// What a recording without a swing has as a finding; `None` for what is wrong with the command instead.
pub fn as_finding(error: &SwingError, findings: &[Finding]) -> Option<Finding> {
    use mechanics::finding::{FILE_NO_PLATES, NOTHING_LOADED};
    match error {
        SwingError::NothingLoaded(peak) => {
            let seen = format!("the largest vertical force is {peak:.1} N");
            Some(Finding::new(&NOTHING_LOADED, seen))
        }
        SwingError::NoPlates if findings.iter().any(|f| f.kind == &FILE_NO_PLATES) => None,
        SwingError::NoPlates => Some(Finding::new(&FILE_NO_PLATES, "no plate that can be read")),
        SwingError::TargetUnusable(_) | SwingError::AboutUnavailable(_) => None,
    }
}

/// Why there is no swing at all, as the face tells it.
pub fn no_swing(loaded: &Loaded, error: SwingError) -> Fail {
    let place = loaded.path.display();
    match error {
        SwingError::NoPlates => {
            let told = view::findings::view(&loaded.findings);
            let why =
                told.iter().find(|f| f.severity == "stop").map_or(String::new(), |f| format!(": {}", f.seen));
            let beside = loaded.path.with_file_name("rig.toml");
            let fix = if loaded.rig_file.is_none() && beside.is_file() {
                "a rig.toml lies beside it: give it with --rig, or describe the plates with `underfoot rig new`".to_string()
            } else {
                "see what is there with `underfoot inspect`, then describe the plates with `underfoot rig new`".into()
            };
            Fail::input(format!("the recording describes no force plate that can be read{why}"))
                .at(place)
                .fix(fix)
        }
        SwingError::NothingLoaded(peak) => Fail::input(format!(
            "no plate is ever loaded; the largest vertical force is {peak:.1} N"
        ))
        .at(place)
        .fix("check channels and units with `underfoot inspect`; units off by 1000 are set in the rig file"),
        SwingError::TargetUnusable(why) => Fail::usage(why).at("--target, or `target` in the rig file"),
        SwingError::AboutUnavailable(why) => {
            Fail::usage(why).at("--about").fix("choose another point: net-cop and rig-centre always exist")
        }
    }
}
