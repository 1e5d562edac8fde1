//! A whole file in memory, for rewriting: nothing of it is interpreted, nothing of it is lost.
use super::error::C3dError;
use super::header::Header;
use super::layout::Storage;
use super::number::Processor;
use super::params::{self, Group};
use super::view::{Point, View, word_of};
use mechanics::Checked;

/// An owned C3D file. `read` then `write` then `read` gives the same document, in every encoding.
///
/// Kept: header with its reserved words, all groups and parameters with their order, locks and descriptions, and the
/// data as stored. Not kept: padding, and bytes that belong to no record and no frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// Who writes it. Changing it changes every number's bytes and no number's value.
    pub processor: Processor,
    /// The header.
    pub header: Header,
    /// First two bytes of the parameter section (no documented meaning).
    pub parameter_prefix: [u8; 2],
    /// Bytes between the header and the parameters: none, or whole blocks.
    pub before_parameters: Vec<u8>,
    /// Parameter groups.
    pub groups: Vec<Group>,
    /// Block at which the data begin; a later one is taken where the parameters need more room.
    pub data_block: u16,
    /// Points in a frame.
    pub points: usize,
    /// Analog channels.
    pub channels: usize,
    /// Analog samples in a frame.
    pub samples_per_frame: usize,
    /// Scale of integer points and of residuals, positive, POINT:UNITS.
    pub scale: f64,
    /// Every stored value, frame by frame: four words a point, then the samples, channel by channel.
    pub words: Words,
}

/// Stored values.
#[derive(Clone, Debug)]
pub enum Words {
    /// Of an integer file; analog words may stand for unsigned numbers.
    Int(Vec<i16>),
    /// Of a float file.
    Float(Vec<f32>),
}

impl PartialEq for Words {
    /// Floats are compared bit by bit, so that NaN equals itself.
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Int(a), Self::Int(b)) => a == b,
            (Self::Float(a), Self::Float(b)) => {
                a.len() == b.len() && a.iter().zip(b).all(|(x, y)| x.to_bits() == y.to_bits())
            }
            _ => false,
        }
    }
}

impl Words {
    /// How many values are stored.
    pub fn len(&self) -> usize {
        match self {
            Self::Int(v) => v.len(),
            Self::Float(v) => v.len(),
        }
    }
    /// True where nothing is stored.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Which storage this is.
    pub fn storage(&self) -> Storage {
        match self {
            Self::Int(_) => Storage::Int,
            Self::Float(_) => Storage::Float,
        }
    }
}

impl Document {
    /// Reads a file. Errors as [`View::read`].
    pub fn read(bytes: &[u8]) -> Result<Checked<Self>, C3dError> {
        let view = View::read(bytes)?;
        let processor = view.processor;
        let words = match view.layout.storage {
            Storage::Int => {
                Words::Int(view.data.as_chunks::<2>().0.iter().map(|&b| processor.i16(b)).collect())
            }
            Storage::Float => {
                Words::Float(view.data.as_chunks::<4>().0.iter().map(|&b| processor.f32(b)).collect())
            }
        };
        let data_block = u16::try_from(view.layout.data_start / 512 + 1).unwrap_or(u16::MAX);
        let document = Self {
            processor,
            header: view.header,
            parameter_prefix: view.parameter_prefix,
            before_parameters: view.before_parameters.to_vec(),
            groups: view.groups,
            data_block,
            points: view.layout.points,
            channels: view.layout.channels,
            samples_per_frame: view.layout.samples_per_frame,
            scale: view.layout.scale,
            words,
        };
        Ok(Checked { value: document, findings: view.findings })
    }

