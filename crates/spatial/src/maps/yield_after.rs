//! The map of yield after cleaning: kept records in the colour of their class, the ground of dropped
//! ones grey.

use super::extent::cuts_ground;
use super::figures::count;
use super::footprint_layer::paint_footprint;
use super::legend::{Entry, Symbol};
use super::palette::DROPPED_GROUND;
use super::request::{MapError, MapKind, MapRequest, check_columns};
use super::sheet::Sheet;
use super::yield_classes::YieldClasses;
use super::yield_layer::YieldLayer;
use checkstrip_model::CleanLog;

/// Draws yield after cleaning and returns a PNG file; see [`draw`](super::draw).
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn yield_after(log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let classes = YieldClasses::of(log, request.field, request.units);
    let layer = YieldLayer::new(log, classes, &log.yield_kg_ha, |record| {
        log.status[record].is_kept()
    });
    let dropped = |record: usize| {
        let status = log.status[record];
        !status.is_kept() && cuts_ground(status)
    };
    let mut legend = layer.legend(log, request.units);
    let any_dropped = (0..log.len()).any(dropped);
    if any_dropped || !request.strips.is_empty() {
        legend.push(Entry::Heading("Also shown".to_owned()));
    }
    if any_dropped {
        legend.push(Entry::key(
            Symbol::Patch(DROPPED_GROUND),
            "records dropped",
            "",
        ));
    }
    if !request.strips.is_empty() {
        legend.push(Entry::key(Symbol::Outline, "strip", ""));
    }
    let counted = format!(
        "{} of {} records kept",
        count(layer.records),
        count(log.len())
    );
    let mut sheet = Sheet::plan(MapKind::YieldAfter, log, request, &counted, legend)?;
    for record in (0..log.len()).filter(|&record| dropped(record)) {
        paint_footprint(&mut sheet, log, record, DROPPED_GROUND);
    }
    layer.paint(&mut sheet, log);
    sheet.outline_strips(request.strips);
    sheet.finish(request.units)
}
