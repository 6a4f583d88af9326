//! Corners of reading logs, whichever format they come in.

use super::*;
use checkstrip_model::{ColumnSource, units};
use proptest::prelude::*;
use std::io::Write;

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../fixtures/reading")
        .join(name)
}

fn read(name: &str) -> FieldLog {
    read_log(&[fixture(name)], &ReadOptions::default()).unwrap()
}

fn write(dir: &Path, name: &str, content: &[u8]) -> PathBuf {
    let path = dir.join(name);
    std::fs::write(&path, content).unwrap();
    path
}

fn refused(name: &str, content: &str) -> String {
    let dir = tempfile::tempdir().unwrap();
    let path = write(dir.path(), name, content.as_bytes());
    read_log(&[path], &ReadOptions::default())
        .unwrap_err()
        .to_string()
}

fn assert_same(found: &FieldLog, expected: &FieldLog, columns: &[Column]) {
    for &column in columns {
        let (found, expected) = (
            found.numbers(column).unwrap(),
            expected.numbers(column).unwrap(),
        );
        assert_eq!(found.len(), expected.len());
        for (a, b) in found.iter().zip(expected) {
            assert!(
                (a - b).abs() <= 1e-9 * b.abs().max(1.0),
                "{column:?}: {a} is not {b}"
            );
        }
    }
}

const NUMBERS: [Column; 10] = [
    Column::Timestamp,
    Column::Lon,
    Column::Lat,
    Column::MassFlow,
    Column::Moisture,
    Column::Speed,
    Column::Distance,
    Column::Interval,
    Column::Width,
    Column::HeaderDown,
];

#[test]
fn the_same_records_in_every_dialect_give_the_same_columns() {
    let expected = read("comma.csv");
    assert_eq!(expected.len(), 5);
    assert!(expected.problems.is_empty(), "{:?}", expected.problems);
    for name in [
        "semicolon_decimal_comma.csv",
        "tabs_farm_units.tsv",
        "spaces.txt",
        "points.geojson",
    ] {
        let found = read(name);
        assert!(found.problems.is_empty(), "{name}: {:?}", found.problems);
        assert_same(&found, &expected, &NUMBERS);
        assert_eq!(found.labels(Column::PassId).unwrap().names, ["1"], "{name}");
    }
    let latin = read("semicolon_decimal_comma.csv");
    assert_eq!(
        latin.labels(Column::Machine).unwrap().name(0),
        "invented nörth"
    );
    assert!(expected.cleaned_status.is_none());
}

#[test]
fn a_shapefile_of_the_same_records_gives_the_same_columns() {
    use ::shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
    let expected = read("comma.csv");
    let dir = tempfile::tempdir().unwrap();
    let short = [
        (Column::Timestamp, "timestamp_"),
        (Column::MassFlow, "flow_kg_s"),
        (Column::Moisture, "moisture_p"),
        (Column::Speed, "speed_m_s"),
        (Column::Distance, "distance_m"),
        (Column::Interval, "interval_s"),
        (Column::Width, "width_m"),
        (Column::HeaderDown, "header"),
    ];
    let mut table = TableWriterBuilder::new();
    for (_, name) in short {
        table = table.add_numeric_field(FieldName::try_from(name).unwrap(), 20, 8);
    }
    let path = dir.path().join("Invented.SHP");
    let mut writer =
        ::shapefile::Writer::from_path(dir.path().join("Invented.shp"), table).unwrap();
    for record in 0..expected.len() {
        let value = |column| expected.numbers(column).unwrap()[record];
        let mut attributes = Record::default();
        for (column, name) in short {
            attributes.insert(name.into(), FieldValue::Numeric(Some(value(column))));
        }
        let point = ::shapefile::Point::new(value(Column::Lon), value(Column::Lat));
        writer.write_shape_and_record(&point, &attributes).unwrap();
    }
    drop(writer);
    std::fs::rename(dir.path().join("Invented.shp"), &path).unwrap();
    let found = read_log(&[path], &ReadOptions::default()).unwrap();
    assert_same(&found, &expected, &NUMBERS);
    assert_eq!(found.problems.len(), 1, "{:?}", found.problems);
}

