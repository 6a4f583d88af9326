//! The reference system that a file is written in, where it is not WGS 84 longitude and latitude.

use checkstrip_spatial::crs::CrsError;
use checkstrip_spatial::crs_description::{CrsDescription, describe};
use serde_json::Value;

/// A reference system in the words of every format.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct WrittenCrs {
    /// Its name, such as `NAD83 / UTM zone 15N`.
    pub(crate) name: String,
    /// The authority that numbers it, and its number.
    pub(crate) code: Option<(String, i32)>,
    pub(crate) description: CrsDescription,
    /// `description.projjson`, taken apart.
    pub(crate) projjson: Value,
}

impl WrittenCrs {
    /// The reference system that `definition` names.
    ///
    /// # Errors
    /// When PROJ does not know it.
    pub(crate) fn new(definition: &str) -> Result<WrittenCrs, CrsError> {
        let description = describe(definition)?;
        let projjson: Value = serde_json::from_str(&description.projjson).unwrap_or_default();
        let id = &projjson["id"];
        let number = match &id["code"] {
            Value::Number(code) => code.as_i64(),
            Value::String(code) => code.parse().ok(),
            _ => None,
        };
        let number = number.and_then(|code| i32::try_from(code).ok());
        let code = id["authority"].as_str().map(str::to_owned).zip(number);
        Ok(WrittenCrs {
            name: projjson["name"].as_str().unwrap_or("unnamed").to_owned(),
            code,
            description,
            projjson,
        })
    }
}
