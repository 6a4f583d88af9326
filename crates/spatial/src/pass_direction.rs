//! Which way the passes of a log run, for strips that are to lie along them: a strip laid across the
//! passes would be cut by headers that straddle it.

use checkstrip_model::{CleanLog, Status};

/// Directions this near count as one, degrees: wider than the heading of a record wavers, narrower than
/// what two sides of a field differ by. Common practice, no source.
const NEAR_DEG: f64 = 10.0;

/// The way most passes run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassDirection {
    /// Clockwise from north of the plane, -45 to 135, degrees: passes go there and back, and of the two
    /// this is the one to the right of which lies east or south.
    pub direction_deg: f64,
    /// Share of the ground that was cut within 10° of it.
    pub share: f64,
}

/// The direction along which most ground was cut, as [`main_direction`] has it. `None` when nothing was cut. Records
/// whose position or time is not believed do not count.
pub fn pass_direction(log: &CleanLog) -> Option<PassDirection> {
    main_direction((0..log.len()).filter_map(|record| {
        let believed = !matches!(log.status[record], Status::Position | Status::Time);
        let counts = believed && log.pass[record] > 0;
        counts.then(|| (log.heading_deg[record], log.footprint_m2[record]))
    }))
}

/// The direction along which most ground was worked, of headings, degrees, each with its ground, m²: the mode of the
/// headings, opposite ones as one. `None` when there is no ground; headings that are `NaN` do not count.
///
/// Headings are counted in whole degrees. Within 10° of the degree with most ground around it, nearer
/// ground counting more, the mean of the doubled angles is taken (Mardia, K. V., 1972, *Statistics of
/// Directional Data*, Academic Press, axial data; from memory).
pub fn main_direction(worked: impl Iterator<Item = (f64, f64)> + Clone) -> Option<PassDirection> {
    let cut = worked
        .filter(|(heading, area)| heading.is_finite() && *area > 0.0)
        .map(|(heading, area)| (heading.rem_euclid(180.0), area));
    let mut ground = [0.0; 180];
    for (heading, area) in cut.clone() {
        ground[heading as usize % 180] += area;
    }
    let total: f64 = ground.iter().sum();
    if total.is_nan() || total <= 0.0 {
        return None;
    }
    let reach = NEAR_DEG as usize;
    // Nearer degrees count more, so that the best lies in the middle of its ground.
    let around = |degree: usize| -> f64 {
        (0..=2 * reach)
            .map(|step| {
                let near = reach + 1 - step.abs_diff(reach);
                ground[(degree + 180 + step - reach) % 180] * near as f64
            })
            .sum()
    };
    let best = (0..180).max_by(|&a, &b| around(a).total_cmp(&around(b)))?;
    let middle = best as f64 + 0.5;
    let (mut sin, mut cos, mut near) = (0.0, 0.0, 0.0);
    for (heading, area) in cut {
        // From -90 to 90.
        let off = (heading - middle + 90.0).rem_euclid(180.0) - 90.0;
        if off.abs() <= NEAR_DEG {
            let doubled = (2.0 * off).to_radians();
            sin += area * doubled.sin();
            cos += area * doubled.cos();
            near += area;
        }
    }
    let direction = middle + sin.atan2(cos).to_degrees() / 2.0;
    let direction_deg = (direction + 45.0).rem_euclid(180.0) - 45.0;
    Some(PassDirection {
        direction_deg,
        share: near / total,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(records: &[(f64, f64)]) -> CleanLog {
        let mut log = CleanLog::default();
        for &(heading, area) in records {
            log.heading_deg.push(heading);
            log.footprint_m2.push(area);
            log.pass.push(1);
            log.status.push(Status::Kept);
        }
        log
    }

    /// Passes there and back at 1.5°, headings wavering by 2° either way, a lap around the field.
    #[test]
    fn passes_there_and_back_are_one_direction() {
        let mut records = Vec::new();
        for record in 0..400 {
            let back = if record % 2 == 0 { 0.0 } else { 180.0 };
            let waver = f64::from(record % 5 - 2);
            records.push((1.5 + back + waver, 20.0));
        }
        records.extend([(91.5, 400.0), (271.5, 400.0)]);
        let found = pass_direction(&log(&records)).unwrap();
        assert!((found.direction_deg - 1.5).abs() < 1e-9, "{found:?}");
        assert!((found.share - 8_000.0 / 8_800.0).abs() < 1e-9, "{found:?}");
    }

    /// The direction is that of most ground, not of most records, and turns with the field.
    #[test]
    fn ground_counts_not_records() {
        for turn in [0.0, 33.3, 89.9, 120.0, 179.8] {
            let mut records = vec![(turn, 30.0); 10];
            records.extend(vec![(turn + 90.0, 5.0); 40]);
            let found = pass_direction(&log(&records)).unwrap();
            let off = (found.direction_deg - turn + 90.0).rem_euclid(180.0) - 90.0;
            assert!(
                off.abs() < 1e-9 && (found.share - 0.6).abs() < 1e-9,
                "{turn} {found:?}"
            );
            assert!(
                (-45.0..135.0).contains(&found.direction_deg),
                "{turn} {found:?}"
            );
        }
    }

    #[test]
    fn nothing_cut_has_no_direction() {
        assert_eq!(pass_direction(&CleanLog::default()), None);
        assert_eq!(pass_direction(&log(&[(f64::NAN, 10.0), (3.0, 0.0)])), None);
    }
}
