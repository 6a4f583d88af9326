//! Reading a plan: polygons that say what was to be done where, by the name of a treatment or product, by a rate, or
//! both, in any reference system that PROJ knows.

use std::path::Path;

use checkstrip_model::units::{spellings, to_si};
use checkstrip_model::{Column, ColumnSource, Problem, Quantity};
use geo::MultiPolygon;

use crate::FormatError;
use crate::cell;
use crate::feature::FeatureFile;
use crate::header::{RateAttribute, rate_attributes, with_column};
use crate::polygon_file::{PolygonFile, crs_shown, grounds, read_drawn};
use crate::task_data::Wanted;

/// Which attributes of a plan say what; `None`: those whose names tell.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlanOptions {
    /// The attribute that names the treatment or product.
    pub treatment: Option<String>,
    /// The attribute that holds the rate, and its unit where the name does not say it.
    pub rate: Option<ColumnSource>,
}

/// Ground with what was to be done on it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedGround {
    /// The treatment or product.
    pub treatment: Option<String>,
    /// The rate asked for, in the SI unit of [`PlanFile::rate_quantity`].
    pub rate: Option<f64>,
    /// Its block, of a strip.
    pub block: Option<String>,
    /// Its name, of a strip; else its number in the file.
    pub strip_id: String,
    /// The ground, WGS 84 longitude and latitude in degrees.
    pub ground: MultiPolygon<f64>,
    /// Feature number in its file, from 1.
    pub row: u32,
}

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFile {
    /// The file as given.
    pub path: String,
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// The coordinate reference system the file was in, as it names it.
    pub crs: String,
    /// The attribute that names the treatment or product.
    pub treatment_column: Option<String>,
    /// The attribute that holds the rate, and the unit it was read in.
    pub rate_column: Option<(String, String)>,
    /// What the rate counts, of an attribute of rates.
    pub rate_quantity: Option<Quantity>,
    /// The grounds in the file's order.
    pub grounds: Vec<PlannedGround>,
    /// What was wrong with single grounds, and attributes that look like rates but have no unit.
    pub problems: Vec<Problem>,
}

/// What a rate may count.
const RATES: [Quantity; 3] = [
    Quantity::CountPerArea,
    Quantity::MassPerArea,
    Quantity::VolumePerArea,
];

/// Reads the plan in `path`, in any format that holds polygons. Without a treatment named in `options` the attribute
/// called treatment is taken, or else the only one called like a product; without a rate the only attribute called
/// like one whose name says the unit.
///
/// # Errors
/// When the file cannot be read, a feature is no polygon or one that encloses no certain ground, no attribute says what
/// was planned, or a rate is no number or has no unit.
///
/// ```
/// use checkstrip_formats::{PlanOptions, read_plan};
///
/// let dir = tempfile::tempdir()?;
/// let path = dir.path().join("invented.geojson");
/// std::fs::write(&path, r#"{"type": "Feature", "properties": {"Target rate (kg/ha)": 140},
///     "geometry": {"type": "Polygon", "coordinates":
///         [[[-93.1, 43.2], [-93.09, 43.2], [-93.09, 43.21], [-93.1, 43.2]]]}}"#)?;
/// let plan = read_plan(&path, &PlanOptions::default())?;
/// assert_eq!(plan.grounds[0].rate, Some(140.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_plan(path: &Path, options: &PlanOptions) -> Result<PlanFile, FormatError> {
    let PolygonFile {
        file,
        sha256,
        mut features,
    } = read_drawn(path, Wanted::Zones, "the plan")?;
    if features.features.is_empty() {
        return Err(Problem::new(file, "no polygon in it")
            .hint("export the plan again: one polygon for each ground with one treatment or rate")
            .into());
    }
    let mut problems = std::mem::take(&mut features.problems);
    let treatment = treatment_attribute(&file, &features, options)?;
    let rate = rate_attribute(&file, &features, options, &treatment, &mut problems)?;
    if treatment.is_none() && rate.is_none() {
        return Err(Problem::new(
            file,
            format!(
                "expected an attribute that says what was planned; there are: {}",
                features.attributes_shown()
            ),
        )
        .hint(
            "name it: --treatment-column NAME for a treatment or product, --rate-column \"NAME:lb/ac\" (its unit) \
             for a rate",
        )
        .into());
    }
    let block = features.attribute_called("block");
    let strip_id = features.attribute_called("strip_id");
    let drawn = grounds(&file, &features)?;
    let mut planned = Vec::with_capacity(drawn.len());
    for (feature, ground) in features.features.iter().zip(drawn) {
        let value = |name: &Option<String>| feature.value(name.as_deref()?);
        let asked = match &rate {
            Some(rate) => match feature.value(&rate.name) {
                Some(text) => Some(rate_of(&file, feature.row, rate, &text)?),
                None => None,
            },
            None => None,
        };
        let named = value(&treatment);
        if named.is_none() && asked.is_none() {
            let problem = Problem::new(file.as_str(), "the polygon does not say what was planned");
            return Err(problem
                .at_row(feature.row)
                .hint("write treatment or rate into its attributes, or take it out of the file")
                .into());
        }
        planned.push(PlannedGround {
            treatment: named,
            rate: asked,
            block: value(&block),
            strip_id: value(&strip_id).unwrap_or_else(|| feature.row.to_string()),
            ground,
            row: feature.row,
        });
    }
    Ok(PlanFile {
        crs: crs_shown(&features),
        path: file,
        sha256,
        treatment_column: treatment,
        rate_quantity: rate.as_ref().map(|rate| rate.quantity),
        rate_column: rate.map(|rate| (rate.name, rate.unit)),
        grounds: planned,
        problems,
    })
}

