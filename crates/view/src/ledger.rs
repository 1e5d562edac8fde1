//! The ledger at chosen instants, for people and machines.
use crate::convention::Convention;
use crate::facts::{self, Facts};
use crate::findings::{self, FindingView};
use crate::quantity::{COVERAGE, decimals, percent, plain, signed};
use crate::table::{Align, Table};
use crate::words::Component;
use glam::DVec3;
use mechanics::ledger::{Ledger, opposition};
use mechanics::pressure::central_line;
use mechanics::uncertainty::{Column, Flat, Point, Who};
use mechanics::{Finding, Recording, Rig};
use serde::Serialize;
use swing::{Sure, Swing};

/// Which instants to show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum At {
    /// The extremes of every net account.
    Peaks,
    /// One time of the recording, s.
    Time(f64),
}

/// Everything `underfoot ledger` says.
#[derive(Clone, Debug, Serialize)]
pub struct LedgerView {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// Recording, player and rig.
    #[serde(flatten)]
    pub facts: Facts,
    /// The accounts at each instant.
    pub instants: Vec<Instant>,
    /// Findings, stops first.
    pub findings: Vec<FindingView>,
}

/// The accounts at one instant.
#[derive(Clone, Debug, Serialize)]
pub struct Instant {
    /// What the instant is ("up, most" or "asked for").
    pub label: String,
    /// Name of the account whose extreme it is; empty for a time asked for.
    pub account: &'static str,
    /// Sample index.
    pub sample: usize,
    /// Seconds of the recording.
    pub time_s: f64,
    /// Force accounts.
    pub forces: Vec<ForceAccount>,
    /// The turn account.
    pub turn: TurnAccount,
    /// Centres of pressure, m, from the rig's centre.
    pub cops: Vec<CopView>,
    /// Central line of the net wrench, player components.
    pub central_line: CentralLineView,
}

/// One force account.
#[derive(Clone, Debug, Serialize)]
pub struct ForceAccount {
    /// "target", "toe" or "up".
    pub account: &'static str,
    /// Lead foot, N; null where the feet share a plate.
    pub lead_n: Option<f64>,
    /// Trail foot, N.
    pub trail_n: Option<f64>,
    /// Sum of the entries, N.
    pub net_n: f64,
    /// Half width of the lead foot's 95 % interval, N.
    pub lead_plus_minus_n: Option<f64>,
    /// Half width of the trail foot's 95 % interval, N.
    pub trail_plus_minus_n: Option<f64>,
    /// Half width of the net's 95 % interval, N.
    pub net_plus_minus_n: f64,
    /// Net in %BW.
    pub net_percent_bw: Option<f64>,
    /// Lead in %BW.
    pub lead_percent_bw: Option<f64>,
    /// Trail in %BW.
    pub trail_percent_bw: Option<f64>,
    /// How far the feet push against each other, N.
    pub opposition_n: Option<f64>,
    /// Entries minus the net, N.
    pub residual_n: Option<f64>,
}

/// The turn account.
#[derive(Clone, Debug, Serialize)]
pub struct TurnAccount {
    /// Entries in the order of the page.
    pub entries: Vec<Entry>,
    /// Sum of the entries, N·m.
    pub sum_nm: f64,
    /// Net from the summed wrench, N·m.
    pub net_nm: f64,
    /// Half width of its 95 % interval, N·m.
    pub net_plus_minus_nm: f64,
    /// Sum minus net, N·m.
    pub residual_nm: f64,
    /// The lead foot's whole turn, N·m.
    pub lead_nm: Option<f64>,
    /// The trail foot's whole turn, N·m.
    pub trail_nm: Option<f64>,
    /// Half width of the lead foot's 95 % interval, N·m.
    pub lead_plus_minus_nm: Option<f64>,
    /// Half width of the trail foot's 95 % interval, N·m.
    pub trail_plus_minus_nm: Option<f64>,
}

/// One entry of the turn account.
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    /// Stable name.
    pub name: &'static str,
    /// Name for people.
    pub label: &'static str,
    /// N·m.
    pub value_nm: f64,
    /// Half width of its 95 % interval, N·m.
    pub plus_minus_nm: f64,
    /// True where the entry depends on the reference point.
    pub depends_on_reference: bool,
}

