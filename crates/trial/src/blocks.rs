//! Blocks for strips that were drawn without any: each check strip and the treated strips nearest to
//! it. Neighbouring strips share their soil, which is what a block is for.

/// Which block each strip fell into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocks {
    /// For each strip, the number of its block from 1, or `None` when it found no partner.
    pub block: Vec<Option<usize>>,
}

/// Pairs strips by nearness: every strip of the check opens a block, and each treatment gives it the
/// nearest of its strips that no nearer check has taken. Strips that are left over have no block.
///
/// `distance` is the distance between two strips, by place. Blocks are numbered in the order of
/// their check strips.
///
/// ```
/// use checkstrip_trial::blocks_by_nearness;
/// // Strips in a row: rolled, check, check, rolled.
/// let at = [0.0f64, 12.0, 24.0, 36.0];
/// let blocks = blocks_by_nearness(&[1, 0, 0, 1], 0, |a, b| (at[a] - at[b]).abs());
/// assert_eq!(blocks.block, [Some(1), Some(1), Some(2), Some(2)]);
/// ```
pub fn blocks_by_nearness(
    treatment: &[usize],
    check: usize,
    distance: impl Fn(usize, usize) -> f64,
) -> Blocks {
    let mut block = vec![None; treatment.len()];
    let checks: Vec<usize> = (0..treatment.len())
        .filter(|&s| treatment[s] == check)
        .collect();
    for (number, &strip) in checks.iter().enumerate() {
        block[strip] = Some(number + 1);
    }
    let mut others: Vec<usize> = treatment.iter().copied().filter(|&t| t != check).collect();
    others.sort_unstable();
    others.dedup();
    for other in others {
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for strip in (0..treatment.len()).filter(|&s| treatment[s] == other) {
            pairs.extend(
                checks
                    .iter()
                    .enumerate()
                    .map(|(b, &c)| (distance(strip, c), b, strip)),
            );
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        let mut taken = vec![false; checks.len()];
        for (_, number, strip) in pairs {
            if !taken[number] && block[strip].is_none() {
                taken[number] = true;
                block[strip] = Some(number + 1);
            }
        }
    }
    // A check that no treatment joined is alone.
    for number in 1..=checks.len() {
        if block.iter().filter(|b| **b == Some(number)).count() == 1 {
            block
                .iter_mut()
                .filter(|b| **b == Some(number))
                .for_each(|b| *b = None);
        }
    }
    Blocks { block }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_left_over_have_no_block() {
        let at = [0.0f64, 10.0, 20.0, 90.0];
        let blocks = blocks_by_nearness(&[0, 1, 1, 0], 0, |a, b| (at[a] - at[b]).abs());
        assert_eq!(blocks.block, [Some(1), Some(1), Some(2), Some(2)]);
        let alone = blocks_by_nearness(&[0, 1, 0], 0, |a, b| (at[a] - at[b]).abs());
        assert_eq!(alone.block, [Some(1), Some(1), None]);
    }
}
