//! Names of files and folders, read by a pattern: `{player}/{date}/{club}-{number}.c3d`, matched from the end of the path.
use super::Stated;
use super::clock;
use crate::error::StudyError;
use regex::{Regex, RegexBuilder};
use std::path::Path;

/// A pattern, ready to be matched.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// As it was given.
    pub text: String,
    /// One for each folder and the file, in the order of the path.
    parts: Vec<Part>,
}

/// The pattern of one folder or of the file.
#[derive(Clone, Debug)]
struct Part {
    text: String,
    pieces: Vec<Piece>,
    whole: Regex,
}

/// What a stretch of a name is.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece {
    /// These letters, whatever the case.
    Literal(String),
    /// Anything.
    Any,
    /// A field, with the format of a day or time where one was given.
    Field(Field, Option<String>),
}

/// What a name may state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Player,
    Date,
    Time,
    Club,
    Number,
    Rig,
    Session,
    Tag,
}

const FIELDS: [(&str, Field); 8] = [
    ("player", Field::Player),
    ("date", Field::Date),
    ("time", Field::Time),
    ("club", Field::Club),
    ("number", Field::Number),
    ("rig", Field::Rig),
    ("session", Field::Session),
    ("tag", Field::Tag),
];

/// A path that a pattern does not fit, or whose values cannot be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misfit {
    /// What does not fit, whatever the name: names that stop in the same way are alike in it.
    pub kind: String,
    /// What does not fit, in one line.
    pub why: String,
    /// Pattern and path, one over the other, with a mark where it stops.
    pub drawing: String,
}

impl Pattern {
    /// Reads a pattern.
    ///
    /// Errors: a field that there is not, a brace that does not close, fields that touch, a name given twice.
    pub fn parse(text: &str) -> Result<Self, StudyError> {
        let refused = |why: String| StudyError::Refused(format!("the pattern {text}: {why}"));
        let mut parts = Vec::new();
        let mut seen = Vec::new();
        for part in split(text).into_iter().filter(|p| !p.is_empty()) {
            let pieces = pieces(&part).map_err(refused)?;
            for pair in pieces.windows(2) {
                if let [a, b] = pair
                    && !matches!(a, Piece::Literal(_))
                    && !matches!(b, Piece::Literal(_))
                    && (open_ended(a) && open_ended(b))
                {
                    let why = format!(
                        "{} and {} touch: nothing says where one ends and the other begins",
                        named(a),
                        named(b)
                    );
                    return Err(refused(why));
                }
            }
            for piece in &pieces {
                if let Piece::Field(field, _) = piece {
                    if *field != Field::Tag && seen.contains(field) {
                        return Err(refused(format!("{} stands in it twice", named(piece))));
                    }
                    seen.push(*field);
                }
            }
            let whole = compile(&pieces, true).map_err(refused)?;
            parts.push(Part { text: part, pieces, whole });
        }
        if parts.is_empty() {
            return Err(refused("it is empty".into()));
        }
        Ok(Self { text: text.to_string(), parts })
    }

    /// The ending that files must have, in lower case, where the pattern states one.
    pub fn ending(&self) -> Option<String> {
        let Some(Piece::Literal(last)) = self.parts.last()?.pieces.last() else { return None };
        let (_, ending) = last.rsplit_once('.')?;
        (!ending.is_empty()).then(|| ending.to_lowercase())
    }

    /// What a path states.
    ///
    /// Errors: where the path stops fitting, or a day or number in it that cannot be.
    pub fn read(&self, path: &Path) -> Result<Stated, Misfit> {
        let names = self.names(path);
        let mut stated = Stated::default();
        for (part, name) in self.parts.iter().zip(&names).rev() {
            let Some(name) = name else {
                let wanted = self.parts.len();
                let has = names.iter().flatten().count();
                let why =
                    format!("the path has {has} of the {wanted} names that the pattern wants, from the end");
                return Err(Misfit { kind: why.clone(), why, drawing: self.drawing(&names, part, 0) });
            };
            let Some(found) = part.whole.captures(name) else {
                let (kind, at) = part.stops(name);
                let why = format!("{kind} in \"{name}\"");
                return Err(Misfit { kind, why, drawing: self.drawing(&names, part, at) });
            };
            let fields = part.pieces.iter().filter(|p| matches!(p, Piece::Field(..)));
            for (k, piece) in fields.enumerate() {
                let Some(value) = found.get(k + 1) else { continue };
                state(&mut stated, piece, value.as_str()).map_err(|why| {
                    let at = name.get(..value.start()).map_or(0, |s| s.chars().count());
                    let kind = format!("{} cannot be", named(piece));
                    Misfit { kind, why, drawing: self.drawing(&names, part, at) }
                })?;
            }
        }
        Ok(stated)
    }

