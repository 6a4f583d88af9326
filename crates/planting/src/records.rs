//! The records of one planter, put aside as they are read: a row's readings in single precision, what all rows
//! share once a moment, all of it in order of time. Whoever reads a log hands over piece after piece, so that
//! neither the file nor its records stand in memory; the passes are read back one at a time.

use std::borrow::Cow;

use rayon::prelude::*;

use crate::PlantingError;
use crate::planting_log::{MOST_ROWS, PlantingLog};
use crate::reading::{READINGS, Reading};
use crate::scratch::Scratch;
use crate::stored_columns::{Number, Packed, Place};

/// Records of a piece as it is put aside: some seconds of a large planter.
const PIECE: usize = 1 << 17;

/// How many records stand for all where a usual value is asked for.
const SAMPLE: usize = 10_000;

/// A column that is put aside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kept {
    Row,
    Time,
    Speed,
    Step,
    East,
    North,
    Heading,
    Working,
    Pass,
    Width,
    Reading(Reading),
}

/// Columns before the readings.
const BEFORE: [Kept; 10] = [
    Kept::Row,
    Kept::Time,
    Kept::Speed,
    Kept::Step,
    Kept::East,
    Kept::North,
    Kept::Heading,
    Kept::Working,
    Kept::Pass,
    Kept::Width,
];

const KEPT: usize = BEFORE.len() + READINGS;

impl Kept {
    fn all() -> impl Iterator<Item = Kept> {
        let readings = Reading::ALL.iter().copied().map(Kept::Reading);
        BEFORE.into_iter().chain(readings)
    }

    fn place(self) -> usize {
        match self {
            Kept::Reading(reading) => BEFORE.len() + reading as usize,
            before => BEFORE.iter().position(|&kept| kept == before).unwrap_or(0),
        }
    }

    /// Whether it is put aside in single precision: readings that are only judged, as what is believed of
    /// them. Rates and spacings are also what seeds are counted by.
    pub(crate) fn is_single(self) -> bool {
        match self {
            Kept::Row | Kept::Working => true,
            Kept::Reading(reading) => !matches!(
                reading,
                Reading::SeedRate | Reading::TargetSeedRate | Reading::SeedSpacing
            ),
            _ => false,
        }
    }
}

/// A piece that was put aside.
#[derive(Debug)]
struct Piece {
    /// Its first record.
    first: usize,
    records: usize,
    /// Behind the last record of each run of one time; empty where most runs are of one record.
    ends: Vec<u32>,
    columns: [Place; KEPT],
}

/// Records being put aside.
#[derive(Debug)]
pub struct RecordsBeingRead {
    records: PlantingRecords,
    wrong_row: Option<PlantingError>,
    last_s: f64,
    in_order: bool,
}

/// The records of one planter in order of time, put aside.
#[derive(Debug)]
pub struct PlantingRecords {
    scratch: Scratch,
    pieces: Vec<Piece>,
    records: usize,
    has: [bool; KEPT],
    rows: usize,
}

impl RecordsBeingRead {
    /// No record yet; they will be put aside in `scratch`.
    pub fn new(scratch: &Scratch) -> RecordsBeingRead {
        RecordsBeingRead {
            records: PlantingRecords {
                scratch: scratch.clone(),
                pieces: Vec::new(),
                records: 0,
                has: [false; KEPT],
                rows: 0,
            },
            wrong_row: None,
            last_s: f64::NEG_INFINITY,
            in_order: true,
        }
    }

    /// Puts the next records aside, before which the log has `before` others (of all planters).
    ///
    /// # Errors
    /// When columns differ in length, or the disk is full.
    pub fn push(&mut self, log: &PlantingLog, before: usize) -> Result<(), PlantingError> {
        log.check_lengths()?;
        for kept in Kept::all() {
            self.records.has[kept.place()] |= column(log, kept).is_some();
        }
        self.look_at_rows(log, before);
        for from in (0..log.len()).step_by(PIECE) {
            self.push_piece(log, [from, (from + PIECE).min(log.len())])?;
        }
        Ok(())
    }

    /// The highest row number so far, and the first that is none.
    fn look_at_rows(&mut self, log: &PlantingLog, before: usize) {
        for at in 0..log.len() {
            let record = log.record(at);
            let row = log.row.get(record).copied().unwrap_or(f64::NAN);
            // A record without a row is no row's reading and is passed over.
            if row.is_nan() {
                continue;
            }
            if row < 1.0 || row > MOST_ROWS as f64 || row.fract() != 0.0 {
                self.wrong_row.get_or_insert(PlantingError::Row {
                    record: before + record + 1,
                    row,
                    most: MOST_ROWS,
                });
                return;
            }
            self.records.rows = self.records.rows.max(row as usize);
        }
    }

