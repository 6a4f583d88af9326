//! The map of dropped records: each reason in its own colour and mark over pale kept ground. The
//! rarer a reason, the later it is drawn, so that two moisture faults are not lost under two
//! thousand pass ends.

use super::footprint_layer::paint_footprint;
use super::legend::{Entry, Symbol};
use super::marker::{Marker, REACH, reason_place};
use super::palette::{PALE_GROUND, REASONS};
use super::request::{MapError, MapKind, MapRequest, check_columns};
use super::sheet::Sheet;
use checkstrip_model::{CleanLog, Status};
use checkstrip_words::say;

/// Marks of one reason keep at least this far apart, pixels: one per cell of this size.
const MARK_SPACING: i32 = 2 * REACH + 8;

/// Draws the dropped records by reason and returns a PNG file; see [`draw`](super::draw).
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn removed_records(log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let words = request.reader.words;
    let mut dropped: Vec<Vec<usize>> = vec![Vec::new(); Status::REASONS.len()];
    for (record, &status) in log.status.iter().enumerate() {
        if let Some(place) = reason_place(status) {
            dropped[place].push(record);
        }
    }
    let total: usize = dropped.iter().map(Vec::len).sum();
    let mut legend = vec![Entry::Heading(say!(words, "map-dropped-heading"))];
    for (place, records) in dropped
        .iter()
        .enumerate()
        .filter(|(_, records)| !records.is_empty())
    {
        let reason = words.status(Status::REASONS[place]);
        legend.push(Entry::key(
            Symbol::Reason(place),
            reason,
            words.count(records.len()),
        ));
    }
    if total == 0 {
        legend.push(Entry::Note(say!(words, "map-none-dropped")));
    }
    legend.push(Entry::Heading(say!(words, "map-also-shown")));
    let pale = Symbol::Patch(PALE_GROUND);
    legend.push(Entry::key(
        pale,
        words.status(Status::Kept),
        words.count(log.len() - total),
    ));
    if !request.strips.is_empty() {
        legend.push(Entry::key(Symbol::Outline, say!(words, "map-strip"), ""));
    }
    if total > 0 {
        legend.push(Entry::Note(say!(words, "map-marks-thinned")));
    }
    let counted = say!(
        words,
        "map-dropped",
        shown = words.count(total),
        records = words.count(log.len())
    );
    let mut sheet = Sheet::plan(MapKind::RemovedRecords, log, request, &counted, legend)?;

    for record in (0..log.len()).filter(|&record| log.status[record].is_kept()) {
        paint_footprint(&mut sheet, log, record, PALE_GROUND);
    }
    let mut order: Vec<usize> = (0..dropped.len()).collect();
    order.sort_by_key(|&place| std::cmp::Reverse(dropped[place].len()));
    for &place in &order {
        for &record in &dropped[place] {
            paint_footprint(&mut sheet, log, record, REASONS[place]);
        }
    }
    sheet.outline_strips(request.strips);
    for &place in &order {
        stamp_marks(
            &mut sheet,
            log,
            &dropped[place],
            &Marker::of_reason(place, REASONS[place]),
        );
    }
    sheet.finish(request.reader)
}

/// Stamps the mark on the middle of each record's footprint, one per cell.
fn stamp_marks(sheet: &mut Sheet, log: &CleanLog, records: &[usize], marker: &Marker) {
    let window = sheet.ground.window;
    let columns = (window.width() / MARK_SPACING + 1) as usize;
    let rows = (window.height() / MARK_SPACING + 1) as usize;
    let mut taken = vec![false; columns * rows];
    for &record in records {
        let corners = log.footprint(record);
        let middle = [
            (corners[0][0] + corners[2][0]) / 2.0,
            (corners[0][1] + corners[2][1]) / 2.0,
        ];
        let pixel = sheet.ground.pixel(middle);
        if !sheet.ground.shows(pixel) {
            continue;
        }
        let (x, y) = (pixel[0] as i32, pixel[1] as i32);
        let column = ((x - window.left) / MARK_SPACING) as usize;
        let row = ((y - window.top) / MARK_SPACING) as usize;
        let cell = &mut taken[row * columns + column];
        if !*cell {
            *cell = true;
            marker.stamp(&mut sheet.canvas, window, x, y);
        }
    }
}
