//! Which logged quantity of a time log is which column: by the data dictionary entry and by where its
//! device element stands in the machine.

use std::collections::HashMap;

use checkstrip_model::{Column, ColumnSource, Operation, Problem, Quantity, units};

use super::data_dictionary::{entry, name};
use super::device::{self, Device, DeviceElement, ElementKind};
use super::time_log::{Header, LoggedValue, Values};
use crate::ReadOptions;

pub(crate) const ACTUAL_WORKING_WIDTH: u16 = 67;
const MAXIMUM_WORKING_WIDTH: u16 = 70;
pub(crate) const MASS_PER_AREA_YIELD: u16 = 84;
pub(crate) const MASS_PER_TIME_YIELD: u16 = 87;
const CROP_MOISTURE: u16 = 99;
pub(crate) const ACTUAL_WORK_STATE: u16 = 141;
/// The first of sixteen entries, each of which holds the states of sixteen sections.
const CONDENSED_WORK_STATE: u16 = 161;
const HEADER_HEIGHT_STATUS: u16 = 237;
const AVERAGE_CROP_MOISTURE: u16 = 262;
const ACTUAL_SPEED: u16 = 397;
const DRY_MASS_PER_AREA_YIELD: u16 = 181;
const DRY_MASS_PER_TIME_YIELD: u16 = 182;
const REFERENCE_MOISTURE: u16 = 184;

/// Columns that one entry of the dictionary holds: the column, the entry, how many steps of the logged whole number
/// make one in SI (divided by it a value is exact, as the step is no binary number), and whether the values of several
/// device elements add up. Read and written alike.
pub(crate) const SINGLE_ENTRIES: [(Column, u16, f64, bool); 4] = [
    (Column::MassFlow, MASS_PER_TIME_YIELD, 1e6, true),
    // 1 mg/m² is 0.01 kg/ha.
    (Column::Yield, MASS_PER_AREA_YIELD, 100.0, false),
    (Column::Moisture, CROP_MOISTURE, PPM_IN_PERCENT, false),
    (Column::Speed, ACTUAL_SPEED, 1e3, false),
];
/// The same of planting logs; none of them adds up over device elements.
const PLANTING_ENTRIES: [(Column, u16, f64); 8] = [
    // 0.001 seeds a square metre are 10 a hectare.
    (Column::SeedRate, 12, 0.1),
    (Column::TargetSeedRate, 11, 0.1),
    (Column::Singulation, 415, PPM_IN_PERCENT),
    (Column::Skips, 417, PPM_IN_PERCENT),
    (Column::Multiples, 419, PPM_IN_PERCENT),
    (Column::SeedSpacing, 17, MM_IN_M),
    (Column::SpacingVariation, 423, PPM_IN_PERCENT),
    (Column::Downforce, 427, 1.0),
];
/// The same of what is applied, by planters too: where two entries hold a column the first that is logged is taken.
const APPLICATION_ENTRIES: [(Column, u16, f64); 6] = [
    (Column::AppliedMass, 7, 100.0),
    (Column::TargetMass, 6, 100.0),
    // 0.01 mm³/m² are 0.0001 l/ha, 0.1 ml/m² are 1 l/ha.
    (Column::AppliedVolume, 2, 1e4),
    (Column::AppliedVolume, 589, 1.0),
    (Column::TargetVolume, 1, 1e4),
    (Column::TargetVolume, 588, 1.0),
];

/// What a log that holds `header` is of; `None` where no entry tells.
pub(crate) fn operation_of(header: &Header) -> Option<Operation> {
    let tells = |operation: &&Operation| {
        let telling = operation.telling_columns();
        entries(**operation).any(|(column, entry, _)| {
            telling.contains(&column) && header.values.iter().any(|value| value.entry == entry)
        })
    };
    Operation::ALL.iter().find(tells).copied()
}

