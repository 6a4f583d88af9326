//! The section on zones: where they come from, whether the advantage differs from zone to zone, a plot
//! with one interval a zone, and the table.

use crate::answer::{headline_comparisons, payoff_of};
use crate::figures::{Figures, UNKNOWN};
use crate::plots::{Plot, break_even_line};
use crate::row_plot::{Across, KeyEntry, Mark, RowPlot, Shape};
use crate::tables::{Table, figures_under, words_under};
use checkstrip_model::results::{Results, TreatmentByZone, ZoneAdvantage, ZoneGround, Zones};
use checkstrip_words::say;
use serde::Serialize;

/// Chance that is taken for luck no longer, as everywhere in the report.
const LUCK: f64 = 0.05;

/// One treatment.
#[derive(Debug, Serialize)]
struct Part {
    sentences: Vec<String>,
    plot: Option<Plot>,
}

/// The section, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct ZonesSection {
    intro: String,
    parts: Vec<Part>,
    table: Table,
}

/// The section; `None` when no zones were asked for.
pub(crate) fn zones_section(results: &Results, figures: Figures) -> Option<ZonesSection> {
    let zones = results.zones.as_ref()?;
    let part = |found: &TreatmentByZone| Part {
        sentences: sentences(found, &zones.by, figures),
        plot: plot(found, &zones.by, results, figures),
    };
    Some(ZonesSection {
        intro: intro(zones, figures),
        parts: zones.treatments.iter().map(part).collect(),
        table: table(zones, results, figures),
    })
}

fn intro(zones: &Zones, figures: Figures) -> String {
    let words = figures.words;
    let radius = zones
        .radius_m
        .map_or(String::new(), |m| figures.whole_length(m));
    let count = zones.zones.len();
    let classes = figures.count(count);
    let parted = match zones.by.as_str() {
        "elevation" => say!(
            words,
            "zones-elevation",
            count = count,
            classes = classes,
            radius = radius
        ),
        "yield_history" => say!(
            words,
            "zones-past",
            count = count,
            classes = classes,
            harvests = zones.harvests.len(),
            shown_harvests = figures.count(zones.harvests.len()),
            radius = radius
        ),
        _ => say!(
            words,
            "zones-drawn",
            file = zones
                .polygons
                .as_ref()
                .map_or("", |polygons| polygons.path.as_str())
        ),
    };
    let mut said = vec![parted, say!(words, "zones-middle")];
    let held: f64 = zones.zones.iter().map(|zone| zone.area_m2).sum();
    if zones.no_zone_area_m2 > 0.0 {
        said.push(say!(
            words,
            "zones-none",
            area = figures.area(zones.no_zone_area_m2),
            unit = figures.area_unit(),
            share = figures.percent(zones.no_zone_area_m2 / (held + zones.no_zone_area_m2))
        ));
    }
    said.join(" ")
}

fn sentences(found: &TreatmentByZone, by: &str, figures: Figures) -> Vec<String> {
    let words = figures.words;
    let what = figures.difference_name(&found.treatment, &found.check);
    let mut said = vec![match &found.test {
        None => say!(words, "zones-few", comparison = what),
        Some(test) => {
            let f = say!(
                words,
                "zones-f",
                f = figures.number(test.f, 2),
                df_zones = figures.number(test.df_zones, 0),
                df_error = figures.number(test.df_error, 1),
                p = figures.p_words(test.p_value)
            );
            let text = if test.p_value < LUCK {
                "zones-differ"
            } else {
                "zones-alike"
            };
            say!(words, text, comparison = what, test = f)
        }
    }];
    let zones = found.zones.len();
    if zones > 1 {
        said.push(say!(words, "zones-chances", zones = figures.count(zones)));
    }
    let few = |blocks: usize| -> Vec<String> {
        let zones = found.zones.iter().filter(|zone| zone.blocks == blocks);
        zones.map(|zone| words.zone(by, &zone.zone)).collect()
    };
    for (blocks, text) in [(1, "zones-one-block"), (2, "zones-two-blocks")] {
        let names = few(blocks);
        if !names.is_empty() {
            said.push(say!(words, text, zones = names.join(", ")));
        }
    }
    if found.places_left_out > 0 {
        said.push(say!(
            words,
            "zones-left-out",
            count = found.places_left_out,
            shown = figures.count(found.places_left_out),
            area = figures.area(found.area_left_out_m2),
            unit = figures.area_unit()
        ));
    }
    said
}

