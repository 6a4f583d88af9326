//! Driving the way: time is stepped in quarters of a second, speed wanders and drops at the ends of
//! passes and at stops, and every step takes in the grain that stands on the ground it covers.

use crate::field::InventedField;
use crate::random::Random;
use crate::route::Leg;

/// Steps per record of one second.
pub(crate) const STEPS: usize = 4;

/// Length of a step, s.
pub(crate) const STEP_S: f64 = 1.0 / STEPS as f64;

/// Points across the header at which the ground's yield is read.
const ACROSS: usize = 5;

/// The speed's wandering: standard deviation over the usual speed, and its memory, s.
const WANDER: (f64, f64) = (0.05, 15.0);

/// Standard deviation of a whole pass's speed over the usual one.
const PASS_SPEED: f64 = 0.03;

/// A pass is entered and left at this share of the speed, over so many metres.
const RAMP: (f64, f64) = (0.55, 12.0);

/// Speed of a turn over the usual speed.
const TURN_SPEED: f64 = 0.75;

/// The machine runs on for this many delays and smears at the end of a day, until it is empty.
const EMPTYING: (f64, f64) = (1.0, 14.0);

/// A stop in a pass: the leg it is on, how far along, and how long.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stop {
    pub(crate) leg: usize,
    pub(crate) along_m: f64,
    pub(crate) seconds: f64,
}

/// What one step took in.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Intake {
    /// Wet grain, kg.
    pub(crate) wet_kg: f64,
    /// The same at market moisture, kg.
    pub(crate) market_kg: f64,
    /// Wet grain times its moisture, kg %.
    pub(crate) wet_kg_pct: f64,
    /// Ground cut, m².
    pub(crate) area_m2: f64,
}

/// Where the machine is at the end of a record.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    pub(crate) at: [f64; 2],
    pub(crate) direction: [f64; 2],
    pub(crate) pass: u32,
    pub(crate) header_down: bool,
    pub(crate) distance_m: f64,
    /// 0 on the first day, 1 on the second.
    pub(crate) day: u32,
    pub(crate) stopped: bool,
}

/// The whole drive: [`STEPS`] intakes for every moment.
#[derive(Debug, Default)]
pub(crate) struct Drive {
    pub(crate) intake: Vec<Intake>,
    pub(crate) moments: Vec<Moment>,
}

/// Drives `legs`; the machine empties and rests overnight after leg `last_leg_of_first_day`.
pub(crate) fn drive(
    field: &InventedField,
    legs: &[Leg],
    last_leg_of_first_day: usize,
    stops: &[Stop],
) -> Drive {
    let plan = &field.plan;
    let mut random = Random::new(plan.seed, "speed");
    let emptying = (EMPTYING.0 * plan.transport_delay_s + EMPTYING.1 * plan.smear_s + 2.0).ceil();
    let mut stops: Vec<Stop> = stops.to_vec();
    // The next one last, to be taken off the end.
    stops.sort_by(|a, b| b.leg.cmp(&a.leg).then(b.along_m.total_cmp(&a.along_m)));
    let keep = (-STEP_S / WANDER.1).exp();
    let mut wander = 0.0;
    let mut pass_speed = plan.speed_m_s;
    let (mut number, mut along, mut day) = (0, 0.0, 0);
    let mut standing = Standing::default();
    let mut out = Drive::default();
    let mut travelled = 0.0;
    loop {
        wander = keep * wander + (1.0 - keep * keep).sqrt() * random.normal();
        let mut intake = Intake::default();
        let mut left_s = STEP_S;
        while left_s > 1e-12 {
            if standing.seconds > 0.0 {
                let used = standing.seconds.min(left_s);
                standing.seconds -= used;
                left_s -= used;
                if standing.seconds <= 0.0 && standing.overnight {
                    standing.overnight = false;
                    day += 1;
                }
                continue;
            }
            let Some(leg) = legs.get(number) else { break };
            let next_stop = stops.last().filter(|stop| stop.leg == number).copied();
            let length = leg.length_m();
            let until = next_stop.map_or(length, |stop| stop.along_m.clamp(along, length));
            let speed = speed(leg, along, next_stop, pass_speed, plan.speed_m_s)
                * (1.0 + WANDER.0 * wander.clamp(-3.0, 3.0));
            let reach = along + speed * left_s;
            let to = reach.min(until);
            take_in(field, leg, along, to, &mut intake);
            travelled += to - along;
            left_s = if reach > until {
                left_s - (to - along) / speed
            } else {
                0.0
            };
            along = to;
            if reach < until {
                continue;
            }
            if let Some(stop) = next_stop {
                stops.pop();
                standing = Standing {
                    seconds: stop.seconds,
                    overnight: false,
                    in_pass: true,
                };
                continue;
            }
            let finished = number;
            number += 1;
            along = 0.0;
            if legs.get(number).is_some_and(|next| next.pass != leg.pass) {
                pass_speed = plan.speed_m_s * (1.0 + PASS_SPEED * random.normal());
            }
            if finished == last_leg_of_first_day || number == legs.len() {
                standing = Standing {
                    seconds: emptying,
                    overnight: true,
                    in_pass: false,
                };
            }
        }
        out.intake.push(intake);
        if out.intake.len() % STEPS == 0 {
            let leg = legs[number.min(legs.len() - 1)];
            let direction = leg.direction();
            let along = if number < legs.len() {
                along
            } else {
                leg.length_m()
            };
            out.moments.push(Moment {
                at: [
                    leg.from[0] + direction[0] * along,
                    leg.from[1] + direction[1] * along,
                ],
                direction,
                pass: leg.pass,
                header_down: leg.header_down && (standing.seconds <= 0.0 || standing.in_pass),
                distance_m: travelled,
                day: day.min(1),
                stopped: standing.seconds > 0.0 && standing.in_pass,
            });
            travelled = 0.0;
            if number == legs.len() && standing.seconds <= 0.0 {
                return out;
            }
        }
    }
}

