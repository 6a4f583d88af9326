//! A drawn feature before it becomes a strip: its rings in the file's coordinates and its
//! attributes, whichever format it came from.

use crate::cell::{Cell, label};

/// An outer ring followed by its holes.
pub(crate) type Rings = Vec<Vec<[f64; 2]>>;

/// A polygon with attributes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Feature {
    /// Feature number, from 1.
    pub(crate) row: u32,
    /// The polygons, each an outer ring followed by its holes.
    pub(crate) polygons: Vec<Rings>,
    /// The attributes that have a value: name and value.
    pub(crate) attributes: Vec<(String, Cell)>,
}

impl Feature {
    /// What the attribute `name` says, trimmed; `None` when it is empty or not there.
    pub(crate) fn value(&self, name: &str) -> Option<String> {
        let found = self
            .attributes
            .iter()
            .find(|(attribute, _)| attribute == name)?;
        let text = found.1.as_text()?;
        let value = label(&text);
        (!value.is_empty()).then(|| value.to_owned())
    }
}

/// The features of a file.
#[derive(Debug, Default)]
pub(crate) struct FeatureFile {
    pub(crate) features: Vec<Feature>,
    /// The names of all attributes.
    pub(crate) attribute_names: Vec<String>,
    /// The coordinate reference system that the file names.
    pub(crate) crs: Option<String>,
    /// Names are cut to ten characters.
    pub(crate) short_names: bool,
    /// What was wrong with single features.
    pub(crate) problems: Vec<checkstrip_model::Problem>,
}

/// Attribute tables of Shapefiles cut names to this many characters.
const SHORT_NAME: usize = 10;

impl FeatureFile {
    /// The attribute called `wanted`, in any case, cut short where the format cuts names.
    pub(crate) fn attribute_called(&self, wanted: &str) -> Option<String> {
        let names = &self.attribute_names;
        let is = |name: &str, wanted: &str| name.trim().eq_ignore_ascii_case(wanted.trim());
        let short: String = wanted.chars().take(SHORT_NAME).collect();
        names
            .iter()
            .find(|name| *name == wanted)
            .or_else(|| names.iter().find(|name| is(name, wanted)))
            .or_else(|| {
                names
                    .iter()
                    .find(|name| self.short_names && is(name, &short))
            })
            .cloned()
    }

    /// The names of all attributes, for messages.
    pub(crate) fn attributes_shown(&self) -> String {
        if self.attribute_names.is_empty() {
            return "none".to_owned();
        }
        let names = self.attribute_names.iter();
        let names: Vec<String> = names.map(|name| format!("{name:?}")).collect();
        names.join(", ")
    }
}

/// Closes the rings of a polygon; the outer one runs counterclockwise, holes clockwise (RFC 7946,
/// section 3.1.6).
pub(crate) fn orient(rings: &mut Rings) {
    for (at, ring) in rings.iter_mut().enumerate() {
        if ring.first() != ring.last() {
            ring.extend(ring.first().copied());
        }
        let twice_area: f64 = ring
            .windows(2)
            .map(|side| {
                let [[x0, y0], [x1, y1]] = [side[0], side[1]];
                let [from_x, from_y] = ring[0];
                (x0 - from_x) * (y1 - from_y) - (x1 - from_x) * (y0 - from_y)
            })
            .sum();
        if (twice_area < 0.0) == (at == 0) && twice_area != 0.0 {
            ring.reverse();
        }
    }
}
