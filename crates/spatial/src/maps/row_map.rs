//! The map of one reading of a planter, row by row: every row's way in pieces, each in the colour of its
//! class. Where rows are narrower than a pixel the worst of them shows, so that no row in trouble is lost.

use super::canvas::Rgb;
use super::extent::extent_of_bulk;
use super::figures::percent;
use super::footprint_layer::paint_quad_on;
use super::legend::{Entry, Symbol};
use super::palette::yield_colour;
use super::request::MapError;
use super::sheet::Sheet;
use super::yield_classes::{TAIL, breaks, class_labels};
use checkstrip_model::rectangle_behind;
use checkstrip_model::units::UnitSystem;
use checkstrip_words::{Words, say};

/// Pieces of rows on the ground, one entry a piece.
#[derive(Debug, Clone, Copy)]
pub struct RowPieces<'a> {
    /// Middles in the local plane, m east and north.
    pub east_north_m: &'a [[f64; 2]],
    /// Directions of the way, degrees clockwise from the plane's north.
    pub heading_deg: &'a [f32],
    /// Lengths, m.
    pub length_m: &'a [f32],
    /// Distance between rows, m.
    pub width_m: f64,
}

/// Which readings are the worse ones: they are darker, and lie on top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worse {
    /// High ones, as skips.
    High,
    /// Low ones, as singulation.
    Low,
    /// Those far from the usual, as population; high ones are darker.
    Away,
}

/// What the map shows.
#[derive(Debug, Clone, Copy)]
pub struct RowMap<'a> {
    /// The heading on the map.
    pub title: &'static str,
    /// Subtitle: which field, which planter.
    pub about: &'a str,
    /// Heading of the legend, with the unit.
    pub legend: &'a str,
    /// Notes below the classes.
    pub notes: &'a [String],
    /// Where the pieces are.
    pub pieces: RowPieces<'a>,
    /// A reading for every piece, in the unit shown; `NaN` where it has none.
    pub values: &'a [f32],
    /// The narrowest step between classes.
    pub finest: f64,
    /// Which readings are worse.
    pub worse: Worse,
    /// Units of the scale bar.
    pub units: UnitSystem,
}

/// Pieces are drawn so much longer than they are: their middles are those of their readings, which lie
/// unevenly where the planter went faster or slower, and gaps would look like ground that was not planted.
const LAP: f64 = 0.03;

/// Draws the map and returns a PNG file, 1600 pixels wide. Pieces without a place or a reading are left
/// out.
///
/// # Errors
/// When columns differ in length or the picture cannot be encoded.
pub fn row_map(map: &RowMap) -> Result<Vec<u8>, MapError> {
    painted(map)?.finish(map.units.into())
}

/// The sheet with all pieces on it.
fn painted(map: &RowMap) -> Result<Sheet, MapError> {
    let (pieces, records) = (&map.pieces, map.values.len());
    let columns = [
        ("east_north_m", pieces.east_north_m.len()),
        ("heading_deg", pieces.heading_deg.len()),
        ("length_m", pieces.length_m.len()),
    ];
    if let Some((column, found)) = columns.into_iter().find(|(_, found)| *found != records) {
        return Err(MapError::Columns {
            records,
            column,
            found,
        });
    }
    let classes = Classes::over(map.values, map.finest);
    let mut shown: Vec<usize> = (0..records)
        .filter(|&piece| map.values[piece].is_finite())
        .collect();
    // The worst are painted last.
    shown.sort_by(|&a, &b| {
        let badness = |piece: usize| classes.badness(map.values[piece], map.worse);
        badness(a).total_cmp(&badness(b))
    });
    let extent = extent_of_bulk(pieces.east_north_m, pieces.width_m);
    let legend = legend(map, &classes, &shown);
    let mut sheet = Sheet::lay(map.title, map.about, extent, legend)?;
    let count = classes.labels.len();
    for piece in shown {
        let heading = f64::from(pieces.heading_deg[piece]);
        let length = f64::from(pieces.length_m[piece]) * (1.0 + LAP);
        let (sin, cos) = heading.to_radians().sin_cos();
        let [east, north] = pieces.east_north_m[piece];
        let front = [east + sin * length / 2.0, north + cos * length / 2.0];
        let corners = rectangle_behind(front, heading, length, pieces.width_m);
        let colour = classes.colour(classes.class_of(map.values[piece]), count, map.worse);
        paint_quad_on(&mut sheet.canvas, sheet.ground, corners, colour);
    }
    Ok(sheet)
}

