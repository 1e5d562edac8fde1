//! What was measured again after a change, said exactly: which swings, which figures came out otherwise, what was left alone.
use super::{count, print, print_json};
use archive::again::{Again, Changed};
use archive::{Selection, Study};
use std::collections::BTreeMap;
use swing::metrics::{Figure, Unit, catalogue};
use underfoot::fail::Fail;
use underfoot::study::fail;
use view::quantity::with_plus_minus;
use view::table::{Align, Table};

/// Figures that the page shows; JSON has all.
const SHOWN: usize = 8;

/// Tells what was measured again: swings by number, how many were left alone, and the figures that changed most.
pub fn tell(study: &Study, again: &[Again], json: bool) -> Result<(), Fail> {
    let all = study.chosen(&Selection::default()).map_err(|e| fail(e, &study.root))?.len();
    if json { print_json(&as_json(again, all)) } else { print(&as_text(again, all)) }
}

/// As [`tell`] says it to machines, for commands that say more in the same document.
pub fn as_json(again: &[Again], all: usize) -> serde_json::Value {
    let numbers: Vec<i64> = again.iter().map(|a| a.swing).collect();
    serde_json::json!({
        "schema": "underfoot.again/1",
        "measured_again": numbers,
        "untouched": all.saturating_sub(again.len()),
        "swings": again,
    })
}

fn as_text(again: &[Again], all: usize) -> String {
    let untouched = all.saturating_sub(again.len());
    if again.is_empty() {
        return format!("no swing is touched by this: {} stand as they were\n", count(untouched, "swing"));
    }
    let numbers: Vec<i64> = again.iter().map(|a| a.swing).collect();
    let mut out = format!(
        "{} measured again: {}\n{} untouched\n",
        count(again.len(), "swing"),
        ranges(&numbers),
        count(untouched, "swing")
    );
    let failed: Vec<&Again> = again.iter().filter(|a| a.failed.is_some()).collect();
    for one in failed.iter().take(SHOWN) {
        let why = one.failed.as_deref().unwrap_or_default();
        let says = match one.unread {
            true => "cannot be read again, and keeps the figures it had",
            false => "cannot be measured, and has no figures",
        };
        out.push_str(&format!("swing {} {says}: {why}\n", one.swing));
    }
    if failed.len() > SHOWN {
        out.push_str(&format!("and {} more cannot be measured\n", failed.len() - SHOWN));
    }
    let most = most_changed(again);
    let same: usize = again.iter().map(|a| a.same).sum();
    if again.iter().all(|a| a.changed.is_empty()) {
        out.push_str("every figure came out the same\n");
        return out;
    }
    let changed = || again.iter().flat_map(|a| &a.changed);
    let moved = changed().filter(|c| c.moved()).count();
    let only = match changed().count() - moved {
        0 => String::new(),
        n => format!(", {n} only in their ± or last digits"),
    };
    out.push_str(&format!("{} changed{only}; {same} the same\n", count(moved, "figure")));
    if most.is_empty() {
        return out;
    }
    out.push_str(&table(&most, again.len()));
    if most.len() > SHOWN {
        out.push_str(&format!("  and {} more metrics; --json has all\n", most.len() - SHOWN));
    }
    out
}

/// A metric that changed, as it did in the swing where it changed most.
struct Most<'a> {
    swing: i64,
    changed: &'a Changed,
    /// How much it changed there.
    by: f64,
    /// In how many swings it changed.
    swings: usize,
}

/// Every metric that changed, by how much it did in the swing where it changed most; equal ones in the catalogue's order.
fn most_changed(again: &[Again]) -> Vec<Most<'_>> {
    let order: BTreeMap<&str, usize> =
        catalogue().iter().enumerate().map(|(k, m)| (m.id.as_str(), k)).collect();
    let mut by_metric: BTreeMap<usize, Most<'_>> = BTreeMap::new();
    for one in again {
        let sizes = sizes(one);
        for changed in one.changed.iter().filter(|c| c.moved()) {
            let by = size(changed.before, changed.after, sizes.get(changed.unit).copied());
            let k = order.get(changed.metric).copied().unwrap_or(usize::MAX);
            let most = by_metric.entry(k).or_insert(Most { swing: one.swing, changed, by, swings: 0 });
            most.swings += 1;
            if by > most.by {
                (most.swing, most.changed, most.by) = (one.swing, changed, by);
            }
        }
    }
    let mut all: Vec<Most<'_>> = by_metric.into_values().collect();
    all.sort_by(|a, b| b.by.total_cmp(&a.by));
    all
}

/// The largest figure of each unit among those that changed in a swing: what its others are measured by, so that a figure of
/// nearly nothing that turned its sign does not come first.
fn sizes(one: &Again) -> BTreeMap<&'static str, f64> {
    let mut sizes = BTreeMap::new();
    for c in &one.changed {
        let size = c.before.unwrap_or(0.0).abs().max(c.after.unwrap_or(0.0).abs());
        let most = sizes.entry(c.unit).or_insert(size);
        *most = size.max(*most);
    }
    sizes
}

/// How much a figure changed, relative to the largest of its unit; one that was absent, or is, changed by all of itself, and
/// one of which only the uncertainty changed did not.
fn size(before: Option<f64>, after: Option<f64>, largest: Option<f64>) -> f64 {
    let change = (after.unwrap_or(0.0) - before.unwrap_or(0.0)).abs();
    largest.filter(|l| *l > 0.0).map_or(0.0, |l| change / l)
}

