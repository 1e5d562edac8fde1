//! Feet seen by markers: an independent witness of which foot stands where, and which way it points.
use glam::DVec3;
use mechanics::{Frame, Recording};

/// One foot as its markers show it; golf frame, m, means over the samples in which each was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FootMark {
    /// True for the player's left foot.
    pub left: bool,
    /// Heel.
    pub heel_m: DVec3,
    /// Toe or forefoot.
    pub toe_m: DVec3,
}

impl FootMark {
    /// Distance of a place from the foot's line heel–toe, m, level.
    pub fn distance_m(&self, place: DVec3) -> f64 {
        let flat = |v: DVec3| DVec3::new(v.x, v.y, 0.0);
        let (heel, toe, place) = (flat(self.heel_m), flat(self.toe_m), flat(place));
        let along = toe - heel;
        let share = ((place - heel).dot(along) / along.length_squared()).clamp(0.0, 1.0);
        (place - heel - along * share).length()
    }
}

/// Words that name a heel or a forefoot in marker labels, without the side letter. Common practice, no source.
const HEEL: &[&str] = &["HEE", "HEEL", "FCC", "CAL"];
const TOE: &[&str] = &["TO", "TOE", "MT2", "FM2", "MET", "FM1"];

/// Finds heel and toe markers by common labels ("LHEE", "r_toe", "R.TO", "L_FCC"…) and averages their positions
/// over a range of marker samples.
pub fn find(recording: &Recording, frame: &Frame, samples: std::ops::Range<usize>) -> Vec<FootMark> {
    let place = |left: bool, words: &[&str]| {
        recording.markers.iter().find_map(|marker| {
            let (side, rest) = side_of(&marker.label)?;
            if side != left || !words.contains(&rest.as_str()) {
                return None;
            }
            let path = marker.path_m.get(samples.clone())?;
            let seen = path.iter().map(|p| DVec3::new(p[0].into(), p[1].into(), p[2].into()));
            let mean = crate::analyse::mean_over(seen);
            mean.is_finite().then(|| frame.place(mean))
        })
    };
    [true, false]
        .into_iter()
        .filter_map(|left| Some(FootMark { left, heel_m: place(left, HEEL)?, toe_m: place(left, TOE)? }))
        .collect()
}

/// "R.TO" → (right, "TO"); `None` for a label that does not begin with a side letter.
fn side_of(label: &str) -> Option<(bool, String)> {
    let label = label.trim().to_ascii_uppercase();
    let (side, rest) = label.split_at_checked(1)?;
    let left = match side {
        "L" => true,
        "R" => false,
        _ => return None,
    };
    Some((left, rest.trim_start_matches(['.', '_', ' ', '-']).to_string()))
}
