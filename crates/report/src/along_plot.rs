//! The chart of the advantage along the strips: its course over the windows with the bands around it, a
//! line at no difference and one at break-even. Places are worked out here in the units of the drawing;
//! the template turns them into SVG.

use crate::along_strips::from_to;
use crate::axes::{Axes, Axis, Dot, Tick, ends};
use crate::figures::Figures;
use checkstrip_model::results::{AdvantageAlong, AlongWindow};
use checkstrip_words::say;
use serde::Serialize;

/// Width and height of the drawing.
const SIZE: [f64; 2] = [640.0, 340.0];
/// Intervals this many times as wide as the usual one run out of the chart: those of windows with two
/// or three blocks would flatten all others.
const WIDEST: f64 = 2.5;

/// The chart, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct AlongPlot {
    #[serde(flatten)]
    axes: Axes,
    /// Corners of the bands, as SVG writes them; a gap in the windows parts them.
    by_itself: Vec<String>,
    at_once: Vec<String>,
    lines: Vec<String>,
    dots: Vec<Dot>,
    zero: f64,
    break_even: Option<Tick>,
}

type Interval = fn(&AlongWindow) -> Option<[f64; 2]>;
const BY_ITSELF: Interval = |window| window.interval_95_kg_ha;
const AT_ONCE: Interval = |window| window.interval_95_family_kg_ha;

impl AlongPlot {
    /// The chart of these windows, `step_m` apart; `None` when there is nothing finite to show.
    /// `from_end` names the end that distances count from.
    pub(crate) fn new(
        along: &AdvantageAlong,
        step_m: f64,
        from_end: &str,
        break_even_bu_ac: Option<f64>,
        figures: Figures,
    ) -> Option<AlongPlot> {
        let windows: Vec<&AlongWindow> = along
            .windows
            .iter()
            .filter(|window| window.advantage_kg_ha.is_finite())
            .collect();
        let last = windows.last()?;
        let even = break_even_bu_ac
            .filter(|bushels| bushels.is_finite())
            .map(|bushels| figures.kg_per_ha(bushels));
        let means = windows.iter().map(|window| window.advantage_kg_ha);
        let bands = [BY_ITSELF, AT_ONCE].into_iter().flat_map(|interval| {
            let most = WIDEST * usual_half_width(&windows, interval);
            windows
                .iter()
                .filter_map(move |window| Some(shortened(interval(window)?, most)))
                .flatten()
        });
        let shown = means
            .chain(bands)
            .chain(even)
            .chain([0.0])
            .map(|kg_ha| figures.shown_yield(kg_ha));
        let (low, high) = ends(shown)?;
        let margin = if high > low { (high - low) * 0.05 } else { 1.0 };
        let (words, unit) = (figures.words, figures.yield_unit());
        let axes = Axes::new(
            SIZE,
            Axis {
                from: 0.0,
                to: figures.shown_length(last.to_m),
                ticks_from: 0.0,
                ticks: 7.0,
                label: say!(
                    words,
                    "along-axis",
                    end = words.compass(from_end),
                    unit = figures.length_unit()
                ),
            },
            Axis {
                from: low - margin,
                to: high + margin,
                ticks_from: low - margin,
                ticks: 6.0,
                label: format!(
                    "{}, {unit}",
                    figures.difference_name(&along.treatment, &along.check)
                ),
            },
            words.marks(),
        );
        let x = |metres: f64| axes.x(figures.shown_length(metres));
        let y = |kg_ha: f64| axes.y(figures.shown_yield(kg_ha));
        let middle = |window: &AlongWindow| x((window.from_m + window.to_m) / 2.0);
        let course: Vec<&[&AlongWindow]> = windows
            .chunk_by(|a, b| b.from_m - a.from_m < 1.5 * step_m)
            .collect();
        let band = |interval: Interval| -> Vec<String> {
            let with_one = course.iter().flat_map(|run| {
                run.chunk_by(|a, b| interval(a).is_some() == interval(b).is_some())
            });
            with_one
                .filter(|run| run.len() > 1 && interval(run[0]).is_some())
                .map(|run| {
                    let upper = run.iter().map(|window| (window, 1));
                    let lower = run.iter().rev().map(|window| (window, 0));
                    let corners = upper.chain(lower).filter_map(|(window, end)| {
                        Some(format!("{},{}", middle(window), y(interval(window)?[end])))
                    });
                    corners.collect::<Vec<_>>().join(" ")
                })
                .collect()
        };
        Some(AlongPlot {
            by_itself: band(BY_ITSELF),
            at_once: band(AT_ONCE),
            lines: course
                .iter()
                .map(|run| {
                    let points = run
                        .iter()
                        .map(|window| format!("{},{}", middle(window), y(window.advantage_kg_ha)));
                    points.collect::<Vec<_>>().join(" ")
                })
                .collect(),
            dots: windows
                .iter()
                .map(|window| Dot {
                    x: middle(window),
                    y: y(window.advantage_kg_ha),
                    says: say!(
                        words,
                        "along-dot",
                        stretch = from_to(window.from_m, window.to_m, figures),
                        size = figures.yields(window.advantage_kg_ha),
                        unit = unit,
                        blocks = figures.counted("count-blocks", window.blocks)
                    ),
                })
                .collect(),
            zero: y(0.0),
            break_even: even.zip(break_even_bu_ac).map(|(kg_ha, bushels)| Tick {
                at: y(kg_ha),
                label: say!(words, "plot-break-even", gain = figures.break_even(bushels)),
            }),
            axes,
        })
    }
}

/// Median half width of an interval; infinite without one.
fn usual_half_width(windows: &[&AlongWindow], interval: Interval) -> f64 {
    let known = windows.iter().filter_map(|window| interval(window));
    let mut widths: Vec<f64> = known.map(|[low, high]| (high - low) / 2.0).collect();
    widths.sort_unstable_by(f64::total_cmp);
    widths
        .get(widths.len() / 2)
        .copied()
        .unwrap_or(f64::INFINITY)
}

fn shortened([low, high]: [f64; 2], most: f64) -> [f64; 2] {
    let (middle, half) = ((low + high) / 2.0, ((high - low) / 2.0).min(most));
    [middle - half, middle + half]
}
