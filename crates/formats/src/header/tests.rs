//! What headers mean: names, units, languages, choices.

use checkstrip_model::{ColumnMap, ColumnSource, Quantity, units};

use super::names::{NAMES, ROW_WORDS, ambiguous};
use super::recognise::has_unit;
use super::*;

fn options(table: &[(Column, &str, Option<&str>)]) -> ReadOptions {
    let columns: ColumnMap = table
        .iter()
        .map(|&(column, header, unit)| {
            (
                column,
                ColumnSource {
                    column: header.into(),
                    unit: unit.map(Into::into),
                },
            )
        })
        .collect();
    ReadOptions {
        operation: None,
        columns,
        bushel_kg: 27.2155,
    }
}

fn headers(names: &[&str]) -> Vec<String> {
    names.iter().map(|&name| name.to_owned()).collect()
}

fn plain(names: &[&str]) -> Result<HeaderPlan, Problem> {
    plan(
        "log.csv",
        &headers(names),
        Container::default(),
        &options(&[]),
    )
}

fn said(header: &str) -> Option<(Column, Option<f64>)> {
    match &recognise(header, Container::default(), 27.2155)[..] {
        [] => None,
        [said] => Some((said.column, said.unit.as_ref().map(|unit| unit.1))),
        several => panic!("{header}: {several:?}"),
    }
}

#[test]
fn every_canonical_name_is_recognised_in_its_unit() {
    for &column in Column::ALL {
        let said = recognise(column.canonical_name(), Container::default(), 27.2);
        let [said] = &said[..] else {
            panic!("{column:?}: {said:?}")
        };
        assert_eq!((said.column, said.canonical), (column, true));
        if !matches!(column, Column::Lon | Column::Lat) && has_unit(column) {
            assert_eq!(said.unit.as_ref().unwrap().1, 1.0, "{column:?}");
        }
    }
}

/// The only names with several meanings within one log: those that people really use for both.
#[test]
fn names_with_several_meanings_are_known() {
    let found: Vec<&str> = ambiguous().iter().map(|(name, _)| *name).collect();
    let known = [
        "actual rate",
        "applied rate",
        "application rate",
        "Ausbringmenge",
        "Aussaatstärke",
        "Breite",
        "dose",
        "dose alvo",
        "dose aplicada",
        "dose appliquée",
        "dose cible",
        "dose de semis",
        "dose de semis cible",
        "dose prescrite",
        "dosis",
        "dosis aplicada",
        "dosis de siembra",
        "dosis objetivo",
        "dosis prescrita",
        "Istmenge",
        "Länge",
        "planned rate",
        "prescribed rate",
        "rate",
        "Saatstärke",
        "seeding rate",
        "seed rate",
        "set rate",
        "Soll-Aussaatstärke",
        "Sollmenge",
        "Soll-Saatstärke",
        "swath",
        "target rate",
        "target seeding rate",
        "target seed rate",
        "taxa",
        "taxa alvo",
        "taxa aplicada",
        "taxa de semeadura",
        "taxa prescrita",
        "track",
    ];
    let mut found: Vec<String> = found.into_iter().map(fold).collect();
    let mut known: Vec<String> = known.into_iter().map(fold).collect();
    found.sort();
    known.sort();
    assert_eq!(found, known);
}

#[test]
fn every_column_has_names_in_every_language() {
    for &column in Column::ALL {
        let (_, languages) = NAMES.iter().find(|row| row.0 == column).unwrap();
        assert!(
            languages.iter().all(|names| !names.is_empty()),
            "{column:?}"
        );
        assert!(
            languages[0]
                .iter()
                .any(|name| fold(name) == fold(column.key())),
            "{column:?}"
        );
    }
}

