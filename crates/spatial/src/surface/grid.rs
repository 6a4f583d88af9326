//! The raster of a surface: square cells in rows from north to south, as every raster file has them. Corners lie on
//! whole multiples of the cell, so that rasters of one field from several years lie over each other.

/// A raster's place and size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RasterGrid {
    /// Western edge, m.
    pub west_m: f64,
    /// Northern edge, m.
    pub north_m: f64,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells from west to east.
    pub columns: usize,
    /// Cells from north to south.
    pub rows: usize,
}

impl RasterGrid {
    /// The smallest raster of cells of `cell_m` that holds everything within `margin_m` of `points`, all finite; `None`
    /// without a point, or when the sizes cannot be counted.
    pub(super) fn around(points: &[[f64; 2]], margin_m: f64, cell_m: f64) -> Option<RasterGrid> {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for point in points {
            for axis in 0..2 {
                low[axis] = low[axis].min(point[axis]);
                high[axis] = high[axis].max(point[axis]);
            }
        }
        let first = low.map(|value| ((value - margin_m) / cell_m).floor());
        let last = high.map(|value| ((value + margin_m) / cell_m).ceil());
        let [columns, rows] = [last[0] - first[0], last[1] - first[1]];
        let can_be_counted = |cells: f64| (1.0..1e9).contains(&cells);
        (can_be_counted(columns) && can_be_counted(rows)).then(|| RasterGrid {
            west_m: first[0] * cell_m,
            north_m: last[1] * cell_m,
            cell_m,
            columns: columns as usize,
            rows: rows as usize,
        })
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.columns * self.rows
    }

    /// Middle of a cell, east and north in m.
    pub fn centre(&self, column: usize, row: usize) -> [f64; 2] {
        [
            self.west_m + (column as f64 + 0.5) * self.cell_m,
            self.north_m - (row as f64 + 0.5) * self.cell_m,
        ]
    }

    /// The cell that a point of this raster lies in, counted row by row from the north-west.
    pub(super) fn cell_of(&self, [east, north]: [f64; 2]) -> usize {
        let column = ((east - self.west_m) / self.cell_m) as usize;
        let row = ((self.north_m - north) / self.cell_m) as usize;
        row.min(self.rows - 1) * self.columns + column.min(self.columns - 1)
    }
}
