//! What should be known about a plan before anyone drives it, and what to change.

use super::PlanSetup;
use super::record::PowerRecord;
use super::variation::{SdSource, Variation};
use checkstrip_model::Warning;
use checkstrip_model::units::M_PER_FOOT;
use checkstrip_trial::layout::{PlannedLayout, SHORT_M};

/// Fewer blocks than this leave a wide interval whatever the combine does. Common practice.
const FEW_BLOCKS: usize = 4;
/// A share of chance findings this far above 0.05 is no chance with 200 draws.
const TOO_MANY_BY_CHANCE: f64 = 0.15;
/// A direction along which less of the ground was cut is one among several.
const MOST_GROUND: f64 = 0.5;

pub(super) fn warnings(
    setup: &PlanSetup,
    layout: &PlannedLayout,
    power: &PowerRecord,
    variation: &Variation,
    outline_of_log: bool,
    share_cut_along: Option<f64>,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut warn = |code: &str, message: String| warnings.push(Warning::new(code, message));
    if outline_of_log {
        warn(
            "outline_of_log",
            "No boundary was given: strips lie on the outline of what the log shows as harvested. \
             Check it against the field before driving."
                .into(),
        );
    }
    if let Some(share) = share_cut_along
        && share < MOST_GROUND
    {
        warn(
            "passes_several_ways",
            format!(
                "Strips run along most passes of the log, but only {:.0} % of its ground was cut that \
                 way: look at the map, and give --direction if the trial lies where passes ran \
                 otherwise.",
                share * 100.0
            ),
        );
    }
    if layout.blocks < setup.blocks as usize {
        let narrower = if setup.strip_passes.is_none() && layout.passes > 1 {
            format!(" or --strip-passes {} (narrower strips)", layout.passes - 1)
        } else {
            String::new()
        };
        warn(
            "fewer_blocks",
            format!(
                "{} of {} blocks fit. For more: a smaller --headland, another --direction, fewer \
                 treatments{narrower}.",
                layout.blocks, setup.blocks
            ),
        );
    }
    if layout.blocks < FEW_BLOCKS {
        let what = match layout.blocks {
            1 => "one block gives a difference and nothing to judge it by".to_owned(),
            blocks => format!("{blocks} blocks judge a difference by very little"),
        };
        warn("few_blocks", format!("{what}: lay at least {FEW_BLOCKS}."));
    }
    if let Some(message) = swaths(layout) {
        warn("swaths_not_sure", message);
    }
    let named = |strips: Vec<&str>| strips.join(", ");
    let ids: Vec<String> = layout.strips.iter().map(|s| s.number.to_string()).collect();
    let which = |is: &dyn Fn(usize) -> bool| -> Vec<&str> {
        (0..ids.len())
            .filter(|&s| is(s))
            .map(|s| ids[s].as_str())
            .collect()
    };
    let short = which(&|s| layout.strips[s].length_m() < SHORT_M);
    if !short.is_empty() {
        warn(
            "short_strips",
            format!(
                "Strips shorter than {SHORT_M:.0} m (300 ft), where pass ends weigh much: {}. Move the \
                 trial or turn it.",
                named(short)
            ),
        );
    }
    let parted = which(&|s| layout.strips[s].runs.len() > 1);
    if !parted.is_empty() {
        warn(
            "parted_strips",
            format!(
                "Strips in several pieces, parted by a hole or a bay of the boundary: {}. Treat and \
                 harvest every piece alike.",
                named(parted)
            ),
        );
    }
    if layout.one_order {
        warn(
            "one_order",
            format!(
                "By chance all blocks have their treatments in one order. With seed {} a permutation \
                 test is a computation only, and a slope of the soil across the field would look like \
                 a treatment: take another --seed, before looking at the field.",
                setup.seed
            ),
        );
    }
    match variation.source {
        SdSource::Assumed => warn(
            "sd_assumed",
            "Nothing is known of how strips differ here: a coefficient of variation of 5 % within \
             blocks was assumed, which is common practice and has no source. A past --log of this \
             field, or --sd, makes the smallest gain a figure of its own."
                .into(),
        ),
        SdSource::Given | SdSource::Measured => {}
    }
    if setup.log.is_some() && variation.measured.is_none() {
        warn(
            "not_measured",
            "The log holds too little harvest where strips are planned to measure how they differ. \
             Check that log and boundary are of one field."
                .into(),
        );
    }
    if let Some(measured) = variation.measured
        && measured.shown_by_chance > TOO_MANY_BY_CHANCE
    {
        warn(
            "strips_not_alike",
            format!(
                "Of {} pretended trials {:.0} % showed a difference where nothing was tried, instead \
                 of 5 %: strips here differ in a pattern, such as tramlines, tile or pairs of passes. \
                 Turn the strips or change their width.",
                measured.draws,
                measured.shown_by_chance * 100.0
            ),
        );
    }
    if let Some(wanted) = &power.wanted
        && wanted
            .blocks_needed
            .is_none_or(|needed| needed > layout.blocks)
    {
        let needed = wanted
            .blocks_needed
            .map_or("more than 500".to_owned(), |n| n.to_string());
        warn(
            "gain_not_shown",
            format!(
                "The gain asked about is smaller than these strips can show: it needs {needed} \
                 blocks, {} are laid. Pool fields or years, or lay more.",
                layout.blocks
            ),
        );
    }
    if power
        .break_even
        .as_ref()
        .is_some_and(|even| even.shown == Some(false))
    {
        warn(
            "break_even_not_shown",
            "A gain that just pays is smaller than these strips can show: a trial that shows nothing \
             would not say that the treatment does not pay."
                .into(),
        );
    }
    warnings
}

/// What to change where a whole header swath does not surely lie in every strip.
fn swaths(layout: &PlannedLayout) -> Option<String> {
    let fit = &layout.swaths;
    if fit.surely > 0 {
        return None;
    }
    let both = |metres: f64| format!("{:.1} m ({:.0} ft)", metres, metres / M_PER_FOOT);
    let mut ways = Vec::new();
    if fit.from_strip_edge > 0 {
        ways.push(format!(
            "start the combine on each strip's edge, which leaves {} inside",
            match fit.from_strip_edge {
                1 => "one whole swath".to_owned(),
                count => format!("{count} whole swaths"),
            }
        ));
        if fit.in_step_without == 0 {
            ways.push(
                "on the first strip's edge only and drive on without a gap, which keeps a whole \
                 swath in every strip"
                    .to_owned(),
            );
        }
    }
    ways.push(format!("lay strips of {} passes", fit.passes_for_sure));
    if let Some(exact) = fit.passes_for_exact.filter(|&exact| exact != layout.passes) {
        ways.push(format!("of {exact} passes, which are whole header widths"));
    }
    ways.push(format!(
        "cut with a header of at most {}",
        both(fit.widest_header_for_sure_m)
    ));
    Some(format!(
        "Strips of {} hold no whole swath of a {} header for sure: every swath may straddle two \
         treatments. To change that: {}.",
        both(fit.strip_width_m),
        both(fit.header_width_m),
        ways.join("; or ")
    ))
}
