//! Delimited text in batches, nothing asked of it but what stands in it. A first reading finds the encoding,
//! a second which columns are of numbers, further ones hand over the records: no more than a block of text
//! is in memory.

use std::collections::HashSet;
use std::path::Path;

use checkstrip_model::Problem;

use super::blocks::TextBlocks;
use super::{Joined, no_record};
use crate::FormatError;
use crate::cell::Cell;
use crate::column_builder::{ColumnBuilder, Kinds, Values};
use crate::feature_stream::{FeatureStream, Wish};
use crate::feature_table::{FeatureTable, Shape};
use crate::header;

/// A text file that is read in batches.
pub(crate) struct DelimitedStream<'a> {
    text: TextBlocks,
    kinds: Vec<Kinds>,
    /// Longitude and latitude: places among the headers, and what turns them into degrees.
    positions: Option<[(usize, f64); 2]>,
    /// For each header its name as an attribute, where it is one.
    names: Vec<Option<String>>,
    wish: &'a Wish,
}

impl<'a> DelimitedStream<'a> {
    /// The file at `path`, called `file` in messages.
    ///
    /// # Errors
    /// When it cannot be read, is no text, or has no header line or no record behind it.
    pub(crate) fn open(
        file: &str,
        path: &Path,
        gzip: bool,
        wish: &'a Wish,
    ) -> Result<DelimitedStream<'a>, FormatError> {
        let text = TextBlocks::open(file, path, gzip)?;
        let mut stream = DelimitedStream {
            kinds: vec![Kinds::default(); text.layout.headers.len()],
            positions: header::positions(&text.layout.headers),
            names: Vec::new(),
            text,
            wish,
        };
        stream.kinds = stream.learn_kinds()?;
        stream.name_columns();
        Ok(stream)
    }

    /// Whether numbers have a decimal comma.
    pub(crate) fn decimal_comma(&self) -> bool {
        self.text.layout.dialect.decimal_comma
    }

    /// What kind of cells each column has.
    fn learn_kinds(&self) -> Result<Vec<Kinds>, FormatError> {
        let decimal_comma = self.text.layout.dialect.decimal_comma;
        let headers = self.text.layout.headers.iter().enumerate();
        let columns: Vec<(usize, ColumnBuilder<'_>)> = headers
            .map(|(at, header)| {
                (
                    at,
                    ColumnBuilder::kinds(&self.text.file, header, decimal_comma),
                )
            })
            .collect();
        let mut all: Vec<Values> = vec![Values::Kinds(Kinds::default()); columns.len()];
        let mut records = 0;
        self.text.each_block(&columns, &mut |joined| {
            records += joined.rows.len();
            all.iter_mut()
                .zip(joined.columns)
                .for_each(|(all, kinds)| all.append(kinds));
            Ok(())
        })?;
        if records == 0 {
            return Err(no_record(&self.text.file).into());
        }
        let kinds = all.into_iter().map(|kinds| match kinds {
            Values::Kinds(kinds) => kinds,
            _ => Kinds::default(),
        });
        Ok(kinds.collect())
    }

    /// Names the columns: a header that is there already, or is none, gets one.
    fn name_columns(&mut self) {
        let mut taken = HashSet::new();
        let mut names = Vec::with_capacity(self.text.layout.headers.len());
        for (at, header) in self.text.layout.headers.iter().enumerate() {
            let is_position = self
                .positions
                .is_some_and(|both| both.iter().any(|(position, _)| *position == at));
            let is_empty = header.trim().is_empty();
            if is_position || (is_empty && self.kinds[at].is_empty()) {
                names.push(None);
                continue;
            }
            let mut name = match is_empty {
                true => format!("column_{}", at + 1),
                false => header.clone(),
            };
            while !taken.insert(name.clone()) {
                name.push_str("_2");
            }
            names.push(Some(name));
        }
        self.names = names;
    }

    /// The records of a block as features.
    ///
    /// # Errors
    /// When positions are no degrees.
    fn table(&self, asked: &[usize], joined: Joined) -> Result<FeatureTable, Problem> {
        let mut columns: Vec<Option<Vec<Cell>>> = vec![None; self.names.len()];
        for (&at, values) in asked.iter().zip(joined.columns) {
            if let Values::Cells(cells) = values {
                columns[at] = Some(cells);
            }
        }
        let mut read = FeatureTable::default();
        read.table.problems = joined.problems;
        let mut shapes = vec![Shape::Nothing; joined.rows.len()];
        if let Some([(lon, to_lon), (lat, to_lat)]) = self.positions
            && let [Some(lon), Some(lat)] = [lon, lat].map(|at| columns[at].take())
        {
            let value = |cell: &Cell| match cell {
                Cell::Number(value) => Some(*value),
                Cell::Whole(value) => Some(*value as f64),
                _ => None,
            };
            for ((shape, x), y) in shapes.iter_mut().zip(&lon).zip(&lat) {
                let (Some(x), Some(y)) = (value(x), value(y)) else {
                    continue;
                };
                let point = [x * to_lon, y * to_lat];
                if point[0].abs() > 180.0 || point[1].abs() > 90.0 {
                    return Err(Problem::new(
                        self.text.file.as_str(),
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
        for (name, cells) in self.names.iter().zip(columns) {
            let Some(name) = name else { continue };
            let cells = cells.into_iter().flatten().enumerate();
            read.table.headers.push(name.clone());
            read.table
                .columns
                .push(cells.filter(|(_, cell)| *cell != Cell::Empty).collect());
        }
        for (row, shape) in joined.rows.into_iter().zip(shapes) {
            read.push(row, shape);
        }
        Ok(read)
    }
}

impl FeatureStream for DelimitedStream<'_> {
    fn read(
        &self,
        push: &mut dyn FnMut(&FeatureTable) -> Result<(), FormatError>,
    ) -> Result<(), FormatError> {
        let decimal_comma = self.text.layout.dialect.decimal_comma;
        let is_needed = |at: &usize| {
            let name = self.names[*at].as_ref();
            name.is_none_or(|name| self.wish.needs(name))
        };
        let asked: Vec<usize> = (0..self.names.len()).filter(is_needed).collect();
        let columns: Vec<(usize, ColumnBuilder<'_>)> = asked
            .iter()
            .map(|&at| {
                let (header, is_number) =
                    (&self.text.layout.headers[at], self.kinds[at].is_number());
                let builder =
                    ColumnBuilder::as_it_stands(&self.text.file, header, is_number, decimal_comma);
                (at, builder)
            })
            .collect();
        self.text
            .each_block(&columns, &mut |joined| push(&self.table(&asked, joined)?))
    }
}
