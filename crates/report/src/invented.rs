//! An invented field for this crate's tests: every name and number in it is made up.

use checkstrip_model::{
    Crop, SourceFile, Status, Warning,
    results::{
        AdvantageAlong, AlongStretch, AlongStrips, AlongTest, AlongWindow, BestRate,
        BlockDifference, Cleaning, Comparison, CostPart, Field, Input, InputColumn, OddsAtLeast,
        OddsGrid, Payoff, RateCurve, RateResponse, RateYield, Results, SCHEMA, StripSource,
        StripYield, Tool, TurningPoints,
    },
    units::bu_per_acre,
};

/// A comparison that finds `bu_ac`, give or take `half_width`, in `blocks` blocks.
pub(crate) fn comparison(method: &str, bu_ac: f64, half_width: f64, blocks: usize) -> Comparison {
    let kg = |bushels: f64| checkstrip_model::units::kg_per_ha(bushels, 27.2155422);
    Comparison {
        treatment: "rolled".to_owned(),
        check: "check".to_owned(),
        method: method.to_owned(),
        blocks,
        advantage_kg_ha: kg(bu_ac),
        advantage_bu_ac: bu_ac,
        std_error_kg_ha: kg(half_width / 2.57),
        df: blocks as f64 - 1.0,
        interval_95_kg_ha: [kg(bu_ac - half_width), kg(bu_ac + half_width)],
        interval_95_bu_ac: [bu_ac - half_width, bu_ac + half_width],
        p_value: 0.083,
        interval_95_family_kg_ha: None,
        interval_95_family_bu_ac: None,
        p_value_family: None,
        smallest_p: None,
        orders: None,
        soil: None,
        dilution: 1.0,
        block_differences: (0..blocks)
            .map(|block| BlockDifference {
                block: (block + 1).to_string(),
                difference_kg_ha: kg(bu_ac + [0.9, -1.6, 0.4, 1.5, -0.7, -0.5][block % 6]),
            })
            .collect(),
    }
}

/// An invented response to a rate in pounds.
pub(crate) fn rate_response() -> RateResponse {
    let curve = |curve: &str, aicc: f64, best_rate: Option<BestRate>| RateCurve {
        curve: curve.to_owned(),
        slope_kg_ha: 0.0,
        bend_kg_ha: 0.0,
        join_rate: None,
        join_interval_95: None,
        residual_squares: 90_000.0,
        df: 9.0,
        aicc: Some(aicc),
        best_rate,
    };
    let best = BestRate {
        rate: 98.6,
        interval_95: [93.1, 104.8],
        at_end: None,
        net_over_lowest_per_ac: 112.67,
    };
    let plateau = RateCurve {
        join_rate: Some(124.5),
        join_interval_95: Some([115.5, 134.8]),
        ..curve("quadratic_plateau", 195.4, Some(best.clone()))
    };
    let end = BestRate {
        rate: 160.0,
        interval_95: [160.0; 2],
        at_end: Some("highest".to_owned()),
        net_over_lowest_per_ac: 84.1,
    };
    let rates = [(0.0, 7_000.0), (80.0, 9_300.0), (160.0, 9_650.0)];
    RateResponse {
        rate_unit: "lb".to_owned(),
        rates: rates
            .iter()
            .map(|&(rate, yield_kg_ha)| RateYield {
                treatment: format!("{rate} lb"),
                rate,
                blocks: 4,
                yield_kg_ha,
            })
            .collect(),
        blocks: 4,
        plots: 12,
        curves: vec![
            plateau,
            curve("linear", 259.7, Some(end)),
            curve("flat", 291.5, None),
        ],
        why: "The quadratic curve with a plateau has the lowest AICc of the curves tried."
            .to_owned(),
        course: rates.iter().map(|&(rate, kg_ha)| [rate, kg_ha]).collect(),
        price_per_bu: Some(4.2),
        cost_per_unit: Some(0.6),
    }
}

