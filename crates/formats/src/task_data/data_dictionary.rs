//! What the numbers of process data mean: titles, units and resolutions of ISO 11783-11, *Mobile data
//! element dictionary*, for the entries that harvest, seeding and application logs carry.
//!
//! # Source
//! The standard's own online data base (isobus.net), export of 28 October 2025. Its entries 84, 181, 237,
//! 262 and 263 were read in full; titles, units and resolutions of the others come from a table generated
//! from that export.

use checkstrip_model::units::shortest;

/// One entry of the dictionary.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Entry {
    pub(crate) number: u16,
    pub(crate) title: &'static str,
    pub(crate) unit: &'static str,
    /// What one step of the logged whole number is, in `unit`.
    pub(crate) resolution: f64,
}

macro_rules! entries {
    ($($number:literal $title:literal $unit:literal $resolution:literal;)*) => {
        const ENTRIES: &[Entry] = &[$(Entry {
            number: $number, title: $title, unit: $unit, resolution: $resolution,
        }),*];
    };
}

entries! {
    1 "Setpoint Volume Per Area Application Rate" "mm³/m²" 0.01;
    2 "Actual Volume Per Area Application Rate" "mm³/m²" 0.01;
    6 "Setpoint Mass Per Area Application Rate" "mg/m²" 1.0;
    7 "Actual Mass Per Area Application Rate" "mg/m²" 1.0;
    11 "Setpoint Count Per Area Application Rate" "/m²" 0.001;
    12 "Actual Count Per Area Application Rate" "/m²" 0.001;
    16 "Setpoint Spacing Application Rate" "mm" 1.0;
    17 "Actual Spacing Application Rate" "mm" 1.0;
    36 "Setpoint Volume Per Time Application Rate" "mm³/s" 1.0;
    37 "Actual Volume Per Time Application Rate" "mm³/s" 1.0;
    41 "Setpoint Mass Per Time Application Rate" "mg/s" 1.0;
    42 "Actual Mass Per Time Application Rate" "mg/s" 1.0;
    46 "Setpoint Count Per Time Application Rate" "/s" 0.001;
    47 "Actual Count Per Time Application Rate" "/s" 0.001;
    51 "Setpoint Tillage Depth" "mm" 1.0;
    52 "Actual Tillage Depth" "mm" 1.0;
    56 "Setpoint Seeding Depth" "mm" 1.0;
    57 "Actual Seeding Depth" "mm" 1.0;
    61 "Setpoint Working Height" "mm" 1.0;
    62 "Actual Working Height" "mm" 1.0;
    66 "Setpoint Working Width" "mm" 1.0;
    67 "Actual Working Width" "mm" 1.0;
    68 "Default Working Width" "mm" 1.0;
    70 "Maximum Working Width" "mm" 1.0;
    72 "Actual Volume Content" "ml" 1.0;
    75 "Actual Mass Content" "g" 1.0;
    78 "Actual Count Content" "#" 1.0;
    80 "Application Total Volume" "L" 1.0;
    81 "Application Total Mass" "kg" 1.0;
    82 "Application Total Count" "#" 1.0;
    83 "Volume Per Area Yield" "ml/m²" 1.0;
    84 "Mass Per Area Yield" "mg/m²" 1.0;
    85 "Count Per Area Yield" "/m²" 0.001;
    86 "Volume Per Time Yield" "ml/s" 1.0;
    87 "Mass Per Time Yield" "mg/s" 1.0;
    88 "Count Per Time Yield" "/s" 0.001;
    89 "Yield Total Volume" "L" 1.0;
    90 "Yield Total Mass" "kg" 1.0;
    91 "Yield Total Count" "#" 1.0;
    92 "Volume Per Area Crop Loss" "ml/m²" 1.0;
    93 "Mass Per Area Crop Loss" "mg/m²" 1.0;
    95 "Volume Per Time Crop Loss" "ml/s" 1.0;
    96 "Mass Per Time Crop Loss" "mg/s" 1.0;
    98 "Percentage Crop Loss" "ppm" 1.0;
    99 "Crop Moisture" "ppm" 1.0;
    100 "Crop Contamination" "ppm" 1.0;
    116 "Total Area" "m²" 1.0;
    117 "Effective Total Distance" "mm" 1.0;
    118 "Ineffective Total Distance" "mm" 1.0;
    119 "Effective Total Time" "s" 1.0;
    120 "Ineffective Total Time" "s" 1.0;
    121 "Product Density Mass Per Volume" "mg/l" 1.0;
    134 "Device Element Offset X" "mm" 1.0;
    135 "Device Element Offset Y" "mm" 1.0;
    136 "Device Element Offset Z" "mm" 1.0;
    141 "Actual Work State" "" 1.0;
    144 "Yaw Angle" "°" 0.001;
    148 "Total Fuel Consumption" "ml" 1.0;
    149 "Instantaneous Fuel Consumption per Time" "mm³/s" 1.0;
    150 "Instantaneous Fuel Consumption per Area" "mm³/m²" 1.0;
    157 "Connector Type" "" 1.0;
    158 "Prescription Control State" "" 1.0;
    160 "Section Control State" "" 1.0;
    161 "Actual Condensed Work State (1-16)" "" 1.0;
    162 "Actual Condensed Work State (17-32)" "" 1.0;
    163 "Actual Condensed Work State (33-48)" "" 1.0;
    164 "Actual Condensed Work State (49-64)" "" 1.0;
    165 "Actual Condensed Work State (65-80)" "" 1.0;
    166 "Actual Condensed Work State (81-96)" "" 1.0;
    167 "Actual Condensed Work State (97-112)" "" 1.0;
    168 "Actual Condensed Work State (113-128)" "" 1.0;
    169 "Actual Condensed Work State (129-144)" "" 1.0;
    170 "Actual Condensed Work State (145-160)" "" 1.0;
    171 "Actual Condensed Work State (161-176)" "" 1.0;
    172 "Actual Condensed Work State (177-192)" "" 1.0;
    173 "Actual Condensed Work State (193-208)" "" 1.0;
    174 "Actual Condensed Work State (209-224)" "" 1.0;
    175 "Actual Condensed Work State (225-240)" "" 1.0;
    176 "Actual Condensed Work State (241-256)" "" 1.0;
    181 "Dry Mass Per Area Yield" "mg/m²" 1.0;
    182 "Dry Mass Per Time Yield" "mg/s" 1.0;
    183 "Yield Total Dry Mass" "kg" 1.0;
    184 "Reference Moisture For Dry Mass" "ppm" 1.0;
    192 "Ambient temperature" "mK" 1.0;
    237 "Actual Header Working Height Status" "" 1.0;
    238 "Actual Header Rotational Speed Status" "" 1.0;
    239 "Yield Hold Status" "" 1.0;
    240 "Actual (Un)Loading System Status" "" 1.0;
    241 "Crop Temperature" "mK" 1.0;
    259 "Yield Lag Ignore Time" "ms" 1.0;
    260 "Yield Lead Ignore Time" "ms" 1.0;
    261 "Average Yield Mass Per Time" "mg/s" 1.0;
    262 "Average Crop Moisture" "ppm" 1.0;
    263 "Average Yield Mass Per Area" "mg/m²" 1.0;
    314 "Actual Percentage Crop Dry Matter" "ppm" 1.0;
    322 "Load Identification Number" "#" 1.0;
    358 "Average Dry Yield Mass Per Time" "mg/s" 1.0;
    359 "Average Dry Yield Mass Per Area" "mg/m²" 1.0;
    365 "Setpoint Downforce Pressure" "Pa" 1.0;
    366 "Actual Downforce Pressure" "Pa" 1.0;
    397 "Actual Speed" "mm/s" 1.0;
    400 "Speed Source" "" 1.0;
    406 "Actual Protein Content" "ppm" 1.0;
    407 "Average Protein Content" "ppm" 1.0;
    415 "Actual Seed Singulation Percentage" "ppm" 1.0;
    416 "Average Seed Singulation Percentage" "ppm" 1.0;
    417 "Actual Seed Skip Percentage" "ppm" 1.0;
    418 "Average Seed Skip Percentage" "ppm" 1.0;
    419 "Actual Seed Multiple Percentage" "ppm" 1.0;
    420 "Average Seed Multiple Percentage" "ppm" 1.0;
    421 "Actual Seed Spacing Deviation" "mm" 1.0;
    422 "Average Seed Spacing Deviation" "mm" 1.0;
    423 "Actual Coefficient of Variation of Seed Spacing Percentage" "ppm" 1.0;
    424 "Average Coefficient of Variation of Seed Spacing Percentage" "ppm" 1.0;
    426 "Setpoint Downforce as Force" "N" 1.0;
    427 "Actual Downforce as Force" "N" 1.0;
    588 "Setpoint Volume Per Area Application Rate as [ml/m²]" "ml/m²" 0.1;
    589 "Actual Volume Per Area Application Rate as [ml/m²]" "ml/m²" 0.1;
}

