//! A file looked at in place: header and parameters parsed, data left where they are.
use super::error::C3dError;
use super::header::{Header, KEY};
use super::layout::{Layout, Storage, resolve};
use super::number::Processor;
use super::params::{self, Group};
use mechanics::finding::{FILE_PARAMETER_ODD, FILE_TRUNCATED, Finding};

/// A C3D file over borrowed bytes (a memory map, say). Nothing of the data section is copied.
#[derive(Clone, Debug)]
pub struct View<'a> {
    /// Who wrote it.
    pub processor: Processor,
    /// The header.
    pub header: Header,
    /// Parameter groups, in the order of the file.
    pub groups: Vec<Group>,
    /// Shape of the data section.
    pub layout: Layout,
    /// The data section: exactly `layout.frames` frames of `layout.frame_bytes()` bytes.
    pub data: &'a [u8],
    /// What was odd on the way.
    pub findings: Vec<Finding>,
    /// First two bytes of the parameter section (no documented meaning).
    pub(super) parameter_prefix: [u8; 2],
    /// Bytes between header and parameters (usually none).
    pub(super) before_parameters: &'a [u8],
}

/// One point of one frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Position in POINT:UNITS.
    pub position: [f32; 3],
    /// Mean residual in POINT:UNITS; `None` for a point that is marked as not valid.
    pub residual: Option<f32>,
    /// Cameras that saw it: bit 0 is camera 1, seven bits.
    pub cameras: u8,
}

impl Point {
    /// A point from its three coordinates in POINT:UNITS and the fourth word as a 16-bit integer: negative means not
    /// valid; else the high byte is the camera mask, the low byte the residual in units of `scale`.
    ///
    /// Source: C3D user guide, 3D residual; 0x3E10 with scale 0.0833333 is cameras 2 to 6 and 1.3333.
    pub fn of_words(position: [f32; 3], word: i16, scale: f64) -> Self {
        let [cameras, residual] = word.to_be_bytes();
        let valid = word >= 0;
        Self {
            position,
            residual: valid.then_some((f64::from(residual) * scale) as f32),
            cameras: if valid { cameras } else { 0 },
        }
    }
}

impl<'a> View<'a> {
    /// Parses header and parameters and finds the data section.
    ///
    /// Errors only where no value exists: no C3D key, no parameter section, an unknown processor. A file cut short
    /// keeps its whole frames and gets a finding.
    pub fn read(bytes: &'a [u8]) -> Result<Self, C3dError> {
        let len = bytes.len();
        let Some(block) = bytes.first_chunk::<512>() else {
            if bytes.get(1).is_some_and(|&b| b != KEY) {
                return Err(C3dError::NotC3d { found: bytes[1] });
            }
            return Err(C3dError::TooShort { what: "the header", need: 512, len });
        };
        if block[1] != KEY {
            return Err(C3dError::NotC3d { found: block[1] });
        }
        let parameter_block = block[0];
        let start = usize::from(parameter_block).saturating_sub(1) * 512;
        let outside = C3dError::ParametersOutside { offset: start, block: parameter_block, len };
        let Some(&[a, b, blocks, code]) = bytes.get(start..).and_then(<[u8]>::first_chunk::<4>) else {
            return Err(outside);
        };
        if parameter_block < 2 {
            return Err(outside);
        }
        let processor = Processor::from_code(code)
            .ok_or(C3dError::ProcessorUnknown { offset: start + 3, found: code })?;
        let (header, data_block) = Header::read(block, processor);

        // The section ends where the data begin; its own count of blocks is one byte and overflows.
        let by_count = start + 512 * usize::from(blocks).max(1);
        let by_data = usize::from(data_block).saturating_sub(1) * 512;
        let limit = if by_data > start { by_data } else { by_count };
        let section = params::read(bytes, start + 4, limit, processor);
        let mut findings: Vec<_> =
            section.odd.into_iter().map(|seen| Finding::new(&FILE_PARAMETER_ODD, seen)).collect();
        if limit > len {
            let seen = format!("the parameter section should end at byte {limit}, the file ends at {len}");
            findings.push(Finding::new(&FILE_TRUNCATED, seen));
        }
        let after = section.end.max(by_count).next_multiple_of(512);
        let (layout, more) = resolve(&header, &section.groups, data_block, after, len);
        findings.extend(more);
        let end = layout.data_start + layout.frames * layout.frame_bytes();
        let data = bytes.get(layout.data_start..end).unwrap_or_default();
        Ok(Self {
            processor,
            header,
            groups: section.groups,
            layout,
            data,
            findings,
            parameter_prefix: [a, b],
            before_parameters: bytes.get(512..start).unwrap_or_default(),
        })
    }

    /// The bytes of one frame; empty past the last.
    pub fn frame(&self, frame: usize) -> &'a [u8] {
        let size = self.layout.frame_bytes();
        let from = frame.saturating_mul(size);
        self.data.get(from..from.saturating_add(size)).unwrap_or_default()
    }

    /// A point of a frame (both from 0); `None` where there is none.
    pub fn point(&self, frame: usize, point: usize) -> Option<Point> {
        if point >= self.layout.points {
            return None;
        }
        let frame = self.frame(frame);
        let scale = self.layout.scale;
        match self.layout.storage {
            Storage::Int => {
                let (words, _) = frame.get(8 * point..8 * point + 8)?.as_chunks::<2>();
                let &[x, y, z, w] = words.first_chunk::<4>()?;
                let position = [x, y, z].map(|b| (f64::from(self.processor.i16(b)) * scale) as f32);
                Some(Point::of_words(position, self.processor.i16(w), scale))
            }
            Storage::Float => {
                let (words, _) = frame.get(16 * point..16 * point + 16)?.as_chunks::<4>();
                let &[x, y, z, w] = words.first_chunk::<4>()?;
                let position = [x, y, z].map(|b| self.processor.f32(b));
                Some(Point::of_words(position, word_of(self.processor.f32(w)), scale))
            }
        }
    }

    /// A stored analog value before offset and scale (all counted from 0); `None` where there is none.
    pub fn analog(&self, frame: usize, sample: usize, channel: usize) -> Option<f64> {
        let Layout { points, channels, samples_per_frame, storage, unsigned, .. } = self.layout;
        if channel >= channels || sample >= samples_per_frame {
            return None;
        }
        let at = (4 * points + sample * channels + channel) * storage.width();
        let bytes = self.frame(frame).get(at..at + storage.width())?;
        Some(match storage {
            Storage::Int => {
                let word = self.processor.u16(*bytes.first_chunk()?);
                if unsigned { f64::from(word) } else { f64::from(word as i16) }
            }
            Storage::Float => f64::from(self.processor.f32(*bytes.first_chunk()?)),
        })
    }
}

/// The fourth word of a point in a float file, as the 16-bit integer it stands for; what is none means not valid.
pub(super) fn word_of(float: f32) -> i16 {
    if float > -1.0 && float < 32_768.0 { float as i16 } else { -1 }
}
