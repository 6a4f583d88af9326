//! The sheet every map stands on: title and subtitle above, the window on the ground, and the
//! legend with north arrow and scale bar beside it, or below where the field is wide. Its sides are
//! planned from the field's shape, so that legend and field never meet. A map paints the ground
//! first, then lets the sheet draw the rest through plotters.

use super::canvas::{Canvas, PixelRect, Rgb};
use super::extent::{Extent, field_extent};
use super::ground::Ground;
use super::legend::{Block, Entry, HEADING, LABEL, Legend, NOTE, SWATCH, SWATCH_GAP, Symbol};
use super::lettering::{Lettering, Style};
use super::marker::Marker;
use super::palette::{INK, PALE_GROUND, REASONS, RULE, SOFT_INK, WHITE};
use super::polygon_fill::{Span, spans};
use super::request::{MapError, MapKind, MapRequest, StripOutline, check_columns};
use super::scale_bar::scale_bar;
use super::strip_label::Label;
use super::stroke::stroke;
use checkstrip_model::CleanLog;
use checkstrip_words::{Reader, say};
use plotters::prelude::{
    BitMapBackend, DrawingArea, IntoDrawingArea, PathElement, Polygon, RGBColor, Rectangle,
};
use plotters::style::Color;

/// Width of every map, pixels.
const WIDTH: i32 = 1600;
/// Least and greatest height, pixels.
const HEIGHTS: (i32, i32) = (900, 1800);
const MARGIN: i32 = 44;
const GAP: i32 = 44;
/// Width of the legend beside the map.
const PANEL: i32 = 430;
/// Columns of the legend below the map.
const COLUMNS: i32 = 3;
const TITLE: Style = Style {
    size: 46.0,
    bold: true,
    colour: INK,
};
const SUBTITLE: Style = Style {
    size: 26.0,
    bold: false,
    colour: SOFT_INK,
};
const SUBTITLE_LINE: f32 = 35.0;
const MESSAGE: Style = Style {
    size: 30.0,
    bold: false,
    colour: SOFT_INK,
};
/// A legend below must show the field this much larger to be preferred.
const BELOW_PAYS: f64 = 1.3;
/// Width of strip outlines and of the white line under them, pixels.
const OUTLINE: (f64, f64) = (1.5, 3.7);

/// A sheet being drawn.
pub(super) struct Sheet {
    pub(super) canvas: Canvas,
    pub(super) ground: Ground,
    pub(super) lettering: Lettering,
    title: String,
    subtitle: Vec<String>,
    legend: Legend,
    legend_corner: (i32, i32),
    has_ground: bool,
}

impl Sheet {
    /// Plans the sheet of `kind`: the subtitle says what was counted, `entries` are its legend.
    pub(super) fn plan(
        kind: MapKind,
        log: &CleanLog,
        request: &MapRequest,
        counted: &str,
        entries: Vec<Entry>,
    ) -> Result<Sheet, MapError> {
        check_columns(log)?;
        let field = request.field;
        let words = request.reader.words;
        let about = say!(
            words,
            "map-about",
            field = &field.name,
            crop = words.crop(&field.crop),
            moisture = words.shortest(field.market_moisture_pct),
            counted = counted
        );
        let found = field_extent(log, request.strips);
        Sheet::lay(&kind.title(words), &about, found, entries)
    }

