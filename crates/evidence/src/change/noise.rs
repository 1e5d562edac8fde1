//! The least difference of two means that would have stood out of noise: what units, days and instruments do to it.
use super::{Design, Value, distinct};
use signal::{stats, student};

/// The least difference of these means that is more than noise, and what it is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Detectable {
    /// t·√(sum of the squares below).
    pub size: f64,
    /// Degrees of freedom of t, after Satterthwaite.
    pub degrees: f64,
    /// Standard error of the difference from the scatter of units.
    pub of_units: f64,
    /// From how occasions differ; 0 where both sides are of the same occasions in the same shares; NaN where not known, and then
    /// not in it. For questions about subjects their scatter holds it already: 0.
    pub of_occasions: f64,
    /// From errors of instruments that the sides do not share; 0 where they do; NaN where not known, and then not in it.
    pub of_instruments: f64,
}

/// How far one subject's occasions differ beyond the scatter within them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Occasions {
    /// Variance between occasions; not under 0.
    pub variance: f64,
    /// Its own variance, halved: the mean squares' squares over their degrees.
    pub unsure: f64,
    /// Degrees of freedom between occasions.
    pub degrees: f64,
}

/// Variance between occasions, pooled over cells: a cell has the occasions of one subject under the same conditions, in order,
/// an occasion its values. Where three cells or more have several occasions, the step that all take on average from one occasion
/// to the next is taken out: what changes alike for everybody is no scatter.
///
/// Unit: that of the values, squared. Undefined: `None` with fewer than two degrees between occasions, or none within.
/// Source: moments of the nested analysis of variance with unequal numbers (textbook), the common step after Hopkins2000 (typical
/// error: the scatter of changes about their mean), its own variance as the sum of independent mean squares' (Satterthwaite1946).
pub fn occasions(cells: &[Vec<Vec<f64>>]) -> Option<Occasions> {
    let (mut between, mut within, mut repeats) = (0.0, 0.0, 0.0);
    let (mut between_degrees, mut within_degrees) = (0.0, 0.0);
    // Sums of the regression on the number of the occasion: products, squares, squares weighted twice, cells in it.
    let (mut xy, mut xx, mut wxx, mut several) = (0.0, 0.0, 0.0, 0);
    for cell in cells {
        let groups: Vec<Vec<f64>> = cell
            .iter()
            .map(|g| g.iter().copied().filter(|v| v.is_finite()).collect::<Vec<f64>>())
            .filter(|g| !g.is_empty())
            .collect();
        let all: f64 = groups.iter().map(|g| g.len() as f64).sum();
        if groups.is_empty() {
            continue;
        }
        let mean = groups.iter().flatten().sum::<f64>() / all;
        let place = |k: usize| k as f64;
        let middle = groups.iter().enumerate().map(|(k, g)| place(k) * g.len() as f64).sum::<f64>() / all;
        for (k, group) in groups.iter().enumerate() {
            let (n, own, x) = (group.len() as f64, stats::mean(group), place(k) - middle);
            between += n * (own - mean) * (own - mean);
            within += group.iter().map(|v| (v - own) * (v - own)).sum::<f64>();
            repeats -= n * n / all;
            xy += n * x * (own - mean);
            xx += n * x * x;
            wxx += n * n * x * x;
        }
        between_degrees += groups.len() as f64 - 1.0;
        within_degrees += all - groups.len() as f64;
        repeats += all;
        several += usize::from(groups.len() > 1);
    }
    if several >= 3 {
        between = (between - xy * xy / xx).max(0.0);
        between_degrees -= 1.0;
        repeats -= wxx / xx;
    }
    if between_degrees < 2.0 || within_degrees < 1.0 {
        return None;
    }
    let (between, within) = (between / between_degrees, within / within_degrees);
    let repeats = repeats / between_degrees;
    Some(Occasions {
        variance: ((between - within) / repeats).max(0.0),
        unsure: (between * between / between_degrees + within * within / within_degrees)
            / (repeats * repeats),
        degrees: between_degrees,
    })
}

