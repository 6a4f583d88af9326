//! Treatment zones that are cells of a grid (GRD): the cells of one rate are joined to patches of ground, each a
//! feature with its rate as any treatment zone has it. A grid of type 1 names a treatment zone for each cell, one of
//! type 2 holds the rates themselves.
//!
//! # Source
//! ISO 11783-10:2015, annex D (GRD, TZN, TSK) and its clause on grid files: cells row after row from the south, each
//! from the west; type 1 one byte, the zone's code, type 2 four bytes, little-endian and signed, for each process
//! data variable of the zone that the grid names. Checked in tests against an independent writer.

use std::collections::HashMap;

use checkstrip_model::Problem;

use super::TaskSet;
use super::element::Element;
use super::grid_patches::{MOST_POLYGONS, patches};
use crate::feature::Rings;

/// Rows, and columns, of one grid.
const MOST_ROWS: u32 = 20_000;
/// Cells of one grid.
const MOST_CELLS: usize = 10_000_000;
/// Corners of a boundary that cells are looked up in.
const MOST_BOUNDARY_CORNERS: usize = 100_000;

/// A piece of ground with one rate.
pub(super) struct GridZone<'s> {
    /// The treatment zone it belongs to.
    pub(super) zone: &'s Element,
    /// The values of the zone's process data variables, where the cells hold them.
    pub(super) values: Option<Vec<i32>>,
    pub(super) polygons: Vec<Rings>,
}

/// Where the cells of a grid lie.
struct Layout {
    south: f64,
    west: f64,
    cell_north: f64,
    cell_east: f64,
    columns: usize,
    rows: usize,
}

impl TaskSet {
    /// The ground of every rate of the grid `grid` of `task`, and what was left out.
    ///
    /// Cells of the zone that the task names for ground outside the field are no ground, nor are those whose middle
    /// lies outside the field's boundary, where the task names a field that has one.
    ///
    /// # Errors
    /// When the grid is of no known type, its file is not as long as its cells ask for, or it is no prescription for
    /// strips but falls into thousands of pieces.
    pub(super) fn grid_zones<'s>(
        &'s self,
        task: &'s Element,
        grid: &Element,
    ) -> Result<(Vec<GridZone<'s>>, Vec<Problem>), Problem> {
        let given = self.files.given.as_str();
        let bytes = self.binary_file(grid, "G")?;
        let name = grid.text("G").unwrap_or_default();
        let refuse = |message: String, hint: &str| {
            Problem::new(given, format!("{name}.BIN: {message}")).hint(hint)
        };
        let layout = Layout::new(grid)
            .map_err(|what| refuse(what, "the file was edited or is damaged: export it again"))?;
        let cells = layout.columns * layout.rows;
        let check_length = |bytes_of_cell: usize| {
            let expected = cells * bytes_of_cell;
            match bytes.len() == expected {
                true => Ok(()),
                false => Err(refuse(
                    format!(
                        "expected {expected} bytes for {} rows of {} cells, found {}",
                        layout.rows,
                        layout.columns,
                        bytes.len()
                    ),
                    "it was cut off or belongs to another task: export the task data again",
                )),
            }
        };
        let mut left_out = Vec::new();
        // Class 0 is no ground; the others stand here.
        let mut rates: Vec<(&Element, Option<Vec<i32>>)> = Vec::new();
        let mut classes = match grid.text("I") {
            Some("1") => {
                check_length(1)?;
                let out_of_field: Option<u8> = task.number("J");
                let mut class_of = [0; 256];
                for zone in task.each("TZN") {
                    if let Some(code) = zone
                        .number::<u8>("A")
                        .filter(|&code| Some(code) != out_of_field)
                        && class_of[code as usize] == 0
                    {
                        rates.push((zone, None));
                        class_of[code as usize] = rates.len() as u32;
                    }
                }
                let mut without = [0_usize; 256];
                let classes: Vec<u32> = bytes
                    .iter()
                    .map(|&code| {
                        without[code as usize] += usize::from(class_of[code as usize] == 0);
                        class_of[code as usize]
                    })
                    .collect();
                let unknown = without
                    .iter()
                    .enumerate()
                    .filter(|&(code, &count)| count > 0 && Some(code as u8) != out_of_field);
                for (code, count) in unknown {
                    left_out.push(refuse(
                        format!("{count} cells are of treatment zone {code}, which the task does not have"),
                        "they are in no strip; where they are in the field, export the prescription again",
                    ));
                }
                classes
            }
            Some("2") => {
                let zone = template(task, grid).ok_or_else(|| {
                    refuse(
                        "no treatment zone of the task says what its values are".to_owned(),
                        "export the prescription again, or as polygons",
                    )
                })?;
                let values = zone.each("PDV").count();
                check_length(4 * values)?;
                let mut known: HashMap<&[u8], u32> = HashMap::new();
                let mut classes = Vec::with_capacity(cells);
                let mut last: (&[u8], u32) = (&[], 0);
                for cell in bytes.chunks_exact(4 * values) {
                    if cell != last.0 {
                        let next = rates.len() as u32 + 1;
                        let class = *known.entry(cell).or_insert(next);
                        if class == next {
                            let (numbers, _) = cell.as_chunks::<4>();
                            let numbers = numbers.iter().map(|bytes| i32::from_le_bytes(*bytes));
                            rates.push((zone, Some(numbers.collect())));
                        }
                        last = (cell, class);
                    }
                    classes.push(last.1);
                }
                classes
            }
            other => {
                return Err(refuse(
                    format!(
                        "expected a grid of type 1 or 2, found {}",
                        other.unwrap_or("none")
                    ),
                    "export the prescription again, or as polygons",
                ));
            }
        };
        if let Some(boundary) = self.boundary_of(task) {
            layout.leave_out_around(&boundary, &mut classes);
        }
        let patches = patches(&classes, layout.columns).ok_or_else(|| {
            refuse(
                format!("the cells of one rate make more than {MOST_POLYGONS} pieces of ground"),
                "a prescription for strips has few rates; give the strips as polygons",
            )
        })?;
        let zones = patches.into_iter().map(|patch| {
            let (zone, values) = &rates[patch.class as usize - 1];
            let degrees =
                |ring: Vec<[u32; 2]>| ring.into_iter().map(|at| layout.corner(at)).collect();
            let rings = |rings: Vec<Vec<[u32; 2]>>| rings.into_iter().map(degrees).collect();
            GridZone {
                zone,
                values: values.clone(),
                polygons: patch.polygons.into_iter().map(rings).collect(),
            }
        });
        Ok((zones.collect(), left_out))
    }

    /// The rings of the boundary of the field that `task` names; `None` where it has none that can be used.
    fn boundary_of(&self, task: &Element) -> Option<Vec<Vec<[f64; 2]>>> {
        let field = self.with_id("PFD", task.text("E")?)?;
        let mut all = Vec::new();
        for outline in self.outlines(field) {
            all.extend(self.rings(outline).ok()?.into_iter().flatten());
        }
        let corners: usize = all.iter().map(Vec::len).sum();
        (corners > 0 && corners <= MOST_BOUNDARY_CORNERS).then_some(all)
    }
}

