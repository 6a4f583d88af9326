//! What every machine's grain is multiplied by, and every weighed load's: neighbouring swaths say how machines
//! read beside each other (`machine_bias`), scale tickets how much there was (`scale_tickets`). `clean` asks once,
//! before records are judged for good.
//!
//! Without tickets the grain of each group of machines stays as logged, and the factors are used where the
//! difference is beyond chance. With tickets these set the level of the machines they are of, and neighbouring
//! swaths carry it to machines without.

use crate::error::CleaningError;
use crate::judgement::{Evidence, statuses, statuses_before_neighbours};
use crate::machine_bias::{Group, has_neighbours, machine_groups};
use crate::neighbouring_swaths::{NEIGHBOUR_HEADER_WIDTHS, STRETCH_M, Stretch, stretches};
use crate::recipe::{BiasSetting, Recipe};
use crate::scale_tickets::{
    FoundBy, HeldAgainst, Level, MachineLevels, held_against, logged_kg, machine_levels,
};
use checkstrip_model::results::{
    MachineBias, MachineFactor, MachineGroup, MachinePair, TicketCalibration, TicketLoad,
    TicketMachine,
};
use checkstrip_model::{Crop, FieldLog, SaidList, SaidText, ScaleTickets, Warning};
use checkstrip_words::{english_text, said_values, warning};
use std::collections::{BTreeMap, BTreeSet};

/// A difference between machines is taken out when chance gives one as large less often than this.
const BEYOND_CHANCE: f64 = 0.05;

/// Factors of a log, and what they rest on.
#[derive(Debug, Default)]
pub(crate) struct MachineFactors {
    /// What each record's grain is multiplied by, in driving order; `None` where nothing is.
    pub per_record: Option<Vec<f64>>,
    /// How machines read beside each other.
    pub bias: Option<MachineBias>,
    /// The log held against tickets.
    pub tickets: Option<TicketCalibration>,
    /// What a reader of the results should know.
    pub warnings: Vec<Warning>,
}

/// The factors of the log that `evidence` is of, from yields as logged. `ground_class` says which ground is
/// alike, as for [`stretches`].
///
/// # Errors
/// When tickets are given and none can be used.
pub(crate) fn machine_factors(
    evidence: &Evidence,
    log: &FieldLog,
    tickets: Option<&ScaleTickets>,
    ground_class: Option<&[Option<u16>]>,
    crop: &Crop,
    recipe: &Recipe,
) -> Result<MachineFactors, CleaningError> {
    let names = &evidence.drive.order.machines;
    if names.len() < 2 && tickets.is_none() {
        return Ok(MachineFactors::default());
    }
    let grain = grain_of_machines(evidence, crop);
    let (found, groups) = match names.len() {
        0 | 1 => (Vec::new(), Vec::new()),
        _ => read_beside(evidence, ground_class, crop, recipe),
    };
    let beside = Beside::new(&groups, &grain, recipe);
    let held = tickets
        .map(|tickets| held_against(tickets, log, evidence.drive, crop, evidence.moisture_ok))
        .transpose()?;
    let levels = held
        .as_ref()
        .map(|held| machine_levels(&held.tickets, &beside.used));
    let machines = join(&beside, &groups, levels.as_ref(), &grain, recipe);

    let mut warnings = Vec::new();
    let bias = (names.len() > 1).then(|| {
        let entry = bias_entry(
            names, &machines, &beside, &groups, &found, &grain, evidence, recipe,
        );
        warnings.extend(bias_warnings(names, &machines, &beside, &entry, recipe));
        warnings.extend(strangers(names, &machines, &beside, &found));
        entry
    });
    let calibration = tickets.zip(held.as_ref()).zip(levels.as_ref());
    let calibration = calibration.map(|((tickets, held), levels)| {
        let entry = ticket_entry(names, &machines, tickets, held, levels, evidence, crop);
        warnings.extend(ticket_warnings(&entry));
        entry
    });

    let of_load: Vec<f64> = held
        .iter()
        .flat_map(|held| &held.tickets)
        .map(|ticket| {
            let given: f64 = (0..names.len())
                .map(|m| ticket.logged_kg[m] * machines[m].factor)
                .sum();
            ticket.weighed_kg / given
        })
        .collect();
    let per_record: Vec<f64> = (0..evidence.drive.len())
        .map(|at| {
            let machine = machines[evidence.drive.order.machine[at] as usize].factor;
            let ticket = held.as_ref().and_then(|held| held.ticket_of[at]);
            machine * ticket.map_or(1.0, |ticket| of_load[ticket as usize])
        })
        .collect();
    Ok(MachineFactors {
        per_record: per_record
            .iter()
            .any(|factor| *factor != 1.0)
            .then_some(per_record),
        bias,
        tickets: calibration,
        warnings,
    })
}

