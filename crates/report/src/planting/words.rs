//! What was found in a planting log, in a grower's words: the answer, what repeats, what to do.

use super::figures::{
    Shown, counted, figure, ground, measure_name, number, probability, row_spacing, turn, way,
};
use crate::moment::moment;
use checkstrip_model::units::UnitSystem;
use checkstrip_planting::{
    Advice, Measure, Place, PlantingFindings, RepeatingFault, RhythmCause, Signal, TurnsWith,
};
use serde::Serialize;

/// A piece of advice in words.
#[derive(Debug, Serialize)]
pub(crate) struct AdviceInWords {
    /// For which rows.
    pub(crate) who: String,
    pub(crate) what_to_do: String,
    pub(crate) measured: String,
    /// What it is weighed against; empty without a trade-off.
    pub(crate) against: String,
}

/// What was planted: rows, passes, ground, speed.
pub(crate) fn about(findings: &PlantingFindings, units: UnitSystem) -> String {
    let spacing = findings.row_spacing_m.map_or(String::new(), |spacing| {
        format!(" {} apart", row_spacing(spacing, units))
    });
    let area = findings
        .area_ha
        .map_or(String::new(), |area| format!(", {}", ground(area, units)));
    let driven: f64 = findings.passes.iter().map(|pass| pass.length_m).sum();
    let speeds = findings
        .passes
        .iter()
        .map(|pass| pass.length_m * pass.mean_speed_m_s);
    let speed = Shown::speed(units).with_unit(speeds.sum::<f64>() / driven);
    format!(
        "{}{spacing}, {}{area}, {speed} on average",
        counted(findings.rows, "row", "rows"),
        counted(findings.passes.len(), "pass", "passes"),
    )
}

/// The answer: which rows need a look, and how the planter did as a whole.
pub(crate) fn answer(findings: &PlantingFindings, units: UnitSystem) -> Vec<String> {
    let called = rows_with_advice(findings);
    let repeats = |row: &usize| {
        let of_few = findings.repeating_faults.iter();
        of_few
            .filter(|fault| fault.cause != RhythmCause::Implement)
            .any(|fault| fault.rows.contains(row))
    };
    let rows = if called.is_empty() && !findings.repeating_faults.is_empty() {
        "No single row stands out from the others, but something that the rows share repeats."
            .to_owned()
    } else if called.is_empty() && findings.deviations.is_empty() {
        "Rows were not compared: that takes at least four rows with the same readings.".to_owned()
    } else if called.is_empty() {
        "No row stands out from the others, and nothing repeats along a row.".to_owned()
    } else {
        let verb = if called.len() == 1 { "needs" } else { "need" };
        let repeating: Vec<usize> = called.iter().copied().filter(repeats).collect();
        let why = match repeating.len() {
            0 => String::new(),
            n if n == called.len() => ": a fault repeats along it"
                .replace("along it", if n == 1 { "along it" } else { "along each" }),
            _ => format!(": along {} a fault repeats", rows_in_words(&repeating)),
        };
        format!(
            "{} of {} {verb} a look{why}.",
            capital(&rows_in_words(&called)),
            findings.rows
        )
    };
    let mut said = vec![rows];
    let planter = &findings.planter;
    let parts: Vec<String> = [
        Measure::Population,
        Measure::Singulation,
        Measure::Skips,
        Measure::Multiples,
        Measure::SpacingVariation,
        Measure::LostContact,
        Measure::RideQuality,
    ]
    .into_iter()
    .filter_map(|measure| {
        let value = planter.get(measure)?;
        let told = Shown::of(measure, units).with_unit(value);
        Some(match measure {
            Measure::Population => match planter.target_population_ha {
                Some(asked) => {
                    let asked = Shown::of(measure, units).number(Some(asked));
                    format!("{told} ({asked} asked for)")
                }
                None => told,
            },
            Measure::LostContact => format!("contact lost on {told} of the ground"),
            _ => format!("{} {told}", measure_name(measure)),
        })
    })
    .collect();
    if !parts.is_empty() {
        said.push(format!("The planter as a whole: {}.", parts.join(", ")));
    }
    said
}

/// Rows, from 1, that advice is given for.
fn rows_with_advice(findings: &PlantingFindings) -> Vec<usize> {
    let of_rows = findings.advice.iter().filter(|advice| {
        let fault = advice
            .repeating_fault
            .and_then(|at| findings.repeating_faults.get(at));
        fault.is_none_or(|fault| fault.cause != RhythmCause::Implement)
    });
    let mut rows: Vec<usize> = of_rows.flat_map(|advice| advice.rows.clone()).collect();
    rows.sort_unstable();
    rows.dedup();
    rows
}

