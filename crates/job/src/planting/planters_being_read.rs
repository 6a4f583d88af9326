//! The pieces of a planting log, as the reader hands them over, sorted by planter: positions put into the plane,
//! the machine's passes numbered alike in all files.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use checkstrip_cleaning::{CleaningError, plane_of};
use checkstrip_model::{Column, FieldLog, Labels};
use checkstrip_planting::{PlantingLog, RecordsBeingRead, Scratch};
use checkstrip_spatial::local_plane::LocalPlane;

use crate::error::JobError;

/// The planters of a log so far.
pub(super) struct PlantersBeingRead<'a> {
    /// The first file, for messages.
    file: &'a str,
    scratch: Scratch,
    /// Around the middle of the first piece with positions. A plane's lengths are right to a part in a million
    /// over 10 km, so that it need not be the middle of the field.
    plane: Option<LocalPlane>,
    passes: HashMap<String, u32>,
    /// Each planter's name, empty where the log has none.
    planters: Vec<(String, RecordsBeingRead)>,
    places: HashMap<String, usize>,
    /// Records so far.
    records: usize,
}

impl<'a> PlantersBeingRead<'a> {
    /// None yet; what does not fit into memory will be put aside in `folder` or, while that is not there, in the
    /// one that it will be in.
    pub(super) fn new(file: &'a str, folder: &Path) -> PlantersBeingRead<'a> {
        let there = folder.ancestors().find(|folder| folder.is_dir());
        // A relative path begins in the folder that is worked in.
        let there = there.map_or_else(|| PathBuf::from("."), Path::to_owned);
        PlantersBeingRead {
            file,
            scratch: Scratch::in_folder(&there),
            plane: None,
            passes: HashMap::new(),
            planters: Vec::new(),
            places: HashMap::new(),
            records: 0,
        }
    }

    /// Takes the next records of the log.
    pub(super) fn push(&mut self, piece: &FieldLog) -> Result<(), JobError> {
        let east_north_m = self.east_north_m(piece)?;
        let passes = piece
            .labels(Column::PassId)
            .map(|labels| self.numbers(labels));
        let positions = east_north_m
            .as_ref()
            .map(|[east, north]| [&east[..], &north[..]]);
        let mut columns = PlantingLog::of(piece, positions);
        columns.pass = passes.as_deref();
        match piece.labels(Column::Machine) {
            None => self.push_records("", &columns)?,
            Some(machines) => {
                for (name, of_machine) in of_each(machines) {
                    let records = (of_machine.len() < piece.len()).then_some(&of_machine[..]);
                    let columns = PlantingLog {
                        records,
                        ..columns.clone()
                    };
                    self.push_records(name, &columns)?;
                }
            }
        }
        self.records += piece.len();
        Ok(())
    }

    fn push_records(&mut self, name: &str, columns: &PlantingLog) -> Result<(), JobError> {
        let place = match self.places.get(name) {
            Some(&place) => place,
            None => {
                let planter = RecordsBeingRead::new(&self.scratch);
                self.places.insert(name.to_owned(), self.planters.len());
                self.planters.push((name.to_owned(), planter));
                self.planters.len() - 1
            }
        };
        let pushed = self.planters[place].1.push(columns, self.records);
        pushed.map_err(|source| JobError::Planting {
            file: self.file.to_owned(),
            source,
        })
    }

    /// Positions in the plane; `None` where the piece has none.
    fn east_north_m(&mut self, piece: &FieldLog) -> Result<Option<[Vec<f64>; 2]>, JobError> {
        let (Some(lon), Some(lat)) = (piece.numbers(Column::Lon), piece.numbers(Column::Lat))
        else {
            return Ok(None);
        };
        let plane = match &self.plane {
            Some(plane) => plane,
            None => match plane_of(piece) {
                Ok(plane) => self.plane.insert(plane),
                Err(CleaningError::NoPosition { .. }) => {
                    return Ok(Some([vec![f64::NAN; lon.len()], vec![f64::NAN; lon.len()]]));
                }
                Err(source) => return Err(self.of_log(source)),
            },
        };
        // The rows of a moment share a position, mostly.
        let (mut lons, mut lats) = (Vec::new(), Vec::new());
        let mut places = Vec::with_capacity(lon.len());
        let mut last = None;
        for (&lon, &lat) in lon.iter().zip(lat) {
            let point = Some((lon.to_bits(), lat.to_bits()));
            if point != last {
                lons.push(lon);
                lats.push(lat);
                last = point;
            }
            places.push(lons.len() - 1);
        }
        let (east, north) = plane.to_plane(&lons, &lats)?;
        let spread = |values: Vec<f64>| places.iter().map(|&place| values[place]).collect();
        Ok(Some([spread(east), spread(north)]))
    }

    /// The same number for the same name in all pieces.
    fn numbers(&mut self, labels: &Labels) -> Vec<u32> {
        let of_names: Vec<u32> = labels
            .names
            .iter()
            .map(|name| {
                let next = self.passes.len() as u32;
                *self.passes.entry(name.clone()).or_insert(next)
            })
            .collect();
        let index = labels.index.iter();
        index.map(|&name| of_names[name as usize]).collect()
    }

    /// The planters in the order of the log, each with its name where the log has one.
    ///
    /// # Errors
    /// When no record has a position.
    pub(super) fn finish(self) -> Result<Vec<(Option<String>, RecordsBeingRead)>, JobError> {
        if self.plane.is_none() {
            let records = self.records;
            return Err(self.of_log(CleaningError::NoPosition { records }));
        }
        let name = |name: String| (!name.is_empty()).then_some(name);
        let planters = self.planters.into_iter();
        Ok(planters.map(|(of, records)| (name(of), records)).collect())
    }

    fn of_log(&self, source: CleaningError) -> JobError {
        JobError::Cleaning {
            file: self.file.to_owned(),
            source,
        }
    }
}

/// The machines of a piece, each with its records.
fn of_each(machines: &Labels) -> impl Iterator<Item = (&str, Vec<u32>)> {
    let mut of_each: Vec<Vec<u32>> = vec![Vec::new(); machines.names.len()];
    for (record, &machine) in machines.index.iter().enumerate() {
        of_each[machine as usize].push(record as u32);
    }
    let names = machines.names.iter().map(String::as_str);
    names
        .zip(of_each)
        .filter(|(_, records)| !records.is_empty())
}
