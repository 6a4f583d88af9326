//! The map of a season's fields: each a mark where it lies, by what its strips say of a treatment. The summary of a
//! season calls it once for each treatment.

use super::extent::extent_of;
use super::legend::{Entry, LABEL, Symbol};
use super::lettering::Style;
use super::marker::{Marker, Shape};
use super::palette::{INK, SOFT_INK, TREATMENTS};
use super::request::MapError;
use super::sheet::Sheet;
use crate::local_plane::LocalPlane;
use checkstrip_drawing::canvas::Rgb;
use checkstrip_model::results::{SeasonTreatment, Sign};
use checkstrip_model::units::UnitSystem;
use checkstrip_words::{Reader, say};

/// What the map shows.
#[derive(Debug, Clone)]
pub struct FieldsMap<'a> {
    /// Name of the season.
    pub season: &'a str,
    /// The treatment.
    pub treatment: &'a str,
    /// The fields that compared it.
    pub fields: Vec<MappedField<'a>>,
    /// Whom it is for.
    pub reader: Reader<'a>,
}

/// A field on the map.
#[derive(Debug, Clone, Copy)]
pub struct MappedField<'a> {
    /// Its name.
    pub name: &'a str,
    /// Longitude and latitude, degrees.
    pub centre: [f64; 2],
    /// What its strips say of the treatment.
    pub says: &'a SeasonTreatment,
}

impl MappedField<'_> {
    /// The field's name and its difference.
    fn label(&self, reader: Reader) -> String {
        let (advantage, decimals) = match reader.units {
            UnitSystem::Farm => (self.says.advantage_bu_ac, 1),
            UnitSystem::Si => (self.says.advantage_kg_ha, 0),
        };
        let Some(advantage) = advantage else {
            return self.name.to_owned();
        };
        let plus = if advantage > 0.0 { "+" } else { "" };
        let shown = reader.words.number(advantage, decimals);
        format!("{} {plus}{shown}", self.name)
    }
}

/// Half the width of a mark, pixels.
const REACH: i32 = 15;
/// Between a mark and its label, pixels.
const LABEL_GAP: f32 = 8.0;
/// Height of a label's letters above and below the middle of its mark, pixels.
const LABEL_RISE: f32 = 9.0;
/// Ground around the outermost fields, share of the longer side and least, m.
const AROUND: (f64, f64) = (0.12, 400.0);

/// The marks, in the order of the legend: shapes tell them apart without colour.
const MARKS: [(Sign, Shape, Rgb, &str); 4] = [
    (
        Sign::More,
        Shape::TriangleUp,
        TREATMENTS[0],
        "map-fields-more",
    ),
    (Sign::Unclear, Shape::Ring, SOFT_INK, "map-fields-unclear"),
    (
        Sign::Less,
        Shape::TriangleDown,
        TREATMENTS[4],
        "map-fields-less",
    ),
    (Sign::Unknown, Shape::Cross, SOFT_INK, "map-fields-unknown"),
];

/// Draws the map and returns it as a PNG file, 1600 pixels wide; without a field it says so.
///
/// # Errors
/// When no plane holds all fields or the picture cannot be encoded.
pub fn fields_map(map: &FieldsMap) -> Result<Vec<u8>, MapError> {
    let points = in_one_plane(&map.fields)?;
    let words = map.reader.words;
    let mut legend = vec![Entry::Heading(say!(words, "map-fields-heading"))];
    for (sign, shape, colour, id) in MARKS {
        let fields = map.fields.iter().filter(|field| field.says.sign() == sign);
        let fields = fields.count();
        if fields > 0 {
            legend.push(Entry::key(
                Symbol::Mark(shape, colour),
                words.say(id, &[]),
                words.count(fields),
            ));
        }
    }
    legend.push(Entry::Note(say!(
        words,
        "map-fields-note",
        unit = map.reader.units.yields()
    )));
    let about = say!(
        words,
        "map-fields-about",
        season = map.season,
        treatment = map.treatment
    );
    let extent = extent_of(widened(&points).iter());
    let mut sheet = Sheet::lay(&say!(words, "map-fields"), &about, extent, legend)?;
    let pixels: Vec<[f64; 2]> = points
        .iter()
        .map(|&point| sheet.ground.pixel(point))
        .collect();
    for (field, pixel) in map.fields.iter().zip(&pixels) {
        for (sign, shape, colour, _) in MARKS {
            if sign == field.says.sign() {
                let (x, y) = (pixel[0] as i32, pixel[1] as i32);
                let window = sheet.ground.window;
                Marker::new(shape, REACH, colour).stamp(&mut sheet.canvas, window, x, y);
            }
        }
    }
    write_names(&mut sheet, map, &pixels);
    sheet.finish(map.reader)
}

