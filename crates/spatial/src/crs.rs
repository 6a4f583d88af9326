//! Turning the coordinates of a file into WGS 84 longitude and latitude. Readers of drawn strips and
//! of logs that are not in longitude and latitude call it with whatever their file says of its
//! coordinate reference system: an EPSG code, an OGC URN or URL, WKT 1 or 2, the ESRI form of WKT
//! found in `.prj` files, or a PROJ string.
//!
//! The work is done by PROJ (PROJ contributors, 2025, *PROJ coordinate transformation software
//! library*, release 9.6.2), whose database is compiled in. Shift grids are not: between datums the
//! best transformation without a grid is used, which for NAD83 and ETRS89 is the identity (they and
//! WGS 84 agree within about 2 m) and for NAD27 is good to some 10 m.

use checkstrip_model::contained;
use proj::{Proj, ProjCreateError};

use crate::projection::{Way, convert_all};

/// The name under which PROJ knows WGS 84 best. (Its twin with the axes the other way round,
/// OGC:CRS84, makes PROJ rank transformations from NAD83 differently, and worse, where the definition
/// has no area of use.)
const WGS84: &str = "EPSG:4326";

/// How much of a definition a message repeats, characters.
const SHOWN: usize = 80;

/// What can go wrong with a coordinate reference system.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CrsError {
    /// The definition is empty.
    #[error(
        "the coordinate reference system is empty: give an EPSG code such as EPSG:26915, or WKT"
    )]
    Empty,
    /// PROJ does not know it, or cannot relate it to WGS 84.
    #[error(
        "the coordinate reference system {shown:?} is not known, or is not one on the ground \
         ({reason}): give an EPSG code such as EPSG:26915, WKT or a PROJ string, or save the file \
         again in WGS 84 longitude and latitude"
    )]
    Unknown {
        /// The start of the definition.
        shown: String,
        /// What PROJ said.
        reason: String,
    },
    /// Not one point could be converted.
    #[error(
        "none of the {points} points could be converted from {shown:?} to longitude and latitude, \
         the first is {first:?}: the coordinates are probably not in the reference system that the \
         file says"
    )]
    NothingConverts {
        /// The start of the definition.
        shown: String,
        /// How many points were asked for.
        points: usize,
        /// The first of them as text.
        first: String,
    },
    /// A local plane was asked for around no place on Earth.
    #[error(
        "there is no place at longitude {lon}, latitude {lat}: the positions of the log are missing \
         or not in degrees"
    )]
    NoSuchPlace {
        /// Longitude asked for, degrees.
        lon: String,
        /// Latitude asked for, degrees.
        lat: String,
    },
    /// Two columns that belong together have different lengths.
    #[error("{first} coordinates of one axis came with {second} of the other")]
    Lengths {
        /// Entries of the first column.
        first: usize,
        /// Entries of the second column.
        second: usize,
    },
}

/// A way from one coordinate reference system to WGS 84 longitude and latitude. It can be shared
/// between threads.
///
/// ```
/// use checkstrip_spatial::crs::ToWgs84;
/// // The central meridian of UTM zone 15 is 93° W.
/// let utm = ToWgs84::new("EPSG:26915")?;
/// let mut points = [[500_000.0, 4_649_776.22]];
/// utm.convert(&mut points)?;
/// assert!((points[0][0] + 93.0).abs() < 1e-9 && (points[0][1] - 42.0).abs() < 1e-6);
///
/// assert!(ToWgs84::new("urn:ogc:def:crs:OGC:1.3:CRS84")?.is_identity());
/// # Ok::<(), checkstrip_spatial::crs::CrsError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToWgs84 {
    /// The definition, or `None` when it is WGS 84 already.
    definition: Option<String>,
}

