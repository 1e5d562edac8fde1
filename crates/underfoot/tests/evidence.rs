//! What was put into the demo's practice is found in it: by plain arithmetic on what was measured, and by every command that
//! answers a question. The truths stand in `underfoot::practice::people`; nothing here knows them from elsewhere.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::inquire::{Looking, asked};
use archive::recipe::Basis;
use archive::{Selection, Study};
use common::{ends, json, out, underfoot};
use serde_json::Value;
use simulate::ToePeaks;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use swing::About;
use underfoot::practice::people::{ALDER_CHANGE, GROUP, SPARE_READS, alder_changed, regulars, speed};
use underfoot::practice::truth::Usual;
use underfoot::practice::{self, Amount};
use view::claim::table::{Account, Scale, Trace};

/// Fewer swings and samples than the demo makes; the same truths.
const AMOUNT: Amount = Amount { record: 10, group: 4, rate_hz: [500.0, 250.0] };

const BEFORE: &str = "from=2026-06-08 to=2026-06-12";
const AFTER: &str = "from=2026-07-20 to=2026-07-22";

/// The study that the README's walk makes of the practice, made once for all tests. It lies in the target folder, and may be
/// looked at afterwards.
fn study() -> &'static Path {
    static MADE: OnceLock<PathBuf> = OnceLock::new();
    MADE.get_or_init(|| {
        let here = Path::new(env!("CARGO_TARGET_TMPDIR")).join("evidence");
        let _ = std::fs::remove_dir_all(&here);
        std::fs::create_dir_all(&here).unwrap();
        practice::write(&here.join("practice"), 7, &AMOUNT).unwrap();
        let walk: [&[&str]; 7] = [
            &["study", "new", "study"],
            &["player", "add", "--from", "practice/players.csv"],
            &["import", "practice", "--recursive", "--target", "-y", "--pattern", PATTERN],
            &["outcomes", "practice/launch-monitor.csv", "--by", "file"],
            &["rig", "add", "spare", "practice-spare/rig.toml"],
            &["import", "practice-spare", "--recursive", "--rig", "spare", "--pattern", PATTERN],
            &["study", "verify"],
        ];
        for step in walk {
            let on: &[&str] = if step[0] == "study" { &[] } else { &["--study", "study"] };
            let place = if step == ["study", "verify"] { here.join("study") } else { here.clone() };
            ends(&underfoot(&place, &[step, on].concat()), 0);
        }
        here.join("study")
    })
}

const PATTERN: &str = "{player}/{date}/{club}-{number}.c3d";

/// A figure of a swing: player, session, number within it, value in the unit in which people read it.
type Row = (String, i64, i64, f64);

/// One metric or outcome of chosen swings; every swing has it.
#[track_caller]
fn values(chosen: &str, what: &str) -> Vec<Row> {
    let study = Study::open(study()).unwrap();
    let selection: Selection = format!("{chosen} club=driver").parse().unwrap();
    let asked = asked(&study, &[what.to_string()]).unwrap();
    let looking = Looking { basis: Basis { collapse: false, about: About::NetCop }, scale: Scale::Body };
    let table = study.table(&selection, &asked, &looking, &mut |_, _| {}).unwrap();
    assert!(!table.swings.is_empty(), "nobody is of {chosen}");
    let column = &table.columns[0];
    assert!(column.absent.is_empty(), "{what} is absent: {:?}", column.absent);
    let row = |(s, v): (&view::claim::table::SwingOf, &f64)| (s.player.clone(), s.session, s.number, *v);
    table.swings.iter().zip(&column.values).map(row).collect()
}

fn plain(rows: &[Row]) -> Vec<f64> {
    rows.iter().map(|r| r.3).collect()
}

