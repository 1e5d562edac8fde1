//! Underfoot as a library: the pure crates under one roof, and the door through which files come in.
//!
//! ```no_run
//! use underfoot::{load, swing};
//! let loaded = load(std::path::Path::new("swing.c3d"), None)?;
//! let how = swing::Settings {
//!     target: None, hand: None, mass_kg: None, about: swing::About::NetCop, collapse: false,
//!     conditioning: None,
//! };
//! let checked = swing::analyse(&loaded.recording, &loaded.rig, &how).map_err(|e| format!("{e:?}"))?;
//! println!("{} samples", checked.value.ledger.turn_nm.len());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
pub mod batch;
pub mod export;
pub mod fail;
pub mod open;
pub mod practice;
pub mod progress;
pub mod record;
pub mod study;

pub use archive;
pub use fail::Fail;
pub use formats;
pub use mechanics;
pub use open::{Loaded, load};
pub use simulate;
pub use swing;
pub use view;
