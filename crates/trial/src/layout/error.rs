//! Why strips cannot be laid.

/// What keeps strips from being laid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LayoutError {
    /// A width or length that makes no sense.
    #[error("the {what} is {value_m} m, expected {expected}")]
    Length {
        /// Which length.
        what: &'static str,
        /// What was given, m.
        value_m: f64,
        /// What is possible.
        expected: &'static str,
    },
    /// Too few treatments.
    #[error(
        "expected at least two treatments, the check among them, found {found}\n\
         hint: give them like --treatments rolled,check"
    )]
    FewTreatments {
        /// How many there are.
        found: usize,
    },
    /// A treatment named twice.
    #[error(
        "the treatment {name:?} is named twice\n\
         hint: every treatment stands once in every block; ask for more blocks instead"
    )]
    RepeatedTreatment {
        /// The treatment.
        name: String,
    },
    /// No or too many blocks, or strips of no or too many passes.
    #[error("{what} is {value}, expected {expected}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// What was given.
        value: u32,
        /// What is possible.
        expected: &'static str,
    },
    /// The boundary has no ground.
    #[error("the boundary encloses no ground")]
    NoGround,
    /// The headland takes everything.
    #[error(
        "a headland of {headland_m:.1} m leaves nothing of the field\n\
         hint: give a smaller --headland"
    )]
    OnlyHeadland {
        /// Its width, m.
        headland_m: f64,
    },
    /// A first line that shows no direction.
    #[error("the two points of the first line lie on one another: they show no direction")]
    NoDirection,
    /// Not one block fits.
    #[error(
        "not one block of {strips} strips, each {width_m:.1} m wide and at least {least_m:.0} m long, \
         fits on the ground inside the headland, which is {room_m:.1} m across\n\
         hint: fewer treatments, narrower strips (--strip-passes), a smaller --headland or another \
         --direction"
    )]
    NoBlockFits {
        /// Strips in a block.
        strips: usize,
        /// Width of a strip, m.
        width_m: f64,
        /// Shortest stretch that is laid, m.
        least_m: f64,
        /// Width of the ground across the strips, m.
        room_m: f64,
    },
}
