//! Totals of a task, such as the area worked and the mass harvested: what the machine counted itself, told beside the
//! log so that it can be held against what the records add up to.

use checkstrip_model::units::shortest;

use super::data_dictionary::{entry, is_total, name};
use super::element::Element;
use super::time_log::LoggedValue;

/// The last value of every total of one task.
#[derive(Debug, Default)]
pub(crate) struct Totals {
    /// Entry, device element and value.
    values: Vec<(u16, String, i32)>,
}

/// More totals than a task has are not told.
const MOST_TOLD: usize = 20;

impl Totals {
    /// Those that stand in the times (TIM) of `task`.
    pub(crate) fn of_task(task: &Element) -> Totals {
        let mut totals = Totals::default();
        for value in task.each("TIM").flat_map(|time| time.each("DLV")) {
            if let (Some(entry), Some(element), Some(number)) =
                (value.data_entry("A"), value.text("C"), value.number("B"))
            {
                totals.set(entry, element, number);
            }
        }
        totals
    }

    /// Takes the last value of a log's quantity.
    pub(crate) fn add_last(&mut self, value: &LoggedValue, last: Option<i32>) {
        if let Some(last) = last {
            self.set(value.entry, &value.element, last);
        }
    }

    fn set(&mut self, entry: u16, element: &str, value: i32) {
        if !is_total(entry) {
            return;
        }
        let known = self
            .values
            .iter()
            .position(|(known, of, _)| *known == entry && of == element);
        match known {
            Some(known) => self.values[known].2 = value,
            None if self.values.len() < MOST_TOLD => {
                self.values.push((entry, element.to_owned(), value));
            }
            None => {}
        }
    }

    /// In words, in the dictionary's units: `Yield Total Mass (DDI 90) 12000 kg`; empty when there are none.
    pub(crate) fn words(&self) -> String {
        let words = self.values.iter().map(|(number, element, value)| {
            let several = self
                .values
                .iter()
                .filter(|total| total.0 == *number)
                .count()
                > 1;
            let of = if several {
                format!(" of {element}")
            } else {
                String::new()
            };
            let (resolution, unit) = entry(*number).map_or((1.0, ""), |e| (e.resolution, e.unit));
            let amount = shortest(f64::from(*value) * resolution, 3);
            format!("{}{of} {amount} {unit}", name(*number))
        });
        words.collect::<Vec<String>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::super::element;
    use super::*;

    #[test]
    fn the_last_total_of_each_element_is_told() {
        let xml = r#"<TSK><TIM A="a"><DLV A="0074" B="40000" C="DET1"/></TIM>
            <TIM A="b"><DLV A="0074" B="81000" C="DET1"/><DLV A="005A" B="500" C="DET1"/>
            <DLV A="005A" B="600" C="DET2"/><DLV A="0057" B="7" C="DET1"/><DLV A="0050" C="DET1"/></TIM></TSK>"#;
        let mut totals = Totals::of_task(&element::parse("set", "a", xml.as_bytes()).unwrap());
        let value = LoggedValue {
            entry: 90,
            element: "DET2".into(),
            fixed: None,
        };
        totals.add_last(&value, None);
        totals.add_last(&value, Some(650));
        assert_eq!(
            totals.words(),
            "Total Area (DDI 116) 81000 m², Yield Total Mass (DDI 90) of DET1 500 kg, \
             Yield Total Mass (DDI 90) of DET2 650 kg"
        );
        assert_eq!(Totals::default().words(), "");
    }
}
