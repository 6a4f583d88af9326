//! A raster as GeoTIFF (OGC 19-008r4): where its pixels lie, and those that are wanted.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use checkstrip_model::Problem;
use checkstrip_spatial::crs::ToWgs84;
use checkstrip_spatial::local_plane::LocalPlane;
use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult};
use tiff::tags::Tag;

use super::picture::{Grid, bounds, shared};
use super::{Background, elsewhere};
use crate::FormatError;

type Tiff = Decoder<BufReader<File>>;

/// Keys of the directory (section 7.4), and what they say.
const MODEL_TYPE: u16 = 1024;
const PROJECTED: u16 = 1;
const GEOGRAPHIC: u16 = 2;
const RASTER_TYPE: u16 = 1025;
const PIXEL_IS_POINT: u16 = 2;
const GEOGRAPHIC_CRS: u16 = 2048;
const PROJECTED_CRS: u16 = 3072;
/// A system that the file describes itself.
const USER_DEFINED: u16 = 32767;
/// The table of colours.
const COLOURS: Tag = Tag::ColorMap;

/// From column and row to the coordinates of the reference system: x = a + b column + c row, y likewise.
struct Affine {
    x: [f64; 3],
    y: [f64; 3],
}

impl Affine {
    fn at(&self, column: f64, row: f64) -> [f64; 2] {
        [self.x, self.y].map(|[a, b, c]| a + b * column + c * row)
    }

    /// The other way; `None` when pixels have no size.
    fn inverse(&self) -> Option<Affine> {
        let ([xa, xb, xc], [ya, yb, yc]) = (self.x, self.y);
        let det = xb * yc - xc * yb;
        if !det.is_finite() || det == 0.0 {
            return None;
        }
        let (cx, cy) = ([yc / det, -xc / det], [-yb / det, xb / det]);
        Some(Affine {
            x: [-(cx[0] * xa + cx[1] * ya), cx[0], cx[1]],
            y: [-(cy[0] * xa + cy[1] * ya), cy[0], cy[1]],
        })
    }
}

pub(super) fn read(
    path: &Path,
    file: &str,
    plane: &LocalPlane,
    around: [f64; 4],
) -> Result<Background, FormatError> {
    let opened = File::open(path).map_err(|error| FormatError::reading(path, error))?;
    let damaged = |error: tiff::TiffError| {
        Problem::new(file, format!("the TIFF cannot be read: {error}"))
            .hint("export it again as a GeoTIFF of colours, packed with LZW, Deflate or JPEG or not at all")
    };
    let mut tiff = Decoder::new(BufReader::new(opened)).map_err(damaged)?;
    let (columns, rows) = tiff.dimensions().map_err(damaged)?;
    let (way, affine) = placed(file, &mut tiff)?;
    let inverse = affine.inverse().ok_or_else(|| unplaced(file))?;

    // The edge of the raster in the plane, with corners enough that a bent edge is followed.
    let edge = (0..=16).flat_map(|step| {
        let share = f64::from(step) / 16.0;
        let (across, down) = (f64::from(columns), f64::from(rows));
        [
            affine.at(share * across, 0.0),
            affine.at(share * across, down),
            affine.at(0.0, share * down),
            affine.at(across, share * down),
        ]
    });
    let mut edge: Vec<[f64; 2]> = edge.collect();
    let refuse = |error: checkstrip_spatial::crs::CrsError| Problem::new(file, error.to_string());
    way.convert(&mut edge).map_err(refuse)?;
    plane.points_to_plane(&mut edge).map_err(refuse)?;
    let covered = bounds(&edge).and_then(|covered| shared(covered, around).map(|s| (covered, s)));
    let Some((covered, extent)) = covered else {
        return Err(elsewhere(file).into());
    };
    let pixel_m = ((covered[2] - covered[0]) / f64::from(columns))
        .min((covered[3] - covered[1]) / f64::from(rows));
    // Twice as fine as the source, so that the nearest pixel is off by a quarter of one at most.
    let grid = Grid::new(extent, pixel_m / 2.0);
    let places = grid
        .places(plane, |points| way.convert_back(points))
        .map_err(refuse)?;
    let pixels = places.iter().map(|&[x, y]| {
        let [column, row] = inverse.at(x, y);
        let is_inside =
            (0.0..f64::from(columns)).contains(&column) && (0.0..f64::from(rows)).contains(&row);
        is_inside.then_some([column as u32, row as u32])
    });
    let pixels: Vec<Option<[u32; 2]>> = pixels.collect();
    let colours = colours(file, &mut tiff, columns, &pixels)?;
    Ok(Background::Image {
        png: grid.png(file, colours)?,
        extent: grid.extent,
    })
}

