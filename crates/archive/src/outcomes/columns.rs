//! Which columns of a table are outcomes, in which units. A unit is stated, never guessed.
use super::Given;
use super::names::{self, Known};
use crate::delimited::{Row, Sheet, is_nothing, word};
use crate::error::StudyError;
use crate::units::{self, Dimension, Unit};
use formats::rigfile::nearest;

/// A column of outcomes.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its place in the table.
    pub index: usize,
    /// Name under which it is kept.
    pub name: String,
    /// The unit of its cells.
    pub unit: &'static Unit,
}

/// The columns of a table that are outcomes, and those that are not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns {
    /// Outcomes, in the order of the table.
    pub outcomes: Vec<Column>,
    /// Heads of columns that are left out, with why.
    pub left_out: Vec<(String, String)>,
}

/// What a person said of a column: `Club Speed=clubhead-speed [mph]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// The column's head.
    pub head: String,
    /// The name under which it is kept.
    pub name: Option<String>,
    /// Its unit.
    pub unit: Option<&'static Unit>,
    /// True where it is to be left out: `Ball=-`.
    pub left_out: bool,
}

impl Said {
    /// Reads `HEAD=NAME [UNIT]`, `HEAD=[UNIT]`, `HEAD=NAME` or `HEAD=-`.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (head, said) =
            text.rsplit_once('=').ok_or("write HEAD=NAME [UNIT], for example Speed=ball-speed [mph]")?;
        let (name, unit) = apart(said.trim());
        let left_out = name == "-" && unit.is_none();
        let unit = unit
            .map(|u| units::called(u).ok_or(format!("\"{u}\" is no unit; there are {}", units::known())))
            .transpose()?;
        let name = (!name.is_empty() && !left_out).then(|| name.to_string());
        if name.is_none() && unit.is_none() && !left_out {
            return Err("after the = stand a name, a [unit], or both; - leaves the column out".into());
        }
        Ok(Self { head: head.trim().to_string(), name, unit, left_out })
    }
}

/// Words and the unit in brackets at their end: ("Club Speed", "mph").
fn apart(head: &str) -> (&str, Option<&str>) {
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some(inside) = head.strip_suffix(close)
            && let Some((words, unit)) = inside.rsplit_once(open)
        {
            return (words.trim(), Some(unit.trim()));
        }
    }
    (head.trim(), None)
}

/// Finds the outcomes of a table. `keys`: columns that say which swing a row is of. A row of units under the head is
/// understood, and taken out of the rows.
///
/// Errors: an outcome that is known and states no unit, or one that does not fit; a column said that is not there; two
/// columns of one outcome.
pub fn find(sheet: &mut Sheet, keys: &[usize], said: &[Said]) -> Result<Columns, StudyError> {
    for one in said {
        if !sheet.head.iter().any(|h| same_head(h, &one.head)) {
            let near = nearest(&one.head, sheet.head.iter().map(|h| apart(h).0));
            let near = near.map_or_else(String::new, |n| format!("; did you mean \"{n}\"?"));
            let why = format!("{} has no column \"{}\"{near}", sheet.name, one.head);
            return Err(StudyError::Refused(why));
        }
    }
    let below = units_row(sheet, keys);
    let mut columns = Columns::default();
    for index in 0..sheet.head.len() {
        if keys.contains(&index) || sheet.head.get(index).is_none_or(String::is_empty) {
            continue;
        }
        let below = below.as_ref().and_then(|row| row.cells.get(index)).map(String::as_str);
        match outcome(sheet, index, below, said)? {
            Ok(column) => {
                if columns.outcomes.iter().any(|c| c.name == column.name) {
                    let why =
                        format!("a second column of {}; leave one out with --column \"HEAD=-\"", column.name);
                    return Err(sheet.fault_of(index, why));
                }
                columns.outcomes.push(column);
            }
            Err(why) => {
                columns.left_out.push((sheet.head.get(index).cloned().unwrap_or_default(), why));
            }
        }
    }
    Ok(columns)
}

