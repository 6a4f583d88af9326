//! Putting a harvest together: the drive's records as a log would hold them, noise and faults
//! included, beside the truth about each of them.

use std::f64::consts::TAU;

use checkstrip_model::{Column, FieldLog, Labels, SourceFile, Strip, StripSet};
use geo::{LineString, MultiPolygon, Polygon};

use crate::drive::{Drive, STEP_S, STEPS, drive};
use crate::faults::{Fault, FaultKind, choose_records, choose_stops};
use crate::field::{InventedField, StripPlan};
use crate::grain_path::transport;
use crate::place::Place;
use crate::plan::FieldPlan;
use crate::random::Random;
use crate::route::route;

/// When the first record's second begins: 3 October 2026, 15:00 UTC, in Unix seconds.
const START_S: f64 = 1_791_039_600.0;

/// The second day begins a whole day after the first, s.
const DAY_S: f64 = 86_400.0;

/// The names of the two days' logs.
const FILES: [&str; 2] = ["2026-10-03.csv", "2026-10-04.csv"];

/// Memory of the slow part of the position's noise, s.
const DRIFT_S: f64 = 200.0;

/// Noise of the logged speed (m/s), heading (degrees) and height (m), standard deviations.
const READING_NOISE: (f64, f64, f64) = (0.03, 0.3, 0.05);

/// An idle sensor reads up to about so much, kg/s, where readings are noisy at all.
const IDLE_KG_S: f64 = 0.01;

/// True yield of one strip.
#[derive(Debug, Clone, PartialEq)]
pub struct StripTruth {
    /// Its name, as in [`Harvest::strips`].
    pub strip_id: String,
    /// What was done on it.
    pub treatment: String,
    /// Its block.
    pub block: String,
    /// Mean yield of its ground at market moisture, gain included, kg/ha.
    pub yield_kg_ha: f64,
}

/// What a treatment truly did on this field.
#[derive(Debug, Clone, PartialEq)]
pub struct TreatmentTruth {
    /// The treatment.
    pub treatment: String,
    /// The gain it was given, kg/ha.
    pub gain_kg_ha: f64,
    /// In each block, the true mean of its strip less that of the check's, kg/ha: the gain and the
    /// luck of the ground.
    pub block_differences_kg_ha: Vec<f64>,
    /// Their mean, which a perfect measurement of the strips would find, kg/ha.
    pub difference_kg_ha: f64,
}

/// What is true of a harvest. Columns have one entry per record of its log.
#[derive(Debug, Clone, Default)]
pub struct Truth {
    /// Yield of the ground that the record cut, at market moisture, kg/ha; `NaN` where it cut none.
    pub yield_kg_ha: Vec<f64>,
    /// Standing crop that the record cut, m².
    pub cut_area_m2: Vec<f64>,
    /// Wet grain that it cut, kg.
    pub wet_mass_kg: Vec<f64>,
    /// The faults, by record.
    pub faults: Vec<Fault>,
    /// True means of the strips, in the order of [`Harvest::strips`].
    pub strips: Vec<StripTruth>,
    /// Every treatment but the check.
    pub treatments: Vec<TreatmentTruth>,
    /// The delay from the cutting edge to the sensor, s.
    pub transport_delay_s: f64,
    /// The smear after it, s.
    pub smear_s: f64,
    /// Area of the field, ha.
    pub area_ha: f64,
    /// Grain of the whole field at market moisture, kg.
    pub market_mass_kg: f64,
}

/// An invented harvest: what a grower would have, and the truth that no grower has.
#[derive(Debug, Clone)]
pub struct Harvest {
    /// The log of both days, in SI units.
    pub log: FieldLog,
    /// The strips, in WGS 84.
    pub strips: StripSet,
    /// What is true.
    pub truth: Truth,
}

/// Drives over a field and writes down what the machine would.
pub(crate) fn harvest(field: &InventedField) -> Harvest {
    let plan = &field.plan;
    let way = route(plan);
    let mut fault_random = Random::new(plan.seed, "faults");
    let stops = choose_stops(&way.legs, plan.faults.stops, &mut fault_random);
    let drive = drive(field, &way.legs, way.last_leg_of_first_day, &stops);
    let place = Place::new(plan.size_m(), plan.turn_deg);
    let chosen = choose_records(&drive.moments, plan.faults, &mut fault_random);

    let mut readings = read(field, &drive, &place);
    for fault in &chosen {
        readings.spoil(fault, &mut fault_random);
    }

    // A repeated record is written again right behind itself, which moves all later ones.
    let mut order: Vec<usize> = (0..drive.moments.len()).collect();
    order.extend(
        chosen
            .iter()
            .filter(|f| f.kind == FaultKind::RepeatedRow)
            .map(|fault| fault.record),
    );
    order.sort_unstable();
    let log = readings.into_log(plan, &drive, &order);
    let truth = truth(field, &drive, &order, &chosen);
    Harvest {
        log,
        strips: strips(field, &place),
        truth,
    }
}

