//! An invented planter on an invented field: a planting log with one record for each row and moment, made
//! seed by seed from meters whose every cell is known, beside the faults that were planted in it.

use std::f64::consts::TAU;

use checkstrip_model::units::M2_PER_HA;
use checkstrip_model::{Column, FieldLog, Labels, Operation, SourceFile};

use crate::place::Place;
use crate::plan::InventedError;
use crate::random::Random;
use crate::surface::Surface;

/// When planting begins: 25 April 2026, 14:00 UTC, in Unix seconds.
const START_S: f64 = 1_777_125_600.0;

/// Time to turn from one pass to the next, s.
const TURN_S: f64 = 25.0;

/// Moments that are logged with the planter lifted at the start of each turn.
const LIFTED_MOMENTS: usize = 3;

/// Memory of the speed's slow changes, s.
const SPEED_MEMORY_S: f64 = 30.0;

/// What healthy meters do at the usual speed: shares of seeds.
const SKIPS: f64 = 0.009;
const MULTIPLES: f64 = 0.007;

/// How much more a meter skips and doubles for each m/s faster, as an exponent.
const METER_PER_M_S: f64 = 0.5;

/// Coefficient of variation of the spacing at the usual speed, percent; more for each m/s faster; its
/// noise from reading to reading.
const SPACING_VARIATION: (f64, f64, f64) = (14.0, 5.0, 2.0);

/// How healthy rows differ from each other, standard deviations: skips and multiples (of their logarithm),
/// spacing variation and ride (percentage points), downforce and vacuum (shares).
const ROWS_DIFFER: [f64; 5] = [0.15, 0.6, 0.5, 0.05, 0.02];

/// A fault of an invented planter. Rows and passes count from 1; `passes` are the first and the last.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanterFault {
    /// A cell leaves its seed out, in this share of the turns.
    BlockedCell {
        /// The row.
        row: usize,
        /// Passes on which it does.
        passes: [usize; 2],
        /// Share of the turns.
        share: f64,
    },
    /// A cell drops two seeds, in this share of the turns.
    DoublingCell {
        /// The row.
        row: usize,
        /// Passes on which it does.
        passes: [usize; 2],
        /// Share of the turns.
        share: f64,
    },
    /// A worn meter: skips and multiples, 2.5 percentage points more of each.
    WornRow {
        /// The row.
        row: usize,
    },
    /// A bouncing row: ride 9 points less, contact 5 points less, spacing variation 8 points more.
    BouncingRow {
        /// The row.
        row: usize,
    },
    /// Vacuum a third too low: the whole planter skips 3 percentage points more and doubles less.
    LowVacuum,
    /// Vacuum a third too high: the whole planter doubles 3 percentage points more and skips less.
    HighVacuum,
    /// A wheel of one row with a bad spot: up to 5 percentage points more skips once in this way.
    WheelRhythm {
        /// The row.
        row: usize,
        /// Way of one turn, m.
        period_m: f64,
    },
    /// The same in all rows at once.
    ImplementRhythm {
        /// The period, m.
        period_m: f64,
    },
}

/// What an invented planting is to be like.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanterPlan {
    /// Names the planting: the same seed gives the same log.
    pub seed: u64,
    /// Rows of the planter.
    pub rows: usize,
    /// Distance between rows, m.
    pub row_spacing_m: f64,
    /// Cells of each disc.
    pub cells: u32,
    /// Seeds asked for, 1/ha.
    pub seeds_per_ha: f64,
    /// How far the seed rate asked for swings around that along a pass, as a share; 0 for one rate.
    pub rate_swing: f64,
    /// Passes.
    pub passes: usize,
    /// Their length, m.
    pub pass_length_m: f64,
    /// Time from moment to moment, s.
    pub interval_s: f64,
    /// Usual speed, m/s.
    pub speed_m_s: f64,
    /// Standard deviation of the passes' mean speeds, m/s.
    pub speed_spread_m_s: f64,
    /// The monitor averages skips and multiples with this memory, s; 0: it does not.
    pub average_s: f64,
    /// Faults.
    pub faults: Vec<PlanterFault>,
}