/// Grain of each machine as logged, at market moisture, kg; wet where its moisture is not believed.
fn grain_of_machines(evidence: &Evidence, crop: &Crop) -> Vec<f64> {
    let drive = evidence.drive;
    let mut grain = vec![0.0; drive.order.machines.len()];
    for at in 0..drive.len() {
        grain[drive.order.machine[at] as usize] += market_kg(evidence, crop, at);
    }
    grain
}

fn market_kg(evidence: &Evidence, crop: &Crop, at: usize) -> f64 {
    let wet = logged_kg(evidence.drive, at);
    match evidence.moisture_ok[at] {
        true => evidence
            .drive
            .at_market(crop, wet, evidence.drive.moisture_pct[at]),
        false => wet,
    }
}

/// The stretches that machines share and the groups they join, found twice: the second time without the
/// records that are far from their neighbours once the first bias is taken out.
fn read_beside(
    evidence: &Evidence,
    ground_class: Option<&[Option<u16>]>,
    crop: &Crop,
    recipe: &Recipe,
) -> (Vec<Stretch>, Vec<Group>) {
    let drive = evidence.drive;
    let machines = drive.order.machines.len();
    let find = |kept: Vec<checkstrip_model::Status>| {
        let counts: Vec<bool> = kept.iter().map(|status| status.is_kept()).collect();
        let found = stretches(drive, evidence.pass, &counts, evidence.yields, ground_class);
        let groups = machine_groups(&found, machines);
        (found, groups)
    };
    let (_, first) = find(statuses_before_neighbours(evidence, crop, recipe));
    let mut log_bias = vec![0.0; machines];
    for group in &first {
        for (&machine, bias) in group.machines.iter().zip(&group.log_bias) {
            log_bias[machine] = *bias;
        }
    }
    let put_right: Vec<f64> = (0..drive.len())
        .map(|at| evidence.yields[at] / log_bias[drive.order.machine[at] as usize].exp())
        .collect();
    let evidence = Evidence {
        yields: &put_right,
        ..*evidence
    };
    find(statuses(&evidence, crop, recipe))
}

/// What neighbouring swaths alone say of each machine.
struct Beside {
    /// Group, logarithm of the factor and its standard error.
    found: Vec<Option<(usize, f64, f64)>>,
    /// The factors that are used where there are no tickets.
    used: Vec<f64>,
}

impl Beside {
    fn new(groups: &[Group], grain: &[f64], recipe: &Recipe) -> Beside {
        let mut found = vec![None; grain.len()];
        let mut used = vec![1.0; grain.len()];
        for (place, group) in groups.iter().enumerate() {
            let is_used = recipe.machine_bias == BiasSetting::Auto && group.p_value < BEYOND_CHANCE;
            for (&machine, (factor, error)) in group.machines.iter().zip(group.log_factors(grain)) {
                found[machine] = Some((place, factor, error));
                if is_used {
                    used[machine] = factor.exp();
                }
            }
        }
        Beside { found, used }
    }
}

/// Where a machine's factor is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum RestsOn {
    Tickets,
    Carried,
    Neighbours,
    AsLogged,
}

/// The factor of one machine.
#[derive(Debug, Clone, Copy)]
struct Machine {
    factor: f64,
    from: RestsOn,
    level: Option<Level>,
}