#[test]
fn several_files_are_one_log_and_gzip_is_unpacked() {
    let dir = tempfile::tempdir().unwrap();
    let first = write(
        dir.path(),
        "a.csv",
        b"lon,lat,flow_kg_s,machine\n1,2,3,a\n1,2,4,b\n",
    );
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    packer
        .write_all(b"lon;lat;flow_lb_s;speed_mph\n1;2;3;4\n")
        .unwrap();
    let second = write(dir.path(), "b.csv.gz", &packer.finish().unwrap());
    let log = read_log(&[first, second], &ReadOptions::default()).unwrap();
    assert_eq!(log.len(), 3);
    assert_eq!(
        log.files
            .iter()
            .map(|file| file.records)
            .collect::<Vec<_>>(),
        [2, 1]
    );
    assert_eq!(
        (log.file.as_slice(), log.row.as_slice()),
        (&[0, 0, 1][..], &[2, 3, 2][..])
    );
    let speed = log.numbers(Column::Speed).unwrap();
    assert!(speed[0].is_nan() && speed[1].is_nan() && speed[2] > 1.0);
    assert_eq!(log.labels(Column::Machine).unwrap().name(2), "");
    assert_eq!(log.files[0].sha256.len(), 64);
    let missing = log
        .problems
        .iter()
        .filter(|p| p.message.contains("which other files have"));
    assert_eq!(missing.count(), 2);
}

/// A planter that logs a column for each row, in two layouts: the model holds a record for each row and moment
/// either way.
#[test]
fn rows_of_a_planter_are_records() {
    let dir = tempfile::tempdir().unwrap();
    let wide = "time;lon;lat;Row 1 Skips (%);Row 2 Skips (%);Row 2 downforce (lb);Sorte R1;Sorte R2\n\
                10;1;2;0,5;1;100;early;late\n11;1;2;;2;110;early;late\n";
    let long = "time,lon,lat,row,skips_pct,downforce_lb,variety\n10,1,2,1,0.5,,early\n10,1,2,2,1,100,late\n\
                11,1,2,1,,,early\n11,1,2,2,2,110,late\n";
    let read = |name: &str, text: &str| {
        let path = write(dir.path(), name, text.as_bytes());
        read_log(&[path], &ReadOptions::default()).unwrap()
    };
    let (wide, long) = (read("wide.csv", wide), read("long.csv", long));
    assert_eq!(
        (wide.row.as_slice(), wide.files[0].records),
        (&[2, 2, 3, 3][..], 4)
    );
    for log in [&wide, &long] {
        assert_eq!(log.operation, Operation::Planting);
        assert_eq!(log.numbers(Column::Row), Some(&[1.0, 2.0, 1.0, 2.0][..]));
        assert_eq!(
            log.numbers(Column::Timestamp),
            Some(&[10.0, 10.0, 11.0, 11.0][..])
        );
        let skips = log.numbers(Column::Skips).unwrap();
        assert!(skips[2].is_nan());
        assert_eq!([skips[0], skips[1], skips[3]], [0.5, 1.0, 2.0]);
        let force = log.numbers(Column::Downforce).unwrap();
        assert!(force[0].is_nan() && force[2].is_nan());
        assert_eq!(force[3], 110.0 * units::N_PER_LBF);
        assert_eq!(log.labels(Column::Product).unwrap().name(3), "late");
    }
    let header = |log: &FieldLog, column| {
        let mut sources = log.sources.iter();
        sources
            .find(|source| source.0 == column)
            .map(|source| source.1.clone())
    };
    assert_eq!(
        header(&wide, Column::Skips).as_deref(),
        Some("Row 1 Skips (%) … Row 2 Skips (%)")
    );
}

#[test]
fn logs_of_different_work_are_not_joined() {
    let dir = tempfile::tempdir().unwrap();
    let harvest = write(dir.path(), "harvest.csv", b"lon,lat,flow_kg_s\n1,2,3\n");
    let sprayer = write(
        dir.path(),
        "sprayer.csv",
        b"lon,lat,Rate (gal/ac),Product\n1,2,10,lime\n",
    );
    let options = ReadOptions::default();
    let applied = read_log(std::slice::from_ref(&sprayer), &options).unwrap();
    assert_eq!(applied.operation, Operation::Application);
    let volume = applied.numbers(Column::AppliedVolume).unwrap()[0];
    // 10 gal/ac, handbooks: 1 gal/ac = 9.354 L/ha.
    assert!((volume - 93.54).abs() < 0.005, "{volume}");
    let error = read_log(&[harvest, sprayer], &options)
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("expected a harvest log") && error.contains("an as-applied"),
        "{error}"
    );
}

#[test]
fn an_entry_of_the_columns_table_must_be_in_a_file() {
    let mut options = ReadOptions::default();
    let source = ColumnSource {
        column: "grain".into(),
        unit: Some("lb/s".into()),
    };
    options.columns.insert(Column::MassFlow, source);
    let error = read_log(&[fixture("comma.csv")], &options)
        .unwrap_err()
        .to_string();
    assert!(error.contains("mass_flow is in \"grain\""), "{error}");
    assert!(error.contains("\"mass_flow_kg_s\""), "{error}");
}