fn shown_interval(ends: [f64; 2], figures: Figures) -> Option<[f64; 2]> {
    ends.iter()
        .all(|end| end.is_finite())
        .then(|| ends.map(|end| figures.shown_yield(end)))
}

fn plot(found: &TreatmentByZone, by: &str, results: &Results, figures: Figures) -> Option<Plot> {
    let (words, unit) = (figures.words, figures.yield_unit());
    let names: Vec<String> = found
        .zones
        .iter()
        .map(|zone| words.zone(by, &zone.zone))
        .collect();
    let mut rows: Vec<(String, bool)> = names.iter().map(|name| (name.clone(), false)).collect();
    let mark = |row: usize, name: &str, value: f64, ends: [f64; 2], shape, tone| Mark {
        row,
        value: figures.shown_yield(value),
        interval: shown_interval(ends, figures),
        shape,
        tone,
        says: format!("{name}: {} {unit}", figures.yields(value)),
    };
    let mut marks: Vec<Mark> = found
        .zones
        .iter()
        .enumerate()
        .map(|(row, zone)| {
            let ends = zone.interval_95_kg_ha;
            mark(
                row,
                &names[row],
                zone.advantage_kg_ha,
                ends,
                Shape::Square,
                1,
            )
        })
        .collect();
    let key = |shape, tone, label: String| KeyEntry { shape, tone, label };
    let mut keys = vec![key("square", 1, say!(words, "zones-plot-zone"))];
    let headlines = headline_comparisons(results);
    let whole = headlines.iter().find(|c| c.treatment == found.treatment);
    if let Some(whole) = whole {
        let name = say!(words, "zones-plot-whole");
        rows.push((name.clone(), true));
        let ends = if whole.blocks > 1 {
            whole.interval_95_kg_ha
        } else {
            [f64::NAN; 2]
        };
        let row = rows.len() - 1;
        marks.push(mark(
            row,
            &name,
            whole.advantage_kg_ha,
            ends,
            Shape::Diamond,
            5,
        ));
        keys.push(key("diamond", 5, say!(words, "zones-plot-whole-interval")));
    }
    keys.push(key("line", 5, say!(words, "plot-no-difference")));
    let mut across = vec![Across {
        value: 0.0,
        dashed: false,
    }];
    break_even_line(results, &found.treatment, figures, &mut across, &mut keys);
    let name = figures.difference_name(&found.treatment, &found.check);
    Some(Plot {
        title: say!(words, "zones-plot", comparison = &name),
        caption: say!(words, "zones-plot-caption", treatment = &found.treatment),
        key: keys,
        plot: RowPlot::new(
            &rows,
            &marks,
            &across,
            format!("{name}, {unit}"),
            words.marks(),
        )?,
    })
}

/// Lowest and highest value of a zone, when it is a class.
fn range(zone: &ZoneGround, figures: Figures) -> String {
    match (zone.elevation_m, zone.relative_yield) {
        (Some([low, high]), _) => figures.height_range(low, high),
        (_, Some([low, high])) => {
            say!(
                figures.words,
                "range-with-unit",
                low = figures.number(low * 100.0, 0),
                high = figures.number(high * 100.0, 0),
                unit = "%"
            )
        }
        _ => UNKNOWN.to_owned(),
    }
}