fn table(most: &[Most<'_>], of: usize) -> String {
    let many = of > 1;
    let mut columns = vec![Align::Left, Align::Right, Align::Right, Align::Left];
    let mut head = vec!["changed most", "before", "after", "unit"];
    if many {
        columns.extend([Align::Right, Align::Right]);
        head.extend(["in swing", "swings"]);
    }
    let mut table = Table::new(&columns);
    table.row(head).rule();
    for one in most.iter().take(SHOWN) {
        let (before, after, unit) = pair(one.changed);
        let mut cells = vec![one.changed.label.to_string(), before, after, unit.to_string()];
        if many {
            cells.extend([one.swing.to_string(), format!("{} of {of}", one.swings)]);
        }
        table.row(cells);
    }
    table.text()
}

/// Before and after with their ±, in a person's unit.
fn pair(changed: &Changed) -> (String, String, &'static str) {
    let unit = catalogue().iter().find(|m| m.id == changed.metric).map_or(Unit::One, |m| m.unit);
    let shown = |value: Option<f64>, u: Option<f64>| {
        let shown = view::units::shown(unit, &bare(value.unwrap_or(f64::NAN), u.unwrap_or(f64::NAN)));
        let (value, half) = with_plus_minus(shown.value, shown.plus_minus, shown.decimals);
        (if value == half { value } else { format!("{value} ± {half}") }, shown.unit)
    };
    let (before, unit) = shown(changed.before, changed.u_before);
    (before, shown(changed.after, changed.u_after).0, unit)
}

/// A value by itself.
fn bare(value: f64, u: f64) -> Figure {
    Figure {
        value,
        u,
        by_weight: None,
        at_s: None,
        sample: None,
        dominant: None,
        estimated: false,
        touched_by: Vec::new(),
    }
}

/// Numbers in order, neighbours as a range: "1–4, 7, 9–10".
pub fn ranges(numbers: &[i64]) -> String {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    let mut runs: Vec<(i64, i64)> = Vec::new();
    for n in sorted {
        match runs.last_mut() {
            Some((_, to)) if *to + 1 == n => *to = n,
            _ => runs.push((n, n)),
        }
    }
    let words: Vec<String> =
        runs.iter().map(|(a, b)| if a == b { a.to_string() } else { format!("{a}–{b}") }).collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changed(metric: &'static str, before: Option<f64>, after: Option<f64>) -> Changed {
        let u = before.map(|_| 0.1);
        Changed { metric, label: metric, unit: "1", before, u_before: u, after, u_after: u }
    }

    fn again(swing: i64, changed: Vec<Changed>) -> Again {
        Again { swing, changed, same: 3, failed: None, unread: false }
    }

    #[test]
    fn the_largest_change_comes_first_and_says_in_which_swing() {
        let (a, b) = (catalogue()[0].id.as_str(), catalogue()[1].id.as_str());
        let told = [
            again(4, vec![changed(a, Some(1.0), Some(1.1)), changed(b, Some(10.0), Some(11.0))]),
            again(5, vec![changed(a, Some(1.0), Some(1.0)), changed(b, Some(1.0), Some(-1.0))]),
        ];
        let most = most_changed(&told);
        let seen: Vec<(&str, i64, usize)> =
            most.iter().map(|m| (m.changed.metric, m.swing, m.swings)).collect();
        assert_eq!(seen, [(b, 5, 2), (a, 4, 1)], "10 of 10 → 11 is a tenth, 1 → −1 is all of it twice");
        let text = as_text(&told, 12);
        assert!(
            text.starts_with("2 swings measured again: 4–5\n10 swings untouched\n3 figures changed, 1 only in their ± or last digits; 6 the same\n"),
            "{text}"
        );
    }

    #[test]
    fn what_failed_says_whether_it_has_figures() {
        let failed = |unread| Again { failed: Some("why".into()), unread, ..again(4, Vec::new()) };
        assert!(
            as_text(&[failed(false)], 1).contains("swing 4 cannot be measured, and has no figures: why\n")
        );
        assert!(
            as_text(&[failed(true)], 1)
                .contains("swing 4 cannot be read again, and keeps the figures it had: why\n")
        );
    }

    #[test]
    fn nothing_touched_is_said_too() {
        assert_eq!(as_text(&[], 3), "no swing is touched by this: 3 swings stand as they were\n");
    }

    #[test]
    fn numbers_are_told_in_ranges() {
        assert_eq!(ranges(&[7, 1, 2, 3, 10, 9]), "1–3, 7, 9–10");
        assert_eq!(ranges(&[]), "");
    }

    #[test]
    fn before_and_after_have_their_plus_minus() {
        let share = catalogue().iter().find(|m| m.unit == Unit::One).map(|m| m.id.as_str());
        let (before, after, _) = pair(&changed(share.unwrap_or(""), Some(1.0), Some(2.0)));
        assert_eq!((before.as_str(), after.as_str()), ("+1.00 ± 0.20", "+2.00 ± 0.20"));
        let (before, after, _) = pair(&Changed { u_after: Some(0.1), ..changed("", None, Some(1.0)) });
        assert_eq!((before.as_str(), after.as_str()), ("—", "+1.00 ± 0.20"));
    }
}
