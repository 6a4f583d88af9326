//! Treatments that are rates: `100000`, `30 lb`, `1,250 gal`.

/// Fewer different rates than this tell no curve from a line.
const FEWEST_RATES: usize = 3;

/// The rates that treatments' names state.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// Their unit; empty when the names write none.
    pub unit: String,
    /// One rate per treatment, in their order.
    pub values: Vec<f64>,
}

impl Rates {
    /// The rates of `treatments`, or `None` when some name is not a number, when they carry
    /// different units, or when there are fewer than three different rates. A 0 needs no unit.
    ///
    /// ```
    /// use checkstrip_trial::Rates;
    /// let names = ["0", "30 lb", "60 lb"].map(String::from);
    /// let rates = Rates::read(&names).unwrap();
    /// assert_eq!((rates.unit.as_str(), rates.values), ("lb", vec![0.0, 30.0, 60.0]));
    /// ```
    pub fn read(treatments: &[String]) -> Option<Rates> {
        let mut unit: Option<&str> = None;
        let mut values = Vec::with_capacity(treatments.len());
        for name in treatments {
            let (value, written) = number_and_unit(name)?;
            if !(value == 0.0 && written.is_empty()) {
                match unit {
                    None => unit = Some(written),
                    Some(unit) if unit.eq_ignore_ascii_case(written) => {}
                    Some(_) => return None,
                }
            }
            values.push(value);
        }
        let mut different = values.clone();
        different.sort_by(f64::total_cmp);
        different.dedup();
        (different.len() >= FEWEST_RATES).then(|| Rates {
            unit: unit.unwrap_or_default().to_owned(),
            values,
        })
    }

    /// Place of the lowest rate: the check when nobody names one.
    pub fn lowest(&self) -> usize {
        let places = 0..self.values.len();
        places
            .min_by(|&a, &b| self.values[a].total_cmp(&self.values[b]))
            .unwrap_or(0)
    }
}

/// `30 lb` as 30 and `lb`; thousands may be separated by commas. `None` for anything else.
///
/// ```
/// use checkstrip_trial::number_and_unit;
/// assert_eq!(number_and_unit("32,000 seeds/ac"), Some((32_000.0, "seeds/ac")));
/// assert_eq!(number_and_unit("rolled"), None);
/// ```
pub fn number_and_unit(name: &str) -> Option<(f64, &str)> {
    let name = name.trim();
    let end = name
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .unwrap_or(name.len());
    let (number, unit) = (&name[..end], name[end..].trim());
    let whole = number.split('.').next().unwrap_or(number);
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or_default();
    let mut separated = false;
    for group in groups {
        separated = true;
        if group.len() != 3 {
            return None;
        }
    }
    if (separated && !(1..=3).contains(&first.len())) || unit.contains(|c: char| c.is_ascii_digit())
    {
        return None;
    }
    let value: f64 = number.replace(',', "").parse().ok()?;
    Some((value, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(names: &[&str]) -> Option<Rates> {
        Rates::read(&names.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn numbers_with_one_unit_are_rates() {
        let stands = read(&["140,000", "100000", "180000"]).unwrap();
        assert_eq!(stands.values, [140_000.0, 100_000.0, 180_000.0]);
        assert_eq!((stands.unit.as_str(), stands.lowest()), ("", 1));
        assert_eq!(read(&["0.5gal", "1 gal", "1.5 GAL"]).unwrap().unit, "gal");
        assert_eq!(read(&["0", "30 lb", "60 lb"]).unwrap().unit, "lb");
    }

    #[test]
    fn anything_else_is_not() {
        for names in [
            &["check", "30 lb", "60 lb"][..],
            &["10", "30 lb", "60 lb"],
            &["30 lb", "30 gal", "60 lb"],
            &["0 lb", "30 lb"],
            &["30", "30.0", "60"],
            &["1,00", "2", "3"],
            &["-1", "2", "3"],
            &["1st", "2nd", "3rd"],
            &["10 lb 2x", "20 lb 2x", "30 lb 2x"],
            &[],
        ] {
            assert_eq!(read(names), None, "{names:?}");
        }
    }
}
