//! What every swing is to be measured with, as the catalogue stands now; and which measurements were made with
//! something else. Whatever was changed (a rig, a player's hand, an event, a setting), this is the one rule of what follows.
use crate::error::StudyError;
use crate::keep;
use crate::make::{Made, make};
use crate::recipe::{Basis, Mark, Recipe};
use crate::rigs::{RigVersion, holding};
use crate::study::Study;
use formats::rigfile::RigFile;
use rusqlite::{OptionalExtension as _, params};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use swing::metrics::catalogue;

/// A swing with what it is to be measured with.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Its number.
    pub swing: i64,
    /// Its session.
    pub session: i64,
    /// SHA-256 of the original.
    pub hash: String,
    /// Its ending.
    pub ending: String,
    /// The file's name when it came in.
    pub name: String,
    /// What was decided.
    pub recipe: Recipe,
    /// The rig, read once for all swings that share it.
    pub rig: Option<Rig>,
}

impl Wanted {
    /// Whether another was to be measured with the same.
    pub(crate) fn same(&self, other: &Self) -> bool {
        let version = |w: &Self| w.rig.as_ref().map(|r| r.version);
        self.recipe == other.recipe && version(self) == version(other)
    }
}

/// A version of a rig, read.
#[derive(Clone, Debug)]
pub struct Rig {
    /// Its row.
    pub version: i64,
    /// SHA-256 of its text.
    pub hash: String,
    /// As written; or, in words, why that cannot be read any more.
    pub file: Result<Arc<RigFile>, String>,
}

/// Rigs of a study, read once.
#[derive(Debug, Default)]
pub struct Rigs {
    versions: BTreeMap<i64, Vec<RigVersion>>,
    read: BTreeMap<i64, Rig>,
}

impl Rigs {
    /// All rigs of a study. One whose text is altered or lost is there too: only what needs it fails.
    pub fn of(study: &Study) -> Result<Self, StudyError> {
        let mut rigs = Self::default();
        for version in study.rigs()? {
            let rig =
                Rig { version: version.id, hash: version.hash.clone(), file: sound(&version).map(Arc::new) };
            rigs.read.insert(version.id, rig);
            rigs.versions.entry(version.rig).or_default().push(version);
        }
        Ok(rigs)
    }

    /// The version of a rig that a session of a day is read by. A rig has one for every day; where it has none, that is lost.
    pub fn on(&self, rig: Option<i64>, date: Option<&str>) -> Option<Rig> {
        let versions = self.versions.get(&rig?).map_or(&[][..], Vec::as_slice);
        let found = holding(versions, date).and_then(|version| self.read.get(&version.id)).cloned();
        let lost = || Rig {
            version: 0,
            hash: String::new(),
            file: Err(format!("the text of the session's rig is lost: {GIVE_AGAIN}")),
        };
        Some(found.unwrap_or_else(lost))
    }
}

const GIVE_AGAIN: &str = "give the rig file again with `underfoot rig add NAME FILE --corrects`";

/// The rig file of a version whose text is what it was.
fn sound(version: &RigVersion) -> Result<RigFile, String> {
    if keep::hash(version.text.as_bytes()) != version.hash {
        let (name, number) = (&version.name, version.version);
        return Err(format!("the text of rig {name}, version {number}, is not what it was: {GIVE_AGAIN}"));
    }
    version.file().map_err(|e| e.to_string())
}

/// The edition of the methods that this program measures with: the catalogue of metrics, word by word, and a number that
/// is raised whenever a figure may come out otherwise.
pub fn edition() -> &'static str {
    static EDITION: OnceLock<String> = OnceLock::new();
    EDITION.get_or_init(|| {
        let mut all = String::new();
        for m in catalogue() {
            for part in [m.id.as_str(), &m.definition, &m.formula, m.unit.symbol()] {
                all.push_str(part);
                all.push('\n');
            }
        }
        let catalogue = keep::hash(all.as_bytes());
        format!("methods {}, catalogue {}", swing::EDITION, catalogue.get(..12).unwrap_or_default())
    })
}

