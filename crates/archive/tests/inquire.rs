//! Tables and curves that questions are asked of hold what the study holds, in the units in which people read them.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)] // tests may
mod common;
use archive::inquire::{Ask, Looking, asked};
use archive::outcomes::Given;
use archive::recipe::Basis;
use archive::{Selection, Study};
use common::{import, study, swings, write};
use mechanics::Target;
use std::path::Path;
use swing::metrics::Unit;
use swing::{About, Settings};
use view::Convention;
use view::claim::table::{Account, Scale};

/// Three swings on two plates, two on one; an outcome of the first.
fn mixed(folder: &Path) -> Study {
    let (study, _, session) = study(&folder.join("study"));
    let mut files = write(folder, &swings(3, 3, true), "two");
    files.extend(write(folder, &swings(2, 4, false), "one"));
    import(&study, &files, session);
    let given = Given { name: "clubhead-speed".into(), value: 44.7, unit: "m/s", given: "100 mph".into() };
    study.put_outcomes("monitor.csv", &[(1, vec![given])]).unwrap();
    study
}

fn usual(scale: Scale, study: &Study) -> Looking {
    Looking { basis: study.usual_basis().unwrap().1, scale }
}

#[test]
fn a_table_is_what_the_values_are() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let words = ["up.lead.most", "outcome.clubhead-speed", "turn.net-cop.most"].map(String::from);
    let asked = asked(&study, &words).unwrap();
    let all = Selection::default();
    let of = |scale| study.table(&all, &asked, &usual(scale, &study), &mut |_, _| {}).unwrap();
    let (body, plain) = (of(Scale::Body), of(Scale::Absolute));
    assert_eq!((body.swings.len(), body.stale, body.swings[3].feet), (5, 0, Some(1)));
    let Ask::Metric(up) = asked[0].clone() else { panic!("a metric") };
    let values = study.values_of(up, &all).unwrap();
    for (k, row) in values.values.iter().enumerate() {
        let same = |ours: f64, theirs: Option<f64>| match theirs {
            None => assert!(ours.is_nan()),
            Some(theirs) => assert!((ours - theirs).abs() <= 1e-12 * theirs.abs(), "{ours} {theirs}"),
        };
        same(plain.columns[0].values[k], row.figure.value);
        same(plain.columns[0].u[k], row.figure.u);
        same(body.columns[0].values[k], row.figure.body_value);
    }
    assert_eq!((body.columns[0].measure.unit.as_str(), plain.columns[0].measure.unit.as_str()), ("%BW", "N"));
    assert_eq!(body.columns[2].measure.unit, "N·m/kg");
    assert_eq!(body.columns[0].absent[0].what, "2 swings");
    let outcome = &body.columns[1];
    assert_eq!((outcome.values[0], outcome.measure.unit.as_str()), (44.7, "m/s"));
    assert!(outcome.values[1].is_nan() && outcome.absent[0].what == "4 swings");
    assert!(archive::inquire::asked(&study, &["outcome.clubhed-speed".into()]).is_err());
    let many = archive::inquire::asked(&study, &["up.lead.*".into(), "up.lead.most".into()]).unwrap();
    assert!(many.len() > 3 && many.iter().filter(|a| a.id() == "up.lead.most").count() == 1);
}

#[test]
fn plates_are_put_together_where_asked() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let asked = asked(&study, &["up.net.most".into(), "up.lead.most".into()]).unwrap();
    let looking =
        Looking { basis: Basis { collapse: true, about: About::RigCentre }, scale: Scale::Absolute };
    let mut told = 0;
    let together = study.table(&Selection::default(), &asked, &looking, &mut |_, _| told += 1).unwrap();
    assert_eq!(told, 5, "all were measured in this way just now");
    let apart =
        study.table(&Selection::default(), &asked, &usual(Scale::Absolute, &study), &mut |_, _| {}).unwrap();
    for k in 0..5 {
        assert!((together.columns[0].values[k] - apart.columns[0].values[k]).abs() < 0.5);
        assert!(together.columns[1].values[k].is_nan());
    }
}

#[test]
fn traces_are_the_series() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let account = Account {
        id: "toe.lead",
        column: "lead_toe_n",
        label: "toe, lead foot",
        unit: Unit::Newton,
        two_feet: true,
    };
    let of =
        |scale| study.traces(&Selection::default(), account, &usual(scale, &study), &mut |_, _| {}).unwrap();
    let (plain, body) = (of(Scale::Absolute), of(Scale::Body));
    assert_eq!((plain.traces.len(), plain.absent[0].what.as_str()), (3, "2 swings"));
    let simulated = &swings(3, 3, true)[1];
    let how = Settings {
        target: Some(Target::Axis(mechanics::Axis::PlusX)),
        hand: Some(mechanics::Hand::Right),
        ..Settings::UNSTATED
    };
    // As the file holds it: the recording through its bytes.
    let bytes = formats::c3d::encode(&simulated.recording, &formats::c3d::Encoding::PLAIN).unwrap();
    let read = formats::read("x.c3d", &bytes, None).unwrap().value;
    let direct = swing::analyse(&read.recording, &read.rig, &how).unwrap().value;
    let columns = view::series::columns(&direct, Convention::USUAL);
    let column = columns.iter().find(|c| c.name == "lead_toe_n").unwrap();
    let same = plain.traces[1].values.iter().zip(&column.values).all(|(a, b)| a.to_bits() == b.to_bits());
    assert!(same && plain.traces[1].values.len() == column.values.len());
    let weight = direct.body_weight_n.unwrap().newton;
    let most = |v: &[f64]| v.iter().copied().filter(|v| v.is_finite()).fold(f64::MIN, f64::max);
    let (n, percent) = (most(&plain.traces[1].values), most(&body.traces[1].values));
    assert!((percent - 100.0 * n / weight).abs() < 1e-9 * percent.abs(), "{percent} {n}");
    let events = plain.traces[1].events_s;
    assert!(events[1] > 0.0 && events[1] < events[4], "{events:?}");
}