/// Sums of the steps of each record.
fn per_record(steps: &[f64]) -> Vec<f64> {
    steps
        .chunks_exact(STEPS)
        .map(|chunk| chunk.iter().sum())
        .collect()
}

/// What the sensors read, one entry per second of the drive.
struct Readings {
    lon: Vec<f64>,
    lat: Vec<f64>,
    flow: Vec<f64>,
    moisture: Vec<f64>,
    speed: Vec<f64>,
    heading: Vec<f64>,
    height: Vec<f64>,
    width: f64,
    place: Place,
    /// Where the receiver believes to be, in the field's frame.
    believed: Vec<[f64; 2]>,
}

fn read(field: &InventedField, drive: &Drive, place: &Place) -> Readings {
    let plan = &field.plan;
    let late = |of: fn(&crate::drive::Intake) -> f64| {
        let input: Vec<f64> = drive.intake.iter().map(of).collect();
        per_record(&transport(
            &input,
            STEP_S,
            plan.transport_delay_s,
            plan.smear_s,
        ))
    };
    let wet = late(|i| i.wet_kg);
    let wet_pct = late(|i| i.wet_kg_pct);
    let mut random = Random::new(plan.seed, "sensors");
    let keep = (-1.0 / DRIFT_S).exp();
    let slow = plan.position_noise_m * 0.5f64.sqrt();
    let mut drift = [slow * random.normal(), slow * random.normal()];
    let mut moisture_now = plan.mean_moisture_pct;
    let records = drive.moments.len();
    let mut out = Readings {
        lon: Vec::with_capacity(records),
        lat: Vec::with_capacity(records),
        flow: Vec::with_capacity(records),
        moisture: Vec::with_capacity(records),
        speed: Vec::with_capacity(records),
        heading: Vec::with_capacity(records),
        height: Vec::with_capacity(records),
        width: plan.header_width_m,
        place: *place,
        believed: Vec::with_capacity(records),
    };
    for (record, moment) in drive.moments.iter().enumerate() {
        for axis in &mut drift {
            *axis = keep * *axis + (1.0 - keep * keep).sqrt() * slow * random.normal();
        }
        let believed = [
            moment.at[0] + drift[0] + slow * random.normal(),
            moment.at[1] + drift[1] + slow * random.normal(),
        ];
        let [lon, lat] = place.lon_lat(believed);
        out.believed.push(believed);
        out.lon.push(lon);
        out.lat.push(lat);
        let idle = if plan.flow_noise > 0.0 {
            IDLE_KG_S * random.unit()
        } else {
            0.0
        };
        let noise = 1.0 + plan.flow_noise * random.normal();
        out.flow.push((wet[record] * noise + idle).max(0.0));
        // The sensor keeps its last reading while no grain passes it.
        if wet[record] > 0.05 {
            moisture_now = wet_pct[record] / wet[record];
        }
        out.moisture
            .push(moisture_now + plan.moisture_noise_pct * random.normal());
        let speed = moment.distance_m + READING_NOISE.0 * random.normal();
        out.speed.push(if moment.distance_m > 0.0 {
            speed.max(0.0)
        } else {
            0.0
        });
        let heading = place.heading_deg(moment.direction) + READING_NOISE.1 * random.normal();
        out.heading.push(heading.rem_euclid(360.0));
        out.height
            .push(field.height.at(moment.at) + READING_NOISE.2 * random.normal());
    }
    out
}

impl Readings {
    fn spoil(&mut self, fault: &Fault, random: &mut Random) {
        let at = fault.record;
        match fault.kind {
            FaultKind::PositionJump => {
                let (sin, cos) = random.between(0.0, TAU).sin_cos();
                let off = random.between(12.0, 40.0);
                let [x, y] = self.believed[at];
                [self.lon[at], self.lat[at]] = self.place.lon_lat([x + off * cos, y + off * sin]);
            }
            FaultKind::ZeroFlow => self.flow[at] = 0.0,
            FaultKind::FlowSpike => {
                self.flow[at] = self.flow[at] * random.between(3.0, 6.0) + 3.0;
            }
            FaultKind::BadMoisture => {
                self.moisture[at] = if random.unit() < 0.5 { 0.0 } else { 45.0 };
            }
            FaultKind::Stop | FaultKind::RepeatedRow => {}
        }
    }

