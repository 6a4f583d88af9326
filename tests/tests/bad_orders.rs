//! Orders that cannot be carried out: trial files with a mistake in them, places that cannot be
//! written, wrong command lines.

use checkstrip_acceptance::{Folder, SmallFarm};

/// The message for a trial file in which `from` reads `to`.
#[track_caller]
fn refusal_of(from: &str, to: &str) -> String {
    let farm = SmallFarm::new();
    let trial = farm.folder.text("trial.toml");
    assert!(trial.contains(from));
    farm.folder.put("trial.toml", trial.replace(from, to));
    farm.refusal(farm.compare())
}

#[test]
fn a_crop_nobody_knows() {
    insta::assert_snapshot!(refusal_of("soybean", "soya"));
}

#[test]
fn a_crop_nobody_knows_on_the_command_line() {
    let farm = SmallFarm::new();
    let line = "compare --harvest log.csv --strips strips.geojson --crop soya --out out";
    insta::assert_snapshot!(farm.refusal(farm.folder.run(line.split(' '))));
}

#[test]
fn no_trial_file() {
    let farm = SmallFarm::new();
    let run = farm.folder.run(["compare", "tiral.toml", "--out", "out"]);
    insta::assert_snapshot!(farm.refusal(run));
}

#[test]
fn a_trial_file_that_is_no_toml() {
    insta::assert_snapshot!(refusal_of("[strips]", "[strips"));
}

