//! `underfoot import`: recordings into a study, each to the session where it belongs.
use super::again::ranges;
use super::player::day;
use super::{Done, count, print, print_json};
use crate::asked::mass;
use archive::import::{Incoming, Told};
use archive::outcomes::columns::Said;
use archive::place::plan::{Plan, Rules, Stranger};
use archive::place::{Manifest, Misplaced, Pattern, Sources, Stated};
use archive::{Selection, Study, date};
use clap::Args;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{BufRead as _, IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};
use underfoot::batch::{self, Chosen, Failures};
use underfoot::fail::{Exit, Fail};
use underfoot::study::{InStudy, fail};
use view::table::{Align, Table};

/// Options of `underfoot import`.
#[derive(Args, Debug)]
pub struct Import {
    /// Recordings, or folders of recordings; without one, the files that the manifest names
    #[arg(value_name = "FILE|FOLDER")]
    files: Vec<PathBuf>,
    /// Open the folders in folders too
    #[arg(short, long)]
    recursive: bool,
    #[command(flatten)]
    places: Places,
    /// Show what would go where, and change nothing
    #[arg(long)]
    dry_run: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// What says where recordings belong.
#[derive(Args, Debug)]
#[command(
    next_help_heading = "Where they belong (a manifest before a pattern before the options that hold for all)"
)]
pub struct Places {
    /// Table with a row a file: file, player, date, club, number, session, rig, time, tags, note, mass_kg, target, outcomes
    #[arg(long, value_name = "CSV")]
    manifest: Option<PathBuf>,
    /// What a column of the manifest is: "HEAD=NAME [UNIT]", or "HEAD=-" to leave it out; may be repeated
    #[arg(long, value_name = "HEAD=NAME [UNIT]", value_parser = Said::parse, requires = "manifest")]
    column: Vec<Said>,
    /// How folders and files are named, from the end of the path: "{player}/{date}/{club}-{number}.c3d"; also {time},
    /// {rig}, {session}, {tag}, {} or * for anything, {date:%d.%m.%Y}
    #[arg(long)]
    pattern: Option<String>,
    /// The player of all
    #[arg(long, value_name = "ALIAS")]
    player: Option<String>,
    /// The day of all
    #[arg(long, value_name = "DAY", value_parser = day)]
    date: Option<String>,
    /// The club of all
    #[arg(long)]
    club: Option<String>,
    /// The rig of all
    #[arg(long, value_name = "NAME")]
    rig: Option<String>,
    /// A session of the study, for all
    #[arg(long, value_name = "NUMBER")]
    session: Option<i64>,
    /// The target of new sessions: +x, -y, 1,0,0 or 1>2
    #[arg(long, value_name = "TARGET", allow_hyphen_values = true)]
    target: Option<String>,
    /// The body mass in new sessions
    #[arg(long, value_name = "KG", value_parser = mass)]
    mass: Option<f64>,
    /// A tag for all; may be repeated
    #[arg(long = "tag", value_name = "WORD")]
    tags: Vec<String>,
    /// Add players who are not in the study, by the alias that is stated
    #[arg(long)]
    add_players: bool,
    /// Take in recordings of no stated day, to sessions without a day
    #[arg(long, conflicts_with = "date_from_file_time")]
    undated: bool,
    /// Where no day is stated, take the one on which the file was last changed
    #[arg(long)]
    date_from_file_time: bool,
}

/// Everything that is told in the end.
#[derive(Default)]
struct Report {
    /// A line a file, where they are asked for.
    files: Option<Vec<Value>>,
    /// Which swing a file is now, or was before.
    swing_of: BTreeMap<PathBuf, i64>,
    failures: Failures,
    /// How each kind of name that goes nowhere is told.
    drawn: BTreeMap<String, String>,
    kept: Vec<i64>,
    two_feet: usize,
    unmeasured: usize,
    there: usize,
    stopped: usize,
    doubted: usize,
}

