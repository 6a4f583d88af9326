//! Cells of a grid joined to ground: cells of one class that share an edge are one polygon, polygons of one class
//! that touch at a corner are parts of one patch. Outlines run along the edges of cells and nowhere else.

/// A patch of cells: polygons, each an outer ring counterclockwise followed by its holes, in columns and rows of the
/// grid's corners. Rings are open.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Patch {
    pub(crate) class: u32,
    pub(crate) polygons: Vec<Vec<Vec<[u32; 2]>>>,
}

/// Polygons that a grid may fall into: one of more is a map of a measured value and no prescription for strips.
pub(crate) const MOST_POLYGONS: usize = 5_000;
/// Corners of all their outlines.
pub(crate) const MOST_CORNERS: usize = 1_000_000;

/// East, north, west, south: steps in columns and rows.
const STEPS: [[i64; 2]; 4] = [[1, 0], [0, 1], [-1, 0], [0, -1]];

/// The patches of `classes`, row after row of `columns` cells, in the order of their first cells; class 0 is no
/// ground. Takes time and memory in proportion to the cells.
///
/// `None` when there are more than [`MOST_POLYGONS`] polygons or [`MOST_CORNERS`] corners.
pub(crate) fn patches(classes: &[u32], columns: usize) -> Option<Vec<Patch>> {
    if columns == 0 {
        return Some(Vec::new());
    }
    let cells = Cells {
        polygons: vec![0; classes.len()],
        classes,
        columns,
        rows: classes.len() / columns,
    };
    let (cells, polygon_classes) = cells.find_polygons()?;
    let patch_of = cells.join_at_corners(polygon_classes.len());
    let mut rings = cells.outlines(polygon_classes.len())?;
    let mut patches: Vec<Patch> = Vec::new();
    // Where each patch stands among them, by its first polygon.
    let mut places = vec![usize::MAX; polygon_classes.len()];
    for (polygon, class) in polygon_classes.into_iter().enumerate() {
        let first = patch_of[polygon];
        if places[first] == usize::MAX {
            places[first] = patches.len();
            patches.push(Patch {
                class,
                polygons: Vec::new(),
            });
        }
        let rings = std::mem::take(&mut rings[polygon]);
        patches[places[first]].polygons.push(rings);
    }
    Some(patches)
}

struct Cells<'c> {
    classes: &'c [u32],
    /// The polygon that each cell is in, from 1; 0 for none.
    polygons: Vec<u32>,
    columns: usize,
    rows: usize,
}

