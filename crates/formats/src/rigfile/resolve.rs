//! A rig file and a recording become a [`Rig`].
use super::error::{RigError, RigFault, Step};
use super::geometry::{self, points};
use super::schema::{Force, RigFile, TargetEntry, TriggerWord, Vertical};
use super::sensing::{self, Context};
use crate::table::{Column, TableLayout};
use glam::DVec3;
use mechanics::finding::{Kind, RIG_CONTRADICTS_FILE, RIG_OVERRIDES_FILE};
use mechanics::rig::{LOAD_FLOOR_N, up_of_plates};
use mechanics::{
    Analog, Axis, Checked, Conditioning, ErrorBudget, Finding, Measures, Plate, Recording, Rig, Sensing,
    Target, Trigger, TriggerKind,
};

/// Corners of rig and recording that differ by more are reported, m. Common practice, no source: a tape measure
/// does better.
const CORNERS_DIFFER_M: f64 = 0.005;

impl RigFile {
    /// How tables of this rig are to be read: the `[table]` section, with the rig's rate.
    pub fn table_layout(&self) -> TableLayout {
        let mut layout = self.table.clone().unwrap_or_default();
        layout.rate_hz = layout.rate_hz.or(self.rate_hz);
        layout
    }

    /// Gives a recording the rig's rate where the rig states one; a recording that says otherwise is reported.
    pub fn apply_rate(&self, recording: &mut Recording) -> Vec<Finding> {
        let mut findings = Vec::new();
        if let Some(rate) = self.rate_hz.filter(|r| Analog::is_rate(*r)) {
            let had = recording.analog.rate_hz;
            if (had / rate - 1.0).abs() > 0.01 {
                findings
                    .push(contradiction(format!("the recording runs at {had} Hz, the rig states {rate} Hz")));
            }
            recording.analog.rate_hz = rate;
        }
        findings
    }

    /// The rig that this file and the recording describe together. What the file states is followed.
    ///
    /// Entries with a `number` complete that plate of the recording; entries without one are the whole list of
    /// plates, in order. Lengths come out in metres, forces in newtons by the columns of [`Sensing`].
    ///
    /// # Errors
    /// [`RigError`] with the line of the rig file where it cannot be followed; a rig that only disagrees with the
    /// recording is followed, with the finding `rig-contradicts-file`.
    pub fn resolve(&self, recording: &Recording) -> Result<Checked<Rig>, RigError> {
        let mut findings = Vec::new();
        let up = self.up_axis(recording, &mut findings);
        let slots = self.slots(recording, &mut findings)?;
        let mut plates = Vec::with_capacity(slots.len());
        for (position, slot) in slots.into_iter().enumerate() {
            plates.push(match slot {
                Slot::File(file) => file.clone(),
                Slot::Entry(index, file) => {
                    let entry = &self.plate[index];
                    let fallback = || file.map_or_else(|| (position + 1).to_string(), |f| f.name.clone());
                    let name = entry.name.clone().unwrap_or_else(fallback);
                    let context = Context { recording, source: &self.source, entry, index, plate: &name, up };
                    one_plate(&context, file, position, &mut findings)?
                }
            });
        }
        if plates.is_empty() {
            return Err(self.source.fail(&[], RigFault::NoPlates));
        }
        self.names_differ(&plates)?;
        let target = self.target_of(&plates, up)?;
        let origin_m = self.origin_m.map(DVec3::from_array);
        if origin_m.is_some_and(|o| !o.is_finite()) {
            return Err(self.value("origin_m", "every number must be finite"));
        }
        let load_floor_n = self.load_floor_n.unwrap_or(LOAD_FLOOR_N);
        if !(load_floor_n > 0.0 && load_floor_n < 1000.0) {
            return Err(self.value("load_floor_n", "state a force in newtons, more than 0, such as 20"));
        }
        let value = Rig {
            name: self.name.clone().unwrap_or_else(|| "unnamed rig".into()),
            plates,
            up,
            target,
            origin_m,
            load_floor_n,
            trigger: self.trigger_of(recording)?,
            budget: self.budget()?,
            conditioning: match &self.conditioning {
                Some(entry) => entry.resolve(&self.source)?,
                None => Conditioning::RAW,
            },
        };
        Ok(Checked { value, findings })
    }

    fn value(&self, key: &'static str, why: &str) -> RigError {
        self.source.fail(&[Step::Key(key)], RigFault::Value { what: key.into(), why: why.into() })
    }

