//! A [`RigFile`] as TOML, with a comment on every line that needs one.
use super::schema::{AxesWord, PlateEntry, RigFile, TargetEntry, TriggerWord};
use crate::table::{Column, TableLayout};
use std::fmt::Write as _;

/// Writes a rig file for people: one statement a line, each with what it means. Reading it gives the same rig.
pub fn write(rig: &RigFile) -> String {
    let mut page = Page { text: String::new() };
    page.line("# Rig file: what recordings do not say of themselves. docs/rig.md explains every line.");
    page.blank();
    page.text_of("name", rig.name.as_deref(), "for people");
    page.raw("up", rig.up.map(|a| format!("\"{}\"", a.name())), "laboratory axis that points up");
    page.raw("target", rig.target.as_ref().map(target), "from the ball toward the target");
    page.numbers("origin_m", rig.origin_m.as_ref(), "origin of the golf frame, laboratory axes, metres");
    page.number(
        "load_floor_n",
        rig.load_floor_n,
        "less vertical force than this has no centre of pressure, N",
    );
    page.number("rate_hz", rig.rate_hz, "samples a second");
    if let Some(table) = &rig.table {
        page.blank();
        layout(&mut page, table);
    }
    for entry in &rig.plate {
        page.blank();
        plate(&mut page, entry);
    }
    if let Some(trigger) = &rig.trigger {
        page.blank();
        page.line("[trigger]");
        page.raw("channel", Some(column(&trigger.channel)), "channel that marks an instant");
        page.number("level", trigger.level, "the instant is where it first crosses this, in its own unit");
        page.text_of("marks", Some(&trigger.marks), "what it marks");
        let kind = trigger.kind.map(|k| match k {
            TriggerWord::Step => "step",
            TriggerWord::Sound => "sound",
        });
        page.text_of("kind", kind, "whether it steps at the instant or hears it");
        page.number("distance_m", trigger.distance_m, "from what is heard to the microphone");
    }
    if let Some(uncertainty) = &rig.uncertainty {
        page.blank();
        page.line("# Standard uncertainties, one standard deviation each.");
        page.line("[uncertainty]");
        let meaning = [
            "force channels, relative",
            "moment channels, relative",
            "share of a component seen in another",
            "zero of a force over a recording, N",
            "zero of a moment over a recording, N·m",
            "place of a plate, each horizontal direction, m",
            "height of the surface over the sensors, m",
            "angle of a plate about the vertical, rad",
            "time between plates, s",
        ];
        for ((key, value), meaning) in uncertainty.fields().into_iter().zip(meaning) {
            page.number(key, value, meaning);
        }
    }
    if let Some(conditioning) = &rig.conditioning {
        page.blank();
        page.line("# What is done to recordings before accounts are formed; without it: as recorded.");
        page.line("[conditioning]");
        for (key, value, meaning) in conditioning.lines() {
            page.raw(key, value, meaning);
        }
    }
    page.text
}

fn layout(page: &mut Page, table: &TableLayout) {
    page.line("[table]");
    let word = |debug: String| format!("\"{}\"", debug.to_lowercase());
    page.raw("delimiter", table.delimiter.map(|d| word(format!("{d:?}"))), "between two cells");
    page.raw("decimal", table.decimal.map(|d| word(format!("{d:?}"))), "decimal mark");
    page.raw(
        "header_line",
        table.header_line.map(|l| l.to_string()),
        "line of the column names, from 1; 0: none",
    );
    page.raw(
        "unit_row",
        table.unit_row.map(|b| b.to_string()),
        "whether a row of units stands under the names",
    );
    page.raw("time", table.time.as_ref().map(column), "time column, by name or number");
    page.text_of("time_unit", table.time_unit.as_deref(), "s, ms, us or min");
    page.number("rate_hz", table.rate_hz, "samples a second");
}