/// An advantage that falls along the strips: a gain of 3 bu/ac at first, none in the end. `interval` is
/// half the width of the interval at all places.
pub(crate) fn along_strips(interval: Option<f64>, change_p: f64, anywhere_p: f64) -> AlongStrips {
    let kg = |bushels: f64| checkstrip_model::units::kg_per_ha(bushels, 27.2155422);
    let test = |p_value: f64, most_bu_ac: f64| AlongTest {
        p_value,
        smallest_p: if interval.is_some() { 0.03125 } else { 0.25 },
        orders: 64,
        seed: None,
        most_at_m: [20.0, 80.0],
        most_kg_ha: kg(most_bu_ac),
    };
    let windows: Vec<AlongWindow> = (0..10u8)
        .filter(|place| *place != 6)
        .map(|place| {
            let bushels = 3.0 - f64::from(place) / 3.0;
            let around = |half: f64| [bushels - half, bushels + half];
            AlongWindow {
                from_m: f64::from(place) * 20.0,
                to_m: f64::from(place) * 20.0 + 60.0,
                blocks: 6,
                advantage_kg_ha: kg(bushels),
                advantage_bu_ac: bushels,
                std_error_kg_ha: Some(kg(0.4)),
                df: 5.0,
                interval_95_kg_ha: Some(around(1.0).map(kg)),
                interval_95_bu_ac: Some(around(1.0)),
                interval_95_family_kg_ha: interval.map(|half| around(half).map(kg)),
                interval_95_family_bu_ac: interval.map(around),
                block_differences: Vec::new(),
            }
        })
        .collect();
    AlongStrips {
        direction_deg: 1.5,
        from_end: "south".to_owned(),
        strip_length_m: Some(240.0),
        strips_left_out: 1,
        window_m: Some(60.0),
        step_m: Some(20.0),
        why_none: None,
        why_none_values: Default::default(),
        treatments: vec![AdvantageAlong {
            treatment: "rolled".to_owned(),
            check: "check".to_owned(),
            blocks: if interval.is_some() { 6 } else { 3 },
            stretches: windows
                .first()
                .filter(|first| {
                    first
                        .interval_95_family_bu_ac
                        .is_some_and(|ends| ends[0] > 0.0)
                })
                .map(|first| AlongStretch {
                    from_m: first.from_m,
                    to_m: first.to_m,
                    side: "gain".to_owned(),
                })
                .into_iter()
                .collect(),
            windows,
            change: Some(test(change_p, 1.6)),
            anywhere: Some(test(anywhere_p, 2.7)),
        }],
    }
}

