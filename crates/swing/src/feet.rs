//! Which plate carries which foot.
use crate::address::Address;
use crate::analyse::{PlateShadow, mean_over};
use mechanics::finding::{self, Checked, Finding};
use mechanics::plate::Foothold;
use mechanics::pressure::contact;
use mechanics::wrench::PlateWrench;
use mechanics::{Hand, Rig};

/// How plates were booked. Indices of the rig's plates.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Split {
    /// Plates of the foot nearer the target.
    pub lead: Vec<usize>,
    /// Plates of the other foot.
    pub trail: Vec<usize>,
    /// Plates that the feet share, or that were put together.
    pub both: Vec<usize>,
    /// Plates that carry no foot.
    pub left_out: Vec<usize>,
    /// How it was decided.
    pub by: SplitBy,
}

/// How plates were booked to feet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SplitBy {
    /// One plate carries everything.
    #[default]
    OnePlate,
    /// The user asked for one plate.
    Collapsed,
    /// The rig says which foot stands where.
    Rig,
    /// The load nearer the target is the lead foot.
    NearerTarget,
}

/// Where a plate's load is: its mean centre of pressure at address where it is loaded then, else over the whole
/// recording; golf x and y, m.
struct Load {
    plate: usize,
    x: f64,
    y: f64,
    at_address_n: f64,
}

/// Books each loaded plate to the lead foot, the trail foot, or both.
///
/// The lead foot is the one nearer the target. Feet stated in the rig go before positions, and are checked against
/// them. Errors: no plate is loaded; the largest vertical force seen, N.
pub fn assign(
    rig: &Rig,
    plates: &[PlateWrench],
    shadows: &[PlateShadow],
    address: Option<&Address>,
    hand: Hand,
    collapsed: bool,
) -> Result<Checked<Split>, f64> {
    let mut findings = Vec::new();
    let foothold = |plate: usize| rig.plates.get(plate).and_then(|p| p.foot);
    let mut split = Split::default();
    let mut loads = Vec::new();
    for (plate, shadow) in plates.iter().zip(shadows) {
        if shadow.loaded {
            loads.push(load(plate, rig.load_floor_n, address));
        } else {
            split.left_out.push(shadow.plate);
            findings.push(
                Finding::new(
                    &finding::NEVER_LOADED,
                    format!("vertical force: peak {:.1} N, median {:.1} N", shadow.peak_n, shadow.median_n),
                )
                .on_plate(shadow.plate),
            );
        }
    }
    if loads.is_empty() {
        return Err(shadows.iter().map(|s| s.peak_n).fold(f64::NAN, f64::max));
    }
    let all = || loads.iter().map(|l| l.plate).collect::<Vec<_>>();
    let shared = loads.iter().any(|l| foothold(l.plate) == Some(Foothold::Both));
    if loads.len() == 1 || shared || collapsed {
        split.both = all();
        split.by = if loads.len() > 1 { SplitBy::Collapsed } else { SplitBy::OnePlate };
        if loads.len() == 1 {
            let why = match split.left_out.len() {
                0 => "the recording has one plate".to_string(),
                n => format!("of {} plates one is loaded", n + 1),
            };
            findings.push(Finding::new(&finding::ONE_PLATE, why).on_plate(loads[0].plate));
        }
        return Ok(Checked { value: split, findings });
    }
    let stated: Vec<Option<bool>> =
        loads.iter().map(|l| foothold(l.plate).and_then(|foot| leads(foot, hand))).collect();
    split.by = if stated.iter().any(Option::is_some) { SplitBy::Rig } else { SplitBy::NearerTarget };
    if stated.iter().any(Option::is_none) {
        nearer_target(&loads, &mut split, &mut findings);
    }
    // What the rig states goes before positions.
    for (load, lead) in loads.iter().zip(&stated) {
        let Some(lead) = *lead else { continue };
        split.lead.retain(|p| *p != load.plate);
        split.trail.retain(|p| *p != load.plate);
        let side = if lead { &mut split.lead } else { &mut split.trail };
        side.push(load.plate);
    }
    if split.lead.is_empty() || split.trail.is_empty() {
        let seen = "the rig puts every loaded plate under the same foot; they were put together";
        findings.push(Finding::new(&finding::ONE_PLATE, seen));
        split.both = all();
        split.lead.clear();
        split.trail.clear();
        split.by = SplitBy::Collapsed;
    }
    consistency(&loads, &split, &mut findings);
    Ok(Checked { value: split, findings })
}