impl Cells<'_> {
    /// Numbers the polygons; returns their classes.
    fn find_polygons(mut self) -> Option<(Self, Vec<u32>)> {
        let mut classes = Vec::new();
        let mut open = Vec::new();
        for first in 0..self.classes.len() {
            let class = self.classes[first];
            if class == 0 || self.polygons[first] != 0 {
                continue;
            }
            if classes.len() == MOST_POLYGONS {
                return None;
            }
            classes.push(class);
            let number = classes.len() as u32;
            self.polygons[first] = number;
            open.push(first);
            while let Some(cell) = open.pop() {
                let column = cell % self.columns;
                let neighbours = [
                    (column > 0).then(|| cell - 1),
                    (column + 1 < self.columns).then(|| cell + 1),
                    cell.checked_sub(self.columns),
                    Some(cell + self.columns).filter(|&above| above < self.classes.len()),
                ];
                for next in neighbours.into_iter().flatten() {
                    if self.classes[next] == class && self.polygons[next] == 0 {
                        self.polygons[next] = number;
                        open.push(next);
                    }
                }
            }
        }
        Some((self, classes))
    }

    /// For each polygon, from 0, the first one of its patch.
    fn join_at_corners(&self, polygons: usize) -> Vec<usize> {
        let mut above: Vec<usize> = (0..polygons).collect();
        fn first(above: &mut [usize], mut at: usize) -> usize {
            while above[at] != at {
                above[at] = above[above[at]];
                at = above[at];
            }
            at
        }
        for row in 1..self.rows {
            for column in 0..self.columns {
                let cell = row * self.columns + column;
                let below = cell - self.columns;
                let corners = [
                    (column > 0).then(|| below - 1),
                    (column + 1 < self.columns).then(|| below + 1),
                ];
                for other in corners.into_iter().flatten() {
                    let (one, two) = (self.polygons[cell], self.polygons[other]);
                    if self.classes[cell] == self.classes[other] && one != two {
                        let one = first(&mut above, one as usize - 1);
                        let two = first(&mut above, two as usize - 1);
                        above[one.max(two)] = one.min(two);
                    }
                }
            }
        }
        (0..polygons).map(|at| first(&mut above, at)).collect()
    }

    /// The polygon of the cell at `column` and `row`, which may lie outside; 0 there.
    fn polygon_at(&self, column: i64, row: i64) -> u32 {
        let is_inside =
            (0..self.columns as i64).contains(&column) && (0..self.rows as i64).contains(&row);
        match is_inside {
            true => self.polygons[row as usize * self.columns + column as usize],
            false => 0,
        }
    }

    /// The rings of every polygon, the outer one first.
    fn outlines(&self, polygons: usize) -> Option<Vec<Vec<Vec<[u32; 2]>>>> {
        let mut rings = vec![Vec::new(); polygons];
        // Whether the lower edge of a cell is in a ring already; every ring has such an edge.
        let mut is_traced = vec![false; self.polygons.len()];
        let mut corners = 0;
        for cell in 0..self.polygons.len() {
            let number = self.polygons[cell];
            let (column, row) = ((cell % self.columns) as i64, (cell / self.columns) as i64);
            if number == 0 || is_traced[cell] || self.polygon_at(column, row - 1) == number {
                continue;
            }
            // The first lower edge met is the outer ring's, and begins at a corner of its ring.
            let ring = self.ring(number, [column, row], &mut is_traced);
            corners += ring.len();
            if corners > MOST_CORNERS {
                return None;
            }
            rings[number as usize - 1].push(ring);
        }
        Some(rings)
    }

    /// Goes around polygon `number` from the lower left corner of a cell of it, the polygon on the left. Where two of
    /// its cells touch at a corner only it turns right, from one to the other: they hang together elsewhere, so the
    /// ground between them is enclosed and has a ring of its own.
    fn ring(&self, number: u32, start: [i64; 2], is_traced: &mut [bool]) -> Vec<[u32; 2]> {
        let mut ring = Vec::new();
        let ([mut column, mut row], mut way) = (start, 0);
        ring.push([column as u32, row as u32]);
        loop {
            if way == 0 {
                is_traced[row as usize * self.columns + column as usize] = true;
            }
            column += STEPS[way][0];
            row += STEPS[way][1];
            // The two cells ahead, left and right of the way.
            let (left, right) = match way {
                0 => ([column, row], [column, row - 1]),
                1 => ([column - 1, row], [column, row]),
                2 => ([column - 1, row - 1], [column - 1, row]),
                _ => ([column, row - 1], [column - 1, row - 1]),
            };
            let is_ours = |[column, row]: [i64; 2]| self.polygon_at(column, row) == number;
            let next = match (is_ours(left), is_ours(right)) {
                (_, true) => (way + 3) % 4,
                (true, false) => way,
                (false, false) => (way + 1) % 4,
            };
            if [column, row] == start && next == 0 {
                return ring;
            }
            if next != way {
                ring.push([column as u32, row as u32]);
            }
            way = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area as _, LineString, MultiPolygon, Polygon, Validation as _};
    use proptest::prelude::*;

    fn ground(patch: &Patch) -> MultiPolygon<f64> {
        let line = |ring: &Vec<[u32; 2]>| {
            LineString::from_iter(ring.iter().map(|&[x, y]| [f64::from(x), f64::from(y)]))
        };
        let polygons = patch
            .polygons
            .iter()
            .map(|rings| Polygon::new(line(&rings[0]), rings[1..].iter().map(line).collect()));
        polygons.collect()
    }

    #[test]
    fn cells_that_share_an_edge_are_one_polygon() {
        // Northern row last.
        let found = patches(&[1, 1, 2, 1, 0, 2], 3).unwrap();
        assert_eq!(found.len(), 2);
        assert_eq!(
            found[0].polygons,
            [[[[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]]]]
        );
        assert_eq!(found[1].polygons, [[[[2, 0], [3, 0], [3, 2], [2, 2]]]]);
    }

    #[test]
    fn polygons_that_touch_at_a_corner_are_one_patch() {
        let found = patches(&[1, 0, 0, 1], 2).unwrap();
        assert_eq!((found.len(), found[0].polygons.len()), (1, 2));
        assert_eq!(ground(&found[0]).unsigned_area(), 2.0);
    }

    #[test]
    fn enclosed_ground_is_a_hole() {
        let ring = [1, 1, 1, 1, 0, 1, 1, 1, 1];
        let found = patches(&ring, 3).unwrap();
        assert_eq!(found[0].polygons[0].len(), 2);
        // A hole that touches the ground outside at a corner.
        let open = [1, 1, 1, 1, 0, 1, 0, 1, 1];
        let found = patches(&open, 3).unwrap();
        assert_eq!(
            (found[0].polygons.len(), found[0].polygons[0].len()),
            (1, 2)
        );
        assert!(ground(&found[0]).is_valid());
    }

    #[test]
    fn maps_of_a_measured_value_are_refused() {
        let noise: Vec<u32> = (1..=6_000).collect();
        assert_eq!(patches(&noise, 50), None);
        assert_eq!(patches(&[], 0), Some(vec![]));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

        /// The ground of all patches is the ground of all cells, class by class, and every patch is valid.
        #[test]
        fn no_cell_is_lost_or_counted_twice(columns in 1_usize..12, cells in prop::collection::vec(0_u32..4, 1..120)) {
            let cells = &cells[..cells.len() / columns * columns];
            let mut area = [0.0; 4];
            for patch in patches(cells, columns).unwrap() {
                let ground = ground(&patch);
                prop_assert!(ground.is_valid(), "{ground:?}");
                prop_assert!(patch.polygons.iter().all(|rings| !rings.is_empty()));
                area[patch.class as usize] += ground.unsigned_area();
            }
            for class in 1..4 {
                let count = cells.iter().filter(|&&cell| cell == class).count();
                prop_assert_eq!(area[class as usize], count as f64);
            }
        }
    }
}