/// Joins both parts: tickets first, then what neighbouring swaths carry over, then what they say alone.
fn join(
    beside: &Beside,
    groups: &[Group],
    levels: Option<&MachineLevels>,
    grain: &[f64],
    recipe: &Recipe,
) -> Vec<Machine> {
    let level_of = |machine: usize| levels.and_then(|levels| levels.factors[machine]);
    // How far tickets move each group from where neighbouring swaths alone put it, as a logarithm.
    let moved: Vec<Option<f64>> = (0..groups.len())
        .map(|place| {
            let of = groups[place].machines.iter().filter_map(|&machine| {
                let (_, factor, _) = beside.found[machine]?;
                Some((grain[machine], level_of(machine)?.factor.ln() - factor))
            });
            let (sum, weight) = of.fold((0.0, 0.0), |(sum, weight), (kg, log)| {
                (sum + kg * log, weight + kg)
            });
            (weight > 0.0).then(|| sum / weight)
        })
        .collect();
    (0..grain.len())
        .map(|machine| {
            let level = level_of(machine);
            let carried = beside.found[machine]
                .and_then(|(group, factor, _)| Some(factor + moved[group]?))
                .filter(|_| recipe.machine_bias == BiasSetting::Auto);
            let (factor, from) = match (level, carried) {
                (Some(level), _) => (level.factor, RestsOn::Tickets),
                (None, Some(log)) => (log.exp(), RestsOn::Carried),
                (None, None) if beside.used[machine] != 1.0 => {
                    (beside.used[machine], RestsOn::Neighbours)
                }
                (None, None) => (1.0, RestsOn::AsLogged),
            };
            Machine {
                factor,
                from,
                level,
            }
        })
        .collect()
}

#[expect(
    clippy::too_many_arguments,
    reason = "one entry gathers everything that was found"
)]
fn bias_entry(
    names: &[String],
    machines: &[Machine],
    beside: &Beside,
    groups: &[Group],
    found: &[Stretch],
    grain: &[f64],
    evidence: &Evidence,
    recipe: &Recipe,
) -> MachineBias {
    let stretches_of = |machine: usize| {
        let of = |stretch: &&Stretch| stretch.machines.contains(&(machine as u32));
        found.iter().filter(of).count()
    };
    let applied = machines
        .iter()
        .any(|machine| matches!(machine.from, RestsOn::Carried | RestsOn::Neighbours));
    let tickets = machines
        .iter()
        .any(|machine| machine.from == RestsOn::Tickets);
    let why = match (groups.is_empty(), recipe.machine_bias) {
        (true, _) => "none-beside",
        (_, BiasSetting::Off) => "switched-off",
        _ if tickets && applied => "tickets-carried",
        _ if tickets => "tickets",
        _ if applied => "beyond-chance",
        _ => "within-chance",
    };
    let why_values = said_values!(variant = why);
    MachineBias {
        applied,
        why: english_text("machine-why", "", &why_values),
        why_values,
        neighbours_within_m: NEIGHBOUR_HEADER_WIDTHS * evidence.drive.typical_width_m,
        stretch_m: STRETCH_M,
        machines: (0..names.len())
            .map(|machine| {
                let alone = beside.found[machine];
                MachineFactor {
                    machine: names[machine].clone(),
                    logged_kg: grain[machine],
                    factor: machines[machine].factor,
                    neighbour_factor: alone.map(|(_, log, _)| log.exp()),
                    std_error: alone.map(|(_, _, error)| error),
                    interval_95: alone.map(|(group, log, error)| {
                        let half = groups[group].quantile_975() * error;
                        [(log - half).exp(), (log + half).exp()]
                    }),
                    group: alone.map(|(group, ..)| group),
                    stretches: stretches_of(machine),
                }
            })
            .collect(),
        pairs: pairs(names, found),
        groups: groups
            .iter()
            .map(|group| MachineGroup {
                machines: group.machines.iter().map(|&m| names[m].clone()).collect(),
                stretches: group.stretches,
                pass_pairs: group.pass_pairs,
                unit: if group.by_passes {
                    "passes"
                } else {
                    "stretches"
                }
                .into(),
                df: group.df,
                p_value: group.p_value,
            })
            .collect(),
        treatments: Vec::new(),
    }
}

