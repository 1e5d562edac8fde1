//! The body's places by common marker labels, and the whole body's centre of mass where they suffice.
use glam::DVec3;
use mechanics::body::segments::{self, BodySide, Place, Segment};
use mechanics::{Frame, Marker, Recording};
use std::collections::BTreeMap;

/// Labels that name the same part, without the side letter.
type Part = &'static [&'static str];
/// Parts whose mean is the place.
type Way = &'static [Part];
/// A place of either side, and the ways to it, best first.
type Sided = (fn(BodySide) -> Place, &'static [Way]);

/// What names the places of either side. The first way that both sides offer is taken, so that what a marker lies off its
/// joint sideways cancels between them. Common practice in marker labels, no source. `#2` is the second marker of one
/// label, as writers that cut labels to four letters leave the inner one.
const SIDED: &[Sided] = &[
    (
        Place::Shoulder,
        &[&[&["SJC", "GHJ", "GHJC"]], &[&["SHO", "SHOULDER", "SHD", "ACR", "ACROMION", "SAJ", "AC"]]],
    ),
    (
        Place::Elbow,
        &[
            &[&["EJC"]],
            &[
                &["ELB", "ELBOW", "HLE", "LEL", "LHE", "ELBLAT"],
                &["HME", "MEL", "MHE", "ELBMED", "ELBIN", "ELB#2"],
            ],
            &[&["ELB", "ELBOW", "HLE", "LEL", "LHE", "ELBLAT"]],
        ],
    ),
    (
        Place::Wrist,
        &[
            &[&["WJC"]],
            &[&["WRA", "RSP", "RAD", "WRLAT"], &["WRB", "UHE", "USP", "ULN", "WRMED"]],
            &[&["WRI", "WRIST", "WR", "USP", "ULN"]],
        ],
    ),
    (
        Place::Knuckle,
        &[
            &[&["FIN", "MC3", "HM3", "MCP3", "KNUCKLE"]],
            &[&["HM2", "MC2", "MCP2"], &["HM5", "MC5", "MCP5"]],
            &[&["HM2", "MC2", "MCP2"]],
        ],
    ),
    (
        Place::Hip,
        &[&[&["HJC", "HIPJC", "HIPCENTER", "HIPCENTRE"]], &[&["TRC", "GTR", "GRT", "TRO", "TROCH", "FTC"]]],
    ),
    (
        Place::Knee,
        &[
            &[&["KJC", "KNEEJC"]],
            &[
                &["KNE", "KNEE", "LKN", "FLE", "LFC", "KNEELAT", "KNEEEXT", "KNJNTLN"],
                &["KNE#2", "KNEE#2", "MKN", "FME", "MFC", "KNEEMED", "KNEEINT", "KNEIN", "KNM"],
            ],
            &[&["KNE", "KNEE", "LKN", "FLE", "LFC", "KNEELAT", "KNEEEXT", "KNJNTLN"]],
        ],
    ),
    (
        Place::Ankle,
        &[
            &[&["AJC", "ANKLEJC"]],
            &[
                &["ANK", "ANKLE", "LMA", "LMAL", "FAL", "ANKLELAT", "ANKLEEXT"],
                &["ANK#2", "ANKLE#2", "MMA", "MMAL", "TAM", "ANKLEMED", "ANKLEINT", "ANKIN", "ANM"],
            ],
            &[&["ANK", "ANKLE", "LMA", "LMAL", "FAL", "ANKLELAT", "ANKLEEXT"]],
        ],
    ),
    (Place::Toe, &[&[&["TOE", "TO", "MT2", "FM2"]], &[&["FM1", "MT1"], &["FM5", "MT5"]]]),
];

/// What names the head: the ears, or a ring of markers at the brow whose middle lies some centimetres above them.
const HEAD: &[Way] = &[
    &[&["LEAR", "LTRAGUS", "LEFTEAR"], &["REAR", "RTRAGUS", "RIGHTEAR"]],
    &[&["LFHD", "LHDF"], &["RFHD", "RHDF"], &["LBHD", "LHDB"], &["RBHD", "RHDB"]],
    &[&["FHEA", "FHEAD", "FRONTHEAD"], &["RHEA", "BHEA", "BHEAD", "REARHEAD", "BACKHEAD"]],
    &[&["HEAD", "HEADCENTRE", "HEADCENTER"]],
];

/// Anterior and posterior superior iliac spines, and the sacrum between the latter.
const FRONT: Part = &["ASI", "ASIS", "IAS"];
const BACK: Part = &["PSI", "PSIS", "IPS"];
const SACRUM: Part = &["SACR", "VSAC", "SACRUM", "SAC", "SACRAL"];

/// The places that a marker set offers, at the markers' own rate, golf frame, m; NaN where a marker was not seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Seen {
    /// Each place's path.
    pub places: BTreeMap<Place, Vec<DVec3>>,
}