fn by_player(rows: &[Row]) -> BTreeMap<String, Vec<f64>> {
    let mut all: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for (player, _, _, value) in rows {
        all.entry(player.clone()).or_default().push(*value);
    }
    all
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

fn sd(x: &[f64]) -> f64 {
    let m = mean(x);
    (x.iter().map(|v| (v - m) * (v - m)).sum::<f64>() / (x.len() - 1) as f64).sqrt()
}

/// Difference of two means, and its standard error from the scatter within both.
fn change(a: &[f64], b: &[f64]) -> (f64, f64) {
    let error = |x: &[f64]| sd(x).powi(2) / x.len() as f64;
    (mean(b) - mean(a), (error(a) + error(b)).sqrt())
}

/// Least-squares slope and correlation.
fn line(x: &[f64], y: &[f64]) -> (f64, f64) {
    let (mx, my) = (mean(x), mean(y));
    let sum = |f: &dyn Fn(f64, f64) -> f64| x.iter().zip(y).map(|(a, b)| f(a - mx, b - my)).sum::<f64>();
    let (xx, xy, yy) = (sum(&|a, _| a * a), sum(&|a, b| a * b), sum(&|_, b| b * b));
    (xy / xx, xy / (xx * yy).sqrt())
}

fn percent(body_weights: f64) -> f64 {
    100.0 * body_weights
}

const EARLY: &str = "from=2026-05-12 to=2026-05-12";
const LATE: &str = "from=2026-09-15 to=2026-09-15";

/// Alder's push up and drive rose by what was put in; what was not touched did not move by more than its own noise.
#[test]
fn alder_changed_and_birch_did_not() {
    let of = |player: &str, what: &str| {
        let side = |days: &str| plain(&values(&format!("player={player} {days}"), what));
        let (a, b) = (side(EARLY), side(LATE));
        assert_eq!((a.len(), b.len()), (AMOUNT.record, AMOUNT.record));
        change(&a, &b)
    };
    let [alder, ..] = regulars();
    let (before, after) = (Usual::of(&alder).unwrap(), Usual::of(&alder_changed(&alder)).unwrap());
    // From day to day a push differs by 1.5 % of itself; a difference of two days by √2 of that. %BW.
    let put_in = [
        ("up.net.most", percent(after.up - before.up), 1.5),
        ("target.net.most", percent(after.drive - before.drive), 0.5),
        ("up.lead.most", percent(after.up_lead - before.up_lead), 1.3),
    ];
    assert!(
        (put_in[0].1 - percent(ALDER_CHANGE[0])).abs() < 0.1
            && (put_in[1].1 - percent(ALDER_CHANGE[1])).abs() < 0.1
    );
    for (metric, truth, days) in put_in {
        let (found, error) = of("alder", metric);
        let noise = error.hypot(days);
        assert!((found - truth).abs() < 3.0 * noise, "alder's {metric}: {found} ± {noise}, put in {truth}");
        assert!(found > 2.5 * noise, "alder's {metric} changed: {found} ± {noise}");
        let (found, error) = of("birch", metric);
        let noise = error.hypot(days);
        assert!(found.abs() < 2.5 * noise, "birch's {metric} did not change: {found} ± {noise}");
    }
    for metric in ["turn.net-cop.most", "lasts.backswing", "toe.net.least", "lead-share.most"] {
        for player in ["alder", "birch"] {
            let (found, error) = of(player, metric);
            assert!(found.abs() < 3.0 * error, "{player}'s {metric}: {found} ± {error}");
        }
    }
}

/// The block added to the drive what it says, player by player, and to nothing else.
#[test]
fn the_training_block_added_to_the_drive_alone() {
    let differences = |metric: &str| {
        let (before, after) = (by_player(&values(BEFORE, metric)), by_player(&values(AFTER, metric)));
        let of =
            |(player, swings): (&String, &Vec<f64>)| (player.clone(), mean(swings) - mean(&before[player]));
        after.iter().map(of).collect::<BTreeMap<_, _>>()
    };
    let t = |d: &BTreeMap<String, f64>| {
        let d: Vec<f64> = d.values().copied().collect();
        (mean(&d), mean(&d) / (sd(&d) / (d.len() as f64).sqrt()))
    };
    let trained: BTreeMap<&str, f64> =
        GROUP.iter().filter_map(|p| Some((p.alias, percent(p.trained?)))).collect();
    let drive = differences("target.net.most");
    assert_eq!(
        drive.keys().map(String::as_str).collect::<Vec<_>>(),
        trained.keys().copied().collect::<Vec<_>>()
    );
    for (player, added) in &drive {
        // Scatter of 4 and 4 swings of about 1 %BW, and of two days.
        assert!(
            (added - trained[player.as_str()]).abs() < 2.7,
            "{player}: {added}, put in {}",
            trained[player.as_str()]
        );
    }
    let truth = mean(&trained.values().copied().collect::<Vec<_>>());
    let (added, t_drive) = t(&drive);
    assert!((added - truth).abs() < 1.0 && t_drive > 5.0, "{added} %BW, t {t_drive}; put in {truth}");
    // Student's t of 8 degrees of freedom lies within 3.36 in 99 of 100 (any table).
    for metric in
        ["up.net.most", "turn.net-cop.most", "lasts.backswing", "toe.net.least", "up.net.most.before-impact"]
    {
        let (added, t) = t(&differences(metric));
        assert!(t.abs() < 3.36, "{metric}: {added}, t {t}");
    }
}

/// One peak or two toward the heels, swing by swing, told by three stretches of the curve; the net push up knows nothing of it.
#[test]
fn the_toe_force_has_one_peak_or_two() {
    let study = Study::open(study()).unwrap();
    let chosen: Selection = BEFORE.parse().unwrap();
    let account = Account {
        id: "toe.net",
        column: "net_toe_n",
        label: "net toe",
        unit: swing::metrics::Unit::Newton,
        two_feet: false,
    };
    let looking = Looking { basis: Basis { collapse: false, about: About::NetCop }, scale: Scale::Body };
    let traces = study.traces(&chosen, account, &looking, &mut |_, _| {}).unwrap();
    assert_eq!((traces.traces.len(), traces.unit.as_str()), (GROUP.len() * AMOUNT.group, "%BW"));
    // Phases between takeaway, top and impact at which two peaks lie, and the dip between them.
    let two = |trace: &Trace| {
        let [_, takeaway, top, impact, _] = trace.events_s;
        let at = |phase: f64| {
            let t = if phase < 1.0 {
                takeaway + phase * (top - takeaway)
            } else {
                top + (phase - 1.0) * (impact - top)
            };
            let k = ((t - trace.start_s) * trace.rate_hz) as usize;
            -mean(&trace.values[k - 5..=k + 5])
        };
        (at(1.06) + at(1.74)) / 2.0 - at(1.41)
    };
    for person in &GROUP {
        let of: Vec<f64> = traces
            .swings
            .iter()
            .zip(&traces.traces)
            .filter(|(s, _)| s.player == person.alias)
            .map(|(_, t)| two(t))
            .collect();
        let clear = of.iter().all(|d| if person.toe == ToePeaks::Two { *d > 3.0 } else { *d < -1.0 });
        assert!(clear && of.len() == AMOUNT.group, "{} has {:?}: {of:?} %BW", person.alias, person.toe);
    }
    // Neither push up nor turn go with the pattern: Welch's t of 12 against 12.
    for metric in ["up.net.most", "turn.net-cop.most", "target.net.most"] {
        let means = by_player(&values(BEFORE, metric));
        let side =
            |toe| GROUP.iter().filter(|p| p.toe == toe).map(|p| mean(&means[p.alias])).collect::<Vec<_>>();
        let (difference, error) = change(&side(ToePeaks::One), &side(ToePeaks::Two));
        assert!(difference.abs() < 2.8 * error, "{metric}: {difference} ± {error}");
    }
}

/// Faster clubs belong to players who push up more, not to swings; launch angle belongs to nothing.
#[test]
fn speed_goes_with_the_push_between_players_only() {
    let (push, fast) = (values(BEFORE, "up.net.most"), values(BEFORE, "outcome.clubhead-speed"));
    let means = |rows: &[Row]| by_player(rows).values().map(|v| mean(v)).collect::<Vec<_>>();
    let (slope, r) = line(&means(&push), &means(&fast));
    let truth = speed::SLOPE_M_S / 100.0;
    // Standard error of a slope: residuals of 0.9 m/s over a scatter of 10 %BW in 24 players.
    assert!(
        (slope - truth).abs() < 3.0 * 0.9 / (10.0 * 23f64.sqrt()),
        "{slope} m/s for a %BW, put in {truth}"
    );
    assert!(r > 0.7, "between players r = {r}");
    let within = |rows: &[Row]| {
        let own = by_player(rows);
        rows.iter().map(|(p, _, _, v)| v - mean(&own[p])).collect::<Vec<_>>()
    };
    let (slope, r) = line(&within(&push), &within(&fast));
    // 96 swings less 24 means leave 71 degrees of freedom: |r| under 0.30 in 99 of 100 (any table).
    assert!(slope.abs() < truth / 3.0 && r.abs() < 0.30, "within players {slope}, r = {r}");
    let launch = means(&values(BEFORE, "outcome.launch-angle"));
    for metric in ["up.net.most", "target.net.most", "turn.net-cop.most"] {
        let (_, r) = line(&means(&values(BEFORE, metric)), &launch);
        // 24 players: |r| under 0.515 in 99 of 100 (any table).
        assert!(r.abs() < 0.515, "{metric} and launch angle: r = {r}");
    }
}

/// The same swings on two rigs: the second reads 2 % more.
#[test]
fn the_spare_rig_reads_too_much() {
    let all = values("player=cedar from=2026-09-22", "up.net.most");
    let (first, spare) = all.split_at(AMOUNT.record);
    assert!(first[0].1 != spare[0].1, "two sessions");
    let ratios: Vec<f64> = first
        .iter()
        .zip(spare)
        .map(|(a, b)| {
            assert_eq!(a.2, b.2, "the same number");
            b.3 / a.3
        })
        .collect();
    // Cross-talk of shear and moments into the vertical force, and noise at a peak: a few tenths of a per cent.
    assert!((mean(&ratios) - SPARE_READS).abs() < 0.003 && sd(&ratios) < 0.003, "{ratios:?}");
    let tempo = values("player=cedar from=2026-09-22", "lasts.backswing");
    let (first, spare) = tempo.split_at(AMOUNT.record);
    assert!(first.iter().zip(spare).all(|(a, b)| (a.3 - b.3).abs() < 0.005), "the same swings last as long");
}

/// The answer of a command for machines.
#[track_caller]
fn answer(arguments: &[&str]) -> Value {
    let output = underfoot(study(), &[arguments, &["--json"]].concat());
    ends(&output, 0);
    let answer = json(&output);
    for part in ["question", "verdict"] {
        assert!(
            !answer[part].as_str().unwrap_or_default().is_empty(),
            "{arguments:?} has no {part}: {answer}"
        );
    }
    answer
}

/// The row of a list that is of this metric.
#[track_caller]
fn of<'a>(rows: &'a Value, metric: &str) -> &'a Value {
    let rows = rows.as_array().expect("rows");
    rows.iter().find(|r| r["metric"] == metric).unwrap_or_else(|| panic!("no row of {metric}"))
}

