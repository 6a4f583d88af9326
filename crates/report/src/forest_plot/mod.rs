//! The forest plot of a pooled answer as a PNG picture: one row per field with its interval and a
//! square as large as its weight, a diamond for all fields together, a bar for one further field. One
//! panel per treatment, all on one scale. (Lewis, S. and Clarke, M. 2001, *Forest plots: trying to
//! see the wood and the trees*, BMJ 322, 1479–1480.)

mod marks;
mod scale;

use crate::ReportError;
use crate::figures::{Figures, UNKNOWN};
use crate::pooled::checks;
use checkstrip_drawing::canvas::{Canvas, PixelRect};
use checkstrip_drawing::lettering::{Lettering, Style};
use checkstrip_drawing::paper::{INK, RULE, SOFT_INK};
use checkstrip_drawing::stroke::stroke;
use checkstrip_model::results::{Pooled, PooledEntry, PooledTreatment};
use checkstrip_words::{Reader, say};
use marks::{arrow, bar, dashes, diamond, square};
use scale::Scale;

/// Width of the picture, as of the maps, pixels.
const WIDTH: f32 = 1600.0;
const MARGIN: f32 = 44.0;
/// Where the plot begins and ends.
const PLOT: (f32, f32) = (470.0, 1130.0);
/// Right edge of the column of figures.
const FIGURES_END: f32 = 1440.0;
/// Height of a row, where there are few and where there are many.
const ROWS: (f32, f32) = (50.0, 34.0);
/// Up to so many rows are set at ease.
const AT_EASE: usize = 40;
/// Sides of the smallest and the largest square, pixels.
const SQUARES: (f64, f64) = (8.0, 34.0);
/// More fields than this would make a picture too large to open: the heaviest are drawn.
const MOST_FIELDS: usize = 300;

const TITLE: Style = style(46.0, true);
const HEADING: Style = style(30.0, true);
const NAME: Style = style(27.0, false);
const STRONG: Style = style(27.0, true);
const SOFT: Style = Style {
    size: 25.0,
    bold: false,
    colour: SOFT_INK,
};

const fn style(size: f32, bold: bool) -> Style {
    Style {
        size,
        bold,
        colour: INK,
    }
}

/// Draws the forest plot of every pooled treatment for `reader`, and returns it as a PNG file,
/// 1600 pixels wide. Intervals that reach beyond the scale end in an arrow.
///
/// # Errors
/// When the picture cannot be encoded, which would be a fault of this program.
pub fn forest_plot(pooled: &Pooled, reader: Reader) -> Result<Vec<u8>, ReportError> {
    let field = pooled.crop.as_field("");
    let figures = Figures::new(&field, reader);
    let words = reader.words;
    let lettering = Lettering::new()?;
    let panels: Vec<Panel> = pooled
        .treatments
        .iter()
        .map(|treatment| Panel::new(treatment, figures))
        .collect();
    let rows: usize = panels.iter().map(|panel| panel.shown.len()).sum();
    let row = if rows > AT_EASE { ROWS.1 } else { ROWS.0 };
    let height: f32 = 150.0 + panels.iter().map(|p| p.height(row)).sum::<f32>() + 210.0;
    let mut sheet = Sheet {
        canvas: Canvas::new(WIDTH as u32, height.ceil() as u32),
        scale: Scale::new(pooled, figures, f64::from(PLOT.0), f64::from(PLOT.1)),
        lettering,
        figures,
        row,
    };
    let about = say!(
        words,
        "forest-about",
        crop = figures.crop(),
        moisture = words.shortest(pooled.crop.market_moisture_pct),
        unit = figures.yield_unit()
    );
    sheet.write(&say!(words, "forest-title"), MARGIN, 84.0, TITLE);
    sheet.write(&about, MARGIN, 128.0, SOFT);
    let mut top = 150.0;
    for panel in &panels {
        sheet.panel(panel, top);
        top += panel.height(row);
    }
    sheet.axis(top);
    sheet.key(top + 118.0, &panels);
    Ok(sheet.canvas.into_png()?)
}

