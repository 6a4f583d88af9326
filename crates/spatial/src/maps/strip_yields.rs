//! The map of strips: treatments by hatching, block and yield written into each strip, the combine's
//! passes faint beneath, so that a pass that straddles two treatments is seen.

use super::figures::{strip_yield, yield_unit};
use super::footprint_layer::paint_pass_footprint;
use super::hatch::Hatch;
use super::legend::{Entry, Symbol};
use super::palette::PASS_BAND;
use super::request::{MapError, MapKind, MapRequest, StripOutline, check_columns};
use super::sheet::Sheet;
use super::strip_label::{Labelled, place_labels};
use checkstrip_model::CleanLog;
use checkstrip_words::say;

/// Treatments listed in the legend; more are counted.
const LISTED: usize = 14;

/// Draws the strips with treatment, block and yield and returns a PNG file; see
/// [`draw`](super::draw).
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn strip_yields(log: &CleanLog, request: &MapRequest) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let words = request.reader.words;
    let treatments = treatments(request.strips);
    let counted = match request.strips.len() {
        0 => say!(words, "map-no-strips"),
        strips => words.counted("count-strips", strips),
    };
    let unit = yield_unit(request.reader.units);
    let draft = |unlabelled: usize| {
        let mut legend = vec![Entry::Heading(say!(words, "map-treatments-heading"))];
        for treatment in treatments.iter().take(LISTED) {
            let says_so = treatment.name.to_lowercase().contains("check");
            let name = if treatment.is_check && !says_so {
                say!(words, "map-treatment-check", treatment = treatment.name)
            } else {
                treatment.name.to_owned()
            };
            let symbol = Symbol::Hatching(treatment.hatch);
            legend.push(Entry::key(symbol, name, words.count(treatment.strips)));
        }
        if treatments.len() > LISTED {
            let more = treatments.len() - LISTED;
            legend.push(Entry::Note(say!(words, "map-more-treatments", more = more)));
        }
        if treatments.is_empty() {
            legend.push(Entry::Note(say!(words, "map-no-strips-note")));
        } else {
            legend.push(Entry::Note(say!(words, "map-in-each-strip", unit = unit)));
        }
        if unlabelled > 0 {
            legend.push(Entry::Note(words.counted("map-too-small", unlabelled)));
        }
        legend.push(Entry::Heading(say!(words, "map-also-shown")));
        legend.push(Entry::key(
            Symbol::Bands(PASS_BAND),
            say!(words, "map-passes"),
            "",
        ));
        legend
    };
    // Which labels fit is known once the window is; the sheet is planned again when its legend has
    // to say that some do not.
    let mut sheet = Sheet::plan(MapKind::StripYields, log, request, &counted, draft(0))?;
    let mut labelled = to_label(&sheet, request);
    let mut labels = place_labels(&labelled, &sheet.lettering);
    let unlabelled = labels.iter().filter(|label| label.is_none()).count();
    if unlabelled > 0 {
        sheet = Sheet::plan(
            MapKind::StripYields,
            log,
            request,
            &counted,
            draft(unlabelled),
        )?;
        labelled = to_label(&sheet, request);
        labels = place_labels(&labelled, &sheet.lettering);
    }

    for record in (0..log.len()).filter(|&record| log.status[record].is_kept()) {
        paint_pass_footprint(&mut sheet, log, record, PASS_BAND);
    }
    for (strip, ground) in request.strips.iter().zip(&labelled) {
        let look = treatments
            .iter()
            .find(|treatment| treatment.name == strip.treatment);
        if let Some(treatment) = look {
            treatment.hatch.paint(&mut sheet.canvas, &ground.spans);
        }
    }
    sheet.outline_strips(request.strips);
    sheet.write_labels(labels);
    sheet.finish(request.reader)
}

/// A treatment as the legend lists it.
pub(super) struct Treatment<'a> {
    pub(super) name: &'a str,
    pub(super) is_check: bool,
    pub(super) strips: usize,
    pub(super) hatch: Hatch,
}

/// The treatments, the check first, then in the order of the strips.
pub(super) fn treatments(strips: &[StripOutline]) -> Vec<Treatment<'_>> {
    let mut found: Vec<Treatment> = Vec::new();
    for strip in strips {
        match found
            .iter_mut()
            .find(|treatment| treatment.name == strip.treatment)
        {
            Some(treatment) => treatment.strips += 1,
            None => found.push(Treatment {
                name: &strip.treatment,
                is_check: strip.is_check,
                strips: 1,
                hatch: Hatch::CHECK,
            }),
        }
    }
    found.sort_by_key(|treatment| !treatment.is_check);
    for (place, treatment) in found.iter_mut().filter(|t| !t.is_check).enumerate() {
        treatment.hatch = Hatch::of_treatment(place);
    }
    found
}

fn to_label(sheet: &Sheet, request: &MapRequest) -> Vec<Labelled> {
    request
        .strips
        .iter()
        .map(|strip| {
            let figure = match strip.yield_kg_ha.filter(|value| value.is_finite()) {
                Some(value) => strip_yield(value, request.field, request.reader),
                None => say!(request.reader.words, "map-no-yield"),
            };
            let mut forms = vec![figure.clone()];
            if !strip.block.is_empty() {
                forms.insert(0, format!("{} · {figure}", strip.block));
            }
            Labelled {
                spans: sheet.ground_spans(&strip.rings),
                forms,
            }
        })
        .collect()
}
