//! What goes to a GIS: strips with their results, and the yield surface; read back by checkstrip itself, by GDAL and by
//! geopandas, and made again with numpy and scipy.

use checkstrip_acceptance::{Folder, SmallFarm, oracle, python, season_of_fields, skipped};
use serde_json::{Value, json};
use std::process::Command;

const COMPARE: &str = "compare trial.toml --out out --export csv --quiet";

fn with(options: &str) -> Vec<String> {
    let all = format!("{COMPARE} {options}");
    all.split_whitespace().map(str::to_owned).collect()
}

/// What GDAL's `program` prints; `None`, said aloud, when it is not installed.
fn gdal(program: &str, arguments: &[&str]) -> Option<String> {
    let Ok(ran) = Command::new(program).args(arguments).output() else {
        skipped(&format!(
            "{program} is not here (Debian: apt-get install gdal-bin)"
        ));
        return None;
    };
    let said = String::from_utf8_lossy(&ran.stderr).into_owned();
    assert!(ran.status.success(), "{program} {arguments:?}: {said}");
    Some(String::from_utf8(ran.stdout).expect("UTF-8"))
}

/// The small farm with one more strip, on ground that was never harvested.
fn farm_with_an_empty_strip() -> SmallFarm {
    let mut farm = SmallFarm::new();
    let mut strip = farm.strips["features"][0].clone();
    strip["properties"]["strip_id"] = "never cut".into();
    strip["properties"]["block"] = "elsewhere".into();
    // A hundredth of a degree east, some 800 m.
    fn moved(coordinates: &mut Value) {
        match coordinates.as_array_mut().expect("coordinates") {
            point if point[0].is_number() => {
                point[0] = json!(point[0].as_f64().expect("longitude") + 0.01);
            }
            parts => parts.iter_mut().for_each(moved),
        }
    }
    moved(&mut strip["geometry"]["coordinates"]);
    farm.strips["features"]
        .as_array_mut()
        .expect("strips")
        .push(strip);
    farm.write();
    farm
}

/// The properties of a GeoJSON text's features.
fn properties(text: &str) -> Vec<Value> {
    let json: Value = serde_json::from_str(text).expect("JSON");
    let features = json["features"].as_array().expect("features").iter();
    features
        .map(|feature| feature["properties"].clone())
        .collect()
}

/// What every strip's attributes must be, from `results.json`.
fn expected(results: &Value) -> Vec<Vec<(&'static str, Value)>> {
    let strips = results["strips"].as_array().expect("strips");
    let of_strip = |strip: &Value| {
        let mut values: Vec<(&'static str, Value)> = [
            "strip_id",
            "treatment",
            "block",
            "records",
            "area_m2",
            "drawn_area_m2",
            "covered_fraction",
            "dry_mass_kg",
            "yield_kg_ha",
            "yield_bu_ac",
            "moisture_pct",
            "mixed_fraction",
        ]
        .map(|key| (key, strip[key].clone()))
        .to_vec();
        let comparisons = results["comparisons"].as_array().expect("comparisons");
        let headline = comparisons
            .iter()
            .find(|c| c["treatment"] == strip["treatment"]);
        let of = |key: &str| headline.map_or(Value::Null, |c| c.pointer(key).expect("it").clone());
        let differences = of("/block_differences");
        let in_block = differences.as_array().and_then(|all| {
            let mut all = all.iter();
            all.find(|difference| difference["block"] == strip["block"])
        });
        let payoff = results["payoff"].as_array().expect("payoff").iter();
        let payoff = payoff
            .clone()
            .find(|p| p["treatment"] == strip["treatment"]);
        values.extend([
            (
                "diff_kg_ha",
                in_block.map_or(Value::Null, |d| d["difference_kg_ha"].clone()),
            ),
            ("gain_kg_ha", of("/advantage_kg_ha")),
            ("low_kg_ha", of("/interval_95_kg_ha/0")),
            ("high_kg_ha", of("/interval_95_kg_ha/1")),
            ("gain_bu_ac", of("/advantage_bu_ac")),
            ("low_bu_ac", of("/interval_95_bu_ac/0")),
            ("high_bu_ac", of("/interval_95_bu_ac/1")),
            ("method", of("/method")),
            (
                "odds_pays",
                payoff.map_or(Value::Null, |p| p["odds_it_pays"].clone()),
            ),
        ]);
        values
    };
    strips.iter().map(of_strip).collect()
}

