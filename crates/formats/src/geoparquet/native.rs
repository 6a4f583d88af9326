//! Polygons in the native encodings of GeoParquet 1.1: lists of rings (`polygon`), or lists of those
//! (`multipolygon`), whose corners are records of `x` and `y` in two columns that run side by side.

use parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use parquet::data_type::DoubleType;
use parquet::errors::{ParquetError, Result};
use parquet::schema::types::ColumnDescriptor;

use super::column::not_as_said;
use crate::feature::Rings;
use crate::feature_table::Shape;

/// The polygons of the next `records` records. `leaf` is the column of `x`, with whose levels those of
/// `y` have to agree.
pub(super) fn polygons(
    [x, y]: [&mut ColumnReader; 2],
    leaf: &ColumnDescriptor,
    records: usize,
) -> Result<Vec<Shape>> {
    let (ColumnReader::DoubleColumnReader(x), ColumnReader::DoubleColumnReader(y)) = (x, y) else {
        return Err(not_as_said());
    };
    let (x, y) = (axis(x, records)?, axis(y, records)?);
    if x.lists != y.lists || x.present != y.present {
        return Err(not_as_said());
    }
    // Repetition below these begins a ring, or a polygon.
    let ring = leaf.max_rep_level() - 1;
    let polygon = leaf.max_rep_level() - 2;
    let mut corners = x.values.iter().zip(&y.values);
    let mut shapes: Vec<Vec<Rings>> = Vec::with_capacity(records);
    for (&list, &present) in x.lists.iter().zip(&x.present) {
        if list == 0 {
            shapes.push(Vec::new());
        }
        // Nothing, or a list without entries.
        if present < leaf.max_def_level() {
            continue;
        }
        let shape = shapes.last_mut().ok_or_else(not_as_said)?;
        let (&x, &y) = corners.next().ok_or_else(not_as_said)?;
        if list <= polygon || shape.is_empty() {
            shape.push(Vec::new());
        }
        let Some(rings) = shape.last_mut() else {
            continue;
        };
        if list <= ring || rings.is_empty() {
            rings.push(Vec::new());
        }
        if let Some(ring) = rings.last_mut() {
            ring.push([x, y]);
        }
    }
    if shapes.len() != records {
        return Err(not_as_said());
    }
    let shapes = shapes
        .into_iter()
        .map(|polygons| match polygons.is_empty() {
            true => Shape::Nothing,
            false => Shape::Polygons(polygons),
        });
    Ok(shapes.collect())
}

/// The numbers of one axis, with their levels.
struct Axis {
    values: Vec<f64>,
    lists: Vec<i16>,
    present: Vec<i16>,
}

fn axis(column: &mut ColumnReaderImpl<DoubleType>, records: usize) -> Result<Axis> {
    let mut axis = Axis {
        values: Vec::new(),
        lists: Vec::new(),
        present: Vec::new(),
    };
    let mut read = 0;
    while read < records {
        let (more, _, _) = column.read_records(
            records - read,
            Some(&mut axis.present),
            Some(&mut axis.lists),
            &mut axis.values,
        )?;
        if more == 0 {
            return Err(ParquetError::EOF(format!(
                "{records} rows are said to be there, {read} are"
            )));
        }
        read += more;
    }
    Ok(axis)
}