    fn up_axis(&self, recording: &Recording, findings: &mut Vec<Finding>) -> Axis {
        let of_file = recording.up.or_else(|| {
            let plates = &recording.plates;
            (!plates.is_empty()).then(|| up_of_plates(plates))
        });
        if let (Some(rig), Some(file)) = (self.up, of_file)
            && rig != file
        {
            let said = if recording.up.is_some() { "states" } else { "has its plates' normals along" };
            let text =
                format!("the recording {said} {}, the rig states up = \"{}\"", file.name(), rig.name());
            findings.push(contradiction(text));
        }
        self.up.or(of_file).unwrap_or(Axis::PlusZ)
    }

    /// Which plates there are, and who describes them.
    fn slots<'a>(
        &self,
        recording: &'a Recording,
        findings: &mut Vec<Finding>,
    ) -> Result<Vec<Slot<'a>>, RigError> {
        let of_file = &recording.plates;
        if self.plate.is_empty() {
            return Ok(of_file.iter().map(Slot::File).collect());
        }
        let numbered = self.plate.iter().filter(|p| p.number.is_some()).count();
        let fail = |index: usize, why: String| {
            let path = [Step::Key("plate"), Step::Index(index), Step::Key("number")];
            Err(self.source.fail(&path, RigFault::Value { what: "number".into(), why }))
        };
        if numbered == 0 {
            // The whole list of plates, in order.
            if !of_file.is_empty() && of_file.len() != self.plate.len() {
                let text = format!(
                    "the recording has {} plate{}, the rig {}",
                    of_file.len(),
                    if of_file.len() == 1 { "" } else { "s" },
                    self.plate.len()
                );
                findings.push(contradiction(text));
            }
            return Ok((0..self.plate.len()).map(|i| Slot::Entry(i, of_file.get(i))).collect());
        }
        if let Some(index) = self.plate.iter().position(|p| p.number.is_none()) {
            return fail(index, "number every [[plate]], or none".into());
        }
        let mut slots: Vec<Slot> = of_file.iter().map(Slot::File).collect();
        let mut order: Vec<(usize, usize)> =
            self.plate.iter().enumerate().map(|(i, p)| (p.number.unwrap_or(0), i)).collect();
        order.sort_unstable();
        for (place, (number, index)) in order.iter().copied().enumerate() {
            if place > 0 && order[place - 1].0 == number {
                return fail(index, format!("plate {number} is described twice"));
            }
            match number.checked_sub(1) {
                None => return fail(index, "plates count from 1".into()),
                Some(n) if n < slots.len() => slots[n] = Slot::Entry(index, of_file.get(n)),
                Some(n) if n == slots.len() => slots.push(Slot::Entry(index, None)),
                Some(_) => {
                    let why =
                        format!("there is no plate {number}; the next one would be {}", slots.len() + 1);
                    return fail(index, why);
                }
            }
        }
        if !of_file.is_empty() && slots.len() > of_file.len() {
            findings.push(contradiction(format!(
                "the recording has {} plate{}, the rig describes {}",
                of_file.len(),
                if of_file.len() == 1 { "" } else { "s" },
                slots.len()
            )));
        }
        Ok(slots)
    }

    fn names_differ(&self, plates: &[Plate]) -> Result<(), RigError> {
        for (i, plate) in plates.iter().enumerate() {
            if plates[..i].iter().any(|p| p.name.eq_ignore_ascii_case(&plate.name)) {
                let what = "name".to_owned();
                let why = format!("two plates are called \"{}\"; give each its own name", plate.name);
                let index =
                    self.plate.iter().rposition(|p| p.name.as_ref() == Some(&plate.name)).unwrap_or(0);
                let path = [Step::Key("plate"), Step::Index(index), Step::Key("name")];
                return Err(self.source.fail(&path, RigFault::Value { what, why }));
            }
        }
        Ok(())
    }

    fn target_of(&self, plates: &[Plate], up: Axis) -> Result<Option<Target>, RigError> {
        let fail = |why: String| {
            self.source.fail(&[Step::Key("target")], RigFault::Value { what: "target".into(), why })
        };
        let find = |wanted: &Column| -> Result<usize, RigError> {
            let index = match wanted {
                Column::Name(name) => {
                    plates.iter().position(|p| p.name.trim().eq_ignore_ascii_case(name.trim()))
                }
                Column::Number(number) => number.checked_sub(1).filter(|n| *n < plates.len()),
            };
            let names: Vec<String> = plates.iter().map(|p| p.name.clone()).collect();
            let names = super::words::quoted_list(&names, 8);
            index.ok_or_else(|| fail(format!("there is no plate {wanted}; the plates are {names}")))
        };
        let (target, direction) = match &self.target {
            None => return Ok(None),
            Some(TargetEntry::Axis(axis)) => (Target::Axis(*axis), axis.unit()),
            Some(TargetEntry::Vector(vector)) => {
                let vector = DVec3::from_array(*vector);
                (Target::Vector(vector), vector)
            }
            Some(TargetEntry::FromTo { from, to }) => {
                let (a, b) = (find(from)?, find(to)?);
                (Target::FromTo(a, b), plates[b].centre_m() - plates[a].centre_m())
            }
        };
        // Zero or vertical directions point nowhere on the floor.
        let level = direction - up.unit() * direction.dot(up.unit());
        if !direction.is_finite() || level.length() <= 1e-6 * direction.length().max(1e-6) {
            let why =
                format!("it points nowhere on the floor (up is {}); state a horizontal direction", up.name());
            return Err(fail(why));
        }
        Ok(Some(target))
    }

    fn trigger_of(&self, recording: &Recording) -> Result<Option<Trigger>, RigError> {
        let Some(entry) = &self.trigger else { return Ok(None) };
        let path = |key| [Step::Key("trigger"), Step::Key(key)];
        let channel = sensing::find(recording, &entry.channel).ok_or_else(|| {
            let fault = sensing::no_channel(recording, "trigger.channel".into(), &entry.channel);
            self.source.fail(&path("channel"), fault)
        })?;
        let refuse = |key, why: &str| {
            let fault = RigFault::Value { what: format!("trigger.{key}"), why: why.into() };
            Err(self.source.fail(&path(key), fault))
        };
        let kind = match entry.kind {
            None | Some(TriggerWord::Step) => TriggerKind::Step,
            Some(TriggerWord::Sound) => TriggerKind::Sound,
        };
        match entry.level {
            Some(level) if !level.is_finite() => return refuse("level", "state a finite level"),
            None if kind == TriggerKind::Step => {
                return refuse("level", "state the level that it crosses, or kind = \"sound\"");
            }
            _ => {}
        }
        match entry.distance_m {
            Some(_) if kind == TriggerKind::Step => {
                return refuse("distance_m", "only a sound takes time to arrive; state kind = \"sound\"");
            }
            Some(m) if !(0.0..=100.0).contains(&m) => {
                return refuse("distance_m", "state metres, 0 to 100");
            }
            _ => {}
        }
        Ok(Some(Trigger {
            channel,
            level: entry.level,
            marks: entry.marks.clone(),
            kind,
            distance_m: entry.distance_m,
        }))
    }

    fn budget(&self) -> Result<ErrorBudget, RigError> {
        let Some(entry) = &self.uncertainty else { return Ok(ErrorBudget::TYPICAL) };
        for (key, value) in entry.fields() {
            if value.is_some_and(|v| !(v >= 0.0 && v.is_finite())) {
                let what = format!("uncertainty.{key}");
                let why = "a standard uncertainty is 0 or more".to_owned();
                return Err(self
                    .source
                    .fail(&[Step::Key("uncertainty"), Step::Key(key)], RigFault::Value { what, why }));
            }
        }
        Ok(entry.budget())
    }
}

