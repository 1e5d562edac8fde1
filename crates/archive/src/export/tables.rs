//! The tables of an export: what each row is, what its columns are, and how tables hang together. Every format is made from
//! these.
//!
//! Each reads `chosen` (swings), `chosen_session`, `chosen_player`, `chosen_rig` or `words` (metrics), which
//! [`super::look`] fills.
use super::bare;
use super::field::Kind::{Boolean, Date, Instant, Integer, Number};
use super::field::{Column, Field, measured, of, text};

/// A table.
#[derive(Debug)]
pub struct Table {
    /// Name, and the name of its file.
    pub name: &'static str,
    /// For people.
    pub title: &'static str,
    /// What one row is.
    pub what: &'static str,
    /// Who may have it.
    pub given: Given,
    /// In SQL: where the rows come from; `{basis}` is the way the swings are looked at.
    pub from: &'static str,
    /// In SQL: the order of the rows. Empty: the order in which `from` walks, where sorting millions would need room.
    pub order: &'static str,
    /// In SQL: the number of a row, and the number of what it belongs to.
    pub id: &'static str,
    /// In SQL: the number of what the row belongs to; empty where it belongs to nothing.
    pub within: &'static str,
    /// Columns.
    pub columns: &'static [Column],
    /// Columns that together name a row.
    pub key: &'static [&'static str],
    /// Columns that name a row of another table.
    pub refers: &'static [(&'static [&'static str], &'static str)],
}

/// When a table is part of an export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Given {
    /// Always.
    Always,
    /// Not without identity: people write what they like there.
    Named,
    /// Only where names are asked for.
    Asked,
}

const PLAYER: &str = "printf('player-%02d', p.id)";
const RIG: &str = "CASE WHEN r.id IS NOT NULL THEN printf('rig-%02d', r.id) END";

