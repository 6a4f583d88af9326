//! Strips and log brought together: which treatment is the check, whether the strips lie where the
//! log was driven, which block each strip belongs to.

use crate::error::JobError;
use crate::setup::StripSetup;
use checkstrip_cleaning::CleaningOutcome;
use checkstrip_model::{CleanLog, Problem, SaidList, SaidText, StripSet, Warning};
use checkstrip_spatial::cells::strip_direction;
use checkstrip_spatial::overlay::MOST_TREATMENTS;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_spatial::strip_sums::StripSum;
use checkstrip_trial::{Rates, TrialError, blocks_in_a_row};
use checkstrip_words::{said_values, warning};
use geo::{Centroid, MultiPolygon};

/// Names that mean the check when nobody names it.
const CHECK_NAMES: &[&str] = &["check", "control", "untreated"];

/// Place of the check among the treatments; `None` when nobody named it and no treatment is called
/// like one.
pub(crate) fn find_check(
    setup: &StripSetup,
    field: &StripField,
) -> Result<Option<usize>, JobError> {
    let treatments = &field.treatments;
    let failed = |source| JobError::Trial {
        file: setup.file.display().to_string(),
        source,
    };
    let check = check_among(treatments, setup.check.as_deref());
    if let (None, Some(name)) = (check, &setup.check) {
        return Err(failed(TrialError::NoCheck {
            check: name.clone(),
            treatments: treatments.clone(),
        }));
    }
    match check {
        Some(check) if treatments.len() == 1 => Err(failed(TrialError::OnlyCheck {
            check: treatments[check].clone(),
        })),
        check => Ok(check),
    }
}

/// Whether a treatment of this name is the check when nobody names one.
pub(crate) fn is_called_check(name: &str) -> bool {
    CHECK_NAMES
        .iter()
        .any(|check| name.trim().eq_ignore_ascii_case(check))
}

/// Place of the check among `treatments`: the one called `named`, or, when nobody named it, the first
/// called like a check, or else the lowest of treatments that are rates. Case does not matter.
pub(crate) fn check_among(treatments: &[String], named: Option<&str>) -> Option<usize> {
    let find = |name: &str| {
        treatments
            .iter()
            .position(|t| t.trim().eq_ignore_ascii_case(name.trim()))
    };
    match named {
        Some(name) => find(name),
        None => CHECK_NAMES
            .iter()
            .find_map(|name| find(name))
            .or_else(|| Rates::read(treatments).map(|rates| rates.lowest())),
    }
}

/// Refuses more treatments than shares are kept for.
pub(crate) fn check_treatments(setup: &StripSetup, field: &StripField) -> Result<(), JobError> {
    if field.treatments.len() > MOST_TREATMENTS {
        return Err(Problem::new(
            setup.file.display().to_string(),
            format!(
                "the strips have {} different treatments, expected at most {MOST_TREATMENTS}",
                field.treatments.len()
            ),
        )
        .hint("check that the treatment attribute is the right one")
        .into());
    }
    Ok(())
}

/// West, south, east and north end of the ground that passes cut, m; infinite where there is none.
pub(crate) fn driven_bounds(log: &CleanLog) -> [f64; 4] {
    let mut driven = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    for record in 0..log.len() {
        if log.pass[record] > 0 {
            for corner in log.footprint(record) {
                driven[0] = driven[0].min(corner[0]);
                driven[1] = driven[1].min(corner[1]);
                driven[2] = driven[2].max(corner[0]);
                driven[3] = driven[3].max(corner[1]);
            }
        }
    }
    driven
}

/// Refuses strips that lie somewhere else than the log, with how far and what that usually means.
pub(crate) fn check_place(
    set: &StripSet,
    field: &StripField,
    outcome: &CleaningOutcome,
) -> Result<(), Problem> {
    let driven = driven_bounds(&outcome.log);
    // Boxes a strip's length apart are apart.
    let gap = |strip: [f64; 4]| {
        let east = (strip[0] - driven[2]).max(driven[0] - strip[2]).max(0.0);
        let north = (strip[1] - driven[3]).max(driven[1] - strip[3]).max(0.0);
        east.hypot(north)
    };
    let nearest = field
        .strips
        .iter()
        .map(|strip| gap(strip.drawn.bounds()))
        .fold(f64::INFINITY, f64::min);
    if nearest == 0.0 {
        return Ok(());
    }
    let drawn = set.strips.first().map(|strip| &strip.ground);
    Err(elsewhere(
        &set.path,
        ["no strip", "the strips", "the strips file"],
        drawn,
        outcome.plane.origin(),
        nearest,
    ))
}

