//! Which recordings go to which session, before anything is done: player and day (and rig) decide. What is not known is told,
//! never invented.
use super::{Misplaced, Stated};
use crate::error::StudyError;
use crate::import::Incoming;
use crate::people::{Player, key};
use crate::sessions::{Session, checked};
use crate::study::Study;
use formats::rigfile::nearest;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

/// What a person allows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rules {
    /// Recordings of no stated day go to sessions without one.
    pub undated: bool,
    /// Players who are not in the study are added.
    pub add_players: bool,
    /// Players to be added, by what names are compared by.
    add: BTreeSet<String>,
    /// Names for which another stands, players and rigs, by the same.
    instead: BTreeMap<String, String>,
}

impl Rules {
    /// Lets a player be added, however the name is written.
    pub fn add_player(&mut self, name: &str) {
        self.add.insert(key(name));
    }

    /// Lets another name stand for one, however that is written.
    pub fn stand_in(&mut self, name: &str, other: &str) {
        self.instead.insert(key(name), other.to_string());
    }
}

/// A session to which recordings go.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Place {
    /// The session; its number is 0 where it is to be made, its player's where the player is to be added.
    pub session: Session,
    /// Alias of its player.
    pub player: String,
    /// Name of its rig.
    pub rig: Option<String>,
    /// Recordings that go there.
    pub files: usize,
}

/// A recording and where it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// The file.
    pub path: PathBuf,
    /// What is said of it.
    pub stated: Stated,
    /// Place of its session among the plan's.
    pub place: usize,
}

/// A name that the study does not know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stranger {
    /// As it was stated.
    pub name: String,
    /// The nearest name that is known.
    pub near: Option<String>,
    /// The recordings that state it.
    pub files: Vec<PathBuf>,
}

/// Where everything goes, and what goes nowhere.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// In the order of the files.
    pub placed: Vec<Placed>,
    /// Sessions, in the order in which recordings need them.
    pub places: Vec<Place>,
    /// Players to be added.
    pub new_players: Vec<String>,
    /// Players who are not known.
    pub players: Vec<Stranger>,
    /// Rigs that are not known.
    pub rigs: Vec<Stranger>,
    /// Recordings of which nobody states the day.
    pub undated: Vec<PathBuf>,
    /// Everything else that goes nowhere.
    pub misplaced: Vec<(PathBuf, Misplaced)>,
}

/// What was made for recordings that are to come in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct New {
    /// Numbers and aliases of players.
    pub players: Vec<(i64, String)>,
    /// Numbers of sessions.
    pub sessions: Vec<i64>,
}

/// Sessions and names of a study, read once.
struct Known {
    players: BTreeMap<String, Player>,
    rigs: BTreeMap<String, (i64, String)>,
    sessions: BTreeMap<i64, Session>,
    of_player: BTreeMap<i64, Vec<i64>>,
}

impl Known {
    fn of(study: &Study) -> Result<Self, StudyError> {
        let players = study.players()?.into_iter().map(|p| (key(&p.alias), p)).collect();
        let rigs = study.rigs()?.into_iter().map(|v| (key(&v.name), (v.rig, v.name))).collect();
        let mut of_player: BTreeMap<i64, Vec<i64>> = BTreeMap::new();
        let mut sessions = BTreeMap::new();
        for session in study.sessions(None)? {
            of_player.entry(session.player).or_default().push(session.id);
            sessions.insert(session.id, session);
        }
        Ok(Self { players, rigs, sessions, of_player })
    }

    fn rig_name(&self, rig: Option<i64>) -> Option<String> {
        self.rigs.values().find(|(id, _)| Some(*id) == rig).map(|(_, name)| name.clone())
    }

    fn alias(&self, player: i64) -> String {
        self.players.values().find(|p| p.id == player).map_or_else(String::new, |p| p.alias.clone())
    }
}

/// Why a recording goes nowhere.
enum Nowhere {
    Player(String),
    Rig(String),
    Undated,
    Else(Misplaced),
}

/// Player, day, rig: what decides a new session.
type Who = (String, Option<String>, Option<i64>);

impl Study {
    /// Where recordings go.
    ///
    /// Errors: a target or a mass that cannot be.
    pub fn plan(&self, files: Vec<(PathBuf, Stated)>, rules: &Rules) -> Result<Plan, StudyError> {
        let known = Known::of(self)?;
        let mut plan = Plan::default();
        let mut by_id: BTreeMap<i64, usize> = BTreeMap::new();
        let mut new: BTreeMap<Who, usize> = BTreeMap::new();
        for (path, stated) in files {
            match place(&known, rules, &stated, &mut plan, &mut by_id, &mut new)? {
                Ok(place) => {
                    if let Some(p) = plan.places.get_mut(place) {
                        p.files += 1;
                    }
                    plan.placed.push(Placed { path, stated, place });
                }
                Err(Nowhere::Undated) => plan.undated.push(path),
                Err(Nowhere::Else(why)) => plan.misplaced.push((path, why)),
                Err(Nowhere::Player(name)) => {
                    let names = known.players.values().map(|p| p.alias.as_str());
                    stranger(&mut plan.players, name, names, path);
                }
                Err(Nowhere::Rig(name)) => {
                    stranger(&mut plan.rigs, name, known.rigs.values().map(|(_, n)| n.as_str()), path);
                }
            }
        }
        Ok(plan)
    }