#[track_caller]
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

/// What was put in lies in an interval that is widened by the scatter of two days, which the interval cannot know.
#[track_caller]
fn holds(interval: &Value, truth: f64, days: f64) {
    let (low, high) = (number(&interval["low"]), number(&interval["high"]));
    assert!(
        low - 2.0 * days < truth && truth < high + 2.0 * days,
        "{truth} was put in, {low} to {high} found"
    );
}

fn change_of(player: &str) -> Value {
    let side = |days: &str| format!("player={player} {days}");
    answer(&["compare", &side(EARLY), &side(LATE), "--club", "driver"])
}

#[test]
fn compare_calls_alder_changed_and_birch_not() {
    let alder = change_of("alder");
    let rows = &alder["numbers"]["metrics"];
    for (metric, truth, days) in
        [("up.net.most", percent(ALDER_CHANGE[0]), 1.5), ("target.net.most", percent(ALDER_CHANGE[1]), 0.5)]
    {
        let row = of(rows, metric);
        assert_eq!(row["verdict"], "clear", "{row}");
        assert_eq!(row["unit"], "%BW");
        holds(&row["difference"], truth, days);
        let label = row["label"].as_str().unwrap();
        assert!(alder["verdict"].as_str().unwrap().contains(label), "{}", alder["verdict"]);
    }
    for metric in ["turn.net-cop.most", "tempo", "at.top.lead-share", "up.net.most.before-impact"] {
        assert_ne!(of(rows, metric)["verdict"], "clear", "{}", of(rows, metric));
    }
    let birch = change_of("birch");
    let said = birch["verdict"].as_str().unwrap();
    assert!(said.contains("No clear change") && said.contains("within noise"), "{said}");
    assert_eq!(birch["numbers"]["verdicts"]["clear"], 0);
    for metric in ["up.net.most", "up.lead.most", "target.net.most", "turn.net-cop.most"] {
        let row = of(&birch["numbers"]["metrics"], metric);
        assert_eq!(row["verdict"], "within noise", "{row}");
        holds(&row["difference"], 0.0, 0.0);
    }
}

