//! The map of one treatment's advantage along the strips: each treated strip in the colours of the
//! local difference from the check of its block, the check strips left white with their block written
//! in, the combine's passes faint beneath.

use super::difference_classes::DifferenceClasses;
use super::extent::field_extent;
use super::figures::{number, yield_unit};
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
use checkstrip_model::units::{M_PER_FOOT, UnitSystem};

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
        request.units,
    );
    let window = length(along.window_m.unwrap_or(0.0), request.units);
    let field = request.field;
    let about = format!(
        "{} · {} at {} % moisture · {} less {}, over {window} of driving",
        field.name, field.crop, field.market_moisture_pct, shown.treatment, shown.check
    );
    let legend = legend(&classes, shown, request, &window);
    let found = field_extent(log, request.strips);
    let mut sheet = Sheet::lay("Advantage along the strips", &about, found, legend)?;

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
                forms: vec![format!("block {}", strip.block), strip.block.clone()],
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
    sheet.finish(request.units)
}

fn legend(
    classes: &DifferenceClasses,
    shown: &AdvantageAlong,
    request: &MapRequest,
    window: &str,
) -> Vec<Entry> {
    let unit = yield_unit(request.units);
    let mut legend = vec![Entry::Heading(format!(
        "{} less {}, {unit}",
        shown.treatment, shown.check
    ))];
    for (class, label) in classes.labels().iter().enumerate().rev() {
        let symbol = Symbol::Patch(difference_colour(class));
        legend.push(Entry::key(symbol, label.clone(), ""));
    }
    legend.push(Entry::Note(format!(
        "In each treated strip: its difference from the check strip of its block, over {window} of \
         driving around each place."
    )));
    legend.push(Entry::Note(
        "Single blocks scatter by luck. The chart in the report says what is more than that."
            .to_owned(),
    ));
    legend.push(Entry::Heading("Also shown".to_owned()));
    legend.push(Entry::key(
        Symbol::Hatching(Hatch::CHECK),
        "check strip",
        "",
    ));
    if request
        .strips
        .iter()
        .any(|strip| !strip.is_check && strip.treatment != shown.treatment)
    {
        legend.push(Entry::key(
            Symbol::Hatching(Hatch::OTHER),
            "other treatments",
            "",
        ));
    }
    let unknown = Symbol::Patch(DROPPED_GROUND);
    legend.push(Entry::key(unknown, "treated, no check beside it", ""));
    legend.push(Entry::key(
        Symbol::Bands(PASS_BAND),
        "combine passes, records kept",
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

/// A length to the whole foot or metre.
fn length(metres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Farm => format!("{} ft", number((metres / M_PER_FOOT).round(), 0)),
        UnitSystem::Si => format!("{} m", number(metres, 0)),
    }
}
