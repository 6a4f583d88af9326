//! The section on plants counted: what the treatments' stands are, whether they differ, the counts strip by strip; and
//! the sentence that the answer takes from it.

use crate::answer::{certainty, named};
use crate::figures::{Figures, UNKNOWN};
use crate::plots::{BlockDifferences, Plot, block_plot};
use crate::tables::{Table, figures_under, method_words, words_under};
use checkstrip_model::results::{Results, Stand, StandComparison, WhyLeftOut};
use checkstrip_words::say;
use serde::Serialize;

/// The section, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct StandSection {
    intro: String,
    plots: Vec<Plot>,
    strips: Table,
    comparisons: Option<Table>,
}

/// The section; `None` when no counts were given.
pub(crate) fn stand_section(results: &Results, figures: Figures) -> Option<StandSection> {
    let stand = results.stand.as_ref()?;
    let comparisons = comparisons(stand, figures);
    Some(StandSection {
        intro: intro(stand, figures),
        plots: headlines(stand)
            .into_iter()
            .filter_map(|comparison| plot(comparison, figures))
            .collect(),
        strips: strips(stand, figures),
        comparisons: (!comparisons.is_empty()).then_some(comparisons),
    })
}

/// Each treatment's stand against the check's, in words.
pub(crate) fn stand_answer(results: &Results, figures: Figures) -> Vec<String> {
    let headlines = results.stand.as_ref().map(headlines).unwrap_or_default();
    headlines
        .into_iter()
        .filter_map(|comparison| words(comparison, figures))
        .collect()
}

/// Each treatment's first comparison.
fn headlines(stand: &Stand) -> Vec<&StandComparison> {
    let mut found: Vec<&StandComparison> = Vec::new();
    for comparison in &stand.comparisons {
        if found.iter().all(|c| c.treatment != comparison.treatment) {
            found.push(comparison);
        }
    }
    found
}

fn intro(stand: &Stand, figures: Figures) -> String {
    let words = figures.words;
    let mut said = vec![figures.counted("stand-intro", stand.used)];
    let left_out: Vec<String> = WhyLeftOut::ALL
        .into_iter()
        .filter_map(|why| {
            let of_it = stand
                .left_out
                .iter()
                .filter(|count| count.why == why)
                .count();
            (of_it > 0).then(|| say!(words, why.text(), shown = figures.count(of_it)))
        })
        .collect();
    if !left_out.is_empty() {
        said.push(say!(words, "stand-left-out", reasons = left_out.join(", ")));
    }
    said.push(say!(words, "stand-what-counts"));
    said.join(" ")
}

fn words(comparison: &StandComparison, figures: Figures) -> Option<String> {
    let difference = comparison.difference_plants_ha;
    if !difference.is_finite() {
        return None;
    }
    let words = figures.words;
    let size = figures.stands(difference.abs());
    let outcome = match difference {
        _ if size == figures.stands(0.0) => "same",
        more if more > 0.0 => "more",
        _ => "fewer",
    };
    let [low, high] = comparison.interval_95_plants_ha;
    let mut basis = Vec::new();
    if low.is_finite() && high.is_finite() && comparison.blocks != 1 {
        basis.push(say!(
            words,
            "answer-interval",
            low = figures.stands(low),
            high = figures.stands(high)
        ));
    }
    basis.push(figures.counted("count-blocks", comparison.blocks));
    let said = say!(
        words,
        "stand-answer",
        outcome = outcome,
        treatment = named(&comparison.treatment, figures),
        check = &comparison.check,
        size = size,
        unit = figures.stand_unit(),
        basis = basis.join(", ")
    );
    let sure = certainty(difference, [low, high], comparison.blocks, figures);
    let sentences: Vec<String> = [Some(said), sure].into_iter().flatten().collect();
    Some(sentences.join(" "))
}

fn plot(comparison: &StandComparison, figures: Figures) -> Option<Plot> {
    let words = figures.words;
    let name = figures.difference_name(&comparison.treatment, &comparison.check);
    let blocks = comparison.block_differences.iter();
    let (rows, marks, key) = block_plot(
        &BlockDifferences {
            by_block: blocks
                .map(|block| (block.block.as_str(), block.difference_plants_ha))
                .collect(),
            overall: comparison.difference_plants_ha,
            interval: comparison.interval_95_plants_ha,
            blocks: comparison.blocks,
            shown: &|plants_ha| figures.shown_stand(plants_ha),
            written: &|plants_ha| format!("{} {}", figures.stands(plants_ha), figures.stand_unit()),
        },
        words,
    );
    Plot::on_zero(
        say!(words, "stand-plot", comparison = &name),
        say!(
            words,
            "stand-plot-caption",
            treatment = &comparison.treatment
        ),
        key,
        (&rows, &marks),
        format!("{name}, {}", figures.stand_unit()),
        words.marks(),
    )
}

