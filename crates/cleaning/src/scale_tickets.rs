//! Scale tickets: which records filled which weighed load, what the log says the load held, and the factors of
//! machines and loads that make the log agree with the scale. `machine_factors` puts them to use.
//!
//! # Method
//! The grain of a load as logged is the flow × interval of *all* its records, whatever cleaning thinks of them:
//! it all went over the scale. Each machine has one factor, fitted to its loads by least squares with the
//! variance of a load's error in proportion to its grain. For one machine that is the ratio of all weighed to
//! all logged grain: Cochran, W. G. (1977), *Sampling Techniques*, third edition, Wiley, chapter 6, where the
//! ratio estimator is best linear unbiased under that variance (from memory); with loads that several machines
//! filled it is the same weighted least squares with one column a machine. What the machines' factors leave of a
//! load, its residual, is the load's own factor: every weighed load then holds what its ticket says.

use crate::drive::Drive;
use crate::error::CleaningError;
use checkstrip_model::{
    Column, Crop, FieldLog, SaidText, SaidValue, SaidValues, ScaleTicket, ScaleTickets,
};
use checkstrip_words::{english_text, said_values};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::collections::{BTreeMap, BTreeSet};

/// Weighed over logged further off than this is no calibration: another load, another unit or half a log.
const BELIEVED: [f64; 2] = [0.5, 2.0];
/// Machines are told apart when the smallest eigenvalue of their scaled normal equations is above this: below
/// it they filled nearly the same share of every load, and their factors would only trade errors (our own
/// limit).
const LEAST_EIGENVALUE: f64 = 0.02;

/// How records are found that filled a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FoundBy {
    /// By the log's load column.
    Load,
    /// By the tickets' times.
    Time,
}

/// One ticket held against the log.
#[derive(Debug, Clone, Default)]
pub(crate) struct Weighed {
    /// Weighed, kg: at market moisture when the ticket has a moisture.
    pub weighed_kg: f64,
    /// Logged grain of each machine in it, in the same way, kg.
    pub logged_kg: Vec<f64>,
    /// Its records.
    pub records: usize,
    /// Why it is not used, as values of the texts `ticket-left`; empty when it is.
    pub why: SaidValues,
}

impl Weighed {
    pub(crate) fn is_used(&self) -> bool {
        self.why.is_empty()
    }

    /// Why it is not used, in English; empty when it is.
    pub(crate) fn said_why(&self) -> String {
        match self.is_used() {
            true => String::new(),
            false => english_text("ticket-left", "", &self.why),
        }
    }

    pub(crate) fn logged(&self) -> f64 {
        self.logged_kg.iter().sum()
    }
}

/// All tickets held against the log.
#[derive(Debug)]
pub(crate) struct HeldAgainst {
    pub found_by: FoundBy,
    /// For each ticket, in their order.
    pub tickets: Vec<Weighed>,
    /// For each record in driving order, its ticket when that is used.
    pub ticket_of: Vec<Option<u32>>,
    /// Loads of the log of which some grain is in no ticket that is used.
    pub loads_without_ticket: Vec<String>,
}

/// Grain that a record says went past the sensor, kg; nothing where it repeats another record or says nothing.
pub(crate) fn logged_kg(drive: &Drive, at: usize) -> f64 {
    let mass = drive.flow_kg_s[at] * drive.interval_s[at];
    if mass.is_finite() && mass > 0.0 && !drive.order.repeated[at] {
        mass
    } else {
        0.0
    }
}

