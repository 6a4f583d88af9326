//! Which logged quantity of a time log is which column: by the data dictionary entry and by where its
//! device element stands in the machine.

use std::collections::HashMap;

use checkstrip_model::{Column, ColumnSource, Problem, Quantity, units};

use super::data_dictionary::{entry, name};
use super::device::{Device, DeviceElement, ElementKind};
use super::time_log::{Header, LoggedValue, Values};
use crate::ReadOptions;

const ACTUAL_WORKING_WIDTH: u16 = 67;
const MAXIMUM_WORKING_WIDTH: u16 = 70;
pub(crate) const MASS_PER_AREA_YIELD: u16 = 84;
pub(crate) const MASS_PER_TIME_YIELD: u16 = 87;
const CROP_MOISTURE: u16 = 99;
const ACTUAL_WORK_STATE: u16 = 141;
/// The first of sixteen entries, each of which holds the states of sixteen sections.
const CONDENSED_WORK_STATE: u16 = 161;
const HEADER_HEIGHT_STATUS: u16 = 237;
const AVERAGE_CROP_MOISTURE: u16 = 262;
const ACTUAL_SPEED: u16 = 397;

/// Logged values of one entry that make a number column.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Reading {
    at: Vec<u8>,
    /// Of several elements: their sum, else their mean.
    is_sum: bool,
    /// (value + offset) × factor is SI.
    offset: f64,
    factor: f64,
}

impl Reading {
    /// The value in SI; `NaN` before anything was logged.
    pub(crate) fn value(&self, values: &Values) -> f64 {
        if let [at] = self.at[..] {
            return match values.get(at) {
                Some(value) => (f64::from(value) + self.offset) * self.factor,
                None => f64::NAN,
            };
        }
        let (mut sum, mut count) = (0.0, 0);
        for value in self.at.iter().filter_map(|&at| values.get(at)) {
            sum += (f64::from(value) + self.offset) * self.factor;
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
                widths.sum::<Option<f64>>().map_or(f64::NAN, |mm| mm / 1e3)
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
    /// Number columns read from single values.
    pub(crate) readings: Vec<(Column, Reading)>,
    pub(crate) width: Width,
    pub(crate) work: Work,
    /// For each column its source in words and its unit.
    pub(crate) sources: Vec<(Column, String, String)>,
    /// Quantities that no column takes.
    pub(crate) unrecognised: Vec<String>,
    /// The device elements that the width comes from.
    pub(crate) width_elements: Vec<String>,
    pub(crate) problems: Vec<Problem>,
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

/// What the columns make of `header`, logged by `device`, with what the columns table says. Values of other
/// machines, such as a tractor's, are left alone; `is_known` says whether any machine of the set has an element.
///
/// # Errors
/// When an entry of the columns table has no unit that its column can be in.
pub(crate) fn quantities(
    file: &str,
    header: &Header,
    device: Option<&Device>,
    is_known: &dyn Fn(&str) -> bool,
    options: &ReadOptions,
) -> Result<Quantities, Problem> {
    let mut plan = Planner {
        file,
        header,
        device,
        owners: Vec::new(),
        sections: Vec::new(),
        used: vec![false; header.values.len()],
        found: Quantities {
            readings: Vec::new(),
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
    plan.reading(Column::MassFlow, MASS_PER_TIME_YIELD, 1e-6, true);
    // 1 mg/m² is 0.01 kg/ha.
    plan.reading(Column::Yield, MASS_PER_AREA_YIELD, 0.01, false);
    plan.reading(Column::Moisture, CROP_MOISTURE, 1e-4, false);
    if !plan.has(Column::Moisture) {
        plan.reading(Column::Moisture, AVERAGE_CROP_MOISTURE, 1e-4, false);
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
    plan.reading(Column::Speed, ACTUAL_SPEED, 1e-3, false);
    plan.work();
    plan.width();
    plan.found.unrecognised = (0..header.values.len())
        .filter(|&at| !plan.used[at])
        .map(|at| header_name(&header.values[at], device))
        .collect();
    plan.found.unrecognised.dedup();
    Ok(plan.found)
}

struct Planner<'p> {
    file: &'p str,
    header: &'p Header,
    device: Option<&'p Device>,
    owners: Vec<Owner<'p>>,
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

    /// Takes `entry` for `column`. Where several elements log it, one that the others are parts of speaks for
    /// all; else they are added up or averaged.
    fn reading(&mut self, column: Column, entry_number: u16, factor: f64, is_sum: bool) {
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
            factor,
        };
        self.found.readings.push((column, reading));
        let unit = entry(entry_number).map_or("", |entry| entry.unit);
        self.source(column, &all, words, unit);
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
            factor: step * factor,
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
                factor: 1e-3,
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