impl Wanted {
    /// Reads the original and measures it. A rig that does not fit it is a result without figures, as is whatever else cannot
    /// be measured.
    ///
    /// Errors: an original that is gone or damaged, or a rig's text that is, in words.
    pub fn measure(&self, root: &Path, basis: &Basis, series: bool) -> Result<Made, String> {
        self.rig_file()?;
        let path = self.path(root);
        let bytes = std::fs::read(&path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
        if keep::hash(&bytes) != self.hash {
            return Err(format!("{} is damaged: its content is not what it was", path.display()));
        }
        let made = self.measure_bytes(&bytes, basis, series);
        Ok(made.unwrap_or_else(|why| Made { failed: Some(why), ..Made::default() }))
    }

    /// Measures bytes that are known to be the original's.
    ///
    /// Errors: bytes that are no recording, or a rig that does not fit them, in words.
    pub fn measure_bytes(&self, bytes: &[u8], basis: &Basis, series: bool) -> Result<Made, String> {
        let rig = self.rig_file()?;
        make(&self.name, bytes, rig, &self.recipe, basis, series).map_err(|e| e.to_string())
    }

    /// The rig file over it, if any. The error: its text is altered or lost.
    pub fn rig_file(&self) -> Result<Option<&RigFile>, String> {
        let file = self.rig.as_ref().map(|r| r.file.as_deref().map_err(Clone::clone));
        file.transpose()
    }

    /// Where the original lies.
    pub fn path(&self, root: &Path) -> PathBuf {
        root.join(keep::original(&self.hash, &self.ending))
    }
}

impl Study {
    /// How swings are looked at unless another way is asked for: as recorded, about the study's point. Gives its row.
    pub fn usual_basis(&self) -> Result<(i64, Basis), StudyError> {
        let basis = Basis { collapse: false, about: self.settings.point()? };
        Ok((self.basis_id(&basis)?, basis))
    }

    /// The row of a way to look, made where it is new.
    pub fn basis_id(&self, basis: &Basis) -> Result<i64, StudyError> {
        let about = basis.about.to_string();
        let ask = "SELECT id FROM basis WHERE collapse = ?1 AND about = ?2";
        let found = self.db.query_row(ask, params![basis.collapse, about], |r| r.get(0)).optional()?;
        if let Some(id) = found {
            return Ok(id);
        }
        if self.read_only() {
            // Nothing has been looked at in this way.
            return Ok(0);
        }
        self.db.execute(
            "INSERT OR IGNORE INTO basis (collapse, about) VALUES (?1, ?2)",
            params![basis.collapse, about],
        )?;
        Ok(self.db.query_row(ask, params![basis.collapse, about], |r| r.get(0))?)
    }