#[track_caller]
fn carries(found: &[Value], expected: &[Vec<(&str, Value)>], form: &str, share: f64) {
    assert_eq!(found.len(), expected.len(), "{form}");
    for (found, expected) in found.iter().zip(expected) {
        for (name, value) in expected {
            let name = match form {
                "shp" => &name[..name.len().min(10)],
                _ => name,
            };
            let found = &found[name];
            let is_same = match (found.as_f64(), value.as_f64()) {
                (Some(found), Some(value)) => (found - value).abs() <= share * value.abs(),
                _ => found == value,
            };
            assert!(is_same, "{form}, {name}: {found} against {value}");
        }
    }
}

#[test]
fn strips_carry_their_results_in_every_form() {
    let farm = farm_with_an_empty_strip();
    let folder = &farm.folder;
    let _ = folder
        .run(with("--gis gpkg --gis parquet --gis shapefile"))
        .ended(0);
    let results = folder.json("out/results.json");
    let expected = expected(&results);
    let (empty, full) = (expected.last().expect("strips"), &expected[0]);
    assert_eq!(empty[8], ("yield_kg_ha", Value::Null));
    assert!(full[8].1.is_number() && full[13].1.is_number(), "{full:?}");
    // The check has yields, and no gain over itself.
    let check = expected
        .iter()
        .find(|strip| strip[1].1 == "check")
        .expect("a check");
    assert!(check[8].1.is_number() && check[13].1.is_null());
    // The table says the same, rounded.
    let table = folder.text("out/strips.csv");
    let first: Vec<&str> = table.lines().nth(1).expect("a strip").split(',').collect();
    let rounded: f64 = first[8].parse().expect("a yield");
    assert!((rounded - full[8].1.as_f64().expect("a yield")).abs() <= 0.005);

    for form in ["gpkg", "parquet", "shp"] {
        let file = format!("out/strips_results.{form}");
        let _ = folder
            .run(["convert", &file, "back.geojson", "--quiet"])
            .ended(0);
        let text = folder.text("back.geojson");
        carries(&properties(&text), &expected, form, 1e-12);
        // The ground is that of the strips as drawn, and is read as strips.
        let read: Value = serde_json::from_str(&text).expect("JSON");
        for (found, drawn) in (0..).zip(farm.strips["features"].as_array().expect("strips")) {
            let corner =
                |geometry: &Value| {
                    let mut at = &geometry["coordinates"];
                    let mut all = Vec::new();
                    while !at[0][0].is_number() {
                        at = &at[0];
                    }
                    for point in at.as_array().expect("a ring") {
                        all.push([0, 1].map(|axis| {
                            (point[axis].as_f64().expect("degrees") * 1e8).round() as i64
                        }));
                    }
                    all.sort_unstable();
                    all.dedup();
                    all
                };
            let found = corner(&read["features"][found]["geometry"]);
            let drawn = corner(&drawn["geometry"]);
            assert_eq!(found.len(), drawn.len(), "{form}");
            // Half a millimetre may be rounded up here and down there.
            for (found, drawn) in found.iter().flatten().zip(drawn.iter().flatten()) {
                assert!((found - drawn).abs() <= 1, "{form}: {found} {drawn}");
            }
        }
        let again = format!(
            "compare --harvest log.csv --strips {file} --check check --crop soybean --out again --quiet"
        );
        let _ = folder.run(again.split(' ')).ended(0);
        let again = folder.json("again/results.json");
        let of = |results: &Value| results["comparisons"][0]["advantage_kg_ha"].as_f64();
        let differs = of(&again).expect("a gain") - of(&results).expect("a gain");
        assert!(differs.abs() < 1e-3, "{form}: {differs}");
    }
}

