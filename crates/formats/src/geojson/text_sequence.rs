//! GeoJSON features one after another: as a text sequence (RFC 8142, each text behind a record
//! separator) or one on each line.

use checkstrip_model::Problem;
use serde_json::Value;

use super::points::PointReader;
use super::polygons::push_feature;
use crate::feature::FeatureFile;
use crate::raw_table::RawTable;

/// The control character before each text of a sequence (RFC 7464, section 2.2).
pub(crate) const RECORD_SEPARATOR: u8 = 0x1e;

/// The texts in `bytes`, each with its number from 1: its line, or its place in the sequence.
fn texts(bytes: &[u8]) -> impl Iterator<Item = (u32, &[u8])> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let (separator, bytes) = match bytes.trim_ascii_start().strip_prefix(&[RECORD_SEPARATOR]) {
        Some(rest) => (RECORD_SEPARATOR, rest),
        None => (b'\n', bytes),
    };
    bytes
        .split(move |&byte| byte == separator)
        .zip(1..)
        .map(|(text, number)| (number, text.trim_ascii()))
        .filter(|(_, text)| !text.is_empty())
}

pub(super) fn damaged(file: &str, row: u32, error: &serde_json::Error) -> Problem {
    Problem::new(file, format!("not a GeoJSON feature: {error}")).at_row(row)
}

/// The points in `bytes`. A text that is damaged is left out, as RFC 8142 asks, and is a problem.
///
/// # Errors
/// When no text is a feature, or none of them is a point.
pub(crate) fn read_points(file: &str, bytes: &[u8]) -> Result<RawTable, Problem> {
    let mut reader = PointReader::new(file);
    let mut first = None;
    for (row, text) in texts(bytes) {
        if let Err(error) = reader.push_text(row, text) {
            let problem = damaged(file, row, &error)
                .hint("the line is left out; write one whole feature on each line");
            first.get_or_insert_with(|| problem.clone());
            reader.problem(problem);
        }
    }
    match first {
        Some(problem) if reader.is_empty() => Err(problem),
        _ => reader.finish(),
    }
}

/// The polygons in `bytes`.
///
/// # Errors
/// When a text is damaged, or a feature is no polygon: a strip less would change the answer.
pub(crate) fn read_polygons(file: &str, bytes: &[u8]) -> Result<FeatureFile, Problem> {
    let mut read = FeatureFile::default();
    for (row, text) in texts(bytes) {
        let feature: geojson::Feature = serde_json::from_slice::<Value>(text)
            .and_then(serde_json::from_value)
            .map_err(|error| {
                damaged(file, row, &error).hint("write one whole feature on each line")
            })?;
        push_feature(file, row, feature, &mut read)?;
    }
    Ok(read)
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINT: &str = r#"{"type":"Feature","properties":{"flow_kg_s":5,"note":"a"},"geometry":{"type":"Point","coordinates":[-93.1,43.2]}}"#;
    const POLYGON: &str = r#"{"type":"Feature","properties":{"treatment":"rolled"},"geometry":{"type":"Polygon","coordinates":[[[-93.1,43.2],[-93.0,43.2],[-93.0,43.3],[-93.1,43.2]]]}}"#;

    #[test]
    fn lines_and_sequences_hold_the_same() {
        let lines = format!("\u{feff}{POINT}\r\n\n{POINT}");
        // A text may run over several lines.
        let broken = POINT.replace(",\"geometry\"", ",\n\"geometry\"");
        let sequence = format!("\u{1e}{POINT}\n\u{1e}{broken}\n");
        for (text, rows) in [(lines, [1, 3]), (sequence, [1, 2])] {
            let table = read_points("a", text.as_bytes()).unwrap();
            assert_eq!(table.rows, rows);
            assert_eq!(table.points, [[-93.1, 43.2]; 2]);
            assert_eq!(table.headers, ["flow_kg_s", "note"]);
        }
        let strips = read_polygons("a", format!("{POLYGON}\n{POLYGON}\n").as_bytes()).unwrap();
        assert_eq!(strips.features.len(), 2);
        assert_eq!(
            strips.features[1].value("treatment").as_deref(),
            Some("rolled")
        );
    }

    #[test]
    fn a_damaged_line_costs_itself_only_and_leaves_no_value_behind() {
        let cut = POINT.replace("}}", "");
        let without = POINT.replace("\"note\":\"a\"", "\"x\":1");
        let table = read_points("a", format!("{POINT}\n{cut}\n{without}\n").as_bytes()).unwrap();
        assert_eq!(table.rows, [1, 3]);
        assert_eq!(table.columns[1].len(), 1);
        let problems = table.problems.finish("a");
        assert_eq!(problems[0].row, Some(2));
        assert!(read_points("a", b"{\n{\n").is_err());
        let error = read_polygons("a", format!("{POLYGON}\n{{").as_bytes()).unwrap_err();
        assert_eq!(error.row, Some(2));
        assert!(
            read_polygons("a", POINT.as_bytes())
                .unwrap_err()
                .message
                .contains("Point")
        );
    }
}
