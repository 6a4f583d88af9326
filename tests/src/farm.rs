//! Invented fields on disk. Nothing in them is taken from a real farm.

use crate::{Folder, Table};
use checkstrip_invented::{FieldPlan, Harvest, InventedField, Season, write_season};
use checkstrip_model::{Strip, StripSet};
use serde_json::{Value, json};
use std::fmt::Write;

/// A small invented field (26 passes of 260 m, three blocks of two strips) in a throwaway folder:
/// `log.csv`, `strips.geojson` and `trial.toml`, for tests that spoil one of them.
#[derive(Debug)]
pub struct SmallFarm {
    /// Where it lies.
    pub folder: Folder,
    /// The log as text.
    pub log: Table,
    /// The strips as GeoJSON.
    pub strips: Value,
    /// The harvest, with its truth.
    pub harvest: Harvest,
}

/// Metres of a degree of latitude at 43 N, near enough to lay out a test field.
pub const NORTH_M: f64 = 111_109.0;
/// The same of longitude.
pub const EAST_M: f64 = 81_542.0;

const TRIAL: &str = "\
[field]
name = \"An invented small field\"
crop = \"soybean\"

[harvest]
logs = \"log.csv\"

[strips]
file = \"strips.geojson\"
check = \"check\"

[payoff]
price_per_bu = 10.40
[payoff.treatments.rolled]
other_per_ac = 4.25
";

impl Default for SmallFarm {
    fn default() -> SmallFarm {
        SmallFarm::planned(SmallFarm::plan())
    }
}

impl SmallFarm {
    /// The field, written to a folder of its own.
    pub fn new() -> SmallFarm {
        SmallFarm::default()
    }

    /// Its plan, for tests that change it.
    pub fn plan() -> FieldPlan {
        FieldPlan {
            passes: 26,
            pass_length_m: 260.0,
            blocks: 3,
            ..FieldPlan::default()
        }
    }

    /// The field after another plan.
    pub fn planned(plan: FieldPlan) -> SmallFarm {
        let harvest = InventedField::new(plan)
            .expect("a plan that works")
            .harvest();
        let farm = SmallFarm {
            folder: Folder::new(),
            log: Table::of_log(&harvest.log),
            strips: strips_geojson(&harvest.strips),
            harvest,
        };
        farm.write();
        farm
    }

    /// Writes log and strips as they are now, and the trial file.
    pub fn write(&self) {
        self.folder.put("log.csv", self.log.csv());
        self.folder.put("strips.geojson", self.strips.to_string());
        self.folder.put("trial.toml", TRIAL);
    }

    /// Compares as the trial file says, into `out`.
    pub fn compare(&self) -> crate::Run {
        self.folder.run(["compare", "trial.toml", "--out", "out"])
    }

    /// The results of a comparison that must work.
    #[track_caller]
    pub fn results(&self) -> Value {
        let _ = self.compare().ended(0);
        self.folder.json("out/results.json")
    }

    /// The message of a run that cannot be done, after which nothing may lie in `out`.
    #[track_caller]
    pub fn refusal(&self, run: crate::Run) -> String {
        let run = run.ended(1);
        assert_eq!(run.stdout, "");
        assert_eq!(self.folder.files_in("out"), [""; 0], "files were left");
        assert!(run.stderr.starts_with("error: "), "{}", run.stderr);
        self.folder.redacted(&run.stderr)
    }

    /// The log of a roller on its way over the rolled strips, a pass each, and nothing else.
    pub fn roller_log(&self) -> String {
        self.roller_log_over(|_, strip| strip.treatment == "rolled")
    }

    /// The log of a roller on its way over the strips of which `is_driven`, told place and strip, is true.
    pub fn roller_log_over(&self, is_driven: impl Fn(usize, &Strip) -> bool) -> String {
        let mut log =
            String::from("timestamp_s,lon,lat,width_m,implement down,Applied mass (kg/ha)\n");
        let mut time = 0.0;
        for (at, strip) in self.harvest.strips.strips.iter().enumerate() {
            if !is_driven(at, strip) {
                continue;
            }
            // The middles of the two short sides of a rectangle, in metres.
            let ring = strip.ground.0[0].exterior();
            let corners: Vec<[f64; 2]> = ring
                .coords()
                .take(4)
                .map(|c| [(c.x + 40.0) * EAST_M, (c.y - 43.0) * NORTH_M])
                .collect();
            let side = |a: usize| {
                let [from, to] = [corners[a], corners[(a + 1) % 4]];
                let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
                ((to[0] - from[0]).hypot(to[1] - from[1]), middle)
            };
            let first = usize::from(side(0).0 > side(1).0);
            let (width_m, [from_e, from_n]) = side(first);
            let (_, [to_e, to_n]) = side((first + 2) % 4);
            let steps = 130;
            for step in 0..=steps {
                let share = f64::from(step) / f64::from(steps);
                let lon = -40.0 + (from_e + share * (to_e - from_e)) / EAST_M;
                let lat = 43.0 + (from_n + share * (to_n - from_n)) / NORTH_M;
                time += if step == 0 { 60.0 } else { 1.0 };
                writeln!(log, "{time},{lon:.9},{lat:.9},{width_m:.3},1,1").expect("a text");
            }
        }
        log
    }

    /// Sets an attribute of a strip.
    pub fn set_strip(&mut self, strip: usize, attribute: &str, value: impl Into<Value>) {
        self.strips["features"][strip]["properties"][attribute] = value.into();
    }
}

/// The message of the warning `code` in a results file.
#[track_caller]
pub fn warning(results: &Value, code: &str) -> String {
    let warnings = results["warnings"].as_array().expect("warnings");
    let found = warnings.iter().find(|w| w["code"] == code);
    let found = found.unwrap_or_else(|| panic!("no warning {code} in {warnings:#?}"));
    found["message"].as_str().expect("a message").to_owned()
}

/// Strips as GeoJSON in WGS 84.
pub fn strips_geojson(set: &StripSet) -> Value {
    let features: Vec<Value> = set
        .strips
        .iter()
        .map(|strip| {
            let ring = |line: &geo::LineString<f64>| -> Vec<[f64; 2]> {
                line.coords().map(|c| [c.x, c.y]).collect()
            };
            let parts: Vec<Vec<Vec<[f64; 2]>>> = strip
                .ground
                .iter()
                .map(|part| vec![ring(part.exterior())])
                .collect();
            json!({
                "type": "Feature",
                "properties": {
                    "treatment": strip.treatment, "block": strip.block, "strip_id": strip.strip_id
                },
                "geometry": { "type": "MultiPolygon", "coordinates": parts },
            })
        })
        .collect();
    json!({ "type": "FeatureCollection", "features": features })
}

/// A season of small invented fields, all alike, each in a folder of these names, with a `SEASON.toml` that
/// finds them.
pub fn season_of_fields(fields: &[&str]) -> Folder {
    let farm = SmallFarm::new();
    let folder = Folder::new();
    folder.put(
        "SEASON.toml",
        "[season]\nname = \"An invented season\"\ntrials = [\"*/trial.toml\"]\n",
    );
    for field in fields {
        for file in ["log.csv", "strips.geojson", "trial.toml"] {
            folder.put(&format!("{field}/{file}"), farm.folder.text(file));
        }
    }
    folder
}

/// The season of `checkstrip demo`, written to the folder `season` of a throwaway folder.
pub fn season() -> (Folder, Season) {
    let folder = Folder::new();
    let season = write_season(&folder.join("season")).expect("the season can be written");
    (folder, season)
}
