//! The readings of a row that are judged, and the columns of a log they come from.

use checkstrip_model::Column;

macro_rules! readings {
    ($($variant:ident $column:ident [$low:expr, $high:expr] $doc:literal;)*) => {
        /// A reading of one row at one moment.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Reading { $(#[doc = $doc] $variant),* }

        impl Reading {
            /// Every reading.
            pub const ALL: &[Reading] = &[$(Reading::$variant),*];

            /// The column of a log that holds it.
            pub fn column(self) -> Column { match self { $(Reading::$variant => Column::$column),* } }

            /// The lowest and the highest value that can be; others count as no reading.
            fn believed(self) -> [f64; 2] {
                match self { $(Reading::$variant => [$low, $high]),* }
            }
        }
    };
}

readings! {
    SeedRate SeedRate [0.0, f64::MAX] "Seeds placed, 1/ha.";
    TargetSeedRate TargetSeedRate [0.0, f64::MAX] "Seeds asked for, 1/ha.";
    Singulation Singulation [0.0, 100.0] "Seeds that fell one by one, percent.";
    Skips Skips [0.0, 100.0] "Places where a seed is missing, percent.";
    Multiples Multiples [0.0, 100.0] "Places with more than one seed, percent.";
    SeedSpacing SeedSpacing [0.0, f64::MAX] "Distance from seed to seed, m.";
    SpacingVariation SpacingVariation [0.0, f64::MAX] "Coefficient of variation of the spacing, percent.";
    Downforce Downforce [f64::MIN, f64::MAX] "Load on the gauge wheels, N.";
    GroundContact GroundContact [0.0, 100.0] "Time with the gauge wheels on the ground, percent.";
    RideQuality RideQuality [0.0, 100.0] "Time without bouncing, percent.";
    Vacuum Vacuum [0.0, f64::MAX] "Vacuum at the meter, Pa.";
}

/// Stands for a reading that cannot be; `NaN`, as no reading is, but of other bits.
const UNBELIEVED: u32 = 0x7fc0_0001;

impl Reading {
    /// The reading in single precision; `NaN` for none and for one that cannot be, which
    /// [`is_unbelieved`] tells apart.
    pub(crate) fn believe(self, value: f64) -> f32 {
        let [low, high] = self.believed();
        if value >= low && value <= high {
            value as f32
        } else if value.is_nan() {
            f32::NAN
        } else {
            f32::from_bits(UNBELIEVED)
        }
    }
}

/// Whether a reading was one that cannot be.
pub(crate) fn is_unbelieved(reading: f32) -> bool {
    reading.to_bits() == UNBELIEVED
}

/// Number of readings.
pub(crate) const READINGS: usize = Reading::ALL.len();
