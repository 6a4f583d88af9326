//! Sets of task data written here by the standard's layout, all invented, and read as a grower's would be.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use checkstrip_model::{Column, ColumnSource, FieldLog, Operation};
use proptest::prelude::*;

use crate::{
    ReadOptions, StripOptions, read_boundary, read_line, read_log, read_strips, read_zones,
};

/// A machine with a receiver 1 m ahead of its reference point and a header 4.5 m ahead, of three sections of
/// 3 m; the yield sensor is in a bin.
const DEVICE: &str = r#"<DVC A="DVC1" B="Invented combine" D="A00E840000000001" F="00000000000001" G="FF000000006E65">
  <DET A="DET1" B="1" C="1" D="Combine" E="0" F="0"/>
  <DET A="DET2" B="2" C="7" D="Receiver" E="1" F="1"><DOR A="20"/><DOR A="21"/></DET>
  <DET A="DET3" B="3" C="2" D="Header" E="2" F="1"><DOR A="22"/><DOR A="21"/></DET>
  <DET A="DET4" B="4" C="4" D="Left" E="3" F="3"><DOR A="22"/><DOR A="23"/><DOR A="26"/></DET>
  <DET A="DET5" B="5" C="4" D="Middle" E="4" F="3"><DOR A="22"/><DOR A="21"/><DOR A="26"/></DET>
  <DET A="DET6" B="6" C="4" D="Right" E="5" F="3"><DOR A="22"/><DOR A="24"/><DOR A="26"/></DET>
  <DPT A="20" B="0086" C="1000"/><DPT A="21" B="0087" C="0"/><DPT A="22" B="0086" C="4500"/>
  <DPT A="23" B="0087" C="-3000"/><DPT A="24" B="0087" C="3000"/><DPT A="26" B="0046" C="3000"/>
  <DPD A="40" B="E038" C="1" D="1" E="Straw moisture" F="50"/>
  <DVP A="50" B="-1000" C="0.01" D="1" E="%"/>
</DVC>"#;

const FIELD: &str = r#"<CTP A="CTP1" B="Soybean"/><PFD A="PFD1" C="North forty" D="10000" G="CTP1">
  <PLN A="1"><LSG A="1"><PNT A="2" C="43.0" D="-93.0"/><PNT A="2" C="43.0" D="-92.99"/>
    <PNT A="2" C="43.01" D="-92.99"/><PNT A="2" C="43.01" D="-93.0"/></LSG>
    <LSG A="2"><PNT A="2" C="43.004" D="-92.996"/><PNT A="2" C="43.004" D="-92.995"/>
    <PNT A="2" C="43.005" D="-92.995"/></LSG></PLN>
  <GGP A="GGP1" B="Planting"><GPN A="GPN1" B="West edge" C="1"><LSG A="5"><PNT A="6" C="43.0" D="-93.0"/>
    <PNT A="7" C="43.01" D="-93.0"/></LSG></GPN></GGP></PFD>"#;

fn task(inside: &str) -> String {
    format!(r#"<TSK A="TSK1" B="Harvest" E="PFD1" G="4">{inside}</TSK>"#)
}

fn document(inside: &str) -> String {
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<ISO11783_TaskData VersionMajor="4" VersionMinor="2" DataTransferOrigin="2">{inside}</ISO11783_TaskData>"#
    )
}

const HEADER: &str = r#"<TIM A="" D="4"><PTN A="" B="" C="" D=""/>
  <DLV A="0057" B="" C="DET1"/><DLV A="0063" B="" C="DET1"/><DLV A="00A1" B="" C="DET3"/>
  <DLV A="005A" B="" C="DET1"/><DLV A="E038" B="" C="DET1"/></TIM>"#;

/// A record north of 43 N at `step` × 2 m, one a second from 6 October 2026, 14:00 local time.
fn record(step: u32, status: u8, values: &[(u8, i32)]) -> Vec<u8> {
    let mut bytes = (50_400_000 + step * 1_000).to_le_bytes().to_vec();
    bytes.extend(17_080_u16.to_le_bytes());
    for number in [
        430_000_000 + 180 * step as i32,
        -930_000_000,
        300_000 + step as i32,
    ] {
        bytes.extend(number.to_le_bytes());
    }
    bytes.extend([status, values.len() as u8]);
    for (at, value) in values {
        bytes.push(*at);
        bytes.extend(value.to_le_bytes());
    }
    bytes
}

/// Ten records: flow 5 kg/s, then 6 from the fifth; moisture 13.5 %; all sections at work, then the left one
/// alone, then none.
fn records() -> Vec<u8> {
    let news: [&[(u8, i32)]; 10] = [
        &[
            (0, 5_000_000),
            (1, 135_000),
            (2, 0b01_0101),
            (3, 7),
            (4, 2_400),
        ],
        &[],
        &[],
        &[],
        &[(0, 6_000_000)],
        &[],
        &[(2, 0b00_0001)],
        &[],
        &[(2, 0)],
        &[(2, -1)],
    ];
    (0..10)
        .flat_map(|step| record(step, 4, news[step as usize]))
        .collect()
}

struct Set(tempfile::TempDir);

impl Set {
    fn new(files: &[(&str, &[u8])]) -> Set {
        let set = Set(tempfile::tempdir().unwrap());
        std::fs::create_dir(set.path()).unwrap();
        for (name, content) in files {
            std::fs::write(set.path().join(name), content).unwrap();
        }
        set
    }

