//! What a map of a planting log is drawn from: pieces of each row's way, some metres long, with their place
//! and the means of every measure. Tens of millions of records become some hundreds of thousands of tiles.

use rayon::prelude::*;

use crate::PlantingError;
use crate::passes::{PlantingPass, passes};
use crate::records::PlantingRecords;
use crate::row_quality::{Measure, fill};
use crate::settings::PlantingSettings;

/// Tiles of all rows, column by column, one entry per tile: pass after pass, in it row after row, and along
/// the way.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RowTiles {
    /// Pass, from 1.
    pub pass: Vec<u32>,
    /// Row, from 1.
    pub row: Vec<u16>,
    /// Middle of the tile, m east and north.
    pub east_north_m: Vec<[f64; 2]>,
    /// Direction of the way, degrees clockwise from the plane's north.
    pub heading_deg: Vec<f32>,
    /// Length of the tile, m. Its width is the row spacing.
    pub length_m: Vec<f32>,
    /// Mean speed, m/s.
    pub speed_m_s: Vec<f32>,
    /// The measures that the log has, each with its mean on every tile; `NaN` where a tile has none.
    pub measures: Vec<(Measure, Vec<f32>)>,
}

impl RowTiles {
    /// Number of tiles.
    pub fn len(&self) -> usize {
        self.row.len()
    }

    /// Whether there is no tile.
    pub fn is_empty(&self) -> bool {
        self.row.is_empty()
    }

    /// A measure's column.
    pub fn measure(&self, measure: Measure) -> Option<&[f32]> {
        self.measures
            .iter()
            .find(|(of, _)| *of == measure)
            .map(|(_, values)| &values[..])
    }

    fn append(&mut self, more: RowTiles) {
        let before = self.len();
        self.pass.extend(more.pass);
        self.row.extend(more.row);
        self.east_north_m.extend(more.east_north_m);
        self.heading_deg.extend(more.heading_deg);
        self.length_m.extend(more.length_m);
        self.speed_m_s.extend(more.speed_m_s);
        for (measure, values) in more.measures {
            match self.measures.iter_mut().find(|(of, _)| *of == measure) {
                Some((_, all)) => all.extend(values),
                None => {
                    let mut all = vec![f32::NAN; before];
                    all.extend(values);
                    self.measures.push((measure, all));
                }
            }
        }
    }
}

/// Cuts the rows' ways into tiles of about `tile_m` metres, once for each of the lengths given. A log without
/// positions has none. Tiles on which a row has no position are left out.
///
/// # Errors
/// As [`analyse`](crate::analyse), and for a tile length that is not above 0.
pub fn row_tiles<const LENGTHS: usize>(
    records: &PlantingRecords,
    settings: &PlantingSettings,
    tile_m: [f64; LENGTHS],
) -> Result<[RowTiles; LENGTHS], PlantingError> {
    if let Some(&value) = tile_m.iter().find(|&&m| !(m > 0.0 && m.is_finite())) {
        return Err(PlantingError::Setting {
            key: "tile",
            value,
            expected: "a number above 0",
        });
    }
    let found = passes(records, settings)?;
    let each: Vec<Result<Option<[RowTiles; LENGTHS]>, PlantingError>> = (0..found.len())
        .into_par_iter()
        .map(|index| {
            let moments = found.moments_of(index)?;
            let Some(positions) = found.row_positions(index, &moments)? else {
                return Ok(None);
            };
            let pass = found.pass_of(index, &moments)?;
            let of_length =
                |tile_m| tiles_of(&pass, &positions, found.row_spacing_m, settings, tile_m);
            Ok(Some(tile_m.map(of_length)))
        })
        .collect();
    let mut all = std::array::from_fn(|_| RowTiles::default());
    for of_pass in each {
        for (all, tiles) in all.iter_mut().zip(of_pass?.into_iter().flatten()) {
            all.append(tiles);
        }
    }
    Ok(all)
}

/// The tiles of one pass, whose rows were at `positions`.
fn tiles_of(
    pass: &PlantingPass,
    positions: &[[f64; 2]],
    row_spacing_m: Option<f64>,
    settings: &PlantingSettings,
    tile_m: f64,
) -> RowTiles {
    let moments = pass.moments();
    let tiles = (pass.length_m() / tile_m).round().max(1.0);
    let tile_of = |at: usize| {
        let share = pass.distance_m[at] / pass.length_m();
        ((share * tiles) as usize).min(tiles as usize - 1)
    };
    // Moments of each tile, the same for all rows.
    let mut edges = vec![0];
    for at in 1..moments {
        if tile_of(at) != tile_of(at - 1) {
            edges.push(at);
        }
    }
    edges.push(moments);
    let mut of_pass = RowTiles::default();
    let mut kept: Vec<[usize; 3]> = Vec::new();
    for row in 0..pass.rows {
        let places = &positions[row * moments..(row + 1) * moments];
        for edge in edges.windows(2) {
            let [from, to] = [edge[0], edge[1]];
            let known = || (from..to).filter(|&at| !places[at][0].is_nan());
            let (Some(first), Some(last)) = (known().next(), known().next_back()) else {
                continue;
            };
            let [a, b] = [places[first], places[last]];
            let [east, north] = [b[0] - a[0], b[1] - a[1]];
            let mean = |axis: usize| {
                let sum: f64 = known().map(|at| places[at][axis]).sum();
                sum / known().count() as f64
            };
            let speeds = pass.speed_m_s[from..to].iter().filter(|v| v.is_finite());
            let count = speeds.clone().count() as f32;
            of_pass.pass.push(pass.number as u32);
            of_pass.row.push(row as u16 + 1);
            of_pass.east_north_m.push([mean(0), mean(1)]);
            let heading = east.atan2(north).to_degrees().rem_euclid(360.0);
            of_pass.heading_deg.push(heading as f32);
            of_pass.length_m.push(pass.step_m[from..to].iter().sum());
            of_pass.speed_m_s.push(speeds.sum::<f32>() / count);
            kept.push([row, from, to]);
        }
    }
    let mut values = vec![f32::NAN; pass.rows * moments];
    for &measure in Measure::ALL {
        if fill(pass, measure, row_spacing_m, settings, &mut values) {
            let means = kept.iter().map(|&[row, from, to]| {
                let start = row * moments;
                weighted_mean(
                    &values[start + from..start + to],
                    &pass.ground_m(row)[from..to],
                )
            });
            of_pass.measures.push((measure, means.collect()));
        }
    }
    of_pass
}