/// Sum of squares between the occasions of a cell: what it puts into [`occasions`], before the common step is taken out.
///
/// Unit: that of the values, squared. Undefined: 0 with fewer than two occasions. Source: analysis of variance (textbook).
pub fn between_occasions(cell: &[Vec<f64>]) -> f64 {
    let groups: Vec<Vec<f64>> =
        cell.iter().map(|g| g.iter().copied().filter(|v| v.is_finite()).collect()).collect();
    let all: Vec<f64> = groups.iter().flatten().copied().collect();
    let mean = stats::mean(&all);
    groups.iter().filter(|g| !g.is_empty()).map(|g| g.len() as f64 * (stats::mean(g) - mean).powi(2)).sum()
}

/// A part of the variance of the difference: how much, and half its own variance.
struct Part {
    variance: f64,
    unsure: f64,
}

pub(super) fn detectable(
    first: &[Value],
    second: &[Value],
    x: &[f64],
    y: &[f64],
    design: Design,
    occasions: Option<&Occasions>,
    level: f64,
) -> Detectable {
    // Days matter where the sides are of other days, and are in the units already where units are subjects.
    let shift: f64 = if design.of_subjects() {
        0.0
    } else {
        weights(first, second, |v| v.occasion, design).iter().map(|(_, w)| w * w).sum()
    };
    let matter = shift > 1e-12;
    let days = occasions.filter(|_| matter);
    let units = match design {
        Design::OneSubject | Design::TwoSubjects => {
            let within = if days.is_some() { within_occasions(first, second) } else { None };
            let (variance, degrees) = within.unwrap_or_else(|| pooled(x, y));
            let share = 1.0 / x.len() as f64 + 1.0 / y.len() as f64;
            vec![Part::of(variance * share, degrees)]
        }
        Design::OneSubjectInOrder | Design::PairedSubjects => {
            let changes: Vec<f64> = x.iter().zip(y).map(|(a, b)| b - a).collect();
            vec![Part::of(stats::variance(&changes) / changes.len() as f64, changes.len() as f64 - 1.0)]
        }
        // Groups need not scatter alike: Welch's form.
        Design::TwoGroups => {
            let of = |g: &[f64]| Part::of(stats::variance(g) / g.len() as f64, g.len() as f64 - 1.0);
            vec![of(x), of(y)]
        }
    };
    let (of_occasions, day_part) = match days {
        Some(known) => {
            let part = Part { variance: shift * known.variance, unsure: shift * shift * known.unsure };
            (part.variance.sqrt(), Some(part))
        }
        None if matter => (f64::NAN, None),
        None => (0.0, None),
    };
    let of_instruments = instruments(first, second, design);
    let of_units = units.iter().map(|p| p.variance).sum::<f64>();
    let known = if of_instruments.is_nan() { 0.0 } else { of_instruments * of_instruments };
    let all = || units.iter().chain(&day_part);
    let variance = all().map(|p| p.variance).sum::<f64>() + known;
    let unsure = all().map(|p| p.unsure).sum::<f64>();
    // Nothing that varies is known to the last digit; fewer than one degree says no less than one does.
    let degrees = if unsure > 0.0 { (variance * variance / unsure).max(1.0) } else { f64::INFINITY };
    let size = student::quantile(0.5 * (1.0 + level), degrees) * variance.sqrt();
    Detectable { size, degrees, of_units: of_units.sqrt(), of_occasions, of_instruments }
}

impl Part {
    fn of(variance: f64, degrees: f64) -> Self {
        Self { variance, unsure: variance * variance / degrees }
    }
}

/// Variance of values about the mean of their side, with its degrees of freedom.
fn pooled(x: &[f64], y: &[f64]) -> (f64, f64) {
    let squares = |of: &[f64]| {
        let mean = stats::mean(of);
        of.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>()
    };
    let degrees = (x.len() + y.len()) as f64 - 2.0;
    ((squares(x) + squares(y)) / degrees, degrees)
}