/// Finds the records of every ticket and adds up what they logged.
///
/// Names are compared without case and the blanks around them. `moisture_ok` says which moisture readings are
/// believed; grain without one takes the mean of its load.
///
/// # Errors
/// When the log has no loads and the tickets no times, or no ticket can be used.
pub(crate) fn held_against(
    tickets: &ScaleTickets,
    log: &FieldLog,
    drive: &Drive,
    crop: &Crop,
    moisture_ok: &[bool],
) -> Result<HeldAgainst, CleaningError> {
    let all = &tickets.tickets;
    let machines: Vec<String> = drive.order.machines.iter().map(|m| fold(m)).collect();
    let loads = log.labels(Column::Load);
    let has_loads = loads.is_some_and(|of| of.names.iter().any(|name| !name.trim().is_empty()));
    let found_by = match has_loads && all.iter().any(|ticket| ticket.load.is_some()) {
        true => FoundBy::Load,
        false if all.iter().any(|ticket| ticket.span_s.is_some()) => FoundBy::Time,
        false => {
            return Err(CleaningError::NoLoads {
                tickets: tickets.path.clone(),
                has_loads,
            });
        }
    };
    let mut why: Vec<SaidValues> = all
        .iter()
        .map(|ticket| fault(ticket, found_by, &machines, drive))
        .collect();
    match found_by {
        FoundBy::Load => refuse_repeated(all, &mut why),
        FoundBy::Time => refuse_overlapping(all, &mut why),
    }
    let mut ticket_of = match (found_by, loads) {
        (FoundBy::Load, Some(loads)) => {
            let names: Vec<String> = loads.names.iter().map(|name| fold(name)).collect();
            by_load(all, &why, &machines, drive, |record| {
                &names[loads.index[record] as usize]
            })
        }
        _ => by_time(all, &why, &machines, log, drive)?,
    };
    let mut held = add_up(all, why, &ticket_of, drive, crop, moisture_ok);
    for (ticket, held) in all.iter().zip(&mut held) {
        if held.is_used() {
            held.why = doubt(ticket, held, found_by);
        }
    }
    for of in &mut ticket_of {
        *of = of.filter(|&ticket| held[ticket as usize].is_used());
    }
    if !held.iter().any(Weighed::is_used) {
        let first = all
            .iter()
            .zip(&held)
            .map(|(ticket, held)| (ticket.row, held.said_why()));
        return Err(CleaningError::NoTicketFits {
            tickets: tickets.path.clone(),
            reasons: first
                .take(3)
                .map(|(row, why)| format!("row {row}: {why}"))
                .collect::<Vec<_>>()
                .join("; "),
        });
    }
    let without: BTreeSet<u32> = match (found_by, loads) {
        (FoundBy::Load, Some(loads)) => (0..drive.len())
            .filter(|&at| ticket_of[at].is_none() && logged_kg(drive, at) > 0.0)
            .map(|at| loads.index[drive.order.record[at] as usize])
            .collect(),
        _ => BTreeSet::new(),
    };
    let named = |load: u32| loads.map_or("", |of| of.names[load as usize].trim());
    Ok(HeldAgainst {
        found_by,
        tickets: held,
        ticket_of,
        loads_without_ticket: without
            .into_iter()
            .map(|load| named(load).to_owned())
            .filter(|name| !name.is_empty())
            .collect(),
    })
}

/// A name as names are compared.
fn fold(name: &str) -> String {
    name.trim().to_lowercase()
}

/// What keeps a ticket from being used whatever the log says; empty when nothing does.
fn fault(
    ticket: &ScaleTicket,
    found_by: FoundBy,
    machines: &[String],
    drive: &Drive,
) -> SaidValues {
    if ticket.mass_kg.is_nan() || ticket.mass_kg <= 0.0 {
        return said_values!(variant = "no-mass");
    }
    if let Some(moisture) = ticket.moisture_pct
        && !(0.0..90.0).contains(&moisture)
    {
        return said_values!(variant = "moisture", moisture = moisture.to_string());
    }
    if let Some(machine) = &ticket.machine
        && !machines.contains(&fold(machine))
    {
        return said_values!(
            variant = "unknown-machine",
            machine = machine,
            machines = drive.order.machines.join(", "),
        );
    }
    match (found_by, &ticket.load, ticket.span_s) {
        (FoundBy::Load, None, _) => said_values!(variant = "no-load"),
        (FoundBy::Time, _, None) => said_values!(variant = "no-time"),
        (FoundBy::Time, _, Some([start, end])) if end <= start => {
            said_values!(variant = "no-span")
        }
        _ => SaidValues::new(),
    }
}

