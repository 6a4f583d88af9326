//! A cleaned log as CSV (RFC 4180, with line feeds).

use std::borrow::Cow;
use std::path::Path;

use checkstrip_model::CleanLog;

use super::columns::{Values, columns};
use super::in_order::write_blocks;
use super::{fixed_decimal, write_atomically};
use crate::FormatError;

/// Writes `log` as CSV: one line per record under canonical names, empty where there is no reading.
///
/// # Errors
/// When the file cannot be written.
pub fn write_cleaned_csv(path: &Path, log: &CleanLog) -> Result<(), FormatError> {
    let columns = columns(log, true);
    // Names are quoted once, not for every record.
    let names: Vec<Vec<Cow<'_, str>>> = columns
        .iter()
        .map(|column| match column.values {
            Values::Labels(labels) => labels.names.iter().map(|name| quoted(name)).collect(),
            _ => Vec::new(),
        })
        .collect();
    write_atomically(path, |writer| {
        let headers: Vec<&str> = columns.iter().map(|column| column.name).collect();
        writeln!(writer, "{}", headers.join(","))?;
        write_blocks(writer, log.len(), |records, out| {
            for record in records {
                for (at, column) in columns.iter().enumerate() {
                    if at > 0 {
                        out.push(b',');
                    }
                    if let Some((value, decimals)) = column.number(record) {
                        if value.is_finite() {
                            fixed_decimal::push(out, value, decimals);
                        }
                        continue;
                    }
                    match column.values {
                        Values::Record => fixed_decimal::push_whole(out, record as u64 + 1),
                        Values::Pass(pass) => {
                            fixed_decimal::push_whole(out, u64::from(pass[record]));
                        }
                        Values::Status(status) => {
                            out.extend_from_slice(status[record].key().as_bytes());
                        }
                        Values::Labels(labels) => {
                            let name = &names[at][labels.index[record] as usize];
                            out.extend_from_slice(name.as_bytes());
                        }
                        Values::Numbers(..) | Values::NewArea(_) => {}
                    }
                }
                out.push(b'\n');
            }
        })
    })
}

/// A name in quotes where it needs them.
pub(super) fn quoted(name: &str) -> Cow<'_, str> {
    if name.contains([',', '"', '\n', '\r']) {
        Cow::Owned(format!("\"{}\"", name.replace('"', "\"\"")))
    } else {
        Cow::Borrowed(name)
    }
}