/// One treatment's part of the picture.
struct Panel<'a> {
    treatment: &'a PooledTreatment,
    /// The fields drawn, in their order.
    shown: Vec<&'a PooledEntry>,
    /// What stands below: fields not drawn, fields left out.
    note: String,
}

impl Panel<'_> {
    fn new<'a>(treatment: &'a PooledTreatment, figures: Figures) -> Panel<'a> {
        let mut weights: Vec<f64> = treatment.entries.iter().map(|e| e.weight_pct).collect();
        weights.sort_by(|a, b| b.total_cmp(a));
        let least = weights.get(MOST_FIELDS - 1).copied().unwrap_or(0.0);
        let shown: Vec<&PooledEntry> = treatment
            .entries
            .iter()
            .filter(|entry| entry.weight_pct >= least)
            .take(MOST_FIELDS)
            .collect();
        let mut notes = Vec::new();
        let hidden = treatment.entries.len() - shown.len();
        if hidden > 0 {
            notes.push(say!(figures.words, "forest-lighter", hidden = hidden));
        }
        if !treatment.left_out.is_empty() {
            let names: Vec<&str> = treatment
                .left_out
                .iter()
                .map(|entry| entry.field.as_str())
                .collect();
            notes.push(say!(
                figures.words,
                "forest-left-out",
                fields = names.join(", ")
            ));
        }
        Panel {
            treatment,
            shown,
            note: notes.join("; "),
        }
    }

    /// Rows below the fields: all together, one further field, the note.
    fn rows_below(&self) -> usize {
        1 + usize::from(self.treatment.prediction.is_some()) + usize::from(!self.note.is_empty())
    }

    fn height(&self, row: f32) -> f32 {
        70.0 + row * (self.shown.len() + self.rows_below()) as f32 + 20.0
    }
}

struct Sheet<'a> {
    canvas: Canvas,
    lettering: Lettering,
    scale: Scale,
    figures: Figures<'a>,
    /// Height of a row.
    row: f32,
}

