//! Outcomes that are known by name: general terms of golf, with the kind of quantity each is.
use crate::delimited::word;
use crate::units::Dimension;

/// An outcome that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// As it is kept.
    pub name: &'static str,
    /// For people.
    pub label: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Other words for it, as [`word`] makes them.
    also: &'static [&'static str],
}

/// All that are known. Signs are kept as they are given: instruments differ, and say so in their own manuals.
///
/// Source: common practice, no source.
pub const KNOWN: &[Known] = &[
    known(
        "clubhead-speed",
        "clubhead speed",
        Dimension::Speed,
        &["clubspeed", "headspeed", "swingspeed", "chs"],
    ),
    known("ball-speed", "ball speed", Dimension::Speed, &["ballvelocity"]),
    known("smash-factor", "smash factor", Dimension::One, &["smash"]),
    known("carry", "carry", Dimension::Length, &["carrydistance", "carrylength"]),
    known("total", "total distance", Dimension::Length, &["totaldistance", "totallength"]),
    known(
        "side",
        "side of the target line",
        Dimension::Length,
        &["offline", "dispersion", "lateral", "deviation"],
    ),
    known("carry-side", "side at carry", Dimension::Length, &["sidecarry", "carryoffline"]),
    known("total-side", "side at rest", Dimension::Length, &["sidetotal", "totaloffline"]),
    known(
        "apex",
        "height of flight",
        Dimension::Length,
        &["height", "maxheight", "apexheight", "peakheight"],
    ),
    known("hang-time", "time of flight", Dimension::Time, &["flighttime", "timeofflight"]),
    known("land-angle", "descent angle", Dimension::Angle, &["landingangle", "descentangle"]),
    known("launch-angle", "launch angle", Dimension::Angle, &["verticallaunch", "launchvertical", "vla"]),
    known(
        "launch-direction",
        "launch direction",
        Dimension::Angle,
        &["horizontallaunch", "launchhorizontal", "azimuth", "hla"],
    ),
    known("spin-rate", "spin rate", Dimension::Turning, &["spin", "totalspin", "ballspin"]),
    known("back-spin", "back spin", Dimension::Turning, &[]),
    known("side-spin", "side spin", Dimension::Turning, &[]),
    known("spin-axis", "tilt of the spin axis", Dimension::Angle, &["spinaxistilt"]),
    known("attack-angle", "attack angle", Dimension::Angle, &["angleofattack", "aoa"]),
    known("club-path", "club path", Dimension::Angle, &["path", "swingpath"]),
    known("face-angle", "face angle", Dimension::Angle, &["facetotarget", "clubface"]),
    known("face-to-path", "face to path", Dimension::Angle, &["facepath"]),
    known("dynamic-loft", "dynamic loft", Dimension::Angle, &[]),
    known("spin-loft", "spin loft", Dimension::Angle, &[]),
    known("dynamic-lie", "dynamic lie", Dimension::Angle, &["lie", "lieangle"]),
    known("swing-plane", "swing plane", Dimension::Angle, &["swingplanevertical"]),
    known("swing-direction", "swing direction", Dimension::Angle, &["swingplanehorizontal"]),
    known("low-point", "low point", Dimension::Length, &["lowpointdistance"]),
];

const fn known(
    name: &'static str,
    label: &'static str,
    dimension: Dimension,
    also: &'static [&'static str],
) -> Known {
    Known { name, label, dimension, also }
}

/// The outcome of a column's words, whatever the case, spaces and hyphens.
pub fn called(text: &str) -> Option<&'static Known> {
    let asked = word(text);
    KNOWN.iter().find(|k| word(k.name) == asked || word(k.label) == asked || k.also.contains(&asked.as_str()))
}

/// How a name that is not known is kept: its letters and digits in lower case, hyphens between.
pub fn kept(text: &str) -> String {
    let spaced: String = text.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let words: Vec<String> = spaced.split_whitespace().map(str::to_lowercase).collect();
    words.join("-")
}

/// How an outcome is called before people.
pub fn label(name: &str) -> String {
    KNOWN.iter().find(|k| k.name == name).map_or_else(|| name.replace('-', " "), |k| k.label.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_means_one_outcome() {
        let mut words: Vec<String> = KNOWN
            .iter()
            .flat_map(|k| k.also.iter().map(|w| (*w).to_string()).chain([word(k.name)]))
            .collect();
        words.sort();
        for [a, b] in words.array_windows() {
            assert_ne!(a, b);
        }
        assert!(KNOWN.iter().all(|k| k.also.iter().all(|w| word(w) == *w)), "written as words are compared");
    }

    #[test]
    fn names_are_known_however_they_are_written() {
        let name = |text: &str| called(text).map(|k| k.name);
        assert_eq!(name("Club Speed"), Some("clubhead-speed"));
        assert_eq!(name("BALL_SPEED"), Some("ball-speed"));
        assert_eq!(name("Clubhead-Speed"), Some("clubhead-speed"));
        assert_eq!(name("Ball"), None);
        assert_eq!(kept("Impact Height / toe"), "impact-height-toe");
        assert_eq!((label("carry").as_str(), label("my-own").as_str()), ("carry", "my own"));
    }
}
