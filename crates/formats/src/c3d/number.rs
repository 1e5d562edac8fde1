//! The three ways in which C3D files write numbers.
//!
//! Source: C3D user guide, processor types; DEC floats are VAX F_floating (excess 128, hidden bit, fraction 0.1f),
//! stored as two 16-bit little-endian words with the word that holds sign and exponent first.

/// Who wrote the file: the order of bytes and the form of floats.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Processor {
    /// Little endian, IEEE floats (84).
    Intel,
    /// Little endian, VAX F floats (85).
    Dec,
    /// Big endian, IEEE floats (86).
    Mips,
}

impl Processor {
    /// All three, in the order of their codes.
    pub const ALL: [Self; 3] = [Self::Intel, Self::Dec, Self::Mips];

    /// From the fourth byte of the parameter section; 1, 2 and 3 are tolerated for 84, 85 and 86.
    pub fn from_code(code: u8) -> Option<Self> {
        match code {
            84 | 1 => Some(Self::Intel),
            85 | 2 => Some(Self::Dec),
            86 | 3 => Some(Self::Mips),
            _ => None,
        }
    }
    /// The documented code.
    pub fn code(self) -> u8 {
        match self {
            Self::Intel => 84,
            Self::Dec => 85,
            Self::Mips => 86,
        }
    }
    /// Name for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::Intel => "Intel",
            Self::Dec => "DEC",
            Self::Mips => "MIPS",
        }
    }
    /// A 16-bit word, unsigned.
    pub fn u16(self, bytes: [u8; 2]) -> u16 {
        match self {
            Self::Mips => u16::from_be_bytes(bytes),
            _ => u16::from_le_bytes(bytes),
        }
    }
    /// A 16-bit word, signed.
    pub fn i16(self, bytes: [u8; 2]) -> i16 {
        self.u16(bytes) as i16
    }
    /// A 32-bit float.
    pub fn f32(self, bytes: [u8; 4]) -> f32 {
        match self {
            Self::Intel => f32::from_le_bytes(bytes),
            Self::Dec => dec_f32(bytes),
            Self::Mips => f32::from_be_bytes(bytes),
        }
    }
    /// Bytes of a 16-bit word.
    pub fn put_u16(self, value: u16) -> [u8; 2] {
        match self {
            Self::Mips => value.to_be_bytes(),
            _ => value.to_le_bytes(),
        }
    }
    /// Bytes of a float; `None` where the processor has no form for it (DEC: NaN, infinity, 2^127 and more).
    pub fn put_f32(self, value: f32) -> Option<[u8; 4]> {
        match self {
            Self::Intel => Some(value.to_le_bytes()),
            Self::Dec => put_dec_f32(value),
            Self::Mips => Some(value.to_be_bytes()),
        }
    }
}

/// Reads a VAX F float. Exponent field 0 is zero, whatever the fraction.
pub fn dec_f32([a, b, c, d]: [u8; 4]) -> f32 {
    let bits = u32::from_le_bytes([c, d, a, b]);
    match (bits >> 23) & 0xff {
        0 => 0.0,
        // IEEE reads these bits as four times the value; below exponent 3 the quarter is subnormal.
        1 | 2 => f32::from_bits(bits) / 4.0,
        _ => f32::from_bits(bits - (2 << 23)),
    }
}

/// Writes a VAX F float; `None` for what it cannot hold. Less than 2^-128 becomes zero.
pub fn put_dec_f32(value: f32) -> Option<[u8; 4]> {
    let bits = value.to_bits();
    let bits = match (bits >> 23) & 0xff {
        254.. => return None,
        0 => {
            let bits = (value * 4.0).to_bits();
            if (bits >> 23) & 0xff == 0 { 0 } else { bits }
        }
        _ => bits + (2 << 23),
    };
    let [c, d, a, b] = bits.to_le_bytes();
    Some([a, b, c, d])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The table of byte patterns that two public readers agree on.
    #[test]
    fn floats_have_the_documented_bytes() {
        let table = [
            (1.0, [0x00, 0x00, 0x80, 0x3f], [0x3f, 0x80, 0x00, 0x00], [0x80, 0x40, 0x00, 0x00]),
            (-1.0, [0x00, 0x00, 0x80, 0xbf], [0xbf, 0x80, 0x00, 0x00], [0x80, 0xc0, 0x00, 0x00]),
            (0.5, [0x00, 0x00, 0x00, 0x3f], [0x3f, 0x00, 0x00, 0x00], [0x00, 0x40, 0x00, 0x00]),
            (100.0, [0x00, 0x00, 0xc8, 0x42], [0x42, 0xc8, 0x00, 0x00], [0xc8, 0x43, 0x00, 0x00]),
            (
                std::f32::consts::PI,
                [0xdb, 0x0f, 0x49, 0x40],
                [0x40, 0x49, 0x0f, 0xdb],
                [0x49, 0x41, 0xdb, 0x0f],
            ),
        ];
        for (value, intel, mips, dec) in table {
            for (processor, bytes) in
                [(Processor::Intel, intel), (Processor::Mips, mips), (Processor::Dec, dec)]
            {
                assert_eq!(processor.f32(bytes), value, "{processor:?}");
                assert_eq!(processor.put_f32(value), Some(bytes), "{processor:?}");
            }
        }
    }

    #[test]
    fn dec_limits() {
        assert_eq!(put_dec_f32(f32::NAN), None);
        assert_eq!(put_dec_f32(f32::INFINITY), None);
        assert_eq!(put_dec_f32(f32::MAX), None);
        assert_eq!(put_dec_f32(-0.0), Some([0; 4]));
        // The largest VAX F number is just under 2^127, the smallest 2^-128 (VAX architecture handbook).
        assert_eq!(dec_f32([0xff, 0x7f, 0xff, 0xff]), f32::from_bits(0x7eff_ffff));
        assert_eq!(dec_f32([0x80, 0x00, 0, 0]), f32::from_bits(0x0020_0000));
    }

    proptest! {
        #[test]
        fn every_dec_pattern_survives_a_rewrite(bytes: [u8; 4]) {
            let value = dec_f32(bytes);
            let again = dec_f32(put_dec_f32(value).unwrap());
            prop_assert_eq!(value.to_bits(), again.to_bits());
        }
    }
}
