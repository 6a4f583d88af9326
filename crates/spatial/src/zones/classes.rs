//! Zones as classes of a value: as many as asked for, each with about the same ground of the trial, so
//! that every zone has ground to compare on.

use super::NO_ZONE;

/// Classes of a value.
#[derive(Debug, Clone, PartialEq)]
pub struct Classes {
    /// Lowest and highest value in each class, lowest class first.
    pub ranges: Vec<[f64; 2]>,
    /// For each record its class; [`NO_ZONE`] where its value is not known.
    pub of_record: Vec<u16>,
}

/// Parts the records into at most `wanted` classes by the quantiles of `values`, each record weighted by
/// its ground: `ground_m2` is that of the record inside the strips, 0 elsewhere. Records outside the
/// strips fall into the same classes; the ends of the lowest and highest are those on the strips.
///
/// Equal values are never parted, so that values that repeat much give fewer classes; one or none when
/// all are alike or no value on the strips is known.
pub fn classes(values: &[f64], ground_m2: &[f64], wanted: usize) -> Classes {
    let mut rows: Vec<(f64, f64)> = values
        .iter()
        .zip(ground_m2)
        .filter(|(value, ground)| value.is_finite() && **ground > 0.0)
        .map(|(value, ground)| (*value, *ground))
        .collect();
    rows.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let total: f64 = rows.iter().map(|row| row.1).sum();
    // The highest value of every class but the last.
    let mut breaks: Vec<f64> = Vec::new();
    let mut below = 0.0;
    let highest = rows.last().map_or(f64::NAN, |row| row.0);
    for (value, ground) in &rows {
        below += ground;
        let reached = below >= total * (breaks.len() + 1) as f64 / wanted as f64;
        if reached && breaks.len() + 1 < wanted && *value < highest && breaks.last() != Some(value)
        {
            breaks.push(*value);
        }
    }
    let class_of = |value: f64| breaks.iter().filter(|&&upper| value > upper).count();
    let mut ranges: Vec<[f64; 2]> = match rows.is_empty() {
        true => vec![],
        false => vec![[f64::INFINITY, f64::NEG_INFINITY]; breaks.len() + 1],
    };
    for (value, _) in &rows {
        let range = &mut ranges[class_of(*value)];
        *range = [range[0].min(*value), range[1].max(*value)];
    }
    let of_record = values.iter().map(|&value| {
        if value.is_finite() && !ranges.is_empty() {
            class_of(value) as u16
        } else {
            NO_ZONE
        }
    });
    Classes {
        of_record: of_record.collect(),
        ranges,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn three_classes_of_equal_ground() {
        let values = [5.0, 1.0, 3.0, 2.0, 4.0, 6.0, 9.0, f64::NAN];
        let ground = [1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 1.0];
        let found = classes(&values, &ground, 3);
        assert_eq!(found.ranges, [[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]]);
        assert_eq!(found.of_record, [2, 0, 1, 0, 1, 2, 2, NO_ZONE]);
    }

    #[test]
    fn level_ground_is_one_class() {
        assert_eq!(classes(&[7.0; 5], &[1.0; 5], 3).ranges.len(), 1);
        assert!(classes(&[f64::NAN; 2], &[1.0; 2], 3).ranges.is_empty());
        // Most ground at one height: what lies above it is all that is left for a second class.
        assert_eq!(
            classes(&[1.0, 1.0, 1.0, 2.0], &[1.0; 4], 3).ranges,
            [[1.0, 1.0], [2.0, 2.0]]
        );
    }

    proptest! {
        /// Law: with distinct values no class differs from its share by more than one record's ground.
        #[test]
        fn classes_hold_their_share(count in 10usize..200, wanted in 2usize..6, seed in 1u64..999) {
            let values: Vec<f64> = (0..count).map(|i| ((i as u64 * 7919 + seed) % 10_007) as f64).collect();
            let ground: Vec<f64> = (0..count).map(|i| 10.0 + (i % 7) as f64).collect();
            let found = classes(&values, &ground, wanted);
            prop_assert_eq!(found.ranges.len(), wanted);
            let total: f64 = ground.iter().sum();
            for class in 0..wanted {
                let of = (0..count).filter(|&i| found.of_record[i] as usize == class);
                let held: f64 = of.map(|i| ground[i]).sum();
                prop_assert!((held - total / wanted as f64).abs() <= 17.0, "{held} of {total}");
            }
        }
    }
}
