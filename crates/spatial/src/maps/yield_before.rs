//! The map of yield as logged: every record with the header down, distance × width and flow taken
//! as they came, in the classes of the cleaned map.

use super::legend::{Entry, Symbol};
use super::request::{MapError, MapKind, MapRequest, check_columns};
use super::sheet::Sheet;
use super::yield_classes::YieldClasses;
use super::yield_layer::YieldLayer;
use checkstrip_model::{CleanLog, Status};
use checkstrip_words::say;

/// Draws yield as logged and returns a PNG file; see [`draw`](super::draw).
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn yield_before(log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let words = request.reader.words;
    let classes = YieldClasses::of(log, request.field, request.reader);
    let layer = YieldLayer::new(log, classes, &log.raw_yield_kg_ha, |record| {
        log.status[record] != Status::HeaderUp
    });
    let mut legend = layer.legend(log, request.reader);
    if !request.strips.is_empty() {
        legend.push(Entry::Heading(say!(words, "map-also-shown")));
        legend.push(Entry::key(Symbol::Outline, say!(words, "map-strip"), ""));
    }
    let counted = say!(
        words,
        "map-header-down",
        shown = words.count(layer.records),
        records = words.count(log.len())
    );
    let mut sheet = Sheet::plan(MapKind::YieldBefore, log, request, &counted, legend)?;
    layer.paint(&mut sheet, log);
    sheet.outline_strips(request.strips);
    sheet.finish(request.reader)
}