fn load(plate: &PlateWrench, floor_n: f64, address: Option<&Address>) -> Load {
    let samples = plate.wrench.len();
    let window = address.map_or(0..0, |a| a.samples.clone());
    let mean = |range: std::ops::Range<usize>| {
        mean_over(range.map(|k| {
            contact(plate.wrench.force_n[k], plate.wrench.moment_nm[k], &plate.surface, floor_n).cop_m
        }))
    };
    let force = mean_over(plate.wrench.force_n[window.clone()].iter().copied()).z;
    let at_address_n = if force.is_finite() { force } else { 0.0 };
    let place = if at_address_n > 2.0 * floor_n { mean(window) } else { mean(0..samples) };
    Load { plate: plate.plate, x: place.x, y: place.y, at_address_n }
}

/// Whether the foot is the lead foot of a player of this hand; `None` where both share the plate.
pub(crate) fn leads(foot: Foothold, hand: Hand) -> Option<bool> {
    match foot {
        Foothold::Lead => Some(true),
        Foothold::Trail => Some(false),
        Foothold::Left => Some(hand == Hand::Right),
        Foothold::Right => Some(hand == Hand::Left),
        Foothold::Both => None,
    }
}

/// The two plates that carry most at address (or lie farthest apart along the target) are the feet; any other
/// loaded plate goes to the foot it is nearer to.
fn nearer_target(loads: &[Load], split: &mut Split, findings: &mut Vec<Finding>) {
    let mut order: Vec<&Load> = loads.iter().collect();
    order.sort_by(|a, b| b.at_address_n.total_cmp(&a.at_address_n).then(a.plate.cmp(&b.plate)));
    let [first, second, others @ ..] = order.as_slice() else { return };
    let (lead, trail) = if first.x >= second.x { (first, second) } else { (second, first) };
    split.lead.push(lead.plate);
    split.trail.push(trail.plate);
    for other in others {
        let to_lead = (other.x - lead.x).abs() <= (other.x - trail.x).abs();
        findings.push(
            Finding::new(
                &finding::FEET_EXTRA_PLATE,
                format!("booked to the {} foot, which is nearer", if to_lead { "lead" } else { "trail" }),
            )
            .on_plate(other.plate),
        );
        if to_lead { split.lead.push(other.plate) } else { split.trail.push(other.plate) }
    }
}

/// Lead must lie nearer the target, and clearly so.
fn consistency(loads: &[Load], split: &Split, findings: &mut Vec<Finding>) {
    let place = |plates: &[usize]| {
        let mine: Vec<&Load> = loads.iter().filter(|l| plates.first() == Some(&l.plate)).collect();
        mine.first().map(|l| (l.x, l.y))
    };
    let (Some(lead), Some(trail)) = (place(&split.lead), place(&split.trail)) else { return };
    let (along, across) = (lead.0 - trail.0, lead.1 - trail.1);
    if along < 0.0 && split.by == SplitBy::Rig {
        findings.push(Finding::new(
            &finding::FEET_SWAPPED,
            format!("the foot stated as lead stands {:.2} m farther from the target", -along),
        ));
    } else if along.abs() < across.abs() {
        findings.push(Finding::new(
            &finding::FEET_NOT_ALONG_TARGET,
            format!(
                "feet are {:.2} m apart along the target line and {:.2} m across it",
                along.abs(),
                across.abs()
            ),
        ));
    }
}
