//! The report's tables: headings and cells as text, figures marked so that they line up.

use crate::figures::{Figures, UNKNOWN};
use checkstrip_model::{
    Status,
    results::{Cleaning, Comparison, Results},
    units::UnitSystem,
};
use checkstrip_words::say;
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

/// The heading of a column of words.
pub(crate) fn words_under(text: String) -> Heading {
    Heading {
        text,
        figure: false,
    }
}

/// The heading of a column of figures.
pub(crate) fn figures_under(text: String) -> Heading {
    Heading { text, figure: true }
}

impl Table {
    /// A table.
    pub(crate) fn new(caption: String, headings: Vec<Heading>, rows: Vec<Vec<String>>) -> Table {
        Table {
            caption,
            headings,
            rows,
        }
    }

    /// Whether there is nothing in it.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

/// A method's name, in a grower's words.
pub(crate) fn method_name(method: &str, figures: Figures) -> String {
    let words = figures.words;
    match method {
        "paired_strips" => say!(words, "method-paired-strips"),
        "randomized_blocks" => say!(words, "method-randomized-blocks"),
        "permutation" => say!(words, "method-permutation"),
        "spatial_reml" => say!(words, "method-spatial-reml"),
        "swath_mixture" => say!(words, "method-swath-mixture"),
        other => other.to_owned(),
    }
}

/// A method's name and what it does.
pub(crate) fn method_words(method: &str, figures: Figures) -> String {
    let words = figures.words;
    let name = method_name(method, figures);
    let does = match method {
        "paired_strips" => say!(words, "method-paired-strips-does"),
        "randomized_blocks" => say!(words, "method-randomized-blocks-does"),
        "permutation" => say!(words, "method-permutation-does"),
        "spatial_reml" => say!(words, "method-spatial-reml-does"),
        "swath_mixture" => say!(words, "method-swath-mixture-does"),
        _ => return name,
    };
    say!(
        words,
        "method-with-what-it-does",
        method = name,
        does = does
    )
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
                    .map_or(UNKNOWN.to_owned(), |pct| figures.number(pct, 1)),
                figures.grain(strip.dry_mass_kg),
                figures.area(strip.area_m2),
                figures.percent(strip.covered_fraction),
                figures.percent(strip.mixed_fraction),
                figures.count(strip.records),
            ]
        })
        .collect();
    let words = figures.words;
    Table::new(
        say!(words, "table-strips"),
        vec![
            words_under(say!(words, "column-strip")),
            words_under(say!(words, "column-treatment")),
            words_under(say!(words, "column-block")),
            figures_under(say!(words, "column-yield", unit = figures.yield_unit())),
            figures_under(say!(words, "column-moisture")),
            figures_under(say!(words, "column-grain", unit = figures.grain_unit())),
            figures_under(say!(words, "column-ground", unit = figures.area_unit())),
            figures_under(say!(words, "column-covered")),
            figures_under(say!(words, "column-mixed")),
            figures_under(say!(words, "column-records")),
        ],
        rows,
    )
}

/// Every treatment by every method.
pub(crate) fn comparisons(results: &Results, figures: Figures) -> Table {
    let family = has_family(results);
    let row = |comparison: &Comparison| {
        let mut cells = vec![
            figures.difference_name(&comparison.treatment, &comparison.check),
            method_words(&comparison.method, figures),
            figures.yields(comparison.advantage_kg_ha),
            figures.yield_interval(comparison.interval_95_kg_ha),
            figures.p_value(comparison.p_value),
            figures.count(comparison.blocks),
            figures.number(comparison.df, 1),
            figures.percent(comparison.dilution),
        ];
        if family {
            let at_once = comparison
                .interval_95_family_kg_ha
                .map(|ends| figures.yield_interval(ends));
            let p = comparison.p_value_family.map(|p| figures.p_value(p));
            cells.extend([at_once, p].map(|text| text.unwrap_or_else(|| UNKNOWN.to_owned())));
        }
        cells
    };
    let words = figures.words;
    let mut headings = vec![
        words_under(say!(words, "column-comparison")),
        words_under(say!(words, "column-method")),
        figures_under(say!(
            words,
            "column-difference",
            unit = figures.yield_unit()
        )),
        figures_under(say!(words, "column-interval")),
        figures_under(say!(words, "column-p")),
        figures_under(say!(words, "column-blocks")),
        figures_under(say!(words, "column-degrees-of-freedom")),
        figures_under(say!(words, "column-contrast-carried")),
    ];
    if family {
        headings.extend([
            figures_under(say!(words, "column-interval-family")),
            figures_under(say!(words, "column-p-family")),
        ]);
    }
    Table::new(
        say!(words, "table-comparisons"),
        headings,
        results.comparisons.iter().map(row).collect(),
    )
}