/// Every name of the table, written as people do, alone or with every unit of its quantity behind it, is
/// understood as one of the columns it stands under, and in that unit.
#[test]
fn every_spelling_of_every_language_is_recognised() {
    let mut tried = 0;
    for (column, languages) in NAMES {
        for name in languages.iter().copied().flatten() {
            let spelled_out = name
                .replace('ä', "ae")
                .replace('ö', "oe")
                .replace('ü', "ue")
                .replace('Ü', "Ue");
            for spelling in [
                (*name).to_owned(),
                name.to_uppercase(),
                name.replace(' ', "_"),
                name.replace([' ', '-', '\''], ""),
                spelled_out,
                checkstrip_model::spelling::plain(name),
                format!(" {name} "),
            ] {
                let said = recognise(&spelling, Container::default(), 27.2);
                assert!(
                    said.iter().any(|said| said.column == *column),
                    "{spelling:?} as {column:?}: {said:?}"
                );
                tried += 1;
                if !has_unit(*column) {
                    continue;
                }
                for unit in units::spellings(column.quantity()) {
                    let factor = units::to_si(column.quantity(), unit, 27.2).unwrap();
                    for header in [
                        format!("{spelling} ({unit})"),
                        format!("{spelling} [{unit}]"),
                        format!("{spelling}_{}", unit.replace('/', "_")),
                        format!("{spelling} {}", unit.to_uppercase()),
                    ] {
                        let said = recognise(&header, Container::default(), 27.2);
                        let same = said.iter().find(|said| said.column == *column);
                        let found = same.and_then(|said| said.unit.as_ref());
                        if same.is_some_and(|said| said.canonical) && found.is_none() {
                            // Longitude and latitude are in degrees by name.
                            assert_eq!(column.quantity(), Quantity::Angle);
                            continue;
                        }
                        assert_eq!(
                            found.map(|unit| unit.1),
                            Some(factor),
                            "{header:?}: {said:?}"
                        );
                        tried += 1;
                    }
                }
            }
        }
    }
    // Thousands, not a handful.
    assert!(tried > 20_000, "{tried}");
}