impl Default for PlanterPlan {
    /// Sixteen rows of 30 inches at 32,000 seeds an acre and 5.4 mph, five records a second, no fault.
    fn default() -> PlanterPlan {
        PlanterPlan {
            seed: 1,
            rows: 16,
            row_spacing_m: 0.762,
            cells: 40,
            seeds_per_ha: 79_000.0,
            rate_swing: 0.0,
            passes: 14,
            pass_length_m: 400.0,
            interval_s: 0.2,
            speed_m_s: 2.4,
            speed_spread_m_s: 0.2,
            average_s: 0.0,
            faults: Vec::new(),
        }
    }
}

impl PlanterPlan {
    fn check(&self) -> Result<(), InventedError> {
        let positive = [
            ("row spacing", self.row_spacing_m),
            ("seeds per hectare", self.seeds_per_ha),
            ("pass length", self.pass_length_m),
            ("interval", self.interval_s),
            ("speed", self.speed_m_s),
        ];
        let counts = self.rows > 0 && self.passes > 0 && self.cells > 0;
        let swings = (0.0..1.0).contains(&self.rate_swing)
            && self.speed_spread_m_s >= 0.0
            && self.average_s >= 0.0;
        if !counts || !swings {
            return Err(InventedError::Plan {
                message: "a planter has rows, passes and cells, and swings of its rate below 1"
                    .to_owned(),
            });
        }
        match positive.iter().find(|(_, v)| !(*v > 0.0 && v.is_finite())) {
            Some((what, value)) => Err(InventedError::Plan {
                message: format!("{what} is {value}, expected more than 0"),
            }),
            None => Ok(()),
        }
    }

    fn width_m(&self) -> f64 {
        self.rows as f64 * self.row_spacing_m
    }
}

/// One row of the planter: how it differs from the others, and where its meter is.
struct RowUnit {
    skips: f64,
    multiples: f64,
    spacing_variation: f64,
    ride: f64,
    contact: f64,
    downforce: f64,
    vacuum: f64,
    /// Seeds due since the disc's mark passed.
    metered: f64,
    /// Skips and multiples as the monitor shows them.
    shown: [f64; 2],
}

/// The planting log of a plan, in SI units, one record for each row and moment.
///
/// # Errors
/// When the plan makes no sense.
pub fn invented_planting(plan: &PlanterPlan) -> Result<FieldLog, InventedError> {
    let mut all = Columns::default();
    drive(plan, |pass| all.append(pass))?;
    Ok(all.into_log())
}

/// The same log pass by pass, for logs that would not fit into memory: `each` gets the records of one pass
/// after the other, with the planter down and lifted behind it.
///
/// # Errors
/// When the plan makes no sense.
pub fn invented_passes(
    plan: &PlanterPlan,
    mut each: impl FnMut(FieldLog),
) -> Result<(), InventedError> {
    drive(plan, |pass| each(pass.into_log()))
}

