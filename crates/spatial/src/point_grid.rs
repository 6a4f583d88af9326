//! Points sorted into square cells, for "who is within this distance of me" asked once for every
//! record of a log. A tree answers the same question some ten times slower when all points are known
//! beforehand and the distance is one and the same: see the benchmark `ground` and `docs/decisions`.

/// Points of a plane, grouped by cell.
#[derive(Debug)]
pub struct PointGrid {
    cell_m: f64,
    west: f64,
    south: f64,
    columns: usize,
    rows: usize,
    /// Start of each cell in `points`, and the end of the last.
    starts: Vec<u32>,
    /// Position of each point, and its place in the input, cell by cell.
    points: Vec<([f64; 2], u32)>,
}

/// Cells are made larger rather than more than this many times the number of points.
const CELLS_PER_POINT: usize = 4;

impl PointGrid {
    /// Sorts `points` (east, north in m, all finite) into cells of about `cell_m`. Complexity: linear.
    pub fn new(points: impl Iterator<Item = [f64; 2]> + Clone, cell_m: f64) -> PointGrid {
        let (mut low, mut high, mut count) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2], 0usize);
        for point in points.clone() {
            for axis in 0..2 {
                low[axis] = low[axis].min(point[axis]);
                high[axis] = high[axis].max(point[axis]);
            }
            count += 1;
        }
        if count == 0 {
            (low, high) = ([0.0; 2], [0.0; 2]);
        }
        let mut cell_m = cell_m;
        let most = (CELLS_PER_POINT * count + 64) as f64;
        let cells =
            |cell: f64| ((high[0] - low[0]) / cell + 1.0) * ((high[1] - low[1]) / cell + 1.0);
        while cells(cell_m) > most {
            cell_m *= 2.0;
        }
        let columns = ((high[0] - low[0]) / cell_m) as usize + 1;
        let rows = ((high[1] - low[1]) / cell_m) as usize + 1;
        let mut grid = PointGrid {
            cell_m,
            west: low[0],
            south: low[1],
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            points: vec![([0.0; 2], 0); count],
        };
        for point in points.clone() {
            let cell = grid.cell(point);
            grid.starts[cell + 1] += 1;
        }
        for cell in 0..columns * rows {
            grid.starts[cell + 1] += grid.starts[cell];
        }
        let mut next = grid.starts.clone();
        for (index, point) in points.enumerate() {
            let cell = grid.cell(point);
            grid.points[next[cell] as usize] = (point, index as u32);
            next[cell] += 1;
        }
        grid
    }

    fn cell(&self, point: [f64; 2]) -> usize {
        let column = ((point[0] - self.west) / self.cell_m) as usize;
        let row = ((point[1] - self.south) / self.cell_m) as usize;
        row.min(self.rows - 1) * self.columns + column.min(self.columns - 1)
    }

    /// Calls `found` with the place in the input of every point within `distance_m` of `centre`
    /// (itself included when it is one of them).
    pub fn within(&self, centre: [f64; 2], distance_m: f64, mut found: impl FnMut(u32)) {
        let span = |at: f64, origin: f64, count: usize| {
            let low = ((at - distance_m - origin) / self.cell_m).floor().max(0.0) as usize;
            let high = ((at + distance_m - origin) / self.cell_m).floor();
            (
                low,
                if high < 0.0 {
                    0
                } else {
                    (high as usize + 1).min(count)
                },
            )
        };
        let (west, east) = span(centre[0], self.west, self.columns);
        let (south, north) = span(centre[1], self.south, self.rows);
        let limit = distance_m * distance_m;
        for row in south..north {
            if west >= east {
                break;
            }
            let from = self.starts[row * self.columns + west] as usize;
            let to = self.starts[row * self.columns + east] as usize;
            for (point, index) in &self.points[from..to] {
                let (de, dn) = (point[0] - centre[0], point[1] - centre[1]);
                if de * de + dn * dn <= limit {
                    found(*index);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn finds_what_a_full_search_finds(
            points in prop::collection::vec((-50.0..50.0f64, -50.0..50.0f64), 0..60),
            centre in (-70.0..70.0f64, -70.0..70.0f64),
            distance in 0.1..40.0f64,
        ) {
            let points: Vec<[f64; 2]> = points.into_iter().map(|(e, n)| [e, n]).collect();
            let grid = PointGrid::new(points.iter().copied(), 10.0);
            let mut ours = Vec::new();
            grid.within([centre.0, centre.1], distance, |i| ours.push(i));
            ours.sort_unstable();
            let full: Vec<u32> = (0..points.len() as u32)
                .filter(|&i| {
                    let p = points[i as usize];
                    (p[0] - centre.0).powi(2) + (p[1] - centre.1).powi(2) <= distance * distance
                })
                .collect();
            prop_assert_eq!(ours, full);
        }
    }

    #[test]
    fn far_apart_points_do_not_blow_the_grid_up() {
        let grid = PointGrid::new([[0.0, 0.0], [1e9, 1e9]].into_iter(), 1.0);
        let mut found = 0;
        grid.within([1e9, 1e9], 5.0, |_| found += 1);
        assert_eq!(found, 1);
    }
}