/// Columns of logs of `operation` that one entry holds, with the entry and its steps.
pub(crate) fn entries(operation: Operation) -> impl Iterator<Item = (Column, u16, f64)> {
    let harvest = SINGLE_ENTRIES.map(|(column, entry, steps, _)| (column, entry, steps));
    let of = move |column: Column| column.operations().contains(&operation);
    harvest
        .into_iter()
        .chain(PLANTING_ENTRIES)
        .chain(APPLICATION_ENTRIES)
        .filter(move |(column, ..)| of(*column))
}

const PPM_IN_PERCENT: f64 = 1e4;
/// Steps of a length in a metre.
pub(crate) const MM_IN_M: f64 = 1e3;

/// Logged values of one entry that make a number column.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Reading {
    at: Vec<u8>,
    /// Of several elements: their sum, else their mean.
    is_sum: bool,
    /// (value + offset) / steps is SI.
    offset: f64,
    steps: f64,
    /// Where the values are of dry mass: what makes it wet.
    dry: Option<Dry>,
}

/// Mass at a reference moisture that becomes the mass that was cut.
#[derive(Debug, Clone, PartialEq)]
struct Dry {
    /// Both in percent.
    reference: Reference,
    moisture: Box<Reading>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Reference {
    Fixed(f64),
    Logged(u8),
}

impl Dry {
    /// Wet mass by mass at the reference moisture; `NaN` where a moisture is not known.
    fn wetness(&self, values: &Values) -> f64 {
        let reference = match self.reference {
            Reference::Fixed(percent) => percent,
            Reference::Logged(at) => values
                .get(at)
                .map_or(f64::NAN, |ppm| f64::from(ppm) / PPM_IN_PERCENT),
        };
        let moisture = self.moisture.value(values);
        match (0.0..100.0).contains(&moisture) {
            true => (100.0 - reference) / (100.0 - moisture),
            false => f64::NAN,
        }
    }
}

impl Reading {
    /// The value in SI; `NaN` before anything was logged.
    pub(crate) fn value(&self, values: &Values) -> f64 {
        match &self.dry {
            None => self.as_logged(values),
            Some(dry) => self.as_logged(values) * dry.wetness(values),
        }
    }

    fn as_logged(&self, values: &Values) -> f64 {
        if let [at] = self.at[..] {
            return match values.get(at) {
                Some(value) => (f64::from(value) + self.offset) / self.steps,
                None => f64::NAN,
            };
        }
        let (mut sum, mut count) = (0.0, 0);
        for value in self.at.iter().filter_map(|&at| values.get(at)) {
            sum += (f64::from(value) + self.offset) / self.steps;
            count += 1;
        }
        match (count, self.is_sum) {
            (0, _) => f64::NAN,
            (_, true) => sum,
            (count, false) => sum / f64::from(count),
        }
    }
}

/// Where the state of a section or function stands: two bits, 01 at work, 00 not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct State {
    at: u8,
    shift: u8,
}

impl State {
    fn get(self, values: &Values) -> Option<bool> {
        match (values.get(self.at)? as u32 >> self.shift) & 3 {
            0 => Some(false),
            1 => Some(true),
            // An error, or not installed.
            _ => None,
        }
    }
}

/// How wide a part is, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
enum WidthOf {
    Fixed(i32),
    Logged(u8),
}

/// A section: its width and whether it works.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Section {
    width: Option<WidthOf>,
    state: Option<State>,
}

/// Where the working width comes from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Width {
    Absent,
    Whole(Reading),
    Fixed(f64),
    Sections(Vec<Section>),
}

impl Width {
    /// The width, m; of sections those at work, one whose state is not known counting as at work.
    pub(crate) fn value(&self, values: &Values) -> f64 {
        match self {
            Width::Absent => f64::NAN,
            Width::Whole(reading) => reading.value(values),
            Width::Fixed(width) => *width,
            Width::Sections(sections) => {
                let works = |section: &&Section| {
                    section.state.and_then(|state| state.get(values)) != Some(false)
                };
                let widths = sections
                    .iter()
                    .filter(works)
                    .map(|section| match section.width? {
                        WidthOf::Fixed(width) => Some(f64::from(width)),
                        WidthOf::Logged(at) => values.get(at).map(f64::from),
                    });
                widths
                    .sum::<Option<f64>>()
                    .map_or(f64::NAN, |mm| mm / MM_IN_M)
            }
        }
    }
}