/// A centre of pressure.
#[derive(Clone, Debug, Serialize)]
pub struct CopView {
    /// "lead", "trail" or "net".
    pub of: &'static str,
    /// Toward the target, m; null where not defined.
    pub target_m: f64,
    /// Toward the toes, m.
    pub toe_m: f64,
    /// Free moment, N·m.
    pub free_moment_nm: f64,
    /// Half width of the 95 % interval toward the target, m.
    pub target_plus_minus_m: f64,
    /// As above, toward the toes, m.
    pub toe_plus_minus_m: f64,
    /// Half width of the free moment's 95 % interval, N·m.
    pub free_moment_plus_minus_nm: f64,
}

/// The central line of the net wrench.
#[derive(Clone, Debug, Serialize)]
pub struct CentralLineView {
    /// Where it meets the floor, toward the target, m.
    pub meets_floor_target_m: f64,
    /// As above, toward the toes, m.
    pub meets_floor_toe_m: f64,
    /// Least moment over force, m.
    pub pitch_m: f64,
    /// Size of the least moment, N·m, signed along the force.
    pub least_moment_nm: f64,
}

/// Builds the view. `at` a time outside the recording gives `Err` with the recording's range, s.
pub fn view(
    recording: &Recording,
    rig: &Rig,
    swing: &Swing,
    findings: &[Finding],
    at: At,
    convention: Convention,
) -> Result<LedgerView, (f64, f64)> {
    let samples = swing.ledger.turn_nm.len();
    let sure = Sure::of(swing, rig);
    let instants = match at {
        At::Peaks => peaks(&swing.ledger)
            .into_iter()
            .map(|(label, account, k)| instant(swing, &sure, label.into(), account, k, convention))
            .collect(),
        At::Time(time_s) => {
            let k = ((time_s - swing.start_s) * swing.rate_hz).round();
            if !(k >= 0.0 && k < samples as f64) {
                return Err((
                    swing.start_s,
                    swing.start_s + samples.saturating_sub(1) as f64 / swing.rate_hz,
                ));
            }
            vec![instant(swing, &sure, "asked for".into(), "", k as usize, convention)]
        }
    };
    Ok(LedgerView {
        schema: "underfoot.ledger/1",
        facts: facts::of(recording, swing, convention),
        instants,
        findings: findings::view(findings),
    })
}

/// (label, account, sample) of the extremes of every net account.
fn peaks(ledger: &Ledger) -> Vec<(&'static str, &'static str, usize)> {
    let extreme = |column: &[f64], sign: f64| {
        let mut best: Option<usize> = None;
        for (k, value) in column.iter().enumerate() {
            if value.is_finite() && best.is_none_or(|b| sign * value > sign * column[b]) {
                best = Some(k);
            }
        }
        best
    };
    let net = &ledger.net;
    [
        ("up, most", "up", extreme(&net.up_n, 1.0)),
        ("target, most (driving)", "target", extreme(&net.target_n, 1.0)),
        ("target, least (braking)", "target", extreme(&net.target_n, -1.0)),
        ("toe, most", "toe", extreme(&net.toe_n, 1.0)),
        ("toe, least", "toe", extreme(&net.toe_n, -1.0)),
        ("turn, most", "turn", extreme(&ledger.turn_nm, 1.0)),
        ("turn, least", "turn", extreme(&ledger.turn_nm, -1.0)),
    ]
    .into_iter()
    .filter_map(|(label, account, k)| k.map(|k| (label, account, k)))
    .collect()
}

fn instant(
    swing: &Swing,
    sure: &Sure,
    label: String,
    account: &'static str,
    k: usize,
    how: Convention,
) -> Instant {
    let (ledger, sign) = (&swing.ledger, how.sign());
    let u = sure.u(swing, k);
    let plus_minus = |column: Column| COVERAGE * u[column.index()];
    let per_bw = |n: f64| swing.body_weight_n.map(|w| w.percent(n));
    let forces = [Component::Up, Component::Target, Component::Toe]
        .into_iter()
        .map(|component| {
            let net_n = sign * component.of(&ledger.net)[k];
            let lead_n = ledger.lead.as_ref().map(|s| sign * component.of(s)[k]);
            let trail_n = ledger.trail.as_ref().map(|s| sign * component.of(s)[k]);
            let both = lead_n.zip(trail_n);
            ForceAccount {
                account: component.name(),
                lead_n,
                trail_n,
                net_n,
                lead_plus_minus_n: lead_n.map(|_| plus_minus(component.column(Who::Lead))),
                trail_plus_minus_n: trail_n.map(|_| plus_minus(component.column(Who::Trail))),
                net_plus_minus_n: plus_minus(component.column(Who::Net)),
                net_percent_bw: per_bw(net_n),
                lead_percent_bw: lead_n.and_then(per_bw),
                trail_percent_bw: trail_n.and_then(per_bw),
                opposition_n: both.map(|(l, t)| opposition(l, t)),
                residual_n: both.map(|(l, t)| l + t - net_n),
            }
        })
        .collect();
    let net = &swing.series.net.wrench;
    let line = central_line(net.force_n[k], net.moment_nm[k]);
    let toe = swing.player.hand.toe_sign();
    Instant {
        label,
        account,
        sample: k,
        time_s: swing.start_s + k as f64 / swing.rate_hz,
        forces,
        turn: turn(ledger, k, sign, &plus_minus),
        cops: cops(swing, k, sign, &plus_minus),
        central_line: CentralLineView {
            meets_floor_target_m: line.meets_floor_m.x,
            meets_floor_toe_m: toe * line.meets_floor_m.y,
            pitch_m: swing.player.hand.turn_sign() * line.pitch_m,
            least_moment_nm: swing.player.hand.turn_sign() * signed_size(line.least_moment_nm, line.pitch_m),
        },
    }
}

