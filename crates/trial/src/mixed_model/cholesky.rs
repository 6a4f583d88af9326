//! The lower triangle L of V = L L' for the covariances of a fit, which are decomposed hundreds of times.
//!
//! Column by column, from the left (Golub, G. H. and Van Loan, C. F., 2013, *Matrix Computations*, 4th
//! edition, Johns Hopkins University Press, section 4.2; from memory). The columns before are taken off
//! four at a time, one after the other, so that every entry is rounded as if they were taken off one by
//! one.

use nalgebra::DMatrix;

/// Turns the lower triangle of `v`, symmetric, into L and returns it; what is above the diagonal stays as
/// it was. `None` when `v` is not positive definite. Cost: n³/3.
pub(super) fn lower_triangle(mut v: DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = v.nrows();
    let entries = v.as_mut_slice();
    for j in 0..n {
        let (before, rest) = entries.split_at_mut(j * n);
        let column = &mut rest[j..n];
        let from = |k: usize| &before[k * n + j..(k + 1) * n];
        let mut k = 0;
        while k + 4 <= j {
            let parts = [from(k), from(k + 1), from(k + 2), from(k + 3)];
            let [a, b, c, d] = parts.map(|part| -part[0]);
            let [of_a, of_b, of_c, of_d] = parts;
            let entries = column.iter_mut().zip(of_a).zip(of_b).zip(of_c).zip(of_d);
            for ((((entry, x), y), z), w) in entries {
                *entry = *entry + a * x + b * y + c * z + d * w;
            }
            k += 4;
        }
        while k < j {
            let part = from(k);
            let a = -part[0];
            for (entry, x) in column.iter_mut().zip(part) {
                *entry += a * x;
            }
            k += 1;
        }
        if column[0].is_nan() || column[0] <= 0.0 {
            return None;
        }
        let root = column[0].sqrt();
        column[0] = root;
        column[1..].iter_mut().for_each(|entry| *entry /= root);
    }
    Some(v)
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Cholesky;

    /// nalgebra's decomposition, to the last bit.
    #[test]
    fn is_what_nalgebra_finds() {
        for n in [1, 2, 3, 4, 5, 9, 40, 150] {
            let v = DMatrix::from_fn(n, n, |i, j| {
                let distance = (i as f64 - j as f64).abs();
                (-distance / 7.3).exp() + if i == j { 0.1 + 0.01 * i as f64 } else { 0.0 }
            });
            let theirs = Cholesky::new(v.clone()).unwrap().l();
            let ours = lower_triangle(v).unwrap();
            for column in 0..n {
                for row in column..n {
                    assert_eq!(
                        ours[(row, column)].to_bits(),
                        theirs[(row, column)].to_bits(),
                        "{n}: {row}, {column}"
                    );
                }
            }
        }
    }

    #[test]
    fn what_is_not_positive_definite_has_none() {
        let v = DMatrix::from_row_slice(2, 2, &[1.0, 2.0, 2.0, 1.0]);
        assert!(lower_triangle(v).is_none());
        assert!(lower_triangle(DMatrix::from_element(2, 2, f64::NAN)).is_none());
        assert!(lower_triangle(DMatrix::zeros(1, 1)).is_none());
    }
}
