//! Lettering on pictures, set in DejaVu Sans Condensed, which travels inside the binary (`fonts/`, with
//! its licence). Glyphs are placed and rasterised with ab_glyph, the library behind plotters' own
//! text: plotters drops each glyph's side bearing and cannot turn a line by other than quarter
//! turns, and strips rarely run due north.

use crate::DrawingError;
use crate::canvas::{Canvas, Rgb};
use crate::paper::WHITE;
use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};

/// How fine a turned line is drawn before it is turned.
const FINENESS: f32 = 3.0;
/// Width of the white rim around lettering on the map, pixels.
const RIM: i32 = 2;
/// Height of a capital, share of the size (DejaVu Sans).
pub const CAP_HEIGHT: f32 = 0.73;

/// Size, weight and colour of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Pixels per em.
    pub size: f32,
    /// Whether it is set in the bold font.
    pub bold: bool,
    /// Its colour.
    pub colour: Rgb,
}

/// The files of the two fonts, regular and bold.
pub const FONTS: [&[u8]; 2] = [
    include_bytes!("../fonts/DejaVuSansCondensed.ttf"),
    include_bytes!("../fonts/DejaVuSansCondensed-Bold.ttf"),
];

/// The two fonts.
pub struct Lettering {
    regular: FontRef<'static>,
    bold: FontRef<'static>,
}

impl Lettering {
    /// Opens the embedded fonts.
    ///
    /// # Errors
    /// When they cannot be read, which would be a fault of this program.
    pub fn new() -> Result<Lettering, DrawingError> {
        let [regular, bold] = FONTS;
        Ok(Lettering {
            regular: FontRef::try_from_slice(regular)?,
            bold: FontRef::try_from_slice(bold)?,
        })
    }

    fn font(&self, bold: bool) -> &FontRef<'static> {
        if bold { &self.bold } else { &self.regular }
    }

    /// Glyphs of `text` along a baseline that starts at the origin, and its width.
    fn set(&self, text: &str, size: f32, bold: bool) -> (Vec<Glyph>, f32) {
        let font = self.font(bold);
        let em = font.units_per_em().unwrap_or(2048.0);
        let scale = PxScale::from(size * font.height_unscaled() / em);
        let scaled = font.as_scaled(scale);
        let (mut glyphs, mut x, mut previous) = (Vec::with_capacity(text.len()), 0.0, None);
        for character in text.chars() {
            let id = font.glyph_id(character);
            if let Some(previous) = previous {
                x += scaled.kern(previous, id);
            }
            glyphs.push(id.with_scale_and_position(scale, point(x, 0.0)));
            x += scaled.h_advance(id);
            previous = Some(id);
        }
        (glyphs, x)
    }

    /// Width of a line, pixels.
    pub fn width(&self, text: &str, style: Style) -> f32 {
        self.set(text, style.size, style.bold).1
    }

    /// Writes a line from `x` on `baseline`.
    pub fn write(&self, canvas: &mut Canvas, text: &str, x: f32, baseline: f32, style: Style) {
        let font = self.font(style.bold);
        for mut glyph in self.set(text, style.size, style.bold).0 {
            glyph.position.x += x;
            glyph.position.y += baseline;
            let Some(outline) = font.outline_glyph(glyph) else {
                continue;
            };
            let corner = outline.px_bounds().min;
            let (left, top) = (corner.x as i32, corner.y as i32);
            outline.draw(|dx, dy, cover| {
                canvas.blend(left + dx as i32, top + dy as i32, style.colour, cover);
            });
        }
    }

    /// Writes a line that ends at `right`.
    pub fn write_to(
        &self,
        canvas: &mut Canvas,
        text: &str,
        right: f32,
        baseline: f32,
        style: Style,
    ) {
        self.write(
            canvas,
            text,
            right - self.width(text, style),
            baseline,
            style,
        );
    }

    /// Breaks `text` at spaces into lines no wider than `width`; a word too wide is shortened.
    pub fn wrap(&self, text: &str, style: Style, width: f32) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split(' ') {
            let longer = lines.last().map(|line| format!("{line} {word}"));
            match (longer, lines.last_mut()) {
                (Some(longer), Some(line)) if self.width(&longer, style) <= width => *line = longer,
                _ => lines.push(self.shorten(word, style, width)),
            }
        }
        lines
    }

    /// `text`, or as much of its beginning as fits `width` with an ellipsis.
    pub fn shorten(&self, text: &str, style: Style, width: f32) -> String {
        if self.width(text, style) <= width {
            return text.to_owned();
        }
        let mut short: String = text.to_owned();
        while short.pop().is_some() {
            let candidate = format!("{}…", short.trim_end());
            if self.width(&candidate, style) <= width {
                return candidate;
            }
        }
        String::new()
    }

    /// Writes a line with its middle at `centre`, turned clockwise by `turn` radians, with a white
    /// rim that keeps it legible over hatching.
    pub fn write_turned(
        &self,
        canvas: &mut Canvas,
        text: &str,
        centre: [f64; 2],
        turn: f64,
        style: Style,
    ) {
        let (fine, fine_width) = self.fine_cover(text, style);
        let (width, height) = (fine_width / FINENESS, style.size * 1.4);
        let (sin, cos) = (turn.sin() as f32, turn.cos() as f32);
        let reach_x = (width * cos.abs() + height * sin.abs()) / 2.0 + 2.0 + RIM as f32;
        let reach_y = (width * sin.abs() + height * cos.abs()) / 2.0 + 2.0 + RIM as f32;
        let (centre_x, centre_y) = (centre[0] as f32, centre[1] as f32);
        let (left, top) = (
            (centre_x - reach_x).floor() as i32,
            (centre_y - reach_y).floor() as i32,
        );
        let columns = (2.0 * reach_x).ceil() as usize + 1;
        let rows = (2.0 * reach_y).ceil() as usize + 1;
        let mut cover = vec![0.0f32; columns * rows];
        for (at, cover) in cover.iter_mut().enumerate() {
            let mut sum = 0.0;
            for sub in 0..9u8 {
                let x =
                    (left + (at % columns) as i32) as f32 + f32::from(sub % 3) / 3.0 + 1.0 / 6.0;
                let y = (top + (at / columns) as i32) as f32 + f32::from(sub / 3) / 3.0 + 1.0 / 6.0;
                let (dx, dy) = (x - centre_x, y - centre_y);
                sum += fine.at(
                    (dx * cos + dy * sin + width / 2.0) * FINENESS,
                    (dy * cos - dx * sin + height / 2.0) * FINENESS,
                );
            }
            *cover = sum / 9.0;
        }
        let rim = widened(&cover, columns);
        for (layer, colour) in [(&rim, WHITE), (&cover, style.colour)] {
            for (at, &opacity) in layer.iter().enumerate() {
                if opacity > 0.0 {
                    let (x, y) = (left + (at % columns) as i32, top + (at / columns) as i32);
                    canvas.blend(x, y, colour, opacity);
                }
            }
        }
    }

    /// A line's cover drawn level and `FINENESS` times too large, capitals centred in height.
    fn fine_cover(&self, text: &str, style: Style) -> (Cover, f32) {
        let size = style.size * FINENESS;
        let (glyphs, width) = self.set(text, size, style.bold);
        let mut cover = Cover::new(width.ceil() as usize + 1, (size * 1.4).ceil() as usize);
        let baseline = size * (1.4 + CAP_HEIGHT) / 2.0;
        for mut glyph in glyphs {
            glyph.position.y += baseline;
            let Some(outline) = self.font(style.bold).outline_glyph(glyph) else {
                continue;
            };
            let corner = outline.px_bounds().min;
            outline.draw(|dx, dy, value| {
                cover.add(
                    corner.x as i32 + dx as i32,
                    corner.y as i32 + dy as i32,
                    value,
                );
            });
        }
        (cover, width)
    }
}