/// Runs it.
pub fn run(options: &Import) -> Done {
    let sources = options.places.sources()?;
    let chosen = options.chosen(&sources)?;
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let mut report = Report { files: options.json.then(Vec::new), ..Report::default() };
    let stated = options.stated(&sources, &chosen, &mut report);
    let mut rules = Rules::default();
    (rules.undated, rules.add_players) = (options.places.undated, options.places.add_players);
    let mut plan = study.plan(stated.clone(), &rules).map_err(of)?;
    let asks = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    if asks && !options.dry_run && !options.json && ask(&plan, &mut rules)? {
        plan = study.plan(stated, &rules).map_err(of)?;
    }
    tell_nowhere(&plan, &mut report);
    let unnamed = sources.manifest.as_ref().map_or_else(Vec::new, |m| m.not_among(&chosen.files));
    if !unnamed.is_empty() {
        eprintln!("rows of the manifest whose file was not given: {} ({})", unnamed.len(), some(&unnamed));
    }
    if !chosen.left_out.is_empty() {
        eprintln!("left out of the folders, not such recordings by their endings: {}", chosen.left_out.len());
    }
    if options.dry_run {
        return dry(options, &plan, report);
    }
    let mut new = study.prepare(&mut plan).map_err(of)?;
    let outcome = take_in(&study, &plan, &mut report);
    let empty = study.take_back(&mut new).map_err(of)?;
    let (added, made): (Vec<String>, _) = (new.players.into_iter().map(|(_, a)| a).collect(), new.sessions);
    let written = outcomes(&study, sources.manifest.as_ref(), &plan, &report).map_err(of)?;
    let (added_words, made_words) = (json!(added), json!(made));
    if options.json {
        print_json(&json!({
            "schema": "underfoot.import/1",
            "players_added": added_words,
            "sessions_made": made_words,
            "sessions": plan.places.iter().filter(|p| !empty.contains(&p.session.id)).collect::<Vec<_>>(),
            "files": report.files,
            "outcomes": written,
            "manifest_without_file": unnamed,
        }))?;
    } else {
        print(&summary(&plan, &report, &added, (&made, &empty)))?;
        if let Some(w) = written.filter(|w| w.swings > 0) {
            print(&super::outcomes::told(&w))?;
        }
    }
    numbers(&study, &plan, &report).map_err(of)?;
    eprint!("{}", report.failures);
    // What stopped it is told after what is in the study.
    outcome.map_err(of)?;
    Ok(match (report.failures.count() > 0, report.stopped > 0) {
        (true, _) => Some(Exit::Input),
        (false, true) => Some(Exit::Findings),
        (false, false) => None,
    })
}

impl Places {
    fn sources(&self) -> Result<Sources, Fail> {
        let refused = |e: archive::StudyError| {
            Fail::usage(e).at("--pattern").fix("`underfoot import --help` has its fields")
        };
        let manifest = self.manifest.as_deref().map(|path| {
            let bytes = super::outcomes::read(path)?;
            Manifest::parse(&super::outcomes::name(path), &bytes, &self.column).map_err(|e| fail(e, path))
        });
        Ok(Sources {
            manifest: manifest.transpose()?,
            pattern: self.pattern.as_deref().map(Pattern::parse).transpose().map_err(refused)?,
            plain: Stated {
                player: self.player.clone(),
                date: self.date.clone(),
                club: self.club.clone(),
                rig: self.rig.clone(),
                session: self.session,
                target: self.target.clone(),
                mass_kg: self.mass,
                tags: self.tags.clone(),
                ..Stated::default()
            },
        })
    }
}

impl Import {
    /// The files that are meant; those of a folder that have another ending than the pattern's are left out.
    fn chosen(&self, sources: &Sources) -> Result<Chosen, Fail> {
        let manifest = self.places.manifest.as_deref();
        let mut named = self.files.clone();
        if let (true, Some(path), Some(rows)) = (named.is_empty(), manifest, &sources.manifest) {
            named = rows.files(path.parent().unwrap_or(Path::new("")));
        }
        if named.is_empty() {
            return Err(Fail::usage("no recording was named")
                .fix("name files or folders, or a --manifest that names them"));
        }
        let mut chosen = if self.recursive { batch::choose_deep(&named)? } else { batch::choose(&named)? };
        let same =
            |a: &Path, b: &Path| a.canonicalize().is_ok_and(|a| b.canonicalize().is_ok_and(|b| a == b));
        chosen.files.retain(|f| !manifest.is_some_and(|m| f.file_name() == m.file_name() && same(f, m)));
        if let Some(wanted) = sources.pattern.as_ref().and_then(Pattern::ending) {
            let has =
                |f: &PathBuf| f.extension().is_some_and(|e| e.to_string_lossy().to_lowercase() == wanted);
            let (fit, other) = chosen.files.into_iter().partition(|f| has(f) || self.files.contains(f));
            chosen.files = fit;
            chosen.left_out.extend::<Vec<PathBuf>>(other);
        }
        Ok(chosen)
    }