impl Sheet<'_> {
    fn write(&mut self, text: &str, x: f32, baseline: f32, style: Style) {
        self.lettering
            .write(&mut self.canvas, text, x, baseline, style);
    }

    fn write_to(&mut self, text: &str, right: f32, baseline: f32, style: Style) {
        self.lettering
            .write_to(&mut self.canvas, text, right, baseline, style);
    }

    fn line(&mut self, from: [f32; 2], to: [f32; 2], width: f64, colour: [u8; 3]) {
        let window = self.canvas.rect();
        let points = [from, to].map(|point| point.map(f64::from));
        stroke(&mut self.canvas, window, &points, width, colour);
    }

    fn panel(&mut self, panel: &Panel, top: f32) {
        let treatment = panel.treatment;
        let window = self.window();
        let words = self.figures.words;
        let checks = checks(treatment, self.figures);
        let heading = self.figures.difference_name(&treatment.treatment, &checks);
        let room = PLOT.1 - MARGIN;
        let heading = self.lettering.shorten(&heading, HEADING, room);
        self.write(&heading, MARGIN, top + 46.0, HEADING);
        let difference = say!(words, "forest-column-difference");
        self.write_to(&difference, FIGURES_END, top + 46.0, SOFT);
        let weight = say!(words, "forest-column-weight");
        self.write_to(&weight, WIDTH - MARGIN, top + 46.0, SOFT);
        let rule = top + 62.0;
        self.line([MARGIN, rule], [WIDTH - MARGIN, rule], 2.0, INK);
        let first = top + 70.0;
        let rows = panel.shown.len() + 1 + usize::from(treatment.prediction.is_some());
        self.across(treatment, first, first + self.row * rows as f32);

        let heaviest = treatment
            .entries
            .iter()
            .map(|entry| entry.weight_pct)
            .fold(0.0, f64::max);
        for (place, entry) in panel.shown.iter().enumerate() {
            let middle = first + self.row * (place as f32 + 0.5);
            self.field(entry, heaviest, middle);
        }
        let mut middle = first + self.row * (panel.shown.len() as f32 + 0.5);
        let rule = middle - self.row / 2.0;
        self.line([MARGIN, rule], [WIDTH - MARGIN, rule], 1.0, RULE);
        let name = match treatment.fields {
            2 => say!(words, "forest-both"),
            fields => say!(
                words,
                "forest-all",
                fields = self.figures.counted("count-fields", fields)
            ),
        };
        let interval = treatment.interval_95_kg_ha;
        self.labels(
            &name,
            Some(treatment.advantage_kg_ha),
            Some(interval),
            &self.figures.percentage(100.0, 0),
            middle,
            STRONG,
        );
        let [low, high] = interval.map(|end| self.place(end));
        let mean = self.place(treatment.advantage_kg_ha);
        diamond(
            &mut self.canvas,
            window,
            [low, mean, high],
            f64::from(middle),
        );
        self.arrows(interval, middle);
        if let Some(next) = &treatment.prediction {
            middle += self.row;
            let interval = next.interval_95_kg_ha;
            let name = say!(words, "forest-further");
            self.labels(&name, None, Some(interval), "", middle, NAME);
            let [low, high] = interval.map(|end| self.place(end));
            bar(&mut self.canvas, window, [low, high], f64::from(middle));
            self.arrows(interval, middle);
        }
        if !panel.note.is_empty() {
            let baseline = middle + self.row + 9.0;
            let note = self
                .lettering
                .shorten(&panel.note, SOFT, WIDTH - 2.0 * MARGIN);
            self.write(&note, MARGIN, baseline, SOFT);
        }
    }

    /// The lines of no difference and of break-even, and the scale's, behind the rows.
    fn across(&mut self, treatment: &PooledTreatment, top: f32, bottom: f32) {
        for (value, _) in self.scale.ticks(self.figures.words.marks()) {
            let x = self.scale.place(value) as f32;
            self.line([x, top], [x, bottom], 1.0, [226, 226, 226]);
        }
        let zero = self.scale.place(0.0) as f32;
        self.line([zero, top], [zero, bottom], 2.5, INK);
        if let Some(payoff) = &treatment.payoff {
            let x = self.place(payoff.break_even_kg_ha);
            let window = self.window();
            dashes(
                &mut self.canvas,
                window,
                x,
                [f64::from(top), f64::from(bottom)],
            );
        }
    }

    fn field(&mut self, entry: &PooledEntry, heaviest: f64, middle: f32) {
        let interval = entry.interval_95_kg_ha;
        self.labels(
            &entry.field,
            entry.advantage_kg_ha,
            interval,
            &self.figures.percentage(entry.weight_pct, 1),
            middle,
            NAME,
        );
        if let Some(ends) = interval {
            let window = self.window();
            let ends_at = ends.map(|end| [self.place(end), f64::from(middle)]);
            stroke(&mut self.canvas, window, &ends_at, 3.0, INK);
            self.arrows(ends, middle);
        }
        if let Some(advantage) = entry.advantage_kg_ha {
            let share = if heaviest > 0.0 {
                entry.weight_pct / heaviest
            } else {
                0.0
            };
            // The area shows the weight; rows may be too low for the largest square.
            let largest = SQUARES.1.min(f64::from(self.row) - 8.0);
            let side = (largest * share.sqrt()).max(SQUARES.0);
            let centre = [self.place(advantage), f64::from(middle)];
            let window = self.window();
            square(&mut self.canvas, window, centre, side);
        }
    }

    fn labels(
        &mut self,
        name: &str,
        advantage: Option<f64>,
        interval: Option<[f64; 2]>,
        weight: &str,
        middle: f32,
        style: Style,
    ) {
        let baseline = middle + 9.0;
        let room = PLOT.0 - MARGIN - 24.0;
        let name = self.lettering.shorten(name, style, room);
        self.write(&name, MARGIN, baseline, style);
        let ends = interval.map_or(UNKNOWN.to_owned(), |[low, high]| {
            self.figures
                .range(&self.figures.yields(low), &self.figures.yields(high))
        });
        let text = match advantage {
            Some(kg_ha) => say!(
                self.figures.words,
                "fields-without",
                size = self.figures.yields(kg_ha),
                interval = ends
            ),
            None => ends,
        };
        self.write_to(&text, FIGURES_END, baseline, style);
        self.write_to(weight, WIDTH - MARGIN, baseline, style);
    }

    /// Arrows where an interval goes on beyond the scale.
    fn arrows(&mut self, interval: [f64; 2], middle: f32) {
        let window = self.window();
        let [low, high] = interval.map(|end| self.place(end));
        if low < f64::from(window.left) {
            let tip = [f64::from(window.left), f64::from(middle)];
            arrow(&mut self.canvas, tip, -1.0);
        }
        if high > f64::from(window.right) {
            let tip = [f64::from(window.right), f64::from(middle)];
            arrow(&mut self.canvas, tip, 1.0);
        }
    }

    fn axis(&mut self, top: f32) {
        self.line([PLOT.0, top], [PLOT.1, top], 2.0, INK);
        for (value, label) in self.scale.ticks(self.figures.words.marks()) {
            let x = self.scale.place(value) as f32;
            self.line([x, top], [x, top + 9.0], 2.0, INK);
            let start = x - self.lettering.width(&label, SOFT) / 2.0;
            self.write(&label, start, top + 38.0, SOFT);
        }
        let label = say!(
            self.figures.words,
            "forest-axis",
            unit = self.figures.yield_unit()
        );
        let width = self.lettering.width(&label, SOFT);
        let start = (PLOT.0 + PLOT.1 - width) / 2.0;
        self.write(&label, start, top + 74.0, SOFT);
    }

    /// What the marks mean.
    fn key(&mut self, top: f32, panels: &[Panel]) {
        let words = self.figures.words;
        let window = self.canvas.rect();
        let middle = f64::from(top) + 20.0;
        let mut x = MARGIN;
        let mut entry = |sheet: &mut Sheet, width: f32, label: &str| {
            sheet.write(label, x + width + 12.0, top + 29.0, SOFT);
            let end = x + width + 12.0 + sheet.lettering.width(label, SOFT);
            let start = f64::from(x);
            x = end + 36.0;
            start
        };
        let at = entry(self, 44.0, &say!(words, "forest-key-field"));
        stroke(
            &mut self.canvas,
            window,
            &[[at, middle], [at + 44.0, middle]],
            3.0,
            INK,
        );
        square(&mut self.canvas, window, [at + 22.0, middle], 20.0);
        let at = entry(self, 60.0, &say!(words, "forest-key-mean"));
        diamond(&mut self.canvas, window, [at, at + 30.0, at + 60.0], middle);
        if panels
            .iter()
            .any(|panel| panel.treatment.prediction.is_some())
        {
            let at = entry(self, 60.0, &say!(words, "forest-key-further"));
            bar(&mut self.canvas, window, [at, at + 60.0], middle);
        }
        let gains: Vec<f64> = panels
            .iter()
            .filter_map(|panel| panel.treatment.payoff.as_ref())
            .map(|payoff| payoff.break_even_bu_ac)
            .collect();
        if let Some(gain) = gains.first() {
            let label = if gains.len() == 1 {
                say!(
                    words,
                    "plot-break-even",
                    gain = self.figures.break_even(*gain)
                )
            } else {
                say!(words, "forest-key-break-even")
            };
            let at = entry(self, 12.0, &label);
            dashes(
                &mut self.canvas,
                window,
                at + 6.0,
                [middle - 20.0, middle + 20.0],
            );
        }
    }

    /// Where a figure in kg/ha stands, pixels; may lie outside the window.
    fn place(&self, kg_ha: f64) -> f64 {
        self.scale.place(self.figures.shown_yield(kg_ha))
    }

    /// The part of the picture that marks may fill.
    fn window(&self) -> PixelRect {
        PixelRect {
            left: PLOT.0 as i32,
            right: PLOT.1 as i32,
            ..self.canvas.rect()
        }
    }
}

#[cfg(test)]
mod tests;