/// Where it stands whether the header works.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Work {
    Absent,
    Own(State),
    /// At work while any of them is.
    Sections(Vec<State>),
}

impl Work {
    /// 1 at work, 0 not, `NaN` not known.
    pub(crate) fn value(&self, values: &Values) -> f64 {
        let state = match self {
            Work::Absent => None,
            Work::Own(state) => state.get(values),
            Work::Sections(states) => {
                let mut known = states
                    .iter()
                    .filter_map(|state| state.get(values))
                    .peekable();
                known.peek().is_some().then(|| known.any(|works| works))
            }
        };
        state.map_or(f64::NAN, f64::from)
    }
}

/// What the records of one time log say.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Quantities {
    /// What the log is of.
    pub(crate) operation: Operation,
    /// Number columns read from single values.
    pub(crate) readings: Vec<(Column, Reading)>,
    /// The rows of a planter that logs row by row, from left to right: the device elements. Empty for other logs.
    pub(crate) rows: Vec<String>,
    /// Number columns of single rows: the column, the row from 0, and its reading.
    pub(crate) row_readings: Vec<(Column, usize, Reading)>,
    pub(crate) width: Width,
    pub(crate) work: Work,
    /// For each column its source in words and its unit.
    pub(crate) sources: Vec<(Column, String, String)>,
    /// Quantities that no column takes.
    pub(crate) unrecognised: Vec<String>,
    /// The device elements at the edge where the machine works: those that the width comes from, or its rows.
    pub(crate) width_elements: Vec<String>,
    pub(crate) problems: Vec<Problem>,
}

/// A logged quantity as a table of all records shows it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shown {
    /// Its name, the device element where several log it, and its unit.
    pub(crate) name: String,
    at: u8,
    /// (value + offset) / steps is in its unit.
    offset: f64,
    steps: f64,
}

impl Shown {
    /// The value in its unit; `NaN` before anything was logged.
    pub(crate) fn value(&self, values: &Values) -> f64 {
        match values.get(self.at) {
            Some(value) => (f64::from(value) + self.offset) / self.steps,
            None => f64::NAN,
        }
    }
}

impl Quantities {
    /// Whether a column was found of which a log of its operation needs one.
    pub(crate) fn tells(&self) -> bool {
        let telling = self.operation.telling_columns();
        let columns = self.readings.iter().map(|(column, _)| column);
        let of_rows = self.row_readings.iter().map(|(column, ..)| column);
        columns
            .chain(of_rows)
            .any(|column| telling.contains(column))
    }

    /// The quantities of `header`, logged by `device`, that are not a column by themselves: those that no column takes,
    /// and those of which several make one.
    pub(crate) fn others(&self, header: &Header, device: Option<&Device>) -> Vec<Shown> {
        let is_column = |at: u8| {
            self.readings
                .iter()
                .any(|(_, reading)| reading.at == [at] && reading.dry.is_none())
                || matches!(&self.width, Width::Whole(reading) if reading.at == [at])
        };
        let names: Vec<String> = header
            .values
            .iter()
            .map(|value| header_name(value, device))
            .collect();
        let others = header
            .values
            .iter()
            .zip(0_u8..)
            .filter(|(_, at)| !is_column(*at));
        others
            .map(|(value, at)| {
                let own = device.and_then(|device| device.logged.get(&value.entry)?.1.as_ref());
                let (offset, step, unit) = match (entry(value.entry), own) {
                    (Some(entry), _) => (0.0, entry.resolution, entry.unit),
                    (None, Some(shown)) => (shown.offset, shown.scale, shown.unit.as_str()),
                    (None, None) => (0.0, 1.0, ""),
                };
                let own_name = &names[at as usize];
                let of = match names.iter().filter(|name| *name == own_name).count() {
                    1 => String::new(),
                    _ => format!(" of {}", value.element),
                };
                let unit = match unit {
                    "" => String::new(),
                    unit => format!(" [{unit}]"),
                };
                Shown {
                    name: format!("{own_name}{of}{unit}"),
                    at,
                    offset,
                    steps: 1.0 / step,
                }
            })
            .collect()
    }
}

