//! The map of what was done against plan: every ground in the look of its class, the planned grounds outlined and named
//! on top.

use super::extent::extent_of;
use super::hatch::Hatch;
use super::legend::{Entry, Symbol};
use super::palette::{INK, PALE_GROUND, WHITE};
use super::request::MapError;
use super::sheet::Sheet;
use super::strip_label::{Labelled, place_labels};
use checkstrip_model::AppliedClass;
use checkstrip_model::units::{M2_PER_ACRE, M2_PER_HA, UnitSystem};
use checkstrip_words::Words;

/// What the map shows. Rings are in the local plane, east and north, m.
#[derive(Debug, Clone)]
pub struct AppliedMap<'a> {
    /// Name of the field.
    pub name: &'a str,
    /// The ground by class.
    pub grounds: &'a [ClassGround],
    /// What was planned, when a file says where: its name and rings.
    pub planned: &'a [(String, Vec<Vec<[f64; 2]>>)],
    /// Ground too narrow or small for a class, m².
    pub noise_m2: f64,
    /// Sentences for the legend.
    pub notes: &'a [String],
    /// Units of areas and scale bar.
    pub units: UnitSystem,
}

/// A piece of ground.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassGround {
    /// Its class.
    pub class: AppliedClass,
    /// Its area, m².
    pub area_m2: f64,
    /// Its rings; holes are rings inside rings.
    pub rings: Vec<Vec<[f64; 2]>>,
}

/// Width of the outlines of planned ground and of the white line under them, pixels.
const OUTLINE: (f64, f64) = (1.5, 3.7);

/// Draws the map and returns it as a PNG file, 1600 pixels wide.
///
/// # Errors
/// When the picture cannot be encoded.
pub fn applied_map(map: &AppliedMap) -> Result<Vec<u8>, MapError> {
    let (unit, unit_m2) = match map.units {
        UnitSystem::Farm => ("acres", M2_PER_ACRE),
        UnitSystem::Si => ("hectares", M2_PER_HA),
    };
    // Ground of a few rows is worth seeing.
    let english = Words::english();
    let figure = |area_m2: f64| english.number(area_m2 / unit_m2, 2);
    let mut legend = vec![Entry::Heading(format!("Ground, {unit}"))];
    for class in AppliedClass::ALL {
        let of_class = map.grounds.iter().filter(|piece| piece.class == class);
        let area_m2: f64 = of_class.map(|piece| piece.area_m2).sum();
        if area_m2 > 0.0 {
            let symbol = match Hatch::of_applied(class) {
                Some(hatch) => Symbol::Hatching(hatch),
                None => Symbol::Patch(PALE_GROUND),
            };
            legend.push(Entry::key(symbol, class.words(), figure(area_m2)));
        }
    }
    if figure(map.noise_m2) != figure(0.0) {
        legend.push(Entry::key(
            Symbol::Patch(WHITE),
            "too narrow to tell",
            figure(map.noise_m2),
        ));
    }
    legend.extend(map.notes.iter().cloned().map(Entry::Note));
    if !map.planned.is_empty() {
        legend.push(Entry::Heading("Also shown".to_owned()));
        legend.push(Entry::key(Symbol::Outline, "planned ground", ""));
    }
    let rings = map.grounds.iter().flat_map(|piece| &piece.rings);
    let drawn = map.planned.iter().flat_map(|(_, rings)| rings);
    let extent = extent_of(rings.chain(drawn).flatten());
    let mut sheet = Sheet::lay("As applied against plan", map.name, extent, legend)?;
    for piece in map.grounds {
        let spans = sheet.ground_spans(&piece.rings);
        match Hatch::of_applied(piece.class) {
            Some(hatch) => {
                sheet.fill(&spans, WHITE);
                hatch.paint(&mut sheet.canvas, &spans);
            }
            None => sheet.fill(&spans, PALE_GROUND),
        }
    }
    for (width, colour) in [(OUTLINE.1, WHITE), (OUTLINE.0, INK)] {
        for (_, rings) in map.planned {
            sheet.outline(rings, width, colour);
        }
    }
    let labelled: Vec<Labelled> = map
        .planned
        .iter()
        .map(|(name, rings)| Labelled {
            spans: sheet.ground_spans(rings),
            forms: vec![name.clone()],
        })
        .collect();
    sheet.write_labels(place_labels(&labelled, &sheet.lettering));
    sheet.finish(map.units.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ground_of_every_class_and_none_is_a_sheet() {
        let square = |east: f64| {
            let corners = [
                [east, 0.0],
                [east + 90.0, 0.0],
                [east + 90.0, 300.0],
                [east, 300.0],
            ];
            vec![corners.to_vec()]
        };
        let grounds: Vec<ClassGround> = AppliedClass::ALL
            .into_iter()
            .enumerate()
            .map(|(at, class)| ClassGround {
                class,
                area_m2: 27_000.0,
                rings: square(100.0 * at as f64),
            })
            .collect();
        let planned = [("an invented product".to_owned(), square(0.0))];
        for (grounds, planned) in [(&grounds[..], &planned[..]), (&[], &[])] {
            let map = AppliedMap {
                name: "An invented field",
                grounds,
                planned,
                noise_m2: 120.0,
                notes: &[],
                units: UnitSystem::Farm,
            };
            assert_eq!(&applied_map(&map).unwrap()[1..4], b"PNG");
        }
    }
}