fn same_head(head: &str, asked: &str) -> bool {
    word(head) == word(asked) || word(apart(head).0) == word(asked)
}

/// Takes out the row under the head where it holds units and nothing else.
fn units_row(sheet: &mut Sheet, keys: &[usize]) -> Option<Row> {
    let first = sheet.rows.first()?;
    let bare = |cell: &str| cell.trim_matches(['[', ']', '(', ')', ' ']).to_string();
    let cells: Vec<(bool, String)> =
        first.cells.iter().enumerate().map(|(k, c)| (keys.contains(&k), bare(c))).collect();
    let units: Vec<&String> = cells.iter().filter(|(key, c)| !key && !c.is_empty()).map(|(_, c)| c).collect();
    // A lone "1" is a unit and a number; with no other unit beside it, it is a number.
    let all = units.iter().all(|u| units::called(u).is_some());
    let any = units.iter().any(|u| u.parse::<f64>().is_err());
    (all && any).then(|| {
        let mut row = sheet.rows.remove(0);
        row.cells = cells.into_iter().map(|(_, c)| c).collect();
        row
    })
}

/// One column: an outcome, or why it is left out.
fn outcome(
    sheet: &Sheet,
    index: usize,
    below: Option<&str>,
    said: &[Said],
) -> Result<Result<Column, String>, StudyError> {
    let head = sheet.head.get(index).map_or("", String::as_str);
    let said = said.iter().find(|s| same_head(head, &s.head));
    if said.is_some_and(|s| s.left_out) {
        return Ok(Err("left out as you said".into()));
    }
    let (words, in_head) = apart(head);
    let name = said.and_then(|s| s.name.as_deref()).unwrap_or(words);
    let known: Option<&Known> = names::called(name);
    let stated = in_head.or(below.filter(|u| !u.is_empty()));
    let unit = match (said.and_then(|s| s.unit), stated) {
        (Some(unit), _) => Some(unit),
        (None, Some(text)) => match (units::called(text), known) {
            (Some(unit), _) => Some(unit),
            (None, Some(_)) => {
                let why = format!("\"{text}\" is no unit that is known; there are {}", units::known());
                return Err(sheet.fault_of(index, why));
            }
            (None, None) => return Ok(Err(format!("\"{text}\" is no unit that is known"))),
        },
        (None, None) => None,
    };
    // A ratio of two speeds has no unit to state.
    let unit =
        unit.or_else(|| known.filter(|k| k.dimension == Dimension::One).and_then(|_| units::called("1")));
    match (known, unit) {
        (Some(known), Some(unit)) if known.dimension != unit.dimension => {
            let why =
                format!("{} is not given in {}; {} fit", known.label, unit.symbol, known.dimension.units());
            Err(sheet.fault_of(index, why))
        }
        (Some(known), Some(unit)) => Ok(Ok(Column { index, name: known.name.to_string(), unit })),
        (Some(known), None) => {
            let why = format!(
                "no unit is stated, and none is guessed; write it in the head, as \"{words} ({})\", or say --column \"{words}=[{}]\"",
                known.dimension.units().split(", ").next().unwrap_or_default(),
                known.dimension.units().split(", ").next().unwrap_or_default(),
            );
            Err(sheet.fault_of(index, why))
        }
        (None, Some(unit)) => Ok(Ok(Column { index, name: names::kept(name), unit })),
        (None, None) if said.is_some() => {
            Err(sheet.fault_of(index, "no unit is stated, and none is guessed; say it as [UNIT] or [1]"))
        }
        (None, None) => Ok(Err("it states no unit".into())),
    }
}