    /// Plans a sheet that shows the ground `found`: `about` is its subtitle, `entries` its legend.
    pub(super) fn lay(
        title: &str,
        about: &str,
        found: Option<Extent>,
        mut entries: Vec<Entry>,
    ) -> Result<Sheet, MapError> {
        let lettering = Lettering::new()?;
        let mut subtitle = lettering.wrap(about, SUBTITLE, (WIDTH - 2 * MARGIN) as f32);
        subtitle.truncate(3);
        let has_ground = found.is_some();
        if has_ground {
            entries.push(Entry::Orientation);
        }
        let extent = found.unwrap_or(Extent::EMPTY);
        let top = MARGIN + 62 + (subtitle.len() as f32 * SUBTITLE_LINE) as i32 + 22;
        let tallest = HEIGHTS.1 - top - MARGIN;

        let beside = Legend::flow(&entries, &lettering, 1, PANEL as f32);
        let beside_width = WIDTH - 2 * MARGIN - PANEL - GAP;
        let beside_scale = fit(extent, beside_width, tallest);
        let column_width = (WIDTH - 2 * MARGIN - (COLUMNS - 1) * GAP) / COLUMNS;
        let below = Legend::flow(&entries, &lettering, COLUMNS as usize, column_width as f32);
        let below_height = below.height.ceil() as i32;
        let below_room = tallest - GAP - below_height;
        let below_scale = fit(extent, WIDTH - 2 * MARGIN, below_room);

        let (legend, scale, window, height);
        if has_ground && below_room > 0 && below_scale > beside_scale * BELOW_PAYS {
            let least = HEIGHTS.0 - top - MARGIN - GAP - below_height;
            let rows = ((extent.height() * below_scale).ceil() as i32)
                .max(least)
                .min(below_room);
            window = PixelRect {
                left: MARGIN,
                top,
                right: WIDTH - MARGIN,
                bottom: top + rows,
            };
            height = window.bottom + GAP + below_height + MARGIN;
            (legend, scale) = (below, below_scale);
        } else {
            let least = (HEIGHTS.0 - top - MARGIN)
                .max(beside.height.ceil() as i32)
                .min(tallest);
            let rows = ((extent.height() * beside_scale).ceil() as i32)
                .max(least)
                .min(tallest);
            let right = MARGIN + beside_width;
            window = PixelRect {
                left: MARGIN,
                top,
                right,
                bottom: top + rows,
            };
            height = window.bottom + MARGIN;
            (legend, scale) = (beside, beside_scale);
        }
        let legend_corner = if legend.columns.len() > 1 {
            (MARGIN, window.bottom + GAP)
        } else {
            (window.right + GAP, window.top)
        };
        Ok(Sheet {
            canvas: Canvas::new(WIDTH as u32, height as u32),
            ground: Ground::new(extent, window, scale),
            lettering,
            title: title.to_owned(),
            subtitle,
            legend,
            legend_corner,
            has_ground,
        })
    }

    /// Draws the strips' outlines over what the map has painted.
    pub(super) fn outline_strips(&mut self, strips: &[StripOutline]) {
        for (width, colour) in [(OUTLINE.1, WHITE), (OUTLINE.0, INK)] {
            for strip in strips {
                self.outline(&strip.rings, width, colour);
            }
        }
    }

    /// Fills pixels with one colour.
    pub(super) fn fill(&mut self, spans: &[Span], colour: Rgb) {
        for span in spans {
            self.canvas.span(span.y, span.from, span.to, colour);
        }
    }

    /// Writes the labels that found room.
    pub(super) fn write_labels(&mut self, labels: Vec<Option<Label>>) {
        for label in labels.into_iter().flatten() {
            self.lettering.write_turned(
                &mut self.canvas,
                &label.text,
                label.centre,
                label.turn,
                label.style,
            );
        }
    }

    /// Draws rings given in the local plane, m, as lines `width` pixels wide.
    pub(super) fn outline(&mut self, rings: &[Vec<[f64; 2]>], width: f64, colour: Rgb) {
        for ring in rings {
            let mut points: Vec<[f64; 2]> = ring.iter().map(|&p| self.ground.pixel(p)).collect();
            points.extend(points.first().copied());
            stroke(&mut self.canvas, self.ground.window, &points, width, colour);
        }
    }

    /// The pixels inside rings given in the local plane, m.
    pub(super) fn ground_spans(&self, rings: &[Vec<[f64; 2]>]) -> Vec<Span> {
        let pixel = |&point: &[f64; 2]| self.ground.pixel(point);
        let rings: Vec<Vec<[f64; 2]>> = rings
            .iter()
            .map(|ring| ring.iter().map(pixel).collect())
            .collect();
        spans(&rings, self.ground.window)
    }