/// Headers as tables of five languages have them. Common practice, no source.
#[test]
fn headers_of_five_languages() {
    let bushel_kg = 27.2155;
    let cases: &[(&str, Column, Option<f64>)] = &[
        ("Crop Flow (lb/s)", Column::MassFlow, Some(units::KG_PER_LB)),
        ("Körnerstrom in kg/s", Column::MassFlow, None),
        ("Durchsatz [t/h]", Column::MassFlow, Some(1000.0 / 3600.0)),
        ("Débit de grain (kg/s)", Column::MassFlow, Some(1.0)),
        ("Flujo de grano (kg/s)", Column::MassFlow, Some(1.0)),
        (
            "Fluxo de grãos (t/h)",
            Column::MassFlow,
            Some(1000.0 / 3600.0),
        ),
        ("Ertrag trocken [dt/ha]", Column::Yield, Some(100.0)),
        ("Rendement (q/ha)", Column::Yield, Some(100.0)),
        ("Rendimiento seco (t/ha)", Column::Yield, Some(1000.0)),
        ("Produtividade (kg/ha)", Column::Yield, Some(1.0)),
        ("Kornfeuchte [%]", Column::Moisture, Some(1.0)),
        ("Taux d'humidité (%)", Column::Moisture, Some(1.0)),
        ("Humedad (%)", Column::Moisture, Some(1.0)),
        ("Teor de umidade %", Column::Moisture, Some(1.0)),
        ("Fahrgeschwindigkeit (km/h)", Column::Speed, Some(1.0 / 3.6)),
        (
            "Vitesse d'avancement (km/h)",
            Column::Speed,
            Some(1.0 / 3.6),
        ),
        ("VELOCIDAD_KM_H", Column::Speed, Some(1.0 / 3.6)),
        ("Velocidade (m/s)", Column::Speed, Some(1.0)),
        ("Laengengrad", Column::Lon, None),
        ("Längengrad (Grad)", Column::Lon, None),
        ("Longitud", Column::Lon, None),
        ("Geogr. Breite", Column::Lat, None),
        ("Breite (m)", Column::Width, Some(1.0)),
        ("Breite (°)", Column::Lat, Some(1.0)),
        ("Länge (m)", Column::Distance, Some(1.0)),
        ("Largeur de coupe (m)", Column::Width, Some(1.0)),
        (
            "Ancho de corte (pies)",
            Column::Width,
            Some(units::M_PER_FOOT),
        ),
        ("Largura de trabalho (m)", Column::Width, Some(1.0)),
        ("Rumo (º)", Column::Heading, Some(1.0)),
        ("track (deg)", Column::Heading, Some(1.0)),
        ("Datum/Uhrzeit", Column::Timestamp, None),
        ("Fecha y hora", Column::Timestamp, None),
        ("Data/Hora", Column::Timestamp, None),
        ("Date - heure", Column::Timestamp, None),
        ("Höhe über NN (m)", Column::Elevation, Some(1.0)),
        ("Mähdrescher", Column::Machine, None),
        ("Nº de pasada", Column::PassId, None),
        ("Kornzahl (Körner/m²)", Column::SeedRate, Some(10_000.0)),
        (
            "Population (seeds/ac)",
            Column::SeedRate,
            Some(1.0 / units::HA_PER_ACRE),
        ),
        (
            "Seeding rate (lb/ac)",
            Column::AppliedMass,
            Some(units::KG_PER_LB / units::HA_PER_ACRE),
        ),
        (
            "Rate (gal/ac)",
            Column::AppliedVolume,
            Some(units::L_PER_GALLON / units::HA_PER_ACRE),
        ),
        ("Dosis aplicada (L/ha)", Column::AppliedVolume, Some(1.0)),
        ("Ausbringmenge kg/ha", Column::AppliedMass, Some(1.0)),
        (
            "Down force (lbs)",
            Column::Downforce,
            Some(units::N_PER_LBF),
        ),
        ("Schardruck [daN]", Column::Downforce, Some(10.0)),
        ("Vacuum (inH2O)", Column::Vacuum, Some(249.088_9)),
        ("Vacío (kPa)", Column::Vacuum, Some(1000.0)),
        ("Falhas (%)", Column::Skips, Some(1.0)),
        ("Doppelstellen %", Column::Multiples, Some(1.0)),
        ("Variedad", Column::Product, None),
    ];
    // What the table leaves out on purpose or does not know is not guessed at.
    let not_known = [
        "Körnerstrom in kg/s",
        "Längengrad (Grad)",
        "Geogr. Breite",
        "Nº de pasada",
    ];
    for (header, column, factor) in cases {
        let said = recognise(header, Container::default(), bushel_kg);
        if not_known.contains(header) {
            assert_eq!(said, [], "{header}");
            continue;
        }
        assert_eq!(said.len(), 1, "{header}: {said:?}");
        assert_eq!(said[0].column, *column, "{header}");
        assert_eq!(
            said[0].unit.as_ref().map(|unit| unit.1),
            *factor,
            "{header}"
        );
    }
}

#[test]
fn the_guide_lists_every_name_and_unit() {
    let page = header_guide();
    assert_eq!(
        include_str!("../../../../docs/headers.md"),
        page,
        "run checkstrip reference headers > docs/headers.md"
    );
    for name in NAMES
        .iter()
        .flat_map(|(_, names)| names.iter().copied().flatten())
    {
        assert!(page.contains(name), "{name}");
    }
    for word in ROW_WORDS {
        assert!(page.contains(word), "{word}");
    }
    for quantity in Column::ALL.iter().map(|column| column.quantity()) {
        for unit in units::spellings(quantity) {
            let is_listed = page.split(['|', ',', '\n']).any(|word| word.trim() == unit);
            assert!(is_listed, "{quantity:?}: {unit}");
        }
    }
}

