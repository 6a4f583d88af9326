//! What to do about it, as a grower would be told: each piece with the measurements it rests on and, where
//! two effects trade off, with both.

use serde::{Deserialize, Serialize};

use crate::repeating_fault::{RepeatingFault, RhythmCause};
use crate::row_comparison::{RowDeviation, median};
use crate::row_quality::{Measure, RowFigures};
use crate::settings::PlantingSettings;
use crate::speed_and_spacing::SpeedAndSpacing;
use crate::window_spectra::Signal;

/// Ride quality under which the whole planter runs rough, percent. Common practice, no source.
const ROUGH_RIDE_PCT: f64 = 90.0;

/// Skips and multiples are out of balance when the one is at least so many times the other.
const OUT_OF_BALANCE: f64 = 2.0;

/// A lower coefficient of variation than this is not worth slowing down for, percentage points. Common
/// practice, no source.
const LEAST_GAIN_POINTS: f64 = 1.0;

/// The unit of a difference between two percentages.
const POINTS: &str = "points";

/// What a piece of advice is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdviceCode {
    /// A cell of the disc leaves a seed out every turn.
    BlockedCell,
    /// A cell of the disc drops several seeds every turn.
    DoublingCell,
    /// A rhythm of the metering; the cells are unknown.
    MeteringRhythm,
    /// A rhythm that the grower named.
    NamedRhythm,
    /// The same rhythm in many rows.
    ImplementRhythm,
    /// A rhythm of which nothing known is the cause, or of which two things can be.
    UnexplainedRhythm,
    /// More skips and more multiples in one row.
    WornMeter,
    /// More skips in one row.
    RowSkips,
    /// More multiples in one row.
    RowMultiples,
    /// Worse singulation in one row, in logs that hold neither skips nor multiples.
    RowSingulation,
    /// A row's vacuum is not that of the others.
    RowVacuum,
    /// A row bounces.
    BouncingRow,
    /// A row loses contact.
    LightRow,
    /// A row carries too much.
    HeavyRow,
    /// A row spaces unevenly though its meter and its ride are as good as the others'.
    RowSpacing,
    /// A row's population is not that of the others.
    RowPopulation,
    /// The whole planter skips: more vacuum.
    MoreVacuum,
    /// The whole planter doubles: less vacuum.
    LessVacuum,
    /// The whole planter loses contact: more downforce.
    MoreDownforce,
    /// The whole planter presses too hard: less downforce.
    LessDownforce,
    /// Too light here and too heavy there.
    UnevenDownforce,
    /// The whole planter runs rough under enough load: residue and clods in front of the rows.
    RowCleaners,
    /// Slower planting is expected to space more evenly.
    SlowDown,
}

/// A figure behind a piece of advice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// What it is.
    pub what: String,
    /// The figure, in SI units.
    pub value: f64,
    /// Its unit.
    pub unit: String,
}

/// What else changes when the advice is followed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TradeOff {
    /// What is weighed against what.
    pub what: String,
    /// The other side, measured.
    pub measured: Vec<Figure>,
}

/// A piece of advice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// What it is about.
    pub code: AdviceCode,
    /// Rows, from 1; empty for the whole planter.
    pub rows: Vec<usize>,
    /// What to do.
    pub what_to_do: String,
    /// What was measured; never empty.
    pub measured: Vec<Figure>,
    /// What else changes.
    pub trade_off: Option<TradeOff>,
    /// For a repeating fault, its place among those found.
    pub repeating_fault: Option<usize>,
}

/// What to mind before anyone works on the planter.
pub const CAUTIONS: [&str; 4] = [
    "Before anyone reaches into a row unit or a meter: planter stopped, engine and blower off, key out, \
     vacuum and hydraulics at rest.",
    "Never work under a raised planter that only its hydraulics hold: put the locks and stands in.",
    "Treated seed and its dust are poisonous: gloves, eye and breathing protection as the seed tag says, \
     and blow no meter out towards a person.",
    "The planter's manual and the seed's and chemicals' labels go before anything said here.",
];

/// Everything advice is drawn from.
pub(crate) struct Evidence<'a> {
    pub(crate) rows: &'a [RowFigures],
    pub(crate) deviations: &'a [RowDeviation],
    pub(crate) repeating: &'a [RepeatingFault],
    pub(crate) speed: &'a SpeedAndSpacing,
    pub(crate) settings: &'a PlantingSettings,
}

