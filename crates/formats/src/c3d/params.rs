//! The parameter section: groups and parameters, kept as the file has them.
//!
//! Source: C3D user guide, parameter section. Records follow one another in any order; a parameter may come before
//! its group or have none; array dimensions are unsigned bytes, the first index running fastest.
use super::number::Processor;
use super::text::{Text, shown};

/// A named group of parameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Number that ties parameters to the group, 1 to 128.
    pub id: u8,
    /// Name; empty for parameters whose group the file does not define.
    pub name: Text,
    /// Marked as locked.
    pub locked: bool,
    /// Free text.
    pub description: Text,
    /// Parameters in the order of the file.
    pub parameters: Vec<Parameter>,
}

/// A named value or array.
#[derive(Clone, Debug, PartialEq)]
pub struct Parameter {
    /// Name.
    pub name: Text,
    /// Marked as locked.
    pub locked: bool,
    /// Free text.
    pub description: Text,
    /// Dimensions; empty for a scalar. Their product is the number of values.
    pub dims: Vec<u8>,
    /// The values.
    pub values: Values,
}

/// Values of a parameter, by the type byte.
#[derive(Clone, Debug)]
pub enum Values {
    /// −1: characters.
    Char(Vec<u8>),
    /// 1: bytes.
    Byte(Vec<u8>),
    /// 2: 16-bit integers. Counts use them unsigned.
    Int(Vec<i16>),
    /// 4: floats.
    Float(Vec<f32>),
    /// Any other type: kept as it is.
    Other {
        /// The type byte; its magnitude is taken for the size of an element.
        kind: i8,
        /// The bytes.
        bytes: Vec<u8>,
    },
}

impl PartialEq for Values {
    /// Floats are compared bit by bit, so that NaN equals itself.
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Char(a), Self::Char(b)) | (Self::Byte(a), Self::Byte(b)) => a == b,
            (Self::Int(a), Self::Int(b)) => a == b,
            (Self::Float(a), Self::Float(b)) => {
                a.iter().map(|v| v.to_bits()).eq(b.iter().map(|v| v.to_bits()))
            }
            (Self::Other { kind: a, bytes: x }, Self::Other { kind: b, bytes: y }) => a == b && x == y,
            _ => false,
        }
    }
}

impl Values {
    /// How many values there are.
    pub fn len(&self) -> usize {
        match self {
            Self::Char(v) | Self::Byte(v) => v.len(),
            Self::Int(v) => v.len(),
            Self::Float(v) => v.len(),
            Self::Other { kind, bytes } => bytes.len() / usize::from(kind.unsigned_abs()).max(1),
        }
    }
    /// True where there is no value.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
    fn kind(&self) -> i8 {
        match self {
            Self::Char(_) => -1,
            Self::Byte(_) => 1,
            Self::Int(_) => 2,
            Self::Float(_) => 4,
            Self::Other { kind, .. } => *kind,
        }
    }
}

impl Parameter {
    /// A number, integers signed; `None` where there is none or it is text.
    pub fn number(&self, index: usize) -> Option<f64> {
        match &self.values {
            Values::Byte(v) => v.get(index).map(|&b| f64::from(b)),
            Values::Int(v) => v.get(index).map(|&b| f64::from(b)),
            Values::Float(v) => v.get(index).map(|&b| f64::from(b)),
            Values::Char(_) | Values::Other { .. } => None,
        }
    }
    /// A count: integers unsigned, floats rounded; `None` where there is none, or it is negative or not finite.
    pub fn count(&self, index: usize) -> Option<usize> {
        match &self.values {
            Values::Int(v) => v.get(index).map(|&b| usize::from(b as u16)),
            _ => self.number(index).filter(|v| (0.0..4.0e9).contains(v)).map(|v| (v + 0.5).floor() as usize),
        }
    }
    /// Texts of a character array, without padding. One dimension is one text.
    pub fn texts(&self) -> Vec<String> {
        let Values::Char(bytes) = &self.values else { return Vec::new() };
        let width = self.dims.first().map_or(1, |&d| usize::from(d));
        if width == 0 {
            let rows: usize =
                self.dims.iter().skip(1).map(|&d| usize::from(d)).fold(1, usize::saturating_mul);
            return vec![String::new(); if self.dims.len() > 1 { rows.min(MOST_EMPTY_TEXTS) } else { 0 }];
        }
        bytes.chunks(width).map(shown).collect()
    }
    /// The first text, without padding.
    pub fn text(&self) -> Option<String> {
        self.texts().into_iter().next()
    }
}

