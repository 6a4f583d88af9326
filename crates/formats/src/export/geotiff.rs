//! Values in square cells as GeoTIFF (Open Geospatial Consortium, *OGC GeoTIFF Standard*, 19-008r4, version 1.1): one
//! band a value, 32-bit floating point, packed with Deflate. What a band is called, its unit and what stands for no value
//! are written as the GDAL library has them (its *GTiff* driver, tags 42112 and 42113), which most GIS read.

use std::io::Cursor;
use std::path::Path;

use tiff::TiffResult;
use tiff::encoder::colortype::Gray32Float;
use tiff::encoder::{Compression, DeflateLevel, TiffEncoder};
use tiff::tags::{ExtraSamples, Tag};

use super::write_bytes_atomically;
use crate::FormatError;

/// What stands in a cell without a value. Not `NaN`, which some programs take for a number; this one is seen at once where
/// a program does not know it.
const NO_VALUE: f32 = -9999.0;
const GDAL_METADATA: Tag = Tag::Unknown(42112);

/// Keys of the directory (section 7.4 of the standard), in the order that it asks for, and what they say here.
const MODEL_TYPE: u16 = 1024;
const PROJECTED: u16 = 1;
const RASTER_TYPE: u16 = 1025;
const PIXEL_IS_AREA: u16 = 1;
const CITATION: u16 = 1026;
const PROJECTED_CRS: u16 = 3072;
/// A key whose value stands in the directory itself, once.
const HERE: [u16; 2] = [0, 1];

/// A band.
#[derive(Debug, Clone, PartialEq)]
pub struct RasterBand<'a> {
    /// What it holds, in letters of ASCII.
    pub name: &'a str,
    /// The unit.
    pub unit: &'a str,
    /// A value for each cell, row by row from the north-west; `NaN` where there is none.
    pub values: &'a [f32],
}

/// A raster.
#[derive(Debug, Clone, PartialEq)]
pub struct RasterFile<'a> {
    /// Cells from west to east.
    pub columns: usize,
    /// Cells from north to south.
    pub rows: usize,
    /// Western edge, in the reference system.
    pub west_m: f64,
    /// Northern edge.
    pub north_m: f64,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// EPSG number of the projected reference system, in metres.
    pub epsg: u16,
    /// Its name.
    pub crs_name: &'a str,
    /// What the raster is and how it was made, in letters of ASCII.
    pub description: &'a str,
    /// The bands, one at least.
    pub bands: &'a [RasterBand<'a>],
}

/// Writes the raster as the GeoTIFF `path`.
///
/// # Errors
/// When the file cannot be written.
///
/// # Panics
/// When a band has not one value a cell.
pub fn write_geotiff(path: &Path, raster: &RasterFile<'_>) -> Result<(), FormatError> {
    let bytes = encoded(raster)
        .map_err(|error| FormatError::writing(path, std::io::Error::other(error)))?;
    write_bytes_atomically(path, &bytes)
}

