//! Where recordings go: player and day (and rig) decide the session; what is not known is told, nothing is invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::place::plan::{Plan, Rules};
use archive::place::{Manifest, Pattern, Sources, Stated};
use archive::rigs::Since;
use archive::{Player, Session, Study};
use common::{rig_text, study, swings};
use std::path::{Path, PathBuf};

fn stated(player: &str, date: &str) -> Stated {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_string());
    Stated { player: some(player), date: some(date), ..Stated::default() }
}

fn plan(study: &Study, all: &[Stated], rules: &Rules) -> Plan {
    let files = all.iter().enumerate().map(|(k, s)| (PathBuf::from(format!("{k}.c3d")), s.clone())).collect();
    study.plan(files, rules).unwrap()
}

/// Number of the session and player of every file; 0 for a session that is to be made.
fn places(plan: &Plan) -> Vec<(String, i64, String)> {
    let place = |p: &archive::place::plan::Placed| {
        let place = &plan.places[p.place];
        (p.path.display().to_string(), place.session.id, place.player.clone())
    };
    plan.placed.iter().map(place).collect()
}

fn why(plan: &Plan) -> Vec<&str> {
    plan.misplaced.iter().map(|(_, m)| m.why.as_str()).collect()
}

#[test]
fn player_and_day_decide_the_session() {
    let folder = tempfile::tempdir().unwrap();
    let (study, player, session) = study(folder.path());
    let all = [
        stated("p01", "2026-05-12"), // there is a session of that day
        stated("P01", "2026-05-13"), // there is none
        stated("P01", "2026-05-13"),
        stated("P02", "2026-05-12"),
        stated("P01", ""),
        stated("", "2026-05-12"),
    ];
    let mut p = plan(&study, &all, &Rules::default());
    assert_eq!(
        places(&p),
        [
            ("0.c3d".into(), session, "P01".into()),
            ("1.c3d".into(), 0, "P01".into()),
            ("2.c3d".into(), 0, "P01".into())
        ]
    );
    assert_eq!(p.places.len(), 2);
    let stranger = &p.players[0];
    assert_eq!((stranger.name.as_str(), stranger.near.as_deref()), ("P02", Some("P01")));
    assert_eq!(stranger.files, [PathBuf::from("3.c3d")]);
    assert_eq!(p.undated, [PathBuf::from("4.c3d")]);
    assert_eq!(why(&p), ["nobody says whose it is"]);
    assert_eq!(p.nowhere(), 3);
    // Planning has changed nothing; preparing makes what is needed and no more.
    assert_eq!((study.players().unwrap().len(), study.sessions(None).unwrap().len()), (1, 1));
    let made = study.prepare(&mut p).unwrap();
    assert_eq!((study.players().unwrap().len(), study.sessions(Some(player)).unwrap().len()), (1, 2));
    assert_eq!(study.session(made.sessions[0]).unwrap().date.as_deref(), Some("2026-05-13"));
    assert!(p.incoming().iter().all(|i| i.session == session || i.session == made.sessions[0]));
    // The next time, both are there.
    let p = plan(&study, &all[..3], &Rules::default());
    assert!(places(&p).iter().all(|(_, id, _)| *id > 0));
}

#[test]
fn what_is_allowed_is_done() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = study(folder.path());
    let all = [stated("P02", "2026-05-12"), stated("p02", ""), stated("P0I", "2026-05-12")];
    let mut rules = Rules::default();
    rules.undated = true;
    rules.add_player(" P02");
    rules.stand_in("p0i", "P01");
    let mut p = plan(&study, &all, &rules);
    assert_eq!(p.new_players, ["P02"]);
    assert_eq!(p.nowhere(), 0);
    study.prepare(&mut p).unwrap();
    let added = study.player_called("P02").unwrap();
    assert_eq!((added.hand, added.consent_on), (None, None), "an alias and nothing else");
    let dates: Vec<_> = study.sessions(Some(added.id)).unwrap().into_iter().map(|s| s.date).collect();
    assert_eq!(dates, [None, Some("2026-05-12".to_string())]);
    // A name from a file system that writes an accent as a letter of its own (Unicode Standard Annex 15, NFD).
    let mut rules = Rules::default();
    rules.add_player("RENE\u{301}");
    let p = plan(&study, &[stated("Rene\u{301}", "2026-05-12")], &rules);
    assert_eq!((p.new_players.len(), p.nowhere()), (1, 0));
}

