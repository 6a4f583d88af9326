//! Linear mixed models with spatially correlated errors, fitted by restricted maximum likelihood.
//! The spatial comparison methods state their design and hand it over; what comes back is effects
//! with standard errors and degrees of freedom.
//!
//! *y* = *X β* + Σ *Zₖ uₖ* + *e*, where *uₖ* are independent effects of groups (strips, passes), which an
//! observation may hold in shares, and
//! *e* has variance σ² [(1 − ν) *R*(distance/range) + ν *D*]: a spatial part, and a nugget of share ν
//! whose variance may differ from observation to observation. Patterson, H. D. and Thompson, R.
//! (1971), *Recovery of inter-block information when block sizes are unequal*, Biometrika 58,
//! 545–554.

mod correlation;
mod f_test;
mod fit;
mod fit_ratio;
mod likelihood;
mod satterthwaite;

pub(crate) use correlation::Correlation;
pub(crate) use f_test::{FTest, f_test};
pub(crate) use fit::{Bounds, Fitted, fit};
pub(crate) use fit_ratio::fit_ratio;
pub(crate) use likelihood::{Covariance, Grouping, MixedModel, Spatial};
pub(crate) use satterthwaite::degrees_of_freedom;

#[cfg(test)]
mod tests;