    fn into_log(self, plan: &FieldPlan, drive: &Drive, order: &[usize]) -> FieldLog {
        let mut log = FieldLog::with_records(order.len());
        let mut rows = [1u32; 2];
        let mut pass = Labels::default();
        let mut machine = Labels::default();
        for (at, &from) in order.iter().enumerate() {
            let day = drive.moments[from].day;
            log.file[at] = day;
            rows[day as usize] += 1;
            log.row[at] = rows[day as usize];
            pass.push(&drive.moments[from].pass.to_string());
            let combine = plan.combine_of(drive.moments[from].pass);
            machine.push(&plan.combines[combine].name);
        }
        log.files = FILES
            .iter()
            .zip(rows)
            .map(|(name, row)| SourceFile {
                path: (*name).to_owned(),
                sha256: String::new(),
                records: row as usize - 1,
            })
            .collect();
        log.set_labels(Column::PassId, pass);
        log.set_labels(Column::Machine, machine);
        let mut set = |column, value: &dyn Fn(usize) -> f64| {
            log.set_numbers(column, order.iter().map(|&from| value(from)).collect());
        };
        let first_of_second_day = drive.moments.partition_point(|m| m.day == 0);
        set(Column::Timestamp, &|i| {
            // The second after the start of its day.
            let (start, first) = match drive.moments[i].day {
                0 => (START_S, 0),
                _ => (START_S + DAY_S, first_of_second_day),
            };
            start + (i - first) as f64 + 1.0
        });
        set(Column::Lon, &|i| self.lon[i]);
        set(Column::Lat, &|i| self.lat[i]);
        set(Column::MassFlow, &|i| {
            let combine = plan.combine_of(drive.moments[i].pass);
            self.flow[i] * plan.combines[combine].reads
        });
        set(Column::Moisture, &|i| self.moisture[i]);
        set(Column::Speed, &|i| self.speed[i]);
        set(Column::Distance, &|i| drive.moments[i].distance_m);
        set(Column::Interval, &|_| 1.0);
        set(Column::Width, &|_| self.width);
        set(Column::HeaderDown, &|i| {
            f64::from(u8::from(drive.moments[i].header_down))
        });
        set(Column::Heading, &|i| self.heading[i]);
        set(Column::Elevation, &|i| self.height[i]);
        log
    }
}

fn truth(field: &InventedField, drive: &Drive, order: &[usize], chosen: &[Fault]) -> Truth {
    let plan = &field.plan;
    let per_record = |of: fn(&crate::drive::Intake) -> f64| -> Vec<f64> {
        let steps: Vec<f64> = drive.intake.iter().map(of).collect();
        let records = per_record(&steps);
        order.iter().map(|&from| records[from]).collect()
    };
    let market = per_record(|i| i.market_kg);
    let area = per_record(|i| i.area_m2);
    let mut faults: Vec<Fault> = Vec::new();
    for (at, &from) in order.iter().enumerate() {
        let repeats = at > 0 && order[at - 1] == from;
        if drive.moments[from].stopped {
            faults.push(Fault {
                record: at,
                kind: FaultKind::Stop,
            });
        }
        faults.extend(
            chosen
                .iter()
                .filter(|f| f.record == from && (f.kind == FaultKind::RepeatedRow) == repeats)
                .map(|f| Fault {
                    record: at,
                    kind: f.kind,
                }),
        );
    }
    let strips: Vec<StripTruth> = field
        .strips
        .iter()
        .enumerate()
        .map(|(at, strip)| StripTruth {
            strip_id: (at + 1).to_string(),
            treatment: plan.treatments[strip.treatment].name.clone(),
            block: strip.block.to_string(),
            yield_kg_ha: field.strip_mean_kg_ha(strip),
        })
        .collect();
    let mean_in = |block: usize, treatment: usize| {
        field
            .strips
            .iter()
            .zip(&strips)
            .find(|(plan, _)| plan.block == block && plan.treatment == treatment)
            .map_or(f64::NAN, |(_, truth)| truth.yield_kg_ha)
    };
    let treatments = plan
        .treatments
        .iter()
        .enumerate()
        .skip(1)
        .map(|(number, treatment)| {
            let differences: Vec<f64> = (1..=plan.blocks)
                .map(|b| mean_in(b, number) - mean_in(b, 0))
                .collect();
            TreatmentTruth {
                treatment: treatment.name.clone(),
                gain_kg_ha: treatment.gain_kg_ha,
                difference_kg_ha: differences.iter().sum::<f64>() / differences.len() as f64,
                block_differences_kg_ha: differences,
            }
        })
        .collect();
    Truth {
        yield_kg_ha: market
            .iter()
            .zip(&area)
            .map(|(kg, m2)| if *m2 > 0.0 { kg / m2 * 1e4 } else { f64::NAN })
            .collect(),
        wet_mass_kg: per_record(|i| i.wet_kg),
        cut_area_m2: area,
        faults,
        strips,
        treatments,
        transport_delay_s: plan.transport_delay_s,
        smear_s: plan.smear_s,
        area_ha: plan.size_m()[0] * plan.size_m()[1] / 1e4,
        market_mass_kg: drive.intake.iter().map(|i| i.market_kg).sum(),
    }
}