fn drive(plan: &PlanterPlan, mut each: impl FnMut(Columns)) -> Result<(), InventedError> {
    plan.check()?;
    let size = [plan.passes as f64 * plan.width_m(), plan.pass_length_m];
    let place = Place::new(size, 4.0);
    let mut of_soil = Random::new(plan.seed, "planting soil");
    let soil = Surface::new(size, 0.0, 1.0, 120.0, -10.0, &mut of_soil);
    let mut rows = row_units(plan);
    let mut of_drive = Random::new(plan.seed, "planting drive");
    let mut of_meters = Random::new(plan.seed, "planting meters");
    let mut of_readings = Random::new(plan.seed, "planting readings");
    let keep = (-plan.interval_s / SPEED_MEMORY_S).exp();
    let mut time = START_S;
    for pass in 0..plan.passes {
        let mut columns = Columns::default();
        let up = pass % 2 == 0;
        let pass_speed = plan.speed_m_s + plan.speed_spread_m_s * of_drive.normal();
        let pass_speed = pass_speed.clamp(0.5 * plan.speed_m_s, 1.6 * plan.speed_m_s);
        let mut slow = 0.0;
        let phase = of_drive.between(0.0, TAU);
        let (mut along, mut lifted) = (0.0, 0);
        while along < plan.pass_length_m || lifted < LIFTED_MOMENTS {
            time += plan.interval_s;
            slow = keep * slow + (1.0 - keep * keep).sqrt() * 0.1 * of_drive.normal();
            let speed = (pass_speed + slow).max(0.3 * plan.speed_m_s);
            let step = speed * plan.interval_s;
            let down = along < plan.pass_length_m;
            lifted += usize::from(!down);
            along += step;
            let y = if up {
                along
            } else {
                plan.pass_length_m - along
            };
            let heading = place.heading_deg([0.0, if up { 1.0 } else { -1.0 }]);
            let rate = plan.seeds_per_ha * (1.0 + plan.rate_swing * (TAU * along / 173.0).sin());
            for (at, row) in rows.iter_mut().enumerate() {
                let side = at as f64 + 0.5 - plan.rows as f64 / 2.0;
                let right = if up { side } else { -side } * plan.row_spacing_m;
                let x = (pass as f64 + 0.5) * plan.width_m() + right;
                let moment = Moment {
                    pass: pass + 1,
                    row: at + 1,
                    faster: speed - plan.speed_m_s,
                    seeds: step * rate * plan.row_spacing_m / M2_PER_HA,
                    along,
                    phase,
                    soil: soil.at([x.clamp(0.0, size[0]), y.clamp(0.0, size[1])]),
                };
                let shares = row.meter(plan, &moment, &mut of_meters);
                let [lon, lat] = place.lon_lat([x, y]);
                columns.push(&[
                    time,
                    lon,
                    lat,
                    speed,
                    heading.rem_euclid(360.0),
                    plan.width_m(),
                    f64::from(u8::from(down)),
                    (at + 1) as f64,
                    rate,
                ]);
                columns.push_readings(row.readings(plan, &moment, rate, shares, &mut of_readings));
                columns.pass.push(&(pass + 1).to_string());
            }
        }
        time += TURN_S;
        each(columns);
    }
    Ok(())
}

fn row_units(plan: &PlanterPlan) -> Vec<RowUnit> {
    let mut random = Random::new(plan.seed, "planting rows");
    let [meter, variation, ride, force, vacuum] = ROWS_DIFFER;
    (0..plan.rows)
        .map(|_| RowUnit {
            skips: (meter * random.normal()).exp(),
            multiples: (meter * random.normal()).exp(),
            spacing_variation: variation * random.normal(),
            ride: ride * random.normal(),
            contact: 0.5 * ride * random.normal(),
            downforce: 1.0 + force * random.normal(),
            vacuum: 1.0 + vacuum * random.normal(),
            metered: random.between(0.0, f64::from(plan.cells)),
            shown: [SKIPS, MULTIPLES],
        })
        .collect()
}

/// What a row meets in one interval.
struct Moment {
    pass: usize,
    row: usize,
    /// Above the usual speed, m/s.
    faster: f64,
    /// Seeds due.
    seeds: f64,
    along: f64,
    phase: f64,
    /// Hardness and roughness of the ground, in standard deviations.
    soil: f64,
}

