//! The map of one treatment's advantage along the strips: each treated strip in the colours of the
//! local difference from the check of its block, the check strips left white with their block written
//! in, the combine's passes faint beneath.

use super::difference_classes::DifferenceClasses;
use super::extent::field_extent;
use super::figures::{whole_length, yield_unit};
use super::footprint_layer::paint_pass_footprint;
use super::hatch::Hatch;
use super::legend::{Entry, Symbol};
use super::palette::{DROPPED_GROUND, PASS_BAND, WHITE, difference_colour};
use super::polygon_fill::Span;
use super::request::{MapError, MapRequest, check_columns};
use super::sheet::Sheet;
use super::strip_label::{Labelled, place_labels};
use crate::strip_slices::StripAxis;
use checkstrip_model::CleanLog;
use checkstrip_model::results::{AdvantageAlong, AlongStrips};
use checkstrip_words::say;

/// Draws the map of `shown`, one of the treatments of `along`, and returns it as a PNG file, 1600 pixels
/// wide; distances count on `axis`. Classes are those of all treatments of `along`.
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn advantage_along(
    log: &CleanLog,
    request: &MapRequest,
    along: &AlongStrips,
    shown: &AdvantageAlong,
    axis: StripAxis,
) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let of_all = along.treatments.iter().flat_map(|along| &along.windows);
    let differences = of_all.flat_map(|window| &window.block_differences);
    let classes = DifferenceClasses::over(
        differences.map(|block| block.difference_kg_ha),
        request.field,
        request.reader,
    );
    let words = request.reader.words;
    let window = whole_length(along.window_m.unwrap_or(0.0), request.reader);
    let comparison = say!(
        words,
        "difference-name",
        treatment = &shown.treatment,
        check = &shown.check
    );
    let field = request.field;
    let about = say!(
        words,
        "map-along-about",
        field = &field.name,
        crop = words.crop(&field.crop),
        moisture = words.shortest(field.market_moisture_pct),
        comparison = &comparison,
        window = &window
    );
    let legend = legend(&classes, shown, request, &comparison, &window);
    let found = field_extent(log, request.strips);
    let mut sheet = Sheet::lay(&say!(words, "map-advantage-along"), &about, found, legend)?;

    for record in (0..log.len()).filter(|&record| log.status[record].is_kept()) {
        paint_pass_footprint(&mut sheet, log, record, PASS_BAND);
    }
    let mut labelled = Vec::new();
    for strip in request.strips {
        let ground = sheet.ground_spans(&strip.rings);
        if strip.is_check {
            sheet.fill(&ground, WHITE);
            labelled.push(Labelled {
                spans: ground,
                forms: vec![
                    say!(words, "plot-block", block = &strip.block),
                    strip.block.clone(),
                ],
            });
        } else if strip.treatment == shown.treatment {
            let local = LocalDifferences::of_block(shown, &strip.block);
            paint(&mut sheet, &ground, &local, &classes, axis);
        } else {
            Hatch::OTHER.paint(&mut sheet.canvas, &ground);
        }
    }
    sheet.outline_strips(request.strips);
    sheet.write_labels(place_labels(&labelled, &sheet.lettering));
    sheet.finish(request.reader)
}

fn legend(
    classes: &DifferenceClasses,
    shown: &AdvantageAlong,
    request: &MapRequest,
    comparison: &str,
    window: &str,
) -> Vec<Entry> {
    let words = request.reader.words;
    let mut legend = vec![Entry::Heading(say!(
        words,
        "map-along-heading",
        comparison = comparison,
        unit = yield_unit(request.reader.units)
    ))];
    for (class, label) in classes.labels().iter().enumerate().rev() {
        let symbol = Symbol::Patch(difference_colour(class));
        legend.push(Entry::key(symbol, label.clone(), ""));
    }
    legend.push(Entry::Note(say!(words, "map-along-note", window = window)));
    legend.push(Entry::Note(say!(words, "map-along-luck")));
    legend.push(Entry::Heading(say!(words, "map-also-shown")));
    legend.push(Entry::key(
        Symbol::Hatching(Hatch::CHECK),
        say!(words, "map-along-check"),
        "",
    ));
    if request
        .strips
        .iter()
        .any(|strip| !strip.is_check && strip.treatment != shown.treatment)
    {
        legend.push(Entry::key(
            Symbol::Hatching(Hatch::OTHER),
            say!(words, "map-along-others"),
            "",
        ));
    }
    let unknown = Symbol::Patch(DROPPED_GROUND);
    legend.push(Entry::key(unknown, say!(words, "map-along-unknown"), ""));
    legend.push(Entry::key(
        Symbol::Bands(PASS_BAND),
        say!(words, "map-passes"),
        "",
    ));
    legend
}

/// One block's differences by place along the strips.
struct LocalDifferences {
    /// Middle of a window, m along, and the difference there, kg/ha; in order along.
    places: Vec<(f64, f64)>,
    half_window_m: f64,
}

impl LocalDifferences {
    fn of_block(along: &AdvantageAlong, block: &str) -> LocalDifferences {
        let of_window = along.windows.iter().filter_map(|window| {
            let found = window.block_differences.iter().find(|d| d.block == block)?;
            Some(((window.from_m + window.to_m) / 2.0, found.difference_kg_ha))
        });
        let first = along.windows.first();
        LocalDifferences {
            places: of_window.collect(),
            half_window_m: first.map_or(0.0, |window| (window.to_m - window.from_m) / 2.0),
        }
    }

    /// The difference of the window whose middle is nearest, if the window reaches so far.
    fn at(&self, distance_m: f64) -> Option<f64> {
        let next = self.places.partition_point(|place| place.0 < distance_m);
        let around = self.places[next.saturating_sub(1)..].iter().take(2);
        around
            .map(|place| ((place.0 - distance_m).abs(), place.1))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|nearest| nearest.0 <= self.half_window_m)
            .map(|nearest| nearest.1)
    }
}

fn paint(
    sheet: &mut Sheet,
    ground: &[Span],
    local: &LocalDifferences,
    classes: &DifferenceClasses,
    axis: StripAxis,
) {
    for span in ground {
        let y = f64::from(span.y) + 0.5;
        for x in span.from..span.to {
            let place = sheet.ground.place([f64::from(x) + 0.5, y]);
            let colour = match local.at(axis.distance_m(place)) {
                Some(kg_ha) => difference_colour(classes.class_of(kg_ha)),
                None => DROPPED_GROUND,
            };
            sheet.canvas.span(span.y, x, x + 1, colour);
        }
    }
}
