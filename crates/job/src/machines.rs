//! Several machines in one trial: which ground is alike when cleaning holds them against each other, and whether
//! machine and treatment can be told apart once the strips are laid over. `compare` asks for both.

use checkstrip_cleaning::CleaningOutcome;
use checkstrip_model::results::{MachineBias, TicketCalibration, TreatmentByMachine};
use checkstrip_model::units::bu_per_acre;
use checkstrip_model::{Column, Crop, FieldLog, SaidText, SaidValue, StripSet, Warning};
use checkstrip_spatial::convex::{self, ClipScratch};
use checkstrip_spatial::local_plane::LocalPlane;
use checkstrip_spatial::overlay::Overlay;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_words::{said_values, warning};

/// A footprint lies in one treatment when this share of it does: the rest is the noise of positions.
const WHOLLY: f64 = 0.98;
/// Machine and treatment go together when treated ground and check differ by more than this share in who cut
/// them.
const GO_TOGETHER: f64 = 0.5;

/// Whether a log may be of several machines: it names them, or has several files.
pub(crate) fn may_be_several(log: &FieldLog) -> bool {
    match log.labels(Column::Machine) {
        Some(machines) => machines.names.len() > 1,
        None => log.files.len() > 1,
    }
}

/// Strips as classes of ground: machines beside each other are held against each other where the same was done.
#[derive(Debug)]
pub(crate) struct AlikeGround(StripField);

impl AlikeGround {
    /// The ground of `set`; `None` where its strips cannot be used, which the comparison will say.
    pub(crate) fn new(set: &StripSet, plane: &LocalPlane) -> Option<AlikeGround> {
        StripField::new(set, plane, 0.0).ok().map(AlikeGround)
    }

    /// 0 outside all strips, else one class a treatment; `None` where a footprint is in several.
    pub(crate) fn class(&self, footprint: &[[f64; 2]; 4]) -> Option<u16> {
        let whole = convex::area(footprint);
        let mut scratch = ClipScratch::default();
        let (mut treatment, mut inside) = (None, 0.0);
        for strip in &self.0.strips {
            let part = strip.drawn.area_under(footprint, &mut scratch);
            if part <= (1.0 - WHOLLY) * whole {
                continue;
            }
            if treatment.is_some_and(|other| other != strip.treatment) {
                return None;
            }
            treatment = Some(strip.treatment);
            inside += part;
        }
        match treatment {
            None => Some(0),
            Some(_) if inside < WHOLLY * whole => None,
            Some(treatment) => u16::try_from(treatment + 1).ok(),
        }
    }
}

/// Which machine cut how much of each treatment's ground, inside the inset, of records that count.
pub(crate) fn treatments_by_machine(
    outcome: &CleaningOutcome,
    field: &StripField,
    overlay: &Overlay,
) -> Vec<TreatmentByMachine> {
    let machines = outcome.machines.len();
    let mut area_m2 = vec![vec![0.0; machines]; field.treatments.len()];
    for part in overlay.kept_parts(&outcome.log) {
        let treatment = field.strips[part.strip].treatment;
        area_m2[treatment][outcome.machine[part.record] as usize] += part.area_m2;
    }
    field
        .treatments
        .iter()
        .zip(area_m2)
        .map(|(treatment, of)| {
            let all: f64 = of.iter().sum();
            let share = |area: f64| if all > 0.0 { area / all } else { 0.0 };
            TreatmentByMachine {
                treatment: treatment.clone(),
                shares: of.into_iter().map(share).collect(),
            }
        })
        .collect()
}

/// Warns of treatments that other machines cut than the check. `yield_kg_ha` is the check's.
pub(crate) fn confounded(
    bias: &MachineBias,
    tickets: Option<&TicketCalibration>,
    check: usize,
    yield_kg_ha: f64,
    crop: &Crop,
) -> Vec<Warning> {
    let of_check = &bias.treatments[check];
    let others = bias.treatments.iter().enumerate();
    others
        .filter(|(treatment, _)| *treatment != check)
        .filter_map(|(_, treated)| {
            let differ: Vec<f64> = treated
                .shares
                .iter()
                .zip(&of_check.shares)
                .map(|(a, b)| a - b)
                .collect();
            let apart = differ.iter().map(|d| d.abs()).sum::<f64>() / 2.0;
            let has_both = [treated, of_check]
                .iter()
                .all(|of| of.shares.iter().sum::<f64>() > 0.0);
            (has_both && apart > GO_TOGETHER).then(|| {
                let known = what_is_known(bias, tickets, &differ, yield_kg_ha, crop);
                warning(
                    "machine_confounded",
                    said_values!(
                        machines = cut_by(treated, bias),
                        treatment = &treated.treatment,
                        check_machines = cut_by(of_check, bias),
                        check = &of_check.treatment,
                        known = known,
                    ),
                )
            })
        })
        .collect()
}