#[test]
fn swapped_and_projected_positions_are_told_apart() {
    let swapped = refused("a.csv", "lon,lat,flow_kg_s\n43.2,-93.1,1\n43.2,-93.1,1\n");
    assert!(swapped.contains("probably swapped"), "{swapped}");
    assert!(swapped.contains("lon = { column = \"lat\" }"), "{swapped}");
    let metres = refused("a.csv", "x,y,flow_kg_s\n491000,4783000,1\n");
    assert!(metres.contains("metres of a map projection"), "{metres}");
    let none = refused("a.csv", "lon,lat,flow_kg_s\n,,1\n");
    assert!(
        none.contains("none of the 1 records has a position"),
        "{none}"
    );
}

#[test]
fn single_impossible_positions_are_dropped_and_located() {
    let dir = tempfile::tempdir().unwrap();
    let text = b"lon,lat,flow_kg_s\n1,2,3\n1,95,3\n1,,3\n1,2,3\n";
    let log = read_log(&[write(dir.path(), "a.csv", text)], &ReadOptions::default()).unwrap();
    assert!(log.numbers(Column::Lon).unwrap()[1].is_nan());
    assert_eq!(
        log.problems.iter().map(|p| p.row).collect::<Vec<_>>(),
        [Some(3), Some(4)]
    );
}

#[test]
fn doubtful_units_and_doubled_files_are_said() {
    let dir = tempfile::tempdir().unwrap();
    let text = b"time,lon,lat,flow_kg_s,moisture\n1759759200000,1,2,3,0.155\n";
    let path = write(dir.path(), "a.csv", text);
    let log = read_log(&[path.clone(), path], &ReadOptions::default()).unwrap();
    let hints: Vec<&str> = log
        .problems
        .iter()
        .map(|problem| problem.hint.as_str())
        .collect();
    assert!(
        hints
            .iter()
            .any(|hint| hint.contains("unit = \"fraction\"")),
        "{hints:?}"
    );
    assert!(
        hints.iter().any(|hint| hint.contains("unit = \"ms\"")),
        "{hints:?}"
    );
    assert!(
        log.problems
            .iter()
            .any(|p| p.message.starts_with("holds the same as"))
    );
}

#[test]
fn geojson_that_breaks_off_keeps_what_came_before() {
    let whole = std::fs::read_to_string(fixture("points.geojson")).unwrap();
    let dir = tempfile::tempdir().unwrap();
    let path = write(
        dir.path(),
        "a.geojson",
        &whole.as_bytes()[..whole.len() - 200],
    );
    let log = read_log(&[path], &ReadOptions::default()).unwrap();
    assert_eq!(log.len(), 4);
    assert!(
        log.problems[0]
            .message
            .contains("the 4 records before are read"),
        "{:?}",
        log.problems
    );
}

/// RFC 7946, section 1.5: a collection of a point, a line and a polygon.
#[test]
fn the_example_of_rfc_7946_is_no_log() {
    let example = r#"{"type": "FeatureCollection", "features": [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [102.0, 0.5]},
         "properties": {"prop0": "value0"}},
        {"type": "Feature", "geometry": {"type": "LineString",
         "coordinates": [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]},
         "properties": {"prop0": "value0", "prop1": 0.0}},
        {"type": "Feature", "geometry": {"type": "Polygon", "coordinates":
         [[[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]]},
         "properties": {"prop0": "value0", "prop1": {"this": "that"}}}]}"#;
    let error = refused("a.geojson", example);
    assert!(
        error.contains("no header fits mass_flow (or yield)"),
        "{error}"
    );
    assert!(error.contains("\"prop0\", \"prop1\""), "{error}");
}