/// Two rows for one load: typed in twice when they say the same, of unknown meaning when they do not.
fn refuse_repeated(tickets: &[ScaleTicket], why: &mut [SaidValues]) {
    let mut rows: BTreeMap<(String, Option<String>), Vec<usize>> = BTreeMap::new();
    for (at, ticket) in tickets.iter().enumerate() {
        if why[at].is_empty()
            && let Some(load) = &ticket.load
        {
            let key = (fold(load), ticket.machine.as_deref().map(fold));
            rows.entry(key).or_default().push(at);
        }
    }
    for same in rows.into_values().filter(|same| same.len() > 1) {
        let first = &tickets[same[0]];
        let alike = same.iter().all(|&at| {
            let other = &tickets[at];
            other.mass_kg == first.mass_kg && other.moisture_pct == first.moisture_pct
        });
        for (place, &at) in same.iter().enumerate() {
            if alike && place == 0 {
                continue;
            }
            why[at] = match alike {
                true => said_values!(variant = "said-again", row = first.row.to_string()),
                false => said_values!(variant = "differing", rows = rows_of(tickets, &same)),
            };
        }
    }
}

/// `3 and 5`: the rows of the tickets at `same`, of which there are two or more.
fn rows_of(tickets: &[ScaleTicket], same: &[usize]) -> SaidValue {
    same.iter()
        .map(|&at| SaidValue::from(tickets[at].row.to_string()))
        .reduce(|first, second| {
            SaidText::new("joined-and", said_values!(first = first, second = second)).into()
        })
        .unwrap_or_else(|| SaidValue::from(""))
}

/// A moment cannot be in two loads of one machine.
fn refuse_overlapping(tickets: &[ScaleTicket], why: &mut [SaidValues]) {
    let mut taken: Vec<usize> = Vec::new();
    for at in 0..tickets.len() {
        let (true, Some([start, end])) = (why[at].is_empty(), tickets[at].span_s) else {
            continue;
        };
        let other = taken.iter().find(|&&other| {
            let (a, b) = (&tickets[at].machine, &tickets[other].machine);
            let same = match (a, b) {
                (Some(a), Some(b)) => fold(a) == fold(b),
                _ => true,
            };
            let meets = |[from, to]: [f64; 2]| start < to && from < end;
            same && tickets[other].span_s.is_some_and(meets)
        });
        match other {
            Some(&other) => {
                let row = tickets[other].row.to_string();
                why[at] = said_values!(variant = "overlapping", row = row);
            }
            None => taken.push(at),
        }
    }
}