#[test]
fn units_are_read_from_the_header() {
    assert_eq!(said("Speed (mph)"), Some((Column::Speed, Some(0.44704))));
    assert_eq!(said("dist_ft"), Some((Column::Distance, Some(0.3048))));
    assert_eq!(
        said("Swath width [ft]"),
        Some((Column::Width, Some(0.3048)))
    );
    assert_eq!(
        said("mass_flow_lb_s"),
        Some((Column::MassFlow, Some(units::KG_PER_LB)))
    );
    assert_eq!(said("Grain flow kg/s"), Some((Column::MassFlow, Some(1.0))));
    assert_eq!(said("MassFlowKgS"), Some((Column::MassFlow, Some(1.0))));
    assert_eq!(said("Moisture(%)"), Some((Column::Moisture, Some(1.0))));
    assert_eq!(
        said("moisture fraction"),
        Some((Column::Moisture, Some(100.0)))
    );
    assert_eq!(said("interval_ms"), Some((Column::Interval, Some(0.001))));
    assert_eq!(said("Heading (°)"), Some((Column::Heading, Some(1.0))));
    assert_eq!(said("Time"), Some((Column::Timestamp, None)));
    assert_eq!(said("Longitude"), Some((Column::Lon, None)));
    assert_eq!(said("seconds"), None);
    assert_eq!(said("Speed (furlongs)"), None);
    // Pounds are not pounds per second.
    assert_eq!(said("flow_lbs"), None);
    assert_eq!(said("raw_yield_kg_ha"), None);
}

#[test]
fn names_cut_to_ten_characters_are_completed() {
    let short = Container {
        short_names: true,
        ..Container::default()
    };
    let said = |name| {
        let said = recognise(name, short, 27.2);
        assert!(said.len() < 2, "{name}: {said:?}");
        said.first()
            .map(|s| (s.column, s.unit.as_ref().map(|u| u.1)))
    };
    assert_eq!(said("moisture_p"), Some((Column::Moisture, Some(1.0))));
    assert_eq!(said("yield_kg_h"), Some((Column::Yield, Some(1.0))));
    assert_eq!(said("heading_de"), Some((Column::Heading, Some(1.0))));
    assert_eq!(said("mass_flow_"), Some((Column::MassFlow, None)));
    assert_eq!(said("header_dow"), Some((Column::HeaderDown, None)));
    assert_eq!(said("soil_type_"), None);
}

#[test]
fn needed_columns_without_a_unit_are_refused_with_the_line_to_write() {
    let problem = plain(&["lon", "lat", "flow", "dist"]).unwrap_err();
    assert_eq!(problem.column.as_deref(), Some("flow"));
    assert!(
        problem
            .hint
            .contains("mass_flow = { column = \"flow\", unit = \"lb/s\" }")
    );
    assert!(
        problem
            .hint
            .contains("distance = { column = \"dist\", unit = \"in\" }")
    );
    assert!(problem.hint.contains("kg/s, kg/h"));
}

#[test]
fn unneeded_columns_without_a_unit_are_set_aside() {
    let plan = plain(&["lon", "lat", "flow_kg_s", "dist_m", "speed", "elev"]).unwrap();
    assert_eq!(plan.unrecognised, ["speed", "elev"]);
    assert_eq!(plan.problems.len(), 2);
    assert!(plan.problems[0].hint.contains("speed = {"));
}

#[test]
fn customary_units_are_assumed_aloud() {
    let plan = plain(&["long", "lat", "time", "moist", "yield_bu_ac"]).unwrap();
    let unit = |column| {
        plan.columns
            .iter()
            .find(|planned| planned.column == column)
            .unwrap()
            .unit
            .clone()
    };
    assert_eq!(unit(Column::Lon), "degrees");
    assert_eq!(unit(Column::Moisture), "% (assumed)");
    assert_eq!(unit(Column::Yield), "bu/ac");
}

#[test]
fn two_headers_for_one_column_are_a_choice_to_make() {
    let problem = plain(&["lon", "lat", "flow_kg_s", "speed mph", "velocity (m/s)"]);
    let problem = problem.unwrap_err();
    assert!(
        problem.message.starts_with("2 headers fit speed"),
        "{problem}"
    );
    assert!(
        problem
            .hint
            .contains("column = \"velocity (m/s)\", unit = \"m/s\""),
        "{problem}"
    );
    // The name that exports write wins by itself.
    let plan = plain(&["lon", "lat", "flow_kg_s", "speed mph", "speed_m_s"]).unwrap();
    assert!(
        plan.columns
            .iter()
            .any(|planned| planned.header == "speed_m_s")
    );
    assert_eq!(plan.unrecognised, ["speed mph"]);
}

