//! Parameters made from plain values, for writing.
use super::params::{Group, Parameter, Values};
use super::text::Text;

pub(super) fn group(name: &str, description: &str, parameters: Vec<Parameter>) -> Group {
    // Numbers are given when all groups are known.
    Group { id: 0, name: name.into(), locked: false, description: description.into(), parameters }
}

fn parameter(name: &str, dims: &[usize], values: Values) -> Parameter {
    let dims = dims.iter().map(|&d| d as u8).collect();
    Parameter { name: name.into(), locked: false, description: Text::default(), dims, values }
}

pub(super) fn int(name: &str, dims: &[usize], values: Vec<u16>) -> Parameter {
    parameter(name, dims, Values::Int(values.into_iter().map(|v| v as i16).collect()))
}

pub(super) fn float(name: &str, dims: &[usize], values: Vec<f32>) -> Parameter {
    parameter(name, dims, Values::Float(values))
}

pub(super) fn text(name: &str, value: &str) -> Parameter {
    parameter(name, &[value.len()], Values::Char(value.as_bytes().to_vec()))
}

/// Widest text of a list: 255 of them still fit the 16-bit size of a parameter.
pub(super) const WIDEST: usize = 235;

/// NAME, NAME2, NAME3 …
pub(super) fn numbered(name: &str) -> impl Iterator<Item = String> {
    (1..).map(move |n| if n == 1 { name.to_string() } else { format!("{name}{n}") })
}

/// A list of texts, 255 a parameter. Texts that are too wide are cut at a character.
pub(super) fn labels<'a>(name: &str, texts: impl Iterator<Item = &'a str>) -> Vec<Parameter> {
    let cut = |text: &'a str| {
        let end = (0..=text.len().min(WIDEST)).rev().find(|&n| text.is_char_boundary(n)).unwrap_or(0);
        text.get(..end).unwrap_or_default()
    };
    let texts: Vec<&str> = texts.map(cut).collect();
    let width = texts.iter().map(|t| t.len()).max().unwrap_or(0).max(1);
    let one = |(name, chunk): (String, &[&str])| {
        let mut bytes = Vec::with_capacity(width * chunk.len());
        for text in chunk {
            bytes.extend(text.bytes().chain(std::iter::repeat(b' ')).take(width));
        }
        parameter(&name, &[width, chunk.len()], Values::Char(bytes))
    };
    numbered(name).zip(texts.chunks(255)).map(one).collect()
}