fn encoded(raster: &RasterFile<'_>) -> TiffResult<Vec<u8>> {
    let cells = raster.columns * raster.rows;
    let bands = raster.bands;
    assert!(bands.iter().all(|band| band.values.len() == cells));
    // The values of a cell stand side by side.
    let mut samples = Vec::with_capacity(cells * bands.len());
    for cell in 0..cells {
        samples.extend(bands.iter().map(|band| match band.values[cell] {
            value if value.is_finite() => value,
            _ => NO_VALUE,
        }));
    }
    let mut file = Cursor::new(Vec::new());
    let mut tiff =
        TiffEncoder::new(&mut file)?.with_compression(Compression::Deflate(DeflateLevel::Balanced));
    let (columns, rows) = (u32::try_from(raster.columns)?, u32::try_from(raster.rows)?);
    let mut image = tiff.new_image::<Gray32Float>(columns, rows)?;
    if bands.len() > 1 {
        image.extra_samples(&vec![ExtraSamples::Unspecified; bands.len() - 1])?;
    }
    let directory = image.encoder();
    directory.write_tag(Tag::ImageDescription, raster.description)?;
    directory.write_tag(
        Tag::Software,
        concat!("checkstrip ", env!("CARGO_PKG_VERSION")),
    )?;
    let scale = [raster.cell_m, raster.cell_m, 0.0];
    directory.write_tag(Tag::ModelPixelScaleTag, &scale[..])?;
    let tie = [0.0, 0.0, 0.0, raster.west_m, raster.north_m, 0.0];
    directory.write_tag(Tag::ModelTiepointTag, &tie[..])?;
    // Texts end with a bar.
    let citation = format!("{}|", raster.crs_name);
    let text = [
        Tag::GeoAsciiParamsTag.to_u16(),
        u16::try_from(citation.len())?,
    ];
    let entries: [(u16, [u16; 2], u16); 4] = [
        (MODEL_TYPE, HERE, PROJECTED),
        (RASTER_TYPE, HERE, PIXEL_IS_AREA),
        (CITATION, text, 0),
        (PROJECTED_CRS, HERE, raster.epsg),
    ];
    // Version of the directory, revision 1.1 of the keys, how many there are.
    let mut keys: Vec<u16> = vec![1, 1, 1, entries.len() as u16];
    for (key, [place, count], value) in entries {
        keys.extend([key, place, count, value]);
    }
    directory.write_tag(Tag::GeoKeyDirectoryTag, &keys[..])?;
    directory.write_tag(Tag::GeoAsciiParamsTag, citation.as_str())?;
    directory.write_tag(Tag::GdalNodata, NO_VALUE.to_string().as_str())?;
    directory.write_tag(GDAL_METADATA, band_metadata(bands).as_str())?;
    image.write_data(&samples)?;
    Ok(file.into_inner())
}