/// `combine 1 (96 %) and combine 2 (4 %)`, the larger shares first.
fn cut_by(of: &TreatmentByMachine, bias: &MachineBias) -> SaidValue {
    let mut shares: Vec<(f64, &str)> = of
        .shares
        .iter()
        .zip(&bias.machines)
        .map(|(share, machine)| (*share, machine.machine.as_str()))
        .filter(|(share, _)| *share >= 0.005)
        .collect();
    shares.sort_by(|a, b| b.0.total_cmp(&a.0));
    shares
        .into_iter()
        .map(|(share, machine)| {
            let values = said_values!(machine = machine, share = 100.0 * share);
            SaidValue::from(SaidText::new("machine-share", values))
        })
        .reduce(|first, second| {
            SaidText::new("joined-and", said_values!(first = first, second = second)).into()
        })
        .unwrap_or_else(|| SaidValue::from(""))
}

/// What is known of the machines that cut these treatments, `differ` being by how much more of the one they cut.
fn what_is_known(
    bias: &MachineBias,
    tickets: Option<&TicketCalibration>,
    differ: &[f64],
    yield_kg_ha: f64,
    crop: &Crop,
) -> SaidText {
    let concerned = || (0..differ.len()).filter(|&m| differ[m].abs() >= 0.005);
    let from_tickets =
        |m: usize| tickets.is_some_and(|tickets| tickets.machines[m].from == "tickets");
    if concerned().all(from_tickets) {
        return SaidText::new("machine-known-tickets", said_values!());
    }
    let mut groups = concerned().map(|m| bias.machines[m].group);
    let first = groups.next().flatten();
    if first.is_none() || !groups.all(|group| group == first) {
        return SaidText::new("machine-known-not", said_values!());
    }
    // At worst all errors go one way; with two machines that is what they do.
    let error: f64 = concerned()
        .filter_map(|m| Some(differ[m].abs() * bias.machines[m].std_error?))
        .sum();
    let more = 1.96 * error * yield_kg_ha;
    let id = match bias.applied {
        true => "machine-known-taken-out",
        false => "machine-known-left",
    };
    let bushels = bu_per_acre(more, crop.bushel_kg);
    SaidText::new(id, said_values!(bushels = bushels, kg = more))
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::results::MachineFactor;

    fn bias(shares: [[f64; 2]; 2], group: Option<usize>) -> MachineBias {
        let machine = |name: &str| MachineFactor {
            machine: name.into(),
            group,
            std_error: group.map(|_| 0.01),
            ..MachineFactor::default()
        };
        let treatment = |name: &str, shares: [f64; 2]| TreatmentByMachine {
            treatment: name.into(),
            shares: shares.to_vec(),
        };
        MachineBias {
            machines: vec![machine("A"), machine("B")],
            treatments: vec![
                treatment("check", shares[0]),
                treatment("rolled", shares[1]),
            ],
            ..MachineBias::default()
        }
    }

    #[test]
    fn machines_that_share_the_strips_are_not_warned_of() {
        let crop = Crop::known("soybean").unwrap();
        let said = |shares, group| {
            let bias = bias(shares, group);
            let mut warnings = confounded(&bias, None, 0, 4000.0, &crop);
            warnings.pop().map(|warning| warning.message)
        };
        assert_eq!(said([[0.5, 0.5], [0.6, 0.4]], Some(0)), None);
        assert_eq!(said([[0.0, 0.0], [0.6, 0.4]], Some(0)), None);
        let unknown = said([[0.0, 1.0], [1.0, 0.0]], None).unwrap();
        assert!(
            unknown.contains("A (100 %) cut rolled, B (100 %) cut check"),
            "{unknown}"
        );
        assert!(unknown.contains("cannot tell which"), "{unknown}");
        // 1.96 × (0.01 + 0.01) × 4,000 kg/ha.
        let known = said([[0.0, 1.0], [1.0, 0.0]], Some(0)).unwrap();
        assert!(known.contains("2.3 bu/ac (157 kg/ha)"), "{known}");
    }
}