/// Outside reference: GDAL (`ogr2ogr`), of the forms that Debian's build reads.
#[test]
fn gdal_reads_the_strips() {
    let farm = farm_with_an_empty_strip();
    let _ = farm.folder.run(with("--gis gpkg --gis shapefile")).ended(0);
    let expected = expected(&farm.folder.json("out/results.json"));
    for form in ["gpkg", "shp"] {
        let file = farm.folder.join(&format!("out/strips_results.{form}"));
        let file = file.display().to_string();
        let Some(text) = gdal("ogr2ogr", &["-f", "GeoJSON", "/vsistdout/", &file]) else {
            return;
        };
        // GDAL writes 15 significant digits.
        carries(&properties(&text), &expected, form, 1e-12);
    }
}

/// Outside reference: geopandas, with areas on the ellipsoid by pyproj.
#[test]
fn geopandas_reads_the_strips() {
    let Some(python) = python() else { return };
    let farm = farm_with_an_empty_strip();
    let _ = farm
        .folder
        .run(with("--gis gpkg --gis parquet --gis shapefile"))
        .ended(0);
    let expected = expected(&farm.folder.json("out/results.json"));
    let forms = ["gpkg", "parquet", "shp"];
    let files = forms.map(|form| farm.folder.join(&format!("out/strips_results.{form}")));
    let said = oracle(&python, "strip_results.py", files);
    for (form, said) in forms.iter().zip(said.as_array().expect("files")) {
        assert_eq!(said["epsg"], 4326, "{form}");
        let strips = said["strips"].as_array().expect("strips");
        carries(strips, &expected, form, 1e-12);
        for strip in strips {
            let drawn = match *form {
                "shp" => &strip["drawn_area"],
                _ => &strip["drawn_area_m2"],
            };
            let (ground, drawn) = (strip["ground_m2"].as_f64(), drawn.as_f64());
            let (ground, drawn) = (ground.expect("an area"), drawn.expect("an area"));
            // Corners are written to about a millimetre.
            assert!(
                (ground - drawn).abs() < 1e-5 * drawn,
                "{form}: {ground} {drawn}"
            );
        }
    }
}

/// Files of an earlier run in forms that are not asked for any more are taken away; what is not ours stays.
#[test]
fn what_is_not_wanted_any_more_goes() {
    let farm = SmallFarm::new();
    let of_gis = || -> Vec<String> {
        let files = farm.folder.files_in("out").into_iter();
        files
            .filter(|file| file.starts_with("strips_results") || file.starts_with("yield."))
            .collect()
    };
    let _ = farm
        .folder
        .run(with(
            "--gis shapefile --gis gpkg --surface inverse-distance",
        ))
        .ended(0);
    let endings = ["cpg", "dbf", "gpkg", "prj", "shp", "shx"];
    let mut all: Vec<String> = endings
        .map(|ending| format!("strips_results.{ending}"))
        .to_vec();
    all.extend(["yield.json".to_owned(), "yield.tif".to_owned()]);
    assert_eq!(of_gis(), all);
    let _ = farm.folder.run(with("--gis parquet")).ended(0);
    assert_eq!(of_gis(), ["strips_results.parquet"]);
    farm.folder.put("out/yield.tif", "somebody else's");
    let _ = farm.folder.run(with("")).ended(0);
    assert_eq!(of_gis(), ["yield.tif"]);
}

fn number(value: &Value, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} is no number in {value}"))
}

/// The raster's bands as GDAL reads them: centres and values, in files.
fn bands(folder: &Folder, raster: &str, count: usize) -> Option<Vec<String>> {
    let tif = folder.join(raster).display().to_string();
    let band = |number: usize| {
        let to = folder
            .join(&format!("band{number}.xyz"))
            .display()
            .to_string();
        let band = number.to_string();
        gdal(
            "gdal_translate",
            &["-q", "-of", "XYZ", "-b", &band, &tif, &to],
        )?;
        Some(to)
    };
    (1..=count).map(band).collect()
}