    /// The last names of a path, as many as the pattern has parts; the file without its ending where the pattern has none.
    fn names(&self, path: &Path) -> Vec<Option<String>> {
        let mut names: Vec<String> = path
            .components()
            .filter(|c| matches!(c, std::path::Component::Normal(_)))
            .map(|c| c.as_os_str().to_string_lossy().into_owned())
            .collect();
        let dotted = self
            .parts
            .last()
            .is_some_and(|p| p.pieces.iter().any(|p| matches!(p, Piece::Literal(l) if l.contains('.'))));
        if !dotted && let (Some(last), Some(stem)) = (names.last_mut(), path.file_stem()) {
            *last = stem.to_string_lossy().into_owned();
        }
        let missing = self.parts.len().saturating_sub(names.len());
        let skip = names.len().saturating_sub(self.parts.len());
        std::iter::repeat_n(None, missing).chain(names.into_iter().skip(skip).map(Some)).collect()
    }

    /// Two lines whose names stand under one another, and a mark under the letter where the fit ends.
    fn drawing(&self, names: &[Option<String>], stopped: &Part, at: usize) -> String {
        let (mut above, mut below, mut mark) = (String::new(), String::new(), None);
        for (part, name) in self.parts.iter().zip(names) {
            let name = name.as_deref().unwrap_or("");
            if std::ptr::eq(part, stopped) {
                mark = Some(below.chars().count() + at);
            }
            let width = part.text.chars().count().max(name.chars().count());
            above.push_str(&format!("{:width$} / ", part.text));
            below.push_str(&format!("{name:width$} / "));
        }
        let trimmed = |line: &str| line.trim_end_matches([' ', '/']).to_string();
        let space = " ".repeat(mark.unwrap_or(0));
        format!("pattern  {}\npath     {}\n         {space}^", trimmed(&above), trimmed(&below))
    }
}

impl Part {
    /// Why a name does not fit, and after how many of its letters.
    fn stops(&self, name: &str) -> (String, usize) {
        let mut fits = 0;
        let mut at = 0;
        for k in 1..=self.pieces.len() {
            let head = self.pieces.get(..k).unwrap_or_default();
            let Some(found) = compile(head, false).ok().and_then(|r| r.find(name).map(|m| m.end())) else {
                break;
            };
            (fits, at) = (k, found);
        }
        let at = name.get(..at).map_or(0, |s| s.chars().count());
        let why = match (self.pieces.get(fits), fits.checked_sub(1).and_then(|k| self.pieces.get(k))) {
            (Some(Piece::Literal(text)), Some(before)) if !matches!(before, Piece::Literal(_)) => {
                format!("no \"{text}\" follows {}", named(before))
            }
            (Some(piece), _) => format!("{} does not stand there", named(piece)),
            (None, _) => "the name goes on where the pattern ends".to_string(),
        };
        (why, at)
    }
}

/// At `/` and `\` outside braces.
fn split(text: &str) -> Vec<String> {
    let (mut parts, mut part, mut inside) = (Vec::new(), String::new(), false);
    for c in text.chars() {
        match c {
            '/' | '\\' if !inside => parts.push(std::mem::take(&mut part)),
            _ => {
                inside = c == '{' || (inside && c != '}');
                part.push(c);
            }
        }
    }
    parts.push(part);
    parts
}

fn pieces(part: &str) -> Result<Vec<Piece>, String> {
    let mut pieces = Vec::new();
    let mut rest = part;
    while !rest.is_empty() {
        if let Some(inside) = rest.strip_prefix('{') {
            let (field, after) = inside.split_once('}').ok_or("a { has no }")?;
            pieces.push(piece(field)?);
            rest = after;
        } else if let Some(after) = rest.strip_prefix('*') {
            pieces.push(Piece::Any);
            rest = after;
        } else {
            let end = rest.find(['{', '*']).unwrap_or(rest.len());
            let (text, after) = rest.split_at(end);
            pieces.push(Piece::Literal(text.to_string()));
            rest = after;
        }
    }
    Ok(pieces)
}