fn legend(map: &RowMap, classes: &Classes, shown: &[usize]) -> Vec<Entry> {
    let mut legend = vec![Entry::Heading(map.legend.to_owned())];
    if shown.is_empty() {
        legend.push(Entry::Note("There is no reading to show.".to_owned()));
        return legend;
    }
    let mut ground = vec![0.0; classes.labels.len()];
    for &piece in shown {
        ground[classes.class_of(map.values[piece])] += f64::from(map.pieces.length_m[piece]);
    }
    let total: f64 = ground.iter().sum();
    let keys = classes.labels.iter().enumerate().rev();
    legend.extend(keys.map(|(class, label)| {
        let colour = classes.colour(class, classes.labels.len(), map.worse);
        let share = percent(ground[class] / total, Words::english());
        Entry::key(Symbol::Patch(colour), label.clone(), share)
    }));
    let order = match map.worse {
        Worse::High => "Darker is worse, and lies on top where rows are narrower than a pixel.",
        Worse::Low => {
            "Darker is worse (less), and lies on top where rows are narrower than a pixel."
        }
        Worse::Away => {
            "Darker is more. Where rows are narrower than a pixel, what is furthest from the usual lies \
             on top."
        }
    };
    legend.push(Entry::Note(
        "Equal steps, open ends; % of the rows’ way.".to_owned(),
    ));
    legend.push(Entry::Note(order.to_owned()));
    legend.extend(map.notes.iter().cloned().map(Entry::Note));
    legend
}

/// Equal classes over the bulk of the readings.
struct Classes {
    breaks: Vec<f64>,
    labels: Vec<String>,
    middle: f64,
}

impl Classes {
    fn over(values: &[f32], finest: f64) -> Classes {
        let finite = values.iter().filter(|value| value.is_finite());
        let mut sorted: Vec<f64> = finite.map(|&value| f64::from(value)).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        let at = |share: f64| {
            let place = sorted.len().saturating_sub(1) as f64 * share;
            sorted.get(place.round() as usize).copied().unwrap_or(0.0)
        };
        // Maps of planting are in English in every language (docs/languages.md).
        let english = Words::english();
        let (breaks, decimals) = breaks(at(TAIL), at(1.0 - TAIL), finest);
        let labels = class_labels(&breaks, decimals, english).unwrap_or_else(|| {
            let middle = english.number(at(0.5), decimals.max(1));
            vec![say!(english, "map-class-all-near", middle = middle)]
        });
        Classes {
            breaks,
            labels,
            middle: at(0.5),
        }
    }

    fn class_of(&self, value: f32) -> usize {
        let value = f64::from(value);
        self.breaks.iter().filter(|&&lower| value >= lower).count()
    }

    fn badness(&self, value: f32, worse: Worse) -> f64 {
        let value = f64::from(value);
        match worse {
            Worse::High => value,
            Worse::Low => -value,
            Worse::Away => (value - self.middle).abs(),
        }
    }

    fn colour(&self, class: usize, classes: usize, worse: Worse) -> Rgb {
        match worse {
            Worse::Low => yield_colour(classes - 1 - class, classes),
            Worse::High | Worse::Away => yield_colour(class, classes),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map<'a>(pieces: RowPieces<'a>, values: &'a [f32], worse: Worse) -> RowMap<'a> {
        RowMap {
            title: "Skips",
            about: "Invented",
            legend: "Skips, %",
            notes: &[],
            pieces,
            values,
            finest: 0.1,
            worse,
            units: UnitSystem::Si,
        }
    }

    #[test]
    fn the_worst_of_rows_narrower_than_a_pixel_shows() {
        // A hundred rows of a centimetre beside each other over 3 km: all in one column of pixels.
        let places: Vec<[f64; 2]> = (0..100).map(|i| [f64::from(i) * 0.01, 0.0]).collect();
        let (heading, length) = (vec![0.0; 100], vec![3000.0; 100]);
        let pieces = RowPieces {
            east_north_m: &places,
            heading_deg: &heading,
            length_m: &length,
            width_m: 0.01,
        };
        let mut values: Vec<f32> = (0..100).map(|i| 1.0 + 0.01 * i as f32).collect();
        for (worse, reading) in [(Worse::High, 9.0), (Worse::Low, 0.0), (Worse::Away, 9.0)] {
            values[3] = reading;
            let sheet = painted(&map(pieces, &values, worse)).unwrap();
            let classes = Classes::over(&values, 0.1).labels.len();
            let darkest = yield_colour(classes - 1, classes);
            let seen = sheet.canvas.pixels.as_chunks::<3>().0;
            let dark = seen.iter().filter(|pixel| **pixel == darkest).count();
            assert!(dark > 500, "{worse:?}: {dark}");
        }
    }

    #[test]
    fn nothing_to_show_and_unequal_columns() {
        let empty = RowPieces {
            east_north_m: &[],
            heading_deg: &[],
            length_m: &[],
            width_m: 0.76,
        };
        assert!(row_map(&map(empty, &[], Worse::Low)).is_ok());
        let error = row_map(&map(empty, &[1.0], Worse::Low)).unwrap_err();
        assert!(error.to_string().contains("east_north_m has 0 entries"));
    }
}