fn table(zones: &Zones, results: &Results, figures: Figures) -> Table {
    let several = zones.treatments.len() > 1;
    let classes = zones.by != "polygons";
    let priced = |found: &TreatmentByZone| payoff_of(results, &found.treatment).is_some();
    let money = zones.treatments.iter().any(priced);
    let (words, unit) = (figures.words, figures.yield_unit());
    let area_unit = figures.area_unit();
    let mut headings = vec![words_under(say!(words, "zones-column-zone"))];
    if several {
        headings.push(words_under(say!(words, "column-comparison")));
    }
    if classes {
        headings.push(figures_under(if zones.by == "elevation" {
            say!(words, "zones-column-height")
        } else {
            say!(words, "zones-column-past")
        }));
    }
    headings.extend([
        figures_under(say!(words, "column-ground", unit = area_unit)),
        figures_under(say!(words, "column-blocks")),
        figures_under(say!(words, "zones-column-check", unit = unit)),
        figures_under(say!(words, "column-difference", unit = unit)),
        figures_under(say!(words, "column-interval")),
    ]);
    if money {
        headings.extend([
            figures_under(say!(words, "column-net-per", unit = area_unit)),
            figures_under(say!(words, "column-interval")),
            figures_under(say!(words, "column-odds")),
        ]);
    }
    let unknown = || UNKNOWN.to_owned();
    let row = |found: &TreatmentByZone, zone: &ZoneAdvantage| {
        let mut cells = vec![words.zone(&zones.by, &zone.zone)];
        if several {
            cells.push(figures.difference_name(&found.treatment, &found.check));
        }
        if classes {
            let drawn = zones.zones.iter().find(|other| other.zone == zone.zone);
            cells.push(drawn.map_or_else(unknown, |zone| range(zone, figures)));
        }
        cells.extend([
            figures.area(zone.area_m2),
            figures.count(zone.blocks),
            figures.yields(zone.check_yield_kg_ha),
            figures.yields(zone.advantage_kg_ha),
            figures.yield_interval(zone.interval_95_kg_ha),
        ]);
        if money {
            match &zone.payoff {
                Some(worth) => cells.extend([
                    figures.money_per_area(worth.net_per_ac),
                    figures.interval(worth.net_interval_95_per_ac, |per_ac| {
                        figures.money_per_area(per_ac)
                    }),
                    figures.odds(worth.odds_it_pays).unwrap_or_else(unknown),
                ]),
                None => cells.extend([unknown(), unknown(), unknown()]),
            }
        }
        cells
    };
    let rows = zones
        .treatments
        .iter()
        .flat_map(|found| found.zones.iter().map(move |zone| (found, zone)))
        .map(|(found, zone)| row(found, zone));
    Table::new(say!(words, "zones-table"), headings, rows.collect())
}

#[cfg(test)]
mod tests {
    use crate::invented::{comparison, results};
    use crate::render;
    use checkstrip_model::results::{
        Results, TreatmentByZone, ZoneAdvantage, ZoneGround, ZonePayoff, ZonePolygons, ZoneTest,
        Zones,
    };
    use checkstrip_model::units::UnitSystem;
    use insta::assert_snapshot;

    fn advantage(zone: &str, bu_ac: f64, blocks: usize) -> ZoneAdvantage {
        let found = comparison("zone", bu_ac, 1.5, blocks);
        ZoneAdvantage {
            zone: zone.to_owned(),
            blocks,
            area_m2: 20_234.3,
            check_yield_kg_ha: 3_700.0,
            advantage_kg_ha: found.advantage_kg_ha,
            advantage_bu_ac: bu_ac,
            std_error_kg_ha: found.std_error_kg_ha,
            df: found.df,
            interval_95_kg_ha: found.interval_95_kg_ha,
            interval_95_bu_ac: found.interval_95_bu_ac,
            block_differences: found.block_differences,
            payoff: Some(ZonePayoff {
                net_per_ac: bu_ac * 10.4 - 5.2,
                net_interval_95_per_ac: [bu_ac * 10.4 - 20.8, bu_ac * 10.4 + 10.4],
                odds_it_pays: 0.7,
            }),
        }
    }