    /// What is said of each file; those of which nothing is are told of.
    fn stated(&self, sources: &Sources, chosen: &Chosen, report: &mut Report) -> Vec<(PathBuf, Stated)> {
        let mut all = Vec::with_capacity(chosen.files.len());
        let mut differ: Vec<String> = Vec::new();
        for path in &chosen.files {
            // Names of folders above the one that is named count too.
            let whole = std::path::absolute(path).unwrap_or_else(|_| path.clone());
            match sources.of(&whole) {
                Ok((mut stated, differs)) => {
                    if let Some(words) = differs {
                        differ.push(format!("{}: {words}", file_name(path)));
                    }
                    if stated.date.is_none() && stated.session.is_none() && self.places.date_from_file_time {
                        stated.date = date::of_file(path);
                    }
                    all.push((path.clone(), stated));
                }
                Err(why) => report.nowhere(path, &why, FITS),
            }
        }
        if let Some(first) = differ.first() {
            let n = count(differ.len(), "file");
            eprintln!("manifest and names say different things of {n}; the manifest holds ({first})");
        }
        all
    }
}

const FITS: &str = "mend the pattern, the name or the manifest; --dry-run shows what would go where";

impl Report {
    fn line(&mut self, line: impl FnOnce() -> Value) {
        if let Some(files) = &mut self.files {
            files.push(line());
        }
    }

    fn nowhere(&mut self, path: &Path, misplaced: &Misplaced, fix: &str) {
        // Of names that stop in the same way, the first is drawn.
        let what =
            self.drawn.entry(misplaced.kind.clone()).or_insert_with(|| match misplaced.drawing.is_empty() {
                true => misplaced.why.clone(),
                false => format!("{}\n{}", misplaced.why, misplaced.drawing),
            });
        self.failures.add(path, Fail::input(what).fix(fix));
        let why = &misplaced.why;
        self.line(|| json!({ "file": shown(path), "outcome": "not-placed", "why": why }));
    }
}

/// What goes nowhere, by reason.
fn tell_nowhere(plan: &Plan, report: &mut Report) {
    let near = |s: &Stranger| s.near.as_ref().map_or_else(String::new, |n| format!("; did you mean {n}?"));
    for one in &plan.players {
        let why = Misplaced::new(format!("player {} is not in the study{}", one.name, near(one)));
        let fix = format!(
            "`underfoot player add {}`, or --add-players for all who are missing; then import again",
            one.name
        );
        one.files.iter().for_each(|f| report.nowhere(f, &why, &fix));
    }
    for one in &plan.rigs {
        let why = Misplaced::new(format!("rig {} is not in the study{}", one.name, near(one)));
        let fix = format!("`underfoot rig add {} FILE.toml`, then import again", one.name);
        one.files.iter().for_each(|f| report.nowhere(f, &why, &fix));
    }
    let why = Misplaced::new("nobody says of which day it is");
    let fix = "say --date, {date} in the pattern or a date in the manifest; --undated files it under no day";
    plan.undated.iter().for_each(|f| report.nowhere(f, &why, fix));
    let fix = "say it with --player, --session, the pattern or the manifest; `underfoot session edit` changes a session";
    plan.misplaced.iter().for_each(|(f, why)| report.nowhere(f, why, fix));
}

/// Asks about every name that is not known; true where an answer changes the plan.
fn ask(plan: &Plan, rules: &mut Rules) -> Result<bool, Fail> {
    let mut changed = false;
    for one in &plan.players {
        let files = count(one.files.len(), "recording");
        let near = one.near.as_ref().map_or_else(String::new, |n| format!("; u: use {n} instead"));
        let question = format!("{} is not in the study ({files}); add this player? [y/N{near}] ", one.name);
        match (answer(&question)?.as_str(), &one.near) {
            ("y" | "yes", _) => {
                rules.add_player(&one.name);
                changed = true;
            }
            ("u", Some(near)) => {
                rules.stand_in(&one.name, near);
                changed = true;
            }
            _ => {}
        }
    }
    for one in &plan.rigs {
        let Some(near) = &one.near else { continue };
        let files = count(one.files.len(), "recording");
        let question = format!("rig {} is not in the study ({files}); use {near} instead? [y/N] ", one.name);
        if matches!(answer(&question)?.as_str(), "y" | "yes") {
            rules.stand_in(&one.name, near);
            changed = true;
        }
    }
    Ok(changed)
}

