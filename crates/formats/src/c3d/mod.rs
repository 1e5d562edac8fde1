//! C3D: reading and writing.