#[test]
fn missing_columns_are_named_with_what_there_is() {
    let problem = plain(&["east", "north", "grain"]).unwrap_err();
    assert!(
        problem.message.contains("lon, lat, mass_flow (or yield)"),
        "{problem}"
    );
    assert!(
        problem.message.contains("\"east\", \"north\", \"grain\""),
        "{problem}"
    );
    let points = Container {
        has_points: true,
        ..Container::default()
    };
    assert!(plan("a", &headers(&["flow_kg_s"]), points, &options(&[])).is_ok());
}

#[test]
fn x_and_y_are_a_last_resort() {
    let plan = plain(&["x", "y", "yield_t_ha"]).unwrap();
    assert_eq!(plan.columns[0].column, Column::Lon);
    let plan = plain(&["x", "y", "lon", "lat", "yield_t_ha"]).unwrap();
    assert_eq!(plan.unrecognised, ["x", "y"]);
}

#[test]
fn the_columns_table_beats_the_headers() {
    let table = options(&[
        (Column::MassFlow, "mass", Some("lb/s")),
        (Column::Interval, "seconds", Some("s")),
        (Column::Distance, "dist", Some("in")),
    ]);
    let names = [
        "long", "lat", "mass", "time", "seconds", "dist", "moist", "elev",
    ];
    let found = plan("a", &headers(&names), Container::default(), &table).unwrap();
    assert_eq!(found.unrecognised, ["elev"]);
    let distance = found
        .columns
        .iter()
        .find(|p| p.column == Column::Distance)
        .unwrap();
    assert_eq!(distance.factor, units::M_PER_INCH);
    let wrong = options(&[(Column::MassFlow, "mass", Some("stone"))]);
    let problem = plan("a", &headers(&names), Container::default(), &wrong).unwrap_err();
    assert!(problem.hint.contains("lb/s"), "{problem}");
}

#[test]
fn a_header_is_one_column() {
    let table = options(&[
        (Column::Speed, "a", Some("mph")),
        (Column::Distance, "A", Some("ft")),
        (Column::HeaderDown, "status", None),
    ]);
    let names = headers(&["lon", "lat", "flow_kg_s", "a", "status"]);
    let problem = plan("a", &names, Container::default(), &table).unwrap_err();
    assert!(problem.message.contains("speed and distance"), "{problem}");
    let table = options(&[(Column::HeaderDown, "status", None)]);
    let found = plan("a", &names, Container::default(), &table).unwrap();
    assert_eq!(found.status, None);
}

#[test]
fn a_bushel_must_weigh_something() {
    let unknown = ReadOptions {
        bushel_kg: f64::NAN,
        ..options(&[])
    };
    let names = headers(&["lon", "lat", "yield_bu_ac"]);
    let problem = plan("a", &names, Container::default(), &unknown).unwrap_err();
    assert!(problem.hint.contains("crop"), "{problem}");
}

