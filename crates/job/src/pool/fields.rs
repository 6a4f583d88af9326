//! Which files enter, under which name, and what all their figures are stated in.

use super::inputs::{Content, Found, ResultsFile};
use super::treatment::left_out as why_left_out;
use super::{listed, same_name};
use checkstrip_model::results::{PooledCrop, PooledInput};
use checkstrip_model::units::{bu_per_acre, kg_per_ha};
use checkstrip_model::{Crop, Problem, Warning};
use checkstrip_words::{said_values, warning};
use std::path::Path;

/// The files that enter, with what all figures are stated in.
pub(super) struct Fields<'a> {
    pub(super) crop: PooledCrop,
    pub(super) inputs: Vec<PooledInput>,
    pub(super) warnings: Vec<Warning>,
    contents: Vec<&'a Content>,
}

/// One field's headline comparison of one treatment.
#[derive(Clone, Copy)]
pub(super) struct Headline<'a> {
    /// Place of its file.
    pub(super) input: usize,
    pub(super) found: &'a Found,
    /// Turns the file's kg/ha into kg/ha at the common moisture.
    pub(super) restate: f64,
    /// Gain that pays, bu/ac of the common bushel.
    pub(super) break_even_bu_ac: Option<f64>,
}

impl<'a> Fields<'a> {
    /// Places of the files that enter.
    fn used(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.inputs.len()).filter(|&input| self.inputs[input].left_out.is_none())
    }

    /// Every treatment compared, as the first file spells it.
    pub(super) fn treatments(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for found in self
            .used()
            .flat_map(|input| &self.contents[input].comparisons)
        {
            if !names.iter().any(|name| same_name(name, &found.treatment)) {
                names.push(found.treatment.trim().to_owned());
            }
        }
        names
    }

    /// Each field's first, that is headline, comparison of a treatment.
    pub(super) fn headlines(&self, treatment: &str) -> Vec<Headline<'a>> {
        self.used()
            .filter_map(|input| {
                let content = self.contents[input];
                let found = content
                    .comparisons
                    .iter()
                    .find(|found| same_name(&found.treatment, treatment))?;
                let restate = restate(content, &self.crop);
                let break_even = content
                    .payoff
                    .iter()
                    .find(|money| same_name(&money.treatment, treatment))
                    .and_then(|money| money.break_even_bu_ac);
                Some(Headline {
                    input,
                    found,
                    restate,
                    break_even_bu_ac: break_even.map(|bushels| {
                        let kg_ha = kg_per_ha(bushels, content.field.bushel_kg) * restate;
                        bu_per_acre(kg_ha, self.crop.bushel_kg)
                    }),
                })
            })
            .collect()
    }
}

/// Grain at the file's market moisture weighs this much at the common one: the dry matter stays.
fn restate(content: &Content, crop: &PooledCrop) -> f64 {
    (100.0 - content.field.market_moisture_pct) / (100.0 - crop.market_moisture_pct)
}

/// Decides which files enter: one crop, no field twice.
///
/// # Errors
/// Several crops and none named, or a crop named that no file has.
pub(super) fn choose_fields<'a>(
    files: &'a [ResultsFile],
    crop: Option<&str>,
) -> Result<Fields<'a>, Problem> {
    let crop = choose_crop(files, crop)?;
    let names = field_names(files);
    let mut warnings = Vec::new();
    let mut inputs: Vec<PooledInput> = Vec::with_capacity(files.len());
    for (place, file) in files.iter().enumerate() {
        let mut left_out = None;
        if crop_key(&file.content.field.crop) != crop {
            left_out = Some(why_left_out(
                "other_crop",
                said_values!(crop = &file.content.field.crop, wanted = &crop),
            ));
        } else if let Some(earlier) = (0..place)
            .filter(|&earlier| inputs[earlier].left_out.is_none())
            .find(|&earlier| same_trial(&files[earlier], file))
        {
            left_out = Some(why_left_out(
                "same_trial",
                said_values!(file = files[earlier].path.display().to_string()),
            ));
        }
        if let Some(left_out) = &left_out {
            warnings.push(warning(
                &left_out.code,
                said_values!(
                    file = file.path.display().to_string(),
                    reason = left_out.said(),
                ),
            ));
        }
        inputs.push(PooledInput {
            path: file.path.display().to_string(),
            sha256: file.sha256.clone(),
            field: names[place].clone(),
            crop: file.content.field.crop.clone(),
            tool_version: file.content.tool.version.clone(),
            left_out,
        });
    }
    let contents: Vec<&Content> = files.iter().map(|file| &file.content).collect();
    let used: Vec<&Content> = contents
        .iter()
        .zip(&inputs)
        .filter(|(_, input)| input.left_out.is_none())
        .map(|(content, _)| *content)
        .collect();
    let crop = common_crop(crop, &used, &mut warnings);
    warnings.extend(shared_logs(files, &inputs));
    Ok(Fields {
        crop,
        inputs,
        warnings,
        contents,
    })
}

/// The name under which a crop is known, or its own name folded.
pub(crate) fn crop_key(name: &str) -> String {
    Crop::known(name).map_or_else(|| name.trim().to_lowercase(), |crop| crop.name)
}