    /// Draws title, legend, scale bar and north arrow, and encodes the picture.
    pub(super) fn finish(mut self, reader: Reader) -> Result<Vec<u8>, MapError> {
        let (left, top) = (MARGIN as f32, MARGIN as f32);
        self.lettering
            .write(&mut self.canvas, &self.title, left, top + 40.0, TITLE);
        for (line, text) in self.subtitle.iter().enumerate() {
            let baseline = top + 90.0 + line as f32 * SUBTITLE_LINE;
            self.lettering
                .write(&mut self.canvas, text, left, baseline, SUBTITLE);
        }
        if !self.has_ground {
            let window = self.ground.window;
            let middle = (window.top + window.bottom) as f32 / 2.0;
            let text = say!(reader.words, "map-nothing");
            let start = window.left as f32
                + (window.width() as f32 - self.lettering.width(&text, MESSAGE)) / 2.0;
            self.lettering
                .write(&mut self.canvas, &text, start, middle, MESSAGE);
        }
        let columns = std::mem::take(&mut self.legend.columns);
        for (place, column) in columns.iter().enumerate() {
            let x = self.legend_corner.0 as f32
                + place as f32 * (self.legend.column_width + GAP as f32);
            let mut y = self.legend_corner.1 as f32;
            for (row, block) in column.iter().enumerate() {
                if row > 0 {
                    y += block.space_above();
                }
                self.draw_block(block, x, y, reader)?;
                y += block.height;
            }
        }
        Ok(self.canvas.into_png()?)
    }

    fn draw_block(
        &mut self,
        block: &Block,
        x: f32,
        y: f32,
        reader: Reader,
    ) -> Result<(), MapError> {
        match &block.entry {
            Entry::Heading(_) => {
                for (line, text) in block.lines.iter().enumerate() {
                    let baseline = y + 25.0 + line as f32 * 34.0;
                    self.lettering
                        .write(&mut self.canvas, text, x, baseline, HEADING);
                }
            }
            Entry::Note(_) => {
                for (line, text) in block.lines.iter().enumerate() {
                    let baseline = y + 22.0 + line as f32 * 28.0;
                    self.lettering
                        .write(&mut self.canvas, text, x, baseline, NOTE);
                }
            }
            Entry::Key { symbol, figure, .. } => {
                self.draw_symbol(*symbol, x as i32, y as i32 + 1)?;
                for (line, text) in block.lines.iter().enumerate() {
                    let baseline = y + 24.0 + line as f32 * 30.0;
                    let from = x + SWATCH.0 + SWATCH_GAP;
                    self.lettering
                        .write(&mut self.canvas, text, from, baseline, LABEL);
                }
                let right = x + self.legend.column_width;
                self.lettering
                    .write_to(&mut self.canvas, figure, right, y + 24.0, LABEL);
            }
            Entry::Orientation => self.draw_orientation(x, y, reader)?,
        }
        Ok(())
    }

    fn draw_symbol(&mut self, symbol: Symbol, x: i32, y: i32) -> Result<(), MapError> {
        let (right, bottom) = (x + SWATCH.0 as i32, y + SWATCH.1 as i32);
        let (middle, half) = ((x + right) / 2, (y + bottom) / 2);
        let rect = PixelRect {
            left: x,
            top: y,
            right,
            bottom,
        };
        match symbol {
            Symbol::Patch(colour) => self.patch(rect, colour)?,
            Symbol::Bands(colour) => {
                self.patch(
                    PixelRect {
                        right: middle - 1,
                        ..rect
                    },
                    colour,
                )?;
                self.patch(
                    PixelRect {
                        left: middle + 1,
                        ..rect
                    },
                    colour,
                )?;
            }
            Symbol::Hatching(hatch) => {
                self.patch(rect, WHITE)?;
                let spans: Vec<Span> = (y..bottom)
                    .map(|y| Span {
                        y,
                        from: x,
                        to: right,
                    })
                    .collect();
                hatch.paint(&mut self.canvas, &spans);
            }
            Symbol::Reason(place) => {
                let colour = REASONS[place % REASONS.len()];
                self.patch(rect, PALE_GROUND)?;
                self.patch(
                    PixelRect {
                        right: x + 20,
                        ..rect
                    },
                    colour,
                )?;
                Marker::of_reason(place, colour).stamp(&mut self.canvas, rect, x + 33, half);
            }
            Symbol::Mark(shape, colour) => {
                let reach = (bottom - y) / 2;
                Marker::new(shape, reach, colour).stamp(&mut self.canvas, rect, middle, half);
                return Ok(());
            }
            Symbol::Outline => {}
        }
        let style = rgb(if symbol == Symbol::Outline { INK } else { RULE }).stroke_width(1);
        let inked = if symbol == Symbol::Outline { 2 } else { 1 };
        let frame = Rectangle::new([(x, y), (right - 1, bottom - 1)], style.stroke_width(inked));
        self.shapes(|area| area.draw(&frame).map_err(drawing))
    }