#[test]
fn compare_finds_what_the_training_block_did() {
    let group = answer(&["compare", BEFORE, AFTER, "--club", "driver"]);
    let trained: Vec<f64> = GROUP.iter().filter_map(|p| p.trained.map(percent)).collect();
    let numbers = &group["numbers"];
    assert_eq!((&numbers["unit"], &numbers["design"]), (&"player".into(), &"paired players".into()));
    assert_eq!(group["counted"]["players"], trained.len());
    let drive = of(&numbers["metrics"], "target.net.most");
    assert_eq!(drive["verdict"], "clear", "{drive}");
    holds(&drive["difference"], mean(&trained), 0.5 / (trained.len() as f64).sqrt());
    assert_eq!(drive["rose"], serde_json::json!([trained.len(), 0]));
    assert_eq!(numbers["verdicts"]["clear"], 1, "nothing else was put in: {}", group["verdict"]);
    assert_eq!(of(&numbers["metrics"], "up.net.most")["verdict"], "within noise");
}

/// What sets players apart is as large as what was put in; what a player's swings scatter by is what arithmetic gives.
#[test]
fn repeat_measures_the_scatter_that_is_there() {
    let told = answer(&["repeat", "--from", "2026-06-08", "--to", "2026-06-12", "--metric", "up.net.most"]);
    let row = &told["numbers"]["measures"][0];
    assert_eq!((&row["measure"], &row["unit"]), (&"up.net.most".into(), &"%BW".into()));
    let usual: Vec<f64> = GROUP.iter().map(|p| percent(Usual::of(&p.spec(false)).unwrap().up)).collect();
    holds(&row["between"], sd(&usual), 0.0);
    let own = by_player(&values(BEFORE, "up.net.most"));
    let pooled = mean(&own.values().map(|v| sd(v).powi(2)).collect::<Vec<_>>()).sqrt();
    assert!((number(&row["sem"]["value"]) / pooled - 1.0).abs() < 1e-9, "{} {pooled}", row["sem"]);
    assert!(row["day"].is_null(), "no player has two days among these");
}

