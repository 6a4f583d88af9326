//! The length of a map's scale bar: the longest round one (1, 2 or 5 and noughts, feet or metres)
//! that fits.

use checkstrip_model::units::{M_PER_FOOT, UnitSystem};
use checkstrip_words::Reader;

/// A scale bar.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ScaleBar {
    /// Its length on the sheet, pixels.
    pub(super) pixels: f64,
    /// The ground it stands for, with unit.
    pub(super) label: String,
}

/// The longest round bar of at most `room` pixels at `scale` pixels per metre; `None` when the
/// scale makes no sense.
pub(super) fn scale_bar(scale: f64, room: f64, reader: Reader) -> Option<ScaleBar> {
    let (metres, unit) = match reader.units {
        UnitSystem::Farm => (M_PER_FOOT, "ft"),
        UnitSystem::Si => (1.0, "m"),
    };
    let longest = room / scale / metres;
    if !longest.is_finite() || longest <= 0.0 {
        return None;
    }
    let decade = 10f64.powf(longest.log10().floor());
    let length = [5.0, 2.0, 1.0]
        .into_iter()
        .find(|&step| step * decade <= longest)?
        * decade;
    let decimals = if length < 1.0 { 2 } else { 0 };
    let label = format!("{} {unit}", reader.words.number(length, decimals));
    Some(ScaleBar {
        pixels: length * metres * scale,
        label,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_round_and_fit() {
        let bar = scale_bar(1.8, 280.0, UnitSystem::Farm.into()).unwrap();
        assert_eq!(bar.label, "500 ft");
        assert!((bar.pixels - 500.0 * 0.3048 * 1.8).abs() < 1e-9);
        let bar = scale_bar(0.2, 280.0, UnitSystem::Si.into()).unwrap();
        assert_eq!(bar.label, "1,000 m");
        assert_eq!(scale_bar(f64::NAN, 280.0, UnitSystem::Si.into()), None);
        assert_eq!(scale_bar(0.0, 280.0, UnitSystem::Si.into()), None);
    }
}
