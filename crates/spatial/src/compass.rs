//! Directions in words, for people: on the sheet of a planned trial, and which end of the strips a
//! distance counts from.

/// The nearest of eight compass points.
pub fn compass(azimuth_deg: f64) -> &'static str {
    const POINTS: [&str; 8] = [
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ];
    POINTS[(azimuth_deg.rem_euclid(360.0) / 45.0).round() as usize % 8]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn compass_points_are_the_nearest() {
        let found = [-90.0, 22.4, 22.6, 360.0, 337.6].map(compass);
        assert_eq!(found, ["west", "north", "north-east", "north", "north"]);
    }
}
