//! The server behind the drawing page, over the real binary and its socket: who is answered, that nothing
//! is written over unseen, and that its figures are those of `compare`.

use checkstrip_acceptance::{DrawingPage, Folder, SmallFarm, WGS_84};
use serde_json::{Value, json};

fn farm() -> (SmallFarm, DrawingPage) {
    let farm = SmallFarm::new();
    let page = DrawingPage::serve(&farm.folder, &[]);
    (farm, page)
}

fn message(answer: &Value) -> &str {
    answer["message"].as_str().expect("a message")
}

#[test]
fn without_the_token_there_is_nothing() {
    let (_farm, page) = farm();
    let host = [("Host", page.host.as_str())];
    assert_eq!(page.token_path.len(), 34);
    let wrong = page.token_path.replace(|c: char| c.is_ascii_digit(), "a");
    for path in [
        "/",
        "/api/trial",
        "/favicon.svg",
        &format!("{wrong}api/trial"),
        &page.token_path[..20],
        &page.token_path.to_uppercase(),
    ] {
        let answer = page.ask("GET", path, &host, "");
        assert!(message(&answer.with_status(404)).contains("nothing here"));
    }
    let slashless = page.ask("GET", page.token_path.trim_end_matches('/'), &host, "");
    assert_eq!(slashless.status, 303);
    assert_eq!(slashless.header("location"), Some(page.token_path.as_str()));
}

#[test]
fn other_sites_are_turned_away() {
    let (_farm, page) = farm();
    let path = format!("{}api/trial", page.token_path);
    let port = page.host.rsplit_once(':').expect("a port").1;
    let own = page.host.as_str();
    let by_name = format!("localhost:{port}");
    let rebound = format!("farm.example:{port}");
    // A name that somebody made point here, no name, a page elsewhere, a file, two origins.
    for headers in [
        vec![("Host", rebound.as_str())],
        vec![("Host", "127.0.0.1")],
        vec![("Host", own), ("Origin", "http://farm.example")],
        vec![("Host", own), ("Origin", "null")],
        vec![("Host", own), ("Origin", &format!("https://{own}"))],
        vec![
            ("Host", own),
            ("Origin", &format!("http://{own}")),
            ("Origin", "http://a.example"),
        ],
    ] {
        let answer = page.ask("GET", &path, &headers, "");
        assert_eq!(answer.status, 403, "{headers:?}");
        assert!(answer.header("content-security-policy").is_some());
    }
    let no_host = page.send(format!("GET {path} HTTP/1.0\r\n\r\n").as_bytes());
    assert_eq!(no_host.status, 403);
    for headers in [
        vec![("Host", by_name.as_str())],
        vec![("Host", own), ("Origin", &format!("http://{own}"))],
    ] {
        assert_eq!(
            page.ask("GET", &path, &headers, "").status,
            200,
            "{headers:?}"
        );
    }
}

