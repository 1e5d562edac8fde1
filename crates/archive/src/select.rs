//! Which swings are meant: every filter a face offers, in one value.
use crate::condition::{Condition, metric_called};
use crate::error::StudyError;
use crate::people::{key, near};
use crate::study::Study;
use mechanics::finding::CATALOGUE;
use rusqlite::ToSql;
use serde::Serialize;

/// A choice of swings: those to which everything stated applies. Empty: all.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Selection {
    /// Swing numbers.
    pub swings: Vec<i64>,
    /// Aliases, whatever the case.
    pub players: Vec<String>,
    /// Session numbers.
    pub sessions: Vec<i64>,
    /// Clubs, whatever the case.
    pub clubs: Vec<String>,
    /// First day.
    pub from: Option<String>,
    /// Last day.
    pub to: Option<String>,
    /// 1: feet on one plate, net accounts only; 2: a plate for each foot.
    pub feet: Option<u8>,
    /// Rig names, whatever the case.
    pub rigs: Vec<String>,
    /// Codes of findings of which a swing has at least one.
    pub findings: Vec<String>,
    /// Only swings without a finding of severity stop.
    pub no_stops: bool,
    /// Tags, all of which a swing has.
    pub tags: Vec<String>,
    /// Conditions on metrics, all of which hold.
    pub metrics: Vec<Condition>,
}

/// A condition in SQL over `swing w`, `session s`, `player p` and the usual `measurement m` (which may be missing), with its values.
pub(crate) struct Where {
    /// "1" or conditions joined by AND.
    pub text: String,
    /// In the order of their `?`.
    pub values: Vec<Box<dyn ToSql>>,
}

impl Where {
    fn also(&mut self, text: &str, values: impl IntoIterator<Item = Box<dyn ToSql>>) {
        self.text.push_str(" AND ");
        self.text.push_str(text);
        self.values.extend(values);
    }

    /// One of a list, where there is a list. `{}` in the text is where it goes.
    fn any(&mut self, text: &str, list: Vec<Box<dyn ToSql>>) {
        if !list.is_empty() {
            let marks = vec!["?"; list.len()].join(",");
            self.also(&text.replace("{}", &marks), list);
        }
    }

    /// One of a list of numbers, where there is a list: one value however long it is, since SQLite counts its values.
    fn any_number(&mut self, column: &str, list: &[i64]) {
        if !list.is_empty() {
            let numbers: Vec<String> = list.iter().map(i64::to_string).collect();
            let text = format!("{column} IN (SELECT value FROM json_each(?))");
            self.also(&text, [boxed(format!("[{}]", numbers.join(",")))]);
        }
    }
}

fn boxed<T: ToSql + 'static>(value: T) -> Box<dyn ToSql> {
    Box::new(value)
}

impl Selection {
    /// Only these swings.
    pub fn of(swings: &[i64]) -> Self {
        Self { swings: swings.to_vec(), ..Self::default() }
    }

    /// True where nothing is asked of swings that would lead to few of them: sessions are walked then.
    pub(crate) fn by_sessions(&self) -> bool {
        let Self { swings, clubs, findings, tags, metrics, .. } = self;
        let words = [clubs, findings, tags];
        swings.is_empty() && metrics.is_empty() && words.iter().all(|w| w.is_empty())
    }

    /// As SQL.
    ///
    /// Errors: names that are in the study nowhere, with the nearest.
    pub(crate) fn condition(&self, study: &Study, basis: i64) -> Result<Where, StudyError> {
        let mut all = Where { text: "1".to_string(), values: Vec::new() };
        all.any_number("w.id", &self.swings);
        all.any_number("s.id", &self.sessions);
        let mut players = Vec::new();
        for alias in &self.players {
            players.push(boxed(study.player_called(alias)?.id));
        }
        all.any("s.player IN ({})", players);
        let mut rigs = Vec::new();
        for name in &self.rigs {
            rigs.extend(study.rig_called(name)?.first().map(|v| boxed(v.rig)));
        }
        all.any("s.rig IN ({})", rigs);
        all.any("w.club IN ({})", study.spellings("club", &self.clubs)?);
        if let Some(day) = &self.from {
            all.also("s.date >= ?", [boxed(crate::date::day(day)?)]);
        }
        if let Some(day) = &self.to {
            all.also("s.date <= ?", [boxed(crate::date::day(day)?)]);
        }
        for tag in &self.tags {
            let spelled = study.spellings("tag", std::slice::from_ref(tag))?;
            all.any("w.id IN (SELECT swing FROM tag WHERE word IN ({}))", spelled);
        }
        self.measured(study, basis, &mut all)?;
        Ok(all)
    }