    fn push_piece(&mut self, log: &PlantingLog, range: [usize; 2]) -> Result<(), PlantingError> {
        let [from, to] = range;
        let times = column(log, Kept::Time).map(|times| doubles(log, times, range));
        match &times {
            Some(times) => {
                for &time_s in times.iter() {
                    self.in_order &= self.last_s <= time_s;
                    self.last_s = time_s;
                }
            }
            None => self.in_order = false,
        }
        let ends = times.map_or(Vec::new(), |times| run_ends(&times));
        let packed: Vec<Option<Packed>> = Kept::all()
            .collect::<Vec<Kept>>()
            .into_par_iter()
            .map(|kept| {
                let values = column(log, kept)?;
                Some(match kept.is_single() {
                    true => Packed::of(&singles(log, kept, values, range), &ends),
                    false => Packed::of(&doubles(log, values, range), &ends),
                })
            })
            .collect();
        let mut columns = [Place::Nowhere; KEPT];
        for (place, packed) in columns.iter_mut().zip(packed) {
            if let Some(packed) = packed {
                *place = packed.put(&self.records.scratch)?;
            }
        }
        self.records.pieces.push(Piece {
            first: self.records.records,
            records: to - from,
            ends,
            columns,
        });
        self.records.records += to - from;
        Ok(())
    }

    /// The records, which are put in order of time where they do not stand so. That takes some 20 bytes of
    /// memory a record for a while.
    ///
    /// # Errors
    /// When a needed column is in no piece, a row number is none, or the disk is full.
    pub fn finish(self) -> Result<PlantingRecords, PlantingError> {
        let records = self.records;
        if !records.has(Kept::Row) {
            return Err(PlantingError::NoRows);
        }
        if !records.has(Kept::Time) {
            return Err(PlantingError::NoTimes);
        }
        if ![Kept::Step, Kept::Speed, Kept::East]
            .into_iter()
            .any(|kept| records.has(kept))
        {
            return Err(PlantingError::NoWay);
        }
        if let Some(wrong) = self.wrong_row {
            return Err(wrong);
        }
        if records.rows == 0 {
            return Err(PlantingError::NoRows);
        }
        match self.in_order {
            true => Ok(records),
            false => records.in_order(),
        }
    }
}

impl PlantingRecords {
    /// The records of a log that is in memory.
    ///
    /// # Errors
    /// As [`RecordsBeingRead`].
    pub fn of(log: &PlantingLog) -> Result<PlantingRecords, PlantingError> {
        let mut records = RecordsBeingRead::new(&Scratch::default());
        records.push(log, 0)?;
        records.finish()
    }

    /// Number of records.
    pub fn len(&self) -> usize {
        self.records
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.records == 0
    }

    /// The number of rows, which is the highest row number.
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// Where more than this is put aside.
    pub(crate) fn scratch(&self) -> &Scratch {
        &self.scratch
    }

    /// Whether a piece of the log had the column.
    pub(crate) fn has(&self, kept: Kept) -> bool {
        self.has[kept.place()]
    }

    /// The records `from..to` in parts, in order.
    pub(crate) fn parts(&self, from: usize, to: usize) -> impl Iterator<Item = Part<'_>> {
        let first = self
            .pieces
            .partition_point(|piece| piece.first + piece.records <= from);
        self.pieces[first..]
            .iter()
            .take_while(move |piece| piece.first < to)
            .map(move |piece| Part {
                records: self,
                piece,
                range: [
                    from.max(piece.first) - piece.first,
                    to.min(piece.first + piece.records) - piece.first,
                ],
            })
    }

    /// The numbers of a column of ten thousand records spread over the log, `NaN` where there is none; `None`
    /// where the log does not have the column.
    pub(crate) fn sample(&self, kept: Kept) -> Result<Option<Vec<f64>>, PlantingError> {
        if !self.has(kept) {
            return Ok(None);
        }
        let step = self.records.div_ceil(SAMPLE).max(1);
        let mut found = Vec::new();
        for part in self.parts(0, self.records) {
            let skipped = part.first().next_multiple_of(step) - part.first();
            match part.doubles(kept)? {
                Some(values) => found.extend(values.iter().skip(skipped).step_by(step)),
                None => found.extend((skipped..part.len()).step_by(step).map(|_| f64::NAN)),
            }
        }
        Ok(Some(found))
    }

    /// The records in order of time: column after column is read, ordered and put aside again.
    fn in_order(self) -> Result<PlantingRecords, PlantingError> {
        let times: Vec<f64> = self.whole(Kept::Time, f64::NAN)?;
        let mut order: Vec<u32> = (0..self.records as u32).collect();
        // A record without a time belongs to no moment: it sorts to the end and is passed over there.
        order.sort_by(|&a, &b| times[a as usize].total_cmp(&times[b as usize]));
        let mut pieces: Vec<Piece> = order
            .chunks(PIECE)
            .enumerate()
            .map(|(at, of_piece)| {
                let times: Vec<f64> = of_piece.iter().map(|&at| times[at as usize]).collect();
                Piece {
                    first: at * PIECE,
                    records: of_piece.len(),
                    ends: run_ends(&times),
                    columns: [Place::Nowhere; KEPT],
                }
            })
            .collect();
        drop(times);
        for kept in Kept::all().filter(|&kept| self.has(kept)) {
            let packed: Vec<Packed> = match kept.is_single() {
                true => packed(&self.whole(kept, f32::NAN)?, &order, &pieces),
                false => packed(&self.whole(kept, f64::NAN)?, &order, &pieces),
            };
            for (piece, packed) in pieces.iter_mut().zip(packed) {
                piece.columns[kept.place()] = packed.put(&self.scratch)?;
            }
        }
        Ok(PlantingRecords { pieces, ..self })
    }

    /// A column of all records, `missing` where a piece does not have it.
    fn whole<N: Number>(&self, kept: Kept, missing: N) -> Result<Vec<N>, PlantingError> {
        let mut values = Vec::with_capacity(self.records);
        for part in self.parts(0, self.records) {
            match part.get::<N>(kept)? {
                Some(more) => values.extend(more),
                None => values.resize(values.len() + part.len(), missing),
            }
        }
        Ok(values)
    }
}

