//! The sheet to carry in the cab: a planned trial with its strips in driving order, each with number
//! and treatment in large lettering and hatching, the passes in it, headland, widths, north and
//! scale. Nothing on it is a yield.

use super::extent::extent_of;
use super::hatch::Hatch;
use super::legend::{Entry, Symbol};
use super::lettering::Style;
use super::palette::{DROPPED_GROUND, INK, PALE_GROUND, RULE, WHITE};
use super::request::{MapError, StripOutline};
use super::sheet::Sheet;
use super::strip_label::{Label, Labelled, place_labels};
use super::strip_yields::treatments;
use super::stroke::stroke;
use crate::compass::compass;
use checkstrip_drawing::canvas::Rgb;
use checkstrip_model::units::{M_PER_FOOT, UnitSystem};
use checkstrip_words::Words;

/// What the sheet shows. Rings and lines are in the local plane, east and north, m.
#[derive(Debug, Clone)]
pub struct PlanMap<'a> {
    /// Name of the field.
    pub name: &'a str,
    /// Units of lengths and scale bar.
    pub units: UnitSystem,
    /// The field's boundary.
    pub boundary: &'a [Vec<[f64; 2]>],
    /// The ground inside the headland.
    pub ground: &'a [Vec<[f64; 2]>],
    /// The strips in driving order; no yields.
    pub strips: &'a [StripOutline],
    /// Length of each, m.
    pub lengths_m: &'a [f64],
    /// Lines between the passes of a strip.
    pub pass_lines: &'a [[[f64; 2]; 2]],
    /// Width of the implement, m.
    pub implement_width_m: f64,
    /// Its passes in each strip.
    pub passes: u32,
    /// Which way strips run, degrees clockwise from true north; their numbers rise to the right.
    pub direction_deg: f64,
}

/// Strips listed one by one; of more, treatments are listed.
const LISTED: usize = 26;
/// Numbers beyond the ends of thin strips, how far off they stand and how far apart their rows,
/// pixels.
const END_NUMBER: Style = Style {
    size: 20.0,
    bold: true,
    colour: INK,
};
const END_GAP: f64 = 14.0;
const END_ROW: f64 = 19.0;
/// Corners this near to a strip's end are corners of that end, m.
const SAME_END_M: f64 = 0.5;
const BOUNDARY_WIDTH: f64 = 3.0;
const PASS_LINE_WIDTH: f64 = 1.0;

/// Draws the sheet and returns it as a PNG file, 1600 pixels wide.
///
/// # Errors
/// When the picture cannot be encoded.
pub fn plan_map(map: &PlanMap) -> Result<Vec<u8>, MapError> {
    // The sheet is in English in every language (docs/languages.md).
    let english = Words::english();
    let looks = treatments(map.strips);
    let look_of = |strip: &StripOutline| {
        let look = looks.iter().find(|look| look.name == strip.treatment);
        look.map_or(Hatch::CHECK, |look| look.hatch)
    };
    let width = map.implement_width_m;
    let passes = match map.passes {
        1 => "1 pass".to_owned(),
        passes => format!("{passes} passes"),
    };
    let about = format!(
        "{} · {} strips, each {} wide: {passes} of {} · {:.1}° from true north",
        map.name,
        english.count(map.strips.len()),
        length(width * f64::from(map.passes), 0, map.units),
        length(width, 0, map.units),
        map.direction_deg,
    );
    let mut legend = Vec::new();
    if map.strips.len() <= LISTED {
        legend.push(Entry::Heading("Strips in driving order, length".to_owned()));
        for (strip, length_m) in map.strips.iter().zip(map.lengths_m) {
            legend.push(Entry::key(
                Symbol::Hatching(look_of(strip)),
                format!("{}  {}", strip.strip_id, strip.treatment),
                length(*length_m, 0, map.units),
            ));
        }
    } else {
        legend.push(Entry::Heading("Treatment, strips".to_owned()));
        for look in &looks {
            let symbol = Symbol::Hatching(look.hatch);
            legend.push(Entry::key(symbol, look.name, english.count(look.strips)));
        }
    }
    legend.push(Entry::Note(format!(
        "Strip 1 lies farthest {}; numbers rise towards the {}.",
        compass(map.direction_deg - 90.0),
        compass(map.direction_deg + 90.0)
    )));
    legend.push(Entry::Heading("Also shown".to_owned()));
    if map.passes > 1 {
        legend.push(Entry::Note(
            "Thin lines part the passes of a strip.".to_owned(),
        ));
    }
    legend.push(Entry::key(Symbol::Patch(DROPPED_GROUND), "headland", ""));
    legend.push(Entry::key(Symbol::Patch(PALE_GROUND), "no strip", ""));
    legend.push(Entry::Note(
        "Follow the machine's manual and the rules of road and field. Keep people away.".to_owned(),
    ));

    let extent = extent_of(map.boundary.iter().flatten());
    let mut sheet = Sheet::lay("Strips to drive", &about, extent, legend)?;
    fill(&mut sheet, map.boundary, DROPPED_GROUND);
    fill(&mut sheet, map.ground, PALE_GROUND);
    let labelled = |name: &dyn Fn(&StripOutline) -> String| -> Vec<Labelled> {
        map.strips
            .iter()
            .map(|strip| Labelled {
                spans: sheet.ground_spans(&strip.rings),
                forms: vec![name(strip)],
            })
            .collect()
    };
    // Number and treatment in one size before a larger number alone.
    let named = labelled(&|strip| format!("{}  {}", strip.strip_id, strip.treatment));
    let numbered = labelled(&|strip| strip.strip_id.clone());
    let labels: Vec<Option<Label>> = place_labels(&named, &sheet.lettering)
        .into_iter()
        .zip(place_labels(&numbered, &sheet.lettering))
        .map(|(name, number)| name.or(number))
        .collect();
    for (strip, ground) in map.strips.iter().zip(&named) {
        sheet.fill(&ground.spans, WHITE);
        look_of(strip).paint(&mut sheet.canvas, &ground.spans);
    }
    for line in map.pass_lines {
        let ends = line.map(|end| sheet.ground.pixel(end));
        let window = sheet.ground.window;
        stroke(&mut sheet.canvas, window, &ends, PASS_LINE_WIDTH, RULE);
    }
    sheet.outline_strips(map.strips);
    sheet.outline(map.boundary, BOUNDARY_WIDTH, INK);
    for (place, (strip, label)) in map.strips.iter().zip(labels).enumerate() {
        match label {
            Some(label) => {
                let (canvas, lettering) = (&mut sheet.canvas, &sheet.lettering);
                lettering.write_turned(canvas, &label.text, label.centre, label.turn, label.style);
            }
            None => number_ends(&mut sheet, strip, place, map.direction_deg),
        }
    }
    sheet.finish(map.units.into())
}