    /// What is asked of the measurement.
    fn measured(&self, study: &Study, basis: i64, all: &mut Where) -> Result<(), StudyError> {
        if let Some(feet) = self.feet {
            all.also("m.feet = ?", [boxed(feet)]);
        }
        if self.no_stops {
            all.also("m.stops = 0", []);
        }
        let mut codes = Vec::new();
        for asked in &self.findings {
            let names = || CATALOGUE.iter().flat_map(|k| [k.code, k.name]);
            let kind = CATALOGUE
                .iter()
                .find(|k| k.code.eq_ignore_ascii_case(asked) || k.name.eq_ignore_ascii_case(asked));
            codes.push(boxed(kind.ok_or_else(|| near("finding", asked, names()))?.code));
        }
        let text = format!("w.id IN (SELECT swing FROM finding WHERE basis = {basis} AND code IN ({{}}))");
        all.any(&text, codes);
        for condition in &self.metrics {
            let metric = study.metric_number(&condition.metric)?;
            let column = if condition.by_weight { "by_weight" } else { "value" };
            let sign = condition.is.sign();
            let rows = format!("FROM figure WHERE metric = {metric} AND basis = {basis}");
            let text = format!("w.id IN (SELECT swing {rows} AND {column} {sign} ?)");
            all.also(&text, [boxed(condition.value)]);
        }
        Ok(())
    }
}

/// The tables that [`Selection::condition`] speaks of.
pub(crate) fn from(basis: i64) -> String {
    format!("FROM swing w JOIN session s ON s.id = w.session {}", beside(basis))
}

/// The same, walked session by session: in the order of their days, the first swings are found without looking at all.
/// (A CROSS JOIN is SQLite's way to be told which table leads.)
pub(crate) fn from_sessions(basis: i64) -> String {
    format!("FROM session s CROSS JOIN swing w ON w.session = s.id {}", beside(basis))
}

fn beside(basis: i64) -> String {
    format!(
        "JOIN player p ON p.id = s.player LEFT JOIN measurement m ON m.basis = {basis} AND m.swing = w.id"
    )
}

impl Study {
    /// Numbers of the swings chosen, by player, day, session and number.
    pub fn chosen(&self, selection: &Selection) -> Result<Vec<i64>, StudyError> {
        let (basis, _) = self.usual_basis()?;
        let condition = selection.condition(self, basis)?;
        let ask = format!(
            "SELECT w.id {} WHERE {} ORDER BY p.alias_key, s.date, s.id, w.number",
            from(basis),
            condition.text
        );
        let mut ask = self.db.prepare(&ask)?;
        let rows = ask.query_map(rusqlite::params_from_iter(condition.values.iter()), |r| r.get(0))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Clubs or tags as they are written in the study, of those asked for, whatever the case.
    ///
    /// Errors: one that no swing has, with the nearest that some have.
    fn spellings(&self, kind: &'static str, asked: &[String]) -> Result<Vec<Box<dyn ToSql>>, StudyError> {
        if asked.is_empty() {
            return Ok(Vec::new());
        }
        let all = self.words_of(kind)?;
        let mut found: Vec<Box<dyn ToSql>> = Vec::new();
        for one in asked {
            let same: Vec<&String> = all.iter().filter(|w| key(w) == key(one)).collect();
            if same.is_empty() {
                return Err(near(kind, one, all.iter().map(String::as_str)));
            }
            found.extend(same.into_iter().cloned().map(boxed));
        }
        Ok(found)
    }

    /// Every club, or every tag, that some swing has, in order. Each step of the walk is one look into the index, so that
    /// the cost follows the number of words, not of swings.
    pub(crate) fn words_of(&self, kind: &'static str) -> Result<Vec<String>, StudyError> {
        let (table, column) = if kind == "club" { ("swing", "club") } else { ("tag", "word") };
        let mut ask = self.db.prepare(&format!(
            "WITH RECURSIVE walk (here) AS (SELECT min({column}) FROM {table} UNION ALL
             SELECT (SELECT min({column}) FROM {table} WHERE {column} > here) FROM walk WHERE here IS NOT NULL)
             SELECT here FROM walk WHERE here <> ''"
        ))?;
        let rows = ask.query_map([], |r| r.get(0))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The number of a metric's rows.
    ///
    /// Errors: a metric that is not in the catalogue, with the nearest that is.
    pub(crate) fn metric_number(&self, name: &str) -> Result<i64, StudyError> {
        use rusqlite::OptionalExtension as _;
        let known = metric_called(name)?;
        let mut ask = self.db.prepare_cached("SELECT id FROM metric WHERE name = ?1")?;
        let found = ask.query_row([known.id.as_str()], |r| r.get(0)).optional()?;
        // In the catalogue, but nothing has been measured yet.
        Ok(found.unwrap_or(-1))
    }
}
