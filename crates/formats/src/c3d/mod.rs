//! C3D: reading and writing.
//!
//! Two layers. [`View`] and [`Document`] know the format: header, groups and parameters, stored values; [`View`] looks
//! at borrowed bytes in place, [`Document`] owns a whole file and writes it again without loss. On top of them
//! [`decode`] gives a [`mechanics::Recording`] and [`encode`] writes one; [`inspect`] looks at header and parameters
//! alone.
//!
//! Source of the format: the C3D user guide (public). Where files in the wild disagree with it, the comment beside the
//! code says what was seen and what is done.
mod build;
mod columns;
mod corners;
mod decode;
mod document;
mod encode;
mod error;
mod events;
mod express;
mod header;
mod layout;
mod number;
mod params;
mod plates;
mod plates_write;
mod sensing;
mod summary;
mod text;
mod units;
mod view;

pub use decode::decode;
pub use document::{Document, Words};
pub use encode::{Encoding, Length, encode};
pub use error::C3dError;
pub use header::{FOUR_CHARACTERS, Header};
pub use layout::{Layout, Storage};
pub use number::{Processor, dec_f32, put_dec_f32};
pub use params::{Group, Parameter, Values, continued, find, texts};
pub use sensing::PlateType;
pub use summary::{Summary, inspect};
pub use text::Text;
pub use units::{Unit, unit};
pub use view::{Point, View};