#[derive(Debug, Clone, Copy, Default)]
struct Standing {
    seconds: f64,
    overnight: bool,
    in_pass: bool,
}

/// Speed without its wandering, m/s.
fn speed(leg: &Leg, along: f64, stop: Option<Stop>, pass_speed: f64, usual_speed: f64) -> f64 {
    if !leg.header_down {
        return usual_speed * TURN_SPEED;
    }
    let to_end = (leg.since_down_m + along).min(leg.until_up_m + leg.length_m() - along);
    let to_stop = stop.map_or(f64::INFINITY, |stop| stop.along_m - along);
    let ramp = (to_end.min(to_stop) / RAMP.1).clamp(0.0, 1.0);
    pass_speed * (RAMP.0 + (1.0 - RAMP.0) * ramp)
}

/// Adds the grain of the ground between two points of a leg.
fn take_in(field: &InventedField, leg: &Leg, from: f64, to: f64, intake: &mut Intake) {
    let Some([left, right]) = leg.cut else { return };
    let [dx, dy] = leg.direction();
    // To the right of the way.
    let [rx, ry] = [dy, -dx];
    let middle = (from + to) / 2.0;
    let place = |along: f64, side: f64| {
        [
            leg.from[0] + dx * along + rx * side,
            leg.from[1] + dy * along + ry * side,
        ]
    };
    let ground: f64 = (0..ACROSS)
        .map(|i| left + (right - left) * (i as f64 + 0.5) / ACROSS as f64)
        .map(|side| field.ground_yield.at(place(middle, side)))
        .sum::<f64>()
        / ACROSS as f64;
    let area = (right - left) * (to - from);
    let [a, b] = [place(from, left), place(to, right)];
    let gain: f64 = field
        .strips
        .iter()
        .map(|strip| {
            let [across, along] = [shared(strip.x, [a[0], b[0]]), shared(strip.y, [a[1], b[1]])];
            if across == 0.0 || along == 0.0 {
                return 0.0;
            }
            let here = place(middle, (left + right) / 2.0);
            let gain = field.plan.treatments[strip.treatment].gain_kg_ha
                + field.gain_by_height_kg_ha(strip.treatment, here)
                + strip.luck_kg_ha;
            gain * across * along
        })
        .sum();
    let market_kg = (ground * area + gain) / 1e4;
    let moisture = field.moisture.at(place(middle, (left + right) / 2.0));
    let wet_kg = market_kg * (100.0 - field.plan.market_moisture_pct) / (100.0 - moisture);
    intake.market_kg += market_kg;
    intake.wet_kg += wet_kg;
    intake.wet_kg_pct += wet_kg * moisture;
    intake.area_m2 += area;
}

/// Length that a span shares with another whose ends may come in either order.
fn shared(span: [f64; 2], other: [f64; 2]) -> f64 {
    let (low, high) = (other[0].min(other[1]), other[0].max(other[1]));
    (span[1].min(high) - span[0].max(low)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::FieldPlan;
    use crate::route::route;

    fn field() -> InventedField {
        let plan = FieldPlan {
            passes: 12,
            pass_length_m: 200.0,
            blocks: 2,
            ..FieldPlan::default()
        };
        InventedField::new(plan).unwrap()
    }

    /// Law: the grain taken in is the grain that stood on the field, found here by summing the
    /// surfaces over a fine grid instead of driving.
    #[test]
    fn intake_is_the_integral_over_the_ground() {
        let field = field();
        let way = route(&field.plan);
        let drive = drive(&field, &way.legs, way.last_leg_of_first_day, &[]);
        let [across, along] = field.plan.size_m();
        let step = 0.5;
        let mut mass = 0.0;
        for i in 0..(across / step) as usize {
            for j in 0..(along / step) as usize {
                mass += field
                    .ground_yield
                    .at([(i as f64 + 0.5) * step, (j as f64 + 0.5) * step]);
            }
        }
        let cells = ((across / step).floor() * (along / step).floor()).max(1.0);
        mass *= across * along / 1e4 / cells;
        for strip in &field.strips {
            mass += field.plan.treatments[strip.treatment].gain_kg_ha
                * (strip.x[1] - strip.x[0])
                * (strip.y[1] - strip.y[0])
                / 1e4;
        }
        let taken: f64 = drive.intake.iter().map(|i| i.market_kg).sum();
        assert!((taken / mass - 1.0).abs() < 5e-4, "{taken} of {mass}");
        let area: f64 = drive.intake.iter().map(|i| i.area_m2).sum();
        assert!((area - across * along).abs() < 1e-6 * area);
    }

    #[test]
    fn distances_add_up_to_the_way_and_stops_take_their_time() {
        let field = field();
        let way = route(&field.plan);
        let leg = way.legs.iter().rposition(|leg| leg.cut.is_some()).unwrap();
        let stop = Stop {
            leg,
            along_m: 100.0,
            seconds: 30.0,
        };
        let drive = drive(&field, &way.legs, way.last_leg_of_first_day, &[stop]);
        let length: f64 = way.legs.iter().map(Leg::length_m).sum();
        let distance: f64 = drive.moments.iter().map(|m| m.distance_m).sum();
        assert!((distance - length).abs() < 1e-6 * length);
        let standing = drive.moments.iter().filter(|m| m.stopped).count();
        assert!((29..=31).contains(&standing), "{standing}");
        assert!(drive.moments.iter().all(|m| m.distance_m < 3.5));
        assert_eq!(drive.moments.last().map(|m| m.day), Some(1));
    }
}