/// The treatment zone whose process data variables say what the values of `grid` are: the one it names, else the only
/// one there is.
fn template<'s>(task: &'s Element, grid: &Element) -> Option<&'s Element> {
    let has_values = |zone: &&Element| {
        let mut variables = zone.each("PDV").peekable();
        variables.peek().is_some() && variables.all(|variable| variable.data_entry("A").is_some())
    };
    let mut zones = task.each("TZN").filter(has_values);
    match grid.number::<u8>("J") {
        Some(code) => zones.find(|zone| zone.number("A") == Some(code)),
        None => zones.next().filter(|_| zones.next().is_none()),
    }
}

impl Layout {
    /// From a GRD element; `Err` says what is wrong with it.
    fn new(grid: &Element) -> Result<Layout, String> {
        let number = |key: &str| {
            let number = grid.number::<f64>(key).filter(|number| number.is_finite());
            number.ok_or_else(|| format!("the grid's attribute {key} is no number"))
        };
        let count = |key: &str, what: &str| match grid.number::<u32>(key) {
            Some(count @ 1..=MOST_ROWS) => Ok(count as usize),
            _ => Err(format!(
                "expected 1 to {MOST_ROWS} {what}, found {}",
                grid.text(key).unwrap_or("none")
            )),
        };
        let layout = Layout {
            south: number("A")?,
            west: number("B")?,
            cell_north: number("C")?,
            cell_east: number("D")?,
            columns: count("E", "columns")?,
            rows: count("F", "rows")?,
        };
        if layout.columns * layout.rows > MOST_CELLS {
            return Err(format!(
                "expected at most {MOST_CELLS} cells, found {} rows of {}",
                layout.rows, layout.columns
            ));
        }
        let [east, north] = layout.corner([layout.columns as u32, layout.rows as u32]);
        let is_on_earth =
            layout.south >= -90.0 && north <= 90.0 && layout.west >= -180.0 && east <= 180.0;
        if !is_on_earth || layout.cell_north <= 0.0 || layout.cell_east <= 0.0 {
            return Err("its cells do not lie in degrees on Earth".to_owned());
        }
        Ok(layout)
    }

    /// Longitude and latitude of a corner of the grid.
    fn corner(&self, [column, row]: [u32; 2]) -> [f64; 2] {
        [
            self.west + f64::from(column) * self.cell_east,
            self.south + f64::from(row) * self.cell_north,
        ]
    }

    /// Makes no ground of the cells whose middle is not inside `rings`.
    fn leave_out_around(&self, rings: &[Vec<[f64; 2]>], classes: &mut [u32]) {
        let mut crossings = Vec::new();
        for (row, cells) in classes.chunks_exact_mut(self.columns).enumerate() {
            let lat = self.south + (row as f64 + 0.5) * self.cell_north;
            crossings.clear();
            for ring in rings {
                let mut from = ring.last().copied().unwrap_or([f64::NAN; 2]);
                for &to in ring {
                    if (from[1] <= lat) != (to[1] <= lat) {
                        let part = (lat - from[1]) / (to[1] - from[1]);
                        crossings.push(from[0] + part * (to[0] - from[0]));
                    }
                    from = to;
                }
            }
            crossings.sort_by(f64::total_cmp);
            let mut passed = 0;
            for (column, class) in cells.iter_mut().enumerate() {
                let lon = self.west + (column as f64 + 0.5) * self.cell_east;
                while crossings
                    .get(passed)
                    .is_some_and(|&crossing| crossing <= lon)
                {
                    passed += 1;
                }
                if passed % 2 == 0 {
                    *class = 0;
                }
            }
        }
    }
}
