//! Backgrounds whose pixels and lines are known.

use super::*;
use rusqlite::{Connection, params};
use std::path::PathBuf;
use tiff::encoder::{TiffEncoder, colortype};
use tiff::tags::Tag;

fn plane() -> LocalPlane {
    LocalPlane::around(-93.0, 42.0).unwrap()
}

const FIELD: [f64; 4] = [-200.0, -200.0, 200.0, 200.0];

/// A TIFF of 100 × 80 pixels of 10 m in UTM zone 15, whose central meridian is 93° W: red grows to the east,
/// green to the south. The plane's origin lies in the middle of its column 50.
fn geotiff(dir: &Path, code: u16) -> PathBuf {
    let path = dir.join("invented.tif");
    let file = std::fs::File::create(&path).unwrap();
    let mut tiff = TiffEncoder::new(file).unwrap();
    let (width, height) = (100u32, 80u32);
    let pixels: Vec<u8> = (0..height)
        .flat_map(|row| (0..width).flat_map(move |column| [2 * column as u8, 3 * row as u8, 7]))
        .collect();
    let mut image = tiff.new_image::<colortype::RGB8>(width, height).unwrap();
    // 42° N on the central meridian is 4,649,776.22 m north (EPSG:26915; pyproj 3.6).
    let (west, north) = (500_000.0 - 505.0, 4_649_776.22 + 405.0);
    let tags = image.encoder();
    tags.write_tag(Tag::ModelPixelScaleTag, &[10.0, 10.0, 0.0][..])
        .unwrap();
    let tie = [0.0, 0.0, 0.0, west, north, 0.0];
    tags.write_tag(Tag::ModelTiepointTag, &tie[..]).unwrap();
    let keys: [u16; 16] = [1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, code];
    tags.write_tag(Tag::GeoKeyDirectoryTag, &keys[..]).unwrap();
    image.rows_per_strip(16).unwrap();
    image.write_data(&pixels).unwrap();
    path
}

fn pixel(background: &Background, east: f64, north: f64) -> [u8; 4] {
    let Background::Image { png, extent } = background else {
        panic!("a picture was expected");
    };
    let picture = image::load_from_memory(png).unwrap().into_rgba8();
    let [west, south, right, top] = *extent;
    let x = (east - west) / (right - west) * f64::from(picture.width());
    let y = (top - north) / (top - south) * f64::from(picture.height());
    picture.get_pixel(x as u32, y as u32).0
}

#[test]
fn a_geotiff_lies_where_it_says() {
    let dir = tempfile::tempdir().unwrap();
    let background = read_background(&geotiff(dir.path(), 26915), &plane(), FIELD).unwrap();
    // UTM shrinks lengths by 0.9996 there: 120 m in the plane are 119.95 m in it.
    for (east, north, column, row) in [
        (0.0, 0.0, 50, 40),
        (120.0, 0.0, 62, 40),
        (-195.0, -150.0, 31, 55),
        (102.0, 52.0, 60, 35),
        (108.0, 58.0, 61, 34),
    ] {
        assert_eq!(
            pixel(&background, east, north),
            [2 * column, 3 * row, 7, 255],
            "{east}, {north}"
        );
    }
    let Background::Image { extent, .. } = background else {
        panic!()
    };
    assert_eq!(extent, [-300.0, -300.0, 300.0, 300.0]);
}

#[test]
fn geotiffs_that_lie_nowhere_or_elsewhere() {
    let dir = tempfile::tempdir().unwrap();
    let error = |code: u16| {
        let path = geotiff(dir.path(), code);
        read_background(&path, &plane(), FIELD)
            .unwrap_err()
            .to_string()
    };
    assert!(error(32767).contains("EPSG code"));
    assert!(error(26914).contains("elsewhere"), "{}", error(26914));
    let path = geotiff(dir.path(), 26915);
    let whole = std::fs::read(&path).unwrap();
    for cut in [16, 200, whole.len() / 2] {
        std::fs::write(&path, &whole[..cut]).unwrap();
        let error = read_background(&path, &plane(), FIELD)
            .unwrap_err()
            .to_string();
        assert!(error.contains("hint: "), "{error}");
    }
}

