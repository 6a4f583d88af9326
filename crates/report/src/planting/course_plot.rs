//! The chart of a row in trouble: its mean and that of the middle row from pass to pass. Places are worked out
//! here in the units of the drawing; the template turns them into SVG.

use super::figures::{Shown, measure_name};
use crate::axes::{Axes, Axis, Dot, ends};
use checkstrip_model::units::UnitSystem;
use checkstrip_planting::{PassOfRow, PlantingFindings, RowCourse};
use serde::Serialize;

/// Width and height of the drawing.
const SIZE: [f64; 2] = [640.0, 260.0];

/// The chart, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct CoursePlot {
    #[serde(flatten)]
    axes: Axes,
    title: String,
    row_name: String,
    /// Lines as SVG writes them.
    row: String,
    middle_row: String,
    dots: Vec<Dot>,
}

/// The charts of a planter's rows in trouble.
pub(crate) fn course_plots(findings: &PlantingFindings, units: UnitSystem) -> Vec<CoursePlot> {
    let plots = findings.courses.iter();
    plots.filter_map(|course| plot(course, units)).collect()
}

/// `None` with fewer than two passes, which make no course.
fn plot(course: &RowCourse, units: UnitSystem) -> Option<CoursePlot> {
    let [first, .., last] = course.passes.as_slice() else {
        return None;
    };
    let shown = Shown::of(course.measure, units);
    let values = course
        .passes
        .iter()
        .flat_map(|pass| [pass.value, pass.middle_row]);
    let (low, high) = ends(values.map(|value| value * shown.factor))?;
    let margin = if high > low { (high - low) * 0.08 } else { 1.0 };
    // What can only be 0 or more gets no axis below 0.
    let from = if low >= 0.0 {
        (low - margin).max(0.0)
    } else {
        low - margin
    };
    let name = measure_name(course.measure);
    let axes = Axes::new(
        SIZE,
        Axis {
            from: first.pass as f64,
            to: last.pass as f64,
            ticks_from: first.pass as f64,
            ticks: ((last.pass - first.pass) as f64).min(12.0),
            label: "pass".to_owned(),
        },
        Axis {
            from,
            to: high + margin,
            ticks_from: from,
            ticks: 4.0,
            label: format!("{name}, {}", shown.unit),
        },
        checkstrip_words::Words::english().marks(),
    );
    let line = |value: fn(&PassOfRow) -> f64| {
        let points = course.passes.iter().map(|pass| {
            let y = axes.y(value(pass) * shown.factor);
            format!("{},{y}", axes.x(pass.pass as f64))
        });
        points.collect::<Vec<String>>().join(" ")
    };
    let row_name = format!("row {}", course.row);
    Some(CoursePlot {
        title: format!("Row {}: {name} from pass to pass", course.row),
        row: line(|pass| pass.value),
        middle_row: line(|pass| pass.middle_row),
        dots: course
            .passes
            .iter()
            .map(|pass| Dot {
                x: axes.x(pass.pass as f64),
                y: axes.y(pass.value * shown.factor),
                says: format!(
                    "pass {}: {row_name} {}, the middle row {}",
                    pass.pass,
                    shown.with_unit(pass.value),
                    shown.with_unit(pass.middle_row)
                ),
            })
            .collect(),
        row_name,
        axes,
    })
}
