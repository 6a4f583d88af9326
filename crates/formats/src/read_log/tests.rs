//! Corners of this module.