/// The ticket of each record in driving order by the name of its load: one that names its machine first.
fn by_load<'a>(
    tickets: &[ScaleTicket],
    why: &[SaidValues],
    machines: &[String],
    drive: &Drive,
    load_of: impl Fn(usize) -> &'a String,
) -> Vec<Option<u32>> {
    let mut places: BTreeMap<(String, Option<String>), u32> = BTreeMap::new();
    for (at, ticket) in tickets.iter().enumerate() {
        if why[at].is_empty()
            && let Some(load) = &ticket.load
        {
            places.insert((fold(load), ticket.machine.as_deref().map(fold)), at as u32);
        }
    }
    let mut known: BTreeMap<(&'a String, u32), Option<u32>> = BTreeMap::new();
    (0..drive.len())
        .map(|at| {
            let load = load_of(drive.order.record[at] as usize);
            let machine = drive.order.machine[at];
            *known.entry((load, machine)).or_insert_with(|| {
                let own = Some(machines[machine as usize].clone());
                places
                    .get(&(load.clone(), own))
                    .or_else(|| places.get(&(load.clone(), None)))
                    .copied()
            })
        })
        .collect()
}

/// The same by the moments of tickets: a record belongs to the load in whose time its interval ended.
fn by_time(
    tickets: &[ScaleTicket],
    why: &[SaidValues],
    machines: &[String],
    log: &FieldLog,
    drive: &Drive,
) -> Result<Vec<Option<u32>>, CleaningError> {
    let Some(times) = log.numbers(Column::Timestamp) else {
        return Err(CleaningError::TicketTimesWithoutClock);
    };
    let mut spans: Vec<(f64, f64, Option<String>, u32)> = (0..tickets.len())
        .filter(|&at| why[at].is_empty())
        .filter_map(|at| {
            let [start, end] = tickets[at].span_s?;
            let machine = tickets[at].machine.as_deref().map(fold);
            Some((start, end, machine, at as u32))
        })
        .collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok((0..drive.len())
        .map(|at| {
            let time = times[drive.order.record[at] as usize];
            let machine = &machines[drive.order.machine[at] as usize];
            let behind = spans.partition_point(|span| span.0 < time);
            spans[..behind]
                .iter()
                .rev()
                .find(|(_, end, of, _)| time <= *end && of.as_ref().is_none_or(|of| of == machine))
                .map(|span| span.3)
        })
        .collect())
}

/// What the records of every ticket logged, machine by machine.
fn add_up(
    tickets: &[ScaleTicket],
    why: Vec<SaidValues>,
    ticket_of: &[Option<u32>],
    drive: &Drive,
    crop: &Crop,
    moisture_ok: &[bool],
) -> Vec<Weighed> {
    let machines = drive.order.machines.len();
    let mut held: Vec<Weighed> = tickets
        .iter()
        .zip(why)
        .map(|(ticket, why)| Weighed {
            weighed_kg: match ticket.moisture_pct {
                Some(moisture) if why.is_empty() => drive.at_market(crop, ticket.mass_kg, moisture),
                _ => ticket.mass_kg,
            },
            logged_kg: vec![0.0; machines],
            records: 0,
            why,
        })
        .collect();
    // Wet grain with a believed moisture and its moisture; grain without one, by machine.
    let mut moist = vec![[0.0; 2]; tickets.len()];
    let mut unknown = vec![vec![0.0; machines]; tickets.len()];
    for (at, ticket) in ticket_of.iter().enumerate() {
        let Some(ticket) = ticket.map(|ticket| ticket as usize) else {
            continue;
        };
        held[ticket].records += 1;
        let machine = drive.order.machine[at] as usize;
        let wet = logged_kg(drive, at);
        if tickets[ticket].moisture_pct.is_none() {
            held[ticket].logged_kg[machine] += wet;
        } else if moisture_ok[at] {
            moist[ticket][0] += wet;
            moist[ticket][1] += wet * drive.moisture_pct[at];
            held[ticket].logged_kg[machine] += drive.at_market(crop, wet, drive.moisture_pct[at]);
        } else {
            unknown[ticket][machine] += wet;
        }
    }
    for (at, ticket) in tickets.iter().enumerate() {
        let [grain, times_moisture] = moist[at];
        let mean = match grain > 0.0 {
            true => times_moisture / grain,
            false => ticket.moisture_pct.unwrap_or(crop.market_moisture_pct),
        };
        for machine in 0..machines {
            held[at].logged_kg[machine] += drive.at_market(crop, unknown[at][machine], mean);
        }
    }
    held
}

/// What keeps a ticket from being used once the log was looked at.
fn doubt(ticket: &ScaleTicket, held: &Weighed, found_by: FoundBy) -> SaidValues {
    if held.records == 0 {
        return match found_by {
            FoundBy::Load => said_values!(
                variant = "no-record",
                load = ticket.load.as_deref().unwrap_or_default(),
            ),
            FoundBy::Time => said_values!(variant = "no-record-in-time"),
        };
    }
    let logged = held.logged();
    if logged <= 0.0 {
        return said_values!(variant = "no-grain");
    }
    let factor = held.weighed_kg / logged;
    if (BELIEVED[0]..=BELIEVED[1]).contains(&factor) {
        return SaidValues::new();
    }
    said_values!(
        variant = "not-believed",
        weighed = held.weighed_kg,
        logged = logged,
        times = factor,
    )
}

/// Factors of the machines that tickets are of.
#[derive(Debug, Clone)]
pub(crate) struct MachineLevels {
    /// For each machine its factor, standard error and the half width of its interval; `None` without grain in
    /// a weighed load.
    pub factors: Vec<Option<Level>>,
    /// Whether tickets tell the machines apart.
    pub told_apart: bool,
}

/// The factor of one machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Level {
    pub factor: f64,
    /// `NaN` where there are not more loads than factors.
    pub std_error: f64,
    /// Half width of the 95 % interval in standard errors.
    pub quantile: f64,
}