/// An attribute of rates.
struct Rate {
    name: String,
    unit: String,
    quantity: Quantity,
    to_si: f64,
}

fn treatment_attribute(
    file: &str,
    features: &FeatureFile,
    options: &PlanOptions,
) -> Result<Option<String>, Problem> {
    if let Some(wanted) = &options.treatment {
        return match features.attribute_called(wanted) {
            Some(found) => Ok(Some(found)),
            None => Err(not_there(file, features, wanted, "--treatment-column")),
        };
    }
    if let Some(found) = features.attribute_called("treatment") {
        return Ok(Some(found));
    }
    let products = with_column(&features.attribute_names, Column::Product);
    Ok(match &products[..] {
        [only] => Some((*only).to_owned()),
        _ => None,
    })
}

fn not_there(file: &str, features: &FeatureFile, wanted: &str, option: &str) -> Problem {
    let message = format!(
        "expected the attribute {wanted:?} on the plan; there are: {}",
        features.attributes_shown()
    );
    Problem::new(file, message).hint(format!("mend {option}"))
}

fn rate_attribute(
    file: &str,
    features: &FeatureFile,
    options: &PlanOptions,
    treatment: &Option<String>,
    problems: &mut Vec<Problem>,
) -> Result<Option<Rate>, Problem> {
    let names = &features.attribute_names;
    if let Some(ColumnSource { column, unit }) = &options.rate {
        let Some(name) = features.attribute_called(column) else {
            return Err(not_there(file, features, column, "--rate-column"));
        };
        let said = rate_attributes(std::slice::from_ref(&name), features.short_names);
        return match (unit, said.into_iter().find_map(RateAttribute::with_unit)) {
            (Some(unit), _) => {
                let found = RATES
                    .into_iter()
                    .find_map(|quantity| Some((quantity, to_si(quantity, unit, f64::NAN)?)));
                let Some((quantity, to_si)) = found else {
                    let message = format!("expected a unit of a rate, found {unit:?}");
                    return Err(Problem::new(file, message)
                        .in_column(name)
                        .hint(format!("write one of {}", accepted())));
                };
                Ok(Some(Rate {
                    name,
                    unit: unit.clone(),
                    quantity,
                    to_si,
                }))
            }
            (None, Some(known)) => Ok(Some(known)),
            (None, None) => Err(no_unit(file, &name)),
        };
    }
    let mut said = rate_attributes(names, features.short_names);
    said.retain(|attribute| Some(&attribute.name) != treatment.as_ref());
    let mut bare: Vec<String> = Vec::new();
    let mut known: Vec<Rate> = Vec::new();
    for attribute in said {
        let name = attribute.name.clone();
        match attribute.with_unit() {
            Some(rate) => known.push(rate),
            None => bare.push(name),
        }
    }
    match (known.len(), bare.first()) {
        (0, None) => Ok(None),
        (0, Some(bare)) if treatment.is_none() => Err(no_unit(file, bare)),
        (0, Some(bare)) => {
            problems.push(no_unit(file, bare));
            Ok(None)
        }
        (1, _) => Ok(known.pop()),
        (_, _) => {
            let shown: Vec<String> = known
                .iter()
                .map(|rate| format!("{:?}", rate.name))
                .collect();
            let message = format!("several attributes are rates: {}", shown.join(", "));
            Err(Problem::new(file, message).hint("choose one: --rate-column NAME"))
        }
    }
}