#[test]
fn what_is_no_log_is_refused() {
    assert!(refused("a.csv", "").contains("the file is empty"));
    assert!(refused("a.geojson", "[1, 2").contains("hint:"));
    assert!(refused("a.geojson", "{}").contains("expected GeoJSON features"));
    assert!(refused("a.shp", "no shape").contains("expected a Shapefile"));
    assert!(refused("a.zip", "no zip").contains("cannot be read"));
    assert!(refused("a.csv.gz", "not packed").contains("hint:"));
    let missing = read_log(&["no-such.csv".into()], &ReadOptions::default()).unwrap_err();
    assert!(
        missing.to_string().contains("check the spelling"),
        "{missing}"
    );
    let polygons = std::fs::read_to_string(fixture("strips.geojson")).unwrap();
    assert!(refused("a.geojson", &polygons).contains("[strips]"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn damaged_geojson_is_read_or_refused(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        which in 0_usize..2,
    ) {
        let name = ["points.geojson", "strips_utm.geojson"][which];
        let mut bytes = std::fs::read(fixture(name)).unwrap();
        for (at, byte) in &changes {
            let at = at.index(bytes.len());
            bytes[at] = *byte;
        }
        let _ = crate::geojson::polygons::read("a", &bytes);
        if let Ok(table) = geojson::points::read("a", &bytes) {
            let _ = table.into_part("a", String::new(), &ReadOptions::default());
        }
    }
}

/// A log read in pieces, put together again.
fn in_pieces(paths: &[PathBuf], options: &ReadOptions) -> Result<(FieldLog, usize), FormatError> {
    let mut pieces: Vec<FieldLog> = Vec::new();
    let about = read_log_in_pieces(paths, options, |piece| -> Result<(), FormatError> {
        pieces.push(piece);
        Ok(())
    })?;
    let records = pieces.iter().map(FieldLog::len).sum();
    let mut log = FieldLog::with_records(records);
    log.row = pieces.iter().flat_map(|piece| piece.row.clone()).collect();
    log.operation = about.operation;
    log.files = about.files;
    log.sources = about.sources;
    log.unrecognised = about.unrecognised;
    log.facts = about.facts;
    log.problems = about.problems;
    for &column in Column::ALL {
        if pieces.iter().any(|piece| piece.numbers(column).is_some()) {
            let numbers = pieces.iter().flat_map(|piece| match piece.numbers(column) {
                Some(numbers) => numbers.to_vec(),
                None => vec![f64::NAN; piece.len()],
            });
            log.set_numbers(column, numbers.collect());
        }
        if pieces.iter().any(|piece| piece.labels(column).is_some()) {
            let mut labels = checkstrip_model::Labels::default();
            for piece in &pieces {
                for record in 0..piece.len() {
                    let names = piece.labels(column);
                    labels.push(names.map_or("", |names| names.name(record)));
                }
            }
            log.set_labels(column, labels);
        }
    }
    Ok((log, pieces.len()))
}

/// The pieces are the log, or are refused as the log is. Returns how many there were.
#[track_caller]
fn assert_pieces_are_the_log(paths: &[PathBuf], options: &ReadOptions) -> usize {
    let (whole, pieces) = (read_log(paths, options), in_pieces(paths, options));
    let (whole, (log, pieces)) = match (whole, pieces) {
        (Ok(whole), Ok(pieces)) => (whole, pieces),
        (Err(whole), Err(pieces)) => {
            assert_eq!(pieces.to_string(), whole.to_string(), "{paths:?}");
            return 0;
        }
        (whole, pieces) => panic!("{paths:?}: {whole:?} against {pieces:?}"),
    };
    let bits = |log: &FieldLog, column| {
        let numbers = log.numbers(column)?;
        Some(
            numbers
                .iter()
                .map(|value| value.to_bits())
                .collect::<Vec<_>>(),
        )
    };
    for &column in Column::ALL {
        assert_eq!(
            bits(&log, column),
            bits(&whole, column),
            "{paths:?}, {column:?}"
        );
        assert_eq!(
            log.labels(column),
            whole.labels(column),
            "{paths:?}, {column:?}"
        );
    }
    assert_eq!(log.row, whole.row, "{paths:?}");
    assert_eq!(log.operation, whole.operation);
    assert_eq!(log.files, whole.files);
    assert_eq!(log.sources, whole.sources);
    assert_eq!(log.unrecognised, whole.unrecognised, "{paths:?}");
    assert_eq!(log.facts, whole.facts);
    assert_eq!(log.problems, whole.problems, "{paths:?}");
    pieces
}

/// Law: pieces are the log, of every file in the folder of small inputs, whether it is a log or not.
#[test]
fn pieces_of_small_files_are_the_log() {
    let mut files: Vec<PathBuf> = std::fs::read_dir(fixture(""))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    let options = ReadOptions {
        bushel_kg: 25.4,
        ..ReadOptions::default()
    };
    let mut read = 0;
    for file in &files {
        read += assert_pieces_are_the_log(std::slice::from_ref(file), &options);
    }
    assert!(read >= 5, "{read}");
    let several = ["comma.csv", "points.geojson", "tabs_farm_units.tsv"].map(fixture);
    assert_pieces_are_the_log(&several, &options);
    let mut wrong = options.clone();
    wrong.columns.insert(
        Column::Moisture,
        ColumnSource {
            column: "not there".into(),
            unit: None,
        },
    );
    assert_pieces_are_the_log(&several, &wrong);
    assert_pieces_are_the_log(&[], &options);
}

/// A log of many blocks of text with everything in it that cells can have wrong.
fn long_text(records: usize) -> String {
    let mut text =
        String::from("\u{feff}time;row;lon;lat;Skips (%);Row width (ft);Machine;pass;note\n");
    for record in 0..records {
        let machine = match record % 97 {
            0 => "\"an \"\"invented\"\"\nmachine\"",
            _ => "other",
        };
        let skips = match record % 4_001 {
            7 => "many",
            9 => "",
            _ => "1,25",
        };
        let lon = if record % 5_003 == 11 {
            "-93000"
        } else {
            "-93,25"
        };
        let (moment, row) = (record / 4, record % 4 + 1);
        text.push_str(&format!(
            "{moment};{row};{lon};43,{:05};{skips};20;{machine};P{};hö\n",
            record % 1_000,
            record / 50_000
        ));
        if record % 30_011 == 13 {
            text.push_str("5;1;-93,25\n\n");
        }
    }
    text
}

/// Law: pieces are the log, of files of many pieces in several encodings, one cut off.
#[test]
fn pieces_of_large_texts_are_the_log() {
    let dir = tempfile::tempdir().unwrap();
    let text = long_text(400_000);
    let options = ReadOptions::default();
    let plain = write(dir.path(), "plain.csv", text.as_bytes());
    let pieces = assert_pieces_are_the_log(std::slice::from_ref(&plain), &options);
    assert!(pieces > 2, "{pieces}");
    let cut = write(
        dir.path(),
        "cut.csv",
        &text.as_bytes()[..text.len() / 2 + 7],
    );
    assert_pieces_are_the_log(&[plain, cut], &options);
    let (latin, ..) = encoding_rs::WINDOWS_1252.encode(&text[3..]);
    let latin = write(dir.path(), "latin.csv", &latin);
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let wide = write(dir.path(), "wide.csv", &wide);
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    packer.write_all(text.as_bytes()).unwrap();
    let packed = write(dir.path(), "packed.csv.gz", &packer.finish().unwrap());
    assert_pieces_are_the_log(&[latin, wide, packed], &options);
}

/// Law: pieces are the log, of GeoParquet with points and without, of more records than a piece has.
#[test]
fn pieces_of_geoparquet_are_the_log() {
    let dir = tempfile::tempdir().unwrap();
    let options = ReadOptions::default();
    let mut files = Vec::new();
    for records in [10, 150_000] {
        let text = write(
            dir.path(),
            &format!("{records}.csv"),
            long_text(records).as_bytes(),
        );
        // A cut position is no degree: conversions refuse it.
        let good = std::fs::read_to_string(&text)
            .unwrap()
            .replace("-93000", "-93,25");
        std::fs::write(&text, good).unwrap();
        let file = dir.path().join(format!("{records}.parquet"));
        crate::convert(&text, &file, &crate::ConvertOptions::default()).unwrap();
        let pieces = assert_pieces_are_the_log(std::slice::from_ref(&file), &options);
        assert!(records == 10 || pieces > 1, "{pieces}");
        files.push(file);
    }
    files.reverse();
    assert_pieces_are_the_log(&files, &options);
    let bytes = std::fs::read(&files[0]).unwrap();
    for share in [3, 10, 17] {
        let cut = write(
            dir.path(),
            "cut.parquet",
            &bytes[..bytes.len() * share / 20],
        );
        assert_pieces_are_the_log(&[cut], &options);
    }
    // A page in the middle that is not what it was.
    let mut damaged = bytes.clone();
    for byte in &mut damaged[bytes.len() / 3..bytes.len() / 3 + 64] {
        *byte ^= 0x5a;
    }
    let damaged = write(dir.path(), "damaged.parquet", &damaged);
    let whole = read_log(std::slice::from_ref(&damaged), &options).map(|_| ());
    let pieces = in_pieces(&[damaged], &options).map(|_| ());
    assert_eq!(pieces.is_err(), whole.is_err());
}

/// Whoever takes the pieces may stop.
#[test]
fn an_error_of_the_taker_ends_the_reading() {
    let dir = tempfile::tempdir().unwrap();
    let text = write(dir.path(), "plain.csv", long_text(400_000).as_bytes());
    let mut taken = 0;
    let found = read_log_in_pieces(&[text], &ReadOptions::default(), |_| {
        taken += 1;
        Err(FormatError::from(Problem::new("here", "enough")))
    });
    assert_eq!(found.unwrap_err().to_string(), "here: enough");
    assert_eq!(taken, 1);
}