/// Whether some comparison allows for all treatments at once.
pub(crate) fn has_family(results: &Results) -> bool {
    let mut comparisons = results.comparisons.iter();
    comparisons.any(|comparison| comparison.interval_95_family_kg_ha.is_some())
}

/// What became of the records.
pub(crate) fn cleaning(results: &Results, figures: Figures) -> Table {
    let total = results.input.records;
    let share = |records: usize| {
        if total == 0 {
            UNKNOWN.to_owned()
        } else {
            figures.percent(records as f64 / total as f64)
        }
    };
    let row = |name: String, records: usize| vec![name, figures.count(records), share(records)];
    let words = figures.words;
    let mut rows = vec![row(words.status(Status::Kept), results.cleaning.kept)];
    for &reason in Status::REASONS {
        let records = results
            .cleaning
            .removed
            .get(reason.key())
            .copied()
            .unwrap_or(0);
        rows.push(row(words.status(reason), records));
    }
    rows.push(row(say!(words, "table-cleaning-all"), total));
    Table::new(
        say!(words, "table-cleaning"),
        vec![
            words_under(say!(words, "column-records")),
            figures_under(say!(words, "column-count")),
            figures_under(say!(words, "column-share")),
        ],
        rows,
    )
}

/// The grain delay and the ground, in sentences.
pub(crate) fn cleaning_facts(cleaning: &Cleaning, figures: Figures) -> Vec<String> {
    let words = figures.words;
    let seconds = |value: f64| figures.number(value, 1);
    let source = match cleaning.grain_delay_source.as_str() {
        "estimated" => say!(words, "cleaning-delay-estimated"),
        "given" => say!(words, "cleaning-delay-given"),
        "kept" => say!(words, "cleaning-delay-kept"),
        other => other.to_owned(),
    };
    let (low, high) = (cleaning.grain_delay_low_s, cleaning.grain_delay_high_s);
    let mut delay = if low.is_finite() && high.is_finite() && low < high {
        say!(
            words,
            "cleaning-delay-interval",
            seconds = seconds(cleaning.grain_delay_s),
            source = source,
            low = seconds(low),
            high = seconds(high)
        )
    } else {
        say!(
            words,
            "cleaning-delay",
            seconds = seconds(cleaning.grain_delay_s),
            source = source
        )
    };
    if let Some(smear) = cleaning.grain_smear_s {
        delay.push(' ');
        delay.push_str(&say!(words, "cleaning-smear", seconds = seconds(smear)));
    }
    let note = words.carried(
        "grain-delay",
        &cleaning.grain_delay_note,
        &cleaning.grain_delay_values,
    );
    if !note.is_empty() {
        delay.push(' ');
        delay.push_str(&note);
    }
    let area = |hectares: f64| figures.area(hectares * 10_000.0);
    let ground = say!(
        words,
        "cleaning-ground",
        passes = figures.counted("count-passes", cleaning.passes),
        machines = figures.counted("count-machines", cleaning.machines),
        covered = area(cleaning.footprint_area_ha),
        overlap = area(cleaning.overlap_other_passes_ha),
        unit = figures.area_unit()
    );
    vec![delay, ground]
}

/// What each treatment cost and brought.
pub(crate) fn money(results: &Results, figures: Figures) -> Table {
    let rows = results
        .payoff
        .iter()
        .map(|payoff| {
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
                figures.interval(payoff.net_interval_95_per_ac, |per_ac| {
                    figures.money_per_area(per_ac)
                }),
                figures
                    .odds(payoff.odds_it_pays)
                    .unwrap_or_else(|| UNKNOWN.to_owned()),
            ]
        })
        .collect();
    let (words, per) = (figures.words, figures.area_unit());
    Table::new(
        match figures.units {
            UnitSystem::Farm => say!(words, "table-money-acre"),
            UnitSystem::Si => say!(words, "table-money-hectare"),
        },
        vec![
            words_under(say!(words, "column-treatment")),
            words_under(say!(words, "column-cost-made-of")),
            figures_under(say!(words, "column-cost-per", unit = per)),
            figures_under(say!(words, "column-price")),
            figures_under(say!(words, "column-break-even")),
            figures_under(say!(words, "column-net-per", unit = per)),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "column-odds")),
        ],
        rows,
    )
}