/// Finds the places by label. A marker that is never seen is as good as absent. Where no label names the hips, they are
/// worked out from the iliac spines ([`segments::hips`]).
pub fn seen(recording: &Recording, frame: &Frame) -> Seen {
    let labelled: Vec<(String, &Marker)> = recording
        .markers
        .iter()
        .filter(|marker| marker.path_m.iter().any(|p| p.iter().all(|v| v.is_finite())))
        .map(|marker| (plain(&marker.label), marker))
        .collect();
    let find = |names: &[String]| labelled.iter().find(|(label, _)| names.contains(label)).map(|(_, m)| *m);
    let sided = |side: BodySide, part: Part| {
        let (letter, word) = if side == BodySide::Left { ("L", "LEFT") } else { ("R", "RIGHT") };
        let names: Vec<String> =
            part.iter().flat_map(|p| [format!("{letter}{p}"), format!("{word}{p}")]).collect();
        find(&names)
    };
    let whole = |part: Part| find(&part.iter().map(|p| (*p).to_string()).collect::<Vec<_>>());
    let path = |markers: &[&Marker]| mean_path(markers, frame);

    let mut places = BTreeMap::new();
    for (place, ways) in SIDED {
        let both = |way: &Way| {
            let of = |side| way.iter().map(|part| sided(side, part)).collect::<Option<Vec<_>>>();
            Some([of(BodySide::Left)?, of(BodySide::Right)?])
        };
        if let Some([left, right]) = ways.iter().find_map(both) {
            places.insert(place(BodySide::Left), path(&left));
            places.insert(place(BodySide::Right), path(&right));
        }
    }
    let head = |way: &Way| way.iter().map(|part| whole(part)).collect::<Option<Vec<_>>>();
    if let Some(markers) = HEAD.iter().find_map(head) {
        places.insert(Place::Head, path(&markers));
    }
    let both = |part: Part| Some([sided(BodySide::Left, part)?, sided(BodySide::Right, part)?]);
    let back = both(BACK).map(|two| path(&two)).or_else(|| whole(SACRUM).map(|one| path(&[one])));
    if let (false, Some([left, right]), Some(back)) =
        (places.contains_key(&Place::Hip(BodySide::Left)), both(FRONT), back)
    {
        let (left, right) = (path(&[left]), path(&[right]));
        let hips = left.iter().zip(&right).zip(&back).map(|((l, r), b)| segments::hips([*l, *r], *b));
        let (left, right) = hips.map(|[l, r]| (l, r)).unzip();
        places.insert(Place::Hip(BodySide::Left), left);
        places.insert(Place::Hip(BodySide::Right), right);
    }
    Seen { places }
}

impl Seen {
    /// The model's segments.
    ///
    /// Errors: a sentence that names what is missing.
    pub fn model(&self) -> Result<Vec<Segment>, String> {
        segments::model(|place| self.places.contains_key(&place)).map_err(|missing| {
            if self.places.is_empty() {
                return "the body's centre of mass needs markers of the whole body; this recording has none that \
                        are known by their labels"
                    .into();
            }
            let names: Vec<String> = missing.into_iter().map(Place::name).collect();
            format!("the body's centre of mass needs markers of the whole body; missing: {}", names.join(", "))
        })
    }
    /// A place at a marker sample; NaN beyond the samples.
    pub fn at(&self, place: Place, k: usize) -> DVec3 {
        self.places.get(&place).and_then(|path| path.get(k)).copied().unwrap_or(DVec3::NAN)
    }
}

/// The body's centre of mass at the markers' own rate, golf frame, m; NaN where a marker that counts was not seen.
///
/// Errors: a sentence that names what is missing; no segment is guessed. Source: [`segments`].
pub fn centre(recording: &Recording, frame: &Frame) -> Result<Vec<DVec3>, String> {
    let seen = seen(recording, frame);
    let segments = seen.model()?;
    let samples = seen.places.values().map(Vec::len).max().unwrap_or_default();
    Ok((0..samples).map(|k| segments::centre_of_mass(&segments, |place| seen.at(place, k))).collect())
}

/// A label without what separates its words, in capitals.
fn plain(label: &str) -> String {
    label.chars().filter(|c| !" ._-".contains(*c)).flat_map(char::to_uppercase).collect()
}

