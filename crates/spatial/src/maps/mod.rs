//! Maps of one field as PNG pictures: yield as logged, yield after cleaning, the records that were
//! dropped, and the strips with their yields; and the sheet of a planned trial. The job and the `map`
//! command call [`draw`] and [`plan_map`]; the report embeds what they return.
//!
//! Every record is painted as its true footprint, in the order of the log, straight into the
//! picture's pixels; the sheet around it (legend, scale bar, north arrow) is drawn through plotters.
//! How classes and colours are chosen, with sources, is in `docs/maps.md`.

mod advantage_along;
mod applied_map;
mod difference_classes;
mod extent;
mod fields_map;
mod figures;
mod footprint_fill;
mod footprint_layer;
mod ground;
mod hatch;
mod legend;
mod marker;
mod palette;
mod plan_map;
mod removed_records;
mod request;
mod row_map;
mod scale_bar;
mod sheet;
mod strip_label;
mod strip_yields;
mod yield_after;
mod yield_before;
mod yield_classes;
mod yield_layer;
mod zones_map;

pub use advantage_along::advantage_along;
pub use applied_map::{AppliedMap, ClassGround, applied_map};
pub use fields_map::{FieldsMap, MappedField, fields_map};
pub use plan_map::{PlanMap, plan_map};
pub use removed_records::removed_records;
pub use request::{MapError, MapKind, MapRequest, StripOutline};
pub use row_map::{RowMap, RowPieces, Worse, row_map};
pub use strip_yields::strip_yields;
pub use yield_after::yield_after;
pub use yield_before::yield_before;
pub use zones_map::{ZonesMap, zones_map};

use checkstrip_drawing::{canvas, lettering, polygon_fill, stroke};
use checkstrip_model::CleanLog;

/// Draws the map `kind` of `log` and returns it as a PNG file, 1600 pixels wide.
///
/// Records without a position, without a yield or far off the field are left out; a log without any
/// usable record gives a sheet that says so.
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
///
/// ```
/// use checkstrip_model::{CleanLog, Crop, results::Field, units::UnitSystem};
/// use checkstrip_spatial::maps::{MapKind, MapRequest, draw};
/// let field = Field::new("Home quarter", &Crop::known("soybean").unwrap());
/// let request = MapRequest { field: &field, reader: UnitSystem::Farm.into(), strips: &[] };
/// let png = draw(MapKind::YieldAfter, &CleanLog::default(), &request).unwrap();
/// assert_eq!(&png[1..4], b"PNG");
/// ```
pub fn draw(kind: MapKind, log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    match kind {
        MapKind::YieldBefore => yield_before(log, request),
        MapKind::YieldAfter => yield_after(log, request),
        MapKind::RemovedRecords => removed_records(log, request),
        MapKind::StripYields => strip_yields(log, request),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::{Crop, Status, results::Field, units::UnitSystem};

    fn field() -> Field {
        Field::new(
            "An invented field with a name too long for any sheet "
                .repeat(9)
                .trim(),
            &Crop::known("corn").unwrap(),
        )
    }

    fn log(records: usize, spoil: impl Fn(&mut CleanLog, usize)) -> CleanLog {
        let mut log = CleanLog::default();
        for record in 0..records {
            log.east_m.push((record / 50) as f64 * 9.0);
            log.north_m.push((record % 50) as f64 * 2.0);
            log.heading_deg.push(0.0);
            log.distance_m.push(2.0);
            log.width_m.push(9.0);
            log.pass.push(record as u32 / 50 + 1);
            log.status.push(Status::Kept);
            log.raw_yield_kg_ha.push(9_000.0 + record as f64);
            log.yield_kg_ha.push(9_000.0 + record as f64);
            spoil(&mut log, record);
        }
        log
    }

    fn size_of(kind: MapKind, log: &CleanLog, strips: &[StripOutline]) -> (u32, u32) {
        let request = MapRequest {
            field: &field(),
            reader: UnitSystem::Si.into(),
            strips,
        };
        let png = draw(kind, log, &request).unwrap();
        let side = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
        (side(16), side(20))
    }

    #[test]
    fn every_map_copes_with_any_log() {
        let strip = |rings| StripOutline {
            strip_id: String::new(),
            treatment: String::new(),
            block: String::new(),
            rings,
            yield_kg_ha: Some(f64::NAN),
            is_check: false,
        };
        let strips = [
            strip(vec![vec![[f64::NAN, f64::INFINITY]; 4]]),
            strip(Vec::new()),
            strip(vec![vec![[1e300, -1e300], [0.0, 0.0], [5.0, 80.0]]]),
        ];
        let logs = [
            log(0, |_, _| {}),
            log(1, |_, _| {}),
            log(400, |_, _| {}),
            log(400, |log, record| {
                log.status[record] = Status::REASONS[record % 10]
            }),
            log(400, |log, record| log.east_m[record] = f64::NAN),
            log(400, |log, record| {
                log.north_m[record] = 1e300 * (record % 2) as f64
            }),
            log(400, |log, record| log.east_m[record] *= 1e6),
            log(400, |log, record| {
                log.yield_kg_ha[record] = f64::INFINITY;
                log.raw_yield_kg_ha[record] = f64::NAN;
                log.heading_deg[record] = f64::NAN;
                log.distance_m[record] = f64::NEG_INFINITY;
                log.width_m[record] = f64::NAN;
            }),
            log(400, |log, record| log.yield_kg_ha[record] = -3.0),
        ];
        for log in &logs {
            for &kind in MapKind::ALL {
                for strips in [&strips[..], &[]] {
                    let (width, height) = size_of(kind, log, strips);
                    assert_eq!(width, 1600);
                    assert!((900..=1800).contains(&height), "{kind:?} {height}");
                }
            }
        }
    }

    #[test]
    fn columns_of_unequal_length_are_refused() {
        let mut log = log(10, |_, _| {});
        log.width_m.pop();
        let request = MapRequest {
            field: &field(),
            reader: UnitSystem::Farm.into(),
            strips: &[],
        };
        for &kind in MapKind::ALL {
            let error = draw(kind, &log, &request).unwrap_err().to_string();
            assert!(error.contains("width_m has 9 entries"), "{error}");
        }
    }

    #[test]
    fn keys_lead_back_to_their_maps() {
        for &kind in MapKind::ALL {
            assert_eq!(MapKind::from_key(kind.key()), Some(kind));
        }
        assert_eq!(MapKind::from_key("moon"), None);
    }
}
