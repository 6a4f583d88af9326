//! The section on zones: where they come from, whether the advantage differs from zone to zone, a plot
//! with one interval a zone, and the table.

use crate::along_strips::p_words;
use crate::answer::{headline_comparisons, payoff_of};
use crate::figures::{Figures, UNKNOWN, count, counted, number, odds, percent};
use crate::plots::{Plot, break_even_line};
use crate::row_plot::{Across, KeyEntry, Mark, RowPlot, Shape};
use crate::tables::Table;
use checkstrip_model::results::{Results, TreatmentByZone, ZoneAdvantage, ZoneGround, Zones};
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
        sentences: sentences(found, figures),
        plot: plot(found, results, figures),
    };
    Some(ZonesSection {
        intro: intro(zones, figures),
        parts: zones.treatments.iter().map(part).collect(),
        table: table(zones, results, figures),
    })
}

fn intro(zones: &Zones, figures: Figures) -> String {
    let radius = zones
        .radius_m
        .map_or(String::new(), |m| figures.whole_length(m));
    let classes = counted(zones.zones.len(), "class", "classes");
    let mut text = match zones.by.as_str() {
        "elevation" => format!(
            "The ground is parted by its height: {classes} of the log’s own elevation, each with about \
             the same ground on the strips. The height at a record is the median of the records within \
             {radius}, because single readings are noisy."
        ),
        "yield_history" => format!(
            "The ground is parted by what it yielded in {}: {classes} of the yield relative to each \
             harvest’s mean, averaged over the records within {radius}. This year’s yields had no say.",
            counted(zones.harvests.len(), "past harvest", "past harvests")
        ),
        _ => format!(
            "The ground is parted as drawn in {}.",
            zones
                .polygons
                .as_ref()
                .map_or("", |polygons| &polygons.path)
        ),
    };
    text.push_str(" A record belongs to the zone in which the middle of its ground lies.");
    let held: f64 = zones.zones.iter().map(|zone| zone.area_m2).sum();
    if zones.no_zone_area_m2 > 0.0 {
        text.push_str(&format!(
            " {} {} on the strips ({}) lie in no zone and are left out here.",
            figures.area(zones.no_zone_area_m2),
            figures.area_unit(),
            percent(zones.no_zone_area_m2 / (held + zones.no_zone_area_m2)),
        ));
    }
    text
}

fn sentences(found: &TreatmentByZone, figures: Figures) -> Vec<String> {
    let what = format!("{} less {}", found.treatment, found.check);
    let mut said = vec![match &found.test {
        None => format!(
            "For {what} there are too few blocks in the zones to tell whether the difference changes from \
             zone to zone."
        ),
        Some(test) => {
            let f = format!(
                "F = {} on {} and {} degrees of freedom, {}",
                number(test.f, 2),
                number(test.df_zones, 0),
                number(test.df_error, 1),
                p_words(test.p_value)
            );
            if test.p_value < LUCK {
                format!(
                    "For {what} the difference changes from zone to zone by more than luck would often \
                     bring ({f})."
                )
            } else {
                format!(
                    "For {what} these strips cannot tell the zones apart. Were the difference the same \
                     everywhere, zones would often look as unlike as these ({f}). The answer for the \
                     whole field is then the better guess for every zone."
                )
            }
        }
    }];
    let zones = found.zones.len();
    if zones > 1 {
        said.push(format!(
            "{} are {} chances: each interval holds by itself 19 times in 20, so one may miss by luck. A \
             zone that was picked after a look at the yields proves nothing; look for the same zone in \
             another year.",
            counted(zones, "zone", "zones"),
            count(zones)
        ));
    }
    let few = |blocks: usize| -> Vec<&str> {
        let zones = found.zones.iter().filter(|zone| zone.blocks == blocks);
        zones.map(|zone| zone.zone.as_str()).collect()
    };
    for (blocks, words) in [
        (
            1,
            "one block only: the difference is shown, nothing is claimed from it",
        ),
        (
            2,
            "two blocks only: its interval rests on the scatter of the other zones as well and is no \
             proof",
        ),
    ] {
        let names = few(blocks);
        if !names.is_empty() {
            said.push(format!(
                "In {} treatment and check meet in {words}.",
                names.join(", ")
            ));
        }
    }
    if found.places_left_out > 0 {
        said.push(format!(
            "{} of a zone in a block held too little ground of one or the other and were left out, {} {} \
             in all.",
            counted(found.places_left_out, "piece", "pieces"),
            figures.area(found.area_left_out_m2),
            figures.area_unit()
        ));
    }
    said
}

