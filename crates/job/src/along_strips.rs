//! The advantage along the strips, from the overlay to the entry of the results: slices from `spatial`,
//! windows from `trial`.

use checkstrip_model::CleanLog;
use checkstrip_model::results::AlongStrips;
use checkstrip_spatial::overlay::Overlay;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_spatial::strip_slices::{HarvestAlong, StripAxis};
use checkstrip_trial::{Layout, SLICES_IN_WINDOW, Slice, slice_length_m};
use checkstrip_words::{english_text, said_values};

/// The entry of the results, and the axis its distances count on; no axis without windows. `layout`
/// holds the strips of `field` in their order.
pub(crate) fn along_strips(
    log: &CleanLog,
    field: &StripField,
    overlay: &Overlay,
    layout: &Layout,
    bushel_kg: f64,
) -> (AlongStrips, Option<StripAxis>) {
    let harvest = HarvestAlong::new(log, field, overlay);
    let strip_length_m = harvest.strip_length_m();
    let nothing = |why: &str| {
        let values = said_values!(variant = why);
        let axis = StripAxis {
            direction_rad: harvest.direction_rad,
            start_m: 0.0,
        };
        let along = AlongStrips {
            direction_deg: harvest.direction_rad.to_degrees(),
            from_end: axis.begins_in().to_owned(),
            strip_length_m: Some(strip_length_m).filter(|length| length.is_finite()),
            strips_left_out: harvest.other_ways,
            window_m: None,
            step_m: None,
            why_none: Some(english_text("along-none", "", &values)),
            why_none_values: values,
            treatments: Vec::new(),
        };
        (along, None)
    };
    if strip_length_m.is_nan() {
        return nothing("one-way");
    }
    let Some(slice_m) = slice_length_m(strip_length_m) else {
        return nothing("short");
    };
    let (axis, slices) = harvest.slices(log, overlay, slice_m);
    let slices: Vec<Vec<Slice>> = slices
        .into_iter()
        .map(|strip| {
            let slices = strip.into_iter().map(|slice| Slice {
                area_m2: slice.area_m2,
                mass_kg: slice.dry_mass_kg,
            });
            slices.collect()
        })
        .collect();
    let treatments = checkstrip_trial::along_strips(layout, &slices, slice_m, bushel_kg);
    if treatments.is_empty() {
        return nothing("no-block");
    }
    let along = AlongStrips {
        direction_deg: axis.direction_rad.to_degrees(),
        from_end: axis.begins_in().to_owned(),
        strip_length_m: Some(strip_length_m),
        strips_left_out: harvest.other_ways,
        window_m: Some(slice_m * SLICES_IN_WINDOW as f64),
        step_m: Some(slice_m),
        why_none: None,
        why_none_values: said_values!(),
        treatments,
    };
    (along, Some(axis))
}
