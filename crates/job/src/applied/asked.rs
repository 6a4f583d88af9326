//! What was asked for, and where: out of a plan's file, whose treatments are products, rates or nothing; or out of the
//! log's own columns of rates asked for.

use super::judged::product_of;
use super::{AppliedSetup, RateKind};
use crate::error::JobError;
use crate::ground::to_plane;
use crate::machine_log::{MachineLog, is_at_work, three_digits};
use crate::strips::is_called_check;
use checkstrip_formats::{PlanFile, PlannedGround};
use checkstrip_model::spelling::plain;
use checkstrip_model::{Column, Labels, Operation, Problem, Warning};
use checkstrip_trial::number_and_unit;
use geo::{Area, BooleanOps, BoundingRect, Intersects, MultiPolygon};

/// Something that was asked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Asked {
    /// What strips of it are called.
    pub(super) name: String,
    /// Place of its product among the log's; `None`: any.
    pub(super) product: Option<usize>,
    /// Its rate; `None`: any.
    pub(super) rate: Option<f64>,
    /// Nothing was to be put on.
    pub(super) nothing: bool,
    /// Where, when a file says so.
    pub(super) strips: Vec<PlannedStrip>,
}

/// A polygon of the plan, in the plane.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PlannedStrip {
    pub(super) strip_id: String,
    pub(super) block: Option<String>,
    pub(super) ground: MultiPolygon<f64>,
}

/// All that was asked for, and what its rates count where rates are compared.
#[derive(Debug, Default)]
pub(super) struct Plan {
    pub(super) asked: Vec<Asked>,
    pub(super) kind: Option<RateKind>,
    pub(super) warnings: Vec<Warning>,
}

/// The plan in the log's own columns, and for each record the place of what it was asked.
///
/// # Errors
/// When the log does not say what was asked for, or what was put on.
pub(super) fn from_log(machine: &MachineLog) -> Result<(Plan, Vec<Option<usize>>), Problem> {
    let log = &machine.log;
    let has = |column: Column| log.numbers(column).is_some();
    let mut kinds = RateKind::ALL.into_iter();
    let Some(kind) = kinds.find(|kind| has(kind.asked()) && has(kind.put_on())) else {
        let is_asked = RateKind::ALL.iter().any(|kind| has(kind.asked()));
        let hint = "give the plan as polygons, with a treatment, product or rate each: --plan FILE";
        return Err(match is_asked {
            true => machine.refuse(
                "says which rate was asked for, but not which was put on",
                "export the applied rate as well, or name its column with --column",
            ),
            false => machine.refuse("does not say which rate was asked for", hint),
        });
    };
    let rates = log.numbers(kind.asked()).unwrap_or_default();
    let targets: Vec<Option<String>> = rates
        .iter()
        .map(|rate| (rate.is_finite() && *rate > 0.0).then(|| three_digits(*rate)))
        .collect();
    let first = targets.iter().flatten().next();
    let several_rates = targets.iter().flatten().any(|other| Some(other) != first);
    let products = log.labels(Column::Product);
    let several_products = products.is_some_and(|products| {
        products
            .names
            .iter()
            .filter(|name| !name.is_empty())
            .count()
            > 1
    });
    let mut plan = Plan {
        kind: Some(kind),
        ..Plan::default()
    };
    let mut without = 0;
    let mut of_record = Vec::with_capacity(log.len());
    for (record, target) in targets.iter().enumerate() {
        let Some(target) = target else {
            without += usize::from(rates[record].is_nan() && is_at_work(log, record));
            of_record.push(None);
            continue;
        };
        let product = product_of(log, record).filter(|_| several_products);
        let product_name = match (product, products) {
            (Some(place), Some(products)) => Some(products.names[place].as_str()),
            _ => None,
        };
        let rate_name = format!("{target} {}", kind.unit());
        let name = match (product_name, several_rates) {
            (Some(product), true) => format!("{product} {rate_name}"),
            (Some(product), false) => product.to_owned(),
            (None, _) => rate_name,
        };
        let is_for = |known: &Asked| known.name == name && known.product == product;
        let known = plan.asked.iter().position(is_for);
        of_record.push(Some(known.unwrap_or(plan.asked.len())));
        if known.is_none() {
            plan.asked.push(Asked {
                name,
                product,
                rate: Some(rates[record]),
                nothing: false,
                strips: Vec::new(),
            });
        }
    }
    if plan.asked.is_empty() {
        return Err(machine.refuse(
            "no record says which rate was asked for",
            "give the plan as polygons, with a treatment, product or rate each: --plan FILE",
        ));
    }
    if without > 0 {
        plan.warnings.push(Warning::new(
            "no_rate_asked",
            format!(
                "{without} records at work do not say which rate was asked for; their ground counts as \
                 worked, not planned."
            ),
        ));
    }
    Ok((plan, of_record))
}