#[test]
fn curves_find_where_the_drive_grew_and_nothing_else() {
    let of = |account: &str, a: &str, b: &str| answer(&["curves", account, a, b, "--club", "driver"]);
    let drive = of("target.net", BEFORE, AFTER);
    let numbers = &drive["numbers"];
    assert_eq!((&numbers["outcome"], &numbers["counted"]), (&"differ".into(), &"player".into()));
    let trained: Vec<f64> = GROUP.iter().filter_map(|p| p.trained.map(percent)).collect();
    let stretches = numbers["test"]["stretches"].as_array().unwrap();
    assert!(!stretches.is_empty());
    for stretch in stretches {
        // The drive lies between the phases 0.72 and 1.72 (simulate::style), that is about the top, until shortly before impact.
        let (from, to) = (number(&stretch["from_percent"]), number(&stretch["to_percent"]));
        assert!(from > 50.0 && to < 97.0, "{stretch}");
        assert!((number(&stretch["largest"]) - mean(&trained)).abs() < 1.5, "{stretch}");
    }
    for (account, a, b) in [
        ("up.net", BEFORE.to_string(), AFTER.to_string()),
        ("up.net", format!("player=birch {EARLY}"), format!("player=birch {LATE}")),
        ("target.net", format!("player=birch {EARLY}"), format!("player=birch {LATE}")),
    ] {
        let told = of(account, &a, &b);
        assert_eq!(told["numbers"]["outcome"], "no difference seen", "{a}, {b}: {}", told["verdict"]);
    }
    let alder = of("up.net", &format!("player=alder {EARLY}"), &format!("player=alder {LATE}"));
    assert_eq!(alder["numbers"]["outcome"], "differ", "{}", alder["verdict"]);
}