/// Who describes a plate: the recording alone, or an entry of the rig file over the recording's plate, if any.
enum Slot<'a> {
    File(&'a Plate),
    Entry(usize, Option<&'a Plate>),
}

fn contradiction(text: String) -> Finding {
    Finding::new(&RIG_CONTRADICTS_FILE, text + "; the rig was followed")
}

/// Corners of a plate of the recording, in whatever order: what was listed anew was meant so.
fn listed_anew(recording: &Recording, corners: &[DVec3; 4]) -> bool {
    let among =
        |of: &[DVec3; 4]| corners.iter().all(|c| of.iter().any(|o| (*c - *o).length() < CORNERS_DIFFER_M));
    recording.plates.iter().any(|p| among(&p.corners_m))
}

fn one_plate(
    context: &Context,
    file: Option<&Plate>,
    position: usize,
    findings: &mut Vec<Finding>,
) -> Result<Plate, RigError> {
    let entry = context.entry;
    let name = context.plate.to_owned();
    let mut say = |kind: &'static Kind, text: String| {
        let found = Finding { kind, ..contradiction(format!("plate {name}: {text}")) };
        findings.push(found.on_plate(position));
    };
    let stated = geometry::corners(entry, context.plate, context.index, context.up, context.source)?;
    let corners_m = match (stated, file) {
        (Some(corners), Some(file)) => {
            let apart = geometry::farthest(&corners, &file.corners_m);
            if apart > CORNERS_DIFFER_M {
                let (a, b) = (listed(&file.corners_m), listed(&corners));
                let anew = listed_anew(context.recording, &corners);
                let kind = if anew { &RIG_OVERRIDES_FILE } else { &RIG_CONTRADICTS_FILE };
                say(
                    kind,
                    format!(
                        "corners {a} m by the recording, {b} m by the rig, up to {:.0} mm apart",
                        apart * 1000.0
                    ),
                );
            }
            corners
        }
        (Some(corners), None) => corners,
        (None, Some(file)) => match (entry.z, points(&file.corners_m, context.up)) {
            (Some(z), Some(found)) if z != found => {
                say(
                    &RIG_OVERRIDES_FILE,
                    format!(
                        "z points {} by the recording's corners, {} by the rig (x was kept, y turned with it)",
                        found.word(),
                        z.word()
                    ),
                );
                geometry::turned_over(&file.corners_m)
            }
            _ => file.corners_m,
        },
        (None, None) => {
            let missing = "its place on the floor is".to_owned();
            return Err(context.fail(&[], RigFault::NoGeometry { plate: name, missing }));
        }
    };
    let points_now = points(&corners_m, context.up);
    let mut unit_findings = Vec::new();
    let stated = sensing::sensing(context, points_now, &mut unit_findings)?;
    let (sensing, kind) = match (stated, file) {
        (Some((sensing, kind)), file) => {
            if let Some(file) = file {
                let (a, b) = (shape(&file.sensing), shape(&sensing));
                if a != b {
                    say(
                        &RIG_CONTRADICTS_FILE,
                        format!("{a} by the recording ({}), {b} by the rig", file.kind),
                    );
                } else if channels_of(&file.sensing) != channels_of(&sensing) {
                    let (a, b) =
                        (labels(context.recording, &file.sensing), labels(context.recording, &sensing));
                    say(&RIG_CONTRADICTS_FILE, format!("channels {a} by the recording, {b} by the rig"));
                }
            }
            (sensing, kind)
        }
        (None, Some(file)) => {
            let turned = points(&file.corners_m, context.up) != points_now;
            (completed(context, &file.sensing, points_now, turned, &mut say)?, file.kind.clone())
        }
        (None, None) => return Err(context.fail(&[], RigFault::NoSensing { plate: name })),
    };
    let measures = match (entry.force.map(Force::measures), file.map(|f| f.measures)) {
        (Some(rig), Some(of_file)) => {
            if of_file != rig && of_file != Measures::BySign {
                let word = |m| if m == Measures::OnPlate { "on the plate" } else { "on the player" };
                say(
                    &RIG_OVERRIDES_FILE,
                    format!(
                        "the channels hold the force {} by the recording, {} by the rig",
                        word(of_file),
                        word(rig)
                    ),
                );
            }
            rig
        }
        (Some(rig), None) => rig,
        (None, Some(of_file)) => of_file,
        (None, None) => return Err(context.fail(&[], RigFault::NoForce { plate: name })),
    };
    findings.extend(unit_findings.into_iter().map(|f| f.on_plate(position)));
    if entry.origin_m.is_some() {
        findings.extend(sensing::above(&sensing, points_now, context.plate).map(|f| f.on_plate(position)));
    }
    let cover_mm = entry.cover_mm.unwrap_or(0.0);
    if !(0.0..500.0).contains(&cover_mm) {
        let why = format!("{cover_mm} mm cannot be the thickness of a cover");
        let what = format!("plate {}, cover_mm", context.plate);
        return Err(context.fail(&[Step::Key("cover_mm")], RigFault::Value { what, why }));
    }
    Ok(Plate {
        name: context.plate.to_owned(),
        corners_m,
        sensing,
        measures,
        cover_m: entry.cover_mm.map_or(file.map_or(0.0, |f| f.cover_m), |mm| mm / 1000.0),
        baseline: file.and_then(|f| f.baseline),
        foot: entry.foot.map(|f| f.foothold()).or(file.and_then(|f| f.foot)),
        kind,
    })
}