/// The plan in `file`. Ground that several of its polygons claim belongs to the first.
///
/// # Errors
/// When a treatment cannot be found in the log, rates count different things, or the log does not hold what is compared.
pub(super) fn from_file(
    file: &PlanFile,
    machine: &MachineLog,
    setup: &AppliedSetup,
) -> Result<Plan, JobError> {
    let mut plan = Plan::default();
    let meanings = Meanings::new(file, machine, setup)?;
    plan.kind = meanings.kind;
    let mut claimed: Vec<MultiPolygon<f64>> = Vec::new();
    let mut twice_m2 = 0.0;
    for planned in &file.grounds {
        let mut ground = to_plane(&planned.ground, &machine.plane)?;
        for earlier in &claimed {
            let meet = match (earlier.bounding_rect(), ground.bounding_rect()) {
                (Some(one), Some(other)) => one.intersects(&other),
                _ => false,
            };
            if meet {
                let before_m2 = ground.unsigned_area();
                ground = ground.difference(earlier);
                twice_m2 += before_m2 - ground.unsigned_area();
            }
        }
        claimed.push(ground.clone());
        let asked = meanings.asked(planned)?;
        let is_for = |known: &Asked| {
            (&known.name, known.product, known.rate, known.nothing)
                == (&asked.name, asked.product, asked.rate, asked.nothing)
        };
        let place = plan
            .asked
            .iter()
            .position(is_for)
            .unwrap_or(plan.asked.len());
        if place == plan.asked.len() {
            plan.asked.push(asked);
        }
        plan.asked[place].strips.push(PlannedStrip {
            strip_id: planned.strip_id.clone(),
            block: planned.block.clone(),
            ground,
        });
    }
    /// Drawn edges seldom meet to the decimetre.
    const TOUCHING_SHARE: f64 = 0.001;
    let all_m2: f64 = claimed.iter().map(|ground| ground.unsigned_area()).sum();
    if twice_m2 > all_m2 * TOUCHING_SHARE {
        plan.warnings.push(Warning::new(
            "plan_overlaps",
            format!(
                "Polygons of the plan claim the same ground, {twice_m2:.0} m² in all: it was counted for the \
                 first of them in the file."
            ),
        ));
    }
    for problem in &file.problems {
        let said = problem.to_string().replace("\nhint: ", "; ");
        plan.warnings.push(Warning::new("plan_file", said));
    }
    Ok(plan)
}

/// What the treatments of a plan mean in the log at hand.
struct Meanings<'a> {
    file: &'a PlanFile,
    products: Option<&'a Labels>,
    setup: &'a AppliedSetup,
    operation: Operation,
    kind: Option<RateKind>,
    /// The one treatment that means "worked", where the log cannot tell treatments apart.
    worked: Option<String>,
}