fn band_metadata(bands: &[RasterBand<'_>]) -> String {
    let plain = |text: &str| {
        text.replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
    };
    let items = bands.iter().enumerate().map(|(at, band)| {
        let (name, unit) = (plain(band.name), plain(band.unit));
        format!(
            "<Item name=\"DESCRIPTION\" sample=\"{at}\" role=\"description\">{name} ({unit})</Item>\n\
             <Item name=\"UNITTYPE\" sample=\"{at}\" role=\"unittype\">{unit}</Item>\n"
        )
    });
    format!(
        "<GDALMetadata>\n{}</GDALMetadata>\n",
        items.collect::<String>()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::process::Command;
    use tiff::decoder::{Decoder, DecodingResult};

    const COLUMNS: usize = 700;
    const ROWS: usize = 450;

    /// An invented raster of two bands, large enough to be written in several pieces, with holes.
    fn values() -> [Vec<f32>; 2] {
        let value = |at: usize| match at % 11 {
            3 => f32::NAN,
            _ => (at as f32).sqrt(),
        };
        let first: Vec<f32> = (0..COLUMNS * ROWS).map(value).collect();
        let second = first.iter().map(|value| value / 8.0).collect();
        [first, second]
    }

    fn write(path: &Path, [first, second]: &[Vec<f32>; 2], count: usize) {
        let bands = [
            RasterBand {
                name: "yield",
                unit: "bu/ac",
                values: first,
            },
            RasterBand {
                name: "standard error of <it>",
                unit: "bu/ac",
                values: second,
            },
        ];
        let raster = RasterFile {
            columns: COLUMNS,
            rows: ROWS,
            west_m: 458_000.0,
            north_m: 4_650_005.0,
            cell_m: 5.0,
            epsg: 32_615,
            crs_name: "WGS 84 / UTM zone 15N",
            description: "an invented surface",
            bands: &bands[..count],
        };
        write_geotiff(path, &raster).unwrap();
    }

    #[test]
    fn what_is_written_is_read_back() {
        let dir = tempfile::tempdir().unwrap();
        let values = values();
        for count in [1, 2] {
            let path = dir.path().join("a.tif");
            write(&path, &values, count);
            let file = std::io::BufReader::new(std::fs::File::open(&path).unwrap());
            let mut tiff = Decoder::new(file).unwrap();
            assert_eq!(tiff.dimensions().unwrap(), (COLUMNS as u32, ROWS as u32));
            let keys = tiff.get_tag_u16_vec(Tag::GeoKeyDirectoryTag).unwrap();
            assert_eq!(keys[16..20], [3072, 0, 1, 32_615]);
            if count == 1 {
                let DecodingResult::F32(read) = tiff.read_image().unwrap() else {
                    panic!("no 32-bit floating point");
                };
                for (read, written) in read.iter().zip(&values[0]) {
                    assert!(read == written || written.is_nan() && *read == NO_VALUE);
                }
            }
        }
    }

    /// Outside reference: GDAL (`gdalinfo`, `gdallocationinfo`) says the same of place, system, bands and values.
    #[test]
    fn gdal_reads_place_bands_and_values() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.tif");
        let values = values();
        write(&path, &values, 2);
        let file = path.display().to_string();
        let Ok(ran) = Command::new("gdalinfo")
            .args(["-json", "-stats", &file])
            .output()
        else {
            eprintln!("SKIPPED: gdal_reads_place_bands_and_values: gdalinfo is not here");
            return;
        };
        assert!(
            ran.status.success(),
            "{}",
            String::from_utf8_lossy(&ran.stderr)
        );
        let said: serde_json::Value = serde_json::from_slice(&ran.stdout).unwrap();
        assert_eq!(said["size"], serde_json::json!([COLUMNS, ROWS]));
        let placed = serde_json::json!([458_000.0, 5.0, 0.0, 4_650_005.0, 0.0, -5.0]);
        assert_eq!(said["geoTransform"], placed);
        let system = said["coordinateSystem"]["wkt"].as_str().unwrap();
        assert!(
            system.contains("WGS 84 / UTM zone 15N") && system.contains("32615"),
            "{system}"
        );
        let metadata = &said["metadata"];
        assert_eq!(metadata[""]["AREA_OR_POINT"], "Area");
        assert_eq!(
            metadata[""]["TIFFTAG_IMAGEDESCRIPTION"],
            "an invented surface"
        );
        assert_eq!(metadata["IMAGE_STRUCTURE"]["COMPRESSION"], "DEFLATE");
        let names = ["yield (bu/ac)", "standard error of <it> (bu/ac)"];
        for (band, (values, name)) in values.iter().zip(names).enumerate() {
            let said = &said["bands"][band];
            assert_eq!(said["type"], "Float32");
            assert_eq!(said["noDataValue"], -9999.0);
            assert_eq!(
                (&said["description"], &said["unit"]),
                (&name.into(), &"bu/ac".into())
            );
            let known = values.iter().filter(|value| value.is_finite());
            let count = known.clone().count() as f64;
            let mean = known.map(|&value| f64::from(value)).sum::<f64>() / count;
            assert!(
                (said["mean"].as_f64().unwrap() - mean).abs() < 1e-4 * mean,
                "{said}"
            );
        }
        for (column, row) in [(0, 0), (699, 449), (123, 321)] {
            let arguments = [&file[..], &column.to_string(), &row.to_string()];
            let ran = Command::new("gdallocationinfo")
                .arg("-valonly")
                .args(arguments)
                .output();
            let text = String::from_utf8(ran.unwrap().stdout).unwrap();
            let found: Vec<f32> = text
                .lines()
                .map(|line| line.trim().parse().unwrap())
                .collect();
            let written = values.each_ref().map(|band| band[row * COLUMNS + column]);
            for (found, written) in found.iter().zip(written) {
                let expected = if written.is_nan() { NO_VALUE } else { written };
                assert!((found - expected).abs() <= 1e-5 * expected.abs(), "{text}");
            }
        }
    }
}
