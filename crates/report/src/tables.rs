//! The report's tables: headings and cells as text, figures marked so that they line up.

use crate::figures::{Figures, UNKNOWN, count, counted, number, odds, p_value, percent};
use checkstrip_model::{
    Status,
    results::{Cleaning, Comparison, Results},
};
use serde::Serialize;
use serde_json::Value;

/// A column's heading.
#[derive(Debug, Serialize)]
pub(crate) struct Heading {
    text: String,
    /// Whether its cells are figures.
    figure: bool,
}

/// A table; the first cell of each row names the row.
#[derive(Debug, Serialize)]
pub(crate) struct Table {
    caption: String,
    headings: Vec<Heading>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table whose headings begin with `#` where the column holds figures.
    pub(crate) fn new(caption: &str, headings: &[&str], rows: Vec<Vec<String>>) -> Table {
        let headings = headings
            .iter()
            .map(|heading| match heading.strip_prefix('#') {
                Some(text) => Heading {
                    text: text.to_owned(),
                    figure: true,
                },
                None => Heading {
                    text: (*heading).to_owned(),
                    figure: false,
                },
            })
            .collect();
        Table {
            caption: caption.to_owned(),
            headings,
            rows,
        }
    }

    /// Whether there is nothing in it.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

/// A method's name and what it does, in a grower's words.
pub(crate) fn method_words(method: &str) -> (&str, &'static str) {
    match method {
        "paired_strips" => ("paired strips", "difference within each block, Student's t"),
        "randomized_blocks" => (
            "randomised blocks",
            "all treatments together, blocks allowed for",
        ),
        "permutation" => (
            "permutation",
            "labels swapped within blocks every possible way",
        ),
        "spatial_reml" => (
            "spatial model",
            "pieces of strips, the soil’s pattern allowed for",
        ),
        "swath_mixture" => (
            "swath mixture",
            "pieces of passes by their share of treated ground",
        ),
        other => (other, ""),
    }
}

/// Strip by strip.
pub(crate) fn strips(results: &Results, figures: Figures) -> Table {
    let rows = results
        .strips
        .iter()
        .map(|strip| {
            vec![
                strip.strip_id.clone(),
                strip.treatment.clone(),
                strip.block.clone(),
                strip
                    .yield_kg_ha
                    .map_or(UNKNOWN.to_owned(), |kg_ha| figures.yields(kg_ha)),
                strip
                    .moisture_pct
                    .map_or(UNKNOWN.to_owned(), |pct| number(pct, 1)),
                figures.grain(strip.dry_mass_kg),
                figures.area(strip.area_m2),
                percent(strip.covered_fraction),
                percent(strip.mixed_fraction),
                count(strip.records),
            ]
        })
        .collect();
    Table::new(
        "Every strip, inside its kept-clear edge",
        &[
            "Strip",
            "Treatment",
            "Block",
            &format!("#Yield, {}", figures.yield_unit()),
            "#Moisture, %",
            &format!("#Grain, {}", figures.grain_unit()),
            &format!("#Ground, {}", figures.area_unit()),
            "#Covered",
            "#Mixed",
            "#Records",
        ],
        rows,
    )
}

/// Every treatment by every method.
pub(crate) fn comparisons(results: &Results, figures: Figures) -> Table {
    let interval = |[low, high]: [f64; 2]| {
        if low.is_finite() && high.is_finite() {
            format!("{} to {}", figures.yields(low), figures.yields(high))
        } else {
            UNKNOWN.to_owned()
        }
    };
    let family = has_family(results);
    let row = |comparison: &Comparison| {
        let (name, does) = method_words(&comparison.method);
        let mut cells = vec![
            format!("{} less {}", comparison.treatment, comparison.check),
            if does.is_empty() {
                name.to_owned()
            } else {
                format!("{name}: {does}")
            },
            figures.yields(comparison.advantage_kg_ha),
            interval(comparison.interval_95_kg_ha),
            p_value(comparison.p_value),
            count(comparison.blocks),
            number(comparison.df, 1),
            percent(comparison.dilution),
        ];
        if family {
            let at_once = comparison.interval_95_family_kg_ha.map(interval);
            let p = comparison.p_value_family.map(p_value);
            cells.extend([at_once, p].map(|text| text.unwrap_or_else(|| UNKNOWN.to_owned())));
        }
        cells
    };
    let difference = format!("#Difference, {}", figures.yield_unit());
    let mut headings = vec![
        "Comparison",
        "Method",
        &difference,
        "#95 % interval",
        "#p",
        "#Blocks",
        "#Degrees of freedom",
        "#Contrast carried",
    ];
    if family {
        headings.extend(["#95 % interval, all at once", "#p, all at once"]);
    }
    Table::new(
        "Every method that could be run, the headline first",
        &headings,
        results.comparisons.iter().map(row).collect(),
    )
}

/// Whether some comparison allows for all treatments at once.
pub(crate) fn has_family(results: &Results) -> bool {
    let mut comparisons = results.comparisons.iter();
    comparisons.any(|comparison| comparison.interval_95_family_kg_ha.is_some())
}

/// What became of the records.
pub(crate) fn cleaning(results: &Results) -> Table {
    let total = results.input.records;
    let share = |records: usize| {
        if total == 0 {
            UNKNOWN.to_owned()
        } else {
            percent(records as f64 / total as f64)
        }
    };
    let row = |name: String, records: usize| vec![name, count(records), share(records)];
    let mut rows = vec![row("kept".to_owned(), results.cleaning.kept)];
    for reason in Status::REASONS {
        let records = results
            .cleaning
            .removed
            .get(reason.key())
            .copied()
            .unwrap_or(0);
        rows.push(row(reason.words().to_owned(), records));
    }
    rows.push(row("all records".to_owned(), total));
    Table::new(
        "What became of the records",
        &["Records", "#Count", "#Share"],
        rows,
    )
}

/// The grain delay and the ground, in sentences.
pub(crate) fn cleaning_facts(cleaning: &Cleaning, figures: Figures) -> Vec<String> {
    let seconds = |value: f64| number(value, 1);
    let source = match cleaning.grain_delay_source.as_str() {
        "estimated" => "estimated from the log",
        "given" => "as given",
        "kept" => "kept as the log had it",
        other => other,
    };
    let mut delay = format!(
        "Grain delay {} s, {source}",
        seconds(cleaning.grain_delay_s)
    );
    if cleaning.grain_delay_low_s.is_finite()
        && cleaning.grain_delay_high_s.is_finite()
        && cleaning.grain_delay_low_s < cleaning.grain_delay_high_s
    {
        delay.push_str(&format!(
            " (95 % interval {} to {} s)",
            seconds(cleaning.grain_delay_low_s),
            seconds(cleaning.grain_delay_high_s)
        ));
    }
    delay.push('.');
    if let Some(smear) = cleaning.grain_smear_s {
        delay.push_str(&format!(
            " The grain stream is smeared over about {} s.",
            seconds(smear)
        ));
    }
    if !cleaning.grain_delay_note.is_empty() {
        delay.push(' ');
        delay.push_str(&cleaning.grain_delay_note);
    }
    let area = |hectares: f64| figures.area(hectares * 10_000.0);
    let unit = figures.area_unit();
    let ground = format!(
        "{} by {}. All footprints together cover {} {unit}; {} {unit} of that had been harvested before \
         by another pass and were taken off.",
        counted(cleaning.passes, "pass", "passes"),
        counted(cleaning.machines, "machine", "machines"),
        area(cleaning.footprint_area_ha),
        area(cleaning.overlap_other_passes_ha),
    );
    vec![delay, ground]
}

/// What each treatment cost and brought.
pub(crate) fn money(results: &Results, figures: Figures) -> Table {
    let rows = results
        .payoff
        .iter()
        .map(|payoff| {
            let [low, high] = payoff.net_interval_95_per_ac;
            let parts: Vec<String> = payoff
                .cost_parts
                .iter()
                .map(|part| format!("{} {}", part.name, figures.money_per_area(part.per_ac)))
                .collect();
            vec![
                payoff.treatment.clone(),
                if parts.is_empty() {
                    UNKNOWN.to_owned()
                } else {
                    parts.join(", ")
                },
                figures.money_per_area(payoff.cost_per_ac),
                figures.price(payoff.price_per_bu),
                figures.break_even(payoff.break_even_bu_ac),
                figures.money_per_area(payoff.net_per_ac),
                if low.is_finite() && high.is_finite() {
                    format!(
                        "{} to {}",
                        figures.money_per_area(low),
                        figures.money_per_area(high)
                    )
                } else {
                    UNKNOWN.to_owned()
                },
                odds(payoff.odds_it_pays).unwrap_or_else(|| UNKNOWN.to_owned()),
            ]
        })
        .collect();
    let per = figures.area_unit();
    Table::new(
        &format!("Money per {}", figures.area_word()),
        &[
            "Treatment",
            "Cost made of",
            &format!("#Cost per {per}"),
            "#Price",
            "#Break-even gain",
            &format!("#Net per {per}"),
            "#95 % interval",
            "#Odds that it paid",
        ],
        rows,
    )
}

/// The files that went in.
pub(crate) fn files(results: &Results) -> Table {
    let mut rows: Vec<Vec<String>> = results
        .input
        .files
        .iter()
        .map(|file| vec![file.path.clone(), count(file.records), file.sha256.clone()])
        .collect();
    let strips = &results.strip_source;
    if !strips.path.is_empty() {
        rows.push(vec![
            strips.path.clone(),
            counted(results.strips.len(), "strip", "strips"),
            strips.sha256.clone(),
        ]);
    }
    if let Some(zones) = &results.zones {
        if let Some(drawn) = &zones.polygons {
            let held = format!("zones, {}", drawn.name_column);
            rows.push(vec![drawn.path.clone(), held, drawn.sha256.clone()]);
        }
        for file in zones.harvests.iter().flat_map(|harvest| &harvest.files) {
            let held = format!("{} (past)", count(file.records));
            rows.push(vec![file.path.clone(), held, file.sha256.clone()]);
        }
    }
    for file in results.stand.iter().flat_map(|stand| &stand.files) {
        let held = counted(file.records, "stand count", "stand counts");
        rows.push(vec![file.path.clone(), held, file.sha256.clone()]);
    }
    Table::new("Files", &["File", "#Records", "SHA-256"], rows)
}

/// The columns of the log, read and derived.
pub(crate) fn columns(results: &Results) -> Table {
    let read = results.input.columns.iter().map(|column| {
        vec![
            column.name.clone(),
            column.header.clone(),
            column.unit.clone(),
        ]
    });
    let derived = results
        .input
        .derived
        .iter()
        .map(|(name, how)| vec![name.clone(), format!("derived: {how}"), String::new()]);
    Table::new(
        "Columns",
        &["Column", "From", "Unit read"],
        read.chain(derived).collect(),
    )
}

/// Every setting the job used.
pub(crate) fn settings(results: &Results, figures: Figures) -> Table {
    let strips = &results.strip_source;
    let named = |text: &str| {
        if text.is_empty() {
            UNKNOWN.to_owned()
        } else {
            text.to_owned()
        }
    };
    let blocks = match strips.blocks_from.as_str() {
        "file" => "as the strips file says".to_owned(),
        "adjacency" => "found from which strips lie side by side".to_owned(),
        other => named(other),
    };
    let mut rows = vec![
        vec!["check".to_owned(), named(&strips.check)],
        vec![
            "kept clear inside each strip's edge".to_owned(),
            figures.length(strips.inset_m),
        ],
        vec!["blocks".to_owned(), blocks],
        vec!["strips' coordinates".to_owned(), named(&strips.crs)],
    ];
    if let Some(zones) = &results.zones {
        let by = match zones.by.as_str() {
            "elevation" => format!("{} classes of elevation", count(zones.zones.len())),
            "yield_history" => format!("{} classes of past yields", count(zones.zones.len())),
            _ => "as drawn".to_owned(),
        };
        rows.push(vec!["zones".to_owned(), by]);
        if let Some(radius) = zones.radius_m {
            rows.push(vec![
                "records taken together for zones, within".to_owned(),
                figures.length(radius),
            ]);
        }
        rows.push(vec![
            "least ground of a strip pair in a zone".to_owned(),
            format!(
                "{} {}",
                figures.area(zones.least_area_m2),
                figures.area_unit()
            ),
        ]);
    }
    if let Some(stand) = &results.stand {
        for (what, length) in [
            ("length of counted rows", stand.row_length_m),
            ("distance from row to row", stand.row_spacing_m),
        ] {
            rows.extend(length.map(|metres| vec![what.to_owned(), figures.length(metres)]));
        }
    }
    flatten("cleaning", &results.cleaning.settings, &mut rows);
    Table::new("Settings", &["Setting", "Value"], rows)
}

/// One row per leaf of a settings tree.
fn flatten(name: &str, value: &Value, rows: &mut Vec<Vec<String>>) {
    match value {
        Value::Null => {}
        Value::Object(members) => {
            for (key, member) in members {
                flatten(&format!("{name}.{key}"), member, rows);
            }
        }
        Value::String(text) => rows.push(vec![name.to_owned(), text.clone()]),
        other => rows.push(vec![name.to_owned(), other.to_string()]),
    }
}
