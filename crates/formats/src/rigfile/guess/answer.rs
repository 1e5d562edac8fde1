//! Answers to the questions of a proposal.
use super::Proposal;
use crate::rigfile::schema::{AxesWord, Foot, Force, PlateEntry, TargetEntry, Vertical};
use crate::table::Column;
use mechanics::Axis;

/// Why an answer cannot be taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{id}: {why}")]
pub struct AnswerError {
    /// The question.
    pub id: String,
    /// What is wrong with the answer, and what would do.
    pub why: String,
}

impl Proposal {
    /// Fills in the answer to a question. An empty answer takes the default.
    ///
    /// # Errors
    /// [`AnswerError`] where there is no such question or the answer is not understood; the rig stays as it was.
    pub fn answer(&mut self, id: &str, text: &str) -> Result<(), AnswerError> {
        let fail = |why: &str| AnswerError { id: id.to_owned(), why: why.to_owned() };
        let Some(index) = self.questions.iter().position(|q| q.id == id) else {
            return Err(fail("there is no such question"));
        };
        let text = match text.trim() {
            "" => self.questions[index].default.clone(),
            text => text.to_owned(),
        };
        self.take(id, &text).map_err(|why| fail(&why))?;
        self.questions[index].answered = true;
        Ok(())
    }

    fn take(&mut self, id: &str, text: &str) -> Result<(), String> {
        if let Some((plate, what)) = id.strip_prefix("plate").and_then(|rest| rest.split_once('.')) {
            let number = plate.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
            let entry = number.and_then(|n| self.rig.plate.get_mut(n)).ok_or("there is no such plate")?;
            return of_plate(entry, what, text);
        }
        let rig = &mut self.rig;
        match id {
            "name" => rig.name = Some(text.to_owned()),
            "up" => rig.up = Some(Axis::parse(text).ok_or("write an axis such as +z")?),
            "rate_hz" => {
                let [rate] = numbers(text)?;
                if rate <= 0.0 {
                    return Err("write samples a second, more than 0".into());
                }
                rig.rate_hz = Some(rate);
            }
            "target" => rig.target = Some(target(text)?),
            "trigger" => match text {
                "nothing" => rig.trigger = None,
                marks => {
                    if let Some(trigger) = &mut rig.trigger {
                        trigger.marks = marks.to_owned();
                    }
                }
            },
            _ => return Err("there is no such question".into()),
        }
        Ok(())
    }
}

fn of_plate(entry: &mut PlateEntry, what: &str, text: &str) -> Result<(), String> {
    match what {
        "size" => {
            let size: [f64; 2] = numbers(text)?;
            if size.iter().any(|s| *s <= 0.0 || *s > 20.0) {
                return Err("write two lengths in metres, such as 0.6 0.4".into());
            }
            entry.size_m = Some(size);
        }
        "centre" => entry.centre_m = Some(numbers(text)?),
        "angle" => entry.angle_deg = Some(numbers::<1>(text)?[0]),
        "half" => {
            let [x, y] = numbers(text)?;
            let piezo = entry.piezo.as_mut().ok_or("the plate has no piezo channels")?;
            if x <= 0.0 || y <= 0.0 {
                return Err("write two lengths in millimetres, such as 200 120".into());
            }
            (piezo.half_x_mm, piezo.half_y_mm) = (x, y);
        }
        "depth" => {
            let [depth] = numbers(text)?;
            if !(0.0..1000.0).contains(&depth) {
                return Err("write how deep it lies in millimetres, 0 or more".into());
            }
            match &mut entry.piezo {
                Some(piezo) => piezo.depth_mm = Some(depth),
                None => entry.depth_mm = Some(depth),
            }
        }
        "cover" => {
            let [cover] = numbers(text)?;
            if !(0.0..500.0).contains(&cover) {
                return Err("write a thickness in millimetres, 0 or more".into());
            }
            entry.cover_mm = (cover > 0.0).then_some(cover);
        }
        "foot" => {
            entry.foot = match text {
                "by target" => None,
                "lead" => Some(Foot::Lead),
                "trail" => Some(Foot::Trail),
                "left" => Some(Foot::Left),
                "right" => Some(Foot::Right),
                "both" => Some(Foot::Both),
                _ => return Err("write by target, lead, trail, left, right or both".into()),
            }
        }
        "force" => entry.force = Some(force(text)?),
        "reading" => {
            let z = match (text.contains("up"), text.contains("down")) {
                (true, false) => Vertical::Up,
                (false, true) => Vertical::Down,
                _ => return Err("write for example: z down, on plate".into()),
            };
            entry.force = Some(force(text)?);
            entry.z = Some(z);
        }
        "axes" => {
            let reduced = entry.reduced.as_mut().ok_or("the plate is not reduced")?;
            reduced.axes = match text {
                "lab" => AxesWord::Lab,
                "plate" => AxesWord::Plate,
                _ => return Err("write lab or plate".into()),
            };
            // Plate axes need to know where their z points; the reaction is upward where z is up.
            if reduced.axes == AxesWord::Plate && entry.z.is_none() {
                entry.z = Some(Vertical::Up);
            }
        }
        _ => return Err("there is no such question".into()),
    }
    Ok(())
}

fn force(text: &str) -> Result<Force, String> {
    match (text.contains("plate"), text.contains("player")) {
        (true, false) => Ok(Force::OnPlate),
        (false, true) => Ok(Force::OnPlayer),
        _ => Err("write on player or on plate".into()),
    }
}

/// "+x", "1 0 0", "from A to B".
fn target(text: &str) -> Result<TargetEntry, String> {
    if let Some(axis) = Axis::parse(text) {
        return Ok(TargetEntry::Axis(axis));
    }
    if let Some((from, to)) = text.strip_prefix("from ").and_then(|rest| rest.split_once(" to ")) {
        let name = |t: &str| Column::Name(t.trim().to_owned());
        return Ok(TargetEntry::FromTo { from: name(from), to: name(to) });
    }
    numbers(text)
        .map(TargetEntry::Vector)
        .map_err(|_| "write an axis such as +x, a vector such as 1 0 0, or from A to B".into())
}

/// So many numbers, with spaces, commas, semicolons, brackets or an x between them.
fn numbers<const N: usize>(text: &str) -> Result<[f64; N], String> {
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | 'x' | '\u{d7}' | '[' | ']'))
        .filter(|p| !p.is_empty())
        .collect();
    let read: Vec<f64> =
        parts.iter().filter_map(|p| p.parse().ok()).filter(|v: &f64| v.is_finite()).collect();
    let wrong = || format!("write {N} number{}, with a decimal point", if N == 1 { "" } else { "s" });
    if read.len() != parts.len() {
        return Err(wrong());
    }
    <[f64; N]>::try_from(read).map_err(|_| wrong())
}
