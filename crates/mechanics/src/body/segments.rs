//! The centre of mass of the whole body from a published model of its segments.
//!
//! Each segment is a straight line between two places of the body; it holds a share of the mass, centred at a share of
//! the line. The rows are those of Winter 2009, table 4.1, which gives Dempster's figures as refined by later authors
//! ("M"). They were read in an open teaching table of that source, not in the book itself.
use glam::DVec3;

/// A side of the body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BodySide {
    /// The player's left.
    Left,
    /// The player's right.
    Right,
}

/// Places of the body that the model stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// Level with the ear canals, in the middle of the head.
    Head,
    /// Shoulder (glenohumeral) joint.
    Shoulder(BodySide),
    /// Elbow axis.
    Elbow(BodySide),
    /// Wrist: ulnar styloid, or the wrist axis.
    Wrist(BodySide),
    /// Knuckle of the index or middle finger.
    Knuckle(BodySide),
    /// Hip: greater trochanter, or hip joint.
    Hip(BodySide),
    /// Knee: femoral condyles.
    Knee(BodySide),
    /// Ankle: malleoli.
    Ankle(BodySide),
    /// Head of the second metatarsal.
    Toe(BodySide),
}

impl Place {
    /// In words, for a sentence that says what is missing.
    pub fn name(self) -> String {
        let (what, side) = match self {
            Self::Head => return "head".into(),
            Self::Shoulder(s) => ("shoulder", s),
            Self::Elbow(s) => ("elbow", s),
            Self::Wrist(s) => ("wrist", s),
            Self::Knuckle(s) => ("knuckle", s),
            Self::Hip(s) => ("hip", s),
            Self::Knee(s) => ("knee", s),
            Self::Ankle(s) => ("ankle", s),
            Self::Toe(s) => ("toe", s),
        };
        let side = if side == BodySide::Left { "left" } else { "right" };
        format!("{side} {what}")
    }
}

/// One row: a segment of one side, or of the middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Share of the body's mass.
    pub mass_share: f64,
    /// Near end.
    pub near: End,
    /// Far end.
    pub far: End,
    /// Place of the centre on the line, from the near end.
    pub from_near: f64,
}

/// An end of a segment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// A place.
    At(Place),
    /// Halfway between two.
    Between(Place, Place),
}

/// A limb's segment of both sides, from a row of the table.
struct Row {
    mass_share: f64,
    near: fn(BodySide) -> Place,
    far: fn(BodySide) -> Place,
    from_near: f64,
}

/// Rows of Winter 2009, table 4.1 (segment; ends; share of mass; centre from the near end).
const UPPER_ARM: Row = // glenohumeral axis / elbow axis; 0.028; 0.436
    Row { mass_share: 0.028, near: Place::Shoulder, far: Place::Elbow, from_near: 0.436 };
const FOREARM: Row = // elbow axis / ulnar styloid; 0.016; 0.430
    Row { mass_share: 0.016, near: Place::Elbow, far: Place::Wrist, from_near: 0.430 };
const HAND: Row = // wrist axis / knuckle II of middle finger; 0.006; 0.506
    Row { mass_share: 0.006, near: Place::Wrist, far: Place::Knuckle, from_near: 0.506 };
const FOREARM_AND_HAND: Row = // elbow axis / ulnar styloid; 0.022; 0.682
    Row { mass_share: 0.022, near: Place::Elbow, far: Place::Wrist, from_near: 0.682 };
const THIGH: Row = // greater trochanter / femoral condyles; 0.100; 0.433
    Row { mass_share: 0.100, near: Place::Hip, far: Place::Knee, from_near: 0.433 };
const LEG: Row = // femoral condyles / medial malleolus; 0.0465; 0.433
    Row { mass_share: 0.0465, near: Place::Knee, far: Place::Ankle, from_near: 0.433 };
const FOOT: Row = // lateral malleolus / head of metatarsal II; 0.0145; 0.50
    Row { mass_share: 0.0145, near: Place::Ankle, far: Place::Toe, from_near: 0.5 };
/// Trunk: greater trochanter / glenohumeral joint; 0.497; 0.50.
const TRUNK: (f64, f64) = (0.497, 0.5);
/// Head and neck: C7–T1 and first rib / ear canal; 0.081; 1.000, that is, at the ear canal.
const HEAD_AND_NECK: f64 = 0.081;

/// The segments for what a marker set offers; with knuckles the hands are segments of their own, without, they go with
/// the forearms.
///
/// Errors: the places that are missing. No segment is ever left out or guessed: a body without an arm would have
/// its centre elsewhere.
pub fn model(offered: impl Fn(Place) -> bool) -> Result<Vec<Segment>, Vec<Place>> {
    use BodySide::{Left, Right};
    let middle = |place: fn(BodySide) -> Place| End::Between(place(Left), place(Right));
    let mut segments = vec![
        Segment {
            mass_share: TRUNK.0,
            near: middle(Place::Shoulder),
            far: middle(Place::Hip),
            from_near: TRUNK.1,
        },
        Segment {
            mass_share: HEAD_AND_NECK,
            near: End::At(Place::Head),
            far: End::At(Place::Head),
            from_near: 1.0,
        },
    ];
    for side in [Left, Right] {
        let arm = if offered(Place::Knuckle(side)) { &[FOREARM, HAND][..] } else { &[FOREARM_AND_HAND] };
        for row in [UPPER_ARM, THIGH, LEG, FOOT].iter().chain(arm) {
            segments.push(Segment {
                mass_share: row.mass_share,
                near: End::At((row.near)(side)),
                far: End::At((row.far)(side)),
                from_near: row.from_near,
            });
        }
    }
    let mut missing: Vec<Place> = segments
        .iter()
        .flat_map(|s| [s.near, s.far])
        .flat_map(|end| match end {
            End::At(a) => [a, a],
            End::Between(a, b) => [a, b],
        })
        .filter(|place| !offered(*place))
        .collect();
    missing.sort_unstable();
    missing.dedup();
    if missing.is_empty() { Ok(segments) } else { Err(missing) }
}