/// How much of each pixel of a small rectangle lettering covers.
struct Cover {
    width: usize,
    height: usize,
    values: Vec<f32>,
}

impl Cover {
    fn new(width: usize, height: usize) -> Cover {
        Cover {
            width,
            height,
            values: vec![0.0; width * height],
        }
    }

    fn place(&self, x: i32, y: i32) -> Option<usize> {
        let inside = x >= 0 && y >= 0 && (x as usize) < self.width && (y as usize) < self.height;
        inside.then(|| y as usize * self.width + x as usize)
    }

    fn add(&mut self, x: i32, y: i32, value: f32) {
        if let Some(place) = self.place(x, y) {
            self.values[place] = (self.values[place] + value).min(1.0);
        }
    }

    fn at(&self, x: f32, y: f32) -> f32 {
        self.place(x.floor() as i32, y.floor() as i32)
            .map_or(0.0, |place| self.values[place])
    }
}

/// The largest cover within [`RIM`] pixels, first along rows, then along columns.
fn widened(cover: &[f32], columns: usize) -> Vec<f32> {
    let rows = cover.len() / columns;
    let reach = RIM as usize;
    let mut along = vec![0.0f32; cover.len()];
    for (line, wide) in cover
        .chunks_exact(columns)
        .zip(along.chunks_exact_mut(columns))
    {
        for (x, value) in wide.iter_mut().enumerate() {
            let near = &line[x.saturating_sub(reach)..(x + reach + 1).min(columns)];
            *value = near.iter().copied().fold(0.0, f32::max);
        }
    }
    let mut both = vec![0.0f32; cover.len()];
    for (at, value) in both.iter_mut().enumerate() {
        let (x, y) = (at % columns, at / columns);
        let (first, past) = (y.saturating_sub(reach), (y + reach + 1).min(rows));
        *value = (first..past)
            .map(|row| along[row * columns + x])
            .fold(0.0, f32::max);
    }
    both
}

#[cfg(test)]
mod tests {
    use super::*;

    const STYLE: Style = Style {
        size: 24.0,
        bold: false,
        colour: [0, 0, 0],
    };

    #[test]
    fn wrapped_lines_fit() {
        let lettering = Lettering::new().unwrap();
        let text =
            "stopped, too slow, too fast or abrupt and averyveryverylongwordindeedwithoutspaces";
        let lines = lettering.wrap(text, STYLE, 200.0);
        assert!(lines.len() > 2);
        for line in &lines {
            assert!(lettering.width(line, STYLE) <= 200.0, "{line}");
        }
        assert!(lines.last().unwrap().ends_with('…'));
    }

    #[test]
    fn the_font_holds_the_signs_pictures_use() {
        let lettering = Lettering::new().unwrap();
        for sign in "°²–—−×½≥≤“”‘’…·←→é≈".chars() {
            for bold in [false, true] {
                assert_ne!(lettering.font(bold).glyph_id(sign).0, 0, "{sign}");
            }
        }
    }

    #[test]
    fn a_turned_line_keeps_its_ink() {
        let lettering = Lettering::new().unwrap();
        let ink = |turn: f64| {
            let mut canvas = Canvas::new(200, 200);
            lettering.write_turned(&mut canvas, "58.3", [100.0, 100.0], turn, STYLE);
            canvas
                .pixels
                .iter()
                .map(|&p| 255.0 - f64::from(p))
                .sum::<f64>()
        };
        assert!(ink(0.0) > 1000.0);
        assert!((ink(1.3) / ink(0.0) - 1.0).abs() < 0.1);
    }
}