fn plate(page: &mut Page, entry: &PlateEntry) {
    page.line("[[plate]]");
    page.raw("number", entry.number.map(|n| n.to_string()), "completes this plate of the recording");
    page.text_of("name", entry.name.as_deref(), "for people");
    let order = "(+x,+y), (-x,+y), (-x,-y), (+x,-y) of the plate's own axes";
    page.corners("corners_m", entry.corners_m.as_ref(), order);
    page.corners("corners_mm", entry.corners_mm.as_ref(), order);
    page.numbers("size_m", entry.size_m.as_ref(), "length along the plate's x, along its y, metres");
    page.numbers("centre_m", entry.centre_m.as_ref(), "centre of the top surface, laboratory axes, metres");
    let angle = "from the laboratory's first horizontal axis to the plate's x, counter-clockwise from above";
    page.number("angle_deg", entry.angle_deg, angle);
    page.raw("z", entry.z.map(|z| format!("\"{}\"", z.word())), "where the plate's own z points");
    page.raw("force", entry.force.map(|f| format!("\"{}\"", f.word())), "whose force the channels hold");
    page.number("cover_mm", entry.cover_mm, "turf or mat lying on the plate");
    page.raw("foot", entry.foot.map(|f| format!("\"{}\"", f.word())), "which foot stands here");
    page.text_of("force_unit", entry.force_unit.as_deref(), "unit of the force channels");
    page.text_of("moment_unit", entry.moment_unit.as_deref(), "unit of the moment channels");
    page.numbers(
        "origin_m",
        entry.origin_m.as_ref(),
        "from the moments' origin to the surface centre, plate axes",
    );
    page.number("depth_mm", entry.depth_mm, "how deep under the surface the moments' origin lies");
    if let Some(six) = &entry.six {
        let parts = [
            ("fx", &six.fx),
            ("fy", &six.fy),
            ("fz", &six.fz),
            ("mx", &six.mx),
            ("my", &six.my),
            ("mz", &six.mz),
        ];
        page.raw("six", Some(inline(&parts, &[])), "channels of the six components");
    }
    if let Some(p) = &entry.piezo {
        page.blank();
        page.line("# Eight channels; sensor n lies in quadrant n of the plate's own axes.");
        page.line("[plate.piezo]");
        let parts = [
            ("fx12", &p.fx12),
            ("fx34", &p.fx34),
            ("fy14", &p.fy14),
            ("fy23", &p.fy23),
            ("fz1", &p.fz1),
            ("fz2", &p.fz2),
            ("fz3", &p.fz3),
            ("fz4", &p.fz4),
        ];
        for (key, channel) in parts {
            page.raw(key, Some(column(channel)), "");
        }
        page.number("half_x_mm", Some(p.half_x_mm), "half the distance between sensors along the plate's x");
        page.number("half_y_mm", Some(p.half_y_mm), "half the distance between sensors along the plate's y");
        page.number("depth_mm", p.depth_mm, "how deep under the surface the sensors lie");
    }
    if let Some(r) = &entry.reduced {
        page.blank();
        page.line("# Forces and centre of pressure as another program computed them.");
        page.line("[plate.reduced]");
        let list =
            |columns: &[Column]| format!("[{}]", columns.iter().map(column).collect::<Vec<_>>().join(", "));
        page.raw("force", Some(list(&r.force)), "along x, y, z");
        page.raw(
            "cop",
            Some(list(&r.cop)),
            "centre of pressure along x, y, z; \"-\" for one that is not there",
        );
        page.raw("free_moment", r.free_moment.as_ref().map(column), "about the vertical");
        let axes = match r.axes {
            AxesWord::Lab => "\"lab\"",
            AxesWord::Plate => "\"plate\"",
        };
        page.raw("axes", Some(axes.into()), "the axes of these numbers");
        page.text_of("cop_unit", r.cop_unit.as_deref(), "unit of the centre of pressure");
    }
    if let Some(matrix) = &entry.matrix {
        page.blank();
        page.line("# (Fx, Fy, Fz, Mx, My, Mz) = rows · channels");
        page.line("[plate.matrix]");
        let channels = matrix.channels.iter().map(column).collect::<Vec<_>>().join(", ");
        page.raw("channels", Some(format!("[{channels}]")), "");
        page.line("rows = [");
        for row in &matrix.rows {
            let row = row.iter().map(|v| number(*v)).collect::<Vec<_>>().join(", ");
            page.line(&format!("  [{row}],"));
        }
        page.line("]");
    }
}

fn target(target: &TargetEntry) -> String {
    match target {
        TargetEntry::Axis(axis) => format!("\"{}\"", axis.name()),
        TargetEntry::Vector(v) => list(v),
        TargetEntry::FromTo { from, to } => format!("{{ from = {}, to = {} }}", column(from), column(to)),
    }
}

fn column(column: &Column) -> String {
    match column {
        Column::Name(name) => quoted(name),
        Column::Number(number) => number.to_string(),
    }
}

fn inline(parts: &[(&str, &Column)], rest: &[(&str, String)]) -> String {
    let channels = parts.iter().map(|(key, channel)| format!("{key} = {}", column(channel)));
    let rest = rest.iter().map(|(key, value)| format!("{key} = {value}"));
    format!("{{ {} }}", channels.chain(rest).collect::<Vec<_>>().join(", "))
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// Reads back as the same double.
fn number(value: f64) -> String {
    match value.abs() {
        size if size == 0.0 || (1e-5..1e15).contains(&size) => value.to_string(),
        _ if value.is_nan() => "nan".into(),
        _ => format!("{value:e}"),
    }
}

fn list(values: &[f64]) -> String {
    format!("[{}]", values.iter().map(|v| number(*v)).collect::<Vec<_>>().join(", "))
}

/// Column at which comments begin, where the statement leaves room.
const COMMENT_AT: usize = 36;

struct Page {
    text: String,
}

impl Page {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }
    fn blank(&mut self) {
        self.text.push('\n');
    }
    /// One statement and its comment; nothing where there is no value.
    fn raw(&mut self, key: &str, value: Option<String>, comment: &str) {
        let Some(value) = value else { return };
        let statement = format!("{key} = {value}");
        // Writing to a string cannot fail.
        let _ = match comment {
            "" => writeln!(self.text, "{statement}"),
            _ if statement.chars().count() > 70 => writeln!(self.text, "# {comment}\n{statement}"),
            _ => writeln!(self.text, "{statement:<COMMENT_AT$} # {comment}"),
        };
    }
    fn text_of(&mut self, key: &str, value: Option<&str>, comment: &str) {
        self.raw(key, value.map(quoted), comment);
    }
    fn number(&mut self, key: &str, value: Option<f64>, comment: &str) {
        self.raw(key, value.map(number), comment);
    }
    fn numbers<const N: usize>(&mut self, key: &str, values: Option<&[f64; N]>, comment: &str) {
        self.raw(key, values.map(|v| list(v)), comment);
    }
    fn corners(&mut self, key: &str, corners: Option<&[[f64; 3]; 4]>, comment: &str) {
        let all = corners.map(|c| format!("[{}]", c.iter().map(|c| list(c)).collect::<Vec<_>>().join(", ")));
        self.raw(key, all, comment);
    }
}