    /// Values in one frame.
    pub fn frame_values(&self) -> usize {
        4 * self.points + self.channels * self.samples_per_frame
    }
    /// Whole frames stored.
    pub fn frames(&self) -> usize {
        self.words.len().checked_div(self.frame_values()).unwrap_or(0)
    }
    /// A point of a frame (both from 0); `None` where there is none.
    pub fn point(&self, frame: usize, point: usize) -> Option<Point> {
        if point >= self.points {
            return None;
        }
        let at = frame.checked_mul(self.frame_values())? + 4 * point;
        match &self.words {
            Words::Int(v) => {
                let &[x, y, z, w] = v.get(at..at + 4)?.first_chunk::<4>()?;
                let position = [x, y, z].map(|c| (f64::from(c) * self.scale) as f32);
                Some(Point::of_words(position, w, self.scale))
            }
            Words::Float(v) => {
                let &[x, y, z, w] = v.get(at..at + 4)?.first_chunk::<4>()?;
                Some(Point::of_words([x, y, z], word_of(w), self.scale))
            }
        }
    }

    /// Writes the file. The header's and POINT:DATA_START's block numbers follow the room that the parameters need;
    /// everything else is written as it stands, contradictions included.
    ///
    /// Errors: a value that the processor cannot hold (NaN in DEC), a parameter whose dimensions contradict its
    /// values, more parameters than 255 blocks.
    pub fn write(&self) -> Result<Vec<u8>, C3dError> {
        let between = self.before_parameters.len();
        if !between.is_multiple_of(512) || between / 512 > 253 {
            let seen = format!("{between} bytes before the parameters, whole blocks up to 253 are possible");
            return Err(C3dError::Inconsistent { what: "parameter section", seen });
        }
        let start = 512 + between;
        let odd = |seen| C3dError::Inconsistent { what: "parameter section", seen };
        let mut records = params::write(&self.groups, self.processor).map_err(odd)?;
        let needed = (start + 4 + records.len()).div_ceil(512);
        let data_block = needed.max(usize::from(self.data_block).saturating_sub(1)) + 1;
        let blocks = data_block - 1 - start / 512;
        let limit = if needed - start / 512 > 255 { None } else { u16::try_from(data_block).ok() };
        let Some(data_block) = limit else {
            return Err(C3dError::TooLarge { what: "parameter blocks", count: blocks, limit: 255 });
        };
        if data_block != self.data_block {
            let mut groups = self.groups.clone();
            set_data_start(&mut groups, data_block);
            records = params::write(&groups, self.processor).map_err(odd)?;
        }
        let not_held = |what: String, value: f32| C3dError::NotRepresentable {
            what,
            value: value.to_string(),
            encoding: "DEC floats",
        };
        let parameter_block = (start / 512 + 1) as u8;
        let header = self
            .header
            .write(self.processor, parameter_block, data_block)
            .map_err(|word| not_held(format!("header word {word}"), f32::NAN))?;

        let data_start = 512 * (usize::from(data_block) - 1);
        let size = data_start + self.words.len() * self.words.storage().width();
        let mut out = Vec::with_capacity(size.next_multiple_of(512));
        out.extend(header);
        out.extend(&self.before_parameters);
        let [a, b] = self.parameter_prefix;
        out.extend([a, b, u8::try_from(blocks).unwrap_or(u8::MAX), self.processor.code()]);
        out.extend(records);
        out.resize(data_start, 0);
        match &self.words {
            Words::Int(v) => out.extend(v.iter().flat_map(|&w| self.processor.put_u16(w as u16))),
            Words::Float(v) => {
                for (k, &float) in v.iter().enumerate() {
                    let bytes = self.processor.put_f32(float);
                    out.extend(bytes.ok_or_else(|| not_held(format!("data value {k}"), float))?);
                }
            }
        }
        out.resize(out.len().next_multiple_of(512), 0);
        Ok(out)
    }
}

/// Puts a block number into POINT:DATA_START, if there is one.
fn set_data_start(groups: &mut [Group], block: u16) {
    for group in groups.iter_mut().filter(|g| g.name.is("POINT")) {
        for parameter in group.parameters.iter_mut().filter(|p| p.name.is("DATA_START")) {
            match &mut parameter.values {
                params::Values::Int(v) => v.iter_mut().take(1).for_each(|v| *v = block as i16),
                params::Values::Float(v) => v.iter_mut().take(1).for_each(|v| *v = f32::from(block)),
                _ => {}
            }
        }
    }
}