/// Variance of values about the mean of their occasion and side; `None` where no occasion has two.
fn within_occasions(first: &[Value], second: &[Value]) -> Option<(f64, f64)> {
    let (mut squares, mut degrees) = (0.0, 0.0);
    for side in [first, second] {
        for occasion in distinct(side.iter().map(|v| v.occasion)) {
            let own: Vec<f64> = side.iter().filter(|v| v.occasion == occasion).map(|v| v.value).collect();
            let mean = stats::mean(&own);
            squares += own.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
            degrees += own.len() as f64 - 1.0;
        }
    }
    (degrees > 0.0).then(|| (squares / degrees, degrees))
}

/// The share that each of something has in the second mean less its share in the first: what cancels is 0. A subject counts the
/// same however many values there are of him or her.
fn weights(
    first: &[Value],
    second: &[Value],
    of: impl Fn(&Value) -> usize,
    design: Design,
) -> Vec<(usize, f64)> {
    let shares = |side: &[Value], which: usize| -> f64 {
        let count =
            |values: &[&Value]| values.iter().filter(|v| of(v) == which).count() as f64 / values.len() as f64;
        if !design.of_subjects() {
            return count(&side.iter().collect::<Vec<_>>());
        }
        let who = distinct(side.iter().map(|v| v.subject));
        let own = |subject: usize| side.iter().filter(|v| v.subject == subject).collect::<Vec<_>>();
        who.iter().map(|s| count(&own(*s))).sum::<f64>() / who.len() as f64
    };
    distinct(first.iter().chain(second).map(&of))
        .into_iter()
        .map(|which| (which, shares(second, which) - shares(first, which)))
        .collect()
}

