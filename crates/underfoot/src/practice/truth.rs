//! `TRUTH.md`: what was put into the practice, in words and figures.
use super::people::{ALDER_CHANGE, GROUP, LAUNCH_DEG, Person, SPARE_READS, alder_changed, regulars, speed};
use super::{AFTER, Amount, BEFORE, DAYS, bug, monitor};
use crate::fail::Fail;
use simulate::{Days, Noise, PlateType, PlayerSpec, RigSpec, Scatter, ToePeaks, Truth, Unbuildable};
use view::claim::wrapped;
use view::quantity::signed;

/// Peaks of a player's usual swing, without scatter, sway or any error of a plate; body weights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usual {
    /// Net, up, most.
    pub up: f64,
    /// Lead foot, up, most.
    pub up_lead: f64,
    /// Net, toward the target, most.
    pub drive: f64,
    /// Lead foot's share of the weight, most.
    pub share: f64,
    /// Net, away from the target, most, with its sign.
    pub braking: f64,
}

impl Usual {
    /// Of a player.
    ///
    /// Errors: a player of whom no swing can be made.
    pub fn of(player: &PlayerSpec) -> Result<Self, Unbuildable> {
        let statue = PlayerSpec { scatter: Scatter::NONE, sway: 0.0, ..player.clone() };
        let rig = RigSpec { rate_hz: 500.0, marker_rate_hz: 0.0, ..RigSpec::two_plates(PlateType::Two) };
        let truth = simulate::swing(&statue, &rig, &Noise::NONE, 0)?.truth;
        let weight = truth.mass_kg * truth.gravity_m_s2;
        let most = |of: &dyn Fn(&Truth, usize) -> f64| {
            (0..truth.len()).map(|i| of(&truth, i)).fold(f64::MIN, f64::max) / weight
        };
        let share = |t: &Truth, i: usize| weight * t.lead.force_n[i].z / t.net_n(i).z;
        let drive = |t: &Truth, i: usize| t.player(t.net_n(i)).x;
        Ok(Self {
            up: most(&|t, i| t.net_n(i).z),
            up_lead: most(&|t, i| t.lead.force_n[i].z),
            drive: most(&drive),
            share: most(&share),
            braking: -most(&|t, i| -drive(t, i)),
        })
    }
}

/// The whole page.
///
/// Errors: our bug only.
pub fn text(seed: u64, amount: &Amount) -> Result<String, Fail> {
    let mut parts = vec!["# What is true of this practice".into(), everybody(seed)];
    parts.extend(long_record()?);
    parts.extend(group(amount)?);
    Ok(parts.join("\n\n") + "\n")
}

fn paragraph(text: &str) -> String {
    wrapped(text, "", "")
}

fn item(text: &str) -> String {
    wrapped(text, "- ", "  ")
}

fn everybody(seed: u64) -> String {
    let (swings, days) = (Scatter::USUAL, Days::USUAL);
    let first = paragraph(&format!(
        "Everything here is **invented**: players, swings, plates, launch monitor. This page says what was put in, so that what \
         is found can be held against it. %BW is per cent of body weight; figures of a player are those of the usual swing, \
         without scatter. Seed {seed}."
    ));
    let scatter = paragraph(&format!(
        "**From swing to swing** each push and each step of load differs by {:.0} % (standard deviation), its instant by {:.0} ms, \
         the duration of a phase by {:.1} %, the place of a foot by {:.0} mm. **From day to day** all pushes of a kind (up, toward \
         the target, toe–heel …) differ together by {:.1} %, the duration of a phase by {:.1} %, the width of the stance by {:.0} mm. \
         **Plates** have noise, drift, mains hum and cross-talk; those of a bay have the same cross-talk on every day.",
        100.0 * swings.size,
        1000.0 * swings.timing_s,
        100.0 * swings.tempo,
        1000.0 * swings.placement_m,
        100.0 * days.size,
        100.0 * days.tempo,
        1000.0 * days.stance_m,
    ));
    format!("{first}\n\n## Scatter, of everybody\n\n{scatter}")
}

fn long_record() -> Result<Vec<String>, Fail> {
    let [alder, birch, cedar] = regulars();
    let of = |p: &PlayerSpec| Usual::of(p).map_err(bug);
    let (before, after, same) = (of(&alder)?, of(&alder_changed(&alder))?, of(&birch)?);
    let [one, many, later, twice] = DAYS;
    let [up, drive] = ALDER_CHANGE.map(|c| signed(100.0 * c, 0));
    let change = |a: f64, b: f64| format!("{} → {}", percent(a), percent(b));
    let table = [
        format!(
            "| player | from {many} to {later} | net up, most, %BW | lead up, most, %BW | net target, most, %BW |"
        ),
        "| --- | --- | --- | --- | --- |".into(),
        format!(
            "| alder | **changed**: pushes up {up} %BW, drives {drive} %BW | {} | {} | {} |",
            change(before.up, after.up),
            change(before.up_lead, after.up_lead),
            change(before.drive, after.drive),
        ),
        format!(
            "| birch | **nothing changed** | {} | {} | {} |",
            percent(same.up),
            percent(same.up_lead),
            percent(same.drive),
        ),
    ];
    Ok(vec![
        "## The long record: alder, birch, cedar".into(),
        format!("One plate on {one}, two on every other day."),
        table.join("\n"),
        paragraph(&format!(
            "What follows from a greater push changes with it (its slope, its impulse, power …); when things happen, how the load is \
             shared, and the turn do not. The clubhead is as fast as before. Nobody changed between {one} and {many}."
        )),
        paragraph(&format!(
            "Birch stands **wholly on the lead foot** for a while after impact ({:.0} % of the weight at most); the group, usually, puts \
             at most {:.0} % there.",
            100.0 * same.share,
            100.0 * most_of_group()?,
        )),
        paragraph(&format!(
            "Cedar, {twice}: **two rigs at once**, one standing on the other. The second one, in the folder `{}`, reads **{} % too \
             much** in every channel, and has noise and cross-talk of its own, which adds up to some 0.5 %BW to forces along the ground. Cedar's \
             net up, most, is {} %BW.",
            super::SPARE,
            signed(100.0 * (SPARE_READS - 1.0), 0),
            percent(of(&cedar)?.up),
        )),
    ])
}