fn weighted_mean(values: &[f32], weights: &[f32]) -> f32 {
    let (mut sum, mut weight) = (0.0, 0.0);
    for (value, by) in values.iter().zip(weights) {
        if !value.is_nan() && *by > 0.0 {
            sum += value * by;
            weight += by;
        }
    }
    sum / weight
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planting_log::PlantingLog;
    use crate::reading::Reading;

    /// Four rows half a metre apart go 60 m north and, after 20 s, 60 m south, 2 m beside.
    fn tiles(own_positions: bool, settings: &PlantingSettings) -> RowTiles {
        let (mut row, mut time, mut speed) = (vec![], vec![], vec![]);
        let (mut east, mut north, mut skips) = (vec![], vec![], vec![]);
        for moment in 0..62 {
            let up = moment < 31;
            for r in 1..=4usize {
                row.push(r as f64);
                time.push(f64::from(moment) + if up { 0.0 } else { 20.0 });
                speed.push(2.0);
                let along = f64::from(moment % 31) * 2.0;
                let off = if own_positions {
                    (r as f64 - 2.5) * 0.5 * if up { 1.0 } else { -1.0 }
                } else {
                    0.0
                };
                east.push(if up { 0.0 } else { 2.0 } + off);
                north.push(if up { along } else { 60.0 - along });
                skips.push(r as f64 + if along < 29.0 { 0.0 } else { 10.0 });
            }
        }
        let mut log = PlantingLog {
            row: &row,
            time_s: &time,
            speed_m_s: Some(&speed),
            east_north_m: Some([&east, &north]),
            ..PlantingLog::default()
        };
        log.set(Reading::Skips, &skips);
        let records = PlantingRecords::of(&log).unwrap();
        let [tiles] = row_tiles(&records, settings, [30.0]).unwrap();
        tiles
    }

    #[test]
    fn tiles_lie_where_the_rows_ran() {
        let settings = PlantingSettings {
            row_spacing_m: Some(0.5),
            ..PlantingSettings::default()
        };
        let tiles = tiles(false, &settings);
        // Two passes, four rows, two tiles.
        assert_eq!(tiles.len(), 16);
        assert_eq!((tiles.pass[0], tiles.row[0]), (1, 1));
        let near = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-3;
        assert!(near(tiles.east_north_m[0], [-0.75, 14.0]), "{tiles:?}");
        assert!(tiles.heading_deg[0].abs() < 0.1);
        // Driving south row 1 is the easternmost.
        let back = (0..16).find(|&at| tiles.pass[at] == 2).unwrap();
        assert!(near(tiles.east_north_m[back], [2.75, 46.0]), "{tiles:?}");
        assert!((tiles.heading_deg[back] - 180.0).abs() < 0.1);
        let skips = tiles.measure(Measure::Skips).unwrap();
        assert!((skips[0] - 1.0).abs() < 1e-6 && (skips[1] - 11.0).abs() < 1e-6);
        assert!(tiles.measure(Measure::Vacuum).is_none());
        assert!(tiles.speed_m_s.iter().all(|&v| v == 2.0));
    }

    /// Law: rows' own positions and the planter's give the same tiles.
    #[test]
    fn own_positions_are_the_rows() {
        let settings = PlantingSettings {
            row_spacing_m: Some(0.5),
            ..PlantingSettings::default()
        };
        let (planter, own) = (tiles(false, &settings), tiles(true, &settings));
        for (a, b) in planter.east_north_m.iter().zip(&own.east_north_m) {
            assert!((a[0] - b[0]).abs() < 1e-3 && (a[1] - b[1]).abs() < 1e-3);
        }
    }

    #[test]
    fn no_positions_no_tiles() {
        let row: Vec<f64> = (0..80).map(|i| f64::from(i % 4 + 1)).collect();
        let time: Vec<f64> = (0..80).map(|i| f64::from(i / 4)).collect();
        let speed = vec![2.0; 80];
        let log = PlantingLog {
            row: &row,
            time_s: &time,
            speed_m_s: Some(&speed),
            ..PlantingLog::default()
        };
        let settings = PlantingSettings::default();
        let records = PlantingRecords::of(&log).unwrap();
        assert!(row_tiles(&records, &settings, [10.0]).unwrap()[0].is_empty());
        assert!(row_tiles(&records, &settings, [0.0]).is_err());
    }
}
