//! Everything that is kept of one swing: where it comes from, how it was measured, what came out.
use crate::again::EventKept;
use crate::error::StudyError;
use crate::keep;
use crate::outcomes::Outcome;
use crate::recipe::Mark;
use crate::study::Study;
use crate::wanted::edition;
use rusqlite::{OptionalExtension as _, params};
use serde::Serialize;
use swing::metrics::{Figure, Metric, catalogue};

/// One swing of a study.
#[derive(Clone, Debug, Serialize)]
pub struct Sheet {
    /// Number in the study.
    pub swing: i64,
    /// The player's alias.
    pub player: String,
    /// Session.
    pub session: i64,
    /// Its day.
    pub date: Option<String>,
    /// Number within the session.
    pub number: i64,
    /// Club.
    pub club: String,
    /// The file's name when it came in.
    pub file: String,
    /// Where the original lies, relative to the study.
    pub original: String,
    /// Its SHA-256.
    pub hash: String,
    /// Its size.
    pub bytes: i64,
    /// When it came in.
    pub imported_at: String,
    /// Free text.
    pub note: String,
    /// Tags, in order.
    pub tags: Vec<String>,
    /// Events placed by hand.
    pub marks: Vec<Mark>,
    /// How it was measured; `None` where it has not been.
    pub measured: Option<Provenance>,
    /// True where it is to be measured again: a rig, a player, a session or a setting has changed since.
    pub out_of_date: bool,
    /// What other instruments said of it.
    pub outcomes: Vec<Outcome>,
    /// Events, in order of time.
    pub events: Vec<EventKept>,
    /// Findings, in the order in which they were made.
    pub findings: Vec<FindingKept>,
}

/// How a measurement was made.
#[derive(Clone, Debug, Serialize)]
pub struct Provenance {
    /// When.
    pub at: String,
    /// Program and version.
    pub program: String,
    /// Edition of the methods.
    pub methods: String,
    /// True where that is this program's.
    pub methods_are_current: bool,
    /// What was decided, as kept.
    pub recipe: String,
    /// Its SHA-256.
    pub recipe_hash: String,
    /// Rig and version; `None`: as the recording says.
    pub rig: Option<String>,
    /// Why nothing could be measured.
    pub failed: Option<String>,
    /// 2: accounts for each foot; 1: net accounts only.
    pub feet: Option<u8>,
    /// N.
    pub body_weight_n: Option<f64>,
    /// "stated", "recording" or "standing".
    pub body_weight_from: Option<String>,
    /// Samples a second.
    pub rate_hz: Option<f64>,
    /// What was done to the plates.
    pub conditioning: Option<String>,
    /// Series, relative to the study.
    pub series: Option<String>,
}

/// A finding as it is kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FindingKept {
    /// Code.
    pub code: String,
    /// "stop", "doubt" or "note".
    pub severity: String,
    /// Plate, from 1.
    pub plate: Option<i64>,
    /// From, s.
    pub from_s: Option<f64>,
    /// To, s.
    pub to_s: Option<f64>,
    /// What was seen.
    pub seen: String,
    /// What to do.
    pub remedy: String,
}

/// A figure as it is kept, or why there is none.
#[derive(Clone, Debug)]
pub struct FigureKept {
    /// The row of the catalogue.
    pub metric: &'static Metric,
    /// The figure; what leads its uncertainty is beside it.
    pub figure: Result<Figure, String>,
    /// What leads its uncertainty, with its share of the variance.
    pub led_by: Option<(String, f64)>,
}

