//! The first block of a file.
//!
//! Source: C3D user guide, header section. Word n (counted from 1) lies at byte 2(n − 1).
use super::number::Processor;

/// The 256 words of the header, except those that say where the other sections lie.
#[derive(Clone, Debug)]
pub struct Header {
    /// Word 2: points in a frame.
    pub points: u16,
    /// Word 3: analog values in a frame (channels × samples).
    pub analog_per_frame: u16,
    /// Word 4: number of the first frame, from 1.
    pub first_frame: u16,
    /// Word 5: number of the last frame; 65535 where it does not fit.
    pub last_frame: u16,
    /// Word 6: longest gap that was filled by interpolation, frames.
    pub max_gap: u16,
    /// Words 7–8: scale of integer points; negative for a float file.
    pub scale: f32,
    /// Word 10: analog samples in a frame.
    pub samples_per_frame: u16,
    /// Words 11–12: frames a second.
    pub rate_hz: f32,
    /// Words 13–149: reserved, and the place of a label-and-range section.
    pub reserved_a: [u16; 137],
    /// Word 150: 12345 where event labels have four characters.
    pub label_key: u16,
    /// Word 151: number of events, 0 to 18.
    pub events: u16,
    /// Word 152: reserved.
    pub reserved_b: u16,
    /// Words 153–188: times of the events, seconds from the first stored sample.
    pub event_times_s: [f32; 18],
    /// Words 189–197: one display flag an event. Two editions of the guide contradict each other about its meaning.
    pub event_flags: [u8; 18],
    /// Word 198: reserved.
    pub reserved_c: u16,
    /// Words 199–234: labels, four characters each.
    pub event_labels: [[u8; 4]; 18],
    /// Words 235–256: reserved.
    pub reserved_d: [u16; 22],
}

/// The value of [`Header::label_key`] for four-character event labels.
pub const FOUR_CHARACTERS: u16 = 12345;

impl Header {
    /// A header with every count at zero.
    pub fn empty() -> Self {
        Self {
            points: 0,
            analog_per_frame: 0,
            first_frame: 1,
            last_frame: 0,
            max_gap: 0,
            scale: -1.0,
            samples_per_frame: 0,
            rate_hz: 0.0,
            reserved_a: [0; 137],
            label_key: FOUR_CHARACTERS,
            events: 0,
            reserved_b: 0,
            event_times_s: [0.0; 18],
            event_flags: [0; 18],
            reserved_c: 0,
            event_labels: [*b"    "; 18],
            reserved_d: [0; 22],
        }
    }

    /// Reads the header and the block number of the data section (word 9).
    pub(super) fn read(block: &[u8; 512], processor: Processor) -> (Self, u16) {
        let (pairs, _) = block.as_chunks::<2>();
        let word = |n: usize| pairs.get(n - 1).map_or(0, |&p| processor.u16(p));
        let float = |n: usize| {
            let at = 2 * (n - 1);
            block.get(at..at + 4).and_then(|b| b.try_into().ok()).map_or(0.0, |b| processor.f32(b))
        };
        let byte = |at: usize| block.get(at).copied().unwrap_or(0);
        let header = Self {
            points: word(2),
            analog_per_frame: word(3),
            first_frame: word(4),
            last_frame: word(5),
            max_gap: word(6),
            scale: float(7),
            samples_per_frame: word(10),
            rate_hz: float(11),
            reserved_a: std::array::from_fn(|k| word(13 + k)),
            label_key: word(150),
            events: word(151),
            reserved_b: word(152),
            event_times_s: std::array::from_fn(|k| float(153 + 2 * k)),
            event_flags: std::array::from_fn(|k| byte(2 * 188 + k)),
            reserved_c: word(198),
            event_labels: std::array::from_fn(|e| std::array::from_fn(|k| byte(2 * 198 + 4 * e + k))),
            reserved_d: std::array::from_fn(|k| word(235 + k)),
        };
        (header, word(9))
    }

    /// Writes the header; `Err` holds the number of the word that the processor cannot hold.
    pub(super) fn write(
        &self,
        processor: Processor,
        parameter_block: u8,
        data_block: u16,
    ) -> Result<[u8; 512], usize> {
        let mut block = [0u8; 512];
        block[0] = parameter_block;
        block[1] = KEY;
        let mut put = |n: usize, bytes: &[u8]| {
            let at = 2 * (n - 1);
            block[at..at + bytes.len()].copy_from_slice(bytes);
        };
        let words = [
            (2, self.points),
            (3, self.analog_per_frame),
            (4, self.first_frame),
            (5, self.last_frame),
            (6, self.max_gap),
            (9, data_block),
            (10, self.samples_per_frame),
            (150, self.label_key),
            (151, self.events),
            (152, self.reserved_b),
            (198, self.reserved_c),
        ];
        let reserved = (13..).zip(self.reserved_a).chain((235..).zip(self.reserved_d));
        for (n, word) in words.into_iter().chain(reserved) {
            put(n, &processor.put_u16(word));
        }
        let times = (0..).zip(self.event_times_s).map(|(k, t)| (153 + 2 * k, t));
        for (n, float) in [(7, self.scale), (11, self.rate_hz)].into_iter().chain(times) {
            put(n, &processor.put_f32(float).ok_or(n)?);
        }
        put(189, &self.event_flags);
        put(199, self.event_labels.as_flattened());
        Ok(block)
    }
}

/// The second byte of every C3D file.
pub(super) const KEY: u8 = 0x50;

impl PartialEq for Header {
    /// Bit by bit, so that a header with a NaN equals itself.
    fn eq(&self, other: &Self) -> bool {
        self.write(Processor::Intel, 0, 0) == other.write(Processor::Intel, 0, 0)
    }
}