/// Centre of mass of the segments at one instant.
///
/// Unit and frame: those of the places. Undefined: NaN where a place that counts is NaN. Source: Winter 2009, ch. 4.
pub fn centre_of_mass(segments: &[Segment], at: impl Fn(Place) -> DVec3) -> DVec3 {
    let end = |end: End| match end {
        End::At(place) => at(place),
        End::Between(a, b) => (at(a) + at(b)) / 2.0,
    };
    let (sum, mass) = segments.iter().fold((DVec3::ZERO, 0.0), |(sum, mass), s| {
        let (near, far) = (end(s.near), end(s.far));
        (sum + s.mass_share * (near + s.from_near * (far - near)), mass + s.mass_share)
    });
    sum / mass
}

/// Where the hip joints lie, from the front of the pelvis: 22 % of the distance between the anterior superior iliac spines
/// behind the nearer one, 30 % below and 14 % toward the middle. Left, then right.
///
/// `spines`: left and right anterior superior iliac spine. `back`: middle of the posterior ones, or the sacrum. Frame: any
/// right-handed one; the pelvis' own axes are its sideways line, and what is square to it in the plane of the three places.
/// Undefined: NaN where a place is NaN or the three lie on one line. Source: Bell, Brand & Pedersen 1989, Hum Mov Sci 8:3-16
/// (abstract: within 3.3 cm in 95 % of adults). They take distal in the frontal plane; here it is square to the plane of the
/// spines.
pub fn hips(spines: [DVec3; 2], back: DVec3) -> [DVec3; 2] {
    let [left, right] = spines;
    let apart = right - left;
    let width = apart.length();
    let middle = (left + right) / 2.0;
    let sideways = apart / width;
    let ahead = (middle - back).reject_from_normalized(sideways).normalize();
    let up = sideways.cross(ahead);
    let down_and_back = -0.30 * width * up - 0.22 * width * ahead;
    [left + 0.14 * width * sideways + down_and_back, right - 0.14 * width * sideways + down_and_back]
}

#[cfg(test)]
mod tests {
    use super::*;
    use BodySide::{Left, Right};

    fn everything(_: Place) -> bool {
        true
    }

    #[test]
    fn the_shares_are_one_body() {
        for offered in [everything, |p: Place| !matches!(p, Place::Knuckle(_))] {
            let shares: f64 = model(offered).unwrap().iter().map(|s| s.mass_share).sum();
            assert!((shares - 1.0).abs() < 1e-12, "{shares}");
        }
        assert_eq!(model(everything).unwrap().len(), 14);
    }

    /// The same table holds the combined rows; they must agree with the single ones to the table's digits:
    /// total arm 0.050 and foot with leg 0.061, total leg 0.161.
    #[test]
    fn single_rows_make_the_combined_rows() {
        let total = |rows: &[Row]| rows.iter().map(|r| r.mass_share).sum::<f64>();
        assert!((total(&[UPPER_ARM, FOREARM, HAND]) - 0.050).abs() < 1e-12);
        assert!((total(&[UPPER_ARM, FOREARM_AND_HAND]) - 0.050).abs() < 1e-12);
        assert!((total(&[LEG, FOOT]) - 0.061).abs() < 1e-12);
        assert!((total(&[THIGH, LEG, FOOT]) - 0.161).abs() < 1e-12);
    }

    #[test]
    fn what_is_missing_is_named() {
        let missing =
            model(|p| !matches!(p, Place::Elbow(Left) | Place::Head | Place::Knuckle(Right))).unwrap_err();
        assert_eq!(missing, [Place::Head, Place::Elbow(Left)]);
        assert_eq!(missing[1].name(), "left elbow");
    }

    /// A body on a line, by hand: everything at height 1 but the feet's toes at 0 → each foot's centre at ½.
    #[test]
    fn a_body_by_hand() {
        let segments = model(everything).unwrap();
        let at = |p: Place| if matches!(p, Place::Toe(_)) { DVec3::ZERO } else { DVec3::Z };
        let centre = centre_of_mass(&segments, at);
        assert!((centre.z - (1.0 - 2.0 * 0.0145 * 0.5)).abs() < 1e-12);
        let gap = |p: Place| if p == Place::Wrist(Right) { DVec3::NAN } else { DVec3::Z };
        assert!(centre_of_mass(&segments, gap).is_nan());
        // All forward by a metre: so is the centre.
        let shifted = centre_of_mass(&segments, |p| at(p) + DVec3::X);
        assert!((shifted - centre - DVec3::X).length() < 1e-12);
    }

    /// Spines 0.25 m apart, pelvis level, facing +y, sideways +x to the right: 3.5 cm inward, 5.5 cm back, 7.5 cm down.
    #[test]
    fn hips_by_hand() {
        let spines = [DVec3::new(-0.125, 0.1, 1.0), DVec3::new(0.125, 0.1, 1.0)];
        let [left, right] = hips(spines, DVec3::new(0.0, -0.1, 1.0));
        assert!((left - DVec3::new(-0.09, 0.045, 0.925)).length() < 1e-12, "{left}");
        assert!((right - DVec3::new(0.09, 0.045, 0.925)).length() < 1e-12);
        assert!(hips(spines, DVec3::new(0.0, 0.1, 1.0))[0].is_nan(), "no plane");
    }
}
