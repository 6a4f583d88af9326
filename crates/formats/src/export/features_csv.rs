//! Features as CSV (RFC 4180, with line feeds): points as the columns `lon` and `lat`.

use std::io::Write;
use std::path::Path;

use super::csv::quoted;
use super::feature_source::{Drawn, FeatureSource, Holds, Value};
use super::write_atomically;
use crate::FormatError;

/// Writes `source`, whose features are points or have no place, as CSV.
///
/// # Errors
/// When the file cannot be written.
pub(crate) fn write_features_csv(
    path: &Path,
    source: &dyn FeatureSource,
) -> Result<(), FormatError> {
    let outline = source.outline();
    let has_points = outline.holds == Holds::Points;
    write_atomically(path, |writer| {
        let names = outline.columns.iter().map(|column| quoted(&column.name));
        let axes = ["lon", "lat"].into_iter().filter(|_| has_points);
        let headers: Vec<_> = axes.map(Into::into).chain(names).collect();
        writeln!(writer, "{}", headers.join(","))?;
        let mut line = Vec::new();
        source.each_batch(&mut |batch| {
            for record in 0..batch.records() {
                line.clear();
                if has_points {
                    match batch.drawn(record) {
                        Drawn::Point([x, y]) => write!(line, "{x},{y},")?,
                        _ => line.extend_from_slice(b",,"),
                    }
                }
                for column in 0..outline.columns.len() {
                    match batch.value(column, record) {
                        Value::Nothing => {}
                        Value::Truth(value) => write!(line, "{value}")?,
                        Value::Whole(value) => write!(line, "{value}")?,
                        Value::Number(value) => write!(line, "{value}")?,
                        Value::Text(text) => line.extend_from_slice(quoted(text).as_bytes()),
                    }
                    line.push(b',');
                }
                line.pop();
                line.push(b'\n');
                writer.write_all(&line)?;
            }
            Ok(())
        })
    })
}
