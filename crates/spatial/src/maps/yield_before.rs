//! The map of yield as logged: every record with the header down, distance × width and flow taken
//! as they came, in the classes of the cleaned map.

use super::figures::count;
use super::legend::{Entry, Symbol};
use super::request::{MapError, MapKind, MapRequest, check_columns};
use super::sheet::Sheet;
use super::yield_classes::YieldClasses;
use super::yield_layer::YieldLayer;
use checkstrip_model::{CleanLog, Status};

/// Draws yield as logged and returns a PNG file; see [`draw`](super::draw).
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn yield_before(log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let classes = YieldClasses::of(log, request.field, request.units);
    let layer = YieldLayer::new(log, classes, &log.raw_yield_kg_ha, |record| {
        log.status[record] != Status::HeaderUp
    });
    let mut legend = layer.legend(log, request.units);
    if !request.strips.is_empty() {
        legend.push(Entry::Heading("Also shown".to_owned()));
        legend.push(Entry::key(Symbol::Outline, "strip", ""));
    }
    let counted = format!(
        "{} of {} records, header down, nothing put right",
        count(layer.records),
        count(log.len())
    );
    let mut sheet = Sheet::plan(MapKind::YieldBefore, log, request, &counted, legend)?;
    layer.paint(&mut sheet, log);
    sheet.outline_strips(request.strips);
    sheet.finish(request.units)
}