/// Fits the machines' factors. `relative` is what neighbouring swaths say of the machines among each other, for
/// those that tickets do not tell apart: 1 where they say nothing.
pub(crate) fn machine_levels(tickets: &[Weighed], relative: &[f64]) -> MachineLevels {
    let used: Vec<&Weighed> = tickets.iter().filter(|ticket| ticket.is_used()).collect();
    let machines: Vec<usize> = (0..relative.len())
        .filter(|&m| used.iter().any(|ticket| ticket.logged_kg[m] > 0.0))
        .collect();
    let own: Vec<Vec<f64>> = used
        .iter()
        .map(|ticket| machines.iter().map(|&m| ticket.logged_kg[m]).collect())
        .collect();
    let weighed: Vec<f64> = used.iter().map(|ticket| ticket.weighed_kg).collect();
    let mut factors = vec![None; relative.len()];
    let apart = fit(&own, &weighed).filter(|levels| {
        let believed = |level: &Level| (BELIEVED[0]..=BELIEVED[1]).contains(&level.factor);
        levels.iter().all(believed)
    });
    let told_apart = apart.is_some();
    let levels = apart.or_else(|| {
        let together: Vec<Vec<f64>> = own
            .iter()
            .map(|load| {
                let of = load.iter().zip(&machines);
                vec![of.map(|(kg, &m)| kg * relative[m]).sum()]
            })
            .collect();
        let one = fit(&together, &weighed)?[0];
        let scaled = |&m: &usize| Level {
            factor: one.factor * relative[m],
            std_error: one.std_error * relative[m],
            ..one
        };
        Some(machines.iter().map(scaled).collect())
    });
    for (&machine, level) in machines.iter().zip(levels.into_iter().flatten()) {
        factors[machine] = Some(level);
    }
    MachineLevels {
        factors,
        told_apart,
    }
}

