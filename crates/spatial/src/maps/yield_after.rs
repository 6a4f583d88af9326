//! The map of yield after cleaning: kept records in the colour of their class, the ground of dropped
//! ones grey.

use super::extent::cuts_ground;
use super::footprint_layer::paint_footprint;
use super::legend::{Entry, Symbol};
use super::palette::DROPPED_GROUND;
use super::request::{MapError, MapKind, MapRequest, check_columns};
use super::sheet::Sheet;
use super::yield_classes::YieldClasses;
use super::yield_layer::YieldLayer;
use checkstrip_model::CleanLog;
use checkstrip_words::say;

/// Draws yield after cleaning and returns a PNG file; see [`draw`](super::draw).
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn yield_after(log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let words = request.reader.words;
    let classes = YieldClasses::of(log, request.field, request.reader);
    let layer = YieldLayer::new(log, classes, &log.yield_kg_ha, |record| {
        log.status[record].is_kept()
    });
    let dropped = |record: usize| {
        let status = log.status[record];
        !status.is_kept() && cuts_ground(status)
    };
    let mut legend = layer.legend(log, request.reader);
    let any_dropped = (0..log.len()).any(dropped);
    if any_dropped || !request.strips.is_empty() {
        legend.push(Entry::Heading(say!(words, "map-also-shown")));
    }
    if any_dropped {
        legend.push(Entry::key(
            Symbol::Patch(DROPPED_GROUND),
            say!(words, "map-records-dropped"),
            "",
        ));
    }
    if !request.strips.is_empty() {
        legend.push(Entry::key(Symbol::Outline, say!(words, "map-strip"), ""));
    }
    let counted = say!(
        words,
        "map-kept",
        shown = words.count(layer.records),
        records = words.count(log.len())
    );
    let mut sheet = Sheet::plan(MapKind::YieldAfter, log, request, &counted, legend)?;
    for record in (0..log.len()).filter(|&record| dropped(record)) {
        paint_footprint(&mut sheet, log, record, DROPPED_GROUND);
    }
    layer.paint(&mut sheet, log);
    sheet.outline_strips(request.strips);
    sheet.finish(request.reader)
}
