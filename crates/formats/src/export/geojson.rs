//! A cleaned log as GeoJSON (RFC 7946): one point feature per record, in WGS 84.

use std::path::Path;

use checkstrip_model::{CleanLog, Column};

use super::columns::{POSITION_DECIMALS, Values, columns};
use super::in_order::write_blocks;
use super::{fixed_decimal, write_atomically};
use crate::FormatError;

/// Writes `log` as GeoJSON: longitude and latitude as the point, everything else as its attributes
/// under canonical names, `null` where there is no reading.
///
/// # Errors
/// When the file cannot be written.
pub fn write_cleaned_geojson(path: &Path, log: &CleanLog) -> Result<(), FormatError> {
    let columns = columns(log, false);
    // Keys and names are put into JSON once, not for every record.
    let keys: Vec<String> = columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            format!(
                "{}{}:",
                if at > 0 { "," } else { "" },
                json_text(column.name)
            )
        })
        .collect();
    let names: Vec<Vec<String>> = columns
        .iter()
        .map(|column| match column.values {
            Values::Labels(labels) => labels.names.iter().map(|name| json_name(name)).collect(),
            _ => Vec::new(),
        })
        .collect();
    let lon = log.log.numbers(Column::Lon).unwrap_or_default();
    let lat = log.log.numbers(Column::Lat).unwrap_or_default();
    let position = |record: usize| {
        let (lon, lat) = (*lon.get(record)?, *lat.get(record)?);
        (lon.is_finite() && lat.is_finite()).then_some((lon, lat))
    };
    write_atomically(path, |writer| {
        writer.write_all(b"{\"type\":\"FeatureCollection\",\"features\":[\n")?;
        write_blocks(writer, log.len(), |records, out| {
            for record in records {
                if record > 0 {
                    out.extend_from_slice(b",\n");
                }
                out.extend_from_slice(b"{\"type\":\"Feature\",\"geometry\":");
                match position(record) {
                    Some((lon, lat)) => {
                        out.extend_from_slice(b"{\"type\":\"Point\",\"coordinates\":[");
                        fixed_decimal::push(out, lon, POSITION_DECIMALS);
                        out.push(b',');
                        fixed_decimal::push(out, lat, POSITION_DECIMALS);
                        out.extend_from_slice(b"]}");
                    }
                    None => out.extend_from_slice(b"null"),
                }
                out.extend_from_slice(b",\"properties\":{");
                for (at, column) in columns.iter().enumerate() {
                    out.extend_from_slice(keys[at].as_bytes());
                    match column.number(record) {
                        Some((value, decimals)) if value.is_finite() => {
                            fixed_decimal::push(out, value, decimals);
                            continue;
                        }
                        Some(_) => {
                            out.extend_from_slice(b"null");
                            continue;
                        }
                        None => {}
                    }
                    match column.values {
                        Values::Record => fixed_decimal::push_whole(out, record as u64 + 1),
                        Values::Pass(pass) => {
                            fixed_decimal::push_whole(out, u64::from(pass[record]));
                        }
                        Values::Status(status) => {
                            // Keys are lower-case letters and underscores.
                            out.push(b'"');
                            out.extend_from_slice(status[record].key().as_bytes());
                            out.push(b'"');
                        }
                        Values::Labels(labels) => {
                            let name = &names[at][labels.index[record] as usize];
                            out.extend_from_slice(name.as_bytes());
                        }
                        Values::Numbers(..) | Values::NewArea(_) => {}
                    }
                }
                out.extend_from_slice(b"}}");
            }
        })?;
        writer.write_all(b"\n]}\n")
    })
}

fn json_text(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// A name as a JSON value; no name is `null`.
fn json_name(name: &str) -> String {
    if name.is_empty() {
        "null".to_owned()
    } else {
        json_text(name)
    }
}