/// The files that went in.
pub(crate) fn files(results: &Results, figures: Figures) -> Table {
    let words = figures.words;
    let mut rows: Vec<Vec<String>> = results
        .input
        .files
        .iter()
        .map(|file| {
            vec![
                file.path.clone(),
                figures.count(file.records),
                file.sha256.clone(),
            ]
        })
        .collect();
    let strips = &results.strip_source;
    if !strips.path.is_empty() {
        rows.push(vec![
            strips.path.clone(),
            figures.counted("count-strips", results.strips.len()),
            strips.sha256.clone(),
        ]);
    }
    if let Some(zones) = &results.zones {
        if let Some(drawn) = &zones.polygons {
            let held = say!(words, "table-files-zones", column = &drawn.name_column);
            rows.push(vec![drawn.path.clone(), held, drawn.sha256.clone()]);
        }
        for file in zones.harvests.iter().flat_map(|harvest| &harvest.files) {
            let held = say!(
                words,
                "table-files-past",
                records = figures.count(file.records)
            );
            rows.push(vec![file.path.clone(), held, file.sha256.clone()]);
        }
    }
    for file in results.stand.iter().flat_map(|stand| &stand.files) {
        let held = figures.counted("count-stand-counts", file.records);
        rows.push(vec![file.path.clone(), held, file.sha256.clone()]);
    }
    Table::new(
        say!(words, "table-files"),
        vec![
            words_under(say!(words, "column-file")),
            figures_under(say!(words, "column-records")),
            words_under(say!(words, "column-sha256")),
        ],
        rows,
    )
}

/// The columns of the log, read and derived.
pub(crate) fn columns(results: &Results, figures: Figures) -> Table {
    let words = figures.words;
    let read = results.input.columns.iter().map(|column| {
        vec![
            column.name.clone(),
            column.header.clone(),
            column.unit.clone(),
        ]
    });
    let derived = results.input.derived.iter().map(|(name, how)| {
        let how = say!(words, "table-columns-derived", how = how);
        vec![name.clone(), how, String::new()]
    });
    Table::new(
        say!(words, "table-columns"),
        vec![
            words_under(say!(words, "column-column")),
            words_under(say!(words, "column-from")),
            words_under(say!(words, "column-unit-read")),
        ],
        read.chain(derived).collect(),
    )
}

/// Every setting the job used.
pub(crate) fn settings(results: &Results, figures: Figures) -> Table {
    let words = figures.words;
    let strips = &results.strip_source;
    let named = |text: &str| {
        if text.is_empty() {
            UNKNOWN.to_owned()
        } else {
            text.to_owned()
        }
    };
    let blocks = match strips.blocks_from.as_str() {
        "file" => say!(words, "setting-blocks-file"),
        "adjacency" => say!(words, "setting-blocks-adjacency"),
        other => named(other),
    };
    let mut rows = vec![
        vec![say!(words, "setting-check"), named(&strips.check)],
        vec![say!(words, "setting-inset"), figures.length(strips.inset_m)],
        vec![say!(words, "setting-blocks"), blocks],
        vec![say!(words, "setting-crs"), named(&strips.crs)],
    ];
    if let Some(zones) = &results.zones {
        let classes = figures.count(zones.zones.len());
        let by = match zones.by.as_str() {
            "elevation" => say!(words, "setting-zones-elevation", classes = classes),
            "yield_history" => say!(words, "setting-zones-past", classes = classes),
            _ => say!(words, "setting-zones-drawn"),
        };
        rows.push(vec![say!(words, "setting-zones"), by]);
        if let Some(radius) = zones.radius_m {
            rows.push(vec![
                say!(words, "setting-zones-within"),
                figures.length(radius),
            ]);
        }
        rows.push(vec![
            say!(words, "setting-zones-least"),
            format!(
                "{} {}",
                figures.area(zones.least_area_m2),
                figures.area_unit()
            ),
        ]);
    }
    if let Some(stand) = &results.stand {
        for (what, length) in [
            (say!(words, "setting-row-length"), stand.row_length_m),
            (say!(words, "setting-row-spacing"), stand.row_spacing_m),
        ] {
            rows.extend(length.map(|metres| vec![what, figures.length(metres)]));
        }
    }
    // The names under [cleaning] and their values are those of a trial file, in every language.
    flatten("cleaning", &results.cleaning.settings, &mut rows);
    Table::new(
        say!(words, "table-settings"),
        vec![
            words_under(say!(words, "column-setting")),
            words_under(say!(words, "column-value")),
        ],
        rows,
    )
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