impl ToWgs84 {
    /// The way from `definition`, one of: an authority's code (`EPSG:26915`), an OGC URN or URL, WKT
    /// 1 or 2, ESRI WKT, a PROJ string, or a name PROJ knows.
    ///
    /// WGS 84 itself is recognised by its text alone, without opening PROJ's database.
    ///
    /// # Errors
    /// [`CrsError::Empty`] and [`CrsError::Unknown`].
    pub fn new(definition: &str) -> Result<ToWgs84, CrsError> {
        let definition =
            definition.trim_matches(|c: char| c.is_whitespace() || c == '\0' || c == '\u{feff}');
        if definition.is_empty() {
            return Err(CrsError::Empty);
        }
        if is_wgs84(definition) {
            return Ok(ToWgs84 { definition: None });
        }
        let there = ToWgs84 {
            definition: Some(spell_for_proj(definition)),
        };
        // Opening it now says what is wrong while the file's name is still at hand.
        there.run(&mut [])?;
        Ok(there)
    }

    /// Whether the coordinates are WGS 84 longitude and latitude already, so that [`convert`] leaves
    /// them as they are.
    ///
    /// [`convert`]: ToWgs84::convert
    pub fn is_identity(&self) -> bool {
        self.definition.is_none()
    }

    /// Converts points in place: easting, northing (or longitude, latitude, in the CRS's own unit)
    /// on the way in, longitude, latitude in degrees on the way out, whatever order the definition
    /// gives its axes. A point that cannot be converted becomes `NaN`, and `NaN` stays `NaN`. Long
    /// slices are converted on all threads.
    ///
    /// # Errors
    /// [`CrsError::NothingConverts`] when there are numbers and none of them can be converted.
    pub fn convert(&self, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        let first = points
            .iter()
            .find(|p| p[0].is_finite() && p[1].is_finite())
            .copied();
        self.run(points)?;
        match (first, &self.definition) {
            (Some(first), Some(definition)) if points.iter().all(|p| p[0].is_nan()) => {
                Err(CrsError::NothingConverts {
                    shown: shorten(definition),
                    points: points.len(),
                    first: format!("{}, {}", first[0], first[1]),
                })
            }
            _ => Ok(()),
        }
    }

    /// The inverse of [`convert`]: longitude, latitude in degrees on the way in, coordinates of the
    /// reference system on the way out.
    ///
    /// # Errors
    /// [`CrsError::Unknown`] when PROJ knows no way back.
    ///
    /// [`convert`]: ToWgs84::convert
    pub fn convert_back(&self, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        let Some(definition) = &self.definition else {
            return Ok(());
        };
        let make = || without_reason(contained(|| Proj::new_known_crs(WGS84, definition, None)));
        convert_all(&format!("to {definition}"), make, Way::Between, points)
            .map_err(|error| unknown(definition, error))
    }

    fn run(&self, points: &mut [[f64; 2]]) -> Result<(), CrsError> {
        let Some(definition) = &self.definition else {
            return Ok(());
        };
        convert_all(definition, || open(definition), Way::Between, points)
            .map_err(|error| unknown(definition, error))
    }
}

/// PROJ's refusal of `definition`.
pub(crate) fn unknown(definition: &str, error: ProjCreateError) -> CrsError {
    CrsError::Unknown {
        shown: shorten(definition),
        reason: match error {
            // PROJ has said more on standard error, and nothing here.
            ProjCreateError::ProjError(said) if said.starts_with("Unknown error") => {
                "PROJ does not know it, or knows no way from it to WGS 84".to_owned()
            }
            ProjCreateError::ProjError(said) => said,
            other => other.to_string(),
        },
    }
}

/// What the proj crate answered: it panics when PROJ fails without giving a reason.
pub(crate) fn without_reason<T>(
    answer: Option<Result<T, ProjCreateError>>,
) -> Result<T, ProjCreateError> {
    answer.unwrap_or_else(|| {
        Err(ProjCreateError::ProjError(
            "PROJ gives no reason".to_owned(),
        ))
    })
}