/// How a quantity is called in messages and in the columns table.
pub(crate) fn header_name(value: &LoggedValue, device: Option<&Device>) -> String {
    let own = device.and_then(|device| device.logged.get(&value.entry));
    match own {
        Some((own, _)) if entry(value.entry).is_none() && !own.is_empty() => {
            format!("{own} ({})", name(value.entry))
        }
        _ => name(value.entry),
    }
}

/// What the columns of a log of `operation` make of `header`, logged by `device`, with what the columns table says. Values of other
/// machines, such as a tractor's, are left alone; `is_known` says whether any machine of the set has an element.
///
/// # Errors
/// When an entry of the columns table has no unit that its column can be in.
pub(crate) fn quantities(
    file: &str,
    header: &Header,
    device: Option<&Device>,
    is_known: &dyn Fn(&str) -> bool,
    operation: Operation,
    options: &ReadOptions,
) -> Result<Quantities, Problem> {
    let mut plan = Planner {
        file,
        header,
        device,
        owners: Vec::new(),
        sections: Vec::new(),
        rows: Vec::new(),
        used: vec![false; header.values.len()],
        found: Quantities {
            operation,
            readings: Vec::new(),
            rows: Vec::new(),
            row_readings: Vec::new(),
            width: Width::Absent,
            work: Work::Absent,
            sources: Vec::new(),
            unrecognised: Vec::new(),
            width_elements: Vec::new(),
            problems: Vec::new(),
        },
    };
    for value in &header.values {
        let element = device.and_then(|device| device.element(&value.element));
        plan.owners
            .push(match element.is_none() && is_known(&value.element) {
                true => Owner::Another,
                false => Owner::Own(element),
            });
    }
    plan.find_sections();
    for (&column, source) in &options.columns {
        plan.by_hand(column, source, options)?;
    }
    if operation == Operation::Planting {
        plan.find_rows();
    }
    for (column, entry, steps) in entries(operation) {
        let adds_up = SINGLE_ENTRIES
            .iter()
            .any(|&(single, _, _, is_sum)| single == column && is_sum);
        match plan.rows.is_empty() {
            true => plan.reading(column, entry, steps, adds_up),
            false => plan.row_reading(column, entry, steps),
        }
    }
    if operation == Operation::Harvest && !plan.has(Column::Moisture) {
        plan.reading(
            Column::Moisture,
            AVERAGE_CROP_MOISTURE,
            PPM_IN_PERCENT,
            false,
        );
        if plan.has(Column::Moisture) {
            let message = format!(
                "logs no {}: {}, a running mean of the task, is taken for it",
                name(CROP_MOISTURE),
                name(AVERAGE_CROP_MOISTURE)
            );
            let hint = "differences in moisture between strips are smoothed away";
            plan.found
                .problems
                .push(Problem::new(file, message).hint(hint));
        }
    }
    if operation == Operation::Harvest {
        plan.dry_mass();
    }
    plan.work();
    plan.width();
    if !plan.found.rows.is_empty() {
        // Where a planter's rows stand is where it works.
        plan.found.width_elements.clone_from(&plan.found.rows);
    }
    plan.found.unrecognised = (0..header.values.len())
        .filter(|&at| !plan.used[at])
        .map(|at| header_name(&header.values[at], device))
        .collect();
    plan.found.unrecognised.dedup();
    Ok(plan.found)
}

