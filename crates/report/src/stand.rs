//! The section on plants counted: what the treatments' stands are, whether they differ, the counts strip by strip; and
//! the sentence that the answer takes from it.

use crate::answer::{capitalised, certainty};
use crate::figures::{Figures, UNKNOWN, count, counted, number, p_value};
use crate::plots::{BlockDifferences, Plot, block_plot};
use crate::tables::{Table, method_words};
use checkstrip_model::results::{Results, Stand, StandComparison, WhyLeftOut};
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
        intro: intro(stand),
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

fn intro(stand: &Stand) -> String {
    let mut said = format!(
        "{} stood for a strip; each strip’s stand is the mean of its counts.",
        counted(stand.used, "count", "counts")
    );
    let left_out: Vec<String> = WhyLeftOut::ALL
        .into_iter()
        .filter_map(|why| {
            let of_it = stand
                .left_out
                .iter()
                .filter(|count| count.why == why)
                .count();
            (of_it > 0).then(|| format!("{} {}", count(of_it), why.words()))
        })
        .collect();
    if !left_out.is_empty() {
        said.push_str(&format!(
            " Left out: {}. results.json names the rows.",
            left_out.join(", ")
        ));
    }
    said.push_str(
        " The strip is what was laid out: more counts in it make its mean surer, but they are no further strips. Where \
         plants were counted belongs to chance, not to the eye.",
    );
    said
}

fn words(comparison: &StandComparison, figures: Figures) -> Option<String> {
    let difference = comparison.difference_plants_ha;
    if !difference.is_finite() {
        return None;
    }
    let size = figures.stands(difference.abs());
    let much = match difference {
        _ if size == figures.stands(0.0) => "as many plants as".to_owned(),
        more if more > 0.0 => format!("{size} {} more than", figures.stand_unit()),
        _ => format!("{size} {} fewer than", figures.stand_unit()),
    };
    let [low, high] = comparison.interval_95_plants_ha;
    let mut basis = Vec::new();
    if low.is_finite() && high.is_finite() && comparison.blocks != 1 {
        basis.push(format!(
            "95 % interval {} to {}",
            figures.stands(low),
            figures.stands(high)
        ));
    }
    basis.push(counted(comparison.blocks, "block", "blocks"));
    let mut said = format!(
        "Stand: {} strips had {much} the {} strips beside them ({}).",
        capitalised(&comparison.treatment),
        comparison.check,
        basis.join(", ")
    );
    if let Some(sure) = certainty(difference, [low, high], comparison.blocks) {
        said.push(' ');
        said.push_str(&sure);
    }
    Some(said)
}

fn plot(comparison: &StandComparison, figures: Figures) -> Option<Plot> {
    let name = format!("{} less {}", comparison.treatment, comparison.check);
    let blocks = comparison.block_differences.iter();
    let (rows, marks, key) = block_plot(&BlockDifferences {
        by_block: blocks
            .map(|block| (block.block.as_str(), block.difference_plants_ha))
            .collect(),
        overall: comparison.difference_plants_ha,
        interval: comparison.interval_95_plants_ha,
        blocks: comparison.blocks,
        shown: &|plants_ha| figures.shown_stand(plants_ha),
        words: &|plants_ha| format!("{} {}", figures.stands(plants_ha), figures.stand_unit()),
    });
    Plot::on_zero(
        format!("Difference of the stand in each block: {name}"),
        format!(
            "Right of the solid line {} had more plants.",
            comparison.treatment
        ),
        key,
        (&rows, &marks),
        format!("{name}, {}", figures.stand_unit()),
    )
}

fn strips(stand: &Stand, figures: Figures) -> Table {
    let unit = figures.stand_unit();
    let emergence = stand
        .strips
        .iter()
        .any(|strip| strip.emergence_pct.is_some());
    let (plants, spread) = (format!("#Stand, {unit}"), format!("#SD of counts, {unit}"));
    let mut headings = vec!["Strip", "Treatment", "Block", "#Counts", &plants, &spread];
    if emergence {
        headings.push("#Emergence");
    }
    let shown = |plants: Option<f64>| {
        plants.map_or(UNKNOWN.to_owned(), |plants_ha| figures.stands(plants_ha))
    };
    let rows = stand.strips.iter().map(|strip| {
        let mut cells = vec![
            strip.strip_id.clone(),
            strip.treatment.clone(),
            strip.block.clone(),
            count(strip.counts),
            shown(strip.plants_ha),
            shown(strip.sd_plants_ha),
        ];
        if emergence {
            let pct = strip.emergence_pct;
            cells.push(pct.map_or(UNKNOWN.to_owned(), |pct| format!("{} %", number(pct, 0))));
        }
        cells
    });
    Table::new("Plants counted, strip by strip", &headings, rows.collect())
}

fn comparisons(stand: &Stand, figures: Figures) -> Table {
    let unit = figures.stand_unit();
    let family = stand.comparisons.iter().any(|c| c.p_value_family.is_some());
    let difference = format!("#Difference, {unit}");
    let mut headings = vec![
        "Comparison",
        "Method",
        &difference,
        "#95 % interval",
        "#p",
        "#Blocks",
    ];
    if family {
        headings.push("#p, all at once");
    }
    let rows = stand.comparisons.iter().map(|comparison| {
        let (name, does) = method_words(&comparison.method);
        let [low, high] = comparison.interval_95_plants_ha;
        let mut cells = vec![
            format!("{} less {}", comparison.treatment, comparison.check),
            format!("{name}: {does}"),
            figures.stands(comparison.difference_plants_ha),
            match low.is_finite() && high.is_finite() {
                true => format!("{} to {}", figures.stands(low), figures.stands(high)),
                false => UNKNOWN.to_owned(),
            },
            p_value(comparison.p_value),
            count(comparison.blocks),
        ];
        if family {
            cells.push(
                comparison
                    .p_value_family
                    .map_or(UNKNOWN.to_owned(), p_value),
            );
        }
        cells
    });
    Table::new(
        "Stands compared, the headline first",
        &headings,
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
        let page = render(&results, &[], UnitSystem::Farm).unwrap();
        let from = page.find("<section aria-labelledby=\"stand\">").unwrap();
        let to = from + page[from..].find("</section>").unwrap();
        assert_snapshot!(&page[from..to]);
        let said = answer_in_words(&results, UnitSystem::Si);
        assert_snapshot!(said.last().unwrap());
    }
}
