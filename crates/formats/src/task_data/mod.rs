//! ISO 11783-10 task data: `TASKDATA.XML` with the documents it refers to and the binary time logs beside
//! it, as a folder or in a zip archive, versions 3 and 4. A set is opened here; what it holds becomes a log
//! ([`task_log`]), polygons ([`polygons`]) or a line ([`guidance`]). Its writers are `export/task_data.rs`
//! for a planned task and `export/task_data_log.rs` for a log.

mod binary_files;
mod cutting_edge;
pub(crate) mod data_dictionary;
pub(crate) mod device;
mod document_log;
mod element;
mod files;
mod grid;
mod grid_patches;
mod guidance;
mod joined_logs;
mod log_columns;
mod points;
mod polygons;
pub(crate) mod quantities;
mod record_table;
mod task_log;
mod time_log;
mod totals;

#[cfg(test)]
mod tests;

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use checkstrip_model::Problem;

use crate::FormatError;
use binary_files::BinaryFiles;
use device::Device;
use element::Element;
use files::TaskFiles;

pub(crate) use polygons::Wanted;
pub(crate) use task_log::TaskLog;

/// A set of task data with every document in it read.
pub(crate) struct TaskSet {
    files: TaskFiles,
    /// The root, with what external documents hold put in its place.
    root: Element,
    devices: Vec<Device>,
    /// Place below the root of every element that has an identifier, by tag and identifier.
    places: HashMap<(String, String), usize>,
    /// Which task, field or line was asked for, behind a colon.
    choice: Option<String>,
    /// Points and grids, once they were asked for.
    binary_files: BinaryFiles,
    problems: Vec<Problem>,
}

/// A part of a set that becomes a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    Logs,
    Zones,
    Boundary,
}

/// External documents that one set may refer to.
const MOST_DOCUMENTS: usize = 1_000;
/// Machines that one set may describe.
const MOST_DEVICES: usize = 200;

/// `given` as a path and what stands behind its last colon, where the part before is task data and the
/// whole is no file: `TASKDATA:North forty`.
pub(crate) fn split_choice(given: &Path) -> (PathBuf, Option<String>) {
    if !given.exists()
        && let Some(text) = given.to_str()
        && let Some((head, choice)) = text.rsplit_once(':')
        && matches!(TaskFiles::find(Path::new(head)), Ok(Some(_)))
    {
        return (PathBuf::from(head), Some(choice.trim().to_owned()));
    }
    (given.to_owned(), None)
}

/// `given` without the task or field of task data behind it: `TASKDATA:North forty` is in `TASKDATA`.
pub fn without_choice(given: &Path) -> PathBuf {
    split_choice(given).0
}

/// Whether `path` names task data where a file is expected: a folder of it, or a set with a choice behind
/// a colon.
pub(crate) fn is_set(path: &Path) -> bool {
    TaskFiles::is_set_folder(path) || split_choice(path).1.is_some()
}

impl TaskSet {
    /// The set at `given`, which may name one of its tasks or fields behind a colon; `None` when there is no
    /// task data.
    ///
    /// # Errors
    /// When it cannot be read or is no task data of version 3 or 4.
    pub(crate) fn open(given: &Path) -> Result<Option<TaskSet>, FormatError> {
        let (path, choice) = split_choice(given);
        let Some(mut files) = TaskFiles::find(&path)? else {
            return Ok(None);
        };
        files.given = given.display().to_string();
        let file = files.given.clone();
        let mut root = element::parse(&file, "TASKDATA.XML", &files.main()?)?;
        let mut problems = Vec::new();
        if root.tag != "ISO11783_TaskData" {
            let message = format!(
                "TASKDATA.XML: expected ISO11783_TaskData, found {:?}",
                root.tag
            );
            return Err(Problem::new(file, message)
                .hint("give the folder that the terminal exported")
                .into());
        }
        match root.text("VersionMajor") {
            Some("3" | "4") => {}
            other => problems.push(
                Problem::new(
                    file.as_str(),
                    format!("expected version 3 or 4, found {}", other.unwrap_or("none")),
                )
                .hint("it is read as version 4: check the figures"),
            ),
        }
        let references: Vec<String> = root
            .each("XFR")
            .map(|reference| reference.text("A").unwrap_or_default().to_owned())
            .collect();
        if references.len() > MOST_DOCUMENTS {
            let message = format!("refers to more than {MOST_DOCUMENTS} documents");
            return Err(Problem::new(file, message)
                .hint("export one field at a time")
                .into());
        }
        for reference in references {
            let mut left_out = |message: String| {
                problems.push(Problem::new(file.as_str(), message).hint(
                    "what it holds is missing: export the task data again, with all its files",
                ));
            };
            if !is_name(&reference, None) {
                left_out(format!(
                    "expected an external file such as DVC00001, found {reference:?}"
                ));
                continue;
            }
            let name = format!("{reference}.XML");
            match files.read(&name)? {
                Some(bytes) => match element::parse(&file, &name, &bytes) {
                    Ok(document) => root.children.extend(document.children),
                    Err(problem) => left_out(problem.message),
                },
                None => left_out(format!(
                    "{name}, which TASKDATA.XML refers to, is not there"
                )),
            }
        }
        if root.each("DVC").count() > MOST_DEVICES {
            let message = format!("describes more than {MOST_DEVICES} machines");
            return Err(Problem::new(file, message)
                .hint("export one field at a time")
                .into());
        }
        let devices = root.each("DVC").map(Device::new).collect();
        let mut places = HashMap::new();
        for (at, element) in root.children.iter().enumerate() {
            if let Some(id) = element.text("A") {
                places
                    .entry((element.tag.clone(), id.to_owned()))
                    .or_insert(at);
            }
        }
        Ok(Some(TaskSet {
            files,
            root,
            devices,
            places,
            choice,
            binary_files: BinaryFiles::new(),
            problems,
        }))
    }