fn answer(question: &str) -> Result<String, Fail> {
    let unreadable = |e: std::io::Error| Fail::input(format!("cannot read the answer: {e}"));
    eprint!("{question}");
    std::io::stderr().flush().map_err(unreadable)?;
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line).map_err(unreadable)?;
    Ok(line.trim().to_lowercase())
}

/// Takes the recordings in, with a bar.
fn take_in(study: &Study, plan: &Plan, report: &mut Report) -> Result<(), archive::StudyError> {
    let incoming = plan.incoming();
    let bar = batch::bar(incoming.len());
    let done = study.import(
        &incoming,
        |one, told| {
            bar.inc(1);
            report.told(one, told);
        },
        || true,
    );
    bar.finish_and_clear();
    done
}

impl Report {
    fn told(&mut self, one: &Incoming, told: Told) {
        let path = &one.path;
        self.line(|| {
            let mut line = json!({ "file": shown(path) });
            if let (Some(line), Ok(Value::Object(told))) = (line.as_object_mut(), serde_json::to_value(&told))
            {
                line.extend(told);
            }
            line
        });
        if let Told::Kept { swing, .. } | Told::There { swing, .. } = &told {
            self.swing_of.insert(path.clone(), *swing);
        }
        match told {
            Told::Kept { swing, feet, failed, stops, doubts, .. } => {
                self.kept.push(swing);
                self.two_feet += usize::from(feet == Some(2));
                self.unmeasured += usize::from(failed.is_some());
                self.stopped += usize::from(stops > 0);
                self.doubted += usize::from(doubts > 0);
            }
            Told::There { swing, session } => {
                self.there += 1;
                if session != one.session {
                    let name = file_name(path);
                    eprintln!(
                        "{name} is in the study already: swing {swing}, session {session}, where it stays"
                    );
                }
            }
            Told::Refused { why, needs_rig } => {
                let fix = match needs_rig {
                    true => {
                        "write a rig file with `underfoot rig new`, add it with `underfoot rig add`, then import again with \
                         --rig NAME; `underfoot session edit N --rig NAME` gives it to a session that is there"
                    }
                    false => "`underfoot inspect` says more; copy the file again, or export it again",
                };
                self.failures.add(path, Fail::input(why).fix(fix));
            }
        }
    }
}

/// Outcomes of the manifest's rows, for the swings that are in the study now.
fn outcomes(
    study: &Study,
    manifest: Option<&Manifest>,
    plan: &Plan,
    report: &Report,
) -> Result<Option<archive::outcomes::Written>, archive::StudyError> {
    let Some(manifest) = manifest.filter(|m| !m.columns.outcomes.is_empty()) else { return Ok(None) };
    let given =
        plan.placed.iter().filter_map(|p| Some((*report.swing_of.get(&p.path)?, p.stated.given.clone())));
    study.put_outcomes(&manifest.source, &given.collect::<Vec<_>>()).map(Some)
}

/// Says which numbers were taken by other swings.
fn numbers(study: &Study, plan: &Plan, report: &Report) -> Result<(), archive::StudyError> {
    if report.kept.is_empty() || plan.placed.iter().all(|p| p.stated.number.is_none()) {
        return Ok(());
    }
    let asked: BTreeMap<i64, i64> =
        plan.placed.iter().filter_map(|p| Some((*report.swing_of.get(&p.path)?, p.stated.number?))).collect();
    for swing in study.candidates(&Selection::of(&report.kept))? {
        if let Some(wanted) = asked.get(&swing.swing).filter(|n| **n != swing.number) {
            eprintln!(
                "{}: number {wanted} of session {} was taken; it has number {}",
                swing.name, swing.session, swing.number
            );
        }
    }
    Ok(())
}

/// Sessions with what went there, and the sums.
fn summary(plan: &Plan, report: &Report, added: &[String], (made, empty): (&[i64], &[i64])) -> String {
    let mut out = sessions(plan, made, empty);
    if !added.is_empty() {
        let names: Vec<&str> = added.iter().map(String::as_str).collect();
        out.push_str(&format!("{} added: {}\n", count(names.len(), "player"), some(&names)));
    }
    let kept = report.kept.len();
    let one_plate = kept - report.two_feet - report.unmeasured;
    out.push_str(&format!("{} taken in", count(kept, "recording")));
    if kept > 0 {
        out.push_str(&format!(" (swing {})", ranges(&report.kept)));
    }
    let mut parts = Vec::new();
    let mut part = |n: usize, words: &str| {
        if n > 0 {
            parts.push(format!("{n} {words}"));
        }
    };
    part(report.two_feet, "with a plate for each foot");
    part(one_plate, "with both feet on one");
    part(report.unmeasured, "kept but not measurable");
    part(report.stopped, "with a stop");
    part(report.doubted, "with a doubt");
    if !parts.is_empty() {
        out.push_str(&format!(": {}", parts.join(", ")));
    }
    out.push('\n');
    if report.there > 0 {
        out.push_str(&format!(
            "{} in the study before, by the same bytes\n",
            count(report.there, "recording")
        ));
    }
    if report.failures.count() > 0 {
        out.push_str(&format!(
            "{} not taken in; why is said below\n",
            count(report.failures.count(), "recording")
        ));
    }
    out
}