fn strips(field: &InventedField, place: &Place) -> StripSet {
    let ground = |strip: &StripPlan| {
        let [[west, east], [south, north]] = [strip.x, strip.y];
        let corners = [
            [west, south],
            [east, south],
            [east, north],
            [west, north],
            [west, south],
        ];
        let ring: Vec<[f64; 2]> = corners.iter().map(|&c| place.lon_lat(c)).collect();
        MultiPolygon::new(vec![Polygon::new(LineString::from(ring), vec![])])
    };
    StripSet {
        path: "strips.geojson".to_owned(),
        strips: field
            .strips
            .iter()
            .enumerate()
            .map(|(at, strip)| Strip {
                strip_id: (at + 1).to_string(),
                treatment: field.plan.treatments[strip.treatment].name.clone(),
                block: Some(strip.block.to_string()),
                ground: ground(strip),
                row: at as u32 + 1,
            })
            .collect(),
        crs: "OGC:CRS84".to_owned(),
        ..StripSet::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::FaultCounts;

    fn plan() -> FieldPlan {
        FieldPlan {
            passes: 16,
            pass_length_m: 250.0,
            blocks: 3,
            ..FieldPlan::default()
        }
    }

    fn quiet() -> FieldPlan {
        FieldPlan {
            flow_noise: 0.0,
            moisture_noise_pct: 0.0,
            position_noise_m: 0.0,
            faults: FaultCounts::NONE,
            ..plan()
        }
    }

    fn harvest(plan: FieldPlan) -> Harvest {
        InventedField::new(plan).unwrap().harvest()
    }

    fn column(harvest: &Harvest, column: Column) -> Vec<f64> {
        harvest.log.numbers(column).unwrap().to_vec()
    }

    #[test]
    fn a_seed_names_a_harvest() {
        let (first, again) = (harvest(plan()), harvest(plan()));
        let other = harvest(FieldPlan { seed: 7, ..plan() });
        assert_eq!(
            column(&first, Column::MassFlow),
            column(&again, Column::MassFlow)
        );
        assert_eq!(column(&first, Column::Lon), column(&again, Column::Lon));
        assert_ne!(
            column(&first, Column::MassFlow),
            column(&other, Column::MassFlow)
        );
    }

    /// Law: all grain that is cut passes the sensor.
    #[test]
    fn grain_mass_is_conserved() {
        let harvest = harvest(quiet());
        let cut: f64 = harvest.truth.wet_mass_kg.iter().sum();
        let logged: f64 = column(&harvest, Column::MassFlow).iter().sum();
        assert!((logged / cut - 1.0).abs() < 1e-4, "{logged} of {cut}");
        let dry: f64 = column(&harvest, Column::MassFlow)
            .iter()
            .zip(column(&harvest, Column::Moisture))
            .map(|(kg, pct)| kg * (100.0 - pct) / 87.0)
            .sum();
        assert!((dry / harvest.truth.market_mass_kg - 1.0).abs() < 1e-3);
    }

    /// The passes whose whole swath lies in a strip average to the strip's true mean, which is found
    /// by summing over the ground.
    #[test]
    fn strip_means_agree_with_the_passes_in_them() {
        let field = InventedField::new(quiet()).unwrap();
        let (plan, harvest) = (&field.plan, field.harvest());
        let pass = harvest.log.labels(Column::PassId).unwrap();
        for (strip, truth) in field.strips.iter().zip(&harvest.truth.strips) {
            let (mut kg, mut m2) = (0.0, 0.0);
            for i in 0..harvest.log.len() {
                let number: f64 = pass.name(i).parse().unwrap();
                let in_field = number - 4.0 * plan.headland_laps as f64 - 0.5;
                let line = plan.headland_m() + in_field * plan.swath_step_m();
                if harvest.truth.cut_area_m2[i] > 0.0 && (strip.x[0]..strip.x[1]).contains(&line) {
                    kg += harvest.truth.yield_kg_ha[i] * harvest.truth.cut_area_m2[i];
                    m2 += harvest.truth.cut_area_m2[i];
                }
            }
            let area = (strip.x[1] - strip.x[0]) * plan.pass_length_m;
            assert!((m2 / area - 1.0).abs() < 1e-9, "{m2} of {area}");
            assert!(
                (kg / m2 / truth.yield_kg_ha - 1.0).abs() < 1e-3,
                "{} {truth:?}",
                kg / m2
            );
        }
        let rolled = &harvest.truth.treatments[0];
        assert_eq!(rolled.block_differences_kg_ha.len(), 3);
        let mean = |name: &str| {
            let of: Vec<f64> = harvest
                .truth
                .strips
                .iter()
                .filter(|s| s.treatment == name)
                .map(|s| s.yield_kg_ha)
                .collect();
            of.iter().sum::<f64>() / of.len() as f64
        };
        assert!((rolled.difference_kg_ha - (mean("rolled") - mean("check"))).abs() < 1e-9);
    }

    /// The flow follows the cut best when it is moved back by the delay and about half the smear to
    /// the whole of it.
    #[test]
    fn the_planted_delay_shows() {
        let harvest = harvest(quiet());
        let flow = column(&harvest, Column::MassFlow);
        let cut = &harvest.truth.wet_mass_kg;
        let mismatch = |shift: usize| -> f64 {
            cut.iter()
                .zip(&flow[shift..])
                .map(|(a, b)| (a - b) * (a - b))
                .sum()
        };
        let best = (0..30)
            .min_by(|&a, &b| mismatch(a).total_cmp(&mismatch(b)))
            .unwrap();
        assert!((11..=13).contains(&best), "{best}");
    }

    #[test]
    fn faults_are_where_the_truth_says() {
        let harvest = harvest(plan());
        let of = |kind| {
            harvest
                .truth
                .faults
                .iter()
                .filter(move |f| f.kind == kind)
                .map(|f| f.record)
        };
        let counts = plan().faults;
        assert_eq!(
            of(FaultKind::PositionJump).count(),
            2 * counts.position_jumps
        );
        assert_eq!(of(FaultKind::RepeatedRow).count(), counts.repeated_rows);
        let (flow, time) = (
            column(&harvest, Column::MassFlow),
            column(&harvest, Column::Timestamp),
        );
        assert!(of(FaultKind::ZeroFlow).all(|i| flow[i] == 0.0));
        assert!(of(FaultKind::FlowSpike).all(|i| flow[i] > 3.0));
        assert!(of(FaultKind::RepeatedRow).all(|i| time[i] == time[i - 1]));
        let speed = column(&harvest, Column::Speed);
        assert!(of(FaultKind::Stop).count() >= 50);
        assert!(of(FaultKind::Stop).filter(|&i| speed[i] > 0.0).count() <= counts.stops * 2);
        let repeats = time.windows(2).filter(|w| w[0] == w[1]).count();
        assert_eq!(repeats, counts.repeated_rows);
        assert!(time.windows(2).all(|w| w[0] <= w[1]));
    }

    #[test]
    fn the_demo_field_is_quick_and_of_the_promised_size() {
        let started = std::time::Instant::now();
        let harvest = harvest(FieldPlan::default());
        println!("{} records in {:?}", harvest.log.len(), started.elapsed());
        println!("{:?}", harvest.truth.treatments);
        assert!((30_000..60_000).contains(&harvest.log.len()));
        assert_eq!(
            harvest.log.files.iter().map(|f| f.records).sum::<usize>(),
            harvest.log.len()
        );
        assert!(
            (harvest.truth.area_ha - 65.0).abs() < 1.0,
            "{}",
            harvest.truth.area_ha
        );
    }
}
