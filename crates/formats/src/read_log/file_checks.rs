//! What is looked for in the records of a file, one part of it after another: positions that cannot be, and
//! values that cannot be in the unit that was assumed.

use checkstrip_model::{Column, Problem};

use crate::column_builder::Values;
use crate::log_part::LogPart;
use crate::problem_list::ProblemList;

/// What was seen in the parts of a file so far.
#[derive(Debug, Default)]
pub(super) struct FileChecks {
    records: usize,
    /// Records with a position.
    positions: usize,
    /// Of these, how many are no degrees, and how many would be with longitude and latitude swapped.
    outside: usize,
    swapped: usize,
    /// The first that is no degrees.
    shown: Option<[f64; 2]>,
    has_positions: bool,
    /// Whether records may name their strip instead of a position.
    is_named: bool,
    of_records: ProblemList,
    /// The highest value of each column whose unit was assumed.
    highest: Vec<(Column, f64)>,
}

impl FileChecks {
    /// Looks at the next part; impossible positions become `NaN`.
    pub(super) fn look(&mut self, part: &mut LogPart) {
        self.look_at_positions(part);
        for (column, values) in &part.columns {
            let is_assumed = part
                .sources
                .iter()
                .any(|(of, _, unit)| of == column && unit.ends_with("(assumed)"));
            let (true, Values::Numbers(numbers)) = (is_assumed, values) else {
                continue;
            };
            let highest = numbers.iter().copied().fold(f64::NAN, f64::max);
            match self.highest.iter_mut().find(|(of, _)| of == column) {
                Some((_, so_far)) => *so_far = so_far.max(highest),
                None => self.highest.push((*column, highest)),
            }
        }
    }

    fn look_at_positions(&mut self, part: &mut LogPart) {
        let is_named = part.columns.iter().any(|(of, _)| *of == Column::StripId);
        self.is_named |= is_named;
        let mut lon = None;
        let mut lat = None;
        for (column, values) in &mut part.columns {
            match (column, values) {
                (Column::Lon, Values::Numbers(numbers)) => lon = Some(numbers),
                (Column::Lat, Values::Numbers(numbers)) => lat = Some(numbers),
                _ => {}
            }
        }
        let (Some(lon), Some(lat)) = (lon, lat) else {
            return;
        };
        self.has_positions = true;
        self.records += lon.len();
        for (record, (lon, lat)) in lon.iter_mut().zip(lat.iter_mut()).enumerate() {
            let is_known = lon.is_finite() && lat.is_finite();
            self.positions += usize::from(is_known);
            let is_place = is_known && lon.abs() <= 180.0 && lat.abs() <= 90.0;
            if is_place || is_named && !is_known {
                continue;
            }
            self.of_records.push(|| {
                let message = if is_known {
                    format!("expected degrees, found lon {lon}, lat {lat}")
                } else {
                    "the record has no position".to_owned()
                };
                Problem::new(part.source.path.as_str(), message)
                    .at_row(part.rows[record])
                    .hint("the record is kept in the log but will not count")
            });
            if is_known {
                self.outside += 1;
                self.swapped += usize::from(lon.abs() <= 90.0 && lat.abs() <= 180.0);
                self.shown.get_or_insert([*lon, *lat]);
                (*lon, *lat) = (f64::NAN, f64::NAN);
            }
        }
    }

    /// Says in `part`, the file without or with its records, what was found.
    ///
    /// # Errors
    /// When no record has a position, or the coordinates are no longitude and latitude at all.
    pub(super) fn finish(self, part: &mut LogPart) -> Result<(), Problem> {
        if self.has_positions {
            self.refuse(part)?;
            let path = part.source.path.as_str();
            part.problems.extend(self.of_records.finish(path));
        }
        for (column, header, unit) in &part.sources {
            let highest = self.highest.iter().find(|(of, _)| of == column);
            let (true, Some(&(_, highest))) = (unit.ends_with("(assumed)"), highest) else {
                continue;
            };
            let likely = match column {
                // Grain is never so dry.
                Column::Moisture if highest > 0.0 && highest <= 1.0 => "fraction",
                // In seconds this would be past the year 5000.
                Column::Timestamp if highest > 1e11 => "ms",
                _ => continue,
            };
            let message = format!("taken as {unit}, but the highest value is {highest}");
            part.problems.push(
                Problem::new(part.source.path.as_str(), message)
                    .in_column(header.as_str())
                    .hint(format!(
                        "if it is so, write under [harvest.columns]\n  {} = {{ column = {header:?}, \
                         unit = \"{likely}\" }}",
                        column.key()
                    )),
            );
        }
        Ok(())
    }

    fn refuse(&self, part: &LogPart) -> Result<(), Problem> {
        let file = part.source.path.as_str();
        if self.positions == 0 && !self.is_named {
            return Err(Problem::new(
                file,
                format!("none of the {} records has a position", self.records),
            )
            .hint("check that lon and lat hold decimal degrees, such as -93.12 and 43.21"));
        }
        if self.outside * 2 <= self.positions {
            return Ok(());
        }
        let shown = self.shown.map(|[lon, lat]| format!("lon {lon}, lat {lat}"));
        let message = format!(
            "expected degrees, found {} ({} such records)",
            shown.unwrap_or_default(),
            self.outside
        );
        let header = |column: Column| {
            let source = part.sources.iter().find(|source| source.0 == column);
            source.map(|source| source.1.clone()).unwrap_or_default()
        };
        let hint = if self.swapped * 2 > self.positions {
            format!(
                "longitude and latitude are probably swapped: write under [harvest.columns]\n  \
                 lon = {{ column = {:?} }}\n  lat = {{ column = {:?} }}",
                header(Column::Lat),
                header(Column::Lon)
            )
        } else {
            "they look like metres of a map projection: export the log in WGS 84 longitude and \
             latitude, or as a Shapefile with its .prj"
                .to_owned()
        };
        Err(Problem::new(file, message).hint(hint))
    }
}