#[test]
fn a_header_with_two_meanings_is_a_choice_to_make() {
    let problem = plain(&["lon", "lat", "flow_kg_s", "swath"]).unwrap_err();
    assert_eq!(problem.column.as_deref(), Some("swath"));
    assert_eq!(problem.message, "it may mean width or pass_id");
    assert!(
        problem.hint.contains(
            "width = { column = \"swath\", unit = \"ft\" }\nor\n  pass_id = { column = \"swath\" }"
        ),
        "{problem}"
    );
    // The choice settles it, and so does another header for one of the two.
    for table in [
        [(Column::PassId, "swath", None)],
        [(Column::Width, "w", Some("ft"))],
    ] {
        let names = headers(&["lon", "lat", "flow_kg_s", "swath", "w"]);
        let found = plan("a", &names, Container::default(), &options(&table)).unwrap();
        let column = |header: &str| {
            let mut planned = found.columns.iter();
            planned.find(|p| p.header == header).map(|p| p.column)
        };
        assert_eq!(column("w").or(column("swath")), Some(table[0].0));
    }
    // Its unit settles it as well.
    assert_eq!(said("swath (ft)"), Some((Column::Width, Some(0.3048))));
    // Geometries leave only one meaning.
    let points = Container {
        has_points: true,
        ..Container::default()
    };
    let names = headers(&["flow_kg_s", "Breite"]);
    let problem = plan("a", &names, points, &options(&[])).unwrap_err();
    assert_eq!(problem.message, "expected a unit for width, found none");
    let problem = plain(&["Länge", "Breite", "Ertrag (dt/ha)"]).unwrap_err();
    assert_eq!(problem.message, "it may mean lon or distance");
}

#[test]
fn the_columns_tell_the_operation() {
    let operation = |names: &[&str]| plain(names).map(|plan| plan.operation);
    assert_eq!(
        operation(&["lon", "lat", "yield_t_ha", "applied_mass_kg_ha"]),
        Ok(Operation::Harvest)
    );
    assert_eq!(
        operation(&[
            "lon",
            "lat",
            "population (seeds/ac)",
            "downforce (lb)",
            "variety"
        ]),
        Ok(Operation::Planting)
    );
    assert_eq!(
        operation(&[
            "lon",
            "lat",
            "rate (gal/ac)",
            "target rate (gal/ac)",
            "product"
        ]),
        Ok(Operation::Application)
    );
    // Rates without a unit may be anything: the choice is asked for, with a line for each.
    let problem = plain(&["lon", "lat", "singulation", "rate"]).unwrap_err();
    assert_eq!(
        problem.message,
        "it may mean seed_rate or applied_mass or applied_volume"
    );
    assert!(
        problem
            .hint
            .contains("--column \"applied_volume=rate:gal/ac\""),
        "{problem}"
    );
    // What was asked for is what is looked for.
    let harvest = ReadOptions {
        operation: Some(Operation::Harvest),
        ..options(&[])
    };
    let names = headers(&["lon", "lat", "population (seeds/ac)"]);
    let problem = plan("a", &names, Container::default(), &harvest).unwrap_err();
    assert!(
        problem.message.contains("mass_flow (or yield)")
            && problem.message.ends_with("it looks like a planting log"),
        "{problem}"
    );
}

#[test]
fn rows_may_have_columns_of_their_own() {
    let plan = plain(&[
        "lon",
        "lat",
        "Downforce (lb)",
        "Row 2 Downforce (lb)",
        "Row 1 Downforce (lb)",
        "singulation_r1_pct",
        "speed_mph",
    ])
    .unwrap();
    let rows: Vec<(Column, Option<u16>)> = plan.columns.iter().map(|c| (c.column, c.row)).collect();
    assert_eq!(
        rows,
        [
            (Column::Lon, None),
            (Column::Lat, None),
            (Column::Speed, None),
            (Column::Singulation, Some(1)),
            (Column::Downforce, Some(1)),
            (Column::Downforce, Some(2)),
        ]
    );
    assert_eq!(plan.unrecognised, ["Downforce (lb)"]);
    // Names that exports write, too: none of the rows beats the others.
    let canonical = plain(&[
        "lon",
        "lat",
        "Row 1 skips_pct",
        "row 2 skips (pct)",
        "R3 Skips pct",
    ]);
    let rows: Vec<Option<u16>> = canonical.unwrap().columns.iter().map(|c| c.row).collect();
    assert_eq!(rows, [None, None, Some(1), Some(2), Some(3)]);
    let twice = plain(&["lon", "lat", "row 1 skips", "skips row 1"]).unwrap_err();
    assert!(twice.message.starts_with("2 headers fit skips"), "{twice}");
    let both = plain(&["lon", "lat", "row", "row 1 skips %"]).unwrap_err();
    assert_eq!(both.column.as_deref(), Some("row"));
}