#[test]
fn a_browser_is_told_to_load_nothing_else() {
    let (_farm, page) = farm();
    for (path, kind) in [
        ("", "text/html"),
        ("page.js", "text/javascript"),
        ("page.css", "text/css"),
        ("favicon.svg", "image/svg+xml"),
        ("api/trial", "application/json"),
        ("api/records/east", "application/octet-stream"),
    ] {
        let answer = page.get(path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(
            answer
                .header("content-type")
                .expect("a type")
                .starts_with(kind),
            "{path}"
        );
        let policy = answer.header("content-security-policy").expect("a policy");
        assert!(
            policy.starts_with("default-src 'none'; script-src 'self'"),
            "{policy}"
        );
        assert!(policy.contains("frame-ancestors 'none'"));
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(answer.header("referrer-policy"), Some("no-referrer"));
        assert_eq!(answer.header("cache-control"), Some("no-store"));
    }
}

#[test]
fn no_path_leads_out_of_what_is_served() {
    let (farm, page) = farm();
    farm.folder
        .put("trial-results/secret.txt", "not for browsers");
    farm.folder.put("trial-results/cleaned.geojson", "{}");
    for path in [
        "report/../trial.toml",
        "report/..%2ftrial.toml",
        "report/%2e%2e/trial.toml",
        "report/maps/../../trial.toml",
        "report//etc/passwd",
        "report/%2fetc%2fpasswd",
        "report/secret.txt",
        "report/cleaned.geojson",
        "../trial.toml",
        "trial.toml",
        "api/records/..%2f..%2ftrial.toml",
        "api/applied/..%2ftrial.toml",
        "api/background/1",
    ] {
        let answer = page.get(path);
        assert!(
            matches!(answer.status, 400 | 404),
            "{path}: {}",
            answer.status
        );
        let body = String::from_utf8_lossy(&answer.body);
        assert!(
            !body.contains("soybean") && !body.contains("not for"),
            "{path}: {body}"
        );
    }
}

#[test]
fn bodies_that_are_too_big_or_no_json() {
    let (_farm, page) = farm();
    let path = format!("{}api/compare", page.token_path);
    let json_type = ("Content-Type", "application/json");
    let host = ("Host", page.host.as_str());
    let big = format!("{{\"strips\": [], \"page\": \"{}\"}}", "x".repeat(9 << 20));
    let answer = page.ask("POST", &path, &[host, json_type], &big);
    assert!(message(&answer.with_status(413)).contains("8 MB"));
    // What a form of another site could send.
    let answer = page.ask(
        "POST",
        &path,
        &[host, ("Content-Type", "text/plain")],
        "{\"strips\": []}",
    );
    assert!(message(&answer.with_status(415)).contains("JSON"));
    let answer = page.ask("POST", &path, &[host, json_type], "{\"strips\": [");
    let said = answer.with_status(400);
    assert!(message(&said).contains("cannot be understood"), "{said}");
    let answer = page.ask("POST", &path, &[host, json_type], "{\"strips\": 7}");
    let _ = answer.with_status(422);
    assert_eq!(page.get("api/compare").status, 405);
}

/// The live answer to the strips as they lie on disk, and the results that `compare` writes of them.
fn both_results(folder: &Folder, page: &DrawingPage) -> (Value, Value) {
    let trial = page.trial();
    let live = page.post(
        "api/compare",
        &json!({ "strips": trial["strips"]["strips"] }),
    );
    let live = live.with_status(200)["results"].clone();
    let _ = folder
        .run(["compare", "trial.toml", "--out", "by-compare"])
        .ended(0);
    (live, folder.json("by-compare/results.json"))
}

#[test]
fn figures_are_those_of_compare_to_the_last_digit() {
    let (farm, page) = farm();
    let (live, written) = both_results(&farm.folder, &page);
    assert_eq!(live, written);
    assert!(
        !written["comparisons"]
            .as_array()
            .expect("comparisons")
            .is_empty()
    );
    let trial = page.trial();
    assert_eq!(trial["records"], written["input"]["records"]);
}

/// Moves a corner of the first strip, renames the second, copies the third beside the field.
fn edit(strips: &Value) -> Value {
    let mut strips = strips.clone();
    let corner = &mut strips[0]["polygons"][0][0][1];
    corner[0] = json!(corner[0].as_f64().expect("metres") + 0.7312345678901234);
    strips[1]["treatment"] = json!("left alone");
    let mut copy = strips[2].clone();
    copy["id"] = json!("copy");
    copy["from"] = strips[2]["id"].clone();
    for corner in copy["polygons"][0][0].as_array_mut().expect("corners") {
        corner[0] = json!(corner[0].as_f64().expect("metres") + 1000.0 / 3.0);
    }
    strips.as_array_mut().expect("strips").push(copy);
    strips
}

/// Edits strips over `page`, saves them, and holds the live answer before and after saving against what
/// `compare` finds in the file.
fn edited_saved_and_compared(folder: &Folder, page: &DrawingPage) -> Value {
    let before = page.trial();
    let strips = edit(&before["strips"]["strips"]);
    let live = page.post("api/compare", &json!({ "strips": strips }));
    let mut live = live.with_status(200)["results"].clone();
    let saved = page
        .save(&strips, &before["strips"]["revision"])
        .with_status(200);
    let (mut after, mut written) = both_results(folder, page);
    assert_eq!(after, written);
    // Only the bytes of a GeoPackage say when it was saved.
    for results in [&mut live, &mut after, &mut written] {
        results["strip_source"]["sha256"] = Value::Null;
    }
    assert_eq!(live, written);
    assert_eq!(saved["revision"], page.trial()["strips"]["revision"]);
    let kept = saved["kept_as"].as_str().expect("an earlier version");
    assert!(kept.contains(".before-2"), "{kept}");
    assert!(folder.join(kept).exists(), "{kept}");
    saved
}

#[test]
fn geojson_is_saved_and_compared() {
    let mut farm = SmallFarm::new();
    farm.set_strip(2, "seed lot", "A-3");
    farm.set_strip(0, "depth", 1.25);
    farm.strips["owner"] = json!({ "since": 1998 });
    farm.write();
    let before = farm.folder.text("strips.geojson");
    let page = DrawingPage::serve(&farm.folder, &[]);
    let saved = edited_saved_and_compared(&farm.folder, &page);
    assert_eq!(
        farm.folder.text(saved["kept_as"].as_str().expect("a name")),
        before
    );
    let (old, new) = (farm.strips.clone(), farm.folder.json("strips.geojson"));
    assert_eq!(new["owner"], old["owner"]);
    assert_eq!(new["features"][0]["properties"]["depth"], 1.25);
    let last = new["features"]
        .as_array()
        .expect("features")
        .last()
        .expect("one");
    assert_eq!(last["properties"]["seed lot"], "A-3");
    // Nobody moved the third strip.
    assert_eq!(new["features"][2], old["features"][2]);
    assert_eq!(
        new["features"][1]["geometry"],
        old["features"][1]["geometry"]
    );
}

#[test]
fn a_shapefile_is_saved_and_compared() {
    let farm = SmallFarm::new();
    farm.strip_shapes().put(&farm, "drawn", WGS_84);
    let trial = farm
        .folder
        .text("trial.toml")
        .replace("strips.geojson", "drawn.shp");
    farm.folder.put("trial.toml", trial);
    let page = DrawingPage::serve(&farm.folder, &[]);
    let _ = edited_saved_and_compared(&farm.folder, &page);
    let records = shapefile::read(farm.folder.join("drawn.shp")).expect("a Shapefile");
    assert_eq!(records.len(), 7);
    assert_eq!(page.trial()["strips"]["format"], "Shapefile");
}

#[test]
fn a_geopackage_is_saved_and_compared() {
    let farm = SmallFarm::new();
    let _ = farm
        .folder
        .run(["convert", "strips.geojson", "drawn.gpkg"])
        .ended(0);
    let trial = farm
        .folder
        .text("trial.toml")
        .replace("strips.geojson", "drawn.gpkg");
    farm.folder.put("trial.toml", trial);
    let page = DrawingPage::serve(&farm.folder, &[]);
    let _ = edited_saved_and_compared(&farm.folder, &page);
    assert_eq!(page.trial()["strips"]["format"], "GeoPackage");
}

#[test]
fn two_pages_do_not_lose_each_others_work() {
    let (farm, page) = farm();
    let trial = page.trial();
    let (strips, first) = (&trial["strips"]["strips"], &trial["strips"]["revision"]);
    let mut mine = strips.clone();
    mine[0]["treatment"] = json!("rolled twice");
    let saved = page.save(&mine, first).with_status(200);
    let mut theirs = strips.clone();
    theirs[1]["treatment"] = json!("sprayed");
    let on_disk = farm.folder.text("strips.geojson");
    let refused = page.save(&theirs, first).with_status(409);
    assert!(message(&refused).contains("changed by another page"));
    assert_eq!(refused["revision"], saved["revision"]);
    assert_eq!(refused["strips"]["strips"][0]["treatment"], "rolled twice");
    assert_eq!(farm.folder.text("strips.geojson"), on_disk);
    // A map program beside it.
    farm.folder.put(
        "strips.geojson",
        on_disk.replace("rolled twice", "rolled thrice"),
    );
    let refused = page.save(&theirs, &saved["revision"]).with_status(409);
    assert_eq!(refused["strips"]["strips"][0]["treatment"], "rolled thrice");
    let report = json!({ "base_revision": saved["revision"] });
    let _ = page.post("api/report", &report).with_status(409);
    // Having seen it, over it.
    let _ = page.save(&theirs, &refused["revision"]).with_status(200);
    assert!(farm.folder.text("strips.geojson").contains("sprayed"));
}

#[test]
fn a_grower_begins_with_no_strips() {
    let farm = SmallFarm::new();
    let drawn = DrawingPage::serve(&farm.folder, &[]).trial();
    std::fs::remove_file(farm.folder.join("strips.geojson")).expect("it is there");
    let page = DrawingPage::serve(&farm.folder, &[]);
    let trial = page.trial();
    assert_eq!(trial["strips"]["strips"], json!([]));
    assert_eq!(trial["strips"]["revision"], "");
    let all = drawn["strips"]["strips"].as_array().expect("strips");
    for some in [&all[..0], &all[..1], &all[..2]] {
        let answer = page
            .post("api/compare", &json!({ "strips": some }))
            .with_status(200);
        let results = &answer["results"];
        assert_eq!(results["strips"].as_array().map(Vec::len), Some(some.len()));
        if some.len() < 2 {
            assert_eq!(
                results["warnings"][0]["code"], "not_enough_yet",
                "{results}"
            );
            assert_eq!(results["comparisons"], json!([]));
        }
    }
    let saved = page.save(&json!(all), &json!("")).with_status(200);
    assert_eq!(saved["kept_as"], Value::Null);
    let (live, written) = both_results(&farm.folder, &page);
    assert_eq!(live, written);
}

#[test]
fn strips_that_cannot_be_are_told_one_by_one() {
    let (farm, page) = farm();
    let before = farm.folder.text("strips.geojson");
    let trial = page.trial();
    let mut strips = trial["strips"]["strips"].clone();
    let ring = &mut strips[0]["polygons"][0][0];
    let (a, b) = (ring[1].clone(), ring[2].clone());
    (ring[1], ring[2]) = (b, a);
    strips[1]["treatment"] = json!("  ");
    strips[2]["id"] = strips[3]["id"].clone();
    for answer in [
        page.post("api/compare", &json!({ "strips": strips })),
        page.save(&strips, &trial["strips"]["revision"]),
    ] {
        let said = answer.with_status(422);
        let problems = said["problems"].as_array().expect("problems");
        let words: Vec<&str> = problems.iter().map(message).collect();
        assert!(words[0].contains("crosses"), "{words:?}");
        assert!(words[1].contains("no treatment"), "{words:?}");
        assert!(words[2].contains("two strips are called"), "{words:?}");
        assert_eq!(problems[0]["strip_id"], strips[0]["id"]);
    }
    assert_eq!(farm.folder.text("strips.geojson"), before);
    // Two on one ground: no error, but said.
    let mut strips = trial["strips"]["strips"].clone();
    strips[1]["polygons"] = strips[0]["polygons"].clone();
    let checked = page
        .post("api/check", &json!({ "strips": strips }))
        .with_status(200);
    assert!(
        message(&checked["problems"][0]).contains("same ground"),
        "{checked}"
    );
    let strips = &trial["strips"]["strips"];
    let checked = page
        .post("api/check", &json!({ "strips": strips }))
        .with_status(200);
    assert_eq!(checked["problems"], json!([]));
}

#[test]
fn cleaning_follows_its_settings() {
    let (farm, page) = farm();
    let first = page.post("api/clean", &json!({})).with_status(200);
    let settings = json!({ "grain_delay": 8.0, "pass_start_s": 20.0 });
    let other = page
        .post("api/clean", &json!({ "settings": settings }))
        .with_status(200);
    assert_eq!(
        (first["cleaning"].as_u64(), other["cleaning"].as_u64()),
        (Some(0), Some(1))
    );
    assert_eq!(other["grain_delay_s"], 8.0);
    let removed = |answer: &Value| answer["removed"]["pass_start"].as_u64().expect("a count");
    assert!(removed(&other) > removed(&first));
    // What is drawn is what is told.
    let status = page.get("api/records/status?cleaning=1").body;
    let statuses = page.trial()["statuses"].clone();
    let place = statuses
        .as_array()
        .expect("statuses")
        .iter()
        .position(|s| s["key"] == "pass_start");
    let drawn = status
        .iter()
        .filter(|byte| usize::from(**byte) == place.expect("it is listed"));
    assert_eq!(drawn.count() as u64, removed(&other));
    let strips = page.trial()["strips"]["strips"].clone();
    let live = page.post(
        "api/compare",
        &json!({ "strips": strips, "settings": settings }),
    );
    let live = live.with_status(200);
    assert_eq!(live["cleaning"], 1);
    let text = farm.folder.text("trial.toml");
    farm.folder.put(
        "trial.toml",
        format!("{text}\n[cleaning]\ngrain_delay = 8.0\npass_start_s = 20.0\n"),
    );
    assert_eq!(live["results"], farm.results());
    for (settings, says) in [
        (json!({ "pass_start_s": -1 }), "pass_start_s"),
        (json!({ "no_such": 1 }), "no_such"),
        (json!({ "grain_delay": "soon" }), "grain_delay"),
    ] {
        let said = page
            .post("api/clean", &json!({ "settings": settings }))
            .with_status(422);
        assert!(message(&said).contains(says), "{said}");
    }
}

#[test]
fn a_choice_is_saved_to_the_trial_file() {
    let (farm, page) = farm();
    let trial = page.trial();
    let body = json!({
        "strips": trial["strips"]["strips"],
        "base_revision": trial["strips"]["revision"],
        "inset_m": 3.048,
        "settings": { "pass_end_s": 9.0 },
        "money": { "price_per_bu": 11.5, "treatments": { "rolled": { "rent_per_ac": 2.5 } } },
    });
    let saved = page.post("api/save", &body).with_status(200);
    assert!(saved["trial_kept_as"].is_string(), "{saved}");
    let (live, written) = both_results(&farm.folder, &page);
    assert_eq!(live, written);
    assert_eq!(written["strip_source"]["inset_m"], 3.048);
    assert_eq!(written["cleaning"]["settings"]["pass_end_s"], 9.0);
    assert_eq!(written["payoff"][0]["cost_per_ac"], 2.5);
}

#[test]
fn the_report_is_that_of_compare() {
    let (farm, page) = farm();
    let trial = page.trial();
    let body = json!({ "base_revision": trial["strips"]["revision"] });
    let done = page.post("api/report", &body).with_status(200);
    let _ = farm
        .folder
        .run(["compare", "trial.toml", "--out", "by-compare"])
        .ended(0);
    assert_eq!(
        farm.folder.files_in("trial-results"),
        farm.folder.files_in("by-compare")
    );
    for file in farm.folder.files_in("by-compare") {
        let read =
            |folder: &str| std::fs::read(farm.folder.join(folder).join(&file)).expect("read");
        assert!(
            read("trial-results") == read("by-compare"),
            "{file} differs"
        );
    }
    let path = done["report"].as_str().expect("a path");
    let report = page.get(
        path.strip_prefix(&page.token_path)
            .expect("behind the token"),
    );
    assert_eq!(report.status, 200);
    let policy = report.header("content-security-policy").expect("a policy");
    assert!(
        policy.contains("sandbox") && !policy.contains("script-src"),
        "{policy}"
    );
    assert_eq!(
        report.body,
        std::fs::read(farm.folder.join("by-compare/report.html")).expect("read")
    );
}

#[test]
fn strips_are_outlined_where_the_roller_was() {
    let farm = SmallFarm::new();
    farm.folder.put("roller.csv", farm.roller_log());
    let page = DrawingPage::serve(&farm.folder, &["--applied", "roller.csv"]);
    let trial = page.trial();
    let applied = &trial["applied"][0];
    assert_eq!(applied["operation"], "application");
    let rolled = farm
        .harvest
        .strips
        .strips
        .iter()
        .filter(|s| s.treatment == "rolled")
        .count();
    assert_eq!(applied["passes"].as_u64(), Some(rolled as u64));
    let passes = page.get("api/applied/1").with_status(200)["passes"].clone();
    assert_eq!(passes.as_array().map(Vec::len), Some(rolled));
    let ask = |passes: Value| {
        let body = json!({ "applied": "1", "by": "treatment", "name": "rolled", "passes": passes });
        page.post("api/outline", &body).with_status(200)["strips"].clone()
    };
    assert_eq!(ask(json!([2])).as_array().map(Vec::len), Some(1));
    let all = ask(Value::Null);
    assert_eq!(all.as_array().map(Vec::len), Some(rolled));
    // Ground of an outline against that of the strip as drawn, by the shoelace formula.
    let area = |strip: &Value| {
        let ring = strip["polygons"][0][0].as_array().expect("a ring");
        let at = |corner: &Value, axis: usize| corner[axis].as_f64().expect("metres");
        let twice: f64 = ring
            .windows(2)
            .map(|side| at(&side[0], 0) * at(&side[1], 1) - at(&side[1], 0) * at(&side[0], 1))
            .sum();
        twice.abs() / 2.0
    };
    let drawn = trial["strips"]["strips"].as_array().expect("strips");
    let drawn: f64 = drawn
        .iter()
        .filter(|s| s["treatment"] == "rolled")
        .map(area)
        .sum();
    let outlined: f64 = all.as_array().expect("strips").iter().map(area).sum();
    assert!(
        (outlined / drawn - 1.0).abs() < 0.01,
        "{outlined} m2 against {drawn}"
    );
    // What was put on, under the records of the harvest: 1 on rolled ground, nothing elsewhere.
    let keys: Vec<&str> = trial["quantities"]
        .as_array()
        .expect("quantities")
        .iter()
        .filter_map(|q| q["key"].as_str())
        .collect();
    assert!(keys.contains(&"applied.1.applied_mass"), "{keys:?}");
    let bytes = page.get("api/records/applied.1.applied_mass").body;
    let values: Vec<f32> = bytes
        .chunks_exact(4)
        .map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]]))
        .collect();
    assert_eq!(Some(values.len() as u64), trial["records"].as_u64());
    let covered = values.iter().filter(|v| **v == 1.0).count() as f64 / values.len() as f64;
    assert!((0.1..0.8).contains(&covered), "{covered}");
    assert!(values.iter().all(|v| v.is_nan() || *v == 1.0));
    let nameless = json!({ "applied": "1", "by": "treatment" });
    let said = page.post("api/outline", &nameless).with_status(422);
    assert!(message(&said).contains("no name"), "{said}");
    let product = json!({ "applied": "1", "by": "product" });
    let said = page.post("api/outline", &product).with_status(422);
    assert!(
        message(&said).contains("does not say which product"),
        "{said}"
    );
    assert_eq!(
        page.post("api/outline", &json!({ "applied": "7", "by": "rate" }))
            .status,
        404
    );
}