fn signed_size(vector: DVec3, pitch: f64) -> f64 {
    if pitch < 0.0 { -vector.length() } else { vector.length() }
}

fn turn(ledger: &Ledger, k: usize, sign: f64, plus_minus: &dyn Fn(Column) -> f64) -> TurnAccount {
    let entry = |name, label, column: &[f64], of: Column, depends_on_reference| Entry {
        name,
        label,
        value_nm: sign * column[k],
        plus_minus_nm: plus_minus(of),
        depends_on_reference,
    };
    let entries = match &ledger.turn {
        Some(t) => vec![
            entry("free_trail", "trail free moment", &t.free_trail_nm, Column::FreeTrail, false),
            entry("free_lead", "lead free moment", &t.free_lead_nm, Column::FreeLead, false),
            entry("couple_toe", "shear couple, toe–heel", &t.couple_toe_nm, Column::CoupleToe, false),
            entry(
                "couple_target",
                "shear couple, along target",
                &t.couple_target_nm,
                Column::CoupleTarget,
                false,
            ),
            entry("offset", "offset", &ledger.offset_nm, Column::Offset(Point::Asked), true),
        ],
        None => vec![
            entry(
                "free_net",
                "net free moment",
                &ledger.net.free_moment_nm,
                Column::FreeMoment(Who::Net),
                false,
            ),
            entry("offset", "offset", &ledger.offset_nm, Column::Offset(Point::Asked), true),
        ],
    };
    let sum_nm = entries.iter().map(|e| e.value_nm).sum();
    let net_nm = sign * ledger.turn_nm[k];
    TurnAccount {
        entries,
        sum_nm,
        net_nm,
        net_plus_minus_nm: plus_minus(Column::Turn(Point::Asked)),
        residual_nm: sum_nm - net_nm,
        lead_nm: ledger.turn.as_ref().map(|t| sign * t.lead_nm[k]),
        trail_nm: ledger.turn.as_ref().map(|t| sign * t.trail_nm[k]),
        lead_plus_minus_nm: ledger.turn.as_ref().map(|_| plus_minus(Column::TurnLead(Point::Asked))),
        trail_plus_minus_nm: ledger.turn.as_ref().map(|_| plus_minus(Column::TurnTrail(Point::Asked))),
    }
}

fn cops(swing: &Swing, k: usize, sign: f64, plus_minus: &dyn Fn(Column) -> f64) -> Vec<CopView> {
    let ledger = &swing.ledger;
    [
        ("lead", Who::Lead, ledger.lead.as_ref()),
        ("trail", Who::Trail, ledger.trail.as_ref()),
        ("net", Who::Net, Some(&ledger.net)),
    ]
    .into_iter()
    .filter_map(|(of, who, side)| {
        side.map(|s| CopView {
            of,
            target_m: s.cop_target_m[k],
            toe_m: s.cop_toe_m[k],
            free_moment_nm: sign * s.free_moment_nm[k],
            target_plus_minus_m: plus_minus(Column::Cop(who, Flat::Target)),
            toe_plus_minus_m: plus_minus(Column::Cop(who, Flat::Toe)),
            free_moment_plus_minus_nm: plus_minus(Column::FreeMoment(who)),
        })
    })
    .collect()
}

/// The page for a terminal.
pub fn text(view: &LedgerView) -> String {
    let mut out = facts::head("LEDGER", &view.facts);
    match view.instants.as_slice() {
        [only] if only.account.is_empty() => one_instant(only, &mut out),
        many => all_peaks(many, &mut out),
    }
    out
}