impl RateAttribute {
    /// As a rate, when the name says in which unit.
    fn with_unit(self) -> Option<Rate> {
        let (unit, to_si) = self.unit?;
        Some(Rate {
            name: self.name,
            unit,
            quantity: self.quantity,
            to_si,
        })
    }
}

fn no_unit(file: &str, name: &str) -> Problem {
    Problem::new(file, "looks like a rate, but has no unit")
        .in_column(name)
        .hint(format!(
            "say the unit: --rate-column \"{name}:lb/ac\" (yours); accepted are {}",
            accepted()
        ))
}

fn accepted() -> String {
    let all = RATES.iter().flat_map(|&quantity| spellings(quantity));
    all.collect::<Vec<&str>>().join(", ")
}

fn rate_of(file: &str, row: u32, rate: &Rate, text: &str) -> Result<f64, Problem> {
    match cell::number(text.as_bytes(), text.contains(',')) {
        Some(value) if value >= 0.0 => Ok(value * rate.to_si),
        _ => Err(Problem::new(
            file,
            format!("expected a rate of 0 or more, found {text:?}"),
        )
        .at_row(row)
        .in_column(rate.name.as_str())
        .hint("write a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(properties: &str, options: &PlanOptions) -> Result<PlanFile, String> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("plan.geojson");
        let text = format!(
            r#"{{"type": "Feature", "properties": {properties}, "geometry": {{"type": "Polygon",
            "coordinates": [[[-93, 43], [-92.9, 43], [-92.9, 43.1], [-93, 43]]]}}}}"#
        );
        std::fs::write(&path, text).unwrap();
        read_plan(&path, options).map_err(|error| error.to_string())
    }

    #[test]
    fn treatments_and_rates_are_found_by_their_names() {
        let plan = read(
            r#"{"Treatment": "rolled", "strip_id": "4"}"#,
            &PlanOptions::default(),
        );
        let plan = plan.unwrap();
        assert_eq!(plan.grounds[0].treatment.as_deref(), Some("rolled"));
        assert_eq!(
            (plan.grounds[0].strip_id.as_str(), plan.grounds[0].rate),
            ("4", None)
        );
        let plan = read(
            r#"{"hybrid": "A", "target population (seeds/ac)": "32000"}"#,
            &PlanOptions::default(),
        );
        let plan = plan.unwrap();
        assert_eq!(plan.treatment_column.as_deref(), Some("hybrid"));
        assert!((plan.grounds[0].rate.unwrap() - 79_073.8).abs() < 0.1);
        let by_hand = PlanOptions {
            rate: Some(ColumnSource {
                column: "n".into(),
                unit: Some("lb/ac".into()),
            }),
            ..PlanOptions::default()
        };
        let plan = read(r#"{"n": 100}"#, &by_hand).unwrap();
        assert!((plan.grounds[0].rate.unwrap() - 112.085).abs() < 1e-3);
        assert_eq!(plan.rate_quantity, Some(Quantity::MassPerArea));
    }

    #[test]
    fn what_cannot_be_known_is_asked_for() {
        let usual = PlanOptions::default();
        let error = read(r#"{"rate": 100}"#, &usual).unwrap_err();
        assert!(
            error.contains("no unit") && error.contains("rate:lb/ac"),
            "{error}"
        );
        let beside = read(r#"{"rate": 100, "treatment": "A"}"#, &usual).unwrap();
        assert_eq!((beside.problems.len(), beside.grounds[0].rate), (1, None));
        let error = read(r#"{"x": 100}"#, &usual).unwrap_err();
        assert!(
            error.contains("\"x\"") && error.contains("--rate-column"),
            "{error}"
        );
        let error = read(r#"{"target rate (kg/ha)": "much"}"#, &usual).unwrap_err();
        assert!(error.contains("\"much\""), "{error}");
        let error = read(r#"{"treatment": " "}"#, &usual).unwrap_err();
        assert!(error.contains("does not say"), "{error}");
        let wrong = PlanOptions {
            treatment: Some("what".into()),
            ..PlanOptions::default()
        };
        assert!(
            read(r#"{"x": 1}"#, &wrong)
                .unwrap_err()
                .contains("\"what\"")
        );
    }
}