    /// Adds the players and makes the sessions that a plan needs; their numbers are in it then. Gives those that are new.
    pub fn prepare(&self, plan: &mut Plan) -> Result<New, StudyError> {
        let mut new = New::default();
        for alias in std::mem::take(&mut plan.new_players) {
            match self.add_player(&Player::called(&alias), None) {
                // Another program may have been quicker.
                Err(StudyError::Exists { .. }) => {}
                added => new.players.push((added?, alias)),
            }
        }
        for place in plan.places.iter_mut().filter(|p| p.session.id == 0) {
            place.session.player = self.player_called(&place.player)?.id;
            let (session, made) = self.session_on(&place.session)?;
            if made {
                new.sessions.push(session.id);
            }
            place.session = session;
        }
        Ok(new)
    }

    /// Takes back what was made for recordings none of which could be taken in: sessions without a swing, players without
    /// a session of whom nobody has said anything since. What stays is left in `new`; gives the sessions that went.
    pub fn take_back(&self, new: &mut New) -> Result<Vec<i64>, StudyError> {
        let mut gone = Vec::new();
        for id in &new.sessions {
            if self.remove_empty_session(*id)? {
                gone.push(*id);
            }
        }
        new.sessions.retain(|id| !gone.contains(id));
        let mut stay = Vec::new();
        for (id, alias) in std::mem::take(&mut new.players) {
            if !self.remove_bare_player(id)? {
                stay.push((id, alias));
            }
        }
        new.players = stay;
        Ok(gone)
    }
}

fn stranger<'a>(all: &mut Vec<Stranger>, name: String, known: impl Iterator<Item = &'a str>, path: PathBuf) {
    match all.iter_mut().find(|s| key(&s.name) == key(&name)) {
        Some(one) => one.files.push(path),
        None => {
            let near = nearest(&name, known).map(str::to_string);
            all.push(Stranger { name, near, files: vec![path] });
        }
    }
}

/// The place of one recording, new where it must be.
fn place(
    known: &Known,
    rules: &Rules,
    stated: &Stated,
    plan: &mut Plan,
    by_id: &mut BTreeMap<i64, usize>,
    new: &mut BTreeMap<Who, usize>,
) -> Result<Result<usize, Nowhere>, StudyError> {
    let called = |name: &String| rules.instead.get(&key(name)).unwrap_or(name).clone();
    let player = stated.player.as_ref().map(called);
    let rig = match stated.rig.as_ref().map(called) {
        None => None,
        Some(name) => match known.rigs.get(&key(&name)) {
            Some((id, _)) => Some(*id),
            None => return Ok(Err(Nowhere::Rig(name))),
        },
    };
    if let Some(id) = stated.session {
        return Ok(in_session(known, id, player.as_deref(), rig, stated, plan, by_id));
    }
    let Some(alias) = player else {
        return Ok(Err(Nowhere::Else(Misplaced::new("nobody says whose it is"))));
    };
    let there = known.players.get(&key(&alias));
    if there.is_none() && !rules.add_players && !rules.add.contains(&key(&alias)) {
        return Ok(Err(Nowhere::Player(alias)));
    }
    if stated.date.is_none() && !rules.undated {
        return Ok(Err(Nowhere::Undated));
    }
    let ids = there.and_then(|p| known.of_player.get(&p.id)).map_or(&[][..], Vec::as_slice);
    let same = |s: &&Session| s.date == stated.date && (rig.is_none() || s.rig == rig);
    let same: Vec<&Session> = ids.iter().filter_map(|id| known.sessions.get(id)).filter(same).collect();
    match same.as_slice() {
        [one] => return Ok(into(known, one, stated, plan, by_id)),
        [] => {}
        [a, b, ..] => {
            let day = stated.date.as_deref().unwrap_or("no stated day");
            let why = format!("sessions {} and {} are both of {alias} and {day}", a.id, b.id);
            return Ok(Err(Nowhere::Else(Misplaced::new(why))));
        }
    }
    let who = (key(&alias), stated.date.clone(), rig);
    if let Some(k) = new.get(&who).copied() {
        let first = plan.places.get(k).map(|p| p.session.clone());
        if let Some(why) = first.and_then(|s| contradicts(&s, stated, "its new session")) {
            return Ok(Err(Nowhere::Else(why)));
        }
        if let Some(place) = plan.places.get_mut(k) {
            place.session.target = place.session.target.take().or_else(|| stated.target.clone());
            place.session.mass_kg = place.session.mass_kg.or(stated.mass_kg);
        }
        return Ok(Ok(k));
    }
    let session = checked(&Session {
        date: stated.date.clone(),
        rig,
        target: stated.target.clone(),
        mass_kg: stated.mass_kg,
        ..Session::of(there.map_or(0, |p| p.id))
    })?;
    if there.is_none() && !plan.new_players.iter().any(|a| key(a) == key(&alias)) {
        plan.new_players.push(alias.clone());
    }
    let player = there.map_or(alias, |p| p.alias.clone());
    plan.places.push(Place { session, player, rig: known.rig_name(rig), files: 0 });
    new.insert(who, plan.places.len() - 1);
    Ok(Ok(plan.places.len() - 1))
}

