//! Who is compared with whom: the strata of a reference.
use crate::claim::LeftOut;
use crate::claim::players::verb;
use crate::claim::table::{SwingOf, Table};
use crate::quantity::plain;
use signal::stats;
use std::collections::BTreeMap;

/// What swings are set apart by.
#[derive(Clone, Debug, PartialEq)]
pub enum By {
    /// The player's sex, as the practice states it.
    Sex,
    /// The club.
    Club,
    /// The player's handicap, in bands that begin at these figures.
    Handicap(Vec<f64>),
    /// The player's mean of an outcome with the club (clubhead speed, for instance), in bands that begin at these figures.
    Speed {
        /// Id of the column ("outcome.clubhead-speed").
        measure: String,
        /// Where bands begin, in its unit.
        cuts: Vec<f64>,
    },
    /// Both feet on one plate, or a plate for each.
    Plates,
}

/// Handicap bands unless told otherwise. Source: common practice, no source.
pub const HANDICAPS: [f64; 3] = [5.0, 10.0, 20.0];

impl By {
    /// Its name, as an option has it.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Sex => "sex",
            Self::Club => "club",
            Self::Handicap(_) => "handicap",
            Self::Speed { .. } => "speed",
            Self::Plates => "plates",
        }
    }
}

/// The stratum of a swing: a place in the order of strata, and words, for everything that sets apart.
pub(super) type Key = Vec<(usize, String)>;

/// "driver, handicap 5 to under 10"; "all" where nothing sets apart.
pub(super) fn words(key: &Key) -> String {
    if key.is_empty() {
        return "all".into();
    }
    key.iter().map(|(_, word)| word.as_str()).collect::<Vec<_>>().join(", ")
}

/// The stratum of each swing; `None` where something that sets apart is not known of it. And how many that are, with why.
pub(super) fn strata(table: &Table, by: &[By]) -> (Vec<Option<Key>>, Vec<LeftOut>) {
    let mut missing: BTreeMap<&'static str, usize> = BTreeMap::new();
    let speeds: Vec<BTreeMap<(&str, &str), f64>> = by.iter().map(|b| means(table, b)).collect();
    let of = |swing: &SwingOf| -> Result<Key, &'static str> {
        by.iter().zip(&speeds).map(|(b, speeds)| part(b, swing, speeds, table)).collect()
    };
    let keys = table
        .swings
        .iter()
        .map(|swing| of(swing).map_err(|why| *missing.entry(why).or_default() += 1).ok())
        .collect();
    let left_out = missing
        .into_iter()
        .map(|(why, n)| LeftOut {
            what: verb(n, "swing", "has no stratum", "have no stratum"),
            why: why.into(),
        })
        .collect();
    (keys, left_out)
}

/// The mean of an outcome, by player and club.
fn means<'a>(table: &'a Table, by: &By) -> BTreeMap<(&'a str, &'a str), f64> {
    let mut all: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
    let By::Speed { measure, .. } = by else { return BTreeMap::new() };
    if let Some(column) = table.columns.iter().find(|c| c.measure.id == *measure) {
        for (swing, value) in table.swings.iter().zip(&column.values).filter(|(_, v)| v.is_finite()) {
            all.entry((&swing.player, &swing.club)).or_default().push(*value);
        }
    }
    all.into_iter().map(|(who, values)| (who, stats::mean(&values))).collect()
}

fn part(
    by: &By,
    swing: &SwingOf,
    speeds: &BTreeMap<(&str, &str), f64>,
    table: &Table,
) -> Result<(usize, String), &'static str> {
    match by {
        By::Sex => {
            let stated = swing.sex.as_deref().map(str::trim).filter(|s| !s.is_empty());
            stated.map(|s| (0, s.to_lowercase())).ok_or("the player's sex is not stated")
        }
        By::Club if swing.club.is_empty() => Err("no club is stated"),
        By::Club => Ok((0, swing.club.clone())),
        By::Handicap(cuts) => {
            let value =
                swing.handicap.filter(|h| h.is_finite()).ok_or("the player's handicap is not stated")?;
            Ok(band("handicap", value, cuts, ""))
        }
        By::Speed { measure, cuts } => {
            let value = speeds.get(&(swing.player.as_str(), swing.club.as_str()));
            let column = table.columns.iter().find(|c| c.measure.id == *measure);
            let (value, column) = value.zip(column).ok_or("no speed of the player with the club is known")?;
            Ok(band(&column.measure.label, *value, cuts, &column.measure.unit))
        }
        By::Plates => match swing.feet {
            Some(2) => Ok((1, "a plate for each foot".into())),
            Some(_) => Ok((0, "both feet on one plate".into())),
            None => Err("the recording supports nothing"),
        },
    }
}

/// The band of a figure: each begins at its cut, and ends under the next.
fn band(name: &str, value: f64, cuts: &[f64], unit: &str) -> (usize, String) {
    let place = cuts.iter().take_while(|c| value >= **c).count();
    let digits = usize::from(cuts.iter().any(|c| c.fract() != 0.0));
    let cut = |k: usize| plain(cuts.get(k).copied().unwrap_or(f64::NAN), digits);
    let space = if unit.is_empty() { "" } else { " " };
    let words = match place {
        _ if cuts.is_empty() => format!("{name} known"),
        0 => format!("{name} under {}{space}{unit}", cut(0)),
        n if n == cuts.len() => format!("{name} {}{space}{unit} and more", cut(n - 1)),
        n => format!("{name} {} to under {}{space}{unit}", cut(n - 1), cut(n)),
    };
    (place, words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::claim::players::tests::{column, table};

    #[test]
    fn bands_begin_at_their_cuts() {
        let of = |v: f64| band("handicap", v, &HANDICAPS, "").1;
        assert_eq!(of(-2.0), "handicap under 5");
        assert_eq!(of(5.0), "handicap 5 to under 10");
        assert_eq!(of(20.0), "handicap 20 and more");
        assert_eq!(band("speed", 40.1, &[40.5], "m/s").1, "speed under 40.5 m/s");
    }

    #[test]
    fn what_is_not_known_has_no_stratum() {
        let mut of = table(&[("a", 1, 1.0), ("a", 1, 2.0), ("b", 2, 3.0), ("c", 3, 4.0)]);
        of.columns.push(column("outcome.clubhead-speed", vec![40.0, 44.0, 50.0, f64::NAN]));
        for (swing, sex) in of.swings.iter_mut().zip([Some("Female"), Some("Female"), None, Some("male")]) {
            swing.sex = sex.map(str::to_string);
        }
        let speed = By::Speed { measure: "outcome.clubhead-speed".into(), cuts: vec![43.0] };
        let (keys, left) = strata(&of, &[By::Sex, speed.clone()]);
        let told: Vec<Option<String>> = keys.iter().map(|k| k.as_ref().map(words)).collect();
        let slow = Some("female, clubhead speed under 43 m/s".to_string());
        assert_eq!(told, [slow.clone(), slow, None, None]);
        assert_eq!(left.len(), 2, "{left:?}");
        let (keys, _) = strata(&of, &[By::Plates, By::Club, speed]);
        assert_eq!(
            keys[2].as_ref().map(words).as_deref(),
            Some("a plate for each foot, driver, clubhead speed 43 m/s and more")
        );
        assert_eq!(words(&Vec::new()), "all");
    }
}