/// Standard error from instruments that the sides do not share; NaN where one of them has no known uncertainty.
fn instruments(first: &[Value], second: &[Value], design: Design) -> f64 {
    let square = |which: usize| {
        let known: Vec<f64> = first
            .iter()
            .chain(second)
            .filter(|v| v.instrument == which)
            .map(|v| v.u)
            .filter(|u| u.is_finite())
            .collect();
        let root = stats::root_mean_square(&known);
        root * root
    };
    weights(first, second, |v| v.instrument, design)
        .into_iter()
        .filter(|(_, w)| w.abs() > 1e-9)
        .fold(0.0, |sum, (which, w)| sum + w * w * square(which))
        .sqrt()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::repeatability::nested;

    fn values(of: &[(usize, usize, f64, f64)]) -> Vec<Value> {
        of.iter()
            .map(|(occasion, instrument, value, u)| Value {
                subject: 0,
                occasion: *occasion,
                instrument: *instrument,
                value: *value,
                u: *u,
            })
            .collect()
    }

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12 * (1.0 + b.abs()), "{a}, not {b}");
    }

    fn of(first: &[Value], second: &[Value], design: Design, occasions: Option<&Occasions>) -> Detectable {
        let plain = |side: &[Value]| side.iter().map(|v| v.value).collect::<Vec<f64>>();
        detectable(first, second, &plain(first), &plain(second), design, occasions, 0.95)
    }

    /// With one cell it is the one-way analysis of variance; a second cell's mean does not count.
    #[test]
    fn occasions_of_one_subject() {
        let cell = vec![vec![1.0, 2.0, 4.0], vec![7.0, 6.0], vec![3.0, 3.5, 9.0, f64::NAN]];
        let (ours, table) = (occasions(std::slice::from_ref(&cell)).unwrap(), nested(&cell).unwrap());
        near(ours.variance, (table.between - table.within) / table.repeats);
        // Another subject's level does not count, nor one who came once.
        let far: Vec<Vec<f64>> = cell.iter().map(|g| g.iter().map(|v| v + 500.0).collect()).collect();
        let both = occasions(&[cell.clone(), far, vec![vec![9.0]], vec![]]).unwrap();
        near(both.variance, ours.variance);
        assert_eq!((ours.degrees, both.degrees), (2.0, 4.0));
        near(both.unsure, 0.5 * ours.unsure);
        assert!(occasions(&[cell[..2].to_vec()]).is_none(), "one degree");
        assert!(occasions(&[vec![vec![1.0], vec![2.0], vec![3.0]]]).is_none(), "no repeats");
    }

    /// Hopkins 2000's example (five subjects, two trials; trial means twice each, so that values have no scatter of their own):
    /// typical error 2.8896, the scatter of the changes over √2, whatever all gained alike.
    #[test]
    fn what_all_gain_alike_is_no_scatter() {
        let first = [62.0, 78.0, 81.0, 55.0, 66.0];
        let second = [67.0, 76.0, 87.0, 55.0, 63.0];
        for gain in [0.0, 40.0] {
            let cells: Vec<Vec<Vec<f64>>> =
                first.iter().zip(second).map(|(a, b)| vec![vec![*a; 2], vec![b + gain; 2]]).collect();
            let found = occasions(&cells).unwrap();
            assert!((found.variance.sqrt() - 2.889_636_7).abs() < 1e-7, "{found:?}");
            assert_eq!(found.degrees, 4.0);
        }
    }

    /// One subject, same day: Student's half width, pooled.
    #[test]
    fn values_of_one_day() {
        let a = values(&[(1, 1, 10., 0.5), (1, 1, 12., 0.5), (1, 1, 11., 0.5)]);
        let b = values(&[(1, 1, 13., 0.5), (1, 1, 17., 0.5), (1, 1, 15., 0.5)]);
        let found = of(&a, &b, Design::OneSubject, None);
        // Variances 1 and 4, pooled 2.5 with 4 degrees, t = 2.776445 (tables).
        assert!((found.size - 2.776_445 * (2.5_f64 * 2.0 / 3.0).sqrt()).abs() < 1e-6, "{found:?}");
        near(found.degrees, 4.0);
        assert_eq!((found.of_occasions, found.of_instruments), (0.0, 0.0), "day and rig are the same");
    }

    /// By hand: means 1 and 4 of two and one about 2 are 2·1 + 4.
    #[test]
    fn squares_between() {
        near(between_occasions(&[vec![0.0, 2.0], vec![], vec![4.0, f64::NAN]]), 6.0);
        assert_eq!(between_occasions(&[vec![1.0, 2.0]]), 0.0);
    }

    /// Two days: what is known of days is added, by the shares that days have; two rigs: their uncertainties.
    #[test]
    fn days_and_instruments() {
        let a = values(&[(1, 1, 10., 0.3), (1, 1, 12., 0.3), (2, 1, 11., 0.3), (2, 1, 13., 0.3)]);
        let b = values(&[(3, 2, 13., 0.4), (3, 2, 17., 0.4)]);
        let unknown = of(&a, &b, Design::OneSubject, None);
        assert!(unknown.of_occasions.is_nan());
        near(unknown.of_instruments, 0.5);
        let known = Occasions { variance: 4.0, unsure: 2.0, degrees: 8.0 };
        let found = of(&a, &b, Design::OneSubject, Some(&known));
        // Days 1 and 2 have a half each, day 3 all: 1/4 + 1/4 + 1.
        near(found.of_occasions, (4.0_f64 * 1.5).sqrt());
        // Within days: 2 + 2 + 8 over 3 degrees.
        near(found.of_units, (4.0_f64 * (0.25 + 0.5)).sqrt());
        let variance = 3.0 + 6.0 + 0.25;
        near(found.degrees, variance * variance / (9.0 / 3.0 + 1.5 * 1.5 * 2.0));
        let t = student::quantile(0.975, found.degrees);
        near(found.size, t * f64::sqrt(variance));
        let not_known = values(&[(3, 2, 13., f64::NAN), (3, 2, 17., f64::NAN)]);
        let found = of(&a, &not_known, Design::OneSubject, None);
        assert!(found.of_instruments.is_nan() && found.size.is_finite());
    }
}