/// The place of a recording whose session is stated: what else is stated must be true of it.
fn in_session(
    known: &Known,
    id: i64,
    player: Option<&str>,
    rig: Option<i64>,
    stated: &Stated,
    plan: &mut Plan,
    by_id: &mut BTreeMap<i64, usize>,
) -> Result<usize, Nowhere> {
    let no = |why: String| Err(Nowhere::Else(Misplaced::new(why)));
    let Some(session) = known.sessions.get(&id) else {
        return no(format!("there is no session {id}"));
    };
    let alias = known.alias(session.player);
    if player.is_some_and(|p| key(p) != key(&alias)) {
        return no(format!("session {id} is of {alias}, not of {}", player.unwrap_or_default()));
    }
    if let (Some(a), Some(b)) = (&session.date, &stated.date)
        && a != b
    {
        return no(format!("session {id} was on {a}, not on {b}"));
    }
    if rig.is_some() && rig != session.rig {
        let (has, said) = (known.rig_name(session.rig), known.rig_name(rig));
        let words = |rig: Option<String>| rig.unwrap_or_else(|| "no rig".into());
        return no(format!("session {id} has {}, not {}", words(has), words(said)));
    }
    into(known, session, stated, plan, by_id)
}

/// The place of a session that is in the study. What it says is not changed on the way.
fn into(
    known: &Known,
    session: &Session,
    stated: &Stated,
    plan: &mut Plan,
    by_id: &mut BTreeMap<i64, usize>,
) -> Result<usize, Nowhere> {
    if let Some(why) = contradicts(session, stated, &format!("session {}", session.id)) {
        return Err(Nowhere::Else(why));
    }
    if stated.target.is_some() && session.target.is_none()
        || stated.mass_kg.is_some() && session.mass_kg.is_none()
    {
        let why =
            format!("session {} states no such target or mass, and is not changed by an import", session.id);
        return Err(Nowhere::Else(Misplaced::new(why)));
    }
    Ok(*by_id.entry(session.id).or_insert_with(|| {
        plan.places.push(Place {
            session: session.clone(),
            player: known.alias(session.player),
            rig: known.rig_name(session.rig),
            files: 0,
        });
        plan.places.len() - 1
    }))
}

/// What is stated of target and mass is not what a session has.
fn contradicts(session: &Session, stated: &Stated, whose: &str) -> Option<Misplaced> {
    if let (Some(a), Some(b)) = (&session.target, &stated.target)
        && a != b
    {
        return Some(Misplaced::new(format!("{whose} has target {a}, not {b}")));
    }
    match (session.mass_kg, stated.mass_kg) {
        (Some(a), Some(b)) if a != b => {
            Some(Misplaced::new(format!("{whose} has a body mass of {a} kg, not {b} kg")))
        }
        _ => None,
    }
}

impl Plan {
    /// The recordings that go nowhere.
    pub fn nowhere(&self) -> usize {
        let strangers = self.players.iter().chain(&self.rigs).map(|s| s.files.len()).sum::<usize>();
        strangers + self.undated.len() + self.misplaced.len()
    }

    /// For [`Study::import`], once [`Study::prepare`] has made what is needed.
    pub fn incoming(&self) -> Vec<Incoming> {
        let incoming = |placed: &Placed| {
            let session = &self.places.get(placed.place)?.session;
            let stated = &placed.stated;
            let day = stated.date.as_ref().or(session.date.as_ref());
            let at = day.zip(stated.time.as_ref()).map(|(day, time)| format!("{day}T{time}"));
            Some(Incoming {
                number: stated.number,
                club: stated.club.clone().unwrap_or_default(),
                recorded_at: at,
                tags: stated.tags.clone(),
                note: stated.note.clone().unwrap_or_default(),
                ..Incoming::new(&placed.path, session.id)
            })
        };
        self.placed.iter().filter_map(incoming).collect()
    }
}
