//! One command, one file: each takes its arguments, calls the job and shows what came out.

pub(crate) mod applied;
pub(crate) mod batch;
pub(crate) mod clean;
pub(crate) mod compare;
pub(crate) mod convert;
pub(crate) mod demo;
pub(crate) mod draw;
pub(crate) mod generated;
pub(crate) mod inspect;
pub(crate) mod map;
pub(crate) mod outline;
pub(crate) mod payoff;
pub(crate) mod plan;
pub(crate) mod planting;
pub(crate) mod pool;
pub(crate) mod surface;