    /// The harvest, with `change` made to its documents.
    fn harvest(change: impl Fn(&str) -> String) -> Set {
        let inside = format!("{DEVICE}{FIELD}{}", task(r#"<TLG A="TLG00001" C="1"/>"#));
        let files = [
            ("taskdata.xml", document(&inside)),
            ("TLG00001.xml", HEADER.to_owned()),
        ];
        let files = files.map(|(name, text)| (name, change(&text)));
        Set::new(&[
            (files[0].0, files[0].1.as_bytes()),
            (files[1].0, files[1].1.as_bytes()),
            ("TLG00001.BIN", &records()),
        ])
    }

    fn path(&self) -> PathBuf {
        self.0.path().join("TaskData")
    }

    /// The set zipped, its entries in `folder`.
    fn zipped(&self, folder: &str) -> PathBuf {
        let path = self.0.path().join("set.zip");
        let mut zip = zip::ZipWriter::new(std::fs::File::create(&path).unwrap());
        for entry in std::fs::read_dir(self.path()).unwrap() {
            let file = entry.unwrap().path();
            let name = format!("{folder}{}", file.file_name().unwrap().to_string_lossy());
            zip.start_file(name, zip::write::SimpleFileOptions::default())
                .unwrap();
            zip.write_all(&std::fs::read(file).unwrap()).unwrap();
        }
        zip.finish().unwrap();
        path
    }
}

fn read(path: &Path) -> Result<FieldLog, String> {
    read_log(&[path.to_owned()], &ReadOptions::default()).map_err(|error| error.to_string())
}

fn problems(log: &FieldLog) -> String {
    let problems: Vec<String> = log.problems.iter().map(ToString::to_string).collect();
    problems.join("\n")
}

#[test]
fn a_harvest_has_its_columns_in_si() {
    let set = Set::harvest(str::to_owned);
    let log = read(&set.path()).unwrap();
    assert_eq!(problems(&log), "");
    let flow = log.numbers(Column::MassFlow).unwrap();
    assert_eq!((log.len(), flow[3], flow[4], flow[9]), (10, 5.0, 6.0, 6.0));
    assert_eq!(log.numbers(Column::Moisture).unwrap()[9], 13.5);
    // 6 October 2026 14:00, taken as UTC.
    assert_eq!(log.numbers(Column::Timestamp).unwrap()[1], 1_791_295_201.0);
    assert_eq!(log.numbers(Column::Elevation).unwrap()[5], 300.005);
    let width = log.numbers(Column::Width).unwrap();
    assert_eq!(
        (width[0], width[6], width[8], width[9]),
        (9.0, 3.0, 0.0, 9.0)
    );
    let down = log.numbers(Column::HeaderDown).unwrap();
    assert_eq!((down[0], down[6], down[8]), (1.0, 1.0, 0.0));
    assert!(down[9].is_nan());
    assert_eq!(
        log.labels(Column::Machine).unwrap().name(0),
        "Invented combine"
    );
    assert_eq!(
        log.unrecognised,
        ["Yield Total Mass (DDI 90)", "Straw moisture (DDI 57400)"]
    );
    // 3.5 m north of the receiver: 1e-7 degrees are 11.1 mm there.
    let lat = log.numbers(Column::Lat).unwrap();
    assert!(
        ((lat[0] - 43.0) * 111_109.0 - 3.5).abs() < 0.02,
        "{}",
        lat[0]
    );
    let source = |column: Column| {
        let found = log
            .sources
            .iter()
            .find(|source| source.0 == column)
            .unwrap();
        format!("{} [{}]", found.1, found.2)
    };
    assert_eq!(
        source(Column::Lat),
        "PTN PositionNorth, moved 3.50 m forwards to the cutting edge [degrees]"
    );
    assert_eq!(
        source(Column::MassFlow),
        "Mass Per Time Yield (DDI 87) [mg/s]"
    );
    assert_eq!(
        source(Column::Width),
        "working widths of the sections at work, of 3 [mm, added up]"
    );
    assert_eq!(source(Column::Machine), "device []");
    let fact = |what: &str| {
        let found = log.facts.iter().find(|(known, _)| known == what);
        found.map(|(_, said)| said.as_str())
    };
    assert_eq!(
        ["task", "field", "crop", "products"].map(fact),
        [Some("Harvest"), Some("North forty"), Some("Soybean"), None]
    );
}

#[test]
fn folders_files_and_archives_are_one() {
    let set = Set::harvest(str::to_owned);
    let whole = read(&set.path()).unwrap();
    let folder = set.0.path().to_owned();
    for path in [
        set.path().join("taskdata.xml"),
        folder,
        set.zipped("x/TASKDATA/"),
        set.zipped(""),
    ] {
        let log = read(&path).unwrap();
        assert_eq!(
            log.numbers(Column::MassFlow),
            whole.numbers(Column::MassFlow),
            "{}",
            path.display()
        );
    }
    let patterns = [set.path().display().to_string()];
    assert_eq!(
        crate::expand_globs(&patterns, Path::new("")).unwrap(),
        [set.path()]
    );
}

#[test]
fn documents_that_the_main_one_refers_to_are_read() {
    let set = Set::harvest(|text| {
        text.replace(
            "<DVC",
            r#"<XFR A="DVC00001" B="1"/><XFR A="DVC00002" B="1"/><XFR A="../../etc" B="1"/><DVX"#,
        )
        .replace("</DVC>", "</DVX>")
    });
    std::fs::write(
        set.path().join("DVC00001.XML"),
        format!("<XFC>{DEVICE}</XFC>"),
    )
    .unwrap();
    let log = read(&set.path()).unwrap();
    assert_eq!(log.numbers(Column::Width).unwrap()[0], 9.0);
    let problems = problems(&log);
    assert!(
        problems.contains("DVC00002.XML, which TASKDATA.XML refers to, is not there"),
        "{problems}"
    );
    assert!(problems.contains("found \"../../etc\""), "{problems}");
}

#[test]
fn without_its_machine_a_log_is_read_and_says_so() {
    let set = Set::harvest(|text| text.replace("<DVC", "<DVX").replace("</DVC>", "</DVX>"));
    let log = read(&set.path()).unwrap();
    assert_eq!(log.numbers(Column::MassFlow).unwrap()[0], 5.0);
    assert!(!log.has(Column::Width) && !log.has(Column::Machine));
    assert_eq!(log.numbers(Column::Lat).unwrap()[0], 43.0);
    assert!(problems(&log).contains("positions are taken for those of the cutting edge"));
    // Without a receiver the geometry is known by half.
    let set = Set::harvest(|text| text.replace(r#"C="7""#, r#"C="5""#));
    assert!(problems(&read(&set.path()).unwrap()).contains("does not say where its receiver is"));
}

/// The receiver on a tractor, 500 mm ahead of its reference point, hitched 1.2 m behind that; the harvester's own
/// hitch is 5 m ahead of its reference point and its header 0.5 m behind, 0.2 m to the right of it.
const TRACTOR: &str = r#"<DVC A="DVC2" B="Invented tractor" D="A00E840000000002" F="00000000000002" G="FF000000006E65">
  <DET A="DET20" B="1" C="1" D="Tractor" E="0" F="0"/>
  <DET A="DET21" B="2" C="7" D="Receiver" E="1" F="1"><DOR A="20"/></DET>
  <DET A="DET22" B="3" C="6" D="Hitch" E="2" F="1"><DOR A="21"/></DET>
  <DPT A="20" B="0086" C="500"/><DPT A="21" B="0086" C="-1200"/></DVC>"#;

fn trailed(change: impl Fn(&str) -> String) -> Set {
    Set::harvest(|text| {
        let text = text
            .replace(r#"C="7" D="Receiver" E="1""#, r#"C="6" D="Hitch" E="1""#)
            .replace(
                r#"<DPT A="20" B="0086" C="1000"/>"#,
                r#"<DPT A="20" B="0086" C="5000"/>"#,
            )
            .replace(
                r#"<DPT A="22" B="0086" C="4500"/>"#,
                r#"<DPT A="22" B="0086" C="-500"/>"#,
            )
            .replace("<DVC", &format!("{TRACTOR}<DVC"))
            .replace("<TLG", r#"<CNN A="DVC2" B="DET22" C="DVC1" D="DET2"/><TLG"#);
        change(&text)
    })
}

#[test]
fn an_implement_behind_is_placed_behind() {
    let log = read(&trailed(str::to_owned).path()).unwrap();
    assert_eq!(problems(&log), "");
    // 0.5 m to the reference point, 1.2 to the hitch, 5 + 0.5 behind it.
    let lat = log.numbers(Column::Lat).unwrap();
    for (step, lat) in lat.iter().enumerate() {
        let north_m = (lat - 43.0 - 0.000_018 * step as f64) * 111_109.0;
        assert!((north_m + 7.2).abs() < 0.02, "{north_m}");
    }
    let source = log
        .sources
        .iter()
        .find(|source| source.0 == Column::Lat)
        .unwrap();
    assert_eq!(
        source.1,
        "PTN PositionNorth, moved 7.20 m back to the cutting edge"
    );
    // Named the other way round, it is the same.
    let turned = trailed(|text| {
        text.replace(
            r#"<CNN A="DVC2" B="DET22" C="DVC1" D="DET2"/>"#,
            r#"<CNN A="DVC1" B="DET2" C="DVC2" D="DET22"/>"#,
        )
    });
    assert_eq!(
        read(&turned.path()).unwrap().numbers(Column::Lat),
        log.numbers(Column::Lat)
    );
}

#[test]
fn trains_without_a_known_place_are_said() {
    for (from, to, words) in [
        (
            r#"<CNN A="DVC2" B="DET22""#,
            r#"<CNN A="DVC2" B="DET99""#,
            "does not say where its receiver is",
        ),
        (
            r#"<DPT A="21" B="0086" C="-1200"/>"#,
            "",
            "are connected, but one does not say where",
        ),
        (
            r#"C="7""#,
            r#"C="5""#,
            "neither the machine nor those it is connected to",
        ),
        (r#"C="-1200""#, r#"C="-120000""#, "which no machine has"),
    ] {
        let log = read(&trailed(|text| text.replace(from, to)).path()).unwrap();
        assert!(problems(&log).contains(words), "{}", problems(&log));
        assert_eq!(log.numbers(Column::Lat).unwrap()[0], 43.0);
    }
}

#[test]
fn a_log_in_the_document_is_read_and_totals_are_told() {
    let times: String = (0..10)
        .map(|step| {
            let values = match step {
                0 => r#"<DLV A="0057" B="5000000" C="DET1"/><DLV A="0063" B="135000" C="DET1"/>"#,
                4 => r#"<DLV A="0057" B="6000000" C="DET1"/>"#,
                _ => "",
            };
            format!(
                r#"<TIM A="2026-10-06T14:00:0{step}" D="4"><PTN A="{:.9}" B="-93.0" C="300000" D="4"/>{values}</TIM>"#,
                43.0 + 0.000018 * f64::from(step)
            )
        })
        .collect();
    let totals = r#"<TIM A="2026-10-06T14:00:00" B="2026-10-06T14:10:00" D="4"><DLV A="005A" B="8120" C="DET1"/>
        <DLV A="0074" B="24000" C="DET1"/></TIM>"#;
    let set = Set::harvest(|text| {
        text.replace(r#"<TLG A="TLG00001" C="1"/>"#, &format!("{totals}{times}"))
    });
    let log = read(&set.path()).unwrap();
    let binary = read(&Set::harvest(str::to_owned).path()).unwrap();
    assert_eq!(
        log.numbers(Column::MassFlow),
        binary.numbers(Column::MassFlow)
    );
    assert_eq!(
        log.numbers(Column::Timestamp),
        binary.numbers(Column::Timestamp)
    );
    let (lat, other) = (
        log.numbers(Column::Lat).unwrap(),
        binary.numbers(Column::Lat).unwrap(),
    );
    assert!(
        lat.iter()
            .zip(other)
            .all(|(one, other)| (one - other).abs() < 1e-8)
    );
    let totals_of = |log: &FieldLog| {
        let mut facts = log.facts.iter();
        let totals = facts.find(|(what, _)| what == "totals of Harvest (North forty)");
        totals.unwrap().1.clone()
    };
    assert_eq!(
        totals_of(&log),
        "Yield Total Mass (DDI 90) 8120 kg, Total Area (DDI 116) 24000 m²"
    );
    // A total that a binary log ends with.
    assert_eq!(totals_of(&binary), "Yield Total Mass (DDI 90) 7 kg");
    // Totals alone are no log.
    let alone = Set::harvest(|text| text.replace(r#"<TLG A="TLG00001" C="1"/>"#, totals));
    assert!(
        read(&alone.path())
            .unwrap_err()
            .contains("no time log in it")
    );
}

#[test]
fn several_logs_of_one_field_are_one() {
    let set = Set::harvest(|text| {
        text.replace("<DVC", "<DVX")
            .replace("</DVC>", "</DVX>")
            .replace("<TLG", r#"<TLG A="TLG00002" C="1"/><TLG"#)
    });
    std::fs::write(
        set.path().join("TLG00002.XML"),
        HEADER.replace("0063", "018D"),
    )
    .unwrap();
    std::fs::write(set.path().join("TLG00002.BIN"), records()).unwrap();
    let log = read(&set.path()).unwrap();
    assert_eq!((log.len(), log.row[19], log.file[19]), (20, 20, 0));
    let moisture = log.numbers(Column::Moisture).unwrap();
    assert!(moisture[9].is_nan() && moisture[10] == 13.5);
    assert_eq!(log.numbers(Column::Speed).unwrap()[0], 135.0);
    // What holds for both is said once.
    assert_eq!(log.problems.len(), 1, "{}", problems(&log));
}

#[test]
fn a_columns_table_takes_what_the_machine_calls_its_own() {
    let set = Set::harvest(str::to_owned);
    let mut options = ReadOptions::default();
    let source = ColumnSource {
        column: "Straw moisture (DDI 57400)".into(),
        unit: None,
    };
    options.columns.insert(Column::Moisture, source.clone());
    let log = read_log(&[set.path()], &options).unwrap();
    // (2400 − 1000) × 0.01 %, as the machine shows it.
    assert_eq!(log.numbers(Column::Moisture).unwrap()[0], 14.0);
    options.columns.insert(Column::Speed, source);
    let error = read_log(&[set.path()], &options).unwrap_err().to_string();
    assert!(error.contains("expected a unit of speed"), "{error}");
}

#[test]
fn an_implements_own_width_and_state_go_before_its_sections() {
    let set = Set::harvest(|text| {
        text.replace(
            r#"<DLV A="005A" B="" C="DET1"/>"#,
            r#"<DLV A="0043" B="" C="DET3"/>"#,
        )
        .replace(
            r#"<DLV A="E038" B="" C="DET1"/>"#,
            r#"<DLV A="008D" B="" C="DET3"/>"#,
        )
    });
    let log = read(&set.path()).unwrap();
    // 7 mm, and the state in the lowest two bits of 2400.
    assert_eq!(log.numbers(Column::Width).unwrap()[8], 0.007);
    assert_eq!(log.numbers(Column::HeaderDown).unwrap()[0], 0.0);
}

#[test]
fn cut_logs_keep_their_records_and_say_where() {
    let set = Set::harvest(str::to_owned);
    let binary = set.path().join("TLG00001.BIN");
    let whole = records();
    std::fs::write(&binary, &whole[..whole.len() - 3]).unwrap();
    let log = read(&set.path()).unwrap();
    assert_eq!(log.len(), 9);
    let said = problems(&log);
    assert!(
        said.contains("TLG00001.BIN: cut off in record 10, at byte 220; the 9 records"),
        "{said}"
    );
    std::fs::write(&binary, b"").unwrap();
    assert!(read(&set.path()).unwrap_err().contains("hold no record"));
    std::fs::remove_file(&binary).unwrap();
    assert!(read(&set.path()).unwrap_err().contains("no record"));
}

#[test]
fn positions_without_a_fix_are_none() {
    let set = Set::harvest(str::to_owned);
    let mut bytes = records();
    bytes.extend(record(10, 0, &[]));
    std::fs::write(set.path().join("TLG00001.BIN"), bytes).unwrap();
    let log = read(&set.path()).unwrap();
    assert!(log.numbers(Column::Lat).unwrap()[10].is_nan());
    assert!(problems(&log).contains("1 records have no position fix"));
}

#[test]
fn a_harvest_of_several_fields_asks_which() {
    let other = r#"<PFD A="PFD2" C="South" D="1"/><TSK A="TSK2" B="Harvest" E="PFD2" G="4"><TLG A="TLG00001" C="1"/></TSK></ISO"#;
    let set = Set::harvest(|text| text.replace("</ISO", other));
    let error = read(&set.path()).unwrap_err();
    assert!(
        error.contains("2 fields") && error.contains("Harvest (South)"),
        "{error}"
    );
    let chosen = PathBuf::from(format!("{}:south", set.path().display()));
    assert_eq!(read(&chosen).unwrap().len(), 10);
    let patterns = [chosen.display().to_string()];
    assert_eq!(
        crate::expand_globs(&patterns, Path::new("")).unwrap(),
        [chosen]
    );
    let wrong = PathBuf::from(format!("{}:east", set.path().display()));
    assert!(
        read(&wrong)
            .unwrap_err()
            .contains("no task and no field in it is called \"east\"")
    );
}

#[test]
fn logs_without_grain_are_refused_with_what_they_hold() {
    let set = Set::harvest(|text| text.replace("0057", "0007"));
    let options = ReadOptions {
        operation: Some(Operation::Harvest),
        ..ReadOptions::default()
    };
    let error = read_log(&[set.path()], &options).unwrap_err().to_string();
    assert!(error.contains("no log in it carries grain"), "{error}");
    assert!(
        error.contains("Actual Mass Per Area Application Rate (DDI 7)"),
        "{error}"
    );
}

#[test]
fn dry_mass_is_made_wet_where_the_moistures_are_known() {
    let dry = |text: &str| text.replace(r#"A="0057""#, r#"A="00B6""#);
    let set = Set::harvest(|text| dry(text).replace(r#"A="005A""#, r#"A="00B8""#));
    let mut bytes = records();
    // The fourth value of the first record, a reference moisture of 13 %.
    let at = bytes
        .windows(5)
        .position(|value| value == [3, 7, 0, 0, 0])
        .unwrap();
    bytes[at + 1..at + 5].copy_from_slice(&130_000_i32.to_le_bytes());
    std::fs::write(set.path().join("TLG00001.BIN"), bytes).unwrap();
    let log = read(&set.path()).unwrap();
    assert_eq!(problems(&log), "");
    let flow = log.numbers(Column::MassFlow).unwrap();
    // 87 of 100 kg are dry matter, of the grain at 13.5 % 86.5.
    assert!((flow[0] - 5.0 * 87.0 / 86.5).abs() < 1e-12, "{}", flow[0]);
    let mut sources = log.sources.iter();
    let source = sources.find(|source| source.0 == Column::MassFlow).unwrap();
    assert_eq!(
        source.1,
        "Dry Mass Per Time Yield (DDI 182), from the reference moisture to the grain's"
    );
    // The reference moisture as a property of the machine.
    let fixed = Set::harvest(|text| {
        dry(text)
            .replace(
                r#"<DPT A="23""#,
                r#"<DPT A="60" B="00B8" C="155000"/><DPT A="23""#,
            )
            .replace(
                r#"D="Combine" E="0" F="0"/>"#,
                r#"D="Combine" E="0" F="0"><DOR A="60"/></DET>"#,
            )
    });
    let flow = read(&fixed.path()).unwrap();
    assert!((flow.numbers(Column::MassFlow).unwrap()[0] - 5.0 * 84.5 / 86.5).abs() < 1e-12);
    // Without it, it is no harvest that could be weighed; wet mass goes before dry.
    let error = read(&Set::harvest(dry).path()).unwrap_err();
    assert!(error.contains("no log in it is of a harvest"), "{error}");
    let both = Set::harvest(|text| text.replace(r#"A="005A""#, r#"A="00B6""#));
    assert_eq!(
        read(&both.path())
            .unwrap()
            .numbers(Column::MassFlow)
            .unwrap()[0],
        5.0
    );
}

#[test]
fn the_boundary_and_the_first_line() {
    let set = Set::harvest(str::to_owned);
    let boundary = read_boundary(&set.path()).unwrap();
    assert_eq!(
        (
            boundary.ground.0.len(),
            boundary.ground.0[0].interiors().len()
        ),
        (1, 1)
    );
    assert_eq!(
        read_line(&set.path()).unwrap(),
        [[-93.0, 43.0], [-93.0, 43.01]]
    );
    let called = PathBuf::from(format!("{}:planting", set.path().display()));
    assert_eq!(read_line(&called).unwrap()[0], [-93.0, 43.0]);
    let none = Set::harvest(|text| text.replace("<PLN", "<PLX").replace("</PLN", "</PLX"));
    assert!(
        read_boundary(&none.path())
            .unwrap_err()
            .to_string()
            .contains("no boundary")
    );
}

/// A planter of four rows, of which the first two from the left are in one half; the rows stand in the document from
/// right to left. Each half has its own hybrid.
const PLANTER: &str = r#"<PDT A="PDT1" B="Early hybrid"/><PDT A="PDT2" B="Late hybrid"/>
<DVC A="DVC1" B="Invented planter"><DET A="DET1" B="1" C="1" D="Planter" E="0" F="0"><DOR A="24"/></DET>
  <DET A="DET2" B="2" C="4" D="Left half" E="1" F="1"/><DET A="DET3" B="3" C="4" D="Right half" E="2" F="1"/>
  <DET A="DET14" B="14" C="5" D="Row" E="6" F="3"><DOR A="20"/></DET>
  <DET A="DET13" B="13" C="5" D="Row" E="5" F="3"><DOR A="21"/></DET>
  <DET A="DET12" B="12" C="5" D="Row" E="4" F="2"><DOR A="22"/></DET>
  <DET A="DET11" B="11" C="5" D="Row" E="3" F="2"><DOR A="23"/></DET>
  <DPT A="20" B="0087" C="1143"/><DPT A="21" B="0087" C="381"/><DPT A="22" B="0087" C="-381"/>
  <DPT A="23" B="0087" C="-1143"/><DPT A="24" B="0043" C="3048"/></DVC>"#;

/// Seeds by row, singulation by row but for the last, downforce by half, the rate asked for by the whole machine.
const PLANTER_HEADER: &str = r#"<TIM A="" D="4"><PTN A="" B="" C="" D=""/>
  <DLV A="000C" B="" C="DET11"/><DLV A="000C" B="" C="DET12"/><DLV A="000C" B="" C="DET13"/>
  <DLV A="000C" B="" C="DET14"/><DLV A="019F" B="" C="DET11"/><DLV A="019F" B="" C="DET12"/>
  <DLV A="019F" B="" C="DET13"/><DLV A="01AB" B="" C="DET2"/><DLV A="01AB" B="" C="DET3"/>
  <DLV A="000B" B="" C="DET1"/></TIM>"#;

fn planting(change: impl Fn(&str) -> String) -> Set {
    let products = r#"<PAN A="PDT1" E="DET2"/><PAN A="PDT2" E="DET3"/>"#;
    let inside = format!(
        "{PLANTER}{FIELD}{}",
        task(&format!(r#"{products}<TLG A="TLG00001" C="1"/>"#))
    );
    let binary = [
        record(
            0,
            4,
            &[
                (0, 8_000),
                (1, 8_100),
                (2, 7_900),
                (3, 8_200),
                (4, 985_000),
                (5, 990_000),
                (6, 970_000),
                (7, 400),
                (8, 500),
                (9, 8_050),
            ],
        ),
        record(1, 4, &[]),
        record(2, 4, &[(1, 7_000), (8, 650)]),
    ];
    Set::new(&[
        ("TASKDATA.XML", change(&document(&inside)).as_bytes()),
        ("TLG00001.XML", PLANTER_HEADER.as_bytes()),
        ("TLG00001.BIN", &binary.concat()),
    ])
}

#[test]
fn a_planting_has_a_record_for_each_row() {
    let log = read(&planting(str::to_owned).path()).unwrap();
    assert_eq!((log.operation, log.len()), (Operation::Planting, 12));
    let numbers = |column| log.numbers(column).unwrap();
    assert_eq!(numbers(Column::Row)[..5], [1.0, 2.0, 3.0, 4.0, 1.0]);
    // 0.001 seeds a square metre are 10 a hectare.
    assert_eq!(
        numbers(Column::SeedRate)[..4],
        [80_000.0, 81_000.0, 79_000.0, 82_000.0]
    );
    assert_eq!(
        numbers(Column::SeedRate)[8..],
        [80_000.0, 70_000.0, 79_000.0, 82_000.0]
    );
    let singulation = numbers(Column::Singulation);
    assert_eq!(singulation[..3], [98.5, 99.0, 97.0]);
    assert!(singulation[3].is_nan());
    assert_eq!(
        numbers(Column::Downforce)[..4],
        [400.0, 400.0, 500.0, 500.0]
    );
    assert_eq!(
        numbers(Column::Downforce)[8..],
        [400.0, 400.0, 650.0, 650.0]
    );
    assert_eq!(numbers(Column::TargetSeedRate), [80_500.0; 12]);
    assert_eq!(numbers(Column::Width), [3.048; 12]);
    assert_eq!(
        numbers(Column::Timestamp)[3..5],
        [1_791_295_200.0, 1_791_295_201.0]
    );
    let product = log.labels(Column::Product).unwrap();
    let products = [0, 1, 2, 3].map(|row| product.name(row));
    assert_eq!(
        products,
        ["Early hybrid", "Early hybrid", "Late hybrid", "Late hybrid"]
    );
    assert!(log.unrecognised.is_empty(), "{:?}", log.unrecognised);
    // One product of the task is every row's.
    let one = planting(|text| {
        text.replace(r#"<PAN A="PDT2" E="DET3"/>"#, "")
            .replace(r#"A="PDT1" E="DET2""#, r#"A="PDT1""#)
    });
    let log = read(&one.path()).unwrap();
    assert_eq!(log.labels(Column::Product).unwrap().names, ["Early hybrid"]);
    // As a table, the rows stand beside each other.
    let out = one.0.path().join("table.csv");
    let done = crate::convert(&one.path(), &out, &crate::ConvertOptions::default()).unwrap();
    assert_eq!(done.features, 3);
    let seeds = "Actual Count Per Area Application Rate (DDI 12) of DET11 [/m²]";
    assert!(
        done.columns.iter().any(|column| column == seeds),
        "{:?}",
        done.columns
    );
    assert!(
        done.columns
            .iter()
            .any(|column| column == "target_seed_rate_seeds_ha")
    );
}

#[test]
fn a_planter_is_placed_where_its_rows_are() {
    let behind = r#"<DPT A="20" B="0087" C="1143"/><DPT A="30" B="0086" C="-2000"/>"#;
    let set = planting(|text| {
        let text = text
            .replace(r#"<DPT A="20" B="0087" C="1143"/>"#, behind)
            .replace(r#"D="Row" E="6" F="3">"#, r#"D="Row" E="6" F="3"><DOR A="30"/>"#)
            .replace(r#"<DET A="DET2" "#, r#"<DET A="DET9" B="9" C="6" D="Hitch" E="8" F="1"><DOR A="31"/></DET><DET A="DET2" "#)
            .replace(r#"<DPT A="23""#, r#"<DPT A="31" B="0086" C="1500"/><DPT A="23""#);
        let hitched = r#"<CNN A="DVC2" B="DET22" C="DVC1" D="DET9"/><TLG"#;
        text.replace("<PDT A=\"PDT1\"", &format!("{TRACTOR}<PDT A=\"PDT1\""))
            .replace("<TLG", hitched)
    });
    let log = read(&set.path()).unwrap();
    let source = log
        .sources
        .iter()
        .find(|source| source.0 == Column::Lat)
        .unwrap();
    // 0.5 m to the reference point, 1.2 to the hitch, 1.5 + 2 behind it, and that row 1.143 m to the right.
    assert_eq!(
        source.1,
        "PTN PositionNorth, moved 5.20 m back and 1.14 m right to the working edge"
    );
    let lat = log.numbers(Column::Lat).unwrap();
    let north_m: Vec<f64> = lat.iter().map(|lat| (lat - 43.0) * 111_109.0).collect();
    assert!(
        (north_m[0] + 5.2).abs() < 0.02 && north_m[3] == north_m[0],
        "{north_m:?}"
    );
    assert!((north_m[4] - north_m[3] - 2.0).abs() < 0.02, "{north_m:?}");
}

#[test]
fn a_planter_that_logs_as_a_whole_has_one_record_for_each_moment() {
    let set = planting(str::to_owned);
    let header = r#"<TIM A="" D="4"><PTN A="" B="" C="" D=""/><DLV A="000C" B="" C="DET1"/>
        <DLV A="0002" B="" C="DET1"/></TIM>"#;
    std::fs::write(set.path().join("TLG00001.XML"), header).unwrap();
    std::fs::write(
        set.path().join("TLG00001.BIN"),
        record(0, 4, &[(0, 8_000), (1, 500_000)]),
    )
    .unwrap();
    let log = read(&set.path()).unwrap();
    assert_eq!(
        (log.operation, log.len(), log.has(Column::Row)),
        (Operation::Planting, 1, false)
    );
    assert_eq!(log.numbers(Column::AppliedVolume).unwrap(), [50.0]);
    assert_eq!(
        log.labels(Column::Product).unwrap().name(0),
        "Early hybrid, Late hybrid"
    );
}

#[test]
fn an_application_has_its_rates_and_its_product() {
    let header =
        |values: &str| format!(r#"<TIM A="" D="4"><PTN A="" B="" C="" D=""/>{values}</TIM>"#);
    let spread = |values: &str, numbers: &[(u8, i32)]| {
        let set = planting(str::to_owned);
        std::fs::write(set.path().join("TLG00001.XML"), header(values)).unwrap();
        std::fs::write(set.path().join("TLG00001.BIN"), record(0, 4, numbers)).unwrap();
        set
    };
    let set = spread(
        r#"<DLV A="0007" B="" C="DET1"/><DLV A="0006" B="" C="DET1"/><DLV A="024D" B="" C="DET2"/>
           <DLV A="024D" B="" C="DET3"/>"#,
        &[(0, 14_000), (1, 15_000), (2, 200), (3, 210)],
    );
    let log = read(&set.path()).unwrap();
    let only = |column| log.numbers(column).unwrap()[0];
    assert_eq!(log.operation, Operation::Application);
    assert_eq!(
        (only(Column::AppliedMass), only(Column::TargetMass)),
        (140.0, 150.0)
    );
    assert_eq!(only(Column::AppliedVolume), 205.0);
    let options = ReadOptions {
        operation: Some(Operation::Planting),
        ..ReadOptions::default()
    };
    let error = read_log(&[set.path()], &options).unwrap_err().to_string();
    assert!(
        error.contains("no log in it is of a planting; expected Actual Count Per Area Application Rate (DDI 12)"),
        "{error}"
    );
    // What two bins hold is not one product.
    let bins = spread(
        r#"<DLV A="0007" B="" C="DET2"/><DLV A="0007" B="" C="DET3"/><DLV A="0002" B="" C="DET1"/>"#,
        &[(0, 14_000), (1, 15_000), (2, 5)],
    );
    let path = bins.path().join("TASKDATA.XML");
    let text = std::fs::read_to_string(&path)
        .unwrap()
        .replace(r#"C="4""#, r#"C="3""#);
    std::fs::write(&path, text).unwrap();
    let log = read(&bins.path()).unwrap();
    assert!(!log.has(Column::AppliedMass));
    assert!(problems(&log).contains("2 bins log Actual Mass Per Area Application Rate (DDI 7)"));
    assert_eq!(
        log.unrecognised,
        ["Actual Mass Per Area Application Rate (DDI 7)"]
    );
    let nothing = spread(r#"<DLV A="0001" B="" C="DET1"/>"#, &[(0, 1)]);
    let error = read(&nothing.path()).unwrap_err();
    assert!(
        error.contains("no log in it is of a harvest, a planting or an application"),
        "{error}"
    );
}

fn square(west: f64, name: &str) -> String {
    let corner = |lat: f64, lon: f64| format!(r#"<PNT A="2" C="{lat}" D="{lon}"/>"#);
    let (east, south, north) = (west + 0.001, 43.0, 43.001);
    let ring = [
        corner(south, west),
        corner(south, east),
        corner(north, east),
        corner(north, west),
    ];
    format!(
        r#"<PLN A="2" B="{name}"><LSG A="1">{}</LSG></PLN>"#,
        ring.concat()
    )
}

#[test]
fn treatment_zones_are_strips() {
    let zones = [
        format!(
            r#"<TZN A="1" B="low">{}{}<PDV A="0006" B="14000"/></TZN>"#,
            square(-93.0, ""),
            square(-92.99, "")
        ),
        format!(
            r#"<TZN A="2" B="high">{}<PDV A="000B" B="8000" E="VPN1"/></TZN>"#,
            square(-92.98, "")
        ),
        format!(
            r#"<TZN A="3" B="rolled">{}{}</TZN>"#,
            square(-92.97, "a"),
            square(-92.96, "a")
        ),
        r#"<TZN A="4" B="default"><PDV A="0006" B="0"/></TZN>"#.to_owned(),
    ];
    let presentation = r#"<VPN A="VPN1" B="0" C="0.01" D="1" E="ksds/ha"/>"#;
    let text = document(&format!("{presentation}{FIELD}{}", task(&zones.concat())));
    let set = Set::new(&[("TASKDATA.XML", text.as_bytes())]);
    let strips = read_strips(&set.path(), &StripOptions::default())
        .unwrap()
        .strips;
    let treatments: Vec<&str> = strips
        .iter()
        .map(|strip| strip.treatment.as_str())
        .collect();
    assert_eq!(
        treatments,
        ["140 kg/ha", "140 kg/ha", "80 ksds/ha", "rolled"]
    );
    assert_eq!(strips[3].ground.0.len(), 2);
    let options = StripOptions {
        treatment: "designator".into(),
        ..StripOptions::default()
    };
    assert_eq!(
        read_strips(&set.path(), &options).unwrap().strips[0].treatment,
        "low"
    );
    assert_eq!(read_zones(&set.path(), None).unwrap().zones.len(), 4);
}

/// A grid of cells of 0.002 by 0.001 degrees from 43 N 93 W, over the western half of the field.
fn grid(attributes: &str, zones: &str, cells: &[u8]) -> Set {
    let grid =
        format!(r#"<GRD {attributes} A="43.0" B="-93.0" C="0.002" D="0.001" G="GRD00001"/>"#);
    let text = document(&format!("{FIELD}{}", task(&format!("{zones}{grid}"))));
    Set::new(&[("TASKDATA.XML", text.as_bytes()), ("GRD00001.BIN", cells)])
}

fn strips(set: &Set) -> Result<checkstrip_model::StripSet, String> {
    read_strips(&set.path(), &StripOptions::default()).map_err(|error| error.to_string())
}

fn treatments(strips: &checkstrip_model::StripSet) -> Vec<&str> {
    let strips = strips.strips.iter();
    strips.map(|strip| strip.treatment.as_str()).collect()
}

const ZONES: &str = r#"<TZN A="1" B="low"><PDV A="0006" B="14000"/></TZN>
    <TZN A="2" B="high"><PDV A="0006" B="20000"/></TZN><TZN A="9" B="none"><PDV A="0006" B="0"/></TZN>"#;

#[test]
fn cells_of_one_zone_are_strips() {
    use geo::Area as _;
    // Three strips of 5 rows and a column outside the field, with a cell that has no zone.
    let row = [1, 1, 2, 1, 9];
    let mut cells = row.repeat(5);
    cells[23] = 7;
    let set = grid(r#"E="5" F="5" I="1""#, ZONES, &cells);
    let found = strips(&set).unwrap();
    assert_eq!(
        treatments(&found),
        ["140 kg/ha", "200 kg/ha", "140 kg/ha", "0 kg/ha"]
    );
    let areas: Vec<f64> = found
        .strips
        .iter()
        .map(|strip| strip.ground.unsigned_area())
        .collect();
    for (area, cells) in areas.iter().zip([10.0, 5.0, 4.0, 5.0]) {
        assert!((area - cells * 2e-6).abs() < 1e-12, "{area}");
    }
    assert_eq!(found.problems.len(), 1);
    assert!(
        found.problems[0]
            .message
            .contains("1 cells are of treatment zone 7"),
        "{}",
        found.problems[0]
    );
    // The task's zone for ground outside the field is no strip.
    let text = std::fs::read_to_string(set.path().join("TASKDATA.XML")).unwrap();
    std::fs::write(
        set.path().join("TASKDATA.XML"),
        text.replace(r#"G="4""#, r#"G="1" J="9""#),
    )
    .unwrap();
    assert_eq!(treatments(&strips(&set).unwrap()).len(), 3);
    assert_eq!(read_zones(&set.path(), None).unwrap().zones.len(), 3);
}

#[test]
fn rates_in_the_cells_are_strips() {
    // Rows of two rates of 4 bytes; the fifth column's middle lies outside a narrower field.
    let cell = |rates: [i32; 2]| rates.map(i32::to_le_bytes).concat();
    let row = [
        [14_000, 8_000],
        [14_000, 8_000],
        [20_000, 8_000],
        [0, 0],
        [0, 0],
    ];
    let cells = row
        .repeat(5)
        .into_iter()
        .flat_map(cell)
        .collect::<Vec<u8>>();
    let zones = r#"<PDT A="PDT1" B="Starter"/><TZN A="1"><PDV A="0006" B="0" C="PDT1"/><PDV A="000B" B="0"/></TZN>"#;
    let set = grid(r#"E="5" F="5" I="2" J="1""#, zones, &cells);
    let text = std::fs::read_to_string(set.path().join("TASKDATA.XML")).unwrap();
    let narrow = text.replace("-92.99\"", "-92.9960\"");
    std::fs::write(set.path().join("TASKDATA.XML"), narrow).unwrap();
    let found = strips(&set).unwrap();
    assert_eq!(
        treatments(&found),
        [
            "140 kg/ha, 80000 /ha",
            "200 kg/ha, 80000 /ha",
            "0 kg/ha, 0 /ha"
        ]
    );
    assert_eq!(found.strips[0].ground.0[0].exterior().0.len(), 5);
    let corners = &found.strips[0].ground.0[0].exterior().0;
    assert_eq!((corners[0].x, corners[0].y), (-93.0, 43.0));
    assert_eq!(
        (corners[2].x, corners[2].y),
        (-93.0 + 2.0 * 0.001, 43.0 + 5.0 * 0.002)
    );
    // Without the zone's code the only one with rates is meant.
    let set = grid(r#"E="5" F="5" I="2""#, ZONES, &cells);
    assert!(
        strips(&set)
            .unwrap_err()
            .contains("says what its values are")
    );
}

#[test]
fn grids_that_cannot_be_are_refused() {
    let refused = |attributes: &str, cells: &[u8], words: &str| {
        let error = strips(&grid(attributes, ZONES, cells)).unwrap_err();
        assert!(error.contains(words), "{error}");
    };
    refused(
        r#"E="5" F="5" I="1""#,
        &[1; 24],
        "expected 25 bytes for 5 rows of 5 cells, found 24",
    );
    refused(r#"E="5" F="5" I="1""#, &[1; 26], "found 26");
    refused(
        r#"E="4294967295" F="4294967295" I="1""#,
        &[1],
        "expected 1 to 20000 columns",
    );
    refused(
        r#"E="20000" F="20000" I="1""#,
        &[1],
        "at most 10000000 cells",
    );
    refused(r#"E="0" F="5" I="1""#, &[], "1 to 20000 columns");
    refused(r#"E="5" F="5" I="3""#, &[1; 25], "type 1 or 2, found 3");
    refused(
        r#"E="5" F="5" I="1" A="89.995""#,
        &[1; 25],
        "degrees on Earth",
    );
    let gone = grid(r#"E="5" F="5" I="1""#, ZONES, &[1; 25]);
    std::fs::remove_file(gone.path().join("GRD00001.BIN")).unwrap();
    assert!(
        strips(&gone)
            .unwrap_err()
            .contains("GRD00001.BIN is not there")
    );
    let noise: Vec<u8> = (0..90_000_u32)
        .map(|at| 1 + (at / 300 + at % 300) as u8 % 2)
        .collect();
    let fine = grid(r#"E="300" F="300" I="1""#, ZONES, &noise);
    let text = std::fs::read_to_string(fine.path().join("TASKDATA.XML")).unwrap();
    let small = text.replace(r#"C="0.002" D="0.001""#, r#"C="0.00002" D="0.00002""#);
    std::fs::write(fine.path().join("TASKDATA.XML"), small).unwrap();
    assert!(strips(&fine).unwrap_err().contains("pieces of ground"));
    let outside = grid(r#"E="1" F="1" I="1""#, "", &[1]);
    let text = std::fs::read_to_string(outside.path().join("TASKDATA.XML")).unwrap();
    let path = text.replace("GRD00001", "../RD0001");
    std::fs::write(outside.path().join("TASKDATA.XML"), path).unwrap();
    assert!(
        strips(&outside)
            .unwrap_err()
            .contains("expected a file such as GRD00001")
    );
}

#[test]
fn parts_that_touch_at_corners_are_one_strip() {
    let cells: Vec<u8> = (0..3_600_u32)
        .map(|at| 1 + (at / 60 + at % 60) as u8 % 2)
        .collect();
    let zones = ZONES.replace("A=\"2\"", "A=\"3\"");
    let set = grid(r#"E="60" F="60" I="1""#, &zones, &cells);
    let text = std::fs::read_to_string(set.path().join("TASKDATA.XML")).unwrap();
    let small = text.replace(r#"C="0.002" D="0.001""#, r#"C="0.00006" D="0.00006""#);
    std::fs::write(set.path().join("TASKDATA.XML"), small).unwrap();
    assert_eq!(strips(&set).unwrap().strips[0].ground.0.len(), 1_800);
}

#[test]
fn points_in_binary_files_are_read() {
    let point = |kind: u8, lat: i64, lon: i64| {
        let mut bytes = vec![kind];
        bytes.extend((lat * 10_i64.pow(14)).to_le_bytes());
        bytes.extend((lon * 10_i64.pow(14)).to_le_bytes());
        bytes
    };
    let outline = [
        point(2, 4300, -9300),
        point(2, 4300, -9299),
        point(2, 4301, -9299),
        point(2, 4301, -9300),
    ];
    let line = [point(7, 4301, -9300), point(6, 4300, -9300)];
    let in_file = |number: u8| format!(r#"<PNT A="" C="" D="" J="PNT0000{number}"/>"#);
    let text = document(&format!(
        r#"<PFD A="PFD1" C="North" D="1"><PLN A="1"><LSG A="1">{}</LSG></PLN><GGP A="GGP1"><GPN A="GPN1" C="1">
        <LSG A="5">{}</LSG></GPN></GGP></PFD>{}"#,
        in_file(1),
        in_file(2),
        task(&format!(
            r#"<TZN A="1" B="all"><PLN A="2"><LSG A="1">{}</LSG></PLN></TZN>"#,
            in_file(1)
        ))
    ));
    let set = Set::new(&[
        ("TASKDATA.XML", text.as_bytes()),
        ("pnt00001.bin", &outline.concat()),
        ("PNT00002.bin", &line.concat()),
    ]);
    use geo::Area as _;
    let boundary = read_boundary(&set.path()).unwrap();
    assert!((boundary.ground.unsigned_area() - 1e-4).abs() < 1e-12);
    assert_eq!(
        read_line(&set.path()).unwrap(),
        [[-93.0, 43.0], [-93.0, 43.01]]
    );
    assert_eq!(treatments(&strips(&set).unwrap()), ["all"]);
    std::fs::write(set.path().join("pnt00001.bin"), &outline.concat()[..40]).unwrap();
    let error = read_boundary(&set.path()).unwrap_err().to_string();
    assert!(
        error.contains("PNT00001.BIN: expected whole points of 17 bytes, found 40"),
        "{error}"
    );
    std::fs::remove_file(set.path().join("pnt00001.bin")).unwrap();
    let error = read_boundary(&set.path()).unwrap_err().to_string();
    assert!(error.contains("PNT00001.BIN is not there"), "{error}");
}

#[test]
fn a_planned_task_is_read_back() {
    use crate::{GuidanceGroup, GuidanceLine, TaskData, TreatmentZone, write_task_data};
    use geo::{Area as _, MultiPolygon, polygon};
    let ground = MultiPolygon::new(vec![polygon![
        (x: -93.0, y: 43.0), (x: -92.999, y: 43.0), (x: -92.999, y: 43.01), (x: -93.0, y: 43.01)
    ]]);
    let line = GuidanceLine {
        name: "1 rolled".into(),
        ends: [[-93.0, 43.0], [-93.0, 43.01]],
        heading_deg: 0.0,
        width_m: 9.0,
        more_to_the_right: 0,
    };
    let data = TaskData {
        field: "Invented".into(),
        boundary: ground.clone(),
        area_m2: 1.0,
        task: "Trial".into(),
        guidance: vec![GuidanceGroup {
            name: "Treatment".into(),
            lines: vec![line],
        }],
        zones: vec![
            TreatmentZone {
                name: "1 rolled".into(),
                ground: ground.clone(),
                area_m2: 1.0
            };
            3
        ],
    };
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("TASKDATA.XML");
    write_task_data(&path, &data).unwrap();
    let boundary = read_boundary(&path).unwrap().ground;
    assert!((boundary.unsigned_area() - ground.unsigned_area()).abs() < 1e-12);
    let strips = read_strips(&path, &StripOptions::default()).unwrap().strips;
    assert_eq!(
        (strips.len(), strips[2].treatment.as_str()),
        (3, "1 rolled")
    );
    assert_eq!(read_line(&path).unwrap(), [[-93.0, 43.0], [-93.0, 43.01]]);
}

#[test]
fn archives_made_to_harm_are_refused() {
    let set = Set::harvest(str::to_owned);
    assert!(
        read(&set.zipped("../TASKDATA/"))
            .unwrap_err()
            .contains("points out of the archive")
    );
    std::fs::write(set.path().join("TLG00001.BIN"), vec![0; 40 << 20]).unwrap();
    // Packed, the file is a thousandth.
    let path = set.0.path().join("bomb.zip");
    let mut zip = zip::ZipWriter::new(std::fs::File::create(&path).unwrap());
    for name in ["taskdata.xml", "TLG00001.xml", "TLG00001.BIN"] {
        let options = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Deflated);
        zip.start_file(name, options).unwrap();
        zip.write_all(&std::fs::read(set.path().join(name)).unwrap())
            .unwrap();
    }
    zip.finish().unwrap();
    assert!(read(&path).unwrap_err().contains("unpack to more than"));
    let two = Set::harvest(|text| text.replace(r#"A="TLG00001""#, r#"A="../TLG0001""#));
    let error = read(&two.path()).unwrap_err();
    assert!(
        error.contains("no time log in it that can be read"),
        "{error}"
    );
    assert!(error.contains("found \"../TLG0001\""), "{error}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    /// Whatever happens to its bytes, a set is read or refused.
    #[test]
    fn spoilt_sets_never_panic(
        which in 0_usize..5,
        spoilt in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in any::<prop::sample::Index>(),
        is_cut in any::<bool>(),
        kind in 1_u8..3,
    ) {
        let time = r#"<TIM A="2026-10-06T14:00:00" D="4"><PTN A="43.0" B="-93.0" D="4"/>
            <DLV A="0057" B="5000000" C="DET1"/><DLV A="005A" B="5" C="DET1"/></TIM>"#;
        let zones = format!(
            r#"<TZN A="1">{}<PDV A="0006" B="1"/></TZN><GRD A="43.0" B="-93.0" C="0.002" D="0.001" E="4" F="3"
            G="GRD00001" I="{kind}" J="1"/>"#,
            square(-93.0, "")
        );
        let zones = task(&zones).replace("TSK1", "TSK2");
        let connected = r#"<CNN A="DVC1" B="DET3" C="DVC2" D="DET22"/>"#;
        let set = Set::harvest(|text| {
            text.replace("<DVC", &format!("{TRACTOR}<DVC"))
                .replace("<TLG", &format!("{connected}{time}<TLG"))
                .replace("</GGP>", r#"</GGP><LSG A="5"><PNT A="" C="" D="" J="PNT00001"/></LSG>"#)
                .replace("</ISO", &format!("{zones}</ISO"))
        });
        let cells = [1_u8, 1, 0, 0].repeat(12);
        std::fs::write(set.path().join("GRD00001.BIN"), &cells[..if kind == 1 { 12 } else { 48 }]).unwrap();
        std::fs::write(set.path().join("PNT00001.BIN"), [2_u8; 34]).unwrap();
        let names = ["taskdata.xml", "TLG00001.xml", "TLG00001.BIN", "GRD00001.BIN", "PNT00001.BIN"];
        let path = set.path().join(names[which]);
        let mut bytes = std::fs::read(&path).unwrap();
        for (at, byte) in spoilt {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if is_cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        std::fs::write(&path, bytes).unwrap();
        if let Ok(log) = read(&set.path()) {
            prop_assert!(log.len() <= 4_000);
        }
        let _ = read_boundary(&set.path());
        let _ = read_strips(&set.path(), &StripOptions::default());
        let _ = read_line(&set.path());
        let called = format!("{}:GPN1", set.path().display());
        let _ = read_line(Path::new(&called));
    }
}