/// How many of `parts` an element is in.
fn around_count<'d>(
    device: &Device,
    element: &DeviceElement,
    parts: impl Iterator<Item = &'d DeviceElement>,
) -> usize {
    parts.filter(|part| device.is_part(element, part)).count()
}

struct Planner<'p> {
    file: &'p str,
    header: &'p Header,
    device: Option<&'p Device>,
    owners: Vec<Owner<'p>>,
    /// Rows of a planter from left to right.
    rows: Vec<&'p DeviceElement>,
    /// Sections with the place of their state and the entry it is in.
    sections: Vec<(&'p DeviceElement, Option<(State, u16)>)>,
    used: Vec<bool>,
    found: Quantities,
}

/// Whose a logged value is.
#[derive(Clone, Copy)]
enum Owner<'p> {
    /// An element of the machine; `None` where no machine of the set has it.
    Own(Option<&'p DeviceElement>),
    Another,
}

impl<'p> Planner<'p> {
    fn has(&self, column: Column) -> bool {
        self.found.sources.iter().any(|source| source.0 == column)
    }

    /// The places of `entry` in the header, each with its device element.
    fn places(&self, entry: u16) -> Vec<(u8, Option<&'p DeviceElement>)> {
        let values = self.header.values.iter().zip(&self.owners).enumerate();
        values
            .filter(|(_, (value, _))| value.entry == entry)
            .filter_map(|(at, (_, owner))| match owner {
                Owner::Own(element) => Some((at as u8, *element)),
                Owner::Another => None,
            })
            .collect()
    }

    /// Finds the sections and where their states stand: logged for themselves, or among the condensed states of an
    /// element that they are part of.
    fn find_sections(&mut self) {
        let Some(device) = self.device else { return };
        let mut states: HashMap<&str, (State, u16)> = HashMap::new();
        for entry in CONDENSED_WORK_STATE..CONDENSED_WORK_STATE + 16 {
            let first = 16 * usize::from(entry - CONDENSED_WORK_STATE);
            for (at, above) in self.places(entry) {
                let sections = above
                    .map(|above| device.sections(above))
                    .unwrap_or_default();
                for (bit, section) in sections.iter().skip(first).take(16).enumerate() {
                    let state = State {
                        at,
                        shift: 2 * bit as u8,
                    };
                    states.entry(section.id.as_str()).or_insert((state, entry));
                }
            }
        }
        for (at, element) in self.places(ACTUAL_WORK_STATE) {
            if let Some(section) = element.filter(|element| element.kind == ElementKind::Section) {
                states.insert(&section.id, (State { at, shift: 0 }, ACTUAL_WORK_STATE));
            }
        }
        self.sections = device
            .elements
            .iter()
            .filter(|element| element.kind == ElementKind::Section)
            .map(|section| (section, states.get(section.id.as_str()).copied()))
            .collect();
    }

    fn source(&mut self, column: Column, places: &[u8], words: String, unit: &str) {
        for &at in places {
            self.used[at as usize] = true;
        }
        self.found.sources.push((column, words, unit.to_owned()));
    }

    /// Finds the rows of a planter: the smallest parts that log one entry of planting beside each other.
    fn find_rows(&mut self) {
        let Some(device) = self.device else { return };
        let smallest = |parts: Vec<&'p DeviceElement>| -> Vec<&'p DeviceElement> {
            let is_whole = |whole: &DeviceElement| {
                let mut others = parts.iter().filter(|part| part.id != whole.id);
                others.any(|part| device.is_part(part, whole))
            };
            parts
                .iter()
                .copied()
                .filter(|part| !is_whole(part))
                .collect()
        };
        let mut rows: Vec<&DeviceElement> = Vec::new();
        for (_, entry, _) in PLANTING_ENTRIES {
            let places = self.places(entry).into_iter();
            let parts = smallest(places.filter_map(|(_, element)| element).collect());
            if parts.len() > 1 {
                rows.extend(parts);
            }
        }
        rows.sort_by(|a, b| a.id.cmp(&b.id));
        rows.dedup_by(|a, b| a.id == b.id);
        let mut rows = smallest(rows);
        device::from_left_to_right(&mut rows);
        self.found.rows = rows.iter().map(|row| row.id.clone()).collect();
        self.rows = rows;
    }