/// The advice, faults first, then the whole planter.
pub(crate) fn advice(evidence: &Evidence) -> Vec<Advice> {
    let mut found: Vec<Advice> = evidence
        .repeating
        .iter()
        .enumerate()
        .map(|(at, fault)| of_repeating_fault(at, fault))
        .collect();
    for row in 1..=evidence.rows.len() {
        evidence.of_row(row, &mut found);
    }
    evidence.of_vacuum(&mut found);
    evidence.of_downforce(&mut found);
    evidence.of_speed(&mut found);
    found
}

fn figure(what: impl Into<String>, value: f64, unit: &str) -> Figure {
    Figure {
        what: what.into(),
        value,
        unit: unit.to_owned(),
    }
}

fn of_repeating_fault(at: usize, fault: &RepeatingFault) -> Advice {
    let mut measured = vec![
        figure("period on the ground", fault.period_m, "m"),
        figure(
            "standard error of the period",
            fault.period_std_error_m,
            "m",
        ),
        figure("level while it repeats", fault.level_with_pct, "%"),
        figure("probability of a false alarm", fault.false_alarm, "1"),
    ];
    if let Some(seeds) = fault.period_seeds {
        measured.insert(1, figure("seeds in a period", seeds, "1"));
    }
    if let Some(level) = fault.level_without_pct {
        measured.push(figure("level otherwise", level, "%"));
    }
    for found in &fault.matches {
        let what = format!("way of one turn: {}", found.what);
        measured.push(figure(what, found.circumference_m, "m"));
    }
    let (code, what_to_do) = match &fault.cause {
        RhythmCause::SeedDisc { .. } if fault.signal == Signal::Multiples => (
            AdviceCode::DoublingCell,
            "Take the disc out and look for a chipped, worn or dirty cell that holds more than one seed, \
             and for a mark on the singulator.",
        ),
        RhythmCause::SeedDisc { .. } => (
            AdviceCode::BlockedCell,
            "Take the disc out and look for a blocked, chipped or worn cell; clean the disc and the \
             knock-out wheel.",
        ),
        RhythmCause::Metering { .. } => (
            AdviceCode::MeteringRhythm,
            "It turns with the metering: count the cells of the disc. If they are the seeds in a period, \
             one cell is at fault; else look at the drive of the meter.",
        ),
        RhythmCause::Known { .. } => (
            AdviceCode::NamedRhythm,
            "Look at the part that turns at this period: flat spots, mud built up, a stiff link, play in \
             its bearing.",
        ),
        RhythmCause::Implement => (
            AdviceCode::ImplementRhythm,
            "Many rows do it at once: look at what they share, the drive shaft, chain, wheel or frame, not \
             at single meters.",
        ),
        RhythmCause::Ambiguous | RhythmCause::Unnamed { .. } => (
            AdviceCode::UnexplainedRhythm,
            "Compare the period with the way of one turn of the seed disc, the wheels and the drive of \
             this row, and look at the part that fits.",
        ),
    };
    Advice {
        code,
        rows: fault.rows.clone(),
        what_to_do: what_to_do.to_owned(),
        measured,
        trade_off: None,
        repeating_fault: Some(at),
    }
}

fn name(measure: Measure) -> &'static str {
    match measure {
        Measure::Population => "population",
        Measure::TargetPopulation => "population asked for",
        Measure::Singulation => "singulation",
        Measure::Skips => "skips",
        Measure::Multiples => "multiples",
        Measure::SpacingVariation => "spacing variation",
        Measure::GroundContact => "ground contact",
        Measure::LostContact => "ground with lost contact",
        Measure::TooMuchDownforce => "ground with too much downforce",
        Measure::Downforce => "downforce",
        Measure::RideQuality => "ride quality",
        Measure::Vacuum => "vacuum",
    }
}