fn sessions(plan: &Plan, made: &[i64], empty: &[i64]) -> String {
    let mut table =
        Table::new(&[Align::Left, Align::Left, Align::Left, Align::Left, Align::Right, Align::Left]);
    table.row(["session", "player", "date", "rig", "files", ""]).rule();
    let mut any = false;
    for place in plan.places.iter().filter(|p| !empty.contains(&p.session.id)) {
        any = true;
        let id = place.session.id;
        table.row([
            if id == 0 { "new".into() } else { id.to_string() },
            place.player.clone(),
            place.session.date.clone().unwrap_or_else(|| "—".into()),
            place.rig.clone().unwrap_or_else(|| "—".into()),
            place.files.to_string(),
            if made.contains(&id) { "new".into() } else { String::new() },
        ]);
    }
    if any { table.text() + "\n" } else { String::new() }
}

/// What would go where.
fn dry(options: &Import, plan: &Plan, mut report: Report) -> Done {
    const SHOWN: usize = 60;
    if options.json {
        for p in &plan.placed {
            let place = plan.places.get(p.place);
            report.line(|| {
                json!({
                    "file": shown(&p.path),
                    "outcome": "would-go",
                    "session": place.map(|p| p.session.id).filter(|id| *id > 0),
                    "player": place.map(|p| &p.player),
                    "date": place.and_then(|p| p.session.date.as_ref()),
                    "rig": place.and_then(|p| p.rig.as_ref()),
                    "club": p.stated.club,
                    "number": p.stated.number,
                    "time": p.stated.time,
                    "tags": p.stated.tags,
                    "outcomes": p.stated.given,
                })
            });
        }
        print_json(&json!({
            "schema": "underfoot.import/1",
            "dry_run": true,
            "players_to_add": plan.new_players,
            "sessions": plan.places,
            "files": report.files,
        }))?;
    } else {
        print(&sessions(plan, &[], &[]))?;
        let left =
            [Align::Left, Align::Left, Align::Left, Align::Left, Align::Left, Align::Right, Align::Left];
        let mut table = Table::new(&left);
        table.row(["file", "session", "player", "date", "club", "no.", "tags"]).rule();
        for p in plan.placed.iter().take(SHOWN) {
            let Some(place) = plan.places.get(p.place) else { continue };
            table.row([
                file_name(&p.path),
                if place.session.id == 0 { "new".into() } else { place.session.id.to_string() },
                place.player.clone(),
                place.session.date.clone().unwrap_or_else(|| "—".into()),
                p.stated.club.clone().unwrap_or_default(),
                p.stated.number.map_or_else(String::new, |n| n.to_string()),
                p.stated.tags.join(" "),
            ]);
        }
        if !plan.placed.is_empty() {
            print(&table.text())?;
        }
        if plan.placed.len() > SHOWN {
            print(&format!("  and {} more; --json has all\n", plan.placed.len() - SHOWN))?;
        }
        if !plan.new_players.is_empty() {
            let names: Vec<&str> = plan.new_players.iter().map(String::as_str).collect();
            print(&format!("{} to add: {}\n", count(names.len(), "player"), some(&names)))?;
        }
        print(&format!("{} would go in; nothing was changed\n", count(plan.placed.len(), "recording")))?;
    }
    eprint!("{}", report.failures);
    Ok((report.failures.count() > 0).then_some(Exit::Input))
}

/// A path in a document; what is no text in it is marked.
fn shown(path: &Path) -> String {
    path.display().to_string()
}

fn file_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

/// A few of many.
fn some(names: &[&str]) -> String {
    const NAMED: usize = 4;
    let mut list = names.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
    if names.len() > NAMED {
        list.push_str(&format!(" and {} more", names.len() - NAMED));
    }
    list
}
