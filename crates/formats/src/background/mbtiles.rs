//! Tiles of pictures in one file (MBTiles 1.3), in Web Mercator (EPSG:3857, sphere of 6378137 m).

use std::collections::HashMap;
use std::f64::consts::PI;
use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::CrsError;
use checkstrip_spatial::local_plane::LocalPlane;
use image::RgbaImage;
use rusqlite::{Connection, OpenFlags, OptionalExtension};

use super::picture::{Grid, MOST_PIXELS};
use super::{Background, elsewhere};
use crate::geopackage::limit;

/// Usual pixels of a tile a side.
const TILE: f64 = 256.0;
/// Deeper than any map is cut.
const DEEPEST: u32 = 24;
/// Most tiles that are unpacked.
const MOST_TILES: u32 = 400;
/// A tile has no more pixels a side.
const LARGEST_TILE: u32 = 1024;
/// Ground of one pixel of the whole world's one tile, m at the equator.
const EQUATOR_M: f64 = 2.0 * PI * 6_378_137.0;

pub(super) fn read(
    path: &Path,
    file: &str,
    plane: &LocalPlane,
    around: [f64; 4],
) -> Result<Background, Problem> {
    let refuse = |error: rusqlite::Error| {
        Problem::new(file, format!("the tiles cannot be read: {error}"))
            .hint("give an .mbtiles file with tiles of pictures")
    };
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let database = Connection::open_with_flags(path, flags).map_err(refuse)?;
    limit(&database).map_err(refuse)?;
    let depths: (Option<u32>, Option<u32>) = database
        .query_row(
            "SELECT min(zoom_level), max(zoom_level) FROM tiles",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .map_err(refuse)?;
    let (Some(least), Some(deepest)) = depths else {
        return Err(Problem::new(file, "holds no tile").hint("export it again"));
    };
    let deepest = deepest.min(DEEPEST);

    // The corners of what is wanted, as shares of the world's square from its north-west corner.
    let [west, south, east, north] = around;
    let mut corners = [[west, south], [west, north], [east, south], [east, north]];
    let failed = |error: CrsError| Problem::new(file, error.to_string());
    plane.points_to_lon_lat(&mut corners).map_err(failed)?;
    let world = corners.map(in_world);
    let span = |axis: usize| {
        let values = world.iter().map(|point| point[axis]);
        (
            values.clone().fold(f64::INFINITY, f64::min),
            values.fold(f64::NEG_INFINITY, f64::max),
        )
    };
    let (x, y) = (span(0), span(1));
    let tiles_at = |depth: u32| {
        let count = f64::from(1u32 << depth);
        let range = |(low, high): (f64, f64)| {
            let last = (1u32 << depth) - 1;
            let at = |share: f64| (share * count).clamp(0.0, f64::from(last)) as u32;
            at(low)..=at(high)
        };
        (range(x), range(y))
    };
    // The deepest tiles of which not too many are needed, and none finer than the picture drawn.
    let fits = |depth: &u32| {
        let (across, down) = tiles_at(*depth);
        let (across, down) = (across.count() as u32, down.count() as u32);
        let most = 2 * MOST_PIXELS / TILE as u32;
        across <= most && down <= most && across * down <= MOST_TILES
    };
    let depth = (least..=deepest).rev().find(fits).unwrap_or(least);
    let (across, down) = tiles_at(depth);
    let mut tiles: HashMap<[u32; 2], RgbaImage> = HashMap::new();
    let mut size = TILE as u32;
    let mut query = database
        .prepare(
            "SELECT tile_data FROM tiles WHERE zoom_level = ?1 AND tile_column = ?2 AND tile_row = ?3",
        )
        .map_err(refuse)?;
    for column in across {
        for row in down.clone() {
            if tiles.len() as u32 >= MOST_TILES {
                break;
            }
            // Rows are counted from the south.
            let from_south = (1u32 << depth) - 1 - row;
            let data: Option<Vec<u8>> = query
                .query_row([depth, column, from_south], |row| row.get(0))
                .optional()
                .map_err(refuse)?;
            if let Some(data) = data {
                let tile = unpacked(file, &data)?;
                size = tile.width();
                tiles.insert([column, row], tile);
            }
        }
    }
    if tiles.is_empty() {
        return Err(elsewhere(file));
    }
    let latitude = plane.origin()[1].to_radians();
    let pixel_m = EQUATOR_M * latitude.cos() / f64::from(1u32 << depth) / f64::from(size);
    let grid = Grid::new(around, pixel_m);
    let to_world = |points: &mut [[f64; 2]]| {
        points
            .iter_mut()
            .for_each(|point| *point = in_world(*point));
        Ok(())
    };
    let places = grid.places(plane, to_world).map_err(failed)?;
    let count = f64::from(1u32 << depth);
    let colour = |&[x, y]: &[f64; 2]| {
        let (x, y) = (x * count, y * count);
        let tile = tiles.get(&[x as u32, y as u32])?;
        let pixel =
            |within: f64, pixels: u32| ((within * f64::from(pixels)) as u32).min(pixels - 1);
        let at = [
            pixel(x.fract(), tile.width()),
            pixel(y.fract(), tile.height()),
        ];
        Some(tile.get_pixel(at[0], at[1]).0)
    };
    let colours = places.iter().map(|place| colour(place).unwrap_or([0; 4]));
    Ok(Background::Image {
        png: grid.png(file, colours.collect())?,
        extent: grid.extent,
    })
}

/// A place in degrees as shares of the world's square, from its north-west corner.
fn in_world([lon, lat]: [f64; 2]) -> [f64; 2] {
    [
        (lon + 180.0) / 360.0,
        (1.0 - lat.to_radians().tan().asinh() / PI) / 2.0,
    ]
}

fn unpacked(file: &str, data: &[u8]) -> Result<RgbaImage, Problem> {
    let refuse = |what: String| {
        Problem::new(file, format!("a tile cannot be shown: {what}"))
            .hint("give tiles of pictures, PNG or JPEG; vector tiles are not drawn")
    };
    let mut reader = image::ImageReader::new(std::io::Cursor::new(data))
        .with_guessed_format()
        .map_err(|error| refuse(error.to_string()))?;
    let mut limits = image::Limits::default();
    limits.max_image_width = Some(LARGEST_TILE);
    limits.max_image_height = Some(LARGEST_TILE);
    reader.limits(limits);
    let tile = reader.decode().map_err(|error| refuse(error.to_string()))?;
    Ok(tile.into_rgba8())
}
