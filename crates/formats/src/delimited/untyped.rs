//! Records of which nothing is asked but what stands in them: each column of numbers or texts by what
//! all its cells are.

use checkstrip_model::Problem;

use crate::cell::{self, Cell};
use crate::feature_table::{FeatureTable, Shape};
use crate::header;
use crate::problem_list::ProblemList;

/// A column of texts as numbers, where every cell that is not missing is one. Codes with zeros in front
/// are no numbers.
pub(super) fn settle(cells: Vec<Cell>, decimal_comma: bool) -> Vec<Cell> {
    let number = |cell: &Cell| -> Option<Cell> {
        let Cell::Text(text) = cell else {
            return Some(Cell::Empty);
        };
        let digits = text.strip_prefix('-').unwrap_or(text);
        let is_code =
            digits.len() > 1 && digits.starts_with('0') && digits.as_bytes()[1].is_ascii_digit();
        if is_code || text.starts_with('+') {
            return None;
        }
        if let Ok(whole) = text.parse::<i64>() {
            return Some(Cell::Whole(whole));
        }
        // A whole number of more digits would lose some.
        if text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'-')
        {
            return None;
        }
        let value = cell::number(text.as_bytes(), decimal_comma)?;
        Some(match value.is_nan() {
            true => Cell::Empty,
            false => Cell::Number(value),
        })
    };
    let numbers: Option<Vec<Cell>> = cells.iter().map(number).collect();
    // A column of words for "missing" alone keeps its words.
    match numbers {
        Some(numbers) if numbers.iter().any(|cell| *cell != Cell::Empty) => numbers,
        _ => cells,
    }
}

/// Columns under their headers; longitude and latitude become points.
///
/// # Errors
/// When positions are no degrees.
pub(super) fn table(
    file: &str,
    headers: &[String],
    rows: Vec<u32>,
    columns: Vec<Vec<Cell>>,
    problems: ProblemList,
) -> Result<FeatureTable, Problem> {
    let positions = header::positions(headers);
    let mut read = FeatureTable::default();
    read.table.problems = problems;
    let mut shapes = vec![Shape::Nothing; rows.len()];
    if let Some([(lon, to_lon), (lat, to_lat)]) = positions {
        let value = |cell: &Cell| match cell {
            Cell::Number(value) => Some(*value),
            Cell::Whole(value) => Some(*value as f64),
            _ => None,
        };
        for ((shape, x), y) in shapes.iter_mut().zip(&columns[lon]).zip(&columns[lat]) {
            let (Some(x), Some(y)) = (value(x), value(y)) else {
                continue;
            };
            let point = [x * to_lon, y * to_lat];
            if point[0].abs() > 180.0 || point[1].abs() > 90.0 {
                return Err(Problem::new(
                    file,
                    format!("expected degrees, found lon {x}, lat {y}"),
                )
                .hint(
                    "longitude and latitude may be swapped, or be metres of a map projection: \
                     mend the headers, or export the log in WGS 84 longitude and latitude",
                ));
            }
            *shape = Shape::Point(point);
        }
    }
    let is_position = |at: usize| positions.is_some_and(|both| both.iter().any(|p| p.0 == at));
    let table = &mut read.table;
    for (at, (header, cells)) in headers.iter().zip(columns).enumerate() {
        if is_position(at) {
            continue;
        }
        let is_empty = header.trim().is_empty();
        if is_empty && cells.iter().all(|cell| *cell == Cell::Empty) {
            continue;
        }
        let mut name = match is_empty {
            true => format!("column_{}", at + 1),
            false => header.clone(),
        };
        while table.headers.contains(&name) {
            name.push_str("_2");
        }
        table.headers.push(name);
        let filled = cells.into_iter().enumerate();
        table
            .columns
            .push(filled.filter(|(_, cell)| *cell != Cell::Empty).collect());
    }
    for (row, shape) in rows.into_iter().zip(shapes) {
        read.push(row, shape);
    }
    Ok(read)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(texts: &[&str]) -> Vec<Cell> {
        settle(texts.iter().map(|text| Cell::text(text)).collect(), false)
    }

    #[test]
    fn a_column_is_of_numbers_only_when_all_of_it_is() {
        assert_eq!(
            settled(&["1", "", "NA", "-3"]),
            [Cell::Whole(1), Cell::Empty, Cell::Empty, Cell::Whole(-3)]
        );
        assert_eq!(settled(&["1.50", "2"]), [Cell::Number(1.5), Cell::Whole(2)]);
        for texts in [
            ["007", "1"],
            ["1.50", "P2"],
            ["NA", ""],
            ["+1", "2"],
            ["99999999999999999999", "1"],
        ] {
            let kept: Vec<Cell> = texts.iter().map(|text| Cell::text(text)).collect();
            assert_eq!(settled(&texts), kept, "{texts:?}");
        }
    }
}