    /// Takes `entry` for `column` row by row: a row's own value, or that of the part of the machine it is in; a value
    /// of the whole machine is every row's.
    fn row_reading(&mut self, column: Column, entry_number: u16, steps: f64) {
        if self.has(column) {
            return;
        }
        let Some(device) = self.device else { return };
        let places = self.places(entry_number);
        let of_row = |row: &DeviceElement| {
            let mut around: Vec<(u8, &DeviceElement)> = places
                .iter()
                .filter_map(|&(at, element)| Some((at, element?)))
                .filter(|(_, element)| device.is_part(row, element))
                .collect();
            // The innermost of the parts that it is in.
            around.sort_by_key(|(_, one)| {
                around_count(
                    device,
                    one,
                    places.iter().filter_map(|(_, element)| *element),
                )
            });
            around.last().map(|(at, _)| *at)
        };
        let found: Vec<Option<u8>> = self.rows.iter().map(|row| of_row(row)).collect();
        let first = found.first().copied().flatten();
        if found.iter().all(|at| *at == first) {
            return self.reading(column, entry_number, steps, false);
        }
        let mut used = Vec::new();
        for (row, at) in found.iter().enumerate() {
            let Some(at) = *at else { continue };
            used.push(at);
            let reading = Reading {
                at: vec![at],
                is_sum: false,
                offset: 0.0,
                steps,
                dry: None,
            };
            self.found.row_readings.push((column, row, reading));
        }
        let words = format!("{}, by row", name(entry_number));
        let unit = entry(entry_number).map_or("", |entry| entry.unit);
        self.source(column, &used, words, unit);
    }

    /// Takes `entry` for `column`. Where several elements log it, one that the others are parts of speaks for
    /// all; else they are added up or averaged.
    fn reading(&mut self, column: Column, entry_number: u16, steps: f64, is_sum: bool) {
        if self.has(column) {
            return;
        }
        let mut places = self.places(entry_number);
        if places.is_empty() {
            return;
        }
        let all: Vec<u8> = places.iter().map(|(at, _)| *at).collect();
        let mut words = name(entry_number);
        if places.len() > 1 {
            let spoken = places.iter().find(|(_, above)| {
                let (Some(device), Some(above)) = (self.device, above) else {
                    return false;
                };
                places
                    .iter()
                    .all(|(_, part)| part.is_some_and(|part| device.is_part(part, above)))
            });
            match spoken {
                Some(&whole) => places = vec![whole],
                None if places.iter().all(|(_, element)| {
                    element.is_some_and(|element| element.kind == ElementKind::Bin)
                }) =>
                {
                    let message = format!(
                        "{} bins log {words}: several products, of which no column is made",
                        places.len()
                    );
                    let hint =
                        "convert the task data to a table and take the product's column from it";
                    self.found
                        .problems
                        .push(Problem::new(self.file, message).hint(hint));
                    return;
                }
                None => {
                    let how = if is_sum { "sum" } else { "mean" };
                    words.push_str(&format!(", {how} of {} device elements", places.len()));
                }
            }
        }
        let reading = Reading {
            at: places.iter().map(|(at, _)| *at).collect(),
            is_sum,
            offset: 0.0,
            steps,
            dry: None,
        };
        self.found.readings.push((column, reading));
        let unit = entry(entry_number).map_or("", |entry| entry.unit);
        self.source(column, &all, words, unit);
    }