/// Outside references: GDAL reads the raster; pyproj, numpy and scipy make it again from the cleaned log alone.
#[test]
fn the_surface_is_the_one_that_numpy_makes() {
    let Some(python) = python() else { return };
    let farm = SmallFarm::new();
    let folder = &farm.folder;
    let _ = folder.run(with("--surface block-kriging")).ended(0);
    let line = "surface out/cleaned.csv --crop soybean --method inverse-distance --cell 7.5m --units si --out idw.tif --quiet";
    let _ = folder.run(line.split(' ')).ended(0);
    for (raster, count) in [("out/yield.tif", 2), ("idw.tif", 1)] {
        let Some(bands) = bands(folder, raster, count) else {
            return;
        };
        let json = raster.replace(".tif", ".json");
        let record = folder.json(&json);
        let mut arguments = vec![
            folder.join("out/cleaned.csv").display().to_string(),
            folder.join(&json).display().to_string(),
        ];
        arguments.extend(bands);
        let said = oracle(&python, "surface.py", arguments);
        assert_eq!(said["records"], record["input"]["used"], "{said}");
        assert_eq!(said["samples"], record["samples"], "{said}");
        assert_eq!(said["cells"], record["raster"]["cells"], "{said}");
        assert_eq!(said["wrong_side"], 0, "{said}");
        // Positions in the export are rounded to a millimetre, its yields to 0.001 kg/ha, the raster to 32 bits.
        assert!(number(&said, "differs_kg_ha") < 1.0, "{said}");
        if count == 2 {
            assert!(number(&said, "differs_error_kg_ha") < 0.1, "{said}");
            assert!(number(&said, "lags") < 1e-3, "{said}");
            // The rounding of the export, which moves the lags, moves the least criterion with them.
            let ours = number(&record["variogram"], "criterion");
            assert!(
                ours <= number(&said, "criterion") * (1.0 + 1e-3),
                "{ours} {said}"
            );
        }
    }
}

/// The surface of a cleaned export is that of the comparison which wrote it.
#[test]
fn a_cleaned_export_gives_the_surface_of_its_comparison() {
    let farm = SmallFarm::new();
    let folder = &farm.folder;
    let _ = folder.run(with("--surface block-kriging")).ended(0);
    let run = folder
        .run("surface out/cleaned.csv --crop soybean --out again.tif --json".split(' '))
        .ended(0);
    let again: Value = serde_json::from_str(&run.stdout).expect("JSON");
    assert_eq!(again, folder.json("again.json"));
    let first = folder.json("out/yield.json");
    assert_eq!(first["schema"], "checkstrip-surface/1");
    assert_eq!(
        (&first["method"], &again["method"]),
        (&json!("block_kriging"), &json!("block_kriging"))
    );
    for key in [
        "cells", "columns", "rows", "west_m", "north_m", "crs", "unit",
    ] {
        assert_eq!(first["raster"][key], again["raster"][key], "{key}");
    }
    for key in ["nugget_kg2_ha2", "sill_kg2_ha2", "range_m"] {
        let (a, b) = (
            number(&first["variogram"], key),
            number(&again["variogram"], key),
        );
        assert!((a - b).abs() < 1e-3 * a, "{key}: {a} {b}");
    }
    // The log itself is named with its digest; the export is another file.
    let digest = |record: &Value| record["input"]["files"][0]["sha256"].clone();
    assert_eq!(
        digest(&first),
        folder.json("out/results.json")["input"]["files"][0]["sha256"]
    );
    assert_ne!(digest(&first), digest(&again));
    // The same again, to the byte.
    let bytes = std::fs::read(folder.join("out/yield.tif")).expect("a raster");
    let _ = folder.run(with("--surface block-kriging")).ended(0);
    assert!(bytes == std::fs::read(folder.join("out/yield.tif")).expect("a raster"));
}