    /// Every way in which swings have been looked at.
    pub fn bases(&self) -> Result<Vec<(i64, Basis)>, StudyError> {
        let mut ask = self.db.prepare_cached("SELECT id, collapse, about FROM basis ORDER BY id")?;
        let rows = ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get::<_, String>(2)?)))?;
        let mut bases = Vec::new();
        for row in rows {
            let (id, collapse, about) = row?;
            let about = about.parse().map_err(StudyError::Damaged)?;
            bases.push((id, Basis { collapse, about }));
        }
        Ok(bases)
    }

    /// What swings are to be measured with: all, or those of a list, in order of their numbers.
    pub fn wanted(&self, only: Option<&[i64]>) -> Result<Vec<Wanted>, StudyError> {
        let look = self.read()?;
        let sessions = self.recipes(only)?;
        let marks = self.marks_of(only)?;
        let mut ask = look.prepare(&format!(
            "SELECT id, session, hash, ending, name FROM swing {} ORDER BY id",
            within("id", only)
        ))?;
        let rows = ask.query_map([], |r| {
            Ok((r.get::<_, i64>(0)?, r.get::<_, i64>(1)?, r.get(2)?, r.get(3)?, r.get(4)?))
        })?;
        let mut all = Vec::new();
        for row in rows {
            let (swing, session, hash, ending, name) = row?;
            // A swing's session is there while it is: one look, one instant.
            let Some((recipe, rig)) = sessions.get(&session) else { continue };
            let marks = marks.get(&swing).cloned().unwrap_or_default();
            let recipe = Recipe { marks, ..recipe.clone() };
            all.push(Wanted { swing, session, hash, ending, name, recipe, rig: rig.clone() });
        }
        Ok(all)
    }

    /// What the swings of each session are measured with, but for events placed by hand: all sessions, or those of a list
    /// of swings.
    fn recipes(&self, only: Option<&[i64]>) -> Result<BTreeMap<i64, (Recipe, Option<Rig>)>, StudyError> {
        let rigs = Rigs::of(self)?;
        let these = match within("id", only) {
            whole if whole.is_empty() => whole,
            some => format!("WHERE s.id IN (SELECT session FROM swing {some})"),
        };
        let mut ask = self.db.prepare(&format!(
            "SELECT s.id, s.rig, s.date, s.target, s.mass_kg, s.club_marker, p.hand
             FROM session s JOIN player p ON p.id = s.player {these}"
        ))?;
        let rows = ask.query_map([], |r| {
            let (rig, date): (Option<i64>, Option<String>) = (r.get(1)?, r.get(2)?);
            let rig = rigs.on(rig, date.as_deref());
            let recipe = Recipe {
                rig: rig.as_ref().map(|r| r.hash.clone()),
                target: r.get(3)?,
                hand: r.get(6)?,
                mass_kg: r.get(4)?,
                club_marker: r.get(5)?,
                estimates: self.settings.estimates,
                marks: Vec::new(),
            };
            Ok((r.get(0)?, (recipe, rig)))
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Events placed by hand, swing by swing.
    pub(crate) fn marks_of(&self, only: Option<&[i64]>) -> Result<BTreeMap<i64, Vec<Mark>>, StudyError> {
        let mut ask = self.db.prepare(&format!(
            "SELECT swing, event, time_s, u_s FROM mark {} ORDER BY swing, time_s, event",
            within("swing", only)
        ))?;
        let rows = ask.query_map([], |r| {
            Ok((r.get(0)?, Mark { event: r.get(1)?, time_s: r.get(2)?, u_s: r.get(3)? }))
        })?;
        let mut marks: BTreeMap<i64, Vec<Mark>> = BTreeMap::new();
        for row in rows {
            let (swing, mark) = row?;
            marks.entry(swing).or_default().push(mark);
        }
        Ok(marks)
    }

    /// Swings whose measurement on a basis is missing or was made with something else than is wanted now. Those made by
    /// other methods count only where `methods` asks for them.
    pub fn stale(&self, basis: i64, methods: bool) -> Result<Vec<Wanted>, StudyError> {
        // What is wanted and what was made of one instant: in between, another program may change both.
        let _look = self.read()?;
        let numbers = self.stale_among(basis, None, methods)?;
        if numbers.is_empty() { Ok(Vec::new()) } else { self.wanted(Some(&numbers)) }
    }

    /// Numbers of the [`stale`](Self::stale) swings, of all or of a list.
    ///
    /// Recipes are kept once, so that only their numbers are compared; what is wanted is the same for all swings of a
    /// session, but for those with an event placed by hand.
    pub fn stale_among(
        &self,
        basis: i64,
        only: Option<&[i64]>,
        methods: bool,
    ) -> Result<Vec<i64>, StudyError> {
        /// Beyond so many, all are looked through: a longer list takes longer to read than the rows.
        const FEW: usize = 1000;
        if let Some(list) = only.filter(|list| list.len() > FEW) {
            let mut list = list.to_vec();
            list.sort_unstable();
            let mut all = self.stale_among(basis, None, methods)?;
            all.retain(|swing| list.binary_search(swing).is_ok());
            return Ok(all);
        }
        let look = self.read()?;
        let number = |recipe: &Recipe| -> Result<Option<i64>, StudyError> {
            let hash = keep::hash(recipe.text()?.as_bytes());
            let mut ask = look.prepare_cached("SELECT id FROM recipe WHERE hash = ?1")?;
            Ok(ask.query_row([hash], |r| r.get(0)).optional()?)
        };
        let sessions = self.recipes(only)?;
        let mut of_session = BTreeMap::new();
        for (session, (recipe, _)) in &sessions {
            of_session.insert(*session, number(recipe)?);
        }
        let mut of_swing = BTreeMap::new();
        let mut marks = self.marks_of(only)?;
        let mut ask = look.prepare_cached("SELECT id FROM maker WHERE methods = ?1")?;
        let makers: Vec<i64> = ask.query_map([edition()], |r| r.get(0))?.collect::<Result<_, _>>()?;
        let mut ask = look.prepare(&format!(
            "SELECT w.id, w.session, m.recipe, m.maker, m.rig_version
             FROM swing w LEFT JOIN measurement m ON m.basis = ?1 AND m.swing = w.id {} ORDER BY w.id",
            within("w.id", only)
        ))?;
        let mut rows = ask.query([basis])?;
        let mut stale = Vec::new();
        while let Some(row) = rows.next()? {
            let (swing, session): (i64, i64) = (row.get(0)?, row.get(1)?);
            let (made, maker): (Option<i64>, Option<i64>) = (row.get(2)?, row.get(3)?);
            if let (Some(marks), Some((recipe, _))) = (marks.remove(&swing), sessions.get(&session)) {
                of_swing.insert(swing, number(&Recipe { marks, ..recipe.clone() })?);
            }
            let wanted = of_swing.get(&swing).or_else(|| of_session.get(&session)).copied().flatten();
            // Another rig may have the same text: its name and version stand beside the figures.
            let (version, rig): (Option<i64>, _) = (row.get(4)?, sessions.get(&session).map(|(_, rig)| rig));
            let rig = rig.and_then(|rig| rig.as_ref()).map(|rig| rig.version);
            let same = made.is_some() && made == wanted && version == rig;
            if !same || (methods && !maker.is_some_and(|m| makers.contains(&m))) {
                stale.push(swing);
            }
        }
        Ok(stale)
    }

    /// How many measurements were made by other methods than this program's.
    pub fn made_otherwise(&self) -> Result<i64, StudyError> {
        let ask =
            "SELECT count(*) FROM measurement WHERE maker IN (SELECT id FROM maker WHERE methods <> ?1)";
        Ok(self.db.query_row(ask, [edition()], |r| r.get(0))?)
    }
}

/// A condition that keeps to a list of numbers.
pub(crate) fn within(column: &str, only: Option<&[i64]>) -> String {
    match only {
        None => String::new(),
        Some(list) => {
            let numbers: Vec<String> = list.iter().map(i64::to_string).collect();
            format!("WHERE {column} IN ({})", numbers.join(","))
        }
    }
}