fn piece(field: &str) -> Result<Piece, String> {
    let (name, format) = match field.split_once(':') {
        Some((name, format)) => (name, Some(format.to_string())),
        None => (field, None),
    };
    let name = name.trim().to_lowercase();
    if name.is_empty() {
        return Ok(Piece::Any);
    }
    let Some((_, field)) = FIELDS.iter().find(|(n, _)| *n == name) else {
        let all: Vec<&str> = FIELDS.iter().map(|(n, _)| *n).collect();
        return Err(format!("{{{name}}} is no field; there are {} and {{}} for anything", all.join(", ")));
    };
    if format.is_some() && !matches!(field, Field::Date | Field::Time) {
        return Err(format!("{{{name}}} takes no format; {{date:…}} and {{time:…}} do"));
    }
    Ok(Piece::Field(*field, format))
}

/// How a piece is called in a sentence.
fn named(piece: &Piece) -> String {
    match piece {
        Piece::Literal(text) => format!("\"{text}\""),
        Piece::Any => "{}".into(),
        Piece::Field(field, format) => {
            let name = FIELDS.iter().find(|(_, f)| f == field).map_or("", |(n, _)| *n);
            match (field, format) {
                (_, Some(format)) => format!("{{{name}:{format}}}"),
                (Field::Number | Field::Session, _) => format!("{{{name}}} (digits)"),
                (Field::Date, _) => "{date} (as 2026-05-12 or 20260512)".into(),
                (Field::Time, _) => "{time} (as 14-03-10 or 140310)".into(),
                _ => format!("{{{name}}}"),
            }
        }
    }
}

/// True for what may be of any length and any letters.
fn open_ended(piece: &Piece) -> bool {
    match piece {
        Piece::Any => true,
        Piece::Field(field, _) => {
            !matches!(field, Field::Date | Field::Time | Field::Number | Field::Session)
        }
        Piece::Literal(_) => false,
    }
}

fn compile(pieces: &[Piece], whole: bool) -> Result<Regex, String> {
    let mut text = String::from("^");
    for piece in pieces {
        match piece {
            Piece::Literal(literal) => text.push_str(&regex::escape(literal)),
            Piece::Any => text.push_str(".*?"),
            Piece::Field(field, format) => {
                text.push_str(&format!("({})", expected(*field, format.as_deref())))
            }
        }
    }
    if whole {
        text.push('$');
    }
    RegexBuilder::new(&text).case_insensitive(true).build().map_err(|e| e.to_string())
}

fn expected(field: Field, format: Option<&str>) -> String {
    match (field, format) {
        (_, Some(format)) => of_format(format),
        (Field::Date, None) => r"\d{4}-\d{2}-\d{2}|\d{8}".into(),
        (Field::Time, None) => r"\d{2}[-_.:h]?\d{2}(?:[-_.:m]?\d{2})?".into(),
        (Field::Number | Field::Session, None) => r"\d+".into(),
        _ => ".+?".into(),
    }
}

/// A format of days or times as letters that it may stand for.
fn of_format(format: &str) -> String {
    let mut text = String::new();
    let mut letters = format.chars();
    while let Some(c) = letters.next() {
        if c != '%' {
            text.push_str(&regex::escape(&c.to_string()));
            continue;
        }
        text.push_str(match letters.next() {
            Some('Y') => r"\d{4}",
            Some('F') => r"\d{4}-\d{1,2}-\d{1,2}",
            Some('T') => r"\d{1,2}:\d{2}:\d{2}",
            Some('m' | 'd' | 'e' | 'H' | 'I' | 'M' | 'S' | 'y' | 'k' | 'l') => r"\d{1,2}",
            Some('j') => r"\d{1,3}",
            Some('b' | 'B' | 'h' | 'a' | 'A' | 'p' | 'P') => r"\p{Alphabetic}+",
            Some('%') => "%",
            _ => r".+?",
        });
    }
    text
}

