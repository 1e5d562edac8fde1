//! What can go wrong when no value exists at all, or when a recording has no C3D form.
use thiserror::Error;

/// Why bytes are not a C3D file, or why a recording cannot be written as one. Offsets count bytes from 0.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum C3dError {
    /// The file ends before a part that every C3D file has.
    #[error("the file is too short: {what} needs {need} bytes, the file has {len}")]
    TooShort {
        /// Part of the file.
        what: &'static str,
        /// Bytes the part needs, counted from the start of the file.
        need: usize,
        /// Bytes the file has.
        len: usize,
    },
    /// The key that marks a C3D file is not there.
    #[error("not a C3D file: byte 1 is {found:#04x}, a C3D file has 0x50 there")]
    NotC3d {
        /// Byte found.
        found: u8,
    },
    /// The parameter section lies outside the file.
    #[error("the header puts the parameter section at byte {offset} (block {block}), the file ends at {len}")]
    ParametersOutside {
        /// Where the section should begin.
        offset: usize,
        /// The same as a block number (counted from 1; 0 is never right).
        block: u8,
        /// Bytes the file has.
        len: usize,
    },
    /// The processor type is none of the three documented ones.
    #[error("unknown processor type {found} at byte {offset}: 84 (Intel), 85 (DEC) or 86 (MIPS) expected")]
    ProcessorUnknown {
        /// Where the type is written.
        offset: usize,
        /// Byte found.
        found: u8,
    },
    /// Writing: a value has no form in the encoding asked for.
    #[error("{what} cannot be written in {encoding}: {value}")]
    NotRepresentable {
        /// Which value ("channel 3 \"Fz1\", sample 17").
        what: String,
        /// The value, in words.
        value: String,
        /// The encoding in words.
        encoding: &'static str,
    },
    /// Writing: a count exceeds what the format can hold.
    #[error("too many {what}: {count}, C3D holds at most {limit}")]
    TooLarge {
        /// What there is too much of.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many fit.
        limit: usize,
    },
    /// Writing: the document contradicts itself.
    #[error("{what}: {seen}")]
    Inconsistent {
        /// Which part.
        what: &'static str,
        /// What was seen, against what was expected.
        seen: String,
    },
    /// Writing: C3D has a whole number of analog samples to each marker frame; the recording has not.
    #[error("analog and marker samples do not fit together: {seen}")]
    RatesDoNotFit {
        /// Rates and lengths seen.
        seen: String,
    },
    /// Writing: a plate cannot be described in the FORCE_PLATFORM group.
    #[error("plate {plate} cannot be written as {kind}: {why}")]
    PlateNotExpressible {
        /// Number of the plate, from 1.
        plate: usize,
        /// The type tried ("TYPE 2").
        kind: String,
        /// Why not, and what would do.
        why: String,
    },
}
