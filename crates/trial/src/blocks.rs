//! Blocks for strips that were drawn without any: neighbours along the row of strips that hold every
//! treatment once. Neighbouring strips share their soil, which is what a block is for.

/// The block of each strip, numbered from 1 along the row, or `None` for strips left over.
///
/// Strips are walked in the order of `across_m`, their place across the direction they run in. As
/// soon as neighbours that belong to no block yet hold every treatment exactly once, they are a
/// block; a strip that repeats a treatment before that pushes out the ones before it.
///
/// ```
/// use checkstrip_trial::blocks_in_a_row;
/// // rolled, check, check, rolled, rolled: the last has no partner.
/// let blocks = blocks_in_a_row(&[1, 0, 0, 1, 1], &[0.0, 12.0, 24.0, 36.0, 48.0]);
/// assert_eq!(blocks, [Some(1), Some(1), Some(2), Some(2), None]);
/// ```
pub fn blocks_in_a_row(treatment: &[usize], across_m: &[f64]) -> Vec<Option<usize>> {
    let mut row: Vec<usize> = (0..treatment.len()).collect();
    row.sort_by(|&a, &b| across_m[a].total_cmp(&across_m[b]).then(a.cmp(&b)));
    let mut treatments = treatment.to_vec();
    treatments.sort_unstable();
    treatments.dedup();

    let mut block = vec![None; treatment.len()];
    let mut number = 0;
    let mut open: Vec<usize> = Vec::new();
    for strip in row {
        if let Some(twin) = open
            .iter()
            .position(|&other| treatment[other] == treatment[strip])
        {
            open.drain(..=twin);
        }
        open.push(strip);
        if open.len() == treatments.len() {
            number += 1;
            for strip in open.drain(..) {
                block[strip] = Some(number);
            }
        }
    }
    block
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_treatments_in_any_order() {
        let across: Vec<f64> = (0..7).map(f64::from).collect();
        let blocks = blocks_in_a_row(&[2, 0, 1, 1, 0, 1, 2], &across);
        assert_eq!(
            blocks,
            [Some(1), Some(1), Some(1), None, Some(2), Some(2), Some(2)]
        );
    }

    #[test]
    fn the_order_of_the_file_does_not_matter() {
        let blocks = blocks_in_a_row(&[0, 0, 1, 1], &[30.0, 0.0, 10.0, 40.0]);
        assert_eq!(blocks, [Some(2), Some(1), Some(1), Some(2)]);
    }

    #[test]
    fn without_a_partner_there_is_no_block() {
        assert_eq!(blocks_in_a_row(&[0, 1, 2], &[0.0, 1.0, 2.0]), [Some(1); 3]);
        assert_eq!(
            blocks_in_a_row(&[0, 0, 1], &[0.0, 1.0, 2.0]),
            [None, Some(1), Some(1)]
        );
        assert!(blocks_in_a_row(&[], &[]).is_empty());
    }
}