#[test]
fn units_and_words_of_a_surface() {
    let farm = SmallFarm::new();
    let folder = &farm.folder;
    let farm_units = folder
        .run("surface log.csv --crop soybean --out a.tif".split(' '))
        .ended(0);
    for said in [
        "cells of 5 m with a yield, WGS 84 / UTM zone",
        "bu/ac, mean",
        "Block kriging, ",
        " variogram: nugget ",
        "wrote a.tif\nwrote a.json",
    ] {
        assert!(
            farm_units.stdout.contains(said),
            "{said}: {}",
            farm_units.stdout
        );
    }
    let _ = folder
        .run("surface log.csv --crop soybean --out b.tif --units si --quiet".split(' '))
        .ended(0);
    let (a, b) = (folder.json("a.json"), folder.json("b.json"));
    assert_eq!(
        (&a["raster"]["unit"], &b["raster"]["unit"]),
        (&json!("bu/ac"), &json!("kg/ha"))
    );
    assert_eq!(a["raster"]["mean_kg_ha"], b["raster"]["mean_kg_ha"]);
    let [Some(in_bushels), Some(in_kg)] = ["a.tif", "b.tif"].map(|file| {
        let file = folder.join(file).display().to_string();
        gdal("gdalinfo", &["-json", "-stats", &file])
    }) else {
        return;
    };
    let [in_bushels, in_kg]: [Value; 2] =
        [in_bushels, in_kg].map(|text| serde_json::from_str(&text).expect("JSON"));
    // 60 lb bushels: 1 bu/ac is 67.25 kg/ha (exact units, docs of `checkstrip_model::units`).
    let mean = |said: &Value, band: usize| number(&said["bands"][band], "mean");
    for band in 0..2 {
        let (kg, bushels) = (mean(&in_kg, band), mean(&in_bushels, band));
        // GDAL tells means to 0.001 of their unit.
        let rounding = 0.0005 * (67.2511 + 1.0);
        assert!((kg - 67.2511 * bushels).abs() < rounding, "{kg} {bushels}");
    }
    assert!((mean(&in_kg, 0) - number(&b["raster"], "mean_kg_ha")).abs() < 0.01);
    assert_eq!(in_kg["bands"][0]["unit"], "kg/ha");
    assert_eq!(
        in_bushels["bands"][1]["description"],
        "kriging standard error (bu/ac)"
    );
}

#[test]
fn a_surface_that_cannot_be_is_refused_in_words() {
    let farm = SmallFarm::new();
    for (line, says) in [
        (
            "surface log.csv --crop soybean --out yield.png",
            "yield.png: is no name of a GeoTIFF",
        ),
        (
            "surface log.csv --crop soybean --cell 500m --out yield.tif",
            "a cell of 500 m was asked for, expected 0.5 to 100 m",
        ),
        (
            "surface nowhere.csv --crop soybean --out yield.tif",
            "nowhere.csv",
        ),
    ] {
        let before = farm.folder.files_in(".");
        let run = farm.folder.run(line.split(' ')).ended(1);
        assert!(
            run.stderr.contains(says) && run.stderr.contains("hint:"),
            "{}",
            run.stderr
        );
        assert_eq!(run.stdout, "");
        assert_eq!(farm.folder.files_in("."), before);
    }
}

/// A season's field is done again when other files are asked for, and not when they are named in another order.
#[test]
fn a_season_writes_what_is_asked_for() {
    let folder = season_of_fields(&["home"]);
    let status = |options: &str| {
        let line = format!("batch SEASON.toml --out out --quiet {options}");
        let _ = folder.run(line.split_whitespace()).ended(0);
        folder.json("out/ledger.json")["fields"][0]["status"].clone()
    };
    assert_eq!(status(""), "done");
    assert_eq!(
        status("--gis gpkg --gis shapefile --surface block-kriging"),
        "done"
    );
    for file in [
        "strips_results.gpkg",
        "strips_results.shp",
        "yield.tif",
        "yield.json",
    ] {
        assert!(folder.join(&format!("out/home/{file}")).is_file(), "{file}");
    }
    assert_eq!(
        status("--gis shapefile --gis gpkg --surface block-kriging"),
        "unchanged"
    );
    assert_eq!(status("--gis gpkg --surface block-kriging"), "done");
    assert_eq!(status("--gis gpkg --surface inverse-distance"), "done");
}