fn shown_interval(ends: [f64; 2], figures: Figures) -> Option<[f64; 2]> {
    ends.iter()
        .all(|end| end.is_finite())
        .then(|| ends.map(|end| figures.shown_yield(end)))
}

fn plot(found: &TreatmentByZone, results: &Results, figures: Figures) -> Option<Plot> {
    let unit = figures.yield_unit();
    let mut rows: Vec<(String, bool)> = found
        .zones
        .iter()
        .map(|zone| (zone.zone.clone(), false))
        .collect();
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
                &zone.zone,
                zone.advantage_kg_ha,
                ends,
                Shape::Square,
                1,
            )
        })
        .collect();
    let key = |shape, tone, label: &str| KeyEntry {
        shape,
        tone,
        label: label.to_owned(),
    };
    let mut keys = vec![key("square", 1, "one zone, 95 % interval")];
    let headlines = headline_comparisons(results);
    let whole = headlines.iter().find(|c| c.treatment == found.treatment);
    if let Some(whole) = whole {
        rows.push(("whole field".to_owned(), true));
        let ends = if whole.blocks > 1 {
            whole.interval_95_kg_ha
        } else {
            [f64::NAN; 2]
        };
        let row = rows.len() - 1;
        marks.push(mark(
            row,
            "whole field",
            whole.advantage_kg_ha,
            ends,
            Shape::Diamond,
            5,
        ));
        keys.push(key("diamond", 5, "whole field, 95 % interval"));
    }
    keys.push(key("line", 5, "no difference"));
    let mut across = vec![Across {
        value: 0.0,
        dashed: false,
    }];
    break_even_line(results, &found.treatment, figures, &mut across, &mut keys);
    let name = format!("{} less {}", found.treatment, found.check);
    Some(Plot {
        title: format!("Difference in each zone: {name}"),
        caption: format!(
            "Right of the solid line {} yielded more. Intervals that overlap widely do not tell zones \
             apart.",
            found.treatment
        ),
        key: keys,
        plot: RowPlot::new(&rows, &marks, &across, format!("{name}, {unit}"))?,
    })
}

/// Lowest and highest value of a zone, when it is a class.
fn range(zone: &ZoneGround, figures: Figures) -> String {
    match (zone.elevation_m, zone.relative_yield) {
        (Some([low, high]), _) => figures.height_range(low, high),
        (_, Some([low, high])) => {
            format!(
                "{} to {} %",
                number(low * 100.0, 0),
                number(high * 100.0, 0)
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
    let per = format!("#Net per {}", figures.area_unit());
    let difference = format!("#Difference, {}", figures.yield_unit());
    let ground = format!("#Ground, {}", figures.area_unit());
    let check_yield = format!("#Yield of the check, {}", figures.yield_unit());
    let mut headings = vec!["Zone"];
    if several {
        headings.push("Comparison");
    }
    if classes {
        headings.push(if zones.by == "elevation" {
            "#Height"
        } else {
            "#Past yield, share of the mean"
        });
    }
    headings.extend([
        ground.as_str(),
        "#Blocks",
        &check_yield,
        &difference,
        "#95 % interval",
    ]);
    if money {
        headings.extend([&per, "#95 % interval", "#Odds that it paid"]);
    }
    let unknown = || UNKNOWN.to_owned();
    let interval = |ends: [f64; 2], shown: &dyn Fn(f64) -> String| {
        if ends.iter().all(|end| end.is_finite()) {
            format!("{} to {}", shown(ends[0]), shown(ends[1]))
        } else {
            UNKNOWN.to_owned()
        }
    };
    let row = |found: &TreatmentByZone, zone: &ZoneAdvantage| {
        let mut cells = vec![zone.zone.clone()];
        if several {
            cells.push(format!("{} less {}", found.treatment, found.check));
        }
        if classes {
            let drawn = zones.zones.iter().find(|other| other.zone == zone.zone);
            cells.push(drawn.map_or_else(unknown, |zone| range(zone, figures)));
        }
        cells.extend([
            figures.area(zone.area_m2),
            count(zone.blocks),
            figures.yields(zone.check_yield_kg_ha),
            figures.yields(zone.advantage_kg_ha),
            interval(zone.interval_95_kg_ha, &|kg_ha| figures.yields(kg_ha)),
        ]);
        if money {
            match &zone.payoff {
                Some(worth) => cells.extend([
                    figures.money_per_area(worth.net_per_ac),
                    interval(worth.net_interval_95_per_ac, &|per_ac| {
                        figures.money_per_area(per_ac)
                    }),
                    odds(worth.odds_it_pays).unwrap_or_else(unknown),
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
    Table::new(
        "Treatment and check, zone by zone",
        &headings,
        rows.collect(),
    )
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
        let page = render(&results, &[], units).unwrap();
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
