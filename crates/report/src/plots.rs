//! The report's two kinds of plot: the difference block by block with its mean and interval, and the
//! strips' yields block by block.

use crate::answer::{contrast_left, headline_comparisons, payoff_of};
use crate::figures::Figures;
use crate::row_plot::{Across, KeyEntry, Mark, RowPlot, Shape};
use checkstrip_model::results::{Comparison, Results};
use checkstrip_words::{Marks, Words, say};
use serde::Serialize;

/// A plot with the words around it.
#[derive(Debug, Serialize)]
pub(crate) struct Plot {
    pub(crate) title: String,
    pub(crate) caption: String,
    pub(crate) key: Vec<KeyEntry>,
    pub(crate) plot: RowPlot,
}

/// Shapes for the check and the treatments after it.
const SHAPES: [(Shape, &str); 5] = [
    (Shape::Ring, "ring"),
    (Shape::Dot, "dot"),
    (Shape::Square, "square"),
    (Shape::Triangle, "triangle"),
    (Shape::Diamond, "diamond"),
];

/// All plots in the order the report shows them.
pub(crate) fn plots(results: &Results, figures: Figures) -> Vec<Plot> {
    let mut found: Vec<Plot> = headline_comparisons(results)
        .into_iter()
        .filter_map(|comparison| differences(comparison, results, figures))
        .collect();
    found.extend(strip_yields(results, figures));
    found
}

fn differences(comparison: &Comparison, results: &Results, figures: Figures) -> Option<Plot> {
    // The headline may be a method without blocks; the differences are then another method's.
    let by_block = results
        .comparisons
        .iter()
        .filter(|other| other.treatment == comparison.treatment)
        .find(|other| !other.block_differences.is_empty())
        .map_or(&[][..], |other| &other.block_differences);
    let (words, unit) = (figures.words, figures.yield_unit());
    let (rows, marks, mut key) = block_plot(
        &BlockDifferences {
            by_block: by_block
                .iter()
                .map(|block| (block.block.as_str(), block.difference_kg_ha))
                .collect(),
            overall: comparison.advantage_kg_ha,
            interval: comparison.interval_95_kg_ha,
            blocks: comparison.blocks,
            shown: &|kg_ha| figures.shown_yield(kg_ha),
            written: &|kg_ha| format!("{} {unit}", figures.yields(kg_ha)),
        },
        words,
    );
    let mut across = vec![ZERO];
    break_even_line(
        results,
        &comparison.treatment,
        figures,
        &mut across,
        &mut key,
    );
    let name = figures.difference_name(&comparison.treatment, &comparison.check);
    let axis = format!("{name}, {unit}");
    let mut caption = say!(
        words,
        "plot-differences-caption",
        treatment = &comparison.treatment
    );
    if comparison.method == "swath_mixture"
        && contrast_left(results, &comparison.treatment).is_some()
    {
        caption.push(' ');
        caption.push_str(&say!(words, "plot-differences-mixture"));
    }
    Some(Plot {
        title: say!(words, "plot-differences", comparison = name),
        caption,
        key,
        plot: RowPlot::new(&rows, &marks, &across, axis, words.marks())?,
    })
}

/// The line of no difference.
const ZERO: Across = Across {
    value: 0.0,
    dashed: false,
};

/// Differences of one treatment from the check, in any unit.
pub(crate) struct BlockDifferences<'a> {
    /// Each block's name and difference.
    pub(crate) by_block: Vec<(&'a str, f64)>,
    pub(crate) overall: f64,
    pub(crate) interval: [f64; 2],
    /// Blocks that the overall difference rests on.
    pub(crate) blocks: usize,
    /// A difference in the unit of the scale.
    pub(crate) shown: &'a dyn Fn(f64) -> f64,
    /// A difference with its unit.
    pub(crate) written: &'a dyn Fn(f64) -> String,
}

