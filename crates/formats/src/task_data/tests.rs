//! Sets of task data written here by the standard's layout, all invented, and read as a grower's would be.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use checkstrip_model::{Column, ColumnSource, FieldLog};
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
    assert_eq!(
        source(Column::Machine),
        "device, task Harvest (North forty), crop Soybean []"
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
    let error = read(&set.path()).unwrap_err();
    assert!(error.contains("no log in it carries grain"), "{error}");
    assert!(
        error.contains("Actual Mass Per Area Application Rate (DDI 7)"),
        "{error}"
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
    let grid = document(&task(
        r#"<GRD A="43" B="-93" C="1" D="1" E="1" F="1" G="GRD00001" I="1"/>"#,
    ));
    let set = Set::new(&[("TASKDATA.XML", grid.as_bytes())]);
    let error = read_strips(&set.path(), &StripOptions::default())
        .unwrap_err()
        .to_string();
    assert!(error.contains("cells of a grid"), "{error}");
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
        which in 0_usize..3,
        spoilt in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in any::<prop::sample::Index>(),
        is_cut in any::<bool>(),
    ) {
        let zones = task(&format!(r#"<TZN A="1">{}<PDV A="0006" B="1"/></TZN>"#, square(-93.0, "")));
        let set = Set::harvest(|text| text.replace("</ISO", &format!("{}</ISO", zones.replace("TSK1", "TSK2"))));
        let path = set.path().join(["taskdata.xml", "TLG00001.xml", "TLG00001.BIN"][which]);
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
    }
}