/// Texts of no characters take no bytes, so their number is limited here.
const MOST_EMPTY_TEXTS: usize = 255;

/// The parameter of this group and name (case ignored); the first, should there be several.
pub fn find<'a>(groups: &'a [Group], group: &str, name: &str) -> Option<&'a Parameter> {
    let of_group = |g: &&Group| g.name.is(group);
    groups.iter().filter(of_group).flat_map(|g| &g.parameters).find(|p| p.name.is(name))
}

/// A list that goes on past 255 items: NAME, NAME2, NAME3 … as far as they exist.
pub fn continued<'a>(
    groups: &'a [Group],
    group: &'a str,
    name: &'a str,
) -> impl Iterator<Item = &'a Parameter> {
    let rest = (2..).map_while(move |n| find(groups, group, &format!("{name}{n}")));
    find(groups, group, name).into_iter().chain(rest)
}

/// Texts of a list that may go on past 255 items.
pub fn texts(groups: &[Group], group: &str, name: &str) -> Vec<String> {
    continued(groups, group, name).flat_map(Parameter::texts).collect()
}

/// What [`read`] found.
pub(super) struct Section {
    pub groups: Vec<Group>,
    /// Byte after the last record.
    pub end: usize,
    /// What was odd, in words.
    pub odd: Vec<String>,
}

/// More records than this are not read: a section of 255 blocks holds fewer.
const MOST_RECORDS: usize = 30_000;

/// Reads records from byte `start` up to `limit` (and never past the end of `bytes`).
pub(super) fn read(bytes: &[u8], start: usize, limit: usize, processor: Processor) -> Section {
    let section = bytes.get(..limit.min(bytes.len())).unwrap_or_default();
    let mut groups: Vec<Group> = Vec::new();
    let mut loose: Vec<(u8, Parameter)> = Vec::new();
    let mut odd = Vec::new();
    let mut at = start;
    let mut end = start;
    for _ in 0..MOST_RECORDS {
        let Some((&[length, id], rest)) = section.get(at..).and_then(<[u8]>::split_first_chunk::<2>) else {
            break;
        };
        let (length, id) = (length as i8, id as i8);
        if length == 0 {
            break;
        }
        let name_len = usize::from(length.unsigned_abs());
        let Some((name, rest)) = rest.split_at_checked(name_len) else {
            odd.push(format!("the record at byte {at} runs past the end of the parameter section"));
            break;
        };
        let Some((&offset, body)) = rest.split_first_chunk::<2>() else {
            odd.push(format!("the record at byte {at} runs past the end of the parameter section"));
            break;
        };
        let name = Text(name.to_vec());
        let locked = length < 0;
        let offset = usize::from(processor.u16(offset));
        let used = if id < 0 {
            let (description, used) = description(body);
            groups.push(Group { id: id.unsigned_abs(), name, locked, description, parameters: Vec::new() });
            used
        } else {
            match parameter(body, processor) {
                Some((dims, values, description, used)) => {
                    loose.push((id as u8, Parameter { name, locked, description, dims, values }));
                    used
                }
                None => {
                    odd.push(format!("parameter {name} at byte {at} is larger than the parameter section"));
                    0
                }
            }
        };
        let here = at + 2 + name_len;
        end = here + 2 + used;
        if offset == 0 {
            break;
        }
        if offset < 2 {
            odd.push(format!(
                "the record at byte {at} points into itself; reading of parameters ended there"
            ));
            break;
        }
        at = here + offset;
    }
    // Parameters go to the first group with their number; those without one keep company in a nameless group.
    let mut place = [None; 256];
    for (index, group) in groups.iter().enumerate().rev() {
        place[usize::from(group.id)] = Some(index);
    }
    for (id, parameter) in loose {
        let index = *place[usize::from(id)].get_or_insert_with(|| {
            let (name, description) = (Text::default(), Text::default());
            groups.push(Group { id, name, locked: false, description, parameters: Vec::new() });
            groups.len() - 1
        });
        if let Some(group) = groups.get_mut(index) {
            group.parameters.push(parameter);
        }
    }
    Section { groups, end, odd }
}

/// A description and the bytes it takes; a missing or cut one is what is there.
fn description(body: &[u8]) -> (Text, usize) {
    let Some((&length, rest)) = body.split_first() else { return (Text::default(), 0) };
    let text = rest.get(..usize::from(length)).unwrap_or(rest);
    (Text(text.to_vec()), 1 + text.len())
}