    /// Flow or yield out of dry mass, where nothing wet is logged but the moistures that make it wet are.
    fn dry_mass(&mut self) {
        for (column, entry_number, steps, is_sum) in [
            (Column::MassFlow, DRY_MASS_PER_TIME_YIELD, 1e6, true),
            (Column::Yield, DRY_MASS_PER_AREA_YIELD, 100.0, false),
        ] {
            if self.has(Column::MassFlow) || self.has(Column::Yield) {
                return;
            }
            if self.places(entry_number).is_empty() {
                continue;
            }
            let logged = self.places(REFERENCE_MOISTURE).first().map(|(at, _)| *at);
            let fixed = self.device.and_then(|device| {
                let mut elements = device.elements.iter();
                elements.find_map(|element| element.property(REFERENCE_MOISTURE))
            });
            let reference = logged
                .map(Reference::Logged)
                .or(fixed.map(|ppm| Reference::Fixed(f64::from(ppm) / PPM_IN_PERCENT)));
            let mut readings = self.found.readings.iter();
            let moisture = readings
                .find(|(known, _)| *known == Column::Moisture)
                .map(|(_, reading)| reading.clone());
            let (Some(reference), Some(moisture)) = (reference, moisture) else {
                let message = format!(
                    "{} is left out: it needs {} and {} to be the mass that was cut",
                    name(entry_number),
                    name(REFERENCE_MOISTURE),
                    name(CROP_MOISTURE)
                );
                let hint = "let the machine log them, or give a log of wet mass";
                self.found
                    .problems
                    .push(Problem::new(self.file, message).hint(hint));
                continue;
            };
            self.reading(column, entry_number, steps, is_sum);
            if let Some(at) = logged {
                self.used[at as usize] = true;
            }
            if let Some((_, reading)) = self.found.readings.last_mut() {
                reading.dry = Some(Dry {
                    reference,
                    moisture: Box::new(moisture),
                });
            }
            if let Some((_, words, _)) = self.found.sources.last_mut() {
                words.push_str(", from the reference moisture to the grain's");
            }
        }
    }

    /// A column that the columns table names by the quantity's title, or by its own name in the machine.
    fn by_hand(
        &mut self,
        column: Column,
        source: &ColumnSource,
        options: &ReadOptions,
    ) -> Result<(), Problem> {
        let values = self.header.values.iter();
        let names: Vec<String> = values
            .map(|value| header_name(value, self.device))
            .collect();
        let Some(at) = crate::header::find_header(&names, &source.column) else {
            return Ok(());
        };
        let refuse = |message: String, hint: String| {
            Err(Problem::new(self.file, message)
                .in_column(source.column.as_str())
                .hint(hint))
        };
        if matches!(column.quantity(), Quantity::Label | Quantity::Switch)
            || matches!(column, Column::Lon | Column::Lat)
        {
            let message = format!("{} cannot be taken from a logged quantity", column.key());
            return refuse(message, "take the line out of [harvest.columns]".to_owned());
        }
        let number = self.header.values[at].entry;
        let own = self
            .device
            .and_then(|device| device.logged.get(&number)?.1.as_ref());
        // A value is as the dictionary has it or, where that does not know it, as the machine shows it.
        let (offset, step) = match (entry(number), own) {
            (Some(entry), _) => (0.0, entry.resolution),
            (None, Some(shown)) => (shown.offset, shown.scale),
            (None, None) => (0.0, 1.0),
        };
        let said = entry(number)
            .map(|entry| entry.unit)
            .or(own.map(|shown| shown.unit.as_str()));
        let unit = source.unit.as_deref().or(said).unwrap_or_default();
        let Some(factor) = units::to_si(column.quantity(), unit, options.bushel_kg) else {
            let accepted = units::spellings(column.quantity()).join(", ");
            let message = format!("expected a unit of {}, found {unit:?}", column.key());
            return refuse(
                message,
                format!("write one of {accepted} as its unit under [harvest.columns]"),
            );
        };
        let reading = Reading {
            at: vec![at as u8],
            is_sum: false,
            offset,
            steps: 1.0 / (step * factor),
            dry: None,
        };
        self.found.readings.push((column, reading));
        self.source(column, &[at as u8], names[at].clone(), unit);
        Ok(())
    }