/// PROJ's way from a definition to WGS 84.
fn open(definition: &str) -> Result<Proj, ProjCreateError> {
    let refuse = |reason: &str| Err(ProjCreateError::ProjError(reason.to_owned()));
    let crs = without_reason(contained(|| Proj::new(definition)))?;
    // What PROJ cannot write down as PROJJSON is an operation, not a CRS.
    let json = crs.to_projjson(Some(false), None, None).unwrap_or_default();
    match kinds(&json).as_slice() {
        kinds if kinds.contains(&"EngineeringCRS") => {
            return refuse("it is local to a site, and does not say where on Earth that is");
        }
        [
            "ProjectedCRS"
            | "GeographicCRS"
            | "BoundCRS"
            | "CompoundCRS"
            | "DerivedProjectedCRS"
            | "DerivedGeographicCRS",
            ..,
        ] => {}
        ["VerticalCRS", ..] => return refuse("it is one of heights only"),
        ["GeodeticCRS", ..] => return refuse("it is one of distances from the Earth's centre"),
        _ => return refuse("it is not a coordinate reference system"),
    }
    let made = without_reason(contained(|| Proj::new_known_crs(definition, WGS84, None)))?;
    // PROJ answers with an empty object where it finds a way but cannot put the axes in order; used,
    // it would hand every point back unchanged.
    if made.proj_info().description.is_none() {
        return refuse("there is no way from it to WGS 84");
    }
    Ok(made)
}

/// Every `"type"` in a PROJJSON text, the outermost first.
fn kinds(json: &str) -> Vec<&str> {
    json.split("\"type\":")
        .skip(1)
        .filter_map(|rest| rest.split('"').nth(1))
        .collect()
}

/// The definition as PROJ reads it: a bare number is an EPSG code, and a PROJ string must say that it
/// is a CRS and not an operation.
pub(crate) fn spell_for_proj(definition: &str) -> String {
    if definition.chars().all(|c| c.is_ascii_digit()) {
        format!("EPSG:{definition}")
    } else if definition.contains("proj=")
        && !definition.contains(['[', '{'])
        && !definition.contains("type=crs")
    {
        format!("{definition} +type=crs")
    } else {
        definition.to_owned()
    }
}

fn shorten(definition: &str) -> String {
    let mut shown: String = definition.chars().take(SHOWN).collect();
    if shown.len() < definition.len() {
        shown.push('…');
    }
    shown
}

/// Whether a definition says WGS 84 longitude and latitude in degrees, judged by its text.
fn is_wgs84(definition: &str) -> bool {
    if definition.contains('[') || definition.contains('(') {
        return is_wgs84_wkt(definition);
    }
    if definition.contains("proj=") {
        return is_wgs84_proj_string(definition);
    }
    let folded = definition.to_ascii_uppercase();
    // urn:ogc:def:crs:EPSG:6.9:4326, http://www.opengis.net/def/crs/OGC/1.3/CRS84,
    // …/gml/srs/epsg.xml#4326, EPSG:4326: an authority somewhere, the code at the end.
    let parts: Vec<&str> = folded
        .split([':', '/', '#'])
        .filter(|p| !p.is_empty())
        .collect();
    match parts.as_slice() {
        ["CRS84" | "WGS84" | "WGS 84" | "4326"] => true,
        [before @ .., code] => {
            let says = |authority: &str| before.iter().any(|p| p.starts_with(authority));
            (says("OGC") && matches!(*code, "CRS84" | "CRS84H"))
                || (says("EPSG") && matches!(*code, "4326" | "4979"))
        }
        [] => false,
    }
}

