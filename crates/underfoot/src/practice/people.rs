//! Who comes to the demo's practice, and what is true of them. Everything here is invented, and is all the truth there is:
//! `TRUTH.md` is written from it, and the tests of what is found hold the findings against it.
use mechanics::Hand;
use simulate::{PlayerSpec, Style, ToePeaks};

/// Somebody of the group: a player of the style "early" in sizes of their own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Person {
    /// Alias.
    pub alias: &'static str,
    /// Hand.
    pub hand: Hand,
    /// Sex, as the table of players has it.
    pub sex: &'static str,
    /// Handicap index; better than scratch is negative. Nothing else depends on it.
    pub handicap: f64,
    /// Year of birth. Nothing else depends on it.
    pub born: i64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Height, m.
    pub height_m: f64,
    /// Size of the greatest push up, body weights.
    pub push_up: f64,
    /// Size of the greatest push toward the target, body weights.
    pub drive: f64,
    /// Takeaway to top, s.
    pub backswing_s: f64,
    /// Top to impact, s.
    pub downswing_s: f64,
    /// Pattern of the net toe–heel force.
    pub toe: ToePeaks,
    /// How much faster the clubhead is than the rule of [`speed`] has it, m/s.
    pub faster_m_s: f64,
    /// What the training block adds to the drive, body weights; `None` for those who did not train.
    pub trained: Option<f64>,
}

/// The rule between players: clubhead speed by the greatest push up of the usual swing.
pub mod speed {
    /// Speed, m/s, where the net push up peaks at [`AT_BW`].
    pub const MEAN_M_S: f64 = 44.0;
    /// Peak of the net push up, body weights.
    pub const AT_BW: f64 = 1.65;
    /// Faster by so much, m/s, for a body weight more.
    pub const SLOPE_M_S: f64 = 15.0;
    /// From swing to swing, standard deviation, m/s, whatever the forces of that swing.
    pub const SCATTER_M_S: f64 = 0.4;
}

/// Launch angle has to do with nothing: mean of all, standard deviations between players and from swing to swing, degrees.
pub const LAUNCH_DEG: [f64; 3] = [12.5, 1.5, 1.2];

/// What the rig of [`super::SPARE`] reads for a unit of force or moment.
pub const SPARE_READS: f64 = 1.02;

/// Alder's change between 2026-05-12 and 2026-09-15: added to the greatest push up and toward the target, body weights.
pub const ALDER_CHANGE: [f64; 2] = [0.15, 0.04];

