//! Columns of a piece of a log as they are put aside: one value for all records, one for each moment, or one
//! for each record, whichever is least. What a planter logs once a moment is repeated for all of its rows and
//! so costs little more than it would by itself.

use crate::PlantingError;
use crate::scratch::Scratch;

/// A number that is put aside.
pub(crate) trait Number: Copy + Send + Sync {
    /// Its bytes.
    type Bytes: AsRef<[u8]>;
    const WIDTH: usize;
    fn bytes(self) -> Self::Bytes;
    /// The number that the first bytes hold.
    fn of(bytes: &[u8]) -> Self;
    /// Its bits, by which numbers are the same.
    fn bits(self) -> u64;
    fn of_bits(bits: u64) -> Self;
}

macro_rules! numbers {
    ($($number:ty, $bits:ty, $width:literal;)*) => {$(
        impl Number for $number {
            type Bytes = [u8; $width];
            const WIDTH: usize = $width;
            fn bytes(self) -> [u8; $width] { self.to_le_bytes() }
            fn of(bytes: &[u8]) -> $number {
                let mut of_number = [0; $width];
                of_number.copy_from_slice(&bytes[..$width]);
                <$number>::from_le_bytes(of_number)
            }
            fn bits(self) -> u64 { u64::from(self.to_bits()) }
            fn of_bits(bits: u64) -> $number { <$number>::from_bits(bits as $bits) }
        }
    )*};
}

numbers! {
    f32, u32, 4;
    f64, u64, 8;
}

/// A column of a piece, not yet put aside.
pub(crate) enum Packed {
    Same(u64),
    OfRuns(Vec<u8>),
    OfRecords(Vec<u8>),
}

/// Where a column of a piece is.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) enum Place {
    /// The piece does not have it.
    #[default]
    Nowhere,
    /// All records have the number of these bits.
    Same(u64),
    /// One number for each run of records of one time begins here.
    OfRuns(u64),
    /// One number for each record begins here.
    OfRecords(u64),
}

impl Packed {
    /// Packs `values`, whose runs end before the records `ends`; no ends where runs would save nothing.
    pub(crate) fn of<N: Number>(values: &[N], ends: &[u32]) -> Packed {
        let Some(first) = values.first().map(|value| value.bits()) else {
            return Packed::Same(0);
        };
        if values.iter().all(|value| value.bits() == first) {
            return Packed::Same(first);
        }
        let mut start = 0;
        let is_of_runs = !ends.is_empty()
            && ends.iter().all(|&end| {
                let run = &values[start..end as usize];
                start = end as usize;
                run.iter().all(|value| value.bits() == run[0].bits())
            });
        match is_of_runs {
            true => {
                let of_runs: Vec<N> = ends.iter().map(|&end| values[end as usize - 1]).collect();
                Packed::OfRuns(bytes(&of_runs))
            }
            false => Packed::OfRecords(bytes(values)),
        }
    }

    /// Puts the column aside.
    pub(crate) fn put(&self, scratch: &Scratch) -> Result<Place, PlantingError> {
        Ok(match self {
            Packed::Same(bits) => Place::Same(*bits),
            Packed::OfRuns(bytes) => Place::OfRuns(scratch.put(bytes)?),
            Packed::OfRecords(bytes) => Place::OfRecords(scratch.put(bytes)?),
        })
    }
}

impl Place {
    /// The numbers of the records `from..to` of a piece whose runs end before the records `ends`; `None` where
    /// the piece does not have the column.
    pub(crate) fn get<N: Number>(
        self,
        scratch: &Scratch,
        [from, to]: [usize; 2],
        ends: &[u32],
    ) -> Result<Option<Vec<N>>, PlantingError> {
        Ok(match self {
            Place::Nowhere => None,
            Place::Same(bits) => Some(vec![N::of_bits(bits); to - from]),
            Place::OfRecords(start) => {
                let start = start + (from * N::WIDTH) as u64;
                Some(numbers(&scratch.get(start, (to - from) * N::WIDTH)?))
            }
            Place::OfRuns(start) => {
                let first = ends.partition_point(|&end| end as usize <= from);
                let last = ends.partition_point(|&end| (end as usize) < to);
                let start = start + (first * N::WIDTH) as u64;
                let of_runs: Vec<N> = numbers(&scratch.get(start, (last + 1 - first) * N::WIDTH)?);
                let mut values = Vec::with_capacity(to - from);
                for (value, &end) in of_runs.iter().zip(&ends[first..=last]) {
                    values.resize((end as usize).min(to) - from, *value);
                }
                Some(values)
            }
        })
    }
}

/// Numbers as bytes.
pub(crate) fn bytes<N: Number>(values: &[N]) -> Vec<u8> {
    let mut bytes = vec![0; values.len() * N::WIDTH];
    for (to, value) in bytes.chunks_exact_mut(N::WIDTH).zip(values) {
        to.copy_from_slice(value.bytes().as_ref());
    }
    bytes
}

/// Bytes as numbers.
pub(crate) fn numbers<N: Number>(bytes: &[u8]) -> Vec<N> {
    bytes.chunks_exact(N::WIDTH).map(N::of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Law: what is put aside comes back bit by bit, any part of it.
        #[test]
        fn there_and_back(
            runs in prop::collection::vec((1u32..5, 0u8..3, any::<bool>()), 1..40),
            part in (0.0..1.0f64, 0.0..1.0f64),
        ) {
            let (mut values, mut ends) = (Vec::new(), Vec::new());
            for (length, value, is_uneven) in runs {
                for at in 0..length {
                    let more = if is_uneven { f64::from(at) } else { 0.0 };
                    values.push(if value == 0 { f64::NAN } else { f64::from(value) + more });
                }
                ends.push(values.len() as u32);
            }
            let scratch = Scratch::default();
            let singles: Vec<f32> = values.iter().map(|&value| value as f32).collect();
            let place = Packed::of(&values, &ends).put(&scratch).unwrap();
            let of_singles = Packed::of(&singles, &ends).put(&scratch).unwrap();
            let from = (part.0 * values.len() as f64) as usize;
            let to = from + 1 + (part.1 * (values.len() - from - 1) as f64) as usize;
            let back: Vec<f64> = place.get(&scratch, [from, to], &ends).unwrap().unwrap();
            prop_assert_eq!(bytes(&back), bytes(&values[from..to]));
            let back: Vec<f32> = of_singles.get(&scratch, [from, to], &ends).unwrap().unwrap();
            prop_assert_eq!(bytes(&back), bytes(&singles[from..to]));
        }
    }
}