const R: Align = Align::Right;

/// Forces of each side with their ±, in N, then in %BW where a weight is known.
fn force_cells(f: &ForceAccount, two: bool, weighed: bool) -> Vec<String> {
    let sides: Vec<(f64, f64, Option<f64>)> = match (f.lead_n, f.trail_n) {
        (Some(lead), Some(trail)) if two => vec![
            (lead, f.lead_plus_minus_n.unwrap_or(f64::NAN), f.lead_percent_bw),
            (trail, f.trail_plus_minus_n.unwrap_or(f64::NAN), f.trail_percent_bw),
            (f.net_n, f.net_plus_minus_n, f.net_percent_bw),
        ],
        _ => vec![(f.net_n, f.net_plus_minus_n, f.net_percent_bw)],
    };
    // One number of decimals a row, so that the parts are seen to add up.
    let digits = sides.iter().map(|(_, u, _)| decimals(*u)).max().unwrap_or(1).min(2);
    let mut cells = Vec::new();
    for (value, plus_minus, _) in &sides {
        cells.extend([signed(*value, digits), plain(*plus_minus, digits)]);
    }
    if weighed {
        cells.extend(sides.iter().map(|(.., percent)| signed(percent.unwrap_or(f64::NAN), 1)));
    }
    if two {
        cells.push(plain(f.opposition_n.unwrap_or(f64::NAN), 1));
    }
    cells
}

/// The two heading rows that go with [`force_cells`].
fn force_heads(two: bool, weighed: bool) -> [Vec<String>; 2] {
    let sides: &[&str] = if two { &["lead", "trail", "net"] } else { &["net"] };
    let (mut head, mut units) = (Vec::new(), Vec::new());
    for side in sides {
        head.extend([(*side).to_string(), "±".into()]);
        units.extend(["N".to_string(), String::new()]);
    }
    if weighed {
        head.extend(sides.iter().map(|s| (*s).to_string()));
        units.extend(sides.iter().map(|_| "%BW".to_string()));
    }
    if two {
        head.push("opposition".into());
        units.push("N".into());
    }
    [head, units]
}

fn all_peaks(instants: &[Instant], out: &mut String) {
    let two = instants.first().is_some_and(|i| i.turn.lead_nm.is_some());
    let weighed = instants.first().is_some_and(|i| i.forces.iter().any(|f| f.net_percent_bw.is_some()));
    out.push_str("FORCES at the peaks of the net, with half their 95 % intervals\n");
    let [head, units] = force_heads(two, weighed);
    let mut columns = vec![Align::Left, R];
    columns.extend(head.iter().map(|_| R));
    let mut table = Table::new(&columns);
    let row = |first: [&str; 2], rest: Vec<String>| {
        first.into_iter().map(str::to_string).chain(rest).collect::<Vec<String>>()
    };
    table.row(row(["account", "time"], head)).row(row(["", "s"], units)).rule();
    for instant in instants {
        let Some(f) = instant.forces.iter().find(|f| f.account == instant.account) else { continue };
        let time = plain(instant.time_s, 3);
        table.row(row([&instant.label, &time], force_cells(f, two, weighed)));
    }
    out.push_str(&table.text());

    let turns: Vec<&Instant> = instants.iter().filter(|i| i.account == "turn").collect();
    if turns.is_empty() {
        out.push_str("\nTURN is not defined anywhere: the reference point never is.\n");
        return;
    }
    out.push_str("\nTURN at the peaks of the net, N·m\n");
    turn_table(&turns, out);
}