fn choose_crop(files: &[ResultsFile], named: Option<&str>) -> Result<String, Problem> {
    let mut crops: Vec<(String, usize)> = Vec::new();
    for file in files {
        let key = crop_key(&file.content.field.crop);
        match crops.iter_mut().find(|(crop, _)| *crop == key) {
            Some((_, count)) => *count += 1,
            None => crops.push((key, 1)),
        }
    }
    let listed: Vec<String> = crops
        .iter()
        .map(|(crop, count)| format!("{crop} ({count})"))
        .collect();
    let listed = listed.join(", ");
    match (named.map(crop_key), &crops[..]) {
        (Some(named), _) if crops.iter().any(|(crop, _)| *crop == named) => Ok(named),
        (Some(named), _) => Err(Problem::new(
            "",
            format!("none of the results is of {named:?}; the crops are {listed}"),
        )
        .hint("name one of these with --crop")),
        (None, [(crop, _)]) => Ok(crop.clone()),
        (None, _) => Err(Problem::new(
            "",
            format!(
                "the results are of several crops: {listed}. A gain in one crop says nothing of \
                 another, so they are not pooled together"
            ),
        )
        .hint("name one with --crop, and run again for each of the others")),
    }
}

/// Whether two files tell of one trial: the same bytes, or the same logs and strips worked through
/// twice, which would count one field as two.
fn same_trial(a: &ResultsFile, b: &ResultsFile) -> bool {
    let logs = |file: &ResultsFile| {
        let mut logs: Vec<String> = file
            .content
            .input
            .files
            .iter()
            .map(|log| log.sha256.clone())
            .filter(|digest| !digest.is_empty())
            .collect();
        logs.sort();
        logs
    };
    let strips = &a.content.strip_source.sha256;
    a.sha256 == b.sha256
        || !logs(a).is_empty()
            && logs(a) == logs(b)
            && !strips.is_empty()
            && *strips == b.content.strip_source.sha256
}

/// The moisture and bushel that most files state their yields in (of equals the lowest), so that the
/// answer does not depend on the order of files.
fn common_crop(name: String, used: &[&Content], warnings: &mut Vec<Warning>) -> PooledCrop {
    let commonest = |figure: fn(&Content) -> f64| {
        let mut figures: Vec<f64> = used.iter().map(|content| figure(content)).collect();
        figures.sort_by(f64::total_cmp);
        let mut best = (figures.first().copied().unwrap_or(0.0), 0);
        for run in figures.chunk_by(|a, b| a == b) {
            if run.len() > best.1 {
                best = (run[0], run.len());
            }
        }
        (best.0, best.1 < figures.len())
    };
    let (market_moisture_pct, moistures_differ) = commonest(|c| c.field.market_moisture_pct);
    let (bushel_kg, bushels_differ) = commonest(|c| c.field.bushel_kg);
    if moistures_differ {
        warnings.push(warning(
            "moistures_differ",
            said_values!(moisture = market_moisture_pct.to_string()),
        ));
    }
    if bushels_differ {
        warnings.push(warning(
            "bushels_differ",
            said_values!(bushel_kg = bushel_kg.to_string()),
        ));
    }
    PooledCrop {
        name,
        market_moisture_pct,
        bushel_kg,
    }
}

/// A name for each file's field: its own, and where several share one, the part of the path in which
/// they differ beside it.
fn field_names(files: &[ResultsFile]) -> Vec<String> {
    let own = |file: &ResultsFile| file.content.field.name.trim().to_owned();
    let parts = |path: &Path| -> Vec<String> {
        path.components()
            .map(|part| part.as_os_str().to_string_lossy().into_owned())
            .collect()
    };
    files
        .iter()
        .map(|file| {
            let name = own(file);
            let twins: Vec<Vec<String>> = files
                .iter()
                .filter(|other| own(other) == name)
                .map(|other| parts(&other.path))
                .collect();
            if twins.len() == 1 {
                return name;
            }
            let mine = parts(&file.path);
            let shared = |mine: &[String], others: &mut dyn FnMut(usize) -> bool| {
                (0..mine.len()).take_while(|&place| others(place)).count()
            };
            let before = shared(&mine, &mut |place| {
                twins.iter().all(|twin| twin.get(place) == mine.get(place))
            });
            let after = shared(&mine, &mut |place| {
                twins
                    .iter()
                    .all(|twin| twin.iter().rev().nth(place) == mine.iter().rev().nth(place))
            });
            let end = mine.len().saturating_sub(after);
            match mine.get(before..end) {
                Some(different) if !different.is_empty() => {
                    format!("{name} ({})", different.join("/"))
                }
                _ => name,
            }
        })
        .collect()
}

/// Files whose logs are the same though their strips are not.
fn shared_logs(files: &[ResultsFile], inputs: &[PooledInput]) -> Option<Warning> {
    let used = || (0..files.len()).filter(|&file| inputs[file].left_out.is_none());
    let logs = |file: usize| {
        files[file]
            .content
            .input
            .files
            .iter()
            .filter(|log| !log.sha256.is_empty())
    };
    let sharing: Vec<&str> = used()
        .filter(|&file| {
            used()
                .filter(|&other| other != file)
                .any(|other| logs(file).any(|a| logs(other).any(|b| a.sha256 == b.sha256)))
        })
        .map(|file| inputs[file].field.as_str())
        .collect();
    (!sharing.is_empty()).then(|| warning("same_log", said_values!(fields = listed(sharing))))
}
