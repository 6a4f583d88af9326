//! `checkstrip pool` over the results of small invented fields, as a person would run it.

use checkstrip_acceptance::{Folder, SmallFarm};
use checkstrip_invented::FieldPlan;

/// A folder with the results of three invented fields, each in a folder of its own.
fn three_fields() -> Folder {
    let season = Folder::new();
    for seed in [3, 4, 5] {
        let farm = SmallFarm::planned(FieldPlan {
            seed,
            ..SmallFarm::plan()
        });
        let mut results = farm.results();
        results["field"]["name"] = format!("Invented field {seed}").into();
        season.put(&format!("season/{seed}/results.json"), results.to_string());
    }
    season
}

#[test]
fn the_results_of_many_fields_become_one_answer() {
    let season = three_fields();
    let run = season
        .run(["pool", "season/*", "--out", "pooled", "--json"])
        .ended(0);
    let pooled = season.json("pooled/pooled.json");
    assert_eq!(run.json(), pooled);
    assert!(run.stderr.contains("warning (few_degrees_of_freedom)"));
    assert_eq!(
        season.files_in("pooled"),
        [
            "forest.png",
            "pooled.csv",
            "pooled.json",
            "report.html",
            "report.pdf"
        ]
    );
    let rolled = &pooled["treatments"][0];
    assert_eq!(
        (&rolled["treatment"], &rolled["fields"]),
        (&"rolled".into(), &3.into())
    );
    let mean = rolled["advantage_kg_ha"].as_f64().expect("a number");
    let entries = rolled["entries"].as_array().expect("a list");
    let found = entries
        .iter()
        .map(|e| e["advantage_kg_ha"].as_f64().expect("a number"));
    let (least, most) = found.fold((f64::MAX, f64::MIN), |(l, m), f| (l.min(f), m.max(f)));
    assert!((least..=most).contains(&mean), "{least} {mean} {most}");
    // The trial file costs 4.25 an acre at 10.40 a bushel.
    let even = rolled["payoff"]["break_even_bu_ac"]
        .as_f64()
        .expect("a number");
    assert!((even - 4.25 / 10.40).abs() < 1e-9);

    let words = season
        .run(["pool", "season/*", "--out", "pooled", "--units", "si"])
        .ended(0);
    assert!(
        words
            .stdout
            .starts_with("Over 3 fields, rolled strips yielded ")
    );
    assert!(words.stdout.contains("kg/ha") && !words.stdout.contains("bu/ac"));
    let quiet = season
        .run(["pool", "season/*", "--out", "pooled", "--quiet"])
        .ended(0);
    assert_eq!((quiet.stdout.as_str(), quiet.stderr.as_str()), ("", ""));
}

#[test]
fn what_cannot_be_pooled_ends_with_one_and_a_wrong_line_with_two() {
    let season = three_fields();
    let run = season.run(["pool", "season/3", "--out", "pooled"]).ended(1);
    assert!(run.stderr.contains("pooling takes two") && run.stderr.contains("hint: "));
    let run = season
        .run([
            "pool",
            "season/*",
            "--treatment",
            "harrowed",
            "--out",
            "pooled",
        ])
        .ended(1);
    assert!(run.stderr.contains("the treatments are rolled"));
    let run = season.run(["pool", "nowhere", "--out", "pooled"]).ended(1);
    assert!(
        run.stderr
            .starts_with("error: nowhere: expected results files")
    );
    assert!(!season.join("pooled").exists());
    let _ = season.run(["pool", "--out", "pooled"]).ended(2);
    let _ = season.run(["pool", "season/*"]).ended(2);
}