    /// The header's state: of the machine or a function, else whether any section works.
    fn work(&mut self) {
        for entry in [ACTUAL_WORK_STATE, HEADER_HEIGHT_STATUS] {
            let places = self.places(entry);
            let own = places.iter().find(|(_, element)| {
                element.is_none_or(|element| element.kind != ElementKind::Section)
            });
            if let Some(&(at, _)) = own {
                self.found.work = Work::Own(State { at, shift: 0 });
                return self.source(Column::HeaderDown, &[at], name(entry), "1 at work");
            }
        }
        let states: Vec<(State, u16)> = self
            .sections
            .iter()
            .filter_map(|(_, state)| *state)
            .collect();
        if let Some(&(_, first)) = states.first() {
            let places: Vec<u8> = states.iter().map(|(state, _)| state.at).collect();
            let words = format!("{}, any of {} sections", name(first), states.len());
            self.found.work = Work::Sections(states.into_iter().map(|(state, _)| state).collect());
            self.source(Column::HeaderDown, &places, words, "1 at work");
        }
    }

    /// The working width: the implement's own, else the sections at work, else a fixed one.
    fn width(&mut self) {
        if self.has(Column::Width) {
            return;
        }
        let logged = self.places(ACTUAL_WORKING_WIDTH);
        let own = logged.iter().find(|(_, element)| {
            element.is_none_or(|element| element.kind != ElementKind::Section)
        });
        if let Some(&(at, element)) = own {
            let reading = Reading {
                at: vec![at],
                is_sum: false,
                offset: 0.0,
                steps: MM_IN_M,
                dry: None,
            };
            self.found.width = Width::Whole(reading);
            self.found
                .width_elements
                .extend(element.map(|element| element.id.clone()));
            return self.source(Column::Width, &[at], name(ACTUAL_WORKING_WIDTH), "mm");
        }
        let fixed = |element: &DeviceElement| {
            element
                .property(ACTUAL_WORKING_WIDTH)
                .or(element.property(MAXIMUM_WORKING_WIDTH))
        };
        let width_of = |section: &DeviceElement| {
            let at = logged
                .iter()
                .find(|(_, element)| element.is_some_and(|e| e.id == section.id));
            at.map(|(at, _)| WidthOf::Logged(*at))
                .or(fixed(section).map(WidthOf::Fixed))
        };
        let parts: Vec<Section> = self
            .sections
            .iter()
            .map(|(section, state)| Section {
                width: width_of(section),
                state: state.map(|(state, _)| state),
            })
            .collect();
        let ids: Vec<String> = self
            .sections
            .iter()
            .map(|(section, _)| section.id.clone())
            .collect();
        if !parts.is_empty() && parts.iter().all(|part| part.width.is_some()) {
            let works = match parts.iter().any(|part| part.state.is_some()) {
                true => "sections at work",
                false => "sections",
            };
            let words = format!("working widths of the {works}, of {}", parts.len());
            let mut places: Vec<u8> = logged.iter().map(|(at, _)| *at).collect();
            places.extend(parts.iter().filter_map(|part| Some(part.state?.at)));
            self.found.width_elements.extend(ids);
            self.found.width = Width::Sections(parts);
            return self.source(Column::Width, &places, words, "mm, added up");
        }
        let Some(device) = self.device else { return };
        let whole = device.elements.iter().find(|element| {
            matches!(element.kind, ElementKind::Device | ElementKind::Function)
                && fixed(element).is_some()
        });
        if let Some((element, width)) = whole.and_then(|element| Some((element, fixed(element)?))) {
            self.found.width = Width::Fixed(f64::from(width) / 1e3);
            self.found.width_elements.push(element.id.clone());
            self.source(
                Column::Width,
                &[],
                "fixed working width of the machine".to_owned(),
                "mm",
            );
        }
    }
}