/// East and north of every field, m, in a plane around their middle.
fn in_one_plane(fields: &[MappedField]) -> Result<Vec<[f64; 2]>, MapError> {
    let mut points: Vec<[f64; 2]> = fields.iter().map(|field| field.centre).collect();
    if points.is_empty() {
        return Ok(points);
    }
    let middle = |axis: usize| {
        let [low, high] = ends(&points, axis);
        (low + high) / 2.0
    };
    let plane = LocalPlane::around(middle(0), middle(1))?;
    plane.points_to_plane(&mut points)?;
    Ok(points)
}

/// The least and greatest coordinate along an axis.
fn ends(points: &[[f64; 2]], axis: usize) -> [f64; 2] {
    let along = points.iter().map(|point| point[axis]);
    along.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], at| {
        [low.min(at), high.max(at)]
    })
}

/// The corners of ground that leaves room for labels around all points.
fn widened(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let span = |axis: usize| {
        let [low, high] = ends(points, axis);
        high - low
    };
    let around = (span(0).max(span(1)) * AROUND.0).max(AROUND.1);
    let corners = |&[east, north]: &[f64; 2]| {
        [
            [east - around, north - around],
            [east + around, north + around],
        ]
    };
    points.iter().flat_map(corners).collect()
}

/// Writes each field's name where it meets neither a mark nor another name: right, left, below or above its mark.
fn write_names(sheet: &mut Sheet, map: &FieldsMap, pixels: &[[f64; 2]]) {
    let name = Style {
        colour: INK,
        ..LABEL
    };
    let reach = f64::from(REACH) as f32;
    let around = |x: f32, y: f32| [x - reach, y - reach, x + reach, y + reach];
    let mut taken: Vec<[f32; 4]> = pixels
        .iter()
        .map(|&[x, y]| around(x as f32, y as f32))
        .collect();
    let window = sheet.ground.window;
    for (field, &[x, y]) in map.fields.iter().zip(pixels) {
        let (x, y) = (x as f32, y as f32);
        let text = field.label(map.reader);
        let width = sheet.lettering.width(&text, name);
        let aside = reach + LABEL_GAP;
        let places = [
            (x + aside, y),
            (x - aside - width, y),
            (x - width / 2.0, y + reach + LABEL_GAP + LABEL_RISE),
            (x - width / 2.0, y - reach - LABEL_GAP - LABEL_RISE),
        ];
        let free = places.into_iter().find(|&(left, middle)| {
            let place = [
                left,
                middle - 2.0 * LABEL_RISE,
                left + width,
                middle + 2.0 * LABEL_RISE,
            ];
            let inside = place[0] >= window.left as f32
                && place[2] <= window.right as f32
                && place[1] >= window.top as f32
                && place[3] <= window.bottom as f32;
            inside && !taken.iter().any(|other| meet(place, *other))
        });
        if let Some((left, middle)) = free {
            taken.push([
                left,
                middle - 2.0 * LABEL_RISE,
                left + width,
                middle + 2.0 * LABEL_RISE,
            ]);
            let baseline = middle + LABEL_RISE;
            sheet
                .lettering
                .write(&mut sheet.canvas, &text, left, baseline, name);
        }
    }
}

fn meet(a: [f32; 4], b: [f32; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_and_none_are_a_sheet() {
        let said: Vec<SeasonTreatment> = [
            Some([0.2, 3.0]),
            Some([-2.0, -0.1]),
            Some([-1.0, 1.0]),
            None,
        ]
        .into_iter()
        .enumerate()
        .map(|(place, interval_95_kg_ha)| SeasonTreatment {
            advantage_bu_ac: Some(place as f64 - 1.5),
            interval_95_kg_ha,
            ..SeasonTreatment::default()
        })
        .collect();
        let fields = said.iter().enumerate().map(|(place, says)| MappedField {
            name: "An invented field",
            centre: [
                -93.5 + 0.02 * place as f64,
                42.0 + 0.01 * (place % 3) as f64,
            ],
            says,
        });
        for fields in [fields.collect(), Vec::new()] {
            let map = FieldsMap {
                season: "An invented season",
                treatment: "rolled",
                fields,
                reader: UnitSystem::Farm.into(),
            };
            assert_eq!(&fields_map(&map).unwrap()[1..4], b"PNG");
        }
    }
}