/// Type, dimensions, data and description of a parameter; `None` where the data do not fit.
fn parameter(body: &[u8], processor: Processor) -> Option<(Vec<u8>, Values, Text, usize)> {
    let (&[kind, rank], rest) = body.split_first_chunk::<2>()?;
    let kind = kind as i8;
    let (dims, rest) = rest.split_at_checked(usize::from(rank))?;
    let count = dims.iter().try_fold(1usize, |n, &d| n.checked_mul(usize::from(d)))?;
    let size = count.checked_mul(usize::from(kind.unsigned_abs()))?;
    let (data, rest) = rest.split_at_checked(size)?;
    let values = match kind {
        -1 => Values::Char(data.to_vec()),
        1 => Values::Byte(data.to_vec()),
        2 => Values::Int(data.as_chunks::<2>().0.iter().map(|&b| processor.i16(b)).collect()),
        4 => Values::Float(data.as_chunks::<4>().0.iter().map(|&b| processor.f32(b)).collect()),
        kind => Values::Other { kind, bytes: data.to_vec() },
    };
    let (description, used) = description(rest);
    Some((dims.to_vec(), values, description, 2 + dims.len() + size + used))
}

/// Writes all records; `Err` says what does not fit.
pub(super) fn write(groups: &[Group], processor: Processor) -> Result<Vec<u8>, String> {
    let mut out = Vec::new();
    for group in groups {
        if !group.name.0.is_empty() {
            let mut body = Vec::new();
            put_description(&mut body, &group.description, &group.name)?;
            put_record(&mut out, &group.name, group.locked, group.id.wrapping_neg(), &body, processor)?;
        }
        for parameter in &group.parameters {
            let body = body_of(parameter, processor)?;
            put_record(&mut out, &parameter.name, parameter.locked, group.id, &body, processor)?;
        }
    }
    // A name of no characters ends the section; one byte, since some files have no room for more.
    out.push(0);
    Ok(out)
}

fn put_record(
    out: &mut Vec<u8>,
    name: &Text,
    locked: bool,
    id: u8,
    body: &[u8],
    processor: Processor,
) -> Result<(), String> {
    let most = if locked { 128 } else { 127 };
    if name.0.is_empty() || name.0.len() > most {
        return Err(format!("the name {name:?} has {} characters, 1 to {most} are possible", name.0.len()));
    }
    let length = name.0.len() as u8;
    let offset = u16::try_from(2 + body.len())
        .map_err(|_| format!("parameter {name} takes {} bytes, 65,533 are possible", body.len()))?;
    out.push(if locked { length.wrapping_neg() } else { length });
    out.push(id);
    out.extend(&name.0);
    out.extend(processor.put_u16(offset));
    out.extend(body);
    Ok(())
}

fn put_description(body: &mut Vec<u8>, description: &Text, of: &Text) -> Result<(), String> {
    let length = u8::try_from(description.0.len()).map_err(|_| {
        format!("the description of {of} has {} characters, 255 are possible", description.0.len())
    })?;
    body.push(length);
    body.extend(&description.0);
    Ok(())
}

fn body_of(parameter: &Parameter, processor: Processor) -> Result<Vec<u8>, String> {
    let Parameter { name, dims, values, .. } = parameter;
    let count: usize = dims.iter().map(|&d| usize::from(d)).fold(1, usize::saturating_mul);
    if count != values.len() && !matches!(values, Values::Other { kind: 0, .. }) {
        return Err(format!("parameter {name} has {} values, its dimensions say {count}", values.len()));
    }
    let rank =
        u8::try_from(dims.len()).map_err(|_| format!("parameter {name} has {} dimensions", dims.len()))?;
    let mut body = vec![values.kind() as u8, rank];
    body.extend(dims);
    match values {
        Values::Char(v) | Values::Byte(v) | Values::Other { bytes: v, .. } => body.extend(v),
        Values::Int(v) => body.extend(v.iter().flat_map(|&i| processor.put_u16(i as u16))),
        Values::Float(v) => {
            for &float in v {
                let bytes = processor.put_f32(float);
                body.extend(
                    bytes.ok_or_else(|| format!("parameter {name} holds {float}, which DEC cannot write"))?,
                );
            }
        }
    }
    put_description(&mut body, &parameter.description, name)?;
    Ok(body)
}