/// The greatest share of the weight that a usual swing of the group puts on the lead foot.
fn most_of_group() -> Result<f64, Fail> {
    let shares: Vec<f64> = GROUP
        .iter()
        .map(|p| Ok(Usual::of(&p.spec(false)).map_err(bug)?.share))
        .collect::<Result<_, Fail>>()?;
    Ok(shares.into_iter().fold(0.0, f64::max))
}

fn group(amount: &Amount) -> Result<Vec<String>, Fail> {
    let trained: Vec<f64> = GROUP.iter().filter_map(|p| p.trained).collect();
    let mean = trained.iter().sum::<f64>() / trained.len() as f64;
    let (least, most) = trained.iter().fold((f64::MAX, f64::MIN), |(l, m), t| (l.min(*t), m.max(*t)));
    let mut braking = 0.0;
    for person in GROUP.iter().filter(|p| p.trained.is_some()) {
        let of = |after| Usual::of(&person.spec(after)).map_err(bug);
        braking += (of(true)?.braking - of(false)?.braking) / trained.len() as f64;
    }
    let [launch, launch_between, launch_within] = LAUNCH_DEG;
    let ends = |days: &[&str]| {
        days.first().zip(days.last()).map(|(a, b)| format!("{a} and {b}")).unwrap_or_default()
    };
    let items = [
        item(&format!(
            "**The training block** added {} %BW on average ({} to {} by player) to the drive (net target, most). What it adds to the \
             speed toward the target has to be taken off again: braking (net target, least) grows by {} %BW on average. Nothing else \
             was changed.",
            signed(100.0 * mean, 1),
            signed(100.0 * least, 1),
            signed(100.0 * most, 1),
            signed(100.0 * braking, 1),
        )),
        item(&format!(
            "**The net toe–heel force** about the top and in the downswing has **one peak or two**, {} players each. All other net \
             accounts are of one kind and differ in size only; turn about the net centre of pressure does not know of it.",
            GROUP.iter().filter(|p| p.toe == ToePeaks::One).count(),
        )),
        item(&format!(
            "**Clubhead speed, between players**, is {} m/s where net up peaks at {:.0} %BW, and {} m/s faster for 10 %BW more, give or \
             take what the table says (standard deviation {:.1} m/s). **Within a player** it differs by {} m/s from swing to swing, \
             whatever the forces. Carry follows speed.",
            speed::MEAN_M_S,
            100.0 * speed::AT_BW,
            speed::SLOPE_M_S / 10.0,
            off_the_rule_m_s(),
            speed::SCATTER_M_S,
        )),
        item(&format!(
            "**Launch angle** has to do with nothing: {launch} ° on average, with a standard deviation of {launch_between} ° between \
             players and of {launch_within} ° from swing to swing.",
        )),
        item("Sex decides mass and height only; hand, handicap and year of birth decide nothing."),
    ];
    let mut table = vec![
        "| player | toe–heel peaks | net up, most, %BW | net target, most, %BW | training adds, %BW | speed, m/s | off the rule, m/s |"
            .to_string(),
        "| --- | --- | --- | --- | --- | --- | --- |".into(),
    ];
    for person in &GROUP {
        table.push(line(person)?);
    }
    Ok(vec![
        format!("## The group: {} players, {} swings with the driver each", GROUP.len(), amount.group),
        paragraph(&format!(
            "Measured between {}; the {} who trained, once more between {}.",
            ends(&BEFORE),
            trained.len(),
            ends(&AFTER),
        )),
        items.join("\n"),
        table.join("\n"),
    ])
}

/// Standard deviation of what the speeds of the group are off the rule.
fn off_the_rule_m_s() -> f64 {
    let n = GROUP.len() as f64;
    let mean = GROUP.iter().map(|p| p.faster_m_s).sum::<f64>() / n;
    (GROUP.iter().map(|p| (p.faster_m_s - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}

fn line(person: &Person) -> Result<String, Fail> {
    let usual = Usual::of(&person.spec(false)).map_err(bug)?;
    Ok(format!(
        "| {} | {} | {} | {} | {} | {:.1} | {} |",
        person.alias,
        if person.toe == ToePeaks::One { "one" } else { "two" },
        percent(usual.up),
        percent(usual.drive),
        person.trained.map_or("—".into(), |t| signed(100.0 * t, 1)),
        monitor::usual_speed(person)?,
        signed(person.faster_m_s, 1),
    ))
}

fn percent(body_weights: f64) -> String {
    format!("{:.1}", 100.0 * body_weights)
}
