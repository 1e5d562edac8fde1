//! Rig files: the TOML description of plates, axes and units.