    fn patch(&mut self, rect: PixelRect, colour: Rgb) -> Result<(), MapError> {
        let corners = [(rect.left, rect.top), (rect.right - 1, rect.bottom - 1)];
        let patch = Rectangle::new(corners, rgb(colour).filled());
        self.shapes(|area| area.draw(&patch).map_err(drawing))
    }

    /// North arrow at the left, scale bar beside it.
    fn draw_orientation(&mut self, x: f32, y: f32, reader: Reader) -> Result<(), MapError> {
        let (left, top) = (x as i32, y as i32);
        let (tip, foot, centre) = (top + 34, top + 104, left + 24);
        let west = Polygon::new(
            vec![(centre, tip), (centre - 20, foot), (centre, foot - 16)],
            rgb(INK).filled(),
        );
        let east = PathElement::new(
            vec![
                (centre, tip),
                (centre + 20, foot),
                (centre, foot - 16),
                (centre, tip),
            ],
            rgb(INK).stroke_width(2),
        );
        let bar_left = left + 84;
        let room = f64::from(self.legend.column_width) - 84.0 - 60.0;
        let bar = scale_bar(self.ground.scale, room, reader);
        self.shapes(|area| {
            area.draw(&west).map_err(drawing)?;
            area.draw(&east).map_err(drawing)?;
            let Some(bar) = &bar else { return Ok(()) };
            let (from, to) = (bar_left, bar_left + bar.pixels.round() as i32);
            let (upper, lower) = (top + 76, top + 90);
            let filled =
                Rectangle::new([(from, upper), ((from + to) / 2, lower)], rgb(INK).filled());
            area.draw(&filled).map_err(drawing)?;
            let frame = Rectangle::new([(from, upper), (to, lower)], rgb(INK).stroke_width(2));
            area.draw(&frame).map_err(drawing)
        })?;
        let north = Style {
            size: 28.0,
            ..HEADING
        };
        let letter = say!(reader.words, "map-north");
        let start = centre as f32 - self.lettering.width(&letter, north) / 2.0;
        self.lettering
            .write(&mut self.canvas, &letter, start, y + 26.0, north);
        if let Some(bar) = bar {
            let baseline = y + 66.0;
            self.lettering.write(
                &mut self.canvas,
                "0",
                bar_left as f32 - 4.0,
                baseline,
                LABEL,
            );
            let end = bar_left as f32 + bar.pixels as f32;
            let width = self.lettering.width(&bar.label, LABEL);
            self.lettering.write(
                &mut self.canvas,
                &bar.label,
                end - width / 2.0,
                baseline,
                LABEL,
            );
        }
        Ok(())
    }

    /// Draws shapes through plotters into the same pixels.
    fn shapes(
        &mut self,
        draw: impl FnOnce(
            &DrawingArea<BitMapBackend<'_>, plotters::coord::Shift>,
        ) -> Result<(), MapError>,
    ) -> Result<(), MapError> {
        let size = (self.canvas.width, self.canvas.height);
        let area = BitMapBackend::with_buffer(&mut self.canvas.pixels, size).into_drawing_area();
        draw(&area)?;
        area.present().map_err(drawing)
    }
}

/// The largest scale, pixels per metre, at which `extent` fits.
fn fit(extent: Extent, width: i32, height: i32) -> f64 {
    (f64::from(width) / extent.width()).min(f64::from(height) / extent.height())
}

fn rgb(colour: Rgb) -> RGBColor {
    RGBColor(colour[0], colour[1], colour[2])
}

fn drawing(error: impl std::fmt::Display) -> MapError {
    MapError::Surface(error.to_string())
}
