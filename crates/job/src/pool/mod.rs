//! One answer from the results of many fields or years: results files in, pooled answer, table,
//! forest plot and report out. Which estimate enters, and what is left out and why, is decided in
//! `inputs` and `fields`; the statistics are `checkstrip_trial::pool`'s.

mod fields;
mod inputs;
mod outputs;
mod treatment;
mod warnings;

pub(crate) use fields::crop_key;
pub(crate) use inputs::{ResultsFile, read_results_file};
pub use outputs::write_pooled;

use crate::error::JobError;
use crate::outputs::this_tool;
use checkstrip_model::results::{NotPooled, POOLED_SCHEMA, Pooled};
use checkstrip_model::{Problem, SaidList, SaidText, SaidValue};
use checkstrip_words::said_values;
use fields::{Fields, choose_fields};
use std::path::PathBuf;
use treatment::pool_treatment;

/// What to pool.
#[derive(Debug, Clone, Default)]
pub struct PoolSetup {
    /// Results files, folders that hold a `results.json`, or patterns of either.
    pub results: Vec<String>,
    /// The crop, when the files are of several.
    pub crop: Option<String>,
    /// The treatments; all of them when empty. Case does not matter.
    pub treatments: Vec<String>,
    /// The folder that the files' paths are told from; as given when empty.
    pub base: PathBuf,
}

/// Pools the headline comparison of each treatment over all files. Nothing is written.
///
/// # Errors
/// When a file cannot be read or is no results file, the files are of several crops and none was
/// named, a treatment is named that no file has, or no treatment has two fields that can be pooled.
pub fn pool_results(setup: &PoolSetup) -> Result<Pooled, JobError> {
    let mut files = inputs::read_results(&setup.results)?;
    for file in &mut files {
        if let Ok(path) = file.path.strip_prefix(&setup.base) {
            file.path = path.to_owned();
        }
    }
    let fields = choose_fields(&files, setup.crop.as_deref())?;
    let mut pooled = Pooled {
        schema: POOLED_SCHEMA.into(),
        tool: this_tool(),
        crop: fields.crop.clone(),
        inputs: fields.inputs.clone(),
        treatments: Vec::new(),
        not_pooled: Vec::new(),
        warnings: fields.warnings.clone(),
    };
    for name in chosen_treatments(&fields, &setup.treatments)? {
        match pool_treatment(&name, &fields) {
            Ok(treatment) => pooled.treatments.push(treatment),
            Err(not) => pooled.not_pooled.push(not),
        }
    }
    if pooled.treatments.is_empty() {
        return Err(nothing_to_pool(&pooled.not_pooled).into());
    }
    for treatment in &pooled.treatments {
        warnings::of_treatment(treatment, &mut pooled.warnings);
    }
    for not in &pooled.not_pooled {
        warnings::not_pooled(not, &mut pooled.warnings);
    }
    Ok(pooled)
}

/// The treatments to pool, each as the first file spells it.
fn chosen_treatments(fields: &Fields, named: &[String]) -> Result<Vec<String>, Problem> {
    let all = fields.treatments();
    if named.is_empty() {
        return Ok(all);
    }
    let mut chosen: Vec<String> = Vec::new();
    for name in named {
        let found = all.iter().find(|other| same_name(other, name));
        let Some(found) = found else {
            return Err(Problem::new(
                "",
                format!("none of the results compares a treatment called {name:?}"),
            )
            .hint(format!("the treatments are {}", all.join(", "))));
        };
        if !chosen.contains(found) {
            chosen.push(found.clone());
        }
    }
    Ok(chosen)
}

fn nothing_to_pool(not_pooled: &[NotPooled]) -> Problem {
    let message = if not_pooled.is_empty() {
        "nothing can be pooled: the results compare no treatment with a check".to_owned()
    } else {
        let reasons: Vec<String> = not_pooled
            .iter()
            .map(|not| format!("{}: {}", not.treatment, not.reason))
            .collect();
        format!("nothing can be pooled: {}", reasons.join("; "))
    };
    Problem::new("", message).hint(
        "give the results of at least two fields or years in which the treatment and its check stand \
         in two blocks or more",
    )
}

/// Whether two names are the same but for case and spaces around them.
pub(crate) fn same_name(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// Names in quotes, with "and" before the last.
fn listed<'a>(names: impl IntoIterator<Item = &'a str>) -> SaidValue {
    let names: Vec<&str> = names.into_iter().collect();
    let one = |name: &&str| SaidText::new("listed-one", said_values!(name = *name));
    let texts = match names.as_slice() {
        [before @ .., first, last] => {
            let two = said_values!(first = *first, last = *last);
            let mut texts: Vec<SaidText> = before.iter().map(one).collect();
            texts.push(SaidText::new("listed-two", two));
            texts
        }
        few => few.iter().map(one).collect(),
    };
    SaidValue::List(SaidList {
        between: ", ".to_owned(),
        texts,
    })
}

#[cfg(test)]
mod tests;