/// `+proj=longlat` on the WGS 84 datum with nothing that moves it.
fn is_wgs84_proj_string(definition: &str) -> bool {
    let mut on_wgs84 = false;
    let mut geographic = false;
    for word in definition
        .split([' ', '+'])
        .map(str::trim)
        .filter(|w| !w.is_empty())
    {
        match word.split_once('=').unwrap_or((word, "")) {
            ("proj", "longlat" | "latlong" | "lonlat" | "latlon") => geographic = true,
            ("datum" | "ellps", "WGS84") => on_wgs84 = true,
            ("no_defs" | "type", _) => {}
            ("towgs84", shift) if shift.split(',').all(|s| s.parse() == Ok(0.0)) => {}
            _ => return false,
        }
    }
    geographic && on_wgs84
}

/// A geographic CRS in WKT 1, WKT 2 or ESRI's WKT on the WGS 84 datum, from Greenwich, in degrees.
fn is_wgs84_wkt(definition: &str) -> bool {
    let Some((root, _)) = definition.split_once(['[', '(']) else {
        return false;
    };
    let root = root.trim().to_ascii_uppercase();
    if !matches!(
        root.as_str(),
        "GEOGCS" | "GEOGCRS" | "GEODCRS" | "GEOGRAPHICCRS" | "GEODETICCRS"
    ) {
        return false;
    }
    let datum = wkt_values(definition, &["DATUM", "ENSEMBLE"]);
    let on_wgs84 = datum.iter().any(|inside| {
        let name = inside
            .trim_start()
            .trim_start_matches('"')
            .split('"')
            .next()
            .unwrap_or("");
        matches!(
            name.to_ascii_uppercase().replace(['_', ' '], "").as_str(),
            "DWGS1984" | "WGS1984" | "WORLDGEODETICSYSTEM1984" | "WORLDGEODETICSYSTEM1984ENSEMBLE"
        )
    });
    let number_after_name = |inside: &str| -> Option<f64> {
        let number = inside.rsplit_once('"')?.1.trim_start().strip_prefix(',')?;
        number.split([',', ']', ')']).next()?.trim().parse().ok()
    };
    let from_greenwich = wkt_values(definition, &["PRIMEM", "PRIMEMERIDIAN"])
        .iter()
        .all(|inside| number_after_name(inside) == Some(0.0));
    // Degrees to 1e-9 of a radian: definitions give 0.0174532925199433 with more or fewer digits.
    let in_degrees = wkt_values(definition, &["UNIT", "ANGLEUNIT"])
        .iter()
        .all(|inside| {
            number_after_name(inside).is_some_and(|size| (size - 1f64.to_radians()).abs() < 1e-9)
        });
    let flat = !definition.to_ascii_uppercase().contains("CARTESIAN");
    let unmoved = wkt_values(definition, &["TOWGS84"]).is_empty();
    on_wgs84 && from_greenwich && in_degrees && flat && unmoved
}