#[test]
fn rigs_sessions_targets_and_masses_must_be_true() {
    let folder = tempfile::tempdir().unwrap();
    let (study, player, session) = study(folder.path());
    let swing = &swings(1, 1, false)[0];
    let rig = study.add_rig("bay", &rig_text(&swing.rig, swing), &Since::New).unwrap().rig;
    let on = |rig: &str| Stated { rig: Some(rig.into()), ..stated("P01", "2026-05-12") };
    let with = |session: i64, more: Stated| Stated { session: Some(session), ..more };
    let other = study.add_player(&Player::called("P02"), None).unwrap();
    let theirs =
        study.add_session(&Session { date: Some("2026-01-01".into()), ..Session::of(other) }).unwrap();
    let target = |t: &str| Stated { target: Some(t.into()), ..stated("P01", "2026-05-12") };
    let mass = Stated { mass_kg: Some(80.0), ..stated("P01", "2026-05-12") };
    let all = [
        on("BAY"),                              // the session of that day has no rig: another
        on("bai"),                              // a slip of the hand
        with(theirs, stated("P01", "")),        // another's session
        with(theirs, stated("", "2026-01-02")), // another day
        with(99, Stated::default()),
        with(theirs, Stated { rig: Some("bay".into()), ..Stated::default() }),
        target("-x"),
        mass,
        target("+x"),
        with(theirs, Stated::default()),
    ];
    let p = plan(&study, &all, &Rules::default());
    assert_eq!(
        places(&p),
        [
            ("0.c3d".into(), 0, "P01".into()),
            ("8.c3d".into(), session, "P01".into()),
            ("9.c3d".into(), theirs, "P02".into())
        ]
    );
    assert_eq!(p.places[0].session.rig, Some(rig));
    assert_eq!((p.rigs[0].name.as_str(), p.rigs[0].near.as_deref()), ("bai", Some("bay")));
    assert_eq!(
        why(&p),
        [
            format!("session {theirs} is of P02, not of P01").as_str(),
            format!("session {theirs} was on 2026-01-01, not on 2026-01-02").as_str(),
            "there is no session 99",
            format!("session {theirs} has no rig, not bay").as_str(),
            format!("session {session} has target +x, not -x").as_str(),
            format!("session {session} states no such target or mass, and is not changed by an import")
                .as_str(),
        ]
    );
    // Two sessions of one player and day: nobody can know which.
    study.add_session(&Session { date: Some("2026-05-12".into()), ..Session::of(player) }).unwrap();
    let p = plan(&study, &[stated("P01", "2026-05-12")], &Rules::default());
    assert!(why(&p)[0].contains("are both of P01 and 2026-05-12"), "{:?}", why(&p));
    // New recordings of one day with two targets.
    let on = |t: &str| Stated { target: Some(t.into()), ..stated("P01", "2026-06-01") };
    let p = plan(&study, &[on("+y"), on("-y")], &Rules::default());
    assert_eq!(why(&p), ["its new session has target +y, not -y"]);
    let wrong = study.plan(vec![(PathBuf::from("a"), on("sideways"))], &Rules::default());
    assert!(wrong.unwrap_err().to_string().contains("\"sideways\" is not a target direction"));
}

#[test]
fn a_manifest_comes_before_names_and_names_before_what_holds_for_all() {
    let table = "file,player,club\nP01/a-1.c3d,P07,\n";
    let sources = Sources {
        manifest: Some(Manifest::parse("m.csv", table.as_bytes(), &[]).unwrap()),
        pattern: Some(Pattern::parse("{player}/{club}-{number}.c3d").unwrap()),
        plain: Stated {
            player: Some("P99".into()),
            date: Some("2026-05-12".into()),
            tags: vec!["all".into()],
            ..Stated::default()
        },
    };
    let (both, differs) = sources.of(Path::new("in/P01/a-1.c3d")).unwrap();
    assert_eq!(
        (both.player.as_deref(), both.club.as_deref(), both.number),
        (Some("P07"), Some("a"), Some(1))
    );
    assert_eq!(
        (both.date.as_deref(), both.tags.as_slice()),
        (Some("2026-05-12"), ["all".to_string()].as_slice())
    );
    assert_eq!(differs.as_deref(), Some("player P07, P01"));
    let (named, _) = sources.of(Path::new("in/P02/D-2.c3d")).unwrap();
    assert_eq!(named.player.as_deref(), Some("P02"));
    let misplaced = sources.of(Path::new("in/P02/D2.c3d")).unwrap_err();
    assert!(misplaced.why.contains("does not fit the pattern") && misplaced.drawing.contains('^'));
    let only_manifest = Sources { pattern: None, ..sources };
    assert_eq!(only_manifest.of(Path::new("b.c3d")).unwrap_err().why, "the manifest has no row for it");
}

#[test]
fn what_was_made_for_nothing_is_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = study(folder.path());
    let before = (study.players().unwrap(), study.sessions(None).unwrap());
    let mut rules = Rules::default();
    rules.add_players = true;
    let all = [stated("P02", "2026-05-12"), stated("P03", "2026-05-12")];
    let mut p = plan(&study, &all, &rules);
    let mut new = study.prepare(&mut p).unwrap();
    assert_eq!((new.players.len(), new.sessions.len()), (2, 2));
    // Somebody has written down who one of them is.
    let who = archive::people::Identity { name: "An Invented Name".into(), contact: String::new() };
    study.set_identity(new.players[1].0, Some(&who)).unwrap();
    assert_eq!(study.take_back(&mut new).unwrap().len(), 2);
    assert_eq!((new.players.len(), new.sessions.len()), (1, 0));
    assert_eq!(new.players[0].1, "P03");
    assert_eq!(
        (study.players().unwrap().len(), study.sessions(None).unwrap()),
        (before.0.len() + 1, before.1)
    );
}
