//! A coordinate reference system in the words that file formats carry it in: writers of formats that
//! keep a file's own system ask here.

use checkstrip_model::contained;
use proj::wkt::WktVersion;
use proj::{Proj, ProjCreateError};

use crate::crs::{CrsError, spell_for_proj, unknown, without_reason};
use crate::projection::with_proj;

/// One coordinate reference system, said in several ways.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrsDescription {
    /// Well-known text 1 as OGC 01-009 has it; WKT 2 (ISO 19162:2019) for systems it cannot say.
    pub wkt: String,
    /// Well-known text in the form of `.prj` files; as `wkt` for systems it cannot say.
    pub esri_wkt: String,
    /// PROJJSON (PROJ contributors, schema 0.7), one line.
    pub projjson: String,
}

/// What PROJ knows of `definition`, which is anything that [`crate::crs::ToWgs84::new`] takes.
///
/// # Errors
/// [`CrsError::Unknown`] when PROJ does not know it.
///
/// ```
/// let utm = checkstrip_spatial::crs_description::describe("EPSG:26915")?;
/// assert!(utm.wkt.starts_with("PROJCS[\"NAD83 / UTM zone 15N\""));
/// assert!(utm.projjson.contains("\"id\":{\"authority\":\"EPSG\",\"code\":26915}"));
/// # Ok::<(), checkstrip_spatial::crs::CrsError>(())
/// ```
pub fn describe(definition: &str) -> Result<CrsDescription, CrsError> {
    let spelled = spell_for_proj(definition.trim());
    // The same definition also names a way to WGS 84: its description is held beside that.
    let name = format!("describe {spelled}");
    let in_words = |crs: &Proj| {
        let newest = || crs.as_wkt(Some(WktVersion::Wkt2_2019), None);
        let wkt = crs
            .as_wkt(Some(WktVersion::Wkt1_Gdal), None)
            .or_else(|_| newest())?;
        let esri_wkt = crs
            .as_wkt(Some(WktVersion::Wkt1_Esri), None)
            .or_else(|_| newest())?;
        let projjson = crs.to_projjson(Some(false), None, None)?;
        Ok(CrsDescription {
            wkt,
            esri_wkt,
            projjson,
        })
    };
    let refused = |error: proj::ProjError| ProjCreateError::ProjError(error.to_string());
    with_proj(
        &name,
        || without_reason(contained(|| Proj::new(&spelled))),
        |crs| without_reason(contained(|| in_words(crs).map_err(refused))),
    )
    .and_then(|described| described)
    .map_err(|error| unknown(&spelled, error))
}