fn unplaced(file: &str) -> Problem {
    Problem::new(file, "does not say where its pixels lie")
        .hint("export it as a GeoTIFF, with its reference system and its place in it")
}

/// The reference system, and where pixels lie in it.
fn placed(file: &str, tiff: &mut Tiff) -> Result<(ToWgs84, Affine), Problem> {
    let mut numbers = |tag: Tag| tiff.get_tag_f64_vec(tag).unwrap_or_default();
    let transformation = numbers(Tag::ModelTransformationTag);
    let (scale, tie) = (
        numbers(Tag::ModelPixelScaleTag),
        numbers(Tag::ModelTiepointTag),
    );
    let mut affine = match (transformation.as_slice(), scale.as_slice(), tie.as_slice()) {
        ([xb, xc, _, xa, yb, yc, _, ya, ..], ..) => Affine {
            x: [*xa, *xb, *xc],
            y: [*ya, *yb, *yc],
        },
        (_, [across, down, ..], [column, row, _, x, y, ..]) => Affine {
            x: [x - column * across, *across, 0.0],
            y: [y + row * down, 0.0, -down],
        },
        _ => return Err(unplaced(file)),
    };
    let keys = tiff
        .get_tag_u16_vec(Tag::GeoKeyDirectoryTag)
        .unwrap_or_default();
    // Each key has four numbers: itself, where its value stands (0: here), how many, and the value.
    let value = |wanted: u16| {
        let mut entries = keys.chunks_exact(4).skip(1);
        entries
            .find(|entry| entry[0] == wanted && entry[1] == 0)
            .map(|entry| entry[3])
    };
    if value(RASTER_TYPE) == Some(PIXEL_IS_POINT) {
        // What is tied is the middle of a pixel.
        for axis in [&mut affine.x, &mut affine.y] {
            axis[0] -= 0.5 * (axis[1] + axis[2]);
        }
    }
    let code = match value(MODEL_TYPE) {
        Some(PROJECTED) => value(PROJECTED_CRS),
        Some(GEOGRAPHIC) => value(GEOGRAPHIC_CRS),
        _ => value(PROJECTED_CRS).or_else(|| value(GEOGRAPHIC_CRS)),
    };
    match code {
        Some(code) if code != USER_DEFINED && code != 0 => {
            let way = ToWgs84::new(&format!("EPSG:{code}"))
                .map_err(|error| Problem::new(file, error.to_string()))?;
            Ok((way, affine))
        }
        _ => Err(
            Problem::new(file, "does not name its reference system by an EPSG code").hint(
                "save it again in a numbered one, such as WGS 84 or the UTM zone of the field",
            ),
        ),
    }
}