#[test]
fn columns_are_in_driving_order_and_edges_beside_them() {
    let (_farm, page) = farm();
    let trial = page.trial();
    let floats = |key: &str| -> Vec<f32> {
        let bytes = page.get(&format!("api/records/{key}")).body;
        bytes
            .chunks_exact(4)
            .map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]]))
            .collect()
    };
    let (east, north, width) = (floats("east"), floats("north"), floats("width"));
    let length = floats("length");
    let mut checked = 0;
    let pass = page.get("api/records/pass").body;
    let pass: Vec<u32> = pass
        .chunks_exact(4)
        .map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]))
        .collect();
    let time = page.get("api/records/time").body;
    let time: Vec<f64> = time
        .chunks_exact(8)
        .map(|b| f64::from_le_bytes(b.try_into().expect("eight")))
        .collect();
    assert!(
        time.windows(2).all(|two| two[0] <= two[1]),
        "the farm's clock is right"
    );
    let edges = page.get("api/edges").with_status(200)["passes"].clone();
    for (at, summary) in trial["passes"]
        .as_array()
        .expect("passes")
        .iter()
        .enumerate()
    {
        let number = |key: &str| summary[key].as_u64().expect("a number") as usize;
        let records = number("first")..number("first") + number("count");
        assert!(
            records
                .clone()
                .all(|r| pass[r] == 0 || pass[r] as usize == number("number"))
        );
        assert_eq!(pass[records.start] as usize, number("number"));
        // The cutting edge of the last record with ground is the end of both edges, half a width to
        // either side.
        let Some(last) = records.rev().find(|&r| pass[r] > 0 && length[r] > 0.0) else {
            assert_eq!(edges[at]["centre"], json!([]));
            continue;
        };
        checked += 1;
        let end = |side: &str| {
            let line = edges[at][side].as_array().expect("a line");
            let corner = line.last().expect("a corner");
            [
                corner[0].as_f64().expect("metres"),
                corner[1].as_f64().expect("metres"),
            ]
        };
        let (left, right, middle) = (end("left"), end("right"), end("centre"));
        let across = (left[0] - right[0]).hypot(left[1] - right[1]);
        assert!((across - f64::from(width[last])).abs() < 0.01, "{across}");
        let off = (middle[0] - f64::from(east[last])).hypot(middle[1] - f64::from(north[last]));
        assert!(off < 0.01, "{off}");
    }
    assert!(checked > 20, "{checked}");
    assert_eq!(page.get("api/records/no_such").status, 404);
    assert_eq!(page.get("api/records/yield?cleaning=9").status, 404);
}