/// What repeats, and how far the search could see.
pub(crate) fn repeating(findings: &PlantingFindings, units: UnitSystem) -> Vec<String> {
    let mut said: Vec<String> = findings
        .repeating_faults
        .iter()
        .map(|fault| repeating_fault(fault, findings, units))
        .collect();
    said.push(match &findings.rhythm_search {
        Some(search) => format!(
            "{} Periods from {} to {} were looked for in {}.",
            if said.is_empty() {
                "Nothing repeats."
            } else {
                "Nothing else repeats."
            },
            turn(search.shortest_period_m, units),
            turn(search.longest_period_m, units),
            counted(search.windows, "window", "windows"),
        ),
        None => "Nothing was searched: that takes skips, multiples or singulation, logged closer \
                 together than half of the period."
            .to_owned(),
    });
    said
}

fn signal_name(signal: Signal) -> &'static str {
    match signal {
        Signal::Skips => "skips",
        Signal::Multiples => "multiples",
        Signal::SingulationLoss => "loss of singulation",
    }
}

fn repeating_fault(
    fault: &RepeatingFault,
    findings: &PlantingFindings,
    units: UnitSystem,
) -> String {
    let seeds = match fault.period_seeds {
        Some(seeds) => format!(" ({} seeds)", number(seeds, 1)),
        None => String::new(),
    };
    let signals: Vec<&str> = std::iter::once(fault.signal)
        .chain(fault.also.iter().copied())
        .map(signal_name)
        .collect();
    let level = match fault.level_without_pct {
        Some(without) => format!(
            "{} % {} while it repeats, {} % otherwise.",
            number(fault.level_with_pct, 1),
            signal_name(fault.signal),
            number(without, 1)
        ),
        None => format!(
            "{} % {}.",
            number(fault.level_with_pct, 1),
            signal_name(fault.signal)
        ),
    };
    format!(
        "{}: {} every {}{seeds}. Cause: {}. {level} {} Chance would give one as strong in {} such logs.",
        capital(&rows_in_words(&fault.rows)),
        signals.join(" and "),
        turn(fault.period_m, units),
        cause(fault, units),
        since(fault, findings, units),
        probability(fault.false_alarm),
    )
}

fn cause(fault: &RepeatingFault, units: UnitSystem) -> String {
    let candidates = |cells: &[u32]| match cells {
        [] => String::new(),
        cells => {
            let cells: Vec<String> = cells.iter().map(u32::to_string).collect();
            format!("; a disc of {} cells would", cells.join(" or "))
        }
    };
    match &fault.cause {
        RhythmCause::SeedDisc { cells, places: 1 } => {
            let does = match fault.signal {
                Signal::Skips => "a cell that leaves its seed out",
                Signal::Multiples => "a cell that drops several seeds",
                Signal::SingulationLoss => "a cell that singulates badly",
            };
            let sure = match fault.turns_with {
                TurnsWith::Metering => ", for it turns with the metering and not with the ground",
                TurnsWith::Ground | TurnsWith::Undecided => "",
            };
            format!("one turn of the seed disc ({cells} cells), {does}{sure}")
        }
        RhythmCause::SeedDisc { cells, places } => {
            format!("{places} places spread evenly over the seed disc ({cells} cells)")
        }
        RhythmCause::Metering { common_cells, .. } => format!(
            "something that turns with the metering{}; --disc-cells tells which disc it is",
            candidates(common_cells)
        ),
        RhythmCause::Known { .. } => {
            let named = fault.matches.iter().map(|found| {
                let turn = turn(found.circumference_m, units);
                format!("one turn of the {} ({turn})", found.what)
            });
            named.collect::<Vec<String>>().join(" or ")
        }
        RhythmCause::Implement => {
            "something that these rows share, such as the drive or the frame; not single meters"
                .to_owned()
        }
        RhythmCause::Ambiguous => {
            let named: Vec<&str> = fault.matches.iter().map(|m| m.what.as_str()).collect();
            format!(
                "the {}; the seed rate varied too little to tell",
                named.join(" or the ")
            )
        }
        RhythmCause::Unnamed { common_cells } => format!(
            "nothing named turns in this period{}; --disc-cells and --turns name what does",
            candidates(common_cells)
        ),
    }
}

/// Since when, and until when.
fn since(fault: &RepeatingFault, findings: &PlantingFindings, units: UnitSystem) -> String {
    let place = |place: &Place| {
        format!(
            "pass {}, {} along ({})",
            place.pass,
            way(place.distance_m, units),
            moment(place.time_s)
        )
    };
    let stretches: Vec<String> = fault
        .episodes
        .iter()
        .map(|episode| match (episode.from_start, episode.to_end) {
            (true, true) => "from the first pass to the last".to_owned(),
            (true, false) => format!("from the first pass until {}", place(&episode.ended)),
            (false, true) => format!("since {}, to the end", place(&episode.began)),
            (false, false) => format!(
                "from {} until {}",
                place(&episode.began),
                place(&episode.ended)
            ),
        })
        .collect();
    let window = way(findings.settings.window_m, units);
    match stretches.as_slice() {
        [] => String::new(),
        [one] if one.starts_with("from the first pass to") => format!("It is there {one}."),
        several => format!(
            "It is there {} (to about {window}).",
            several.join("; and ")
        ),
    }
}