fn mean_path(markers: &[&Marker], frame: &Frame) -> Vec<DVec3> {
    let samples = markers.iter().map(|m| m.path_m.len()).max().unwrap_or_default();
    let at = |m: &Marker, k: usize| {
        m.path_m.get(k).map_or(DVec3::NAN, |p| DVec3::new(p[0].into(), p[1].into(), p[2].into()))
    };
    (0..samples)
        .map(|k| {
            let sum: DVec3 = markers.iter().map(|m| at(m, k)).sum();
            frame.place(sum / markers.len() as f64)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recording(labels: &[(&str, [f32; 3])]) -> Recording {
        let marker = |(label, place): &(&str, [f32; 3])| Marker {
            label: (*label).into(),
            path_m: vec![*place, [f32::NAN; 3], *place],
            ..Marker::default()
        };
        Recording {
            markers: labels.iter().map(marker).collect(),
            marker_rate_hz: 100.0,
            ..Recording::default()
        }
    }

    fn frame() -> Frame {
        Frame::new(DVec3::ZERO, DVec3::Z, DVec3::X).unwrap()
    }

    /// A standing body of round numbers; left at x = −0.2, right at +0.2, everything at y = 0 but the toes.
    const BODY: &[(&str, [f32; 3])] = &[
        ("FHEA", [0.0, 0.1, 1.6]),
        ("R.HEA", [0.0, -0.1, 1.6]),
        ("LSHO", [-0.2, 0.0, 1.4]),
        ("right_shoulder", [0.2, 0.0, 1.4]),
        ("LELB", [-0.2, 0.0, 1.1]),
        ("RELB", [0.2, 0.0, 1.1]),
        ("LWRI", [-0.2, 0.0, 0.85]),
        ("RWRI", [0.2, 0.0, 0.85]),
        ("LTRC", [-0.2, 0.0, 0.9]),
        ("RTRC", [0.2, 0.0, 0.9]),
        ("LKNE", [-0.25, 0.0, 0.5]),
        ("LKNE#2", [-0.15, 0.0, 0.5]),
        ("RKNE", [0.25, 0.0, 0.5]),
        ("L_ANK", [-0.2, 0.0, 0.1]),
        ("R_ANK", [0.2, 0.0, 0.1]),
        ("L.TO", [-0.2, 0.2, 0.0]),
        ("R.TO", [0.2, 0.2, 0.0]),
    ];

    #[test]
    fn a_body_by_hand() {
        let made = recording(BODY);
        let path = centre(&made, &frame()).unwrap();
        // Head .081·1.6; trunk .497·(1.4 + .9)/2; each upper arm .028·(1.4 − .436·.3); forearm with hand .022·(1.1 − .682·.25);
        // thigh .1·(.9 − .433·.4); leg .0465·(.5 − .433·.4); foot .0145·.05.
        let side = 0.028 * (1.4 - 0.436 * 0.3)
            + 0.022 * (1.1 - 0.682 * 0.25)
            + 0.1 * (0.9 - 0.433 * 0.4)
            + 0.0465 * (0.5 - 0.433 * 0.4)
            + 0.0145 * 0.05;
        let height = 0.081 * 1.6 + 0.497 * 1.15 + 2.0 * side;
        assert!((path[0].z - height).abs() < 1e-7, "{} {height}", path[0].z);
        assert!((path[0].y - 2.0 * 0.0145 * 0.1).abs() < 1e-7);
        // The left knee has an inner marker, the right has none: both are read from the outer one, and cancel.
        assert!(path[0].x.abs() < 1e-7, "{}", path[0].x);
        assert!(path[1].is_nan() && path[2] == path[0]);
    }

    #[test]
    fn missing_places_are_named_and_nothing_is_guessed() {
        let without =
            |label: &str| recording(&BODY.iter().copied().filter(|(l, _)| *l != label).collect::<Vec<_>>());
        let says = centre(&without("LELB"), &frame()).unwrap_err();
        assert!(says.ends_with("missing: left elbow, right elbow"), "{says}");
        assert!(centre(&without("FHEA"), &frame()).unwrap_err().ends_with("missing: head"));
        assert!(centre(&recording(&[]), &frame()).unwrap_err().contains("has none"));
        let mut unseen = recording(BODY);
        unseen.markers[2].path_m.fill([f32::NAN; 3]);
        assert!(centre(&unseen, &frame()).unwrap_err().contains("left shoulder"));
    }

    #[test]
    fn hips_from_the_spines_where_no_label_names_them() {
        let mut labels: Vec<_> = BODY.iter().copied().filter(|(l, _)| !l.ends_with("TRC")).collect();
        labels.extend([
            ("LASI", [-0.125, 0.1, 1.0]),
            ("RASI", [0.125, 0.1, 1.0]),
            ("VSAC", [0.0, -0.1, 1.0]),
        ]);
        let seen = seen(&recording(&labels), &frame());
        let hip = seen.at(Place::Hip(BodySide::Right), 0);
        assert!((hip - DVec3::new(0.09, 0.045, 0.925)).length() < 1e-6, "{hip}");
        assert!(seen.at(Place::Hip(BodySide::Right), 9).is_nan());
    }
}