/// What stands inside each `KEYWORD[…]` of a WKT text, up to the first bracket after its name, for
/// every keyword in `keywords`.
fn wkt_values<'a>(definition: &'a str, keywords: &[&str]) -> Vec<&'a str> {
    let mut found = Vec::new();
    let mut word_from = 0;
    let mut in_quotes = false;
    for (at, c) in definition.char_indices() {
        match c {
            '"' => in_quotes = !in_quotes,
            _ if in_quotes => {}
            '[' | '(' => {
                let word = definition[word_from..at].trim();
                if keywords.iter().any(|k| k.eq_ignore_ascii_case(word)) {
                    let inside = &definition[at + 1..];
                    let end = inside.find(['[', ']', ')']).unwrap_or(inside.len());
                    found.push(&inside[..end]);
                }
                word_from = at + 1;
            }
            ',' | ']' | ')' => word_from = at + c.len_utf8(),
            _ => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use std::process::Command;

    use super::*;

    const PRJ_WGS84: &str = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",\
        SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],\
        UNIT[\"Degree\",0.0174532925199433]]";
    const PRJ_UTM15: &str = "PROJCS[\"NAD_1983_UTM_Zone_15N\",GEOGCS[\"GCS_North_American_1983\",\
        DATUM[\"D_North_American_1983\",SPHEROID[\"GRS_1980\",6378137.0,298.257222101]],\
        PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]],\
        PROJECTION[\"Transverse_Mercator\"],PARAMETER[\"False_Easting\",500000.0],\
        PARAMETER[\"False_Northing\",0.0],PARAMETER[\"Central_Meridian\",-93.0],\
        PARAMETER[\"Scale_Factor\",0.9996],PARAMETER[\"Latitude_Of_Origin\",0.0],\
        UNIT[\"Meter\",1.0]]";

    fn convert(definition: &str, point: [f64; 2]) -> [f64; 2] {
        let mut points = [point];
        ToWgs84::new(definition)
            .unwrap()
            .convert(&mut points)
            .unwrap();
        points[0]
    }

    fn assert_near(found: [f64; 2], wanted: [f64; 2], degrees: f64) {
        let off = (found[0] - wanted[0])
            .abs()
            .max((found[1] - wanted[1]).abs());
        assert!(off < degrees, "found {found:?}, expected {wanted:?}");
    }

    #[test]
    fn wgs84_is_recognised_in_every_usual_spelling() {
        for spelling in [
            "EPSG:4326",
            "epsg:4326",
            "4326",
            "OGC:CRS84",
            "CRS84",
            "WGS 84",
            "urn:ogc:def:crs:OGC:1.3:CRS84",
            "urn:ogc:def:crs:EPSG::4326",
            "urn:ogc:def:crs:EPSG:6.9:4326",
            "http://www.opengis.net/def/crs/OGC/1.3/CRS84",
            "http://www.opengis.net/def/crs/EPSG/0/4326",
            "http://www.opengis.net/gml/srs/epsg.xml#4326",
            "+proj=longlat +datum=WGS84 +no_defs",
            "+proj=longlat +ellps=WGS84 +towgs84=0,0,0 +type=crs",
            PRJ_WGS84,
            &format!("\u{feff}{PRJ_WGS84}\r\n\0"),
            "GEOGCRS[\"WGS 84\",ENSEMBLE[\"World Geodetic System 1984 ensemble\",\
             MEMBER[\"World Geodetic System 1984 (G730)\"],ELLIPSOID[\"WGS 84\",6378137,\
             298.257223563,LENGTHUNIT[\"metre\",1]],ENSEMBLEACCURACY[2.0]],PRIMEM[\"Greenwich\",0,\
             ANGLEUNIT[\"degree\",0.0174532925199433]],CS[ellipsoidal,2],\
             AXIS[\"geodetic latitude (Lat)\",north,ORDER[1],\
             ANGLEUNIT[\"degree\",0.0174532925199433]],AXIS[\"geodetic longitude (Lon)\",east,\
             ORDER[2],ANGLEUNIT[\"degree\",0.0174532925199433]],ID[\"EPSG\",4326]]",
        ] {
            assert!(ToWgs84::new(spelling).unwrap().is_identity(), "{spelling}");
        }
    }

    #[test]
    fn others_are_not_taken_for_wgs84() {
        for spelling in [
            "EPSG:4269",
            "EPSG:32615",
            "+proj=longlat +datum=NAD27",
            "+proj=longlat +ellps=WGS84 +towgs84=1,0,0",
            "+proj=longlat +datum=WGS84 +pm=paris",
            PRJ_UTM15,
            &PRJ_WGS84.replace("Degree\",0.0174532925199433", "Grad\",0.01570796326794897"),
            &PRJ_WGS84.replace("\"Greenwich\",0.0", "\"Paris\",2.337229166666667"),
        ] {
            assert!(!is_wgs84(spelling), "{spelling}");
        }
    }

    #[test]
    fn identity_leaves_every_number_as_it_is() {
        let mut points = [[1e9, f64::NAN], [-93.5, 42.0]];
        ToWgs84::new("EPSG:4326")
            .unwrap()
            .convert(&mut points)
            .unwrap();
        assert!(points[0][0] == 1e9 && points[0][1].is_nan() && points[1] == [-93.5, 42.0]);
    }

    /// Snyder, J. P. (1987), *Map Projections: A Working Manual*, U.S. Geological Survey
    /// Professional Paper 1395, numerical example for the transverse Mercator, p. 269: Clarke 1866,
    /// origin 0° N 75° W, scale 0.9996; 40°30' N, 73°30' W is x = 127 106.5 m, y = 4 484 124.4 m.
    #[test]
    fn snyder_1987_transverse_mercator_example() {
        let clarke = "+proj=tmerc +lat_0=0 +lon_0=-75 +k=0.9996 +ellps=clrk66 +units=m";
        // Printed to 0.1 m; 1e-6 degrees is about that.
        assert_near(
            convert(clarke, [127_106.5, 4_484_124.4]),
            [-73.5, 40.5],
            1e-6,
        );
    }

    /// IOGP (2019), *Geomatics Guidance Note 7, part 2: Coordinate Conversions and Transformations
    /// including Formulas*, transverse Mercator example (OSGB36 / British National Grid): 50°30' N,
    /// 0°30' E is E = 577 274.99 m, N = 69 740.50 m.
    #[test]
    fn guidance_note_7_2_transverse_mercator_example() {
        let national_grid = "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 \
                             +y_0=-100000 +a=6377563.396 +rf=299.32496 +units=m";
        // Printed to 0.01 m; 2e-7 degrees is about twice that.
        assert_near(
            convert(national_grid, [577_274.99, 69_740.50]),
            [0.5, 50.5],
            2e-7,
        );
    }

    #[test]
    fn codes_urns_and_prj_files_agree() {
        let point = [450_000.0, 4_660_000.0];
        let code = convert("EPSG:26915", point);
        assert_near(convert("26915", point), code, 1e-12);
        assert_near(convert("urn:ogc:def:crs:EPSG::26915", point), code, 1e-12);
        assert_near(convert(PRJ_UTM15, point), code, 1e-9);
        assert_near(
            convert("+proj=utm +zone=15 +datum=NAD83", point),
            code,
            1e-9,
        );
    }

    /// EPSG:2193 (New Zealand) names its northing first, EPSG:4269 its latitude.
    #[test]
    fn easting_comes_first_whatever_the_definition_says() {
        assert_near(
            convert("EPSG:2193", [1_600_000.0, 5_000_000.0]),
            [173.0, -45.13],
            0.05,
        );
        assert_near(convert("EPSG:4269", [-93.5, 42.0]), [-93.5, 42.0], 1e-9);
    }

    #[test]
    fn points_that_cannot_be_converted_become_nan() {
        let mut points = [[450_000.0, 4_660_000.0], [f64::NAN, 0.0], [1e12, 1e12]];
        ToWgs84::new("EPSG:26915")
            .unwrap()
            .convert(&mut points)
            .unwrap();
        assert!(points[0][0].is_finite() && points[1][0].is_nan() && points[2][0].is_nan());
        let error = ToWgs84::new("EPSG:26915")
            .unwrap()
            .convert(&mut [[1e12, 1e12]])
            .unwrap_err();
        assert!(error.to_string().contains("1000000000000"), "{error}");
    }

    #[test]
    fn long_columns_convert_as_short_ones_do() {
        let all: Vec<[f64; 2]> = (0..50_000)
            .map(|i| [450_000.0 + f64::from(i), 4_660_000.0])
            .collect();
        let way = ToWgs84::new("EPSG:26915").unwrap();
        let mut together = all.clone();
        way.convert(&mut together).unwrap();
        for at in [0, 16_383, 16_384, 49_999] {
            assert_eq!(together[at], convert("EPSG:26915", all[at]));
        }
    }

    #[test]
    fn unknown_definitions_say_what_to_do() {
        for unknown in [
            "EPSG:1",
            "Home quarter",
            "GEOGCS[\"broken\"",
            "EPSG:4326\0EPSG:1",
        ] {
            let error = ToWgs84::new(unknown).unwrap_err().to_string();
            assert!(error.contains("EPSG:26915"), "{error}");
        }
        assert_eq!(ToWgs84::new(" \n"), Err(CrsError::Empty));
    }

    #[test]
    fn what_is_not_on_the_ground_is_refused_with_the_reason() {
        for (definition, why) in [
            ("EPSG:5703", "heights only"),
            ("EPSG:4978", "centre"),
            ("LOCAL_CS[\"site\",UNIT[\"metre\",1]]", "local to a site"),
            // The Moon, and an ellipsoid's code.
            ("IAU_2015:30100", ""),
            ("EPSG:7030", ""),
        ] {
            let error = ToWgs84::new(definition).unwrap_err().to_string();
            println!("{error}");
            assert!(error.contains(why), "{error}");
        }
        assert!(
            ToWgs84::new("EPSG:6349").is_ok(),
            "a compound of ground and heights"
        );
    }

    /// PROJ must read the database that is compiled in, not one that the machine or another program
    /// holds out to it: the same test binary is run again with the environment pointing to a folder
    /// whose `proj.db` is no database.
    #[test]
    fn a_foreign_database_is_never_read() {
        let here = std::env::current_exe().unwrap();
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("proj")).unwrap();
        for place in ["proj.db", "proj/proj.db"] {
            std::fs::write(folder.path().join(place), "no database").unwrap();
        }
        let run = Command::new(here)
            .args(["--exact", "crs::tests::codes_urns_and_prj_files_agree"])
            .env("PROJ_DATA", folder.path())
            .env("PROJ_LIB", folder.path())
            .env("XDG_DATA_HOME", folder.path())
            .env("HOME", folder.path())
            .current_dir(folder.path())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&run.stdout);
        assert!(run.status.success() && said.contains("1 passed"), "{said}");
    }

    /// Outside reference: pyproj, an independent build of PROJ with its own database.
    #[test]
    fn agrees_with_pyproj() {
        let python = std::env::var("CHECKSTRIP_PYTHON").unwrap_or_else(|_| "python3".to_owned());
        let cases = [
            ("EPSG:26915", [450_000.0, 4_660_000.0]),
            ("EPSG:32615", [450_000.0, 4_660_000.0]),
            ("EPSG:26975", [1_500_000.0, 1_000_000.0]),
            ("EPSG:3417", [4_921_250.0, 3_280_000.0]),
            ("EPSG:3857", [-10_400_000.0, 5_160_000.0]),
            ("EPSG:25832", [500_000.0, 5_700_000.0]),
            ("EPSG:2193", [1_600_000.0, 5_000_000.0]),
            ("+proj=utm +zone=15 +datum=NAD83", [450_000.0, 4_660_000.0]),
            ("ESRI:102003", [200_000.0, 500_000.0]),
        ];
        let mut script = "from pyproj import Transformer as T\n".to_owned();
        for (definition, [x, y]) in cases {
            script += &format!(
                "print(*map(repr, map(float, T.from_crs('{definition}', 'EPSG:4326', \
                 always_xy=True).transform({x}, {y}))))\n"
            );
        }
        let answer = match Command::new(&python).args(["-c", &script]).output() {
            Ok(answer) if answer.status.success() => {
                String::from_utf8_lossy(&answer.stdout).into_owned()
            }
            _ => {
                eprintln!("SKIPPED: {python} with pyproj is not here");
                return;
            }
        };
        for ((definition, point), line) in cases.iter().zip(answer.lines()) {
            let numbers: Vec<f64> = line.split(' ').map(|n| n.parse().unwrap()).collect();
            println!("{definition}: {numbers:?}");
            assert_near(convert(definition, *point), [numbers[0], numbers[1]], 1e-9);
        }
        assert_eq!(answer.lines().count(), cases.len());
    }
}