/// What to do.
pub(crate) fn advice(findings: &PlantingFindings, units: UnitSystem) -> Vec<AdviceInWords> {
    let in_words = |advice: &Advice| {
        let figures = |figures: &[checkstrip_planting::Figure]| {
            let told: Vec<String> = figures.iter().map(|told| figure(told, units)).collect();
            told.join("; ")
        };
        AdviceInWords {
            who: match advice.rows.as_slice() {
                [] => "The whole planter".to_owned(),
                rows => capital(&rows_in_words(rows)),
            },
            what_to_do: advice.what_to_do.clone(),
            measured: figures(&advice.measured),
            against: advice.trade_off.as_ref().map_or(String::new(), |against| {
                match figures(&against.measured) {
                    told if told.is_empty() => against.what.clone(),
                    told => format!("{} Measured: {told}.", against.what),
                }
            }),
        }
    };
    findings.advice.iter().map(in_words).collect()
}

/// `row 7`, `rows 1 to 4 and 7`.
pub(crate) fn rows_in_words(rows: &[usize]) -> String {
    let runs: Vec<String> = rows
        .chunk_by(|a, b| a + 1 == *b)
        .flat_map(|run| match run {
            [first, .., last] if run.len() > 2 => vec![format!("{first} to {last}")],
            few => few.iter().map(usize::to_string).collect(),
        })
        .collect();
    let word = if rows.len() == 1 { "row" } else { "rows" };
    match runs.as_slice() {
        [] => "no row".to_owned(),
        [one] => format!("{word} {one}"),
        [first @ .., last] => format!("{word} {} and {last}", first.join(", ")),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_planting::{Axis, PeriodMatch};

    #[test]
    fn rows_are_named_as_one_would_say_them() {
        assert_eq!(rows_in_words(&[7]), "row 7");
        assert_eq!(rows_in_words(&[1, 2]), "rows 1 and 2");
        assert_eq!(rows_in_words(&[1, 2, 3, 7]), "rows 1 to 3 and 7");
        assert_eq!(rows_in_words(&[2, 5, 9, 10, 11]), "rows 2, 5 and 9 to 11");
        assert_eq!(capital("row 7"), "Row 7");
    }

    fn caused(cause: RhythmCause, matches: Vec<PeriodMatch>) -> String {
        let fault = RepeatingFault {
            rows: vec![4],
            signal: Signal::Skips,
            also: Vec::new(),
            period_m: 6.64,
            period_std_error_m: 0.01,
            period_seeds: Some(40.0),
            axis: Axis::Distance,
            turns_with: TurnsWith::Undecided,
            cause,
            matches,
            harmonics: Vec::new(),
            episodes: Vec::new(),
            level_with_pct: 3.0,
            level_without_pct: None,
            strength: 20.0,
            strength_windows: 2,
            false_alarm: 1e-4,
        };
        super::cause(&fault, UnitSystem::Si)
    }

    fn matching(what: &str, circumference_m: f64) -> PeriodMatch {
        PeriodMatch {
            what: what.to_owned(),
            circumference_m,
            places: 1,
            off_share: 0.0,
        }
    }

    #[test]
    fn every_cause_is_said_and_what_would_tell_it() {
        let common_cells = vec![40, 42];
        assert_eq!(
            caused(
                RhythmCause::Unnamed {
                    common_cells: common_cells.clone()
                },
                Vec::new()
            ),
            "nothing named turns in this period; a disc of 40 or 42 cells would; --disc-cells and \
             --turns name what does"
        );
        let metering = RhythmCause::Metering {
            seeds: 40.0,
            common_cells,
        };
        assert_eq!(
            caused(metering, Vec::new()),
            "something that turns with the metering; a disc of 40 or 42 cells would; --disc-cells \
             tells which disc it is"
        );
        let (disc, wheel) = (matching("seed disc", 6.64), matching("press wheel", 6.6));
        assert_eq!(
            caused(RhythmCause::Ambiguous, vec![disc, wheel.clone()]),
            "the seed disc or the press wheel; the seed rate varied too little to tell"
        );
        let known = RhythmCause::Known {
            name: "press wheel".to_owned(),
        };
        assert_eq!(
            caused(known, vec![wheel]),
            "one turn of the press wheel (6.60 m)"
        );
        let disc = |places| RhythmCause::SeedDisc { cells: 40, places };
        assert_eq!(
            caused(disc(1), Vec::new()),
            "one turn of the seed disc (40 cells), a cell that leaves its seed out"
        );
        assert_eq!(
            caused(disc(2), Vec::new()),
            "2 places spread evenly over the seed disc (40 cells)"
        );
        let shared = caused(RhythmCause::Implement, Vec::new());
        assert!(shared.starts_with("something that these rows share"));
    }

    #[test]
    fn chance_in_words() {
        assert_eq!(probability(1e-12), "less than 1 in a million");
        assert_eq!(probability(0.0005), "about 1 in 2,000");
    }
}
