//! Whether all blocks hold their treatments in one order along the row of strips. Then nothing was
//! drawn block by block, or chance drew one order again and again: a slope of the ground, or whatever
//! else runs across the field, lies in every difference alike, and no permutation of labels sees it.

use checkstrip_model::{SaidText, Warning};
use checkstrip_spatial::cells::strip_direction;
use checkstrip_spatial::strip_ground::StripField;
use checkstrip_words::{said_values, warning};
use geo::Centroid;

/// Directions of the compass in eighths of a turn from north; those of the other half are these the other
/// way round.
const DIRECTIONS: [&str; 4] = [
    "one-order-south-north",
    "one-order-southwest-northeast",
    "one-order-west-east",
    "one-order-northwest-southeast",
];

/// A strip where it lies.
struct Placed {
    /// Its middle across and along the direction of the strips, m.
    at: [f64; 2],
    treatment: usize,
}

/// The warning `one_order` when two or more blocks hold the same treatments in the same order; `None`
/// otherwise, and when blocks hold one treatment only.
///
/// Strips of a block are taken in order across the direction of the strips, or along it where they lie
/// end to end. Strips without a block do not count.
pub(crate) fn one_order(field: &StripField, block_of: &[Option<String>]) -> Option<Warning> {
    let direction = strip_direction(field);
    let (sin, cos) = direction.sin_cos();
    let mut blocks: Vec<(&str, Vec<Placed>)> = Vec::new();
    for (strip, block) in field.strips.iter().zip(block_of) {
        let (Some(block), Some(middle)) = (block.as_deref(), strip.drawn.polygon().centroid())
        else {
            continue;
        };
        let across = middle.x() * cos - middle.y() * sin;
        let along = middle.x() * sin + middle.y() * cos;
        let placed = Placed {
            at: [across, along],
            treatment: strip.treatment,
        };
        match blocks.iter_mut().find(|known| known.0 == block) {
            Some((_, strips)) => strips.push(placed),
            None => blocks.push((block, vec![placed])),
        }
    }
    let mut orders = blocks.into_iter().map(|(_, strips)| order(strips));
    let (axis, first) = orders.next()?;
    let repeats = orders.len();
    let is_one = first.iter().any(|treatment| *treatment != first[0]);
    if repeats == 0 || !is_one || !orders.all(|other| other == (axis, first.clone())) {
        return None;
    }
    let mut names: Vec<&str> = first
        .iter()
        .map(|&t| field.treatments[t].as_str())
        .collect();
    // Across is a quarter turn to the right of along.
    let bearing = direction.to_degrees() + if axis == 0 { 90.0 } else { 0.0 };
    let mut eighth = (bearing.rem_euclid(360.0) / 45.0).round() as usize % 8;
    if eighth >= DIRECTIONS.len() {
        eighth -= DIRECTIONS.len();
        names.reverse();
    }
    let mut values = said_values!(
        blocks = repeats + 1,
        from = SaidText::new(DIRECTIONS[eighth], said_values!()),
        treatments = names.join(", "),
    );
    // Above a million the figure says no more than that.
    let times = chance(&first, repeats);
    if times < 1e6 {
        values.extend(said_values!(variant = "drawn", times = times));
    } else {
        values.extend(said_values!(variant = "rare"));
    }
    Some(warning("one_order", values))
}

/// The axis along which a block's strips are told apart (0 across, 1 along), and their treatments in
/// order along it.
fn order(mut strips: Vec<Placed>) -> (usize, Vec<usize>) {
    let spread = |axis: usize| {
        let places = strips.iter().map(|strip| strip.at[axis]);
        places.clone().fold(f64::NEG_INFINITY, f64::max) - places.fold(f64::INFINITY, f64::min)
    };
    let axis = usize::from(spread(1) > spread(0));
    strips.sort_by(|a, b| a.at[axis].total_cmp(&b.at[axis]));
    (
        axis,
        strips.into_iter().map(|strip| strip.treatment).collect(),
    )
}

/// In how many fields drawing gives one order once: a block has n! ÷ (repeats of a treatment)! orders.
fn chance(order: &[usize], repeats: usize) -> f64 {
    let factorial = |count: usize| (1..=count).map(|k| k as f64).product::<f64>();
    let mut treatments = order.to_vec();
    treatments.sort_unstable();
    let alike = treatments.chunk_by(|a, b| a == b);
    let same: f64 = alike.map(|strips| factorial(strips.len())).product();
    (factorial(order.len()) / same).powi(repeats as i32)
}

#[cfg(test)]
mod tests;