/// The recording's channels, with what the entry states of origin and units.
fn completed(
    context: &Context,
    of_file: &Sensing,
    points_now: Option<Vertical>,
    turned: bool,
    say: &mut dyn FnMut(&'static Kind, String),
) -> Result<Sensing, RigError> {
    let entry = context.entry;
    let mut sensing = of_file.clone();
    let stated_origin = sensing::origin(context, points_now)?;
    let Sensing::Linear { channels, columns, origin_m } = &mut sensing else {
        if stated_origin.is_some() || entry.force_unit.is_some() || entry.moment_unit.is_some() {
            return Err(not_alone(context, "the recording's plate is already reduced"));
        }
        return Ok(sensing);
    };
    if turned {
        // The sensors stay under the surface whichever way z is said to point; y turned with z.
        let sign = if points_now == Some(Vertical::Up) { 1.0 } else { -1.0 };
        *origin_m = DVec3::new(origin_m.x, -origin_m.y, sign * origin_m.z.abs());
    }
    if let Some(stated) = stated_origin {
        if (stated - *origin_m).length() > CORNERS_DIFFER_M && *origin_m != DVec3::ZERO {
            let mm = |v: DVec3| format!("({:.1}, {:.1}, {:.1})", v.x * 1e3, v.y * 1e3, v.z * 1e3);
            say(
                &RIG_CONTRADICTS_FILE,
                format!("origin {} mm by the recording, {} mm by the rig", mm(*origin_m), mm(stated)),
            );
        }
        *origin_m = stated;
    }
    for (unit_text, rows, quantity, wants, key, example) in [
        (&entry.force_unit, 0..3, crate::table::unit::Quantity::Force, "force", "force_unit", "N"),
        (&entry.moment_unit, 3..6, crate::table::unit::Quantity::Moment, "moment", "moment_unit", "Nm"),
    ] {
        let Some(text) = unit_text else { continue };
        let Some(unit) = crate::table::unit::parse(text).filter(|u| u.quantity == quantity) else {
            let what = format!("plate {}, {key}", context.plate);
            let fault = RigFault::Unit { what, unit: text.clone(), wants, key, example };
            return Err(context.fail(&[Step::Key(key)], fault));
        };
        let six = channels.len() == 6
            && columns.len() == 6
            && columns
                .iter()
                .enumerate()
                .all(|(k, c)| c.iter().enumerate().all(|(row, v)| row == k || *v == 0.0));
        if !six {
            return Err(not_alone(context, "the recording's plate has no six plain components"));
        }
        for k in rows {
            let had = columns[k][k];
            if (had / unit.factor - 1.0).abs() > 1e-9 {
                let label =
                    context.recording.analog.channels.get(channels[k]).map_or("", |c| c.label.as_str());
                say(
                    &RIG_OVERRIDES_FILE,
                    format!(
                        "channel \"{label}\" counts {had} a unit by the recording, {} by the rig",
                        unit.factor
                    ),
                );
            }
            columns[k][k] = unit.factor;
        }
    }
    Ok(sensing)
}

fn not_alone(context: &Context, why: &str) -> RigError {
    let what = format!("plate {}", context.plate);
    let why = format!(
        "{why}, so units or origin cannot be changed alone; state its channels too (six, piezo, matrix)"
    );
    context.fail(&[], RigFault::Value { what, why })
}

fn channels_of(sensing: &Sensing) -> Vec<usize> {
    match sensing {
        Sensing::Linear { channels, .. } => channels.clone(),
        Sensing::Reduced { force, centre, free_moment, .. } => {
            force.iter().copied().chain(centre.iter().flatten().copied()).chain(*free_moment).collect()
        }
    }
}

fn labels(recording: &Recording, sensing: &Sensing) -> String {
    let label = |c: usize| recording.analog.channels.get(c).map_or("?", |c| c.label.as_str()).to_owned();
    channels_of(sensing).into_iter().map(label).collect::<Vec<_>>().join(" ")
}

fn shape(sensing: &Sensing) -> String {
    match sensing {
        Sensing::Linear { channels, .. } => format!("{} channels", channels.len()),
        Sensing::Reduced { .. } => "already reduced".into(),
    }
}

fn listed(corners: &[DVec3; 4]) -> String {
    let one = |c: &DVec3| format!("({:.3}, {:.3}, {:.3})", c.x, c.y, c.z);
    corners.iter().map(one).collect::<Vec<_>>().join(" ")
}
