//! `underfoot outcomes`: what the ball and the club did, from another instrument's table, matched to swings.
use super::again::ranges;
use super::player::day;
use super::{Done, count, print, print_json};
use archive::outcomes::columns::Said;
use archive::outcomes::matching::{By, Match, Refusal, matched};
use archive::outcomes::rows::{Candidate, OutcomeRow, Table as Given};
use archive::outcomes::{Written, names};
use archive::{Selection, Study};
use clap::{Args, ValueEnum};
use serde_json::json;
use std::path::{Path, PathBuf};
use underfoot::fail::{Exit, Fail};
use underfoot::study::{InStudy, fail};
use view::quantity::signed;
use view::table::{Align, Table};

/// Options of `underfoot outcomes`.
#[derive(Args, Debug)]
pub struct Outcomes {
    /// Table with a row a swing: delimited by commas, semicolons or tabs
    file: PathBuf,
    /// How rows find their swings
    #[arg(long, value_enum)]
    by: Way,
    /// Swings of this player
    #[arg(long, value_name = "ALIAS")]
    player: Option<String>,
    /// Swings of this session
    #[arg(long, value_name = "NUMBER")]
    session: Option<i64>,
    /// Swings of this day
    #[arg(long, value_name = "DAY", value_parser = day)]
    date: Option<String>,
    /// Swings with this club
    #[arg(long)]
    club: Option<String>,
    /// What a column is: "HEAD=NAME [UNIT]", "HEAD=[UNIT]", or "HEAD=-" to leave it out; may be repeated
    #[arg(long, value_name = "HEAD=NAME [UNIT]", value_parser = Said::parse)]
    column: Vec<Said>,
    /// Leave out the first rows
    #[arg(long, value_name = "N", default_value_t = 0)]
    skip_first: usize,
    /// Only these rows, counted from 1 below the head: 3-12, or 1,4-7
    #[arg(long, value_name = "ROWS", value_parser = rows)]
    only: Option<Rows>,
    /// By time: nothing farther apart than this is matched
    #[arg(long, value_name = "SECONDS", default_value_t = 20.0, value_parser = seconds)]
    within: f64,
    /// By time: how much later the recordings' clock is; otherwise it is found
    #[arg(long, value_name = "SECONDS", allow_hyphen_values = true)]
    clock_offset: Option<f64>,
    /// How the column of times is written, where it is not as 14:03:10 or 2026-05-12T14:03:10: "%m/%d/%Y %I:%M:%S %p"
    #[arg(long, value_name = "FORMAT")]
    time_format: Option<String>,
    /// Show which row would go to which swing, and change nothing
    #[arg(long)]
    dry_run: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// How rows find their swings.
#[derive(ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// By the file's name
    File,
    /// By the swing's number in the study (column swing) or in its session (column number)
    Swing,
    /// Row after row, swing after swing of one session; there must be as many
    Order,
    /// By the time of day; a constant difference between the clocks is found
    Time,
}

/// Numbers of rows.
#[derive(Clone, Debug)]
struct Rows(Vec<(usize, usize)>);

fn rows(text: &str) -> Result<Rows, String> {
    let number = |t: &str| match t.trim().parse::<usize>() {
        Ok(n) if n > 0 => Ok(n),
        _ => Err("rows counted from 1: 3-12, or 1,4-7".to_string()),
    };
    let range = |part: &str| match part.split_once(['-', '–']) {
        Some((a, b)) => Ok((number(a)?, number(b)?)),
        None => number(part).map(|n| (n, n)),
    };
    text.split(',').map(range).collect::<Result<_, _>>().map(Rows)
}

fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(s) if s > 0.0 && s < 86_400.0 => Ok(s),
        _ => Err("seconds, for example 20".into()),
    }
}

/// The bytes of a table.
pub fn read(path: &Path) -> Result<Vec<u8>, Fail> {
    std::fs::read(path).map_err(|e| {
        Fail::input(format!("cannot read {}: {e}", path.display()))
            .fix("check the name; paths are relative to the folder you are in")
    })
}

/// A file's name without its folders.
pub fn name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

