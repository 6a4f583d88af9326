//! PROJ objects held per thread. A PROJ object must stay on the thread that made it and costs
//! between microseconds (a bare projection) and tens of milliseconds (anything from the database) to
//! make, so each thread keeps the few it used last. [`crate::crs`] and [`crate::local_plane`] ask
//! for theirs here and convert whole columns through [`convert_all`].

use std::cell::RefCell;
use std::sync::{Mutex, PoisonError};

use proj::{Proj, ProjCreateError, ProjError};
use rayon::prelude::*;

/// Points handed to PROJ at a time; one thread's share of a long column.
const CHUNK: usize = 16_384;

/// PROJ objects a thread keeps: a job needs the CRS of its logs, that of its strips and one plane.
const HELD_PER_THREAD: usize = 4;

/// Making and dropping PROJ objects clears caches that all threads share (`proj_cleanup`, which is
/// documented as not safe against itself), so both happen one at a time.
static MAKING: Mutex<()> = Mutex::new(());

/// Which way through a PROJ object, and in which units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    /// Between two coordinate reference systems, degrees or metres as they say.
    Between,
    /// From longitude and latitude in radians to the plane.
    ToPlane,
    /// From the plane to longitude and latitude in radians.
    FromPlane,
}

struct Held {
    name: String,
    proj: Option<Proj>,
}

impl Drop for Held {
    fn drop(&mut self) {
        let _one_at_a_time = MAKING.lock().unwrap_or_else(PoisonError::into_inner);
        self.proj = None;
    }
}

thread_local! {
    static HELD: RefCell<Vec<Held>> = const { RefCell::new(Vec::new()) };
}

/// Runs `work` with this thread's PROJ object called `name`, made by `make` when it has none yet.
pub(crate) fn with_proj<T>(
    name: &str,
    make: impl Fn() -> Result<Proj, ProjCreateError>,
    work: impl FnOnce(&Proj) -> T,
) -> Result<T, ProjCreateError> {
    HELD.with_borrow_mut(|held| {
        let at = match held.iter().position(|h| h.name == name) {
            Some(at) => at,
            None => {
                let made = {
                    let _one_at_a_time = MAKING.lock().unwrap_or_else(PoisonError::into_inner);
                    make()?
                };
                if held.len() == HELD_PER_THREAD {
                    held.remove(0);
                }
                held.push(Held {
                    name: name.to_owned(),
                    proj: Some(made),
                });
                held.len() - 1
            }
        };
        match &held[at].proj {
            Some(proj) => Ok(work(proj)),
            None => Err(ProjCreateError::ProjError(
                "it was closed already".to_owned(),
            )),
        }
    })
}

/// Converts points in place, long columns on all threads. A point that PROJ cannot convert becomes
/// `NaN`, and `NaN` stays `NaN`.
///
/// # Errors
/// PROJ's own when it cannot make the object.
pub(crate) fn convert_all(
    name: &str,
    make: impl Fn() -> Result<Proj, ProjCreateError> + Sync,
    way: Way,
    points: &mut [[f64; 2]],
) -> Result<(), ProjCreateError> {
    if points.len() <= CHUNK {
        return with_proj(name, &make, |proj| convert_chunk(proj, way, points));
    }
    points
        .par_chunks_mut(CHUNK)
        .try_for_each(|chunk| with_proj(name, &make, |proj| convert_chunk(proj, way, chunk)))
}

fn convert_chunk(proj: &Proj, way: Way, points: &mut [[f64; 2]]) {
    let mut pairs: Vec<(f64, f64)> = points.iter().map(|p| (p[0], p[1])).collect();
    let together = match way {
        Way::Between => proj.convert_array(&mut pairs),
        Way::ToPlane => proj.project_array(&mut pairs, false),
        Way::FromPlane => proj.project_array(&mut pairs, true),
    };
    if together.is_err() {
        // One bad point makes PROJ report the whole array as failed and keep nothing of it.
        for (pair, point) in pairs.iter_mut().zip(points.iter()) {
            *pair = convert_one(proj, way, *point).unwrap_or((f64::NAN, f64::NAN));
        }
    }
    for (point, (x, y)) in points.iter_mut().zip(pairs) {
        let known = point[0].is_finite() && point[1].is_finite() && x.is_finite() && y.is_finite();
        *point = if known { [x, y] } else { [f64::NAN; 2] };
    }
}

fn convert_one(proj: &Proj, way: Way, point: [f64; 2]) -> Result<(f64, f64), ProjError> {
    let pair = (point[0], point[1]);
    match way {
        Way::Between => proj.convert(pair),
        Way::ToPlane => proj.project(pair, false),
        Way::FromPlane => proj.project(pair, true),
    }
}