/// Machines two by two, as found.
fn pairs(names: &[String], found: &[Stretch]) -> Vec<MachinePair> {
    let mut by_pair: BTreeMap<[u32; 2], Vec<&Stretch>> = BTreeMap::new();
    for stretch in found {
        by_pair.entry(stretch.machines).or_default().push(stretch);
    }
    by_pair
        .into_iter()
        .map(|([one, other], of)| {
            let weight: usize = of.iter().map(|stretch| stretch.record_pairs).sum();
            let sum: f64 = of
                .iter()
                .map(|stretch| stretch.record_pairs as f64 * stretch.log_ratio)
                .sum();
            let passes: BTreeSet<[u32; 2]> = of.iter().map(|stretch| stretch.passes).collect();
            MachinePair {
                machine: names[one as usize].clone(),
                other: names[other as usize].clone(),
                ratio: (sum / weight as f64).exp(),
                pass_pairs: passes.len(),
                stretches: of.len(),
                record_pairs: weight,
            }
        })
        .collect()
}

fn ticket_entry(
    names: &[String],
    machines: &[Machine],
    tickets: &ScaleTickets,
    held: &HeldAgainst,
    levels: &MachineLevels,
    evidence: &Evidence,
    crop: &Crop,
) -> TicketCalibration {
    let used = || held.tickets.iter().filter(|ticket| ticket.is_used());
    TicketCalibration {
        path: tickets.path.clone(),
        sha256: tickets.sha256.clone(),
        mass_unit: tickets.mass_unit.clone(),
        found_by: match held.found_by {
            FoundBy::Load => "load",
            FoundBy::Time => "time",
        }
        .into(),
        machines_told_apart: levels.told_apart,
        machines: (0..names.len())
            .map(|machine| {
                let Machine {
                    factor,
                    from,
                    level,
                } = machines[machine];
                let sure = level.filter(|level| level.std_error.is_finite());
                MachineFactorParts { factor, from, sure }.entry(
                    &names[machine],
                    used().filter(|t| t.logged_kg[machine] > 0.0).count(),
                    used().map(|t| t.logged_kg[machine]).sum(),
                )
            })
            .collect(),
        loads: tickets
            .tickets
            .iter()
            .zip(&held.tickets)
            .map(|(ticket, held)| {
                let given: f64 = (0..names.len())
                    .map(|m| held.logged_kg[m] * machines[m].factor)
                    .sum();
                let is_used = held.is_used();
                TicketLoad {
                    row: ticket.row,
                    load: ticket.load.clone().unwrap_or_default(),
                    machine: ticket.machine.clone(),
                    weighed_kg: held.weighed_kg.is_finite().then_some(held.weighed_kg),
                    logged_kg: held.logged(),
                    at_market_moisture: ticket.moisture_pct.is_some(),
                    records: held.records,
                    factor: is_used.then(|| held.weighed_kg / held.logged()),
                    residual: is_used.then(|| held.weighed_kg / given - 1.0),
                    used: is_used,
                    why: held.said_why(),
                    why_values: held.why.clone(),
                }
            })
            .collect(),
        loads_without_ticket: held.loads_without_ticket.clone(),
        unweighed_kg: (0..evidence.drive.len())
            .filter(|&at| held.ticket_of[at].is_none())
            .map(|at| market_kg(evidence, crop, at))
            .sum(),
    }
}

/// What a ticket's machine entry is made of.
struct MachineFactorParts {
    factor: f64,
    from: RestsOn,
    sure: Option<Level>,
}

impl MachineFactorParts {
    fn entry(self, name: &str, loads: usize, logged_kg: f64) -> TicketMachine {
        TicketMachine {
            machine: name.to_owned(),
            factor: self.factor,
            from: match self.from {
                RestsOn::Tickets => "tickets",
                RestsOn::Carried | RestsOn::Neighbours => "neighbouring_swaths",
                RestsOn::AsLogged => "as_logged",
            }
            .into(),
            std_error: self.sure.map(|level| level.std_error),
            interval_95: self.sure.map(|level| {
                let half = level.quantile * level.std_error;
                [level.factor - half, level.factor + half]
            }),
            loads,
            logged_kg,
        }
    }
}

/// `combine 1 × 0.981 (95 % interval 0.972 to 0.990)`, for those machines that swaths join.
fn said_of_machines(entry: &MachineBias) -> SaidList {
    let one = |machine: &MachineFactor| {
        let [low, high] = machine.interval_95?;
        let values = said_values!(
            machine = &machine.machine,
            factor = machine.neighbour_factor?,
            low = low,
            high = high,
        );
        Some(SaidText::new("machine-factor", values))
    };
    SaidList {
        between: ", ".to_owned(),
        texts: entry.machines.iter().filter_map(one).collect(),
    }
}

