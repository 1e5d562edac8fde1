//! `underfoot show`: everything a study keeps of one swing.
use super::{Done, print, print_json};
use archive::sheet::{FigureKept, Sheet};
use clap::Args;
use swing::metrics::Figure;
use underfoot::study::{InStudy, fail};
use view::findings::shape;
use view::measure::{Row, by_chapter, figures};
use view::quantity::{COVERAGE, plain};

/// Options of `underfoot show`.
#[derive(Args, Debug)]
pub struct Show {
    /// The swing's number in the study
    swing: i64,
    /// Every metric of the catalogue
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// What the page shows unless everything is asked for.
const KEY: [&str; 9] = [
    "up.net.most",
    "up.lead.most",
    "up.trail.most",
    "target.net.most",
    "target.net.least",
    "toe.net.most",
    "turn.net-cop.most",
    "turn.rig-centre.most",
    "tempo",
];

/// Runs it.
pub fn run(options: &Show) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let sheet = study.sheet(options.swing).map_err(of)?;
    let (basis, _) = study.usual_basis().map_err(of)?;
    let kept = study.figures_of(basis, options.swing).map_err(of)?;
    if options.json {
        let figures: Vec<serde_json::Value> = kept.iter().map(for_machines).collect();
        print_json(&serde_json::json!({ "schema": "underfoot.show/1", "swing": sheet, "figures": figures }))?;
        return Ok(None);
    }
    print(&head(&sheet))?;
    let rows: Vec<Row<'_>> = kept
        .iter()
        .filter(|k| options.all || KEY.contains(&k.metric.id.as_str()))
        .map(|k| Row { metric: k.metric, figure: k.figure.as_ref().map_err(Clone::clone) })
        .collect();
    match (rows.is_empty(), options.all) {
        (true, _) => {}
        (false, true) => print(&format!("\n{}", by_chapter(&rows)))?,
        (false, false) => print(&format!("\n{}", figures(rows.iter())))?,
    }
    Ok(None)
}

fn for_machines(k: &FigureKept) -> serde_json::Value {
    let figure: Option<&Figure> = k.figure.as_ref().ok();
    serde_json::json!({
        "id": k.metric.id,
        "unit": k.metric.unit.symbol(),
        "value": figure.map(|f| f.value),
        "u": figure.map(|f| f.u),
        "by_weight": figure.and_then(|f| f.by_weight).map(|b| b.0),
        "by_weight_u": figure.and_then(|f| f.by_weight).map(|b| b.1),
        "at_s": figure.and_then(|f| f.at_s),
        "led_by": k.led_by.as_ref().map(|l| &l.0),
        "estimate": figure.is_some_and(|f| f.estimated),
        "touched_by": figure.map(|f| f.touched_by.clone()).unwrap_or_default(),
        "absent": k.figure.as_ref().err(),
    })
}

/// A recipe in words: what was stated, and nothing else.
fn recipe(text: &str) -> String {
    let Ok(recipe) = serde_json::from_str::<archive::recipe::Recipe>(text) else { return text.to_string() };
    let mut parts = Vec::new();
    let mut say = |what: &str, how: Option<String>| parts.extend(how.map(|h| format!("{what} {h}")));
    say("target", recipe.target);
    say("hand", recipe.hand);
    say("mass", recipe.mass_kg.map(|kg| format!("{kg} kg")));
    say("club marker", recipe.club_marker);
    say("rig file", recipe.rig.map(|h| format!("{}…", h.get(..12).unwrap_or_default())));
    say("estimates", recipe.estimates.then(|| "let in".to_string()));
    for mark in recipe.marks {
        say(&mark.event, Some(format!("at {} s", plain(mark.time_s, 3))));
    }
    if parts.is_empty() { "nothing stated".into() } else { parts.join(", ") }
}

fn head(sheet: &Sheet) -> String {
    let mut out = format!("SWING {}  {}\n", sheet.swing, sheet.file);
    let mut line = |name: &str, text: String| {
        if !text.is_empty() {
            out.push_str(&format!("  {name:<16}{text}\n"));
        }
    };
    let date = sheet.date.as_deref().unwrap_or("no day");
    line(
        "player",
        format!("{}, session {} ({date}), swing {} of it", sheet.player, sheet.session, sheet.number),
    );
    line("club", sheet.club.clone());
    line("tags", sheet.tags.join(", "));
    line("note", sheet.note.clone());
    let short = sheet.hash.get(..12).unwrap_or_default();
    let came = sheet.imported_at.get(..16).unwrap_or_default().replace('T', " ");
    line("original", format!("{short}… ({} bytes, came in {came} UTC)", sheet.bytes));
    if let Some(m) = &sheet.measured {
        let at = m.at.get(..16).unwrap_or_default().replace('T', " ");
        line("measured", format!("{at} UTC by {}; {}", m.program, m.methods));
        if sheet.out_of_date {
            line("", "out of date: `underfoot study rebuild --changed` measures again".into());
        }
        if !m.methods_are_current {
            line("", "by other methods than this program's: `underfoot study rebuild`".into());
        }
        line("rig", m.rig.clone().unwrap_or_else(|| "as the recording says".into()));
        line("recipe", format!("{}…: {}", m.recipe_hash.get(..12).unwrap_or_default(), recipe(&m.recipe)));
        match (&m.failed, m.feet) {
            (Some(why), _) => line("accounts", format!("none: {why}")),
            (None, Some(2)) => line("accounts", "of each foot, and net".into()),
            (None, _) => line("accounts", "net only: both feet on one plate".into()),
        }
        if let (Some(newton), Some(from)) = (m.body_weight_n, &m.body_weight_from) {
            line("weight", format!("100 %BW = {} N ({from})", plain(newton, 1)));
        }
        line("curves", m.conditioning.clone().unwrap_or_default());
    }
    for e in &sheet.events {
        let half_ms = COVERAGE * e.u_s * 1e3;
        let by_hand = if e.source == "hand" { "placed by hand" } else { &e.method };
        line(&e.event, format!("{} s ± {} ms, {by_hand}", plain(e.time_s, 3), plain(half_ms, 1)));
    }
    for o in &sheet.outcomes {
        line(&o.name, format!("{} (from {})", o.given, o.source));
    }
    for f in &sheet.findings {
        line(&format!("{} {}", shape(&f.severity), f.code), f.seen.clone());
    }
    out
}
