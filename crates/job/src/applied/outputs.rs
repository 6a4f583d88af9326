//! What the comparison with a plan leaves in its folder: the ground by class and the achieved strips as GeoJSON and
//! Shapefiles, the map and the record. `applied.json` comes last: where it is, the rest is complete.

use std::path::{Path, PathBuf};

use checkstrip_formats::{
    Attribute, AttributeColumn, AttributeKind, AttributedGround, write_bytes_atomically,
    write_grounds_geojson, write_grounds_shapefile, write_strips_geojson, write_strips_shapefile,
};
use checkstrip_model::AppliedClass;
use checkstrip_model::units::{M_PER_FOOT, M2_PER_HA, UnitSystem};
use checkstrip_spatial::maps::{AppliedMap, ClassGround, applied_map};
use geo::{Area as _, MultiPolygon};

use super::record::Area;
use super::{AppliedAgainstPlan, Piece};
use crate::error::JobError;
use crate::ground::{rings, to_lon_lat};
use crate::machine_log::straightened;
use crate::outputs::{make_folder, remove_stale, write_json};

/// Attributes of the ground by class; ten bytes at most, as Shapefiles need.
const ATTRIBUTES: [AttributeColumn; 9] = [
    ("class", AttributeKind::Text),
    ("planned", AttributeKind::Text),
    ("applied", AttributeKind::Text),
    ("rate_asked", AttributeKind::Number),
    ("rate_put", AttributeKind::Number),
    ("rate_share", AttributeKind::Number),
    ("rate_unit", AttributeKind::Text),
    ("area_ha", AttributeKind::Number),
    ("area_ac", AttributeKind::Number),
];

/// Writes `areas.geojson`, `strips.geojson` and both as Shapefiles, `applied.png` and `applied.json`. Returns the files
/// written, the map first. Strips of an earlier run are taken away where this one has none.
///
/// # Errors
/// When the folder cannot be made or written, or the map cannot be drawn.
pub fn write_applied(
    found: &AppliedAgainstPlan,
    dir: &Path,
    units: UnitSystem,
) -> Result<Vec<PathBuf>, JobError> {
    make_folder(dir)?;
    let path = |name: &str| dir.join(name);
    let map = path("applied.png");
    write_bytes_atomically(&map, &draw(found, units)?)?;
    let mut written = vec![map];
    let areas = found.areas()?;
    let (geojson, shapefile) = (path("areas.geojson"), path("areas.shp"));
    write_grounds_geojson(&geojson, &ATTRIBUTES, &areas)?;
    write_grounds_shapefile(&shapefile, &ATTRIBUTES, &areas)?;
    written.extend([geojson, shapefile]);
    let (geojson, shapefile) = (path("strips.geojson"), path("strips.shp"));
    if found.strips.is_empty() {
        remove_stale(geojson)?;
        for extension in ["shp", "shx", "dbf", "prj", "cpg"] {
            remove_stale(shapefile.with_extension(extension))?;
        }
    } else {
        write_strips_geojson(&geojson, &found.strips)?;
        write_strips_shapefile(&shapefile, &found.strips)?;
        written.extend([geojson, shapefile]);
    }
    let json = path("applied.json");
    write_json(&json, &found.record)?;
    written.push(json);
    Ok(written)
}

impl AppliedAgainstPlan {
    /// The pieces of ground with their attributes.
    fn areas(&self) -> Result<Vec<AttributedGround>, JobError> {
        let areas = self.pieces.iter().map(|piece| {
            let outline = MultiPolygon::new(vec![straightened(&piece.ground)]);
            Ok(AttributedGround {
                ground: to_lon_lat(&outline, &self.plane)?,
                values: self.attributes(piece),
            })
        });
        areas.collect()
    }

    fn attributes(&self, piece: &Piece) -> Vec<Attribute> {
        let text = |text: Option<String>| text.map_or(Attribute::Nothing, Attribute::Text);
        let number = |number: Option<f64>| number.map_or(Attribute::Nothing, Attribute::Number);
        let asked = piece.asked.map(|at| &self.plan.asked[at]);
        let product = piece.product.or_else(|| match piece.class {
            AppliedClass::NotWorked => None,
            _ => asked.and_then(|asked| asked.product),
        });
        let rate = asked.and_then(|asked| asked.rate);
        let area = Area::of_m2(piece.ground.unsigned_area());
        let share = match (piece.mean_rate, rate) {
            (Some(mean), Some(rate)) if rate > 0.0 => Some(mean / rate),
            _ => None,
        };
        vec![
            text(Some(piece.class.key().to_owned())),
            text(asked.map(|asked| asked.name.clone())),
            text(product.map(|place| self.products[place].clone())),
            number(rate),
            number(piece.mean_rate),
            number(share),
            text(self.kind.map(|kind| kind.unit().to_owned())),
            number(Some(area.ha)),
            number(Some(area.ac)),
        ]
    }
}

fn draw(found: &AppliedAgainstPlan, units: UnitSystem) -> Result<Vec<u8>, JobError> {
    let record = &found.record;
    let grounds: Vec<ClassGround> = found
        .pieces
        .iter()
        .map(|piece| ClassGround {
            class: piece.class,
            area_m2: piece.ground.unsigned_area(),
            rings: rings(&MultiPolygon::new(vec![piece.ground.clone()])),
        })
        .collect();
    let strips = found.plan.asked.iter().flat_map(|asked| {
        let strips = asked.strips.iter();
        strips.map(|strip| (asked.name.clone(), rings(&strip.ground)))
    });
    let planned: Vec<(String, Vec<Vec<[f64; 2]>>)> = strips.collect();
    let noise_ha = record.total.noise.ha + record.not_planned_noise.ha;
    let over_m = record.settings.judged_over_m;
    let mut notes = Vec::new();
    if found.kind.is_some() {
        notes.push(format!(
            "As asked: within {:.0} % of the rate, judged over {} of the way.",
            record.settings.tolerance * 100.0,
            match units {
                UnitSystem::Farm => format!("{:.0} ft", over_m / M_PER_FOOT),
                UnitSystem::Si => format!("{over_m:.0} m"),
            }
        ));
    }
    Ok(applied_map(&AppliedMap {
        name: &record.name,
        grounds: &grounds,
        planned: &planned,
        noise_m2: noise_ha * M2_PER_HA,
        notes: &notes,
        units,
    })?)
}
