//! Maps of a planter, one for each reading that its log has, from pieces of its rows.

use checkstrip_model::units::UnitSystem;
use checkstrip_planting::{Measure, RowTiles, row_tiles};
use checkstrip_report::{Shown, row_spacing};
use checkstrip_spatial::maps::{RowMap, RowPieces, Worse, row_map};
use rayon::prelude::*;

use super::Planted;
use crate::error::JobError;

/// Length of a piece of a row, m.
const PIECE_M: f64 = 20.0;
/// The same where seeds are counted: 60 m of corn hold some 360 seeds, of which 1 % is known to half a
/// percentage point; over 20 m chance hides all but the worst rows.
const COUNTED_PIECE_M: f64 = 60.0;
/// A piece is at least so long a part of the longest pass, so that it can be seen.
const PIECES_ALONG: f64 = 60.0;

/// What is mapped.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mapped {
    Measure(Measure),
    Speed,
}

/// The maps in the order of a report: what, the key in file names, title, which readings are worse, and
/// the narrowest step between classes in farm and in SI units.
const MAPS: [(Mapped, &str, &str, Worse, [f64; 2]); 9] = {
    use Mapped::{Measure as Of, Speed};
    [
        (
            Of(Measure::Population),
            "population",
            "Population",
            Worse::Away,
            [100.0, 200.0],
        ),
        (
            Of(Measure::Singulation),
            "singulation",
            "Singulation",
            Worse::Low,
            [0.1, 0.1],
        ),
        (
            Of(Measure::Skips),
            "skips",
            "Skips",
            Worse::High,
            [0.1, 0.1],
        ),
        (
            Of(Measure::Multiples),
            "multiples",
            "Multiples",
            Worse::High,
            [0.1, 0.1],
        ),
        (
            Of(Measure::SpacingVariation),
            "spacing_variation",
            "Spacing variation",
            Worse::High,
            [0.1, 0.1],
        ),
        (
            Of(Measure::Downforce),
            "downforce",
            "Downforce",
            Worse::Away,
            [1.0, 5.0],
        ),
        (
            Of(Measure::GroundContact),
            "ground_contact",
            "Ground contact",
            Worse::Low,
            [0.1, 0.1],
        ),
        (
            Of(Measure::RideQuality),
            "ride",
            "Ride",
            Worse::Low,
            [0.1, 0.1],
        ),
        (Speed, "speed", "Planting speed", Worse::Away, [0.1, 0.05]),
    ]
};

/// A map that was drawn.
pub(super) struct PlanterMap {
    pub(super) key: &'static str,
    pub(super) title: &'static str,
    pub(super) caption: String,
    pub(super) png: Vec<u8>,
}

/// Keys of all maps there can be.
pub(super) fn keys() -> impl Iterator<Item = &'static str> {
    MAPS.iter().map(|map| map.1)
}

/// Draws the maps of the planter at `place`; none where its row spacing is not known.
pub(super) fn draw(
    planted: &Planted,
    place: usize,
    units: UnitSystem,
) -> Result<Vec<PlanterMap>, JobError> {
    let planter = &planted.results.planters[place];
    let findings = &planter.findings;
    let Some(width_m) = findings.row_spacing_m else {
        return Ok(Vec::new());
    };
    let longest = findings.passes.iter().map(|pass| pass.length_m);
    let shortest_m = longest.fold(0.0, f64::max) / PIECES_ALONG;
    let lengths_m = [PIECE_M, COUNTED_PIECE_M].map(|piece_m| piece_m.max(shortest_m));
    let pieces =
        row_tiles(&planted.records[place], &findings.settings, lengths_m).map_err(|source| {
            JobError::Planting {
                file: planted.file.clone(),
                source,
            }
        })?;
    let mut about = vec![planted.results.field.name.clone()];
    about.extend(planter.machine.clone());
    about.push(format!(
        "{} rows {} apart",
        findings.rows,
        row_spacing(width_m, units)
    ));
    let about = about.join(" · ");
    let drawn = MAPS
        .par_iter()
        .filter_map(|&(what, key, title, worse, finest)| {
            let shown = match what {
                Mapped::Measure(measure) => Shown::of(measure, units),
                Mapped::Speed => Shown::speed(units),
            };
            let counted = usize::from(counts_seeds(what));
            let (tiles, piece_m) = (&pieces[counted], lengths_m[counted]);
            let values = shown_values(tiles, what, shown.factor as f32)?;
            let notes = notes(planted, place, what, piece_m, units);
            let map = RowMap {
                title,
                about: &about,
                legend: &format!("{title}, {}", shown.unit),
                notes: &notes,
                pieces: RowPieces {
                    east_north_m: &tiles.east_north_m,
                    heading_deg: &tiles.heading_deg,
                    length_m: &tiles.length_m,
                    width_m,
                },
                values: &values,
                finest: match units {
                    UnitSystem::Farm => finest[0],
                    UnitSystem::Si => finest[1],
                },
                worse,
                units,
            };
            Some(row_map(&map).map(|png| PlanterMap {
                key,
                title,
                caption: format!("Every row’s way in pieces. {}", notes.join(" ")),
                png,
            }))
        });
    Ok(drawn.collect::<Result<Vec<PlanterMap>, _>>()?)
}

/// Whether a reading is a share of the seeds in its piece.
fn counts_seeds(what: Mapped) -> bool {
    use Measure::{Multiples, Population, Singulation, Skips};
    matches!(
        what,
        Mapped::Measure(Population | Singulation | Skips | Multiples)
    )
}

/// The values of a map in the unit shown; `None` where the log has no such reading.
fn shown_values(tiles: &RowTiles, what: Mapped, factor: f32) -> Option<Vec<f32>> {
    let values = match what {
        Mapped::Measure(measure) => tiles.measure(measure)?,
        Mapped::Speed => &tiles.speed_m_s,
    };
    let known = values.iter().any(|value| value.is_finite());
    known.then(|| values.iter().map(|value| value * factor).collect())
}

/// How long a piece is, and which rows are called in the measure.
fn notes(
    planted: &Planted,
    place: usize,
    what: Mapped,
    piece_m: f64,
    units: UnitSystem,
) -> Vec<String> {
    let findings = &planted.results.planters[place].findings;
    let length = match units {
        UnitSystem::Farm => format!("{:.0} ft", piece_m / checkstrip_model::units::M_PER_FOOT),
        UnitSystem::Si => format!("{piece_m:.0} m"),
    };
    let mut notes = vec![format!(
        "Each piece is the mean of about {length} of one row."
    )];
    if let Mapped::Measure(measure) = what {
        let called = findings.deviations.iter();
        let called = called
            .filter(|d| d.measure == measure && d.called)
            .map(|d| {
                let shown = Shown::of(measure, units);
                let told = |value: f64| {
                    let value = value * shown.factor;
                    format!("{value:.*} {}", shown.decimals, shown.unit)
                };
                format!(
                    "Row {}: {}, the others {}.",
                    d.row,
                    told(d.value),
                    told(d.others)
                )
            });
        notes.extend(called.take(4));
    }
    notes
}