/// Weighted least squares of `weighed` on `logged` (one column a machine) with weights 1 ÷ the load's logged
/// grain; `None` when the columns do not tell the machines apart.
fn fit(logged: &[Vec<f64>], weighed: &[f64]) -> Option<Vec<Level>> {
    let (n, k) = (logged.len(), logged.first()?.len());
    let mut normal = DMatrix::<f64>::zeros(k, k);
    let mut right = DVector::<f64>::zeros(k);
    for (load, &weighed) in logged.iter().zip(weighed) {
        let x = DVector::from_column_slice(load);
        let weight = 1.0 / x.sum();
        normal += &x * x.transpose() * weight;
        right += x * (weight * weighed);
    }
    let scale: Vec<f64> = (0..k).map(|m| normal[(m, m)].sqrt()).collect();
    let scaled = DMatrix::from_fn(k, k, |a, b| normal[(a, b)] / (scale[a] * scale[b]));
    let least = scaled.symmetric_eigenvalues().min();
    if n < k || least.is_nan() || least < LEAST_EIGENVALUE {
        return None;
    }
    let inverse = normal.cholesky()?.inverse();
    let factors = &inverse * right;
    let squares: f64 = logged
        .iter()
        .zip(weighed)
        .map(|(load, weighed)| {
            let x = DVector::from_column_slice(load);
            (weighed - x.dot(&factors)).powi(2) / x.sum()
        })
        .sum();
    let df = n.saturating_sub(k) as f64;
    let quantile = StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |t| t.inverse_cdf(0.975));
    let level = |m: usize| Level {
        factor: factors[m],
        std_error: match df > 0.0 {
            true => (squares / df * inverse[(m, m)]).sqrt(),
            false => f64::NAN,
        },
        quantile,
    };
    Some((0..k).map(level).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weighed(weighed_kg: f64, logged_kg: &[f64]) -> Weighed {
        Weighed {
            weighed_kg,
            logged_kg: logged_kg.to_vec(),
            records: 1,
            why: SaidValues::new(),
        }
    }

    /// Worked by hand: three loads of one machine. The ratio is 30,300 ÷ 30,000; its variance is that of the
    /// residuals 100, -100, 0 over the loads' grain, divided by all grain.
    #[test]
    fn one_machine_is_the_ratio_of_all_grain() {
        let loads = [
            weighed(10_200.0, &[10_000.0]),
            weighed(10_000.0, &[10_000.0]),
            weighed(10_100.0, &[10_000.0]),
        ];
        let levels = machine_levels(&loads, &[1.0]);
        let level = levels.factors[0].unwrap();
        assert!((level.factor - 1.01).abs() < 1e-12);
        let s2 = (100.0f64.powi(2) * 2.0 / 10_000.0) / 2.0;
        assert!((level.std_error - (s2 / 30_000.0).sqrt()).abs() < 1e-12);
        // NIST/SEMATECH e-Handbook, section 1.3.6.7.2: t with two degrees of freedom.
        assert!((level.quantile - 4.303).abs() < 5e-4);
    }

    #[test]
    fn loads_of_two_machines_tell_them_apart_when_shares_differ() {
        let mix = |a: f64, b: f64| weighed(1.05 * a + 0.96 * b, &[a, b]);
        let loads = [
            mix(9_000.0, 0.0),
            mix(2_000.0, 8_000.0),
            mix(5_000.0, 5_000.0),
        ];
        let levels = machine_levels(&loads, &[1.0, 1.0]);
        assert!(levels.told_apart);
        let factors: Vec<f64> = levels.factors.iter().map(|l| l.unwrap().factor).collect();
        assert!((factors[0] - 1.05).abs() < 1e-9 && (factors[1] - 0.96).abs() < 1e-9);
    }

    #[test]
    fn machines_that_always_share_loads_alike_share_a_factor() {
        let loads: Vec<Weighed> = (0..4)
            .map(|k| {
                let grain = 1_000.0 * f64::from(k + 3);
                weighed(1.02 * 2.0 * grain, &[grain, grain])
            })
            .collect();
        let levels = machine_levels(&loads, &[1.1, 0.9]);
        assert!(!levels.told_apart);
        let factors: Vec<f64> = levels.factors.iter().map(|l| l.unwrap().factor).collect();
        assert!((factors[0] - 1.02 * 1.1).abs() < 1e-9 && (factors[1] - 1.02 * 0.9).abs() < 1e-9);
        // The third machine has no ticket.
        let levels = machine_levels(&[weighed(5.0, &[5.0, 0.0])], &[1.0, 1.0]);
        assert!(levels.factors[0].unwrap().std_error.is_nan() && levels.factors[1].is_none());
    }

    #[test]
    fn rows_for_one_load_are_used_once_or_not_at_all() {
        let ticket = |row, load: &str, mass_kg| ScaleTicket {
            row,
            load: Some(load.into()),
            mass_kg,
            ..ScaleTicket::default()
        };
        let tickets = [
            ticket(2, "1", 900.0),
            ticket(3, "2", 800.0),
            ticket(4, " 1", 900.0),
            ticket(5, "2", 850.0),
        ];
        let mut why = vec![SaidValues::new(); 4];
        refuse_repeated(&tickets, &mut why);
        let said: Vec<String> = why
            .iter()
            .map(|why| english_text("ticket-left", "", why))
            .collect();
        assert!(why[0].is_empty() && said[2].contains("row 2"), "{said:?}");
        assert!(said[1].contains("rows 3 and 5") && said[3].contains("rows 3 and 5"));
    }

    #[test]
    fn times_of_one_machine_do_not_overlap() {
        let ticket = |row, machine: Option<&str>, span| ScaleTicket {
            row,
            machine: machine.map(str::to_owned),
            span_s: Some(span),
            mass_kg: 1.0,
            ..ScaleTicket::default()
        };
        let tickets = [
            ticket(2, Some("A"), [0.0, 10.0]),
            ticket(3, Some("B"), [5.0, 15.0]),
            ticket(4, Some("a"), [10.0, 20.0]),
            ticket(5, None, [14.0, 30.0]),
        ];
        let mut why = vec![SaidValues::new(); 4];
        refuse_overlapping(&tickets, &mut why);
        assert!(why[..3].iter().all(SaidValues::is_empty), "{why:?}");
        let said = english_text("ticket-left", "", &why[3]);
        assert!(said.contains("row 3"), "{said}");
    }
}
