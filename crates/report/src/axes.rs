//! The two axes of a chart with curves: from values as shown to places in the drawing, with round
//! values along both. The template `axes.html` draws them.

use crate::row_plot::{place_to_tenths, round_step};
use checkstrip_words::Marks;
use serde::Serialize;

/// Room beside the drawing's edges for what the axes say, in units of the drawing.
const LEFT: f64 = 74.0;
const RIGHT: f64 = 24.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 56.0;

/// A labelled place on an axis.
#[derive(Debug, Serialize)]
pub(crate) struct Tick {
    pub(crate) at: f64,
    pub(crate) label: String,
}

/// A point in the drawing, and what it says.
#[derive(Debug, Serialize)]
pub(crate) struct Dot {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) says: String,
}

/// What one axis spans, in the unit it is shown in.
pub(crate) struct Axis {
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// No round value below this is written.
    pub(crate) ticks_from: f64,
    /// Round values, about.
    pub(crate) ticks: f64,
    pub(crate) label: String,
}

/// Both axes, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct Axes {
    width: f64,
    height: f64,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    x_label: String,
    y_label: String,
    x_ticks: Vec<Tick>,
    y_ticks: Vec<Tick>,
    #[serde(skip)]
    x: [f64; 2],
    #[serde(skip)]
    y: [f64; 2],
}

impl Axes {
    /// Axes of a drawing of `size` (width and height), each spanning more than nothing; figures with `marks`.
    pub(crate) fn new([width, height]: [f64; 2], x: Axis, y: Axis, marks: &Marks) -> Axes {
        let mut axes = Axes {
            width,
            height,
            left: LEFT,
            right: width - RIGHT,
            top: TOP,
            bottom: height - BOTTOM,
            x_label: x.label,
            y_label: y.label,
            x_ticks: Vec::new(),
            y_ticks: Vec::new(),
            x: [x.from, x.to],
            y: [y.from, y.to],
        };
        axes.x_ticks = ticks(x.ticks_from, x.to, x.ticks, marks, |shown| axes.x(shown));
        axes.y_ticks = ticks(y.ticks_from, y.to, y.ticks, marks, |shown| axes.y(shown));
        axes
    }

    /// Place of a value along the drawing.
    pub(crate) fn x(&self, shown: f64) -> f64 {
        let part = (shown - self.x[0]) / (self.x[1] - self.x[0]);
        place_to_tenths(self.left + part * (self.right - self.left))
    }

    /// Place of a value up the drawing; what lies beyond the axis stays at its end.
    pub(crate) fn y(&self, shown: f64) -> f64 {
        let part = (shown - self.y[0]) / (self.y[1] - self.y[0]);
        let place = self.bottom - part * (self.bottom - self.top);
        place_to_tenths(place.clamp(self.top, self.bottom))
    }
}

fn ticks(low: f64, high: f64, wanted: f64, marks: &Marks, place: impl Fn(f64) -> f64) -> Vec<Tick> {
    let (step, decimals) = round_step((high - low) / wanted);
    let values = ((low / step).ceil() as i64)..=((high / step).floor() as i64);
    let values = values.map(|k| k as f64 * step);
    values
        .map(|shown| Tick {
            at: place(shown),
            label: marks.number(shown, decimals),
        })
        .collect()
}

/// The least and greatest of finite values.
pub(crate) fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .filter(|value| value.is_finite())
        .fold(None, |ends, value| match ends {
            None => Some((value, value)),
            Some((low, high)) => Some((f64::min(low, value), f64::max(high, value))),
        })
}