/// Birch's style puts all weight on the lead foot, as nobody's in the group does; pine was dealt the middle.
#[test]
fn cohort_finds_who_is_unusual() {
    let place = |player: &str, metrics: &str| {
        let choice = format!("player={player} club=driver plates=two");
        let days = ["--from", "2026-06-08", "--to", "2026-06-12"];
        answer(&[&["cohort"], &days[..], &["--place", &choice, "--metric", metrics]].concat())
    };
    let told = place("birch", "lead-share.most,up.net.most");
    let standing = |told: &Value, metric: &str| {
        let all = told["numbers"]["placed"][0]["standings"].as_array().unwrap().clone();
        all.into_iter().find(|s| s["measure"] == metric).expect("a standing")
    };
    assert_eq!(standing(&told, "lead-share.most")["unusual"], true, "{}", told["verdict"]);
    assert_eq!(standing(&told, "up.net.most")["unusual"], false);
    assert!(told["verdict"].as_str().unwrap().contains("birch"), "{}", told["verdict"]);
    let told = place("pine", "up.net.most,target.net.most,lead-share.most");
    for metric in ["up.net.most", "target.net.most", "lead-share.most"] {
        assert_eq!(standing(&told, metric)["unusual"], false, "{}", told["verdict"]);
    }
    // The median of the players is where they were put.
    let row = &told["numbers"]["measures"][0]["rows"][0];
    let half =
        row["centiles"].as_array().unwrap().iter().find(|c| c["percent"] == 50.0 || c["percent"] == 50);
    let mut usual: Vec<f64> = GROUP.iter().map(|p| percent(Usual::of(&p.spec(false)).unwrap().up)).collect();
    usual.sort_by(f64::total_cmp);
    holds(half.expect("a median"), (usual[11] + usual[12]) / 2.0, 0.0);
    let tail = row["centiles"].as_array().unwrap().first().unwrap();
    assert!(
        tail["value"].is_null() && number(&tail["needs"]) > 24.0,
        "24 players carry no 5th centile: {tail}"
    );
}

#[test]
fn relate_tells_players_from_swings() {
    let days = ["--from", "2026-06-08", "--to", "2026-06-12"];
    let speed_and_push = answer(&[&["relate", "outcome.clubhead-speed", "up.net.most"], &days[..]].concat());
    let pair = &speed_and_push["numbers"]["pairs"][0];
    assert_eq!((&pair["between"]["found"], &pair["within"]["found"]), (&"more".into(), &"not-seen".into()));
    holds(&pair["between"]["slope"], speed::SLOPE_M_S / 100.0, 0.0);
    holds(&pair["within"]["slope"], 0.0, 0.0);
    let nothing = answer(
        &[
            &["relate", "outcome.launch-angle", "up.net.most", "target.net.most", "turn.net-cop.most"],
            &days[..],
        ]
        .concat(),
    );
    for pair in nothing["numbers"]["pairs"].as_array().unwrap() {
        assert_eq!(
            (&pair["between"]["found"], &pair["within"]["found"]),
            (&"not-seen".into(), &"not-seen".into()),
            "{}",
            nothing["verdict"]
        );
    }
}

#[test]
fn shapes_finds_the_two_patterns_and_no_others() {
    let of = |account: &str| answer(&["shapes", account, "--from", "2026-06-08", "--to", "2026-06-12"]);
    let toe = of("toe.net");
    let groups = toe["numbers"]["groups"].as_array().unwrap();
    assert_eq!((&toe["numbers"]["outcome"], groups.len()), (&"groups".into(), 2), "{}", toe["verdict"]);
    for (peaks, pattern) in [("one peak", ToePeaks::One), ("two peaks", ToePeaks::Two)] {
        let group = groups.iter().find(|g| g["words"].as_str().unwrap().starts_with(peaks)).expect(peaks);
        let members: Vec<&str> =
            group["members"].as_array().unwrap().iter().map(|m| m["name"].as_str().unwrap()).collect();
        let truth: Vec<&str> = GROUP.iter().filter(|p| p.toe == pattern).map(|p| p.alias).collect();
        assert_eq!(members, truth, "{peaks}");
        assert!(truth.contains(&group["typical"].as_str().unwrap()));
    }
    assert!(number(&toe["numbers"]["agreement"]) > 0.9, "{}", toe["verdict"]);
    for account in ["up.net", "target.net", "turn"] {
        let told = of(account);
        assert_eq!(told["numbers"]["outcome"], "one group", "{account}: {}", told["verdict"]);
    }
}

