//! The ground a trial can lie on: the field less its headland, turned so that strips run straight
//! up. Made once; layouts are laid on it again and again.

use super::direction::{Direction, azimuth, longest_side};
use super::error::LayoutError;
use super::frame::Frame;
use geo::buffer::{BufferStyle, LineJoin};
use geo::{Area, BoundingRect, Buffer, MultiPolygon};

/// A field ready for laying strips.
#[derive(Debug, Clone)]
pub struct TrialGround {
    pub(super) frame: Frame,
    /// In the frame.
    pub(super) turned: MultiPolygon<f64>,
    /// Left and right end across, m.
    pub(super) across: [f64; 2],
    /// What an offset is counted from across, m: the first line, or the left end.
    pub(super) start: f64,
    pub(super) has_first_line: bool,
    direction_deg: f64,
    ground: MultiPolygon<f64>,
    field_m2: f64,
    ground_m2: f64,
}

/// Corners sharper than this (radians) are cut off rather than kept pointed when the headland is
/// taken off.
const MITRE_ANGLE: f64 = 0.17;

impl TrialGround {
    /// The ground inside a headland `headland_m` wide of a field whose `boundary` lies in the local
    /// plane, east and north in m.
    ///
    /// # Errors
    /// When the boundary encloses nothing, the headland takes everything, a number makes no sense or
    /// a first line has no direction.
    pub fn new(
        boundary: &MultiPolygon<f64>,
        headland_m: f64,
        direction: &Direction,
    ) -> Result<TrialGround, LayoutError> {
        if !(0.0..=1e4).contains(&headland_m) {
            return Err(LayoutError::Length {
                what: "headland",
                value_m: headland_m,
                expected: "0 to 10,000 m",
            });
        }
        let field_m2 = boundary.unsigned_area();
        if !field_m2.is_finite() || field_m2 <= 0.0 {
            return Err(LayoutError::NoGround);
        }
        let ground = if headland_m > 0.0 {
            let style = BufferStyle::new(-headland_m).line_join(LineJoin::Miter(MITRE_ANGLE));
            boundary.buffer_with_style(style)
        } else {
            boundary.clone()
        };
        let ground_m2 = ground.unsigned_area();
        let bounds_of = |frame: Frame| {
            let turned = frame.turned_ground(&ground);
            let bounds = turned.bounding_rect();
            bounds.map(|bounds| (turned, [bounds.min().x, bounds.max().x]))
        };
        let mut direction_deg = match direction {
            Direction::LongestSide => longest_side(boundary)?,
            Direction::FromNorth(degrees) if degrees.is_finite() => degrees.rem_euclid(360.0),
            Direction::FromNorth(_) => return Err(LayoutError::NoDirection),
            Direction::FirstLine([a, b]) => {
                let (east, north) = (b[0] - a[0], b[1] - a[1]);
                let length = east.hypot(north);
                if !length.is_finite() || length < 1.0 {
                    return Err(LayoutError::NoDirection);
                }
                azimuth(east, north)
            }
        };
        let mut frame = Frame::new(direction_deg);
        let nothing = || LayoutError::OnlyHeadland { headland_m };
        let (mut turned, mut across) = bounds_of(frame).ok_or_else(nothing)?;
        let mut start = across[0];
        if let Direction::FirstLine([a, _]) = direction {
            start = frame.turned(*a)[0];
            if start - across[0] > across[1] - start {
                direction_deg = (direction_deg + 180.0).rem_euclid(360.0);
                frame = Frame::new(direction_deg);
                (turned, across) = bounds_of(frame).ok_or_else(nothing)?;
                start = frame.turned(*a)[0];
            }
        }
        Ok(TrialGround {
            frame,
            turned,
            across,
            start,
            has_first_line: matches!(direction, Direction::FirstLine(_)),
            direction_deg,
            ground,
            field_m2,
            ground_m2,
        })
    }

    /// Which way strips run, degrees clockwise from true north.
    pub fn direction_deg(&self) -> f64 {
        self.direction_deg
    }

    /// The ground inside the headland, in the local plane, m.
    pub fn ground(&self) -> &MultiPolygon<f64> {
        &self.ground
    }

    /// Area of the field, m².
    pub fn field_m2(&self) -> f64 {
        self.field_m2
    }

    /// Area inside the headland, m².
    pub fn ground_m2(&self) -> f64 {
        self.ground_m2
    }

    /// Width of that ground across the strips, m.
    pub fn room_m(&self) -> f64 {
        self.across[1] - self.across[0]
    }
}
