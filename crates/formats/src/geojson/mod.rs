//! GeoJSON (RFC 7946), whole or feature by feature: points with attributes as a log, polygons with
//! attributes as strips.

pub(crate) mod points;
pub(crate) mod polygons;
mod stream;
pub(crate) mod text_sequence;

use checkstrip_model::Problem;
use serde_json::Value;

pub(crate) use stream::SequenceStream;

/// The name in a `crs` member, which GeoJSON had before RFC 7946 and which files still carry.
///
/// # Errors
/// When the member is of a kind that names nothing.
pub(crate) fn crs_name(file: &str, crs: &Value) -> Result<Option<String>, Problem> {
    if crs.is_null() {
        return Ok(None);
    }
    let name = crs
        .pointer("/properties/name")
        .or_else(|| crs.pointer("/properties/code"))
        .or(Some(crs).filter(|crs| crs.is_string()));
    match name {
        Some(Value::String(name)) => Ok(Some(name.clone())),
        Some(Value::Number(code)) => Ok(Some(format!("EPSG:{code}"))),
        _ => Err(Problem::new(file, "the member \"crs\" names no coordinate reference system")
            .hint("write {\"type\": \"name\", \"properties\": {\"name\": \"EPSG:…\"}}, or leave it out for WGS 84")),
    }
}

/// What a JSON reader found wrong, said with its place.
pub(crate) fn json_problem(file: &str, bytes: &[u8], error: &serde_json::Error) -> Problem {
    let has_nan = memchr::memmem::find(bytes, b"NaN").is_some();
    let what = if error.is_eof() {
        "the file ends too early"
    } else {
        "not valid GeoJSON"
    };
    let message = format!("{what}: {error}");
    let problem = Problem::new(file, message).hint(if has_nan {
        "NaN is no JSON: write null where there is no reading"
    } else {
        "the file was cut off or edited by hand: export it again"
    });
    match u32::try_from(error.line()) {
        Ok(line) if line > 1 => problem.at_row(line),
        _ => problem,
    }
}