/// The second rig reads 2 % more; one plate instead of two changes nothing of a net account.
#[test]
fn agree_finds_the_rig_that_reads_too_much() {
    let rows = values("player=cedar from=2026-09-22", "up.net.most");
    let (first, spare) = (format!("session={}", rows[0].1), "rig=spare");
    let told = answer(&["agree", &first, spare, "--metric", "up.net.most"]);
    let row = &told["numbers"]["measures"][0];
    assert_eq!(row["pairs"], AMOUNT.record);
    let mine: Vec<f64> = plain(&rows).split_at(AMOUNT.record).0.to_vec();
    // The first less the second; cross-talk of two rigs adds a few tenths of a %BW of its own.
    let truth = mean(&mine) * (1.0 - SPARE_READS);
    assert!((number(&row["bias"]["value"]) - truth).abs() < 0.4, "{} for {truth}", row["bias"]);
    assert!(number(&row["bias"]["high"]) < -2.0, "{}", row["bias"]);
    assert!(number(&row["sd"]) < 0.5, "the same swings differ by noise of plates alone: {}", row["sd"]);
    assert!(told["verdict"].as_str().unwrap().contains("less than rig=spare"), "{}", told["verdict"]);
    let as_one = answer(&[
        "agree",
        "--collapse",
        "--metric",
        "up.net.most",
        "--player",
        "cedar",
        "--from",
        "2026-09-22",
    ]);
    assert_eq!(as_one["numbers"]["measures"][0]["size"], "same", "{}", as_one["verdict"]);
}

/// Swings that show a change of 5 %BW in a player: by the normal approximation n = 2 (1.960 + 0.842)² (SD / change)² (any
/// text on sample size), to which Student's t and rearrangements add one to three.
#[test]
fn plan_counts_the_swings_that_arithmetic_asks_for() {
    let chosen =
        ["--from", "2026-06-08", "--to", "2026-06-12", "--metric", "up.net.most", "--change", "5%BW"];
    let told = answer(&[&["plan", "--trials", "400"], &chosen[..]].concat());
    let row = &told["numbers"]["measures"][0];
    let designs = row["designs"].as_array().unwrap();
    let one_day = designs.iter().find(|d| d["design"] == "one-player-one-day").unwrap();
    let own = by_player(&values(BEFORE, "up.net.most"));
    let variance = mean(&own.values().map(|v| sd(v).powi(2)).collect::<Vec<_>>());
    let by_hand = 2.0 * (1.959964 + 0.841621f64).powi(2) * variance / 25.0;
    let count = number(&one_day["needed"][0]["count"]);
    assert!((by_hand..by_hand + 3.5).contains(&count), "{count} swings, by hand {by_hand}");
    let tried = &one_day["tried"];
    assert!((number(&tried["power"]["value"]) - 0.8).abs() < 0.1, "{tried}");
    // Alder's change of three times that was seen with fewer swings (above), and the change planned for is in the verdict.
    assert!(told["verdict"].as_str().unwrap().contains("5.0 %BW"), "{}", told["verdict"]);
}

/// A plan for what the training block did: tried, it comes true about as often as asked for; the same on one thread.
#[test]
fn plan_comes_true_when_tried() {
    let asked =
        ["plan", "--metric", "target.net.most", "--change", "3%BW", "--club", "driver", "--trials", "300"];
    let told = answer(&asked);
    let row = &told["numbers"]["measures"][0];
    let before_and_after =
        row["designs"].as_array().unwrap().iter().find(|d| d["design"] == "same-players").unwrap();
    assert!(number(&before_and_after["needed"][0]["count"]) <= 24.0, "{before_and_after}");
    // Of 300 trials, 72 to 88 % where it is 80.
    assert!(number(&before_and_after["tried"]["power"]["value"]) > 0.72, "{before_and_after}");
    let alone = std::process::Command::new(env!("CARGO_BIN_EXE_underfoot"))
        .current_dir(study())
        .env("RAYON_NUM_THREADS", "1")
        .args(asked)
        .arg("--json")
        .output()
        .unwrap();
    assert_eq!(serde_json::from_slice::<Value>(&alone.stdout).unwrap(), told);
}

/// The page of truths says what is in the data that it was made with.
#[test]
fn the_page_of_truths_is_beside_the_recordings() {
    let page = std::fs::read_to_string(study().with_file_name("practice").join("TRUTH.md")).unwrap();
    assert!(page.contains("**invented**") && page.contains("| alder | **changed**"), "{page}");
    for person in &GROUP {
        let peaks = if person.toe == ToePeaks::One { "one" } else { "two" };
        assert!(page.contains(&format!("| {} | {peaks} |", person.alias)), "{}", person.alias);
    }
    let listed = out(&underfoot(study(), &["player", "list"]));
    assert!(
        listed.lines().any(|l| l.contains("laurel") && l.contains("+2.0") && l.contains("female")),
        "{listed}"
    );
}