impl Columns {
    /// The outcomes of a row; cells without a figure are left out.
    ///
    /// Errors: a cell that is no number, with its place.
    pub fn of(&self, sheet: &Sheet, row: &Row) -> Result<Vec<Given>, StudyError> {
        let mut all = Vec::with_capacity(self.outcomes.len());
        for column in &self.outcomes {
            let cell = sheet.cell(row, column.index);
            if is_nothing(cell) {
                continue;
            }
            let Some(value) = sheet.number(row, column.index)? else { continue };
            let given = if column.unit.symbol == "1" {
                cell.to_string()
            } else {
                format!("{cell} {}", column.unit.symbol)
            };
            let (name, unit) = (column.name.clone(), column.unit.dimension.si());
            all.push(Given { name, value: column.unit.si(value), unit, given });
        }
        Ok(all)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn found(text: &str, said: &[&str]) -> Result<(Sheet, Columns), StudyError> {
        let mut sheet = Sheet::parse("t.csv", text.as_bytes())?;
        let said: Vec<Said> = said.iter().map(|s| Said::parse(s).unwrap()).collect();
        let columns = find(&mut sheet, &[0], &said)?;
        Ok((sheet, columns))
    }

    fn words(columns: &Columns) -> Vec<(&str, &str)> {
        columns.outcomes.iter().map(|c| (c.name.as_str(), c.unit.symbol)).collect()
    }

    #[test]
    fn units_come_from_the_head_a_row_or_a_word() {
        let (_, c) =
            found("n,Club Speed (mph),Carry [yds],Smash,Ball,Heel (mm)\n1,100,250,1.4,x,3\n", &[]).unwrap();
        let expected = [("clubhead-speed", "mph"), ("carry", "yd"), ("smash-factor", "1"), ("heel", "mm")];
        assert_eq!(words(&c), expected);
        assert_eq!(c.left_out, [("Ball".to_string(), "it states no unit".to_string())]);
        let (sheet, c) = found("n,Club Speed,Smash,Carry\n,[mph],1,m\n1,100,1.4,220\n", &[]).unwrap();
        assert_eq!(words(&c), [("clubhead-speed", "mph"), ("smash-factor", "1"), ("carry", "m")]);
        assert_eq!(sheet.rows.len(), 1);
        let said = ["Speed A=ball-speed [km/h]", "Carry=[m]", "Total=-", "X=x-factor [deg]"];
        let (_, c) = found("n,Speed A,Carry,Total,X\n1,200,220,230,45\n", &said).unwrap();
        assert_eq!(words(&c), [("ball-speed", "km/h"), ("carry", "m"), ("x-factor", "deg")]);
    }

    #[test]
    fn no_unit_is_refused_with_the_name_of_the_column() {
        let why = |text: &str, said: &[&str]| found(text, said).unwrap_err().to_string();
        let no_unit = why("n,Ball Speed\n1,60\n", &[]);
        assert!(
            no_unit.starts_with("t.csv, column \"Ball Speed\": no unit is stated, and none is guessed"),
            "{no_unit}"
        );
        assert!(why("n,Carry (furlongs)\n1,1\n", &[]).contains("\"furlongs\" is no unit"));
        let misfit = why("n,Carry (mph)\n1,1\n", &[]);
        assert!(misfit.contains("carry is not given in mph; m, yd, ft, in, cm, mm fit"), "{misfit}");
        assert!(why("n,Carry (m),Carry Distance (yd)\n1,1,2\n", &[]).contains("a second column of carry"));
        let missing = why("n,Carry (m)\n1,1\n", &["Cary=[m]"]);
        assert_eq!(missing, "t.csv has no column \"Cary\"; did you mean \"Carry\"?");
        assert!(Said::parse("Carry").is_err() && Said::parse("Carry=").is_err());
        assert!(Said::parse("Carry=[miles]").is_err());
    }

    /// 112.5 mph × 0.44704 = 50.292 m/s; 250 yd × 0.9144 = 228.6 m (1959 agreement).
    #[test]
    fn a_row_becomes_si_and_keeps_what_was_given() {
        let (sheet, c) = found("n;Club Speed (mph);Carry (yd);Smash\n1;112,5;250;-\n", &[]).unwrap();
        let given = c.of(&sheet, &sheet.rows[0]).unwrap();
        assert_eq!(given.len(), 2);
        assert!((given[0].value - 50.292).abs() < 1e-12 && given[0].unit == "m/s");
        assert_eq!(given[0].given, "112,5 mph");
        assert!((given[1].value - 228.6).abs() < 1e-12);
    }
}