impl RowUnit {
    /// Drops the seeds due in an interval; the shares of skips and multiples among them as the monitor
    /// shows them, 0 where none was due.
    fn meter(&mut self, plan: &PlanterPlan, moment: &Moment, random: &mut Random) -> [f64; 2] {
        let speed = (METER_PER_M_S * moment.faster).exp();
        let (mut skip, mut double) = (
            SKIPS * self.skips * speed,
            MULTIPLES * self.multiples * speed,
        );
        let (mut skipping_cell, mut doubling_cell) = (0.0, 0.0);
        for fault in &plan.faults {
            let within = |passes: &[usize; 2]| (passes[0]..=passes[1]).contains(&moment.pass);
            let turning = |period_m: f64| {
                0.05 * ((1.0 + (TAU * moment.along / period_m + moment.phase).cos()) / 2.0).powi(2)
            };
            match fault {
                PlanterFault::BlockedCell { row, passes, share }
                    if *row == moment.row && within(passes) =>
                {
                    skipping_cell = *share;
                }
                PlanterFault::DoublingCell { row, passes, share }
                    if *row == moment.row && within(passes) =>
                {
                    doubling_cell = *share;
                }
                PlanterFault::WornRow { row } if *row == moment.row => {
                    skip += 0.025;
                    double += 0.025;
                }
                PlanterFault::LowVacuum => {
                    skip += 0.03;
                    double *= 0.3;
                }
                PlanterFault::HighVacuum => {
                    double += 0.03;
                    skip *= 0.3;
                }
                PlanterFault::WheelRhythm { row, period_m } if *row == moment.row => {
                    skip += turning(*period_m);
                }
                PlanterFault::ImplementRhythm { period_m } => skip += turning(*period_m),
                _ => {}
            }
        }
        let before = self.metered;
        self.metered += moment.seeds;
        let due = (self.metered.floor() - before.floor()) as usize;
        let (mut skips, mut doubles) = (0.0, 0.0);
        for seed in 1..=due {
            let at_mark = (before.floor() as u64 + seed as u64).is_multiple_of(plan.cells.into());
            let (skip, double) = if at_mark {
                (skip.max(skipping_cell), double.max(doubling_cell))
            } else {
                (skip, double)
            };
            let drawn = random.unit();
            if drawn < skip {
                skips += 1.0;
            } else if drawn < skip + double {
                doubles += 1.0;
            }
        }
        let now = [skips, doubles].map(|count| count / due.max(1) as f64);
        let keep = if plan.average_s > 0.0 {
            (-plan.interval_s / plan.average_s).exp()
        } else {
            0.0
        };
        for (shown, now) in self.shown.iter_mut().zip(now) {
            *shown = keep * *shown + (1.0 - keep) * now;
        }
        self.shown
    }

    /// The row's other readings, in the order of [`READINGS`].
    fn readings(
        &self,
        plan: &PlanterPlan,
        moment: &Moment,
        rate: f64,
        [skips, doubles]: [f64; 2],
        random: &mut Random,
    ) -> [f64; 9] {
        let mut bounces = false;
        let mut vacuum_share = 1.0;
        for fault in &plan.faults {
            match fault {
                PlanterFault::BouncingRow { row } if *row == moment.row => bounces = true,
                PlanterFault::LowVacuum => vacuum_share = 2.0 / 3.0,
                PlanterFault::HighVacuum => vacuum_share = 4.0 / 3.0,
                _ => {}
            }
        }
        let less = |healthy: f64, bouncing: f64| if bounces { bouncing } else { healthy };
        let (level, per_m_s, noise) = SPACING_VARIATION;
        let variation = level
            + per_m_s * moment.faster
            + moment.soil
            + self.spacing_variation
            + less(0.0, 8.0)
            + noise * random.normal();
        let contact =
            99.2 + self.contact - 1.2 * moment.faster - 0.8 * moment.soil - less(0.0, 5.0)
                + 1.2 * random.normal();
        let ride = 97.0 + self.ride - 2.0 * moment.faster - 0.8 * moment.soil - less(0.0, 9.0)
            + 1.5 * random.normal();
        let downforce = 480.0 * self.downforce + 70.0 * moment.soil + 60.0 * random.normal();
        let vacuum = 5_000.0 * vacuum_share * self.vacuum + 40.0 * random.normal();
        [
            rate * (1.0 - skips + doubles),
            100.0 * (1.0 - skips - doubles),
            100.0 * skips,
            100.0 * doubles,
            variation.max(1.0),
            downforce,
            contact.clamp(0.0, 100.0),
            ride.clamp(0.0, 100.0),
            vacuum,
        ]
    }
}

/// Columns pushed with the moment.
const OF_MOMENT: [Column; 9] = [
    Column::Timestamp,
    Column::Lon,
    Column::Lat,
    Column::Speed,
    Column::Heading,
    Column::Width,
    Column::HeaderDown,
    Column::Row,
    Column::TargetSeedRate,
];

/// Columns of the row's readings.
const READINGS: [Column; 9] = [
    Column::SeedRate,
    Column::Singulation,
    Column::Skips,
    Column::Multiples,
    Column::SpacingVariation,
    Column::Downforce,
    Column::GroundContact,
    Column::RideQuality,
    Column::Vacuum,
];

#[derive(Default)]
struct Columns {
    of_moment: [Vec<f64>; 9],
    readings: [Vec<f64>; 9],
    pass: Labels,
}