/// What is said where none of what was drawn lies on the ground of the log, whose middle is at longitude `lon` and
/// latitude `lat`: words for none of it, for it and for its file; the first of it; how far off it is.
pub(crate) fn elsewhere(
    file: &str,
    [none, all, its_file]: [&str; 3],
    drawn: Option<&MultiPolygon<f64>>,
    [lon, lat]: [f64; 2],
    nearest_m: f64,
) -> Problem {
    let corner = drawn
        .and_then(Centroid::centroid)
        .map_or(String::new(), |c| {
            format!(" (around lon {:.5}, lat {:.5})", c.x(), c.y())
        });
    let distance = if nearest_m >= 1000.0 || nearest_m.is_nan() {
        format!("{:.0} km", nearest_m / 1000.0)
    } else {
        format!("{nearest_m:.0} m")
    };
    Problem::new(
        file,
        format!(
            "{none} lies where the log was driven: {all}{corner} are {distance} away from \
             the log (around lon {lon:.5}, lat {lat:.5})"
        ),
    )
    .hint(format!(
        "check that {} and log belong to the same field, and that {its_file} states its \
         coordinate system (GeoJSON: longitude, latitude; Shapefile: its .prj)",
        all.trim_start_matches("the ")
    ))
}

/// Blocks of the strips, from the file or from who stands beside whom, and which it was.
pub(crate) fn blocks(
    set: &StripSet,
    field: &StripField,
    check: Option<usize>,
    warnings: &mut Vec<Warning>,
) -> (Vec<Option<String>>, &'static str) {
    if set.strips.iter().any(|strip| strip.block.is_some()) {
        let without: Vec<&str> = set
            .strips
            .iter()
            .filter(|strip| strip.block.is_none())
            .map(|strip| strip.strip_id.as_str())
            .collect();
        if !without.is_empty() {
            warnings.push(warning(
                "strips_without_block",
                said_values!(count = without.len(), strips = without.join(", ")),
            ));
        }
        return (
            set.strips.iter().map(|strip| strip.block.clone()).collect(),
            "file",
        );
    }
    if check.is_none() {
        return (vec![None; set.strips.len()], "none");
    }
    let (sin, cos) = strip_direction(field).sin_cos();
    let across: Vec<f64> = field
        .strips
        .iter()
        .map(|strip| {
            let middle = strip.drawn.polygon().centroid();
            middle.map_or(f64::INFINITY, |middle| middle.x() * cos - middle.y() * sin)
        })
        .collect();
    let treatment: Vec<usize> = field.strips.iter().map(|strip| strip.treatment).collect();
    let block = blocks_in_a_row(&treatment, &across);
    let alone = block.iter().filter(|block| block.is_none()).count();
    let values = match alone {
        0 => said_values!(),
        alone => said_values!(variant = "alone", alone = alone),
    };
    warnings.push(warning("blocks_from_adjacency", values));
    (
        block
            .into_iter()
            .map(|block| block.map(|b| b.to_string()))
            .collect(),
        "adjacency",
    )
}

/// Warnings about the strips themselves: overlaps, empty insets, ground no pass touched.
pub(crate) fn warn_of_strips(
    set: &StripSet,
    field: &StripField,
    sums: &[StripSum],
    inset_m: f64,
    warnings: &mut Vec<Warning>,
) {
    let id = |place: usize| set.strips[place].strip_id.as_str();
    let list = |ids: &[&str]| ids.join(", ");
    if !field.overlapping.is_empty() {
        let pairs: Vec<SaidText> = field
            .overlapping
            .iter()
            .take(5)
            .map(|&(a, b, area)| {
                let values = said_values!(first = id(a), second = id(b), area = area);
                SaidText::new("strips-overlap-pair", values)
            })
            .collect();
        let pairs = SaidList {
            between: "; ".to_owned(),
            texts: pairs,
        };
        warnings.push(warning(
            "strips_overlap",
            said_values!(count = field.overlapping.len(), pairs = pairs),
        ));
    }
    let empty: Vec<&str> = (0..set.strips.len())
        .filter(|&place| field.strips[place].inset.area_m2() <= 0.0)
        .map(id)
        .collect();
    if !empty.is_empty() {
        warnings.push(warning(
            "inset_leaves_nothing",
            said_values!(strips = list(&empty), inset = inset_m),
        ));
    }
    let untouched: Vec<&str> = (0..set.strips.len())
        .filter(|&place| field.strips[place].inset.area_m2() > 0.0 && sums[place].records == 0)
        .map(id)
        .collect();
    if !untouched.is_empty() {
        warnings.push(warning(
            "strip_not_harvested",
            said_values!(strips = list(&untouched)),
        ));
    }
    for problem in &set.problems {
        warnings.push(Warning::new(
            "strips_file",
            problem.to_string().replace("\nhint: ", "; "),
        ));
    }
}