/// Everything there is.
pub static TABLES: &[Table] = &[
    Table {
        name: "players",
        title: "Players",
        what: "One row a player.",
        given: Given::Always,
        from: "chosen_player c JOIN player p ON p.id = c.player",
        order: "p.id",
        id: "p.id",
        within: "",
        columns: &[
            text("player", "p.alias", "What the player is called here").or(PLAYER),
            text("hand", "p.hand", "Plays right- or left-handed; empty: not stated"),
            text("sex", "p.sex", "In the practice's words").through(bare::sex),
            of(
                Number,
                "handicap",
                "p.handicap",
                "Handicap index; below 0 is better than scratch. Without identity in whole strokes",
            )
            .or("round(p.handicap)"),
            of(Integer, "born", "p.born", "Year of birth").named(),
            of(Date, "consent_on", "p.consent_on", "Day on which the player agreed").named(),
            text("consent_to", "p.consent_to", "To what").named(),
            of(Date, "keep_until", "p.keep_until", "Last day on which the recordings are to be kept").named(),
            text("note", "p.note", "Free text").named(),
        ],
        key: &["player"],
        refers: &[],
    },
    Table {
        name: "identity",
        title: "Names",
        what: "One row a player whose name somebody wrote down. Part of an export only where it is asked for.",
        given: Given::Asked,
        from: "chosen_player c JOIN player p ON p.id = c.player JOIN identity i ON i.player = p.id",
        order: "p.id",
        id: "p.id",
        within: "p.id",
        columns: &[
            text("player", "p.alias", "Alias"),
            text("name", "i.name", "Name"),
            text("contact", "i.contact", "How to reach them"),
        ],
        key: &["player"],
        refers: &[(&["player"], "players")],
    },
    Table {
        name: "rigs",
        title: "Rigs",
        what: "One row a version of a description of the plates.",
        given: Given::Always,
        from: "chosen_rig c JOIN rig_version v ON v.id = c.version JOIN rig r ON r.id = v.rig",
        order: "r.id, v.version",
        id: "v.id",
        within: "",
        columns: &[
            text("rig", "r.name", "Name").or(RIG),
            of(Integer, "version", "v.version", "Version, from 1"),
            of(Date, "from_date", "v.from_date", "First day it holds; empty: since ever").named(),
            text("text_sha256", "v.hash", "SHA-256 of the rig file"),
            text("text", "v.text", "The rig file, in TOML").named(),
            of(Instant, "added_at", "v.added_at", "When it was added").named(),
        ],
        key: &["rig", "version"],
        refers: &[],
    },
    Table {
        name: "sessions",
        title: "Sessions",
        what: "One row a session: one player, one day, one rig.",
        given: Given::Always,
        from: "chosen_session c JOIN session s ON s.id = c.session JOIN player p ON p.id = s.player \
               LEFT JOIN rig r ON r.id = s.rig LEFT JOIN chosen_player d ON d.player = p.id",
        order: "s.id",
        id: "s.id",
        within: "s.player",
        columns: &[
            of(Integer, "session", "s.id", "Number in the study"),
            text("player", "p.alias", "Player").or(PLAYER),
            of(Date, "date", "s.date", "Day").named(),
            of(
                Integer,
                "day",
                "CAST(julianday(s.date) - julianday(d.first_day) AS INTEGER)",
                "Days since the player's first session in the study (0: that session)",
            ),
            text("rig", "r.name", "Rig; empty: the recordings describe their plates themselves").or(RIG),
            text("target", "s.target", "Target in laboratory axes; empty: the rig's").named(),
            measured("mass_kg", "kg", "s.mass_kg", "Body mass on that day, as stated"),
            text("club_marker", "s.club_marker", "Label of the marker on the clubhead").named(),
            text("place", "s.place", "Where").named(),
            text("note", "s.note", "Free text").named(),
            of(Instant, "added_at", "s.added_at", "When it was added").named(),
        ],
        key: &["session"],
        refers: &[(&["player"], "players")],
    },
    Table {
        name: "swings",
        title: "Swings",
        what: "One row a swing: one recording, and what its figures rest on.",
        given: Given::Always,
        from: "chosen c JOIN swing w ON w.id = c.swing JOIN session s ON s.id = w.session \
               JOIN player p ON p.id = s.player LEFT JOIN measurement m ON m.basis = {basis} AND m.swing = w.id \
               LEFT JOIN maker k ON k.id = m.maker LEFT JOIN recipe q ON q.id = m.recipe \
               LEFT JOIN rig_version v ON v.id = m.rig_version LEFT JOIN rig r ON r.id = v.rig",
        order: "w.id",
        id: "w.id",
        within: "w.session",
        columns: &[
            of(Integer, "swing", "w.id", "Number in the study"),
            of(Integer, "session", "w.session", "Session"),
            text("player", "p.alias", "Player").or(PLAYER),
            of(Integer, "number", "w.number", "Number within the session"),
            text("club", "w.club", "Club. Without identity only where it is a club's usual name")
                .through(bare::club),
            text(
                "plates",
                "CASE m.feet WHEN 2 THEN 'two' WHEN 1 THEN 'one' END",
                "two: a plate for each foot; one: both feet on one plate; empty: not measured",
            ),
            text(
                "accounts",
                "CASE m.feet WHEN 2 THEN 'net, lead and trail' WHEN 1 THEN 'net' END",
                "Which accounts the swing supports: what is compared with one-plate swings must be net",
            ),
            of(Integer, "loaded_plates", "m.plates", "Plates that carried a foot"),
            text("hand", "m.hand", "Handedness it was measured with"),
            measured("body_weight_n", "N", "m.body_weight_n", "Body weight that forces are related to"),
            text(
                "body_weight_from",
                "m.body_weight_from",
                "stated mass, mass in the recording, or quiet standing",
            ),
            measured("rate_hz", "Hz", "m.rate_hz", "Samples a second of what was measured"),
            of(Integer, "samples", "m.samples", "Samples"),
            measured("start_s", "s", "m.start_s", "Time of the first sample, in the recording's own time"),
            text("conditioning", "m.conditioning", "What was done to the plates' signals before")
                .through(bare::conditioning),
            of(Integer, "stops", "m.stops", "Findings of severity stop: a figure may be wrong"),
            of(Integer, "doubts", "m.doubts", "Findings of severity doubt"),
            of(
                Boolean,
                "current",
                "c.current",
                "true: measured with what the study states now; false: a rig, a player or a setting has changed since",
            ),
            text("rig", "r.name", "Rig it was read by; empty: the recording describes its plates itself")
                .or(RIG),
            of(Integer, "rig_version", "v.version", "Version of the rig"),
            text("program", "k.program", "Program that measured it"),
            text("methods", "k.methods", "Edition of its methods, and of the definitions of its metrics"),
            text("recipe_sha256", "q.hash", "SHA-256 of everything that was decided for the measurement")
                .named(),
            text("recipe", "q.text", "Everything that was decided for the measurement, in JSON").named(),
            of(Instant, "measured_at", "m.measured_at", "When it was measured").named(),
            text("not_measured", "m.failed", "Why nothing could be measured").named(),
            text("file", "w.name", "Name of the file when it came in").named(),
            text("file_sha256", "w.hash", "SHA-256 of the recording").named(),
            of(Integer, "file_bytes", "w.bytes", "Bytes of the recording").named(),
            text("file_time", "w.file_time", "The file's own time of change").named(),
            text("recorded_at", "w.recorded_at", "When it was recorded, as stated").named(),
            of(Instant, "imported_at", "w.imported_at", "When it came into the study").named(),
            text("note", "w.note", "Free text").named(),
        ],
        key: &["swing"],
        refers: &[(&["session"], "sessions"), (&["player"], "players"), (&["rig", "rig_version"], "rigs")],
    },
    Table {
        name: "events",
        title: "Events",
        what: "One row a swing and event: when it was, how sure that is, and where it comes from.",
        given: Given::Always,
        from: "chosen c JOIN event e ON e.basis = {basis} AND e.swing = c.swing",
        order: "e.swing, e.time_s, e.event",
        id: "e.swing",
        within: "e.swing",
        columns: &[
            of(Integer, "swing", "e.swing", "Swing"),
            text("event", "e.event", "address, takeaway, top, impact or finish"),
            measured("time_s", "s", "e.time_s", "When, in the recording's own time"),
            measured("u_s", "s", "e.u_s", "Standard uncertainty"),
            measured("plus_minus_95_s", "s", "e.u_s * {coverage}", "Half width of the 95 % interval"),
            text(
                "source",
                "e.source",
                "What gave it; an estimate serves no figure unless estimates are let in",
            ),
            text("method", "e.method", "Method and its version"),
            text("seen", "e.seen", "What it was seen by").named(),
        ],
        key: &["swing", "event"],
        refers: &[(&["swing"], "swings")],
    },
    Table {
        name: "findings",
        title: "Findings",
        what: "One row a swing and finding: what a careful reader would notice.",
        given: Given::Always,
        from: "chosen c JOIN finding f ON f.basis = {basis} AND f.swing = c.swing",
        order: "f.swing, f.number",
        id: "f.swing",
        within: "f.swing",
        columns: &[
            of(Integer, "swing", "f.swing", "Swing"),
            of(Integer, "number", "f.number", "Number within the swing, from 0"),
            text("code", "f.code", "Code; `underfoot explain CODE` tells more"),
            text("severity", "f.severity", "stop, doubt or note"),
            of(Integer, "plate", "f.plate", "Plate, from 1; empty: not about one plate"),
            measured("from_s", "s", "f.from_s", "From when, in the recording's own time"),
            measured("to_s", "s", "f.to_s", "Until when"),
            text("seen", "f.seen", "What was seen").named(),
            text("remedy", "f.remedy", "What to do").named(),
        ],
        key: &["swing", "number"],
        refers: &[(&["swing"], "swings")],
    },
    Table {
        name: "metrics",
        title: "Metrics",
        what: "One row a metric, as the program that exported defines it; those that only an earlier one knew have a name and a unit.",
        given: Given::Always,
        from: "words m",
        order: "m.place",
        id: "m.place",
        within: "",
        columns: &[
            text("metric", "m.name", "Stable id"),
            text("label", "m.label", "Name for people"),
            text("chapter", "m.chapter", "What it is about"),
            text("unit", "m.unit", "Unit of value and u, SI"),
            text("unit_by_weight", "m.unit_by_weight", "Unit of by_weight; empty: it has no such figure"),
            text("definition", "m.definition", "In words"),
            text("formula", "m.formula", "As a formula"),
            text("sign", "m.sign", "What a positive value means"),
            text("needs", "m.needs", "What a swing must have for it"),
            text("source", "m.source", "Where the definition comes from"),
        ],
        key: &["metric"],
        refers: &[],
    },
    Table {
        name: "figures",
        title: "Figures",
        what: "One row a swing and metric: the value with its uncertainty, or why there is none.",
        given: Given::Always,
        // Metric by metric and within it swing by swing, as the catalogue lies: nothing needs sorting.
        from: "words m CROSS JOIN chosen c CROSS JOIN figure f ON f.metric = m.id AND f.basis = {basis} AND f.swing = c.swing \
               LEFT JOIN phrase l ON l.id = f.led_by LEFT JOIN phrase t ON t.id = f.touched \
               LEFT JOIN phrase a ON a.id = f.absent",
        order: "",
        id: "f.swing",
        within: "c.swing",
        columns: &[
            of(Integer, "swing", "f.swing", "Swing"),
            text("metric", "m.name", "Metric"),
            text("unit", "m.unit", "Unit of value, u and plus_minus_95"),
            of(Number, "value", "f.value", "Value, SI; empty: absent"),
            of(Number, "u", "f.u", "Standard uncertainty"),
            of(
                Number,
                "plus_minus_95",
                "f.u * {coverage}",
                "Half width of the 95 % interval: u times the coverage factor",
            ),
            of(
                Number,
                "by_weight",
                "f.by_weight",
                "The value over body weight (1 is 100 %BW), where there is such a figure",
            ),
            of(Number, "by_weight_u", "f.by_weight_u", "Its standard uncertainty"),
            measured("at_s", "s", "f.at_s", "When it is, in the recording's own time"),
            text("led_by", "l.text", "What leads the uncertainty"),
            measured("led_share", "1", "f.led_share", "Its share of the variance, 0 to 1"),
            of(Boolean, "estimated", "f.estimated IS NOT NULL", "true: it rests on an estimated event"),
            text("touched_by", "t.text", "Codes of the findings that put it in doubt, separated by spaces"),
            text("absent", "a.text", "Why there is no value"),
        ],
        key: &["swing", "metric"],
        refers: &[(&["swing"], "swings"), (&["metric"], "metrics")],
    },
    Table {
        name: "outcomes",
        title: "Outcomes",
        what: "One row a swing and outcome: what club and ball did, by another instrument.",
        given: Given::Always,
        from: "chosen c JOIN outcome o ON o.swing = c.swing AND {outcomes}",
        order: "o.swing, o.name",
        id: "o.swing",
        within: "o.swing",
        columns: &[
            of(Integer, "swing", "o.swing", "Swing"),
            text("outcome", "o.name", "What; without identity only those with a usual name"),
            of(Number, "value", "o.value", "Value, SI"),
            text("unit", "o.unit", "Unit of the value"),
            text("given", "o.given", "As it was given").named(),
            text("source", "o.source", "Where it was given").named(),
        ],
        key: &["swing", "outcome"],
        refers: &[(&["swing"], "swings")],
    },
    Table {
        name: "tags",
        title: "Tags",
        what: "One row a swing and tag.",
        given: Given::Named,
        from: "chosen c JOIN tag t ON t.swing = c.swing",
        order: "t.swing, t.word",
        id: "t.swing",
        within: "t.swing",
        columns: &[of(Integer, "swing", "t.swing", "Swing"), text("tag", "t.word", "Word")],
        key: &["swing", "tag"],
        refers: &[(&["swing"], "swings")],
    },
    Table {
        name: "changes",
        title: "Changes",
        what: "One row a change of the study that is about what was exported, in order.",
        given: Given::Named,
        from: "change h LEFT JOIN player p ON p.id = h.player",
        order: "h.id",
        id: "h.id",
        within: "",
        columns: &[
            of(Integer, "change", "h.id", "Number, in the order of the changes"),
            of(Instant, "at", "h.at", "When, by the clock of the machine"),
            text("program", "h.program", "Program"),
            text("what", "h.what", "What was done"),
            text("player", "p.alias", "Player it is about"),
            of(Integer, "session", "h.session", "Session it is about"),
            of(Integer, "swing", "h.swing", "Swing it is about"),
            text("before", "h.before", "Before"),
            text("after", "h.after", "After"),
        ],
        key: &["change"],
        refers: &[],
    },
];

/// A table by its name.
pub fn table(name: &str) -> Option<&'static Table> {
    TABLES.iter().find(|t| t.name == name)
}

impl Table {
    /// The columns it has with or without identity.
    pub fn given_columns(&self, bare: bool) -> impl Iterator<Item = &'static Column> {
        self.columns.iter().filter(move |c| !(bare && matches!(c.bare, super::field::Bare::Out)))
    }
    /// The same as every format sees them.
    pub fn fields(&self, bare: bool) -> Vec<Field> {
        self.given_columns(bare).map(Column::field).collect()
    }
}