fn one_instant(instant: &Instant, out: &mut String) {
    out.push_str(&format!("AT {} s (sample {})\n", plain(instant.time_s, 4), instant.sample));
    let two = instant.turn.lead_nm.is_some();
    let weighed = instant.forces.iter().any(|f| f.net_percent_bw.is_some());
    let [head, units] = force_heads(two, weighed);
    let mut columns = vec![Align::Left];
    columns.extend(head.iter().map(|_| R));
    let mut table = Table::new(&columns);
    let row = |first: &str, rest: Vec<String>| {
        std::iter::once(first.to_string()).chain(rest).collect::<Vec<String>>()
    };
    table.row(row("account", head)).row(row("", units)).rule();
    for f in &instant.forces {
        table.row(row(f.account, force_cells(f, two, weighed)));
    }
    out.push_str(&table.text());
    out.push_str("\nTURN, N·m\n");
    turn_table(&[instant], out);
    out.push_str("\nCENTRES OF PRESSURE, from the rig's centre\n");
    let mut table = Table::new(&[Align::Left, R, R, R, R, R, R]);
    table.row(["", "target", "±", "toe", "±", "free moment", "±"]);
    table.row(["", "mm", "", "mm", "", "N·m", ""]).rule();
    for cop in &instant.cops {
        let digits = decimals(cop.free_moment_plus_minus_nm).clamp(1, 2);
        table.row([
            cop.of.to_string(),
            signed(cop.target_m * 1e3, 1),
            plain(cop.target_plus_minus_m * 1e3, 1),
            signed(cop.toe_m * 1e3, 1),
            plain(cop.toe_plus_minus_m * 1e3, 1),
            signed(cop.free_moment_nm, digits),
            plain(cop.free_moment_plus_minus_nm, digits),
        ]);
    }
    out.push_str(&table.text());
    let line = &instant.central_line;
    out.push_str(&format!(
        "  central line meets the floor at target {} mm, toe {} mm; least moment {} N·m\n",
        signed(line.meets_floor_target_m * 1e3, 1),
        signed(line.meets_floor_toe_m * 1e3, 1),
        signed(line.least_moment_nm, 2)
    ));
}

/// Share of the net; "—" where the entries cancel so far, or the net is so near its ±, that a share would say nothing.
fn share_of(value_nm: f64, turn: &TurnAccount) -> String {
    let size: f64 = turn.entries.iter().map(|e| e.value_nm.abs()).sum();
    let unclear = turn.sum_nm.abs() < 2.0 * turn.net_plus_minus_nm;
    if unclear || turn.sum_nm.abs() < 0.1 * size { "—".into() } else { percent(value_nm, turn.sum_nm) }
}

/// Figures, their ± and shares for each instant; entries, their sum, the residual, and the same by foot.
fn turn_table(turns: &[&Instant], out: &mut String) {
    let mut aligns = vec![Align::Left];
    aligns.extend(turns.iter().flat_map(|_| [R, R, R]));
    let mut table = Table::new(&aligns);
    let heading = |i: &&Instant| {
        let name = if i.account.is_empty() { "value".into() } else { i.label.clone() };
        [name, "±".into(), "share".into()]
    };
    table.row(std::iter::once("entry".to_string()).chain(turns.iter().flat_map(heading)));
    if turns.iter().any(|i| !i.account.is_empty()) {
        let at = |i: &&Instant| [format!("{} s", plain(i.time_s, 3)), String::new(), String::new()];
        table.row(std::iter::once(String::new()).chain(turns.iter().flat_map(at)));
    }
    table.rule();
    let line = |label: &str, value: &dyn Fn(&Instant) -> Option<(f64, f64)>, share: bool| {
        let cells = turns.iter().flat_map(|i| {
            let (v, plus_minus) = value(i).unwrap_or((f64::NAN, f64::NAN));
            // One number of decimals an instant, the net's, so that the entries are seen to add up.
            let digits = decimals(i.turn.net_plus_minus_nm).clamp(1, 2);
            let share = if share { share_of(v, &i.turn) } else { String::new() };
            [signed(v, digits), plain(plus_minus, digits), share]
        });
        std::iter::once(label.to_string()).chain(cells).collect::<Vec<_>>()
    };
    let count = turns.first().map_or(0, |i| i.turn.entries.len());
    for e in 0..count {
        let label = turns[0].turn.entries[e].label;
        table.row(line(label, &|i| i.turn.entries.get(e).map(|e| (e.value_nm, e.plus_minus_nm)), true));
    }
    table.rule();
    table.row(line("sum", &|i| Some((i.turn.sum_nm, i.turn.net_plus_minus_nm)), false));
    table.row(line(
        "net, from the summed wrench",
        &|i| Some((i.turn.net_nm, i.turn.net_plus_minus_nm)),
        false,
    ));
    let residual = turns.iter().flat_map(|i| {
        let r = i.turn.residual_nm;
        [
            if r.is_nan() {
                "—".into()
            } else if r == 0.0 {
                "0".into()
            } else {
                format!("{:.0e}", r.abs())
            },
            String::new(),
            String::new(),
        ]
    });
    table.row(std::iter::once("residual".to_string()).chain(residual));
    if turns.iter().any(|i| i.turn.lead_nm.is_some()) {
        table.rule();
        table.row(line("by foot: lead", &|i| i.turn.lead_nm.zip(i.turn.lead_plus_minus_nm), true));
        table.row(line("by foot: trail", &|i| i.turn.trail_nm.zip(i.turn.trail_plus_minus_nm), true));
    }
    out.push_str(&table.text());
}