/// Runs it.
pub fn run(options: &Outcomes) -> Done {
    let bytes = read(&options.file)?;
    let table = Given::parse(&name(&options.file), &bytes, &options.column, options.time_format.as_deref())
        .map_err(|e| fail(e, &options.file))?;
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    options.can_match(&table)?;
    for (head, why) in &table.columns.left_out {
        eprintln!("column \"{head}\" is left out: {why}");
    }
    let swings = study.candidates(&options.selection(&study)?).map_err(of)?;
    let meant = |k: &usize| {
        let row = k + 1;
        row > options.skip_first
            && options.only.as_ref().is_none_or(|o| o.0.iter().any(|(a, b)| (*a..=*b).contains(&row)))
    };
    let meant: Vec<usize> = (0..table.rows.len()).filter(meant).collect();
    let found = matched(&table, &meant, &swings, options.by());
    let stopped = !found.refused.is_empty();
    let written = match stopped || options.dry_run {
        true => None,
        false => {
            let pairs = found
                .pairs
                .iter()
                .filter_map(|p| Some((swings.get(p.swing)?.swing, table.rows.get(p.row)?.given.clone())));
            Some(study.put_outcomes(&table.source, &pairs.collect::<Vec<_>>()).map_err(of)?)
        }
    };
    if options.json {
        print_json(&as_json(&table, &swings, &found, written.as_ref(), options.dry_run))?;
    } else {
        print(&as_text(&table, &swings, &found, written.as_ref(), options.dry_run))?;
    }
    tell_alone(&table, &swings, &found, options);
    Ok((stopped || !found.alone.is_empty()).then_some(Exit::Input))
}

impl Outcomes {
    fn by(&self) -> By {
        match self.by {
            Way::File => By::File,
            Way::Swing => By::Swing,
            Way::Order => By::Order,
            Way::Time => By::Time { within_s: self.within, offset_s: self.clock_offset },
        }
    }

    /// The table has what the way of matching needs.
    fn can_match(&self, table: &Given) -> Result<(), Fail> {
        let (there, needs) = match self.by {
            Way::File => (table.has.file, "a column called file"),
            Way::Swing => {
                (table.has.number, "a column called swing (number in the study) or number (in its session)")
            }
            Way::Time => (table.has.time, "a column called time"),
            Way::Order => (true, ""),
        };
        if there {
            return Ok(());
        }
        Err(Fail::input(format!("{} has not what --by needs: {needs}", table.source))
            .fix("rename the column, or match another way: --by file, swing, order or time"))
    }

    fn selection(&self, study: &Study) -> Result<Selection, Fail> {
        if let Some(id) = self.session {
            study.session(id).map_err(|e| fail(e, &study.root))?;
        }
        Ok(Selection {
            players: self.player.iter().cloned().collect(),
            sessions: self.session.iter().copied().collect(),
            clubs: self.club.iter().cloned().collect(),
            from: self.date.clone(),
            to: self.date.clone(),
            ..Selection::default()
        })
    }
}

/// What was written, in words.
pub fn told(written: &Written) -> String {
    let outcomes = written.new + written.same + written.replaced.len();
    let mut out = format!("{} of {} kept", count(outcomes, "outcome"), count(written.swings, "swing"));
    let mut parts = Vec::new();
    if written.same > 0 {
        parts.push(format!("{} the same as before", written.same));
    }
    if !written.replaced.is_empty() {
        parts.push(format!("{} instead of others", written.replaced.len()));
    }
    if !parts.is_empty() {
        out.push_str(&format!(": {}", parts.join(", ")));
    }
    out.push('\n');
    const SHOWN: usize = 12;
    for r in written.replaced.iter().take(SHOWN) {
        out.push_str(&format!(
            "  swing {}, {}: {} instead of {}\n",
            r.swing,
            names::label(&r.name),
            r.after,
            r.before
        ));
    }
    if written.replaced.len() > SHOWN {
        out.push_str(&format!("  and {} more\n", written.replaced.len() - SHOWN));
    }
    out
}

fn as_json(
    table: &Given,
    swings: &[Candidate],
    found: &Match,
    written: Option<&Written>,
    dry_run: bool,
) -> serde_json::Value {
    let swing = |k: usize| swings.get(k).map(|s| s.swing);
    let line = |k: usize| table.rows.get(k).map(|r| r.line);
    let pairs: Vec<_> = found
        .pairs
        .iter()
        .map(|p| {
            let given = table.rows.get(p.row).map(|r| &r.given);
            json!({ "line": line(p.row), "swing": swing(p.swing), "apart_s": p.apart_s, "outcomes": given })
        })
        .collect();
    let alone: Vec<_> = found.alone.iter().map(|(k, why)| json!({ "line": line(*k), "why": why })).collect();
    let refused: Vec<_> = found
        .refused
        .iter()
        .map(|r| {
            let lines: Vec<_> = r.rows.iter().map(|k| line(*k)).collect();
            let swings: Vec<_> = r.swings.iter().map(|k| swing(*k)).collect();
            json!({ "why": r.why, "lines": lines, "swings": swings })
        })
        .collect();
    json!({
        "schema": "underfoot.outcomes/1",
        "dry_run": dry_run,
        "source": table.source,
        "columns": table.columns.outcomes.iter().map(|c| json!({ "name": c.name, "unit": c.unit.symbol })).collect::<Vec<_>>(),
        "left_out": table.columns.left_out,
        "clock_offsets_s": found.offsets_s,
        "matched": pairs,
        "rows_alone": alone,
        "swings_without": found.without.iter().map(|k| swing(*k)).collect::<Vec<_>>(),
        "refused": refused,
        "written": written,
    })
}