    /// The format and its version, in words.
    pub(crate) fn format_in_words(&self) -> String {
        let version = |key| self.root.text(key).unwrap_or("?");
        format!(
            "ISO 11783-10 task data, version {}.{}",
            version("VersionMajor"),
            version("VersionMinor")
        )
    }

    /// The tasks that were asked for, each with its place below the root: all, or those of the task or field behind
    /// the colon.
    ///
    /// # Errors
    /// When none is called so.
    fn tasks(&self) -> Result<Vec<(usize, &Element)>, Problem> {
        let children = self.root.children.iter().enumerate();
        let tasks: Vec<(usize, &Element)> =
            children.filter(|(_, child)| child.tag == "TSK").collect();
        let Some(wanted) = &self.choice else {
            return Ok(tasks);
        };
        let is =
            |text: Option<&str>| text.is_some_and(|text| text.trim().eq_ignore_ascii_case(wanted));
        let found: Vec<(usize, &Element)> = tasks
            .iter()
            .copied()
            .filter(|(_, task)| {
                let field = task.text("E");
                is(task.text("A"))
                    || is(task.text("B"))
                    || is(field)
                    || is(self.designator("PFD", "C", field))
            })
            .collect();
        if found.is_empty() {
            let message = format!("no task and no field in it is called {wanted:?}");
            return Err(
                Problem::new(self.files.given.as_str(), message).hint(format!(
                    "write one of these behind the colon: {}",
                    listed(tasks.iter().map(|(_, task)| self.task_name(task)))
                )),
            );
        }
        Ok(found)
    }

    /// What a conversion takes unless told: the time logs, where there are none the treatment zones, else the boundary.
    pub(crate) fn main_part(&self) -> Part {
        let has = |is: fn(&Element) -> bool| {
            let tasks = self.tasks().unwrap_or_default();
            tasks.iter().any(|(_, task)| is(task))
        };
        if has(|task| task.each("TLG").next().is_some() || document_log::header(task).is_some()) {
            Part::Logs
        } else if has(polygons::is_prescription) {
            Part::Zones
        } else {
            Part::Boundary
        }
    }

    /// A task in words: its name and its field's.
    fn task_name(&self, task: &Element) -> String {
        let name = task
            .text("B")
            .or(task.text("A"))
            .unwrap_or("a task without a name");
        match self.designator("PFD", "C", task.text("E")) {
            Some(field) => format!("{name} ({field})"),
            None => name.to_owned(),
        }
    }

    /// The name, in attribute `key`, of the element `tag` called `id`.
    fn designator(&self, tag: &str, key: &str, id: Option<&str>) -> Option<&str> {
        self.with_id(tag, id?)?.text(key)
    }

    /// The element `tag` called `id`.
    fn with_id(&self, tag: &str, id: &str) -> Option<&Element> {
        let at = self.places.get(&(tag.to_owned(), id.to_owned()))?;
        self.root.children.get(*at)
    }
}

/// Whether `name` is three capital letters (`letters`, when given) and five digits, as the standard names
/// files. Nothing else is looked up.
fn is_name(name: &str, letters: Option<&str>) -> bool {
    let bytes = name.as_bytes();
    bytes.len() == 8
        && bytes[..3].iter().all(u8::is_ascii_uppercase)
        && letters.is_none_or(|letters| name.starts_with(letters))
        && bytes[3..].iter().all(u8::is_ascii_digit)
}

/// How many names a message lists.
const LISTED: usize = 20;

/// Names for a message, each once.
fn listed(names: impl Iterator<Item = String>) -> String {
    let mut kept: Vec<String> = Vec::new();
    for name in names {
        let name = format!("{name:?}");
        if !kept.contains(&name) {
            kept.push(name);
        }
    }
    let more = kept.len().saturating_sub(LISTED);
    kept.truncate(LISTED);
    if more > 0 {
        kept.push(format!("and {more} more"));
    }
    match kept.is_empty() {
        true => "none".to_owned(),
        false => kept.join(", "),
    }
}