#[test]
fn what_cannot_be_served_is_said() {
    let farm = SmallFarm::new();
    let run = |options: &[&str]| {
        let arguments = ["draw", "trial.toml", "--no-browser"];
        let run = farm.folder.run(arguments.iter().chain(options)).ended(1);
        farm.folder.redacted(&run.stderr)
    };
    let page = DrawingPage::serve(&farm.folder, &[]);
    let port = page.host.rsplit_once(':').expect("a port").1;
    assert!(
        run(&["--port", port]).contains("give another --port"),
        "port in use"
    );
    assert!(run(&["--applied", "log.csv"]).contains("is a harvest log"));
    assert!(run(&["--background", "trial.toml"]).contains("GeoTIFF"));
    let trial = farm.folder.text("trial.toml");
    farm.folder
        .put("trial.toml", trial.replace("strips.geojson", "strips.kml"));
    assert!(run(&[]).contains("GeoJSON, Shapefile or GeoPackage"));
    farm.folder
        .put("trial.toml", trial.replace("log.csv", "no-such.csv"));
    assert!(run(&[]).contains("no-such.csv"));
}

#[cfg(unix)]
#[test]
fn ctrl_c_is_an_end_like_any_other() {
    let (_farm, page) = farm();
    let _ = page.trial();
    assert_eq!(page.interrupt(), Some(0));
}