/// Writes the number of a strip that is too thin for a label beyond both its ends, neighbours in two
/// rows so that they do not meet.
fn number_ends(sheet: &mut Sheet, strip: &StripOutline, place: usize, direction_deg: f64) {
    let (sin, cos) = direction_deg.to_radians().sin_cos();
    let points = || {
        strip
            .rings
            .iter()
            .flatten()
            .filter(|p| p[0].is_finite() && p[1].is_finite())
    };
    let along = |p: &[f64; 2]| p[0] * sin + p[1] * cos;
    let away = END_GAP + END_ROW * (place % 2) as f64;
    for end in [1.0, -1.0] {
        let farthest = points()
            .map(|p| along(p) * end)
            .fold(f64::NEG_INFINITY, f64::max);
        let corners: Vec<&[f64; 2]> = points()
            .filter(|p| farthest - along(p) * end < SAME_END_M)
            .collect();
        if corners.is_empty() {
            continue;
        }
        let count = corners.len() as f64;
        let middle = [0, 1].map(|axis| corners.iter().map(|p| p[axis]).sum::<f64>() / count);
        let [x, y] = sheet.ground.pixel(middle);
        let centre = [x + sin * end * away, y - cos * end * away];
        let (canvas, lettering) = (&mut sheet.canvas, &sheet.lettering);
        lettering.write_turned(canvas, &strip.strip_id, centre, 0.0, END_NUMBER);
    }
}

fn fill(sheet: &mut Sheet, rings: &[Vec<[f64; 2]>], colour: Rgb) {
    let found = sheet.ground_spans(rings);
    sheet.fill(&found, colour);
}

/// A length with its unit, feet or metres, decimals only where they say something.
fn length(metres: f64, decimals: usize, units: UnitSystem) -> String {
    let (value, unit) = match units {
        UnitSystem::Farm => (metres / M_PER_FOOT, "ft"),
        UnitSystem::Si => (metres, "m"),
    };
    let is_whole = (value - value.round()).abs() < 0.05 || value >= 200.0;
    let decimals = if is_whole { decimals } else { decimals.max(1) };
    format!("{} {unit}", Words::english().number(value, decimals))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_show_decimals_where_they_say_something() {
        assert_eq!(length(24.384, 0, UnitSystem::Farm), "80 ft");
        assert_eq!(length(24.384, 0, UnitSystem::Si), "24.4 m");
        assert_eq!(length(764.3, 0, UnitSystem::Farm), "2,508 ft");
    }

    #[test]
    fn a_plan_without_ground_or_with_many_strips_is_still_a_sheet() {
        let strip = StripOutline {
            strip_id: "1".into(),
            treatment: "rolled".into(),
            block: "1".into(),
            rings: vec![vec![[0.0, 0.0], [20.0, 0.0], [20.0, 400.0], [0.0, 400.0]]],
            yield_kg_ha: None,
            is_check: false,
        };
        let boundary = [vec![
            [0.0, 0.0],
            [500.0, 0.0],
            [500.0, 400.0],
            [f64::NAN, 400.0],
        ]];
        for (strips, boundary) in [(40, &boundary[..]), (0, &[])] {
            let map = PlanMap {
                name: "An invented field",
                units: UnitSystem::Farm,
                boundary,
                ground: boundary,
                strips: &vec![strip.clone(); strips],
                lengths_m: &vec![400.0; strips],
                pass_lines: &[],
                implement_width_m: 12.192,
                passes: 2,
                direction_deg: 0.0,
            };
            assert_eq!(&plan_map(&map).unwrap()[1..4], b"PNG");
        }
    }
}