fn as_text(
    table: &Given,
    swings: &[Candidate],
    found: &Match,
    written: Option<&Written>,
    dry_run: bool,
) -> String {
    const SHOWN: usize = 60;
    let mut out = String::new();
    let columns: Vec<String> = table
        .columns
        .outcomes
        .iter()
        .map(|c| format!("{} ({})", names::label(&c.name), c.unit.symbol))
        .collect();
    out.push_str(&format!("{}: {}\n", table.source, columns.join(", ")));
    for shift in &found.offsets_s {
        out.push_str(&format!("the recordings' clock is {} s later than the table's\n", signed(*shift, 1)));
    }
    if dry_run && found.refused.is_empty() {
        let timed = !found.offsets_s.is_empty();
        let mut set =
            Table::new(&[Align::Right, Align::Left, Align::Right, Align::Left, Align::Left, Align::Right]);
        let apart = if timed { "apart, s" } else { "" };
        set.row(["line", "row", "swing", "player", "file", apart]).rule();
        for pair in found.pairs.iter().take(SHOWN) {
            let (Some(row), Some(swing)) = (table.rows.get(pair.row), swings.get(pair.swing)) else {
                continue;
            };
            set.row([
                row.line.to_string(),
                first(row),
                swing.swing.to_string(),
                swing.player.clone(),
                swing.name.clone(),
                pair.apart_s.map_or_else(String::new, |s| signed(s, 1)),
            ]);
        }
        out.push_str(&set.text());
        if found.pairs.len() > SHOWN {
            out.push_str(&format!("  and {} more; --json has all\n", found.pairs.len() - SHOWN));
        }
        out.push_str(&format!("{} would be matched; nothing was changed\n", count(found.pairs.len(), "row")));
    }
    if let Some(written) = written {
        out.push_str(&told(written));
    }
    if !found.without.is_empty() {
        let numbers: Vec<i64> =
            found.without.iter().filter_map(|k| swings.get(*k)).map(|s| s.swing).collect();
        out.push_str(&format!(
            "no row for {} of these sessions: {}\n",
            count(numbers.len(), "swing"),
            ranges(&numbers)
        ));
    }
    out
}

/// A row in a few words: its time and its first figure.
fn first(row: &OutcomeRow) -> String {
    let figure = row.given.first().map(|g| g.given.clone());
    [row.time.clone(), row.file.clone(), figure].into_iter().flatten().collect::<Vec<_>>().join("  ")
}

/// Rows that found no swing, and lists that do not fit, side by side.
fn tell_alone(table: &Given, swings: &[Candidate], found: &Match, options: &Outcomes) {
    for refusal in &found.refused {
        let fix = match options.by {
            Way::Order => {
                "say --skip-first or --only for rows that are of no swing, --session for the session; nothing was written"
            }
            _ => "nothing was written",
        };
        eprintln!("{}", Fail::input(&refusal.why).at(&table.source).fix(fix));
        eprint!("{}", side_by_side(table, swings, refusal));
    }
    let mut by_why: Vec<(&str, Vec<String>)> = Vec::new();
    for (k, why) in &found.alone {
        let line = table.rows.get(*k).map_or_else(String::new, |r| r.line.to_string());
        match by_why.iter_mut().find(|(w, _)| w == why) {
            Some((_, lines)) => lines.push(line),
            None => by_why.push((why, vec![line])),
        }
    }
    for (why, lines) in by_why {
        let many = if lines.len() == 1 { "line" } else { "lines" };
        eprintln!("error: a row found no swing: {why}\nwhere: {}, {many} {}", table.source, lines.join(", "));
    }
}

fn side_by_side(table: &Given, swings: &[Candidate], refusal: &Refusal) -> String {
    const SHOWN: usize = 40;
    let mut set = Table::new(&[Align::Right, Align::Left, Align::Right, Align::Right, Align::Left]);
    set.row(["row", "", "swing", "no.", "file"]).rule();
    let longest = refusal.rows.len().max(refusal.swings.len());
    for k in 0..longest.min(SHOWN) {
        let row = refusal.rows.get(k).and_then(|k| table.rows.get(*k));
        let swing = refusal.swings.get(k).and_then(|k| swings.get(*k));
        set.row([
            row.map_or_else(String::new, |r| r.row.to_string()),
            row.map_or_else(String::new, first),
            swing.map_or_else(String::new, |s| s.swing.to_string()),
            swing.map_or_else(String::new, |s| s.number.to_string()),
            swing.map_or_else(String::new, |s| s.name.clone()),
        ]);
    }
    let mut out = set.text();
    if longest > SHOWN {
        out.push_str(&format!("  and {} more\n", longest - SHOWN));
    }
    out
}