#[test]
fn a_trial_file_that_is_a_picture() {
    let farm = SmallFarm::new();
    farm.folder
        .put("trial.toml", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff\xfe");
    insta::assert_snapshot!(farm.refusal(farm.compare()));
}

#[test]
fn a_key_nobody_knows() {
    insta::assert_snapshot!(refusal_of("check = ", "cheque = "));
}

#[test]
fn a_cleaning_setting_nobody_knows() {
    insta::assert_snapshot!(refusal_of(
        "[strips]",
        "[cleaning]\ngrain_dealy = 3\n[strips]"
    ));
}

#[test]
fn a_cleaning_setting_that_makes_no_sense() {
    insta::assert_snapshot!(refusal_of(
        "[strips]",
        "[cleaning]\ngrain_delay = 900\n[strips]"
    ));
}

#[test]
fn a_check_that_no_strip_has() {
    insta::assert_snapshot!(refusal_of("check = \"check\"", "check = \"plain\""));
}

#[test]
fn a_cost_of_a_treatment_that_no_strip_has() {
    insta::assert_snapshot!(refusal_of("treatments.rolled", "treatments.ploughed"));
}

#[test]
fn a_pattern_that_no_log_fits() {
    insta::assert_snapshot!(refusal_of("log.csv", "harvest/*.csv"));
}

#[test]
fn a_pattern_on_the_command_line_that_no_log_fits() {
    let farm = SmallFarm::new();
    let line = "compare --harvest harvest/*.csv --strips strips.geojson --out out";
    insta::assert_snapshot!(farm.refusal(farm.folder.run(line.split(' '))));
}

#[test]
fn a_width_of_zero_feet() {
    insta::assert_snapshot!(refusal_of("[strips]", "width = \"0 ft\"\n[strips]"));
}

#[test]
fn a_width_in_a_unit_nobody_knows() {
    insta::assert_snapshot!(refusal_of("[strips]", "width = \"30 cubits\"\n[strips]"));
}

#[test]
fn a_column_in_a_unit_nobody_knows() {
    insta::assert_snapshot!(refusal_of(
        "[strips]",
        "[harvest.columns]\nmass_flow = { column = \"mass_flow_kg_s\", unit = \"firkin/s\" }\n\
         [strips]"
    ));
}

#[test]
fn a_column_that_is_not_in_the_log() {
    insta::assert_snapshot!(refusal_of(
        "[strips]",
        "[harvest.columns]\nmass_flow = { column = \"mass\", unit = \"lb/s\" }\n[strips]"
    ));
}

#[test]
fn a_column_nobody_knows() {
    insta::assert_snapshot!(refusal_of(
        "[strips]",
        "[harvest.columns]\nflow = { column = \"mass\" }\n[strips]"
    ));
}

/// Every command that writes, into a folder below something that is no folder.
#[track_caller]
fn below_a_file(line: &str) -> String {
    let farm = SmallFarm::new();
    farm.folder.put("file", "in the way");
    let run = farm.folder.run(line.split(' ')).ended(1);
    assert_eq!(farm.folder.text("file"), "in the way");
    farm.folder.redacted(&run.stderr)
}

#[test]
fn compare_into_a_folder_below_a_file() {
    insta::assert_snapshot!(below_a_file("compare trial.toml --out file/out"));
}

#[test]
fn clean_into_a_folder_below_a_file() {
    insta::assert_snapshot!(below_a_file("clean log.csv --crop soybean --out file/out"));
}

#[test]
fn demo_into_a_folder_below_a_file() {
    insta::assert_snapshot!(below_a_file("demo --out file/out"));
}

#[test]
fn map_into_a_folder_below_a_file() {
    insta::assert_snapshot!(below_a_file(
        "map log.csv --crop soybean --out file/map.png"
    ));
}

#[test]
fn man_into_a_folder_below_a_file() {
    insta::assert_snapshot!(below_a_file("man --out file/man"));
}

#[test]
fn map_into_a_folder_that_is_not_there() {
    insta::assert_snapshot!(below_a_file(
        "map log.csv --crop soybean --out nowhere/map.png"
    ));
}

#[test]
fn compare_where_a_folder_has_the_name_of_a_result() {
    let farm = SmallFarm::new();
    std::fs::create_dir_all(farm.folder.join("out/results.json/in the way")).expect("folders");
    let run = farm.compare().ended(1);
    insta::assert_snapshot!(farm.folder.redacted(&run.stderr));
}

#[cfg(unix)]
#[test]
fn compare_into_a_folder_that_may_not_be_written() {
    use std::os::unix::fs::PermissionsExt;
    let farm = SmallFarm::new();
    let locked = farm.folder.join("locked");
    std::fs::create_dir(&locked).expect("a folder");
    let mode = |mode| {
        std::fs::set_permissions(&locked, std::fs::Permissions::from_mode(mode)).expect("mode");
    };
    mode(0o555);
    if std::fs::write(locked.join("probe"), "").is_ok() {
        checkstrip_acceptance::skipped("permissions do not bind this user");
        return;
    }
    let run = farm
        .folder
        .run(["compare", "trial.toml", "--out", "locked/out"]);
    mode(0o755);
    insta::assert_snapshot!(farm.folder.redacted(&run.ended(1).stderr));
}

/// Wrong command lines end with 2, say how it goes, and touch nothing.
#[track_caller]
fn wrong(line: &str) -> String {
    let folder = Folder::new();
    let run = folder
        .run(line.split(' ').filter(|word| !word.is_empty()))
        .ended(2);
    assert_eq!(run.stdout, "");
    assert_eq!(folder.files_in("."), [""; 0]);
    run.stderr
}

#[test]
fn wrong_no_command() {
    insta::assert_snapshot!(wrong(""));
}

#[test]
fn wrong_command() {
    insta::assert_snapshot!(wrong("compair trial.toml"));
}

#[test]
fn wrong_option() {
    insta::assert_snapshot!(wrong("compare trial.toml --outt out"));
}

#[test]
fn wrong_units() {
    insta::assert_snapshot!(wrong("compare trial.toml --units imperial"));
}

#[test]
fn wrong_inset() {
    insta::assert_snapshot!(wrong(
        "compare --harvest a.csv --strips s.geojson --inset 10"
    ));
}

#[test]
fn wrong_negative_width() {
    insta::assert_snapshot!(wrong("inspect a.csv --width=-30ft"));
}

#[test]
fn wrong_harvest_without_strips() {
    insta::assert_snapshot!(wrong("compare --harvest a.csv"));
}

#[test]
fn wrong_nothing_to_compare() {
    insta::assert_snapshot!(wrong("compare"));
}

#[test]
fn wrong_trial_file_and_logs() {
    insta::assert_snapshot!(wrong(
        "compare trial.toml --harvest a.csv --strips s.geojson"
    ));
}

#[test]
fn wrong_clean_without_a_folder() {
    insta::assert_snapshot!(wrong("clean a.csv"));
}

#[test]
fn wrong_shell() {
    insta::assert_snapshot!(wrong("completions tcsh"));
}