fn bias_warnings(
    names: &[String],
    machines: &[Machine],
    beside: &Beside,
    entry: &MachineBias,
    recipe: &Recipe,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let differ = entry
        .groups
        .iter()
        .any(|group| group.p_value < BEYOND_CHANCE);
    let carried: Vec<&str> = (0..names.len())
        .filter(|&m| machines[m].from == RestsOn::Carried)
        .map(|m| names[m].as_str())
        .collect();
    if machines.iter().any(|m| m.from == RestsOn::Neighbours) {
        warnings.push(warning(
            "machine_bias",
            said_values!(machines = said_of_machines(entry)),
        ));
    } else if differ && recipe.machine_bias == BiasSetting::Off {
        warnings.push(warning(
            "machine_bias_left",
            said_values!(machines = said_of_machines(entry)),
        ));
    }
    if !carried.is_empty() {
        warnings.push(warning(
            "machine_without_tickets",
            said_values!(machines = carried.join(", ")),
        ));
    }
    let far: Vec<&str> = (0..names.len())
        .filter(|&m| !(0.8..=1.25).contains(&beside.used[m]))
        .map(|m| names[m].as_str())
        .collect();
    if !far.is_empty() {
        warnings.push(warning(
            "machine_bias_large",
            said_values!(machines = far.join(", ")),
        ));
    }
    warnings
}

/// Machines that nothing joins to the others.
fn strangers(
    names: &[String],
    machines: &[Machine],
    beside: &Beside,
    found: &[Stretch],
) -> Option<Warning> {
    let met = has_neighbours(found, names.len());
    let alone: Vec<SaidText> = (0..names.len())
        .filter(|&m| beside.found[m].is_none() && machines[m].from == RestsOn::AsLogged)
        .map(|m| match met[m] {
            true => SaidText::new("machine-too-little", said_values!(machine = &names[m])),
            false => SaidText::new("said-as-it-is", said_values!(said = &names[m])),
        })
        .collect();
    (!alone.is_empty()).then(|| {
        let machines = SaidList {
            between: ", ".to_owned(),
            texts: alone,
        };
        warning("machine_not_joined", said_values!(machines = machines))
    })
}

fn ticket_warnings(entry: &TicketCalibration) -> Vec<Warning> {
    const SHOWN: usize = 5;
    let few = |mut texts: Vec<SaidText>, between: &str| {
        let more = texts.len().saturating_sub(SHOWN);
        texts.truncate(SHOWN);
        if more > 0 {
            texts.push(SaidText::new("tickets-more", said_values!(more = more)));
        }
        SaidList {
            between: between.to_owned(),
            texts,
        }
    };
    let mut warnings = Vec::new();
    let left: Vec<SaidText> = entry
        .loads
        .iter()
        .filter(|load| !load.used)
        .map(|load| {
            let why = SaidText::of_variant("ticket-left", "", &load.why_values);
            let values = said_values!(row = load.row.to_string(), why = why);
            SaidText::new("ticket-in-row", values)
        })
        .collect();
    if !left.is_empty() {
        warnings.push(warning(
            "tickets_not_used",
            said_values!(
                path = &entry.path,
                left = left.len(),
                tickets = entry.loads.len(),
                reasons = few(left, "; "),
            ),
        ));
    }
    if !entry.loads_without_ticket.is_empty() {
        let loads = entry.loads_without_ticket.iter();
        let loads = loads
            .map(|load| SaidText::new("said-as-it-is", said_values!(said = load)))
            .collect();
        warnings.push(warning(
            "loads_without_ticket",
            said_values!(
                count = entry.loads_without_ticket.len(),
                loads = few(loads, ", "),
            ),
        ));
    }
    let with_tickets = entry
        .machines
        .iter()
        .filter(|m| m.from == "tickets")
        .count();
    if !entry.machines_told_apart && with_tickets > 1 {
        warnings.push(warning("tickets_do_not_part_machines", said_values!()));
    }
    warnings
}