    fn by_elevation() -> Zones {
        let ground = |zone: &str, elevation_m| ZoneGround {
            zone: zone.to_owned(),
            elevation_m: Some(elevation_m),
            relative_yield: None,
            records: 900,
            area_m2: 21_000.0,
        };
        Zones {
            by: "elevation".to_owned(),
            polygons: None,
            harvests: vec![],
            radius_m: Some(20.0),
            least_area_m2: 200.0,
            zones: vec![
                ground("low ground", [290.1, 297.4]),
                ground("high ground", [297.4, 301.2]),
            ],
            no_zone_records: 0,
            no_zone_area_m2: 0.0,
            several_zones_records: 0,
            treatments: vec![TreatmentByZone {
                treatment: "rolled".to_owned(),
                check: "check".to_owned(),
                zones: vec![
                    advantage("low ground", -0.4, 6),
                    advantage("high ground", 2.8, 6),
                ],
                test: Some(ZoneTest {
                    f: 9.31,
                    df_zones: 1.0,
                    df_error: 5.0,
                    p_value: 0.028,
                }),
                block_sd_kg_ha: Some(20.0),
                error_sd_kg_ha: Some(80.0),
                typical_area_m2: Some(1_700.0),
                places_left_out: 0,
                area_left_out_m2: 0.0,
            }],
        }
    }

    fn section(change: impl FnOnce(&mut Results), units: UnitSystem) -> String {
        let mut results = results();
        results.zones = Some(by_elevation());
        change(&mut results);
        let page = render(&results, &[], units.into()).unwrap();
        let from = page.find("<section aria-labelledby=\"zones\">").unwrap();
        let to = from + page[from..].find("</section>").unwrap();
        page[from..to].to_owned()
    }

    #[test]
    fn zones_that_differ() {
        assert_snapshot!(section(|_| {}, UnitSystem::Farm));
    }

    #[test]
    fn zones_that_say_little() {
        let said = section(
            |results| {
                results.payoff.clear();
                let zones = results.zones.as_mut().unwrap();
                zones.by = "polygons".to_owned();
                zones.polygons = Some(ZonePolygons {
                    path: "soils.geojson".to_owned(),
                    sha256: "0123456789abcdef".repeat(4),
                    crs: "WGS 84".to_owned(),
                    name_column: "soil".to_owned(),
                });
                zones.radius_m = None;
                zones.no_zone_area_m2 = 2_000.0;
                let found = &mut zones.treatments[0];
                found.test = None;
                found.places_left_out = 2;
                found.area_left_out_m2 = 900.0;
                found.zones[0].blocks = 2;
                found.zones[1].blocks = 1;
                found.zones[1].df = 0.0;
                found.zones[1].interval_95_kg_ha = [f64::NAN; 2];
                found.zones.iter_mut().for_each(|zone| zone.payoff = None);
            },
            UnitSystem::Si,
        );
        assert!(!said.contains("NaN"), "{said}");
        let words: Vec<&str> = said
            .lines()
            .filter(|line| line.starts_with("<p>"))
            .collect();
        assert_snapshot!(words.join("\n"));
    }

    #[test]
    fn past_yields_in_words() {
        let said = section(
            |results| {
                let zones = results.zones.as_mut().unwrap();
                zones.by = "yield_history".to_owned();
                zones.treatments[0].test.as_mut().unwrap().p_value = 0.4;
                for zone in &mut zones.zones {
                    (zone.elevation_m, zone.relative_yield) = (None, Some([0.91, 1.04]));
                }
            },
            UnitSystem::Farm,
        );
        assert!(
            said.contains("91 to 104 %") && said.contains("cannot tell the zones apart"),
            "{said}"
        );
    }
}