impl Study {
    /// A swing's sheet.
    pub fn sheet(&self, swing: i64) -> Result<Sheet, StudyError> {
        let _look = self.read()?;
        let (basis, _) = self.usual_basis()?;
        let found = self
            .db
            .prepare_cached(
                "SELECT w.id, p.alias, s.id, s.date, w.number, w.club, w.name, w.hash, w.ending, w.bytes, w.imported_at, w.note
                 FROM swing w JOIN session s ON s.id = w.session JOIN player p ON p.id = s.player WHERE w.id = ?1",
            )?
            .query_row([swing], |r| {
                let (hash, ending): (String, String) = (r.get(7)?, r.get(8)?);
                Ok(Sheet {
                    swing: r.get(0)?,
                    player: r.get(1)?,
                    session: r.get(2)?,
                    date: r.get(3)?,
                    number: r.get(4)?,
                    club: r.get(5)?,
                    file: r.get(6)?,
                    original: keep::original(&hash, &ending),
                    hash,
                    bytes: r.get(9)?,
                    imported_at: r.get(10)?,
                    note: r.get(11)?,
                    tags: Vec::new(),
                    marks: Vec::new(),
                    measured: None,
                    out_of_date: false,
                    outcomes: Vec::new(),
                    events: Vec::new(),
                    findings: Vec::new(),
                })
            })
            .optional()?;
        let mut sheet = found.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))?;
        let mut ask = self.db.prepare_cached("SELECT word FROM tag WHERE swing = ?1 ORDER BY word")?;
        sheet.tags = ask.query_map([swing], |r| r.get(0))?.collect::<Result<_, _>>()?;
        sheet.marks = self.marks_of(Some(&[swing]))?.remove(&swing).unwrap_or_default();
        sheet.measured = self.provenance(basis, swing)?;
        sheet.out_of_date = !self.stale_among(basis, Some(&[swing]), false)?.is_empty();
        sheet.outcomes = self.outcomes_of(&[swing])?;
        sheet.events = self.events_of(swing)?;
        sheet.findings = self.findings_of(basis, swing)?;
        Ok(sheet)
    }

    fn provenance(&self, basis: i64, swing: i64) -> Result<Option<Provenance>, StudyError> {
        let ask =
            "SELECT m.measured_at, k.program, k.methods, r.text, r.hash, g.name, v.version, m.failed, m.feet,
             m.body_weight_n, m.body_weight_from, m.rate_hz, m.conditioning, m.series
             FROM measurement m JOIN maker k ON k.id = m.maker JOIN recipe r ON r.id = m.recipe
             LEFT JOIN rig_version v ON v.id = m.rig_version LEFT JOIN rig g ON g.id = v.rig
             WHERE m.basis = ?1 AND m.swing = ?2";
        let found = self.db.prepare_cached(ask)?.query_row(params![basis, swing], |r| {
            let methods: String = r.get(2)?;
            let (rig, version): (Option<String>, Option<i64>) = (r.get(5)?, r.get(6)?);
            Ok(Provenance {
                at: r.get(0)?,
                program: r.get(1)?,
                methods_are_current: methods == edition(),
                methods,
                recipe: r.get(3)?,
                recipe_hash: r.get(4)?,
                rig: rig.zip(version).map(|(name, version)| format!("{name}, version {version}")),
                failed: r.get(7)?,
                feet: r.get(8)?,
                body_weight_n: r.get(9)?,
                body_weight_from: r.get(10)?,
                rate_hz: r.get(11)?,
                conditioning: r.get(12)?,
                series: r.get::<_, Option<String>>(13)?.map(|name| keep::derived(&name)),
            })
        });
        Ok(found.optional()?)
    }

    fn findings_of(&self, basis: i64, swing: i64) -> Result<Vec<FindingKept>, StudyError> {
        let mut ask = self.db.prepare_cached(
            "SELECT code, severity, plate, from_s, to_s, seen, remedy FROM finding WHERE basis = ?1 AND swing = ?2
             ORDER BY number",
        )?;
        let rows = ask.query_map(params![basis, swing], |r| {
            Ok(FindingKept {
                code: r.get(0)?,
                severity: r.get(1)?,
                plate: r.get(2)?,
                from_s: r.get(3)?,
                to_s: r.get(4)?,
                seen: r.get(5)?,
                remedy: r.get(6)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Figures of a swing on a basis, in the order of this program's catalogue; metrics that were not known when it was
    /// measured are left out.
    pub fn figures_of(&self, basis: i64, swing: i64) -> Result<Vec<FigureKept>, StudyError> {
        let mut ask = self.db.prepare_cached(
            "SELECT f.value, f.u, f.by_weight, f.by_weight_u, f.at_s, l.text, f.led_share, f.estimated, t.text, a.text
             FROM metric m JOIN figure f ON f.metric = m.id AND f.basis = ?2 AND f.swing = ?3
             LEFT JOIN phrase l ON l.id = f.led_by LEFT JOIN phrase t ON t.id = f.touched
             LEFT JOIN phrase a ON a.id = f.absent WHERE m.name = ?1",
        )?;
        let mut kept = Vec::with_capacity(catalogue().len());
        for metric in catalogue() {
            let row = ask.query_row(params![metric.id, basis, swing], |r| figure(metric, r)).optional()?;
            kept.extend(row);
        }
        Ok(kept)
    }
}

fn figure(metric: &'static Metric, r: &rusqlite::Row<'_>) -> rusqlite::Result<FigureKept> {
    let (weight, weight_u): (Option<f64>, Option<f64>) = (r.get(2)?, r.get(3)?);
    let (led, share): (Option<String>, Option<f64>) = (r.get(5)?, r.get(6)?);
    let touched: Option<String> = r.get(8)?;
    let codes = touched.unwrap_or_default();
    let known = |code: &str| mechanics::finding::CATALOGUE.iter().find(|k| k.code == code).map(|k| k.code);
    let value: Option<f64> = r.get(0)?;
    let figure = match value {
        None => Err(r.get::<_, Option<String>>(9)?.unwrap_or_else(|| "it is not defined there".into())),
        Some(value) => Ok(Figure {
            value,
            u: r.get::<_, Option<f64>>(1)?.unwrap_or(f64::NAN),
            by_weight: weight.map(|w| (w, weight_u.unwrap_or(f64::NAN))),
            at_s: r.get(4)?,
            sample: None,
            dominant: None,
            estimated: r.get::<_, Option<i64>>(7)?.is_some(),
            touched_by: codes.split(' ').filter_map(known).collect(),
        }),
    };
    Ok(FigureKept { metric, figure, led_by: led.zip(share) })
}
