//! The colours of paper and ink, the same on every picture.

use crate::canvas::Rgb;

/// Paper.
pub const WHITE: Rgb = [255, 255, 255];
/// Lettering and outlines.
pub const INK: Rgb = [26, 26, 26];
/// Secondary lettering.
pub const SOFT_INK: Rgb = [77, 77, 77];
/// Thin rules.
pub const RULE: Rgb = [170, 170, 170];