/// Rows, marks and key of a plot of differences block by block, the overall one last.
pub(crate) fn block_plot(
    found: &BlockDifferences,
    words: &Words,
) -> (Vec<(String, bool)>, Vec<Mark>, Vec<KeyEntry>) {
    let mut rows: Vec<(String, bool)> = Vec::new();
    let mut marks: Vec<Mark> = Vec::new();
    for (row, &(block, difference)) in found.by_block.iter().enumerate() {
        let name = say!(words, "plot-block", block = block);
        marks.push(Mark {
            row,
            value: (found.shown)(difference),
            interval: None,
            shape: Shape::Dot,
            tone: 1,
            says: format!("{name}: {}", (found.written)(difference)),
        });
        rows.push((name, false));
    }
    let ends = found.interval;
    let interval = ends
        .iter()
        .all(|end| end.is_finite())
        .then(|| ends.map(|end| (found.shown)(end)))
        .filter(|_| found.blocks != 1);
    let overall = say!(words, "plot-overall");
    rows.push((overall.clone(), true));
    marks.push(Mark {
        row: rows.len() - 1,
        value: (found.shown)(found.overall),
        interval,
        shape: Shape::Diamond,
        tone: 5,
        says: format!("{overall}: {}", (found.written)(found.overall)),
    });
    let overall = match interval {
        Some(_) => say!(words, "plot-overall-interval"),
        None => overall,
    };
    let entries = [
        ("dot", 1, say!(words, "plot-one-block")),
        ("diamond", 5, overall),
        ("line", 5, say!(words, "plot-no-difference")),
    ];
    let key = entries.map(|(shape, tone, label)| KeyEntry { shape, tone, label });
    (rows, marks, key.to_vec())
}

impl Plot {
    /// A plot of rows and marks on the line of no difference.
    pub(crate) fn on_zero(
        title: String,
        caption: String,
        key: Vec<KeyEntry>,
        (rows, marks): (&[(String, bool)], &[Mark]),
        axis: String,
        figure_marks: &Marks,
    ) -> Option<Plot> {
        Some(Plot {
            title,
            caption,
            key,
            plot: RowPlot::new(rows, marks, &[ZERO], axis, figure_marks)?,
        })
    }
}

/// The line at the gain that just pays for `treatment`, and what it means, when that is known.
pub(crate) fn break_even_line(
    results: &Results,
    treatment: &str,
    figures: Figures,
    across: &mut Vec<Across>,
    key: &mut Vec<KeyEntry>,
) {
    if let Some(payoff) = payoff_of(results, treatment) {
        let even = figures.shown_yield(figures.kg_per_ha(payoff.break_even_bu_ac));
        across.push(Across {
            value: even,
            dashed: true,
        });
        let label = say!(
            figures.words,
            "plot-break-even",
            gain = figures.break_even(payoff.break_even_bu_ac)
        );
        key.push(KeyEntry {
            shape: "dashes",
            tone: 5,
            label,
        });
    }
}

fn strip_yields(results: &Results, figures: Figures) -> Option<Plot> {
    let check = &results.strip_source.check;
    let mut treatments: Vec<&str> = Vec::new();
    let mut blocks: Vec<&str> = Vec::new();
    for strip in &results.strips {
        if !treatments.contains(&strip.treatment.as_str()) {
            treatments.push(&strip.treatment);
        }
        if !blocks.contains(&strip.block.as_str()) {
            blocks.push(&strip.block);
        }
    }
    treatments.sort_by_key(|name| *name != check);
    // Without a check the first treatment takes the first filled shape.
    let offset = usize::from(treatments.first().is_some_and(|first| *first != check));
    let place_of = |name: &str| {
        treatments
            .iter()
            .position(|other| *other == name)
            .unwrap_or(0)
            + offset
    };
    let (words, unit) = (figures.words, figures.yield_unit());
    let rows: Vec<(String, bool)> = blocks
        .iter()
        .map(|block| (say!(words, "plot-block", block = *block), false))
        .collect();
    let marks: Vec<Mark> = results
        .strips
        .iter()
        .filter_map(|strip| {
            let kg_ha = strip.yield_kg_ha?;
            let place = place_of(&strip.treatment);
            Some(Mark {
                row: blocks.iter().position(|block| *block == strip.block)?,
                value: figures.shown_yield(kg_ha),
                interval: None,
                shape: SHAPES[place % SHAPES.len()].0,
                tone: place % 6,
                says: say!(
                    words,
                    "plot-strip",
                    strip = &strip.strip_id,
                    treatment = &strip.treatment,
                    yield = figures.yields(kg_ha),
                    unit = unit
                ),
            })
        })
        .collect();
    let key = treatments
        .iter()
        .map(|name| KeyEntry {
            shape: SHAPES[place_of(name) % SHAPES.len()].1,
            tone: place_of(name) % 6,
            label: (*name).to_owned(),
        })
        .collect();
    Some(Plot {
        title: say!(words, "plot-yields"),
        caption: say!(words, "plot-yields-caption"),
        key,
        plot: RowPlot::new(
            &rows,
            &marks,
            &[],
            say!(words, "plot-yields-axis", unit = unit),
            words.marks(),
        )?,
    })
}