/// Tiles of one colour each: red is the column, green the row from the north, less those at the origin.
fn mbtiles(dir: &Path) -> PathBuf {
    let path = dir.join("invented.mbtiles");
    let database = Connection::open(&path).unwrap();
    database
        .execute_batch(
            "CREATE TABLE tiles (zoom_level INTEGER, tile_column INTEGER, tile_row INTEGER, tile_data BLOB)",
        )
        .unwrap();
    for depth in [15u32, 16] {
        let [column, row] = origin_tile(depth);
        for right in 0..7u32 {
            for down in 0..7u32 {
                let colour = image::Rgb([100 + right as u8, 100 + down as u8, depth as u8]);
                let tile = image::RgbImage::from_pixel(256, 256, colour);
                let mut png = std::io::Cursor::new(Vec::new());
                tile.write_to(&mut png, image::ImageFormat::Png).unwrap();
                let from_south = (1 << depth) - 1 - (row + down - 3);
                let place = params![depth, column + right - 3, from_south, png.into_inner()];
                database
                    .execute("INSERT INTO tiles VALUES (?1, ?2, ?3, ?4)", place)
                    .unwrap();
            }
        }
    }
    path
}

/// The tile that holds the plane's origin, after the formula that tile servers use (*Slippy map tilenames*,
/// from memory): x = 2^z (lon + 180) / 360, y = 2^z (1 − ln(tan φ + sec φ) / π) / 2.
fn origin_tile(depth: u32) -> [u32; 2] {
    let (lon, lat) = (-93.0f64, 42.0f64.to_radians());
    let count = f64::from(1u32 << depth);
    let y = (lat.tan() + 1.0 / lat.cos()).ln() / std::f64::consts::PI;
    [
        ((lon + 180.0) / 360.0 * count) as u32,
        ((1.0 - y) / 2.0 * count) as u32,
    ]
}

#[test]
fn tiles_are_put_together() {
    let dir = tempfile::tempdir().unwrap();
    let background = read_background(&mbtiles(dir.path()), &plane(), FIELD).unwrap();
    assert_eq!(pixel(&background, 0.0, 0.0), [103, 103, 16, 255]);
    // A tile of zoom 16 is 611.5 m at the equator (40075016.686 m / 2^16), 454.4 m here.
    let count = f64::from(1u32 << 16);
    let share = ((-93.0 + 180.0) / 360.0 * count).fract();
    let to_the_edge = (1.0 - share) * 454.4;
    assert_eq!(pixel(&background, to_the_edge - 5.0, 0.0)[0], 103);
    assert_eq!(pixel(&background, to_the_edge + 5.0, 0.0)[0], 104);
    let path = dir.path().join("invented.mbtiles");
    let database = Connection::open(&path).unwrap();
    database
        .execute("UPDATE tiles SET tile_data = x'1a0b'", [])
        .unwrap();
    let error = read_background(&path, &plane(), FIELD)
        .unwrap_err()
        .to_string();
    assert!(error.contains("vector tiles"), "{error}");
    database.execute("DELETE FROM tiles", []).unwrap();
    let error = read_background(&path, &plane(), FIELD)
        .unwrap_err()
        .to_string();
    assert!(error.contains("no tile"), "{error}");
}

#[test]
fn lines_and_outlines() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("ditch.geojson");
    std::fs::write(
        &path,
        r#"{"type": "FeatureCollection", "features": [
        {"type": "Feature", "properties": {}, "geometry": {"type": "LineString", "coordinates": [[-93, 42, 300], [-93, 42.001]]}},
        {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates":
          [[[-93, 42], [-92.999, 42], [-92.999, 42.001], [-93, 42]]]}},
        {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [-93, 42]}},
        {"type": "Feature", "properties": {}, "geometry": null},
        {"type": "Feature", "properties": {}, "geometry": {"type": "LineString", "coordinates": [[-90, 42], [-90, 42.001]]}}]}"#,
    )
    .unwrap();
    let Background::Lines(lines) = read_background(&path, &plane(), FIELD).unwrap() else {
        panic!("lines were expected");
    };
    assert_eq!(lines.iter().map(Vec::len).collect::<Vec<_>>(), [2, 4]);
    // A thousandth of a degree of latitude is 111.07 m at 42° N (GeographicLib 2.0).
    assert!((lines[0][1][1] - 111.07).abs() < 0.01 && lines[0][1][0].abs() < 1e-6);
    let far = LocalPlane::around(-80.0, 42.0).unwrap();
    let error = read_background(&path, &far, FIELD).unwrap_err().to_string();
    assert!(error.contains("elsewhere"), "{error}");
    std::fs::write(&path, "%PDF-1.7 and more of it").unwrap();
    let error = read_background(&path, &plane(), FIELD)
        .unwrap_err()
        .to_string();
    assert!(error.contains("GeoTIFF"), "{error}");
}
