//! Which swings are meant: every filter a face offers, in one value.
use crate::error::StudyError;
use crate::people::key;
use crate::study::Study;
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

/// A condition on a metric.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Condition {
    /// Id of the metric.
    pub metric: String,
    /// How it is compared.
    pub is: Comparison,
    /// With what: SI, or, where `by_weight`, as a multiple of body weight.
    pub value: f64,
    /// True where the figure over body weight is meant.
    pub by_weight: bool,
}

/// How a figure is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Comparison {
    /// Less than.
    Less,
    /// At most.
    AtMost,
    /// More than.
    More,
    /// At least.
    AtLeast,
}

impl Comparison {
    /// As SQL and people write it.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Less => "<",
            Self::AtMost => "<=",
            Self::More => ">",
            Self::AtLeast => ">=",
        }
    }
}

/// A condition in SQL over `swing w`, `session s`, `player p` and the usual `measurement m` (which may be missing), with its values.
pub(crate) struct Where {
    /// "1" or conditions joined by AND.
    pub text: String,
    /// In the order of their `?`.
    pub values: Vec<Box<dyn ToSql>>,
}

impl Selection {
    /// Only these swings.
    pub fn of(swings: &[i64]) -> Self {
        Self { swings: swings.to_vec(), ..Self::default() }
    }

    /// As SQL.
    ///
    /// Errors: names that are in the study nowhere, with the nearest.
    pub(crate) fn condition(&self, study: &Study, basis: i64) -> Result<Where, StudyError> {
        let mut parts: Vec<String> = Vec::new();
        let mut values: Vec<Box<dyn ToSql>> = Vec::new();
        let mut any = |text: &str, list: Vec<Box<dyn ToSql>>| {
            if !list.is_empty() {
                parts.push(format!("{text} IN ({})", vec!["?"; list.len()].join(",")));
                values.extend(list);
            }
        };
        let boxed = |n: &i64| Box::new(*n) as Box<dyn ToSql>;
        any("w.id", self.swings.iter().map(boxed).collect());
        any("s.id", self.sessions.iter().map(boxed).collect());
        let mut players = Vec::new();
        for alias in &self.players {
            players.push(boxed(&study.player_called(alias)?.id));
        }
        any("p.id", players);
        let mut rigs = Vec::new();
        for name in &self.rigs {
            rigs.extend(study.rig_called(name)?.first().map(|v| boxed(&v.rig)));
        }
        any("s.rig", rigs);
        any("lower(w.club)", self.clubs.iter().map(|c| Box::new(key(c)) as Box<dyn ToSql>).collect());
        let mut also = |text: &str, value: Option<Box<dyn ToSql>>| {
            parts.push(text.to_string());
            values.extend(value);
        };
        if let Some(day) = &self.from {
            also("s.date >= ?", Some(Box::new(crate::date::day(day)?)));
        }
        if let Some(day) = &self.to {
            also("s.date <= ?", Some(Box::new(crate::date::day(day)?)));
        }
        if let Some(feet) = self.feet {
            also("m.feet = ?", Some(Box::new(feet)));
        }
        if self.no_stops {
            also("m.stops = 0", None);
        }
        for tag in &self.tags {
            also(
                "EXISTS (SELECT 1 FROM tag WHERE tag.swing = w.id AND tag.word = ?)",
                Some(Box::new(tag.clone())),
            );
        }
        if !self.findings.is_empty() {
            let list = vec!["?"; self.findings.len()].join(",");
            also(
                &format!("w.id IN (SELECT swing FROM finding WHERE basis = {basis} AND code IN ({list}))"),
                None,
            );
            values.extend(self.findings.iter().map(|c| Box::new(c.to_uppercase()) as Box<dyn ToSql>));
        }
        for condition in &self.metrics {
            let metric = study.metric_number(&condition.metric)?;
            let column = if condition.by_weight { "by_weight" } else { "value" };
            let sign = condition.is.sign();
            parts.push(format!(
                "w.id IN (SELECT swing FROM figure WHERE metric = {metric} AND basis = {basis} AND {column} {sign} ?)"
            ));
            values.push(Box::new(condition.value));
        }
        let text = if parts.is_empty() { "1".to_string() } else { parts.join(" AND ") };
        Ok(Where { text, values })
    }
}

/// The tables that [`Selection::condition`] speaks of; `{basis}` is put in by [`from`].
pub(crate) fn from(basis: i64) -> String {
    format!(
        "FROM swing w JOIN session s ON s.id = w.session JOIN player p ON p.id = s.player
         LEFT JOIN measurement m ON m.basis = {basis} AND m.swing = w.id"
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

    /// The number of a metric's rows.
    ///
    /// Errors: a metric that is not in the catalogue, with the nearest that is.
    pub(crate) fn metric_number(&self, name: &str) -> Result<i64, StudyError> {
        use rusqlite::OptionalExtension as _;
        let found: Option<i64> =
            self.db.query_row("SELECT id FROM metric WHERE name = ?1", [name], |r| r.get(0)).optional()?;
        if let Some(id) = found {
            return Ok(id);
        }
        let known = swing::metrics::catalogue();
        match known.iter().any(|m| m.id == name) {
            // In the catalogue, but nothing has been measured yet.
            true => Ok(-1),
            false => Err(crate::people::near("metric", name, known.iter().map(|m| m.id.as_str()))),
        }
    }
}