/// A column in the order `order`, packed piece by piece.
fn packed<N: Number>(values: &[N], order: &[u32], pieces: &[Piece]) -> Vec<Packed> {
    order
        .par_chunks(PIECE)
        .zip(pieces)
        .map(|(of_piece, piece)| {
            let ordered: Vec<N> = of_piece.iter().map(|&at| values[at as usize]).collect();
            Packed::of(&ordered, &piece.ends)
        })
        .collect()
}

/// Records next to each other, all of one piece.
pub(crate) struct Part<'r> {
    records: &'r PlantingRecords,
    piece: &'r Piece,
    range: [usize; 2],
}

impl Part<'_> {
    /// Its first record.
    pub(crate) fn first(&self) -> usize {
        self.piece.first + self.range[0]
    }

    pub(crate) fn len(&self) -> usize {
        self.range[1] - self.range[0]
    }

    /// A column in double precision; `None` where the piece does not have it.
    pub(crate) fn doubles(&self, kept: Kept) -> Result<Option<Vec<f64>>, PlantingError> {
        self.get(kept)
    }

    /// A column in single precision; `None` where the piece does not have it.
    pub(crate) fn singles(&self, kept: Kept) -> Result<Option<Vec<f32>>, PlantingError> {
        self.get(kept)
    }

    fn get<N: Number>(&self, kept: Kept) -> Result<Option<Vec<N>>, PlantingError> {
        debug_assert_eq!(kept.is_single(), N::WIDTH == size_of::<f32>());
        let place = self.piece.columns[kept.place()];
        place.get(&self.records.scratch, self.range, &self.piece.ends)
    }
}

/// A column of a log that is in memory.
enum Column<'a> {
    Numbers(&'a [f64]),
    Places(&'a [u32]),
}

fn column<'a>(log: &PlantingLog<'a>, kept: Kept) -> Option<Column<'a>> {
    let there = |values: &'a [f64]| (!values.is_empty()).then_some(values);
    let numbers = match kept {
        Kept::Row => there(log.row),
        Kept::Time => there(log.time_s),
        Kept::Speed => log.speed_m_s,
        Kept::Step => log.step_m,
        Kept::East => log.east_north_m.map(|[east, _]| east),
        Kept::North => log.east_north_m.map(|[_, north]| north),
        Kept::Heading => log.heading_deg,
        Kept::Working => log.working,
        Kept::Width => log.width_m,
        Kept::Reading(reading) => log.reading(reading),
        Kept::Pass => return log.pass.map(Column::Places),
    };
    numbers.map(Column::Numbers)
}

/// The records at the places `from..to` of those that count.
fn doubles<'a>(
    log: &PlantingLog<'a>,
    column: Column<'a>,
    [from, to]: [usize; 2],
) -> Cow<'a, [f64]> {
    match (column, log.records) {
        (Column::Numbers(values), None) => Cow::Borrowed(&values[from..to]),
        (Column::Numbers(values), Some(_)) => (from..to).map(|at| values[log.record(at)]).collect(),
        (Column::Places(values), _) => (from..to)
            .map(|at| f64::from(values[log.record(at)]))
            .collect(),
    }
}

/// The same in single precision, readings as what is believed of them.
fn singles(log: &PlantingLog, kept: Kept, values: Column, range: [usize; 2]) -> Vec<f32> {
    let values = doubles(log, values, range);
    match kept {
        Kept::Reading(reading) => values.iter().map(|&v| reading.believe(v)).collect(),
        _ => values.iter().map(|&value| value as f32).collect(),
    }
}

/// Where the runs of one time end, unless most of them are of one record.
fn run_ends(times: &[f64]) -> Vec<u32> {
    let mut ends = Vec::new();
    for at in 1..times.len() {
        if times[at] != times[at - 1] {
            ends.push(at as u32);
        }
    }
    ends.push(times.len() as u32);
    if 2 * ends.len() > times.len() {
        ends.clear();
    }
    ends
}
