//! A plot with one row per block: marks along a common scale, a zero or break-even line across the
//! rows. Places are worked out here in the units of the drawing; the template turns them into SVG.

use checkstrip_words::Marks;
use serde::Serialize;

const WIDTH: f64 = 560.0;
const LEFT: f64 = 118.0;
const RIGHT: f64 = 26.0;
const TOP: f64 = 12.0;
const ROW: f64 = 28.0;
const AXIS: f64 = 52.0;
/// Width a letter takes at the size row labels are set in.
const LETTER: f64 = 7.6;

/// How a mark is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Shape {
    Dot,
    Square,
    Diamond,
    Triangle,
    Ring,
}

/// A value to mark, in the units of the scale.
#[derive(Debug, Clone)]
pub(crate) struct Mark {
    pub(crate) row: usize,
    pub(crate) value: f64,
    /// Ends of a line through the mark.
    pub(crate) interval: Option<[f64; 2]>,
    pub(crate) shape: Shape,
    /// Number of the colour class in the style sheet.
    pub(crate) tone: usize,
    /// What the mark says, for readers who point at it or hear it.
    pub(crate) says: String,
}

/// A line across the rows.
#[derive(Debug, Clone)]
pub(crate) struct Across {
    pub(crate) value: f64,
    pub(crate) dashed: bool,
}

/// What a mark means.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct KeyEntry {
    pub(crate) shape: &'static str,
    pub(crate) tone: usize,
    pub(crate) label: String,
}

#[derive(Debug, Clone, Serialize)]
struct PlacedMark {
    x: f64,
    y: f64,
    from: Option<f64>,
    to: Option<f64>,
    shape: Shape,
    tone: usize,
    says: String,
}

#[derive(Debug, Clone, Serialize)]
struct PlacedRow {
    y: f64,
    label: String,
    strong: bool,
}

#[derive(Debug, Clone, Serialize)]
struct PlacedLine {
    x: f64,
    label: String,
    dashed: bool,
}

/// A plot ready for the template.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct RowPlot {
    width: f64,
    height: f64,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    axis_label: String,
    rows: Vec<PlacedRow>,
    ticks: Vec<PlacedLine>,
    across: Vec<PlacedLine>,
    marks: Vec<PlacedMark>,
}

impl RowPlot {
    /// A plot of `marks` on labelled `rows` (`true` for a row set off as a summary). `None` when no
    /// mark has a finite value. Figures along the scale are written with `figure_marks`.
    pub(crate) fn new(
        rows: &[(String, bool)],
        marks: &[Mark],
        across: &[Across],
        axis_label: String,
        figure_marks: &Marks,
    ) -> Option<RowPlot> {
        let usable = |mark: &&Mark| mark.value.is_finite() && mark.row < rows.len();
        let shown: Vec<&Mark> = marks.iter().filter(usable).collect();
        if shown.is_empty() {
            return None;
        }
        let values = shown
            .iter()
            .flat_map(|mark| mark.interval.into_iter().flatten().chain([mark.value]))
            .chain(across.iter().map(|line| line.value))
            .filter(|value| value.is_finite());
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), value| {
            (l.min(value), h.max(value))
        });
        let (low, high) = if high > low {
            (low, high)
        } else {
            (low - 1.0, high + 1.0)
        };
        let margin = (high - low) * 0.05;
        let (low, high) = (low - margin, high + margin);
        let place = |value: f64| LEFT + (value - low) / (high - low) * (WIDTH - LEFT - RIGHT);
        let row_y = |row: usize| TOP + ROW * (row as f64 + 0.5);
        let bottom = TOP + ROW * rows.len() as f64;
        let (step, decimals) = round_step((high - low) / 5.0);
        let first = (low / step).ceil() as i64;
        let last = (high / step).floor() as i64;
        Some(RowPlot {
            width: WIDTH,
            height: bottom + AXIS,
            left: LEFT,
            right: WIDTH - RIGHT,
            top: TOP,
            bottom,
            axis_label,
            rows: rows
                .iter()
                .enumerate()
                .map(|(row, (label, strong))| PlacedRow {
                    y: place_to_tenths(row_y(row)),
                    label: shortened(label),
                    strong: *strong,
                })
                .collect(),
            ticks: (first..=last)
                .map(|tick| tick as f64 * step)
                .map(|value| PlacedLine {
                    x: place_to_tenths(place(value)),
                    label: figure_marks.number(value, decimals),
                    dashed: false,
                })
                .collect(),
            across: across
                .iter()
                .filter(|line| line.value.is_finite())
                .map(|line| PlacedLine {
                    x: place_to_tenths(place(line.value)),
                    label: String::new(),
                    dashed: line.dashed,
                })
                .collect(),
            marks: shown
                .iter()
                .map(|mark| {
                    let interval = mark
                        .interval
                        .filter(|ends| ends.iter().all(|e| e.is_finite()));
                    PlacedMark {
                        x: place_to_tenths(place(mark.value)),
                        y: place_to_tenths(row_y(mark.row)),
                        from: interval.map(|ends| place_to_tenths(place(ends[0]))),
                        to: interval.map(|ends| place_to_tenths(place(ends[1]))),
                        shape: mark.shape,
                        tone: mark.tone,
                        says: mark.says.clone(),
                    }
                })
                .collect(),
        })
    }
}

/// A row label that fits its margin.
fn shortened(label: &str) -> String {
    let most = ((LEFT - 12.0) / LETTER) as usize;
    if label.chars().count() <= most {
        return label.to_owned();
    }
    let kept: String = label.chars().take(most - 1).collect();
    format!("{}…", kept.trim_end())
}

/// A place in the drawing to a tenth of its unit.
pub(crate) fn place_to_tenths(place: f64) -> f64 {
    (place * 10.0).round() / 10.0
}

/// The round number (1, 2 or 5 and noughts) next above `wanted`, and the decimals it needs.
pub(crate) fn round_step(wanted: f64) -> (f64, usize) {
    let power = wanted.log10().floor();
    let decade = 10f64.powf(power);
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|round| round * decade)
        .find(|step| *step >= wanted * 0.999)
        .unwrap_or(decade);
    (step, (-step.log10().floor()).max(0.0) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn new(rows: &[(String, bool)], marks: &[Mark]) -> Option<RowPlot> {
        RowPlot::new(
            rows,
            marks,
            &[],
            String::new(),
            checkstrip_words::Words::english().marks(),
        )
    }

    fn mark(value: f64) -> Mark {
        Mark {
            row: 0,
            value,
            interval: None,
            shape: Shape::Dot,
            tone: 0,
            says: String::new(),
        }
    }

    #[test]
    fn marks_lie_within_the_plot() {
        let rows = [("block 1".to_owned(), false)];
        let plot = new(&rows, &[mark(-3.0), mark(14.0)]).unwrap();
        for mark in &plot.marks {
            assert!(mark.x > plot.left && mark.x < plot.right);
            assert!(mark.y > plot.top && mark.y < plot.bottom);
        }
        assert!((3..=8).contains(&plot.ticks.len()));
    }

    #[test]
    fn equal_and_missing_values_are_survived() {
        let rows = [("block 1".to_owned(), false)];
        assert!(new(&rows, &[mark(5.0)]).is_some());
        assert!(new(&rows, &[mark(f64::NAN)]).is_none());
        assert!(new(&[], &[mark(1.0)]).is_none());
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(0.7), (1.0, 0));
        assert_eq!(round_step(0.13), (0.2, 1));
        assert_eq!(round_step(33.0), (50.0, 0));
    }
}