impl Evidence<'_> {
    fn of_row(&self, row: usize, found: &mut Vec<Advice>) {
        let of_row: Vec<&RowDeviation> = self.deviations.iter().filter(|d| d.row == row).collect();
        let deviation = |measure| of_row.iter().copied().find(|d| d.measure == measure);
        let called = |measure| deviation(measure).filter(|d| d.called);
        // A disc's cell that repeats already explains a row's own skips or multiples.
        let explained = |signal: Signal| {
            self.repeating.iter().any(|fault| {
                fault.rows == [row] && (fault.signal == signal || fault.also.contains(&signal))
            })
        };
        let skips = called(Measure::Skips).filter(|_| !explained(Signal::Skips));
        let multiples = called(Measure::Multiples).filter(|_| !explained(Signal::Multiples));
        let vacuum = called(Measure::Vacuum);
        let mut say = |code, what_to_do: &str, measures: &[Measure], trade_off: Option<&str>| {
            let figures = |measures: &[Measure]| -> Vec<Figure> {
                measures
                    .iter()
                    .filter_map(|&measure| deviation(measure))
                    .flat_map(|d| {
                        let unit = d.measure.unit();
                        [
                            figure(name(d.measure), d.value, unit),
                            figure(
                                format!("{}, the other rows", name(d.measure)),
                                d.others,
                                unit,
                            ),
                        ]
                    })
                    .collect()
            };
            found.push(Advice {
                code,
                rows: vec![row],
                what_to_do: what_to_do.to_owned(),
                measured: figures(measures),
                trade_off: trade_off.map(|what| TradeOff {
                    what: what.to_owned(),
                    measured: figures(&[Measure::TooMuchDownforce, Measure::LostContact]),
                }),
                repeating_fault: None,
            });
        };

        let meter = match (skips, multiples) {
            (Some(_), Some(_)) => Some((
                AdviceCode::WornMeter,
                "This row both skips and doubles more than the others: look at the disc, the singulator, \
                 the seal and the brush of its meter for wear.",
            )),
            (Some(_), None) if vacuum.is_none() => Some((
                AdviceCode::RowSkips,
                "This row skips more than the others but does not double: look for a leaking vacuum hose \
                 or seal, a disc that does not fit the seed, a singulator set too hard, bridged seed.",
            )),
            (None, Some(_)) if vacuum.is_none() => Some((
                AdviceCode::RowMultiples,
                "This row doubles more than the others but does not skip: look at the singulator's \
                 setting and wear, and at the disc.",
            )),
            (None, None)
                if called(Measure::Singulation).is_some()
                    && deviation(Measure::Skips).is_none()
                    && deviation(Measure::Multiples).is_none()
                    && !explained(Signal::SingulationLoss) =>
            {
                Some((
                    AdviceCode::RowSingulation,
                    "This row singulates worse than the others; whether it skips or doubles the log does \
                     not say: look at its disc, singulator, seal and vacuum.",
                ))
            }
            _ => None,
        };
        if let Some((code, what_to_do)) = meter {
            let measures = [
                Measure::Singulation,
                Measure::Skips,
                Measure::Multiples,
                Measure::Vacuum,
            ];
            say(code, what_to_do, &measures, None);
        }
        if vacuum.is_some() {
            say(
                AdviceCode::RowVacuum,
                "This row's vacuum is not that of the others: look at its hose, seal and gauge.",
                &[Measure::Vacuum, Measure::Skips, Measure::Multiples],
                None,
            );
        }

        let ride = called(Measure::RideQuality);
        let contact = called(Measure::LostContact).or(called(Measure::GroundContact));
        let spacing = called(Measure::SpacingVariation);
        let heavy = called(Measure::TooMuchDownforce)
            .or(called(Measure::Downforce).filter(|d| d.deviation > 0.0));
        let light = called(Measure::Downforce).filter(|d| d.deviation < 0.0);
        if ride.is_some() {
            say(
                AdviceCode::BouncingRow,
                "This row bounces more than the others: look at its gauge wheels, parallel arms and \
                 bushings, down pressure spring or cylinder, and at what runs in front of it.",
                &[
                    Measure::RideQuality,
                    Measure::SpacingVariation,
                    Measure::GroundContact,
                    Measure::LostContact,
                ],
                Some(
                    "More downforce holds a bouncing row down and packs the ground beside the seed: \
                     mend the row before pressing harder.",
                ),
            );
        } else if contact.is_some() || light.is_some() {
            say(
                AdviceCode::LightRow,
                "This row leaves the ground more than the others: give it more downforce, or find out why \
                 it gets less.",
                &[
                    Measure::GroundContact,
                    Measure::LostContact,
                    Measure::Downforce,
                ],
                Some("More downforce keeps the depth and packs the ground beside the seed."),
            );
        }
        if heavy.is_some() {
            say(
                AdviceCode::HeavyRow,
                "This row presses harder than the others: give it less downforce, or find out why it gets \
                 more.",
                &[Measure::Downforce, Measure::TooMuchDownforce],
                Some("Less downforce packs the ground less and may lose the depth on hard ground."),
            );
        }
        let otherwise = ride.is_none() && contact.is_none() && meter.is_none() && vacuum.is_none();
        if spacing.is_some() && otherwise {
            say(
                AdviceCode::RowSpacing,
                "This row's seeds lie unevenly though it rides and meters like the others: look at its \
                 seed tube or belt, its sensor and its drive.",
                &[
                    Measure::SpacingVariation,
                    Measure::Skips,
                    Measure::Multiples,
                    Measure::RideQuality,
                ],
                None,
            );
        }
        let repeats = self.repeating.iter().any(|fault| fault.rows == [row]);
        if called(Measure::Population).is_some() && otherwise && !repeats {
            say(
                AdviceCode::RowPopulation,
                "This row places another number of seeds than the others: look at its drive, its clutch \
                 and its sensor.",
                &[
                    Measure::Population,
                    Measure::TargetPopulation,
                    Measure::Skips,
                ],
                None,
            );
        }
    }

    /// The middle row of the planter, which no single bad row moves.
    fn middle(&self, measure: Measure) -> Option<f64> {
        median(self.rows.iter().filter_map(|row| row.get(measure)))
    }

    fn of_vacuum(&self, found: &mut Vec<Advice>) {
        let (Some(skips), Some(multiples)) =
            (self.middle(Measure::Skips), self.middle(Measure::Multiples))
        else {
            return;
        };
        let enough = self.settings.vacuum_balance_points;
        let (code, what_to_do, trade_off) = if skips - multiples > enough
            && skips >= OUT_OF_BALANCE * multiples
        {
            (
                AdviceCode::MoreVacuum,
                "The whole planter skips more than it doubles: raise the vacuum step by step, or ease the \
                 singulator, and look again.",
                "More vacuum leaves fewer cells empty and holds more doubles.",
            )
        } else if multiples - skips > enough && multiples >= OUT_OF_BALANCE * skips {
            (
                AdviceCode::LessVacuum,
                "The whole planter doubles more than it skips: lower the vacuum step by step, or set the \
                 singulator harder, and look again.",
                "Less vacuum holds fewer doubles and leaves more cells empty.",
            )
        } else {
            return;
        };
        // A rhythm that all rows share is no matter of vacuum.
        let signal = match code {
            AdviceCode::MoreVacuum => Signal::Skips,
            _ => Signal::Multiples,
        };
        if self
            .repeating
            .iter()
            .any(|fault| fault.cause == RhythmCause::Implement && fault.signal == signal)
        {
            return;
        }
        let mut measured = vec![
            figure("skips, middle row", skips, "%"),
            figure("multiples, middle row", multiples, "%"),
        ];
        if let Some(vacuum) = self.middle(Measure::Vacuum) {
            measured.push(figure("vacuum, middle row", vacuum, "Pa"));
        }
        let other = match code {
            AdviceCode::MoreVacuum => measured[1].clone(),
            _ => measured[0].clone(),
        };
        found.push(Advice {
            code,
            rows: Vec::new(),
            what_to_do: what_to_do.to_owned(),
            measured,
            trade_off: Some(TradeOff {
                what: trade_off.to_owned(),
                measured: vec![other],
            }),
            repeating_fault: None,
        });
    }

    fn of_downforce(&self, found: &mut Vec<Advice>) {
        let lost = self.middle(Measure::LostContact);
        let heavy = self.middle(Measure::TooMuchDownforce);
        let limit = self.settings.planter_ground_share_pct;
        let above = |share: Option<f64>| share.is_some_and(|share| share > limit);
        let figures = |shares: &[(&str, Option<f64>)]| -> Vec<Figure> {
            shares
                .iter()
                .filter_map(|&(what, share)| share.map(|share| figure(what, share, "%")))
                .collect()
        };
        let of_lost = ("ground with lost contact, middle row", lost);
        let of_heavy = ("ground with too much downforce, middle row", heavy);
        let (code, what_to_do, trade_off, first, second) = match (above(lost), above(heavy)) {
            (true, false) => (
                AdviceCode::MoreDownforce,
                "The rows lose the ground: more downforce, or slower.",
                "More downforce keeps the depth and packs the ground beside the seed.",
                of_lost,
                of_heavy,
            ),
            (false, true) => (
                AdviceCode::LessDownforce,
                "The rows press too hard: less downforce.",
                "Less downforce packs the ground less and may lose the depth on hard ground.",
                of_heavy,
                of_lost,
            ),
            (true, true) => (
                AdviceCode::UnevenDownforce,
                "The rows are too light in one place and too heavy in another: one setting does not do \
                 for this field. Set it by the ground, and slower.",
                "Any one setting trades lost depth on hard ground for packing on soft ground.",
                of_lost,
                of_heavy,
            ),
            (false, false) => {
                self.of_ride(found);
                return;
            }
        };
        let mut measured = figures(&[first]);
        if let Some(force) = self.middle(Measure::Downforce) {
            measured.push(figure("downforce, middle row", force, "N"));
        }
        found.push(Advice {
            code,
            rows: Vec::new(),
            what_to_do: what_to_do.to_owned(),
            measured,
            trade_off: Some(TradeOff {
                what: trade_off.to_owned(),
                measured: figures(&[second]),
            }),
            repeating_fault: None,
        });
    }

    /// A rough ride that downforce does not explain.
    fn of_ride(&self, found: &mut Vec<Advice>) {
        let Some(ride) = self.middle(Measure::RideQuality) else {
            return;
        };
        let Some(lost) = self.middle(Measure::LostContact) else {
            return;
        };
        if ride < ROUGH_RIDE_PCT {
            found.push(Advice {
                code: AdviceCode::RowCleaners,
                rows: Vec::new(),
                what_to_do: "The rows run rough though they keep the ground: look at residue and clods in \
                             front of them, set the row cleaners to clear residue without digging, and go \
                             slower."
                    .to_owned(),
                measured: vec![
                    figure("ride quality, middle row", ride, "%"),
                    figure("ground with lost contact, middle row", lost, "%"),
                ],
                trade_off: None,
                repeating_fault: None,
            });
        }
    }

    fn of_speed(&self, found: &mut Vec<Advice>) {
        let Some(effect) = self
            .speed
            .effects
            .iter()
            .find(|effect| effect.measure == Measure::SpacingVariation)
        else {
            return;
        };
        // The whole interval has to be a gain, and the gain worth the time.
        if effect.change_interval_95[1] < 0.0 && effect.change_when_slower <= -LEAST_GAIN_POINTS {
            let slower_speed = effect.mean_speed_m_s - effect.slower_by_m_s;
            found.push(Advice {
                code: AdviceCode::SlowDown,
                rows: Vec::new(),
                what_to_do: "Slower planting is expected to space the seeds more evenly in this field."
                    .to_owned(),
                measured: vec![
                    figure("slower by", effect.slower_by_m_s, "m/s"),
                    figure(
                        "expected change of the spacing variation",
                        effect.change_when_slower,
                        POINTS,
                    ),
                    figure("at least (95 %)", effect.change_interval_95[1], POINTS),
                    figure("at most (95 %)", effect.change_interval_95[0], POINTS),
                ],
                trade_off: Some(TradeOff {
                    what: "Slower takes longer: hours to plant the same ground rise with the speeds' ratio."
                        .to_owned(),
                    measured: vec![
                        figure("mean speed", effect.mean_speed_m_s, "m/s"),
                        figure(
                            "hours over those at the mean speed",
                            effect.mean_speed_m_s / slower_speed.max(0.1),
                            "1",
                        ),
                    ],
                }),
                repeating_fault: None,
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(skips: f64, multiples: f64, lost: f64, heavy: f64, ride: f64) -> Vec<RowFigures> {
        let row = RowFigures {
            skips_pct: Some(skips),
            multiples_pct: Some(multiples),
            lost_contact_pct: Some(lost),
            too_much_downforce_pct: Some(heavy),
            ride_quality_pct: Some(ride),
            ..RowFigures::default()
        };
        vec![row; 6]
    }

    fn codes(rows: &[RowFigures]) -> Vec<AdviceCode> {
        let found = advice(&Evidence {
            rows,
            deviations: &[],
            repeating: &[],
            speed: &SpeedAndSpacing::default(),
            settings: &PlantingSettings::default(),
        });
        assert!(found.iter().all(|advice| !advice.measured.is_empty()));
        found.iter().map(|advice| advice.code).collect()
    }

    #[test]
    fn the_whole_planter_is_told_by_its_balance() {
        use AdviceCode::*;
        assert_eq!(codes(&rows(1.0, 0.8, 2.0, 2.0, 97.0)), []);
        assert_eq!(codes(&rows(3.5, 0.4, 2.0, 2.0, 97.0)), [MoreVacuum]);
        assert_eq!(codes(&rows(0.3, 2.9, 2.0, 2.0, 97.0)), [LessVacuum]);
        assert_eq!(codes(&rows(1.0, 0.8, 22.0, 2.0, 97.0)), [MoreDownforce]);
        assert_eq!(codes(&rows(1.0, 0.8, 2.0, 40.0, 97.0)), [LessDownforce]);
        assert_eq!(codes(&rows(1.0, 0.8, 20.0, 40.0, 97.0)), [UnevenDownforce]);
        assert_eq!(codes(&rows(1.0, 0.8, 2.0, 2.0, 82.0)), [RowCleaners]);
    }

    #[test]
    fn one_bad_row_does_not_speak_for_the_planter() {
        let mut rows = rows(1.0, 0.8, 2.0, 2.0, 97.0);
        rows[2].skips_pct = Some(30.0);
        rows[2].lost_contact_pct = Some(90.0);
        assert_eq!(codes(&rows), []);
    }
}