fn strips(stand: &Stand, figures: Figures) -> Table {
    let (words, unit) = (figures.words, figures.stand_unit());
    let emergence = stand
        .strips
        .iter()
        .any(|strip| strip.emergence_pct.is_some());
    let mut headings = vec![
        words_under(say!(words, "column-strip")),
        words_under(say!(words, "column-treatment")),
        words_under(say!(words, "column-block")),
        figures_under(say!(words, "stand-column-counts")),
        figures_under(say!(words, "stand-column-stand", unit = &unit)),
        figures_under(say!(words, "stand-column-sd", unit = &unit)),
    ];
    if emergence {
        headings.push(figures_under(say!(words, "stand-column-emergence")));
    }
    let shown = |plants: Option<f64>| {
        plants.map_or(UNKNOWN.to_owned(), |plants_ha| figures.stands(plants_ha))
    };
    let rows = stand.strips.iter().map(|strip| {
        let mut cells = vec![
            strip.strip_id.clone(),
            strip.treatment.clone(),
            strip.block.clone(),
            figures.count(strip.counts),
            shown(strip.plants_ha),
            shown(strip.sd_plants_ha),
        ];
        if emergence {
            let pct = strip.emergence_pct;
            cells.push(pct.map_or(UNKNOWN.to_owned(), |pct| figures.percentage(pct, 0)));
        }
        cells
    });
    Table::new(say!(words, "stand-table"), headings, rows.collect())
}

fn comparisons(stand: &Stand, figures: Figures) -> Table {
    let (words, unit) = (figures.words, figures.stand_unit());
    let family = stand.comparisons.iter().any(|c| c.p_value_family.is_some());
    let mut headings = vec![
        words_under(say!(words, "column-comparison")),
        words_under(say!(words, "column-method")),
        figures_under(say!(words, "column-difference", unit = unit)),
        figures_under(say!(words, "column-interval")),
        figures_under(say!(words, "column-p")),
        figures_under(say!(words, "column-blocks")),
    ];
    if family {
        headings.push(figures_under(say!(words, "column-p-family")));
    }
    let rows = stand.comparisons.iter().map(|comparison| {
        let mut cells = vec![
            figures.difference_name(&comparison.treatment, &comparison.check),
            method_words(&comparison.method, figures),
            figures.stands(comparison.difference_plants_ha),
            figures.interval(comparison.interval_95_plants_ha, |plants_ha| {
                figures.stands(plants_ha)
            }),
            figures.p_value(comparison.p_value),
            figures.count(comparison.blocks),
        ];
        if family {
            cells.push(
                comparison
                    .p_value_family
                    .map_or(UNKNOWN.to_owned(), |p| figures.p_value(p)),
            );
        }
        cells
    });
    Table::new(
        say!(words, "stand-table-comparisons"),
        headings,
        rows.collect(),
    )
}

#[cfg(test)]
mod tests {
    use crate::invented::results;
    use crate::{answer_in_words, render};
    use checkstrip_model::results::{LeftOutCount, Stand, StandComparison, StripStand, WhyLeftOut};
    use checkstrip_model::units::{HA_PER_ACRE, UnitSystem};
    use insta::assert_snapshot;

    fn stand() -> Stand {
        let mut found = crate::invented::comparison("paired_strips", 0.0, 0.0, 6);
        found.advantage_kg_ha = -3_400.0;
        found.interval_95_kg_ha = [-5_900.0, -900.0];
        found
            .block_differences
            .iter_mut()
            .enumerate()
            .for_each(|(at, block)| {
                block.difference_kg_ha =
                    -3_400.0 + [900.0, -1_600.0, 400.0, 1_500.0, -700.0, -500.0][at]
            });
        let strip = |strip_id: &str, treatment: &str, plants_ha: Option<f64>| StripStand {
            strip_id: strip_id.to_owned(),
            treatment: treatment.to_owned(),
            block: "1".to_owned(),
            counts: usize::from(plants_ha.is_some()) * 4,
            plants_ha,
            plants_ac: plants_ha.map(|plants| plants * HA_PER_ACRE),
            sd_plants_ha: plants_ha.map(|_| 6_200.0),
            emergence_pct: plants_ha.map(|plants| plants / 3_460.0),
        };
        Stand {
            files: Vec::new(),
            columns: Vec::new(),
            row_length_m: Some(5.3086),
            row_spacing_m: Some(0.762),
            counts: 51,
            used: 48,
            left_out: [WhyLeftOut::Outside, WhyLeftOut::Outside, WhyLeftOut::Edge]
                .map(|why| LeftOutCount {
                    file: "stand.csv".to_owned(),
                    row: 2,
                    why,
                })
                .to_vec(),
            strips: vec![
                strip("1", "rolled", Some(304_000.0)),
                strip("2", "check", Some(308_000.0)),
                strip("3", "check", None),
            ],
            comparisons: vec![StandComparison::from(found)],
            overall_test: None,
        }
    }

    #[test]
    fn plants_counted() {
        let mut results = results();
        results.stand = Some(stand());
        let page = render(&results, &[], UnitSystem::Farm.into()).unwrap();
        let from = page.find("<section aria-labelledby=\"stand\">").unwrap();
        let to = from + page[from..].find("</section>").unwrap();
        assert_snapshot!(&page[from..to]);
        let said = answer_in_words(&results, UnitSystem::Si.into());
        assert_snapshot!(said.last().unwrap());
    }
}