impl<'a> Meanings<'a> {
    fn new(
        file: &'a PlanFile,
        machine: &'a MachineLog,
        setup: &'a AppliedSetup,
    ) -> Result<Meanings<'a>, Problem> {
        let log = &machine.log;
        let mut meanings = Meanings {
            file,
            products: log.labels(Column::Product),
            setup,
            operation: log.operation,
            kind: file.rate_quantity.and_then(RateKind::of),
            worked: None,
        };
        for name in setup.products.keys() {
            let is = |planned: &PlannedGround| {
                planned
                    .treatment
                    .as_ref()
                    .is_some_and(|t| plain(t) == plain(name))
            };
            if !file.grounds.iter().any(is) {
                let message = format!("--product names {name:?}, which the plan does not");
                let names: Vec<String> = file
                    .grounds
                    .iter()
                    .filter_map(|planned| planned.treatment.clone())
                    .collect();
                return Err(Problem::new(file.path.as_str(), message)
                    .hint(format!("its treatments are {}", listed(names))));
            }
        }
        for planned in &file.grounds {
            let Some((kind, _)) = meanings.named_rate(planned) else {
                continue;
            };
            if *meanings.kind.get_or_insert(kind) != kind {
                return Err(Problem::new(
                    file.path.as_str(),
                    "its rates count different things, such as seeds and pounds",
                )
                .at_row(planned.row)
                .hint("compare one product at a time: give a plan of its own for each"));
            }
        }
        if let Some(kind) = meanings.kind
            && log.numbers(kind.put_on()).is_none()
        {
            let message = format!(
                "the plan asks for rates in {}, but the log does not say what was put on in such a unit",
                kind.unit()
            );
            return Err(Problem::new(log.first_path(), message).hint(format!(
                "export the log with its applied rate, or name the column: --column \"{}=HEADER:UNIT\"",
                kind.put_on().key()
            )));
        }
        let product_count = meanings.products.map_or(0, |products| {
            products
                .names
                .iter()
                .filter(|name| !name.is_empty())
                .count()
        });
        if product_count <= 1 {
            let mut left: Vec<&String> = file
                .grounds
                .iter()
                .filter(|planned| meanings.meaning(planned).is_none())
                .filter_map(|planned| planned.treatment.as_ref())
                .collect();
            left.sort_unstable();
            left.dedup();
            if let [only] = left[..] {
                meanings.worked = Some(only.clone());
            }
        }
        Ok(meanings)
    }

    /// The rate that a treatment's own name says, where no attribute of rates does.
    fn named_rate(&self, planned: &PlannedGround) -> Option<(RateKind, f64)> {
        if planned.rate.is_some() || self.product(planned).is_some() {
            return None;
        }
        let (value, unit) = number_and_unit(planned.treatment.as_deref()?)?;
        RateKind::read(value, unit)
    }

    /// The name that the log has for a treatment.
    fn log_name(&self, planned: &'a PlannedGround) -> Option<&'a str> {
        let name = planned.treatment.as_deref()?;
        let mut given = self.setup.products.iter();
        let given = given.find(|(treatment, _)| plain(treatment) == plain(name));
        Some(given.map_or(name, |(_, product)| product.as_str()))
    }

    /// Place of a treatment's product among the log's.
    fn product(&self, planned: &PlannedGround) -> Option<usize> {
        let wanted = plain(self.log_name(planned)?.trim());
        let products = self.products?;
        products
            .names
            .iter()
            .position(|name| !name.is_empty() && plain(name.trim()) == wanted)
    }

    /// Product, rate and whether nothing was planned; `None` where the log does not know the treatment.
    fn meaning(&self, planned: &PlannedGround) -> Option<(Option<usize>, Option<f64>, bool)> {
        let product = self.product(planned);
        let named = self.named_rate(planned).map(|(_, rate)| rate);
        let bare_0 = |name: &str| number_and_unit(name) == Some((0.0, ""));
        let rate = planned.rate.or(named);
        let name = self.log_name(planned);
        let is_given = planned.treatment.as_deref() != name;
        let is_nothing = rate == Some(0.0)
            || name.is_some_and(|name| name.trim().is_empty() || bare_0(name))
            || (rate.is_none()
                && product.is_none()
                && !is_given
                && self.operation == Operation::Application
                && name.is_some_and(is_called_check));
        if is_nothing {
            return Some((None, None, true));
        }
        let is_known = product.is_some() || (rate.is_some() && !is_given);
        is_known.then_some((product, rate, false))
    }

    fn asked(&self, planned: &PlannedGround) -> Result<Asked, Problem> {
        let name = match (&planned.treatment, planned.rate, self.kind) {
            (Some(name), ..) => name.clone(),
            (None, Some(rate), Some(kind)) if rate > 0.0 => {
                format!("{} {}", three_digits(rate), kind.unit())
            }
            _ => "0".to_owned(),
        };
        let (product, rate, nothing) = match self.meaning(planned) {
            Some(meaning) => meaning,
            None if self.worked.is_some() && self.worked == planned.treatment => {
                (None, None, false)
            }
            None => return Err(self.unknown(planned)),
        };
        Ok(Asked {
            name,
            product,
            rate,
            nothing,
            strips: Vec::new(),
        })
    }

    fn unknown(&self, planned: &PlannedGround) -> Problem {
        let name = planned.treatment.as_deref().unwrap_or_default();
        let products: Vec<String> = self.products.map_or(Vec::new(), |products| {
            products
                .names
                .iter()
                .filter(|name| !name.is_empty())
                .cloned()
                .collect()
        });
        if number_and_unit(name).is_some() {
            return Problem::new(
                self.file.path.as_str(),
                format!("the treatment {name:?} is a number without a unit of a rate"),
            )
            .at_row(planned.row)
            .hint("say where rates are and in which unit: --rate-column \"treatment:seeds/ac\" (yours)");
        }
        let message = match products.is_empty() {
            true => format!(
                "the plan asks for {name:?}, and the log, which names no product, cannot tell it from other \
                 treatments"
            ),
            false => format!(
                "the plan asks for {name:?}, which the log does not know; its products are {}",
                listed(products)
            ),
        };
        Problem::new(self.file.path.as_str(), message)
            .at_row(planned.row)
            .hint(format!(
                "say what the log calls it: --product \"{name}=NAME\"; where nothing was to be put on: --product \
                 \"{name}=\""
            ))
    }
}

/// Names for messages, each once.
fn listed(mut names: Vec<String>) -> String {
    names.sort();
    names.dedup();
    names
        .iter_mut()
        .for_each(|name| *name = format!("{name:?}"));
    names.join(", ")
}