/// The colours of `pixels` (column and row, or outside). Each piece of the file that any of them lies in is
/// unpacked once.
fn colours(
    file: &str,
    tiff: &mut Tiff,
    columns: u32,
    pixels: &[Option<[u32; 2]>],
) -> Result<Vec<[u8; 4]>, Problem> {
    let damaged = |error: tiff::TiffError| {
        Problem::new(file, format!("the TIFF cannot be read: {error}"))
            .hint("export it again as a GeoTIFF of colours, packed with LZW, Deflate or JPEG or not at all")
    };
    let colour = Colour::of(file, tiff)?;
    let (width, height) = tiff.chunk_dimensions();
    let across = columns.div_ceil(width.max(1));
    let mut wanted: Vec<(u32, u32)> = Vec::with_capacity(pixels.len());
    for (at, pixel) in pixels.iter().enumerate() {
        if let Some([column, row]) = pixel {
            let chunk = (row / height.max(1)) * across + column / width.max(1);
            wanted.push((chunk, at as u32));
        }
    }
    wanted.sort_unstable();
    let mut found = vec![[0; 4]; pixels.len()];
    for of_chunk in wanted.chunk_by(|a, b| a.0 == b.0) {
        let chunk = of_chunk[0].0;
        let samples = tiff.read_chunk(chunk).map_err(damaged)?;
        let (row_length, _) = tiff.chunk_data_dimensions(chunk);
        for &(_, at) in of_chunk {
            let Some([column, row]) = pixels[at as usize] else {
                continue;
            };
            let place = (row % height) as usize * row_length as usize + (column % width) as usize;
            found[at as usize] = colour.at(&samples, place).unwrap_or([0; 4]);
        }
    }
    Ok(found)
}

/// What the samples of a pixel mean.
enum Colour {
    /// So many samples: grey, grey and opacity, red green blue, and these with opacity.
    Samples(usize),
    /// A place in a table of red, green and blue.
    Table(Vec<[u8; 4]>),
}

impl Colour {
    fn of(file: &str, tiff: &mut Tiff) -> Result<Colour, Problem> {
        let refuse = |found: String| {
            Problem::new(
                file,
                format!("expected grey or coloured pixels of 8 or 16 bits, found {found}"),
            )
            .hint("export the picture as it is shown, not the measured values behind it")
        };
        let kind = tiff
            .colortype()
            .map_err(|error| refuse(error.to_string()))?;
        // Planes of one colour each lie apart in the file.
        let planes = tiff.get_tag_u32(Tag::PlanarConfiguration).unwrap_or(1);
        if planes != 1 {
            return Err(refuse("colours in planes of their own".to_owned()));
        }
        Ok(match kind {
            ColorType::Gray(8 | 16) => Colour::Samples(1),
            ColorType::GrayA(8 | 16) => Colour::Samples(2),
            ColorType::RGB(8 | 16) | ColorType::YCbCr(8) => Colour::Samples(3),
            ColorType::RGBA(8 | 16) => Colour::Samples(4),
            ColorType::Palette(8) => {
                let table = tiff.get_tag_u16_vec(COLOURS).unwrap_or_default();
                let count = table.len() / 3;
                let shade = |at: usize| (table[at] >> 8) as u8;
                let colours =
                    (0..count).map(|at| [shade(at), shade(count + at), shade(2 * count + at), 255]);
                Colour::Table(colours.collect())
            }
            other => return Err(refuse(format!("{other:?}"))),
        })
    }

    fn at(&self, samples: &DecodingResult, place: usize) -> Option<[u8; 4]> {
        let sample = |at: usize| match samples {
            DecodingResult::U8(values) => values.get(at).copied(),
            DecodingResult::U16(values) => values.get(at).map(|value| (value >> 8) as u8),
            _ => None,
        };
        match self {
            Colour::Table(colours) => colours.get(usize::from(sample(place)?)).copied(),
            Colour::Samples(count) => {
                let of = |nth: usize| sample(place * count + nth);
                let first = of(0)?;
                Some(match count {
                    1 => [first, first, first, 255],
                    2 => [first, first, first, of(1)?],
                    3 => [first, of(1)?, of(2)?, 255],
                    _ => [first, of(1)?, of(2)?, of(3)?],
                })
            }
        }
    }
}