/// The entry with this number; `None` for entries of makers and those not listed here.
pub(crate) fn entry(number: u16) -> Option<&'static Entry> {
    let at = ENTRIES
        .binary_search_by_key(&number, |entry| entry.number)
        .ok()?;
    Some(&ENTRIES[at])
}

/// An entry in words, for sources and messages.
pub(crate) fn name(number: u16) -> String {
    match entry(number) {
        Some(entry) => format!("{} (DDI {number})", entry.title),
        None => format!("DDI {number}"),
    }
}

/// Whether an entry counts up over a task.
pub(crate) fn is_total(number: u16) -> bool {
    entry(number).is_some_and(|entry| entry.title.split(' ').any(|word| word == "Total"))
}

/// A rate as a grower reads it, from the whole number of a prescription; `None` when the entry is no
/// rate by area.
///
/// 1 mm³/m² is 0.01 l/ha, 1 ml/m² is 10 l/ha, 1 mg/m² is 0.01 kg/ha.
pub(crate) fn rate_in_words(number: u16, value: i32) -> Option<String> {
    let entry = entry(number)?;
    let (factor, unit) = match entry.unit {
        "mm³/m²" => (0.01, "l/ha"),
        "ml/m²" => (10.0, "l/ha"),
        "mg/m²" => (0.01, "kg/ha"),
        "/m²" => (10_000.0, "/ha"),
        _ => return None,
    };
    let rate = f64::from(value) * entry.resolution * factor;
    Some(format!("{} {unit}", shortest(rate, 4)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_in_order_and_found() {
        assert!(ENTRIES.is_sorted_by(|a, b| a.number < b.number));
        assert_eq!(entry(87).unwrap().unit, "mg/s");
        assert_eq!(name(84), "Mass Per Area Yield (DDI 84)");
        assert_eq!(name(57_400), "DDI 57400");
        assert!(entry(57_400).is_none());
        assert!([80, 90, 116, 117, 148].into_iter().all(is_total));
        assert!(![84, 87, 99, 57_400].into_iter().any(is_total));
    }

    #[test]
    fn rates_in_farm_words() {
        // 140 kg/ha is 14 g/m²; 200 l/ha is 20 ml/m² or 20,000 mm³/m²; 8 seeds/m² are 80,000/ha.
        assert_eq!(rate_in_words(6, 14_000).unwrap(), "140 kg/ha");
        assert_eq!(rate_in_words(1, 2_000_000).unwrap(), "200 l/ha");
        assert_eq!(rate_in_words(11, 8_000).unwrap(), "80000 /ha");
        assert_eq!(rate_in_words(6, 1_255).unwrap(), "12.55 kg/ha");
        assert_eq!(rate_in_words(588, 200).unwrap(), "200 l/ha");
        assert_eq!(rate_in_words(67, 9_144), None);
    }
}
