//! `checkstrip payoff`, and what `compare` says about money and rates, as a person would run them.

use checkstrip_acceptance::{Folder, SmallFarm};
use serde_json::Value;

const ROLLING: [&str; 13] = [
    "payoff",
    "--price",
    "10.40",
    "--rent",
    "3",
    "--fuel-gal-per-h",
    "6.5",
    "--fuel-price",
    "3.60",
    "--labour-per-h",
    "25",
    "--speed",
    "10 mph",
];

#[track_caller]
fn near(found: &Value, expected: f64, tolerance: f64) {
    let found = found.as_f64().expect("a number");
    assert!(
        (found - expected).abs() < tolerance,
        "{found} is not {expected}"
    );
}

/// By hand: 48.485 x 0.8 = 38.788 ac/h; 3 + 23.40 / 38.788 + 25 / 38.788 = 4.2478 an acre, over 10.40
/// a bushel 0.40844 bu/ac; 160 acres take 4.125 h.
#[test]
fn break_even_from_options() {
    let folder = Folder::new();
    let options = ["--width", "40 ft", "--acres", "160", "--json"];
    let run = folder.run(ROLLING.into_iter().chain(options)).ended(0);
    let rolled = &run.json()["treatments"][0];
    near(&rolled["acres_per_hour"], 38.788, 1e-3);
    near(&rolled["cost_per_ac"], 4.2478, 1e-4);
    near(&rolled["break_even_bu_ac"], 0.408_44, 1e-5);
    near(&rolled["field"]["hours"], 4.125, 1e-3);
    near(&rolled["field"]["cost"], 679.65, 0.01);

    let words = folder
        .run(ROLLING.into_iter().chain(["--width", "40 ft"]))
        .ended(0);
    assert!(
        words
            .stdout
            .contains("it pays from a gain of 0.41 bu/ac on")
    );
    assert!(words.stdout.contains("manual"), "{}", words.stdout);
}

/// A trial file says it as well, before there is a log or a strip; the one of the small farm costs
/// 4.25 an acre.
#[test]
fn break_even_from_a_trial_file_without_a_harvest() {
    let farm = SmallFarm::new();
    let alone = Folder::new();
    alone.put("trial.toml", farm.folder.text("trial.toml"));
    let run = alone.run(["payoff", "trial.toml", "--json"]).ended(0);
    let rolled = &run.json()["treatments"][0];
    assert_eq!(rolled["treatment"], "rolled");
    near(&rolled["break_even_bu_ac"], 4.25 / 10.40, 1e-12);

    alone.put("trial.toml", "[field]\nname = \"an invented field\"\n");
    let run = alone.run(["payoff", "trial.toml"]).ended(1);
    assert!(run.stderr.contains("no treatment has costs") && run.stderr.contains("hint: "));
}

/// Common practice, no source: 140,000 soybeans are about a bushel.
#[test]
fn one_more_bean_and_one_more_pod() {
    let folder = Folder::new();
    let options = [
        "payoff",
        "--stand",
        "140,000",
        "--seeds-per-lb",
        "2333",
        "--json",
    ];
    let seeds = &folder.run(options).ended(0).json()["seeds"];
    near(&seeds["per_seed_bu_ac"], 1.0, 0.001);
    near(&seeds["per_pod_bu_ac"], 3.0, 0.003);
}

#[test]
fn orders_that_make_no_sense() {
    let folder = Folder::new();
    for wrong in [
        &["payoff"][..],
        &["payoff", "--price", "10"],
        &["payoff", "--price", "10", "--labour-per-h", "25"],
        &["payoff", "--price", "0", "--rent", "3"],
        &["payoff", "--stand", "140000"],
        &["payoff", "trial.toml", "--price", "10", "--rent", "3"],
        &["payoff", "--price", "10", "--rent", "3", "--speed", "10 ft"],
        &["payoff", "--price", "10", "--rent", "3", "--width", "40"],
    ] {
        let run = folder.run(wrong.iter().copied()).ended(2);
        assert!(run.stdout.is_empty() && !run.stderr.is_empty(), "{wrong:?}");
    }
    let run = folder
        .run(["payoff", "--price", "10", "--rent", "3", "--crop", "hay"])
        .ended(1);
    assert!(run.stderr.contains("soybean"));
}

/// The answer's turning points are where the net is zero.
#[test]
fn results_say_what_would_turn_the_answer() {
    let results = SmallFarm::new().results();
    let payoff = &results["payoff"][0];
    let gain = results["comparisons"][0]["advantage_bu_ac"]
        .as_f64()
        .expect("a number");
    near(
        &payoff["turning_points"]["even_cost_per_ac"],
        gain * 10.40,
        1e-9,
    );
    let grid = &payoff["odds_grid"];
    let place = |of: &Value, value: f64| {
        let mut values = of.as_array().expect("a list").iter();
        values
            .position(|v| v.as_f64() == Some(value))
            .expect("among them")
    };
    let (row, column) = (
        place(&grid["costs_per_ac"], 4.25),
        place(&grid["prices_per_bu"], 10.4),
    );
    assert_eq!(grid["odds"][row][column], payoff["odds_it_pays"]);
}

/// The small farm with its six strips named as three rates in two blocks.
fn rates() -> SmallFarm {
    let mut farm = SmallFarm::new();
    let strips = farm.strips["features"].as_array().map_or(0, Vec::len);
    for strip in 0..strips {
        farm.set_strip(strip, "treatment", ["40 lb", "0 lb", "80 lb"][strip % 3]);
        farm.set_strip(strip, "block", (strip / 3 + 1).to_string());
    }
    farm.write();
    let trial = farm.folder.text("trial.toml");
    let trial = trial.replace("check = \"check\"\n", "");
    let money = trial.find("[payoff]").expect("it has costs");
    let costs = "[payoff]\nprice_per_bu = 10.40\ncost_per_unit = 0.55\n";
    farm.folder
        .put("trial.toml", format!("{}{costs}", &trial[..money]));
    farm
}

#[test]
fn treatments_that_are_rates_get_a_curve() {
    let farm = rates();
    let results = farm.results();
    assert_eq!(results["strip_source"]["check"], "0 lb");
    let response = &results["rate_response"];
    assert_eq!(
        (&response["rate_unit"], &response["plots"]),
        (&"lb".into(), &6.into())
    );
    for curve in response["curves"].as_array().expect("a list") {
        if let Some(rate) = curve["best_rate"]["rate"].as_f64() {
            assert!((0.0..=80.0).contains(&rate));
        }
    }
    let high = results["payoff"].as_array().expect("a list").iter();
    let high = high
        .clone()
        .find(|p| p["treatment"] == "80 lb")
        .expect("it is priced");
    near(&high["cost_per_ac"], 44.0, 1e-9);
    let first = &results["comparisons"][0];
    assert_eq!(first["method"], "randomized_blocks");
    let [alone, family] = [&first["p_value"], &first["p_value_family"]].map(|p| p.as_f64());
    assert!(family > alone);
    assert!(
        farm.folder
            .text("out/report.html")
            .contains("Yield on rate")
    );
}

/// A price per unit needs units.
#[test]
fn a_cost_per_unit_of_what_is_no_rate_is_refused() {
    let mut farm = rates();
    let trial = farm.folder.text("trial.toml");
    farm.set_strip(0, "treatment", "rolled");
    farm.write();
    farm.folder.put(
        "trial.toml",
        trial.replace("[strips]\n", "[strips]\ncheck = \"0 lb\"\n"),
    );
    let run = farm.compare().ended(1);
    assert!(run.stderr.contains("cost_per_unit"), "{}", run.stderr);
}