/// Six blocks of rolled and check strips.
pub(crate) fn results() -> Results {
    let field = Field::new("Home quarter (invented)", &Crop::known("soybean").unwrap());
    let bushel_kg = field.bushel_kg;
    let strips = (0..12u8)
        .map(|place| {
            let kg_ha = 3_640.0 + f64::from(place * 31 % 7) * 24.0 + f64::from(place % 2) * 80.0;
            StripYield {
                strip_id: (place + 1).to_string(),
                treatment: if place % 2 == 1 { "rolled" } else { "check" }.to_owned(),
                block: (place / 2 + 1).to_string(),
                records: 410 + usize::from(place),
                area_m2: 5_480.0,
                covered_fraction: 0.974,
                dry_mass_kg: kg_ha * 0.548,
                yield_kg_ha: Some(kg_ha),
                yield_bu_ac: Some(bu_per_acre(kg_ha, bushel_kg)),
                moisture_pct: Some(12.4),
                mixed_fraction: 0.0,
                drawn_area_m2: 6_000.0,
            }
        })
        .collect();
    let mut removed: std::collections::BTreeMap<String, usize> = Status::REASONS
        .iter()
        .map(|reason| (reason.key().to_owned(), 0))
        .collect();
    removed.insert("header_up".to_owned(), 812);
    removed.insert("pass_end".to_owned(), 377);
    removed.insert("moisture".to_owned(), 2);
    Results {
        schema: SCHEMA.to_owned(),
        tool: Tool {
            name: "checkstrip".to_owned(),
            version: "0.0.0".to_owned(),
        },
        field,
        input: Input {
            records: 20_000,
            files: vec![SourceFile {
                path: "harvest/invented & <quarter>.csv".to_owned(),
                sha256: "0123456789abcdef".repeat(4),
                records: 20_000,
            }],
            area_ha: 34.7,
            wet_mass_kg: 128_000.0,
            market_mass_kg: 127_000.0,
            market_bu: 4_666.0,
            area_ac: 85.7,
            centre: [-93.5, 42.0],
            columns: vec![InputColumn {
                name: "mass_flow_kg_s".to_owned(),
                header: "mass".to_owned(),
                unit: "lb/s".to_owned(),
            }],
            derived: [(
                "heading_deg".to_owned(),
                "from one position to the next".to_owned(),
            )]
            .into_iter()
            .collect(),
        },
        cleaning: Cleaning {
            grain_delay_s: 13.0,
            grain_delay_source: "estimated".to_owned(),
            grain_delay_low_s: 12.0,
            grain_delay_high_s: 14.0,
            grain_smear_s: Some(2.1),
            grain_delay_note: "Rests on 1,204 pairs of neighbours cut in opposite directions."
                .to_owned(),
            grain_delay_values: Default::default(),
            kept: 18_809,
            removed,
            footprint_area_ha: 35.1,
            overlap_area_ha: 0.6,
            overlap_other_passes_ha: 0.4,
            passes: 62,
            machines: 1,
            machine_bias: None,
            scale_tickets: None,
            settings: serde_json::json!({
                "speed": {"lowest_m_s": 0.8, "highest_m_s": 4.5},
                "local_outlier": {"on": true}
            }),
        },
        strips,
        strip_source: StripSource {
            path: "strips.geojson".to_owned(),
            sha256: "fedcba9876543210".repeat(4),
            crs: "EPSG:4326".to_owned(),
            inset_m: 3.048,
            check: "check".to_owned(),
            blocks_from: "file".to_owned(),
        },
        comparisons: vec![
            comparison("paired_strips", 1.2, 1.5, 6),
            comparison("permutation", 1.2, 1.6, 6),
        ],
        headline: "Paired strips are the headline because every block holds both treatments."
            .to_owned(),
        headline_values: Default::default(),
        overall_test: None,
        payoff: vec![Payoff {
            treatment: "rolled".to_owned(),
            cost_per_ac: 5.20,
            break_even_bu_ac: 0.5,
            net_per_ac: 7.28,
            net_interval_95_per_ac: [-8.32, 22.88],
            odds_it_pays: 0.83,
            price_per_bu: 10.40,
            cost_parts: vec![
                CostPart {
                    name: "rent".to_owned(),
                    per_ac: 3.0,
                },
                CostPart {
                    name: "fuel and labour".to_owned(),
                    per_ac: 2.2,
                },
            ],
            acres_per_hour: Some(38.8),
            turning_points: Some(TurningPoints {
                even_price_per_bu: Some(5.2 / 1.2),
                even_cost_per_ac: Some(12.48),
                sure_price_per_bu: None,
                sure_cost_per_ac: Some(-3.12),
            }),
            odds_at_least: vec![
                OddsAtLeast {
                    net_per_ac: 0.0,
                    gain_bu_ac: 0.5,
                    odds: 0.83,
                },
                OddsAtLeast {
                    net_per_ac: 20.0,
                    gain_bu_ac: 2.423,
                    odds: 0.05,
                },
            ],
            odds_grid: Some(OddsGrid {
                prices_per_bu: vec![9.0, 10.4, 12.0],
                costs_per_ac: vec![4.0, 5.2],
                odds: vec![vec![0.86, 0.88, 0.995], vec![0.74, 0.83, 0.91]],
            }),
        }],
        rate_response: None,
        zones: None,
        along_strips: None,
        stand: None,
        warnings: vec![Warning::new(
            "mixed_swaths",
            "Two strips are narrower than the header <30 ft>.",
        )],
    }
}