impl Columns {
    fn push(&mut self, values: &[f64; 9]) {
        for (column, value) in self.of_moment.iter_mut().zip(values) {
            column.push(*value);
        }
    }

    fn push_readings(&mut self, values: [f64; 9]) {
        for (column, value) in self.readings.iter_mut().zip(values) {
            column.push(value);
        }
    }

    /// Puts the records of a later pass behind these.
    fn append(&mut self, later: Columns) {
        let ours = self.of_moment.iter_mut().chain(&mut self.readings);
        let theirs = later.of_moment.into_iter().chain(later.readings);
        ours.zip(theirs).for_each(|(all, more)| all.extend(more));
        for &name in &later.pass.index {
            self.pass.push(&later.pass.names[name as usize]);
        }
    }

    fn into_log(self) -> FieldLog {
        let records = self.pass.index.len();
        let mut log = FieldLog::with_records(records);
        log.operation = Operation::Planting;
        log.row = (2..).take(records).collect();
        log.files = vec![SourceFile {
            path: "2026-04-25-planting.csv".to_owned(),
            sha256: String::new(),
            records,
        }];
        log.set_labels(Column::PassId, self.pass);
        let names = OF_MOMENT.into_iter().chain(READINGS);
        for (column, values) in names.zip(self.of_moment.into_iter().chain(self.readings)) {
            log.set_numbers(column, values);
        }
        log
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small(faults: Vec<PlanterFault>) -> FieldLog {
        invented_planting(&PlanterPlan {
            rows: 4,
            passes: 4,
            faults,
            ..PlanterPlan::default()
        })
        .unwrap()
    }

    /// Mean of a column over the records of a row with the planter down.
    fn mean(log: &FieldLog, column: Column, row: f64) -> f64 {
        let (rows, down) = (
            log.numbers(Column::Row).unwrap(),
            log.numbers(Column::HeaderDown).unwrap(),
        );
        let values = log.numbers(column).unwrap();
        let of_row: Vec<f64> = (0..log.len())
            .filter(|&i| rows[i] == row && down[i] == 1.0)
            .map(|i| values[i])
            .collect();
        of_row.iter().sum::<f64>() / of_row.len() as f64
    }

    #[test]
    fn the_same_seed_gives_the_same_log() {
        let (first, again) = (small(vec![]), small(vec![]));
        assert_eq!(first.numbers(Column::Skips), again.numbers(Column::Skips));
        assert_eq!(first.operation, Operation::Planting);
        assert_eq!(first.len() % 4, 0);
    }

    #[test]
    fn planted_faults_show_in_their_row() {
        let healthy = small(vec![]);
        let worn = small(vec![PlanterFault::WornRow { row: 2 }]);
        let more = |column, row| mean(&worn, column, row) - mean(&healthy, column, row);
        assert!((more(Column::Skips, 2.0) - 2.5).abs() < 0.5);
        assert!((more(Column::Multiples, 2.0) - 2.5).abs() < 0.5);
        assert!(more(Column::Skips, 1.0).abs() < 0.3);
        let blocked = small(vec![PlanterFault::BlockedCell {
            row: 3,
            passes: [1, 4],
            share: 1.0,
        }]);
        // One of 40 cells.
        let more = mean(&blocked, Column::Skips, 3.0) - mean(&healthy, Column::Skips, 3.0);
        assert!((more - 2.5).abs() < 0.3, "{more}");
        let bouncing = small(vec![PlanterFault::BouncingRow { row: 1 }]);
        let less =
            mean(&healthy, Column::RideQuality, 1.0) - mean(&bouncing, Column::RideQuality, 1.0);
        assert!((less - 9.0).abs() < 1.0, "{less}");
    }

    #[test]
    fn nonsense_is_refused() {
        let refused = |plan: PlanterPlan| assert!(invented_planting(&plan).is_err());
        refused(PlanterPlan {
            rows: 0,
            ..PlanterPlan::default()
        });
        refused(PlanterPlan {
            interval_s: 0.0,
            ..PlanterPlan::default()
        });
        refused(PlanterPlan {
            rate_swing: 2.0,
            ..PlanterPlan::default()
        });
    }
}