fn state(stated: &mut Stated, piece: &Piece, value: &str) -> Result<(), String> {
    let Piece::Field(field, format) = piece else { return Ok(()) };
    let value = value.trim();
    let number = || value.parse::<i64>().map_err(|_| format!("\"{value}\" is no number that can be kept"));
    match field {
        Field::Player => stated.player = Some(value.to_string()),
        Field::Club => stated.club = Some(value.to_string()),
        Field::Rig => stated.rig = Some(value.to_string()),
        Field::Tag => stated.tags.push(value.to_string()),
        Field::Number => stated.number = Some(number()?),
        Field::Session => stated.session = Some(number()?),
        Field::Date => stated.date = Some(clock::day(value, format.as_deref())?),
        Field::Time => stated.time = Some(clock::time(value, format.as_deref())?),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn read(pattern: &str, path: &str) -> Result<Stated, Misfit> {
        Pattern::parse(pattern).unwrap().read(Path::new(path))
    }

    #[test]
    fn a_path_is_read_from_its_end() {
        let s =
            read("{player}/{date}/{club}-{number}.c3d", "some/where/P01/2026-05-12/7-Iron-03.C3D").unwrap();
        assert_eq!(
            (s.player.as_deref(), s.date.as_deref(), s.club.as_deref(), s.number),
            (Some("P01"), Some("2026-05-12"), Some("7-Iron"), Some(3))
        );
        let s =
            read("{player}_{date:%d.%m.%Y}_{time}_*_{tag}", "Ann B_03.11.2025_140310_x_warm up.csv").unwrap();
        assert_eq!((s.player.as_deref(), s.date.as_deref()), (Some("Ann B"), Some("2025-11-03")));
        assert_eq!(
            (s.time.as_deref(), s.tags.as_slice()),
            (Some("14:03:10"), ["warm up".to_string()].as_slice())
        );
        let s = read("{player}{number}", "D12.c3d").unwrap();
        assert_eq!((s.player.as_deref(), s.number), (Some("D"), Some(12)));
        let s = read("Session {session}/{}.c3d", "SESSION 4/whatever.c3d").unwrap();
        assert_eq!(s.session, Some(4));
        let s = read("{date:%d%b%y}.c3d", "3Nov25.c3d").unwrap();
        assert_eq!(s.date.as_deref(), Some("2025-11-03"));
    }

    #[test]
    fn a_misfit_shows_where_it_stops() {
        let misfit = read("{player}/{date}/{club}-{number}.c3d", "in/P01/2026-05-12/D_03.c3d").unwrap_err();
        assert_eq!(misfit.why, "no \"-\" follows {club} in \"D_03.c3d\"");
        assert_eq!(
            misfit.drawing,
            "pattern  {player} / {date}     / {club}-{number}.c3d\n\
             path     P01      / 2026-05-12 / D_03.c3d\n         \
             \u{20}                        ^"
        );
        let misfit = read("{player}/{date}/{club}-{number}.c3d", "P01/12.05.2026/D-03.c3d").unwrap_err();
        assert!(
            misfit.why.starts_with("{date} (as 2026-05-12 or 20260512) does not stand there"),
            "{misfit:?}"
        );
        assert!(misfit.drawing.ends_with(&format!("\n         {}^", " ".repeat(11))), "{}", misfit.drawing);
        let misfit = read("{player}/{date}.c3d", "20260512.c3d").unwrap_err();
        assert_eq!(misfit.why, "the path has 1 of the 2 names that the pattern wants, from the end");
        let misfit = read("{club}-{number}.c3d", "D-03.c3d.old").unwrap_err();
        assert_eq!(misfit.why, "the name goes on where the pattern ends in \"D-03.c3d.old\"");
    }

    #[test]
    fn a_day_that_cannot_be_is_no_day() {
        let why = read("{date}/{}.c3d", "20260230/a.c3d").unwrap_err().why;
        assert_eq!(why, "\"20260230\" is no day; write it as 2026-05-12");
        let why = read("{date:%d.%m.%Y}", "31.02.2026.c3d").unwrap_err().why;
        assert!(why.starts_with("\"31.02.2026\" is no day written as %d.%m.%Y"), "{why}");
    }

    #[test]
    fn patterns_that_cannot_be_say_why() {
        let why = |text: &str| Pattern::parse(text).unwrap_err().to_string();
        assert!(why("{name}.c3d").contains("{name} is no field; there are player, date"));
        assert!(why("{player.c3d").contains("a { has no }"));
        assert!(why("{player}{club}").contains("{player} and {club} touch"));
        assert!(why("{club}/{club}").contains("{club} stands in it twice"));
        assert!(why("{club:%d}").contains("takes no format"));
        assert!(why("/").contains("it is empty"));
        assert_eq!(Pattern::parse("{club}.C3D").unwrap().ending().as_deref(), Some("c3d"));
        assert_eq!(Pattern::parse("{club}").unwrap().ending(), None);
    }
}