const fn person(
    alias: &'static str,
    (hand, sex): (Hand, &'static str),
    handicap: f64,
    born: i64,
    [mass_kg, height_m]: [f64; 2],
    [push_up, drive]: [f64; 2],
    [backswing_s, downswing_s]: [f64; 2],
    toe: ToePeaks,
    faster_m_s: f64,
    trained: Option<f64>,
) -> Person {
    Person {
        alias,
        hand,
        sex,
        handicap,
        born,
        mass_kg,
        height_m,
        push_up,
        drive,
        backswing_s,
        downswing_s,
        toe,
        faster_m_s,
        trained,
    }
}

const RF: (Hand, &str) = (Hand::Right, "female");
const RM: (Hand, &str) = (Hand::Right, "male");
const LF: (Hand, &str) = (Hand::Left, "female");
const LM: (Hand, &str) = (Hand::Left, "male");
const ONE: ToePeaks = ToePeaks::One;
const TWO: ToePeaks = ToePeaks::Two;

/// The group: alias, hand and sex, handicap, born, [mass, height], [push up, drive], [backswing, downswing], pattern, faster,
/// trained. Sizes follow normal distributions, and were dealt out so that no two of them go together (|r| under 0.3).
#[rustfmt::skip]
pub const GROUP: [Person; 24] = [
    person("ash", RM, 17.9, 1986, [67.0, 1.71], [0.55, 0.166], [0.88, 0.280], ONE, -0.9, None),
    person("aspen", LF, 9.0, 1977, [57.0, 1.64], [0.75, 0.155], [0.92, 0.269], TWO, -0.2, None),
    person("beech", RF, 9.9, 1985, [66.0, 1.69], [0.51, 0.201], [0.83, 0.272], TWO, -0.4, None),
    person("boxwood", RM, 15.0, 1996, [75.0, 1.76], [0.65, 0.180], [0.78, 0.289], ONE, 0.3, Some(0.028)),
    person("catalpa", RM, 11.6, 2005, [82.0, 1.81], [0.69, 0.197], [0.85, 0.271], TWO, -0.1, None),
    person("cherry", RM, 4.9, 2003, [86.0, 1.83], [0.68, 0.187], [0.84, 0.247], TWO, 1.4, Some(0.030)),
    person("chestnut", RM, 15.9, 1985, [79.0, 1.79], [0.46, 0.172], [0.87, 0.259], TWO, -0.5, None),
    person("cypress", RM, -0.3, 1992, [87.0, 1.84], [0.64, 0.206], [0.80, 0.276], ONE, -0.7, None),
    person("ebony", LF, 10.7, 1988, [61.0, 1.66], [0.73, 0.213], [0.88, 0.268], ONE, 1.8, None),
    person("ginkgo", RF, 13.3, 1983, [64.0, 1.68], [0.86, 0.208], [0.86, 0.274], TWO, -1.1, None),
    person("hawthorn", LM, 1.9, 1974, [76.0, 1.77], [0.57, 0.245], [0.87, 0.266], TWO, 0.0, None),
    person("hazel", RM, 28.3, 1997, [77.0, 1.77], [0.62, 0.203], [0.76, 0.252], ONE, 1.1, None),
    person("hemlock", RF, 6.1, 1964, [64.0, 1.68], [0.63, 0.189], [0.82, 0.264], ONE, -1.8, None),
    person("holly", LM, 12.4, 1986, [70.0, 1.74], [0.81, 0.177], [0.84, 0.267], ONE, 0.9, Some(0.022)),
    person("hornbeam", RM, 22.1, 1969, [84.0, 1.82], [0.79, 0.194], [0.90, 0.256], TWO, 0.1, Some(0.038)),
    person("juniper", RF, 16.9, 1962, [75.0, 1.74], [0.59, 0.234], [0.89, 0.258], TWO, 0.4, Some(0.025)),
    person("larch", RM, 14.1, 1991, [78.0, 1.78], [0.77, 0.228], [0.96, 0.262], ONE, -0.8, None),
    person("laurel", RF, -2.0, 1965, [78.0, 1.77], [0.61, 0.216], [0.90, 0.283], ONE, 0.0, Some(0.034)),
    person("linden", LM, 24.3, 1964, [72.0, 1.75], [0.53, 0.223], [0.91, 0.261], ONE, -1.4, None),
    person("maple", RF, 19.1, 1976, [67.0, 1.70], [0.60, 0.199], [0.86, 0.278], TWO, 0.5, Some(0.041)),
    person("oak", LF, 20.4, 1970, [71.0, 1.72], [0.72, 0.220], [0.85, 0.241], ONE, -0.3, Some(0.018)),
    person("olive", RF, 8.1, 1960, [73.0, 1.73], [0.70, 0.184], [0.94, 0.263], ONE, 0.2, Some(0.030)),
    person("pine", RF, 7.1, 1987, [68.0, 1.71], [0.67, 0.211], [0.81, 0.254], TWO, 0.7, Some(0.032)),
    person("poplar", RF, 3.6, 1975, [63.0, 1.67], [0.71, 0.192], [0.82, 0.250], TWO, 0.8, None),
];

impl Person {
    /// The player, before or after the training block.
    pub fn spec(&self, after: bool) -> PlayerSpec {
        let added = self.trained.filter(|_| after).unwrap_or(0.0);
        let mut style =
            Style::early().pushing_up(self.push_up).driving(self.drive + added).with_toe(self.toe);
        // The trail foot keeps some load, so that no plate looks empty.
        for step in style.share.steps.iter_mut().filter(|step| step.size > 0.5) {
            step.size = 0.52;
        }
        let foot_length_m = 0.165 * self.height_m;
        PlayerSpec {
            alias: self.alias.into(),
            hand: self.hand,
            mass_kg: self.mass_kg,
            height_m: self.height_m,
            stance_m: 0.27 * self.height_m,
            foot_length_m,
            foot_width_m: 0.36 * foot_length_m,
            backswing_s: self.backswing_s,
            downswing_s: self.downswing_s,
            quiet_s: 1.2,
            hold_s: 0.5,
            ..PlayerSpec::right(style)
        }
    }
}

/// The three of the long record, as they were before anything changed.
pub fn regulars() -> [PlayerSpec; 3] {
    let mut cast = PlayerSpec::cast().into_iter();
    std::array::from_fn(|_| cast.next().unwrap_or_else(|| PlayerSpec::right(Style::early())))
}

/// Hand, sex, handicap and year of birth of the three, for the table of players.
pub const REGULARS: [(&str, &str, f64, i64); 3] =
    [("right", "male", 4.2, 1988), ("left", "male", 9.6, 1979), ("right", "female", 12.1, 1994)];

/// Alder after the change.
pub fn alder_changed(alder: &PlayerSpec) -> PlayerSpec {
    let usual = |moves: &[simulate::style::Move]| moves.iter().map(|m| m.size).fold(0.0, f64::max);
    let [up, drive] = ALDER_CHANGE;
    let style = alder.style.clone();
    let (up, drive) = (usual(&style.up) + up, usual(&style.target) + drive);
    PlayerSpec { style: style.pushing_up(up).driving(drive), ..alder.clone() }
}
