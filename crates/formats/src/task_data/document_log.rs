//! Time logs that stand in `TASKDATA.XML` itself: times (TIM) of a task with a position and values, one record each.
//! As in a binary log, a value that is not given again keeps its last one.
//!
//! # Source
//! ISO 11783-10:2015, annex D (TIM, PTN, DLV).

use std::collections::HashMap;

use super::data_dictionary::is_total;
use super::element::Element;
use super::time_log::{Decoded, End, Header, LoggedValue, MOST_VALUES, Record, Values};
use crate::cell;

/// A time that is a record of a log: it has a place, and more than totals of the task.
fn is_record(time: &Element) -> bool {
    let is_total = |value: &Element| value.data_entry("A").is_some_and(is_total);
    let mut values = time.each("DLV").peekable();
    let measures = values.peek().is_none() || values.any(|value| !is_total(value));
    measures
        && time
            .each("PTN")
            .next()
            .is_some_and(|position| position.text("A").is_some() && position.text("B").is_some())
}

/// What the records of `task` hold, and how many of their quantities are beyond what a log can number; `None` where
/// none of its times is a record with a value.
pub(crate) fn header(task: &Element) -> Option<(Header, usize)> {
    let mut known = HashMap::new();
    let mut values = Vec::new();
    for value in task
        .each("TIM")
        .filter(|time| is_record(time))
        .flat_map(|time| time.each("DLV"))
    {
        if let (Some(entry), Some(element)) = (value.data_entry("A"), value.text("C")) {
            known.entry((entry, element)).or_insert_with(|| {
                values.push(LoggedValue {
                    entry,
                    element: element.to_owned(),
                    fixed: None,
                });
            });
        }
    }
    let beyond = values.len().saturating_sub(MOST_VALUES);
    values.truncate(MOST_VALUES);
    (!values.is_empty()).then(|| (Header::of_document(values), beyond))
}

/// Calls `each` for every record of `task`, in the order of the document.
pub(crate) fn decode(
    task: &Element,
    header: &Header,
    mut each: impl FnMut(&Record<'_>),
) -> Decoded {
    let places: HashMap<(u16, &str), u8> = header
        .values
        .iter()
        .zip(0..)
        .map(|(value, at)| ((value.entry, value.element.as_str()), at))
        .collect();
    let mut values = Values::none();
    let mut records = 0;
    for time in task.each("TIM").filter(|time| is_record(time)) {
        let Some(position) = time.each("PTN").next() else {
            continue;
        };
        for value in time.each("DLV") {
            let place = value.data_entry("A").zip(value.text("C"));
            let at = place.and_then(|place| places.get(&place));
            if let (Some(&at), Some(number)) = (at, value.number("B")) {
                values.set(at, number);
            }
        }
        let degrees = |key: &str| position.number(key).unwrap_or(f64::NAN);
        let start = time
            .text("A")
            .and_then(|text| cell::moment(text.as_bytes()));
        each(&Record {
            time_s: start.unwrap_or(f64::NAN),
            lon: degrees("B"),
            lat: degrees("A"),
            up_m: degrees("C") / 1e3,
            // Where one says so and another does not, that one has none.
            status: Some(position.number("D").unwrap_or(NO_STATUS)),
            values: &values,
            has_news: true,
        });
        records += 1;
    }
    Decoded {
        records,
        end: End::Whole,
        values,
    }
}

/// PositionStatus: not available.
const NO_STATUS: u8 = 15;

#[cfg(test)]
mod tests {
    use super::super::element;
    use super::*;

    fn task(inside: &str) -> Element {
        element::parse("set", "a", format!("<TSK>{inside}</TSK>").as_bytes()).unwrap()
    }

    #[test]
    fn times_with_a_place_are_records() {
        let task = task(
            r#"<TIM A="2026-10-06T14:00:00" B="2026-10-06T15:00:00" D="4"><DLV A="005A" B="12000" C="DET1"/></TIM>
            <TIM A="2026-10-06T14:00:00" D="4"><PTN A="43.2" B="-93.1" C="300500" D="4"/>
                <DLV A="0057" B="5000000" C="DET1"/><DLV A="0063" B="135000" C="DET1"/></TIM>
            <TIM A="2026-10-06T14:00:01Z" D="4"><PTN A="43.200018" B="-93.1" D="0"/>
                <DLV A="0057" B="6000000" C="DET1"/></TIM>
            <TIM A="soon" D="4"><PTN A="43.3" B="-93.1"/></TIM>
            <TIM A="2026-10-06T15:00:00" D="4"><PTN A="43.3" B="-93.1"/><DLV A="005A" B="12000" C="DET1"/></TIM>"#,
        );
        let (header, beyond) = header(&task).unwrap();
        assert_eq!((header.values.len(), beyond), (2, 0));
        let mut seen = Vec::new();
        let decoded = decode(&task, &header, |record| {
            let values = record.values;
            seen.push((
                record.time_s,
                record.lat,
                record.status,
                values.get(0),
                values.get(1),
            ));
        });
        assert_eq!((decoded.records, decoded.end), (3, End::Whole));
        let start = 1_791_295_200.0;
        assert_eq!(
            seen[0],
            (start, 43.2, Some(4), Some(5_000_000), Some(135_000))
        );
        assert_eq!(
            seen[1],
            (
                start + 1.0,
                43.200018,
                Some(0),
                Some(6_000_000),
                Some(135_000)
            )
        );
        assert!(seen[2].0.is_nan() && seen[2].2 == Some(15));
    }

    #[test]
    fn tasks_without_records_have_no_log() {
        for inside in [
            "",
            r#"<TIM A="2026-10-06T14:00:00" D="1"/>"#,
            r#"<TIM A="2026-10-06T14:00:00" D="4"><PTN A="43.2" B="-93.1"/></TIM>"#,
            r#"<TIM A="2026-10-06T14:00:00" D="4"><DLV A="0057" B="1" C="DET1"/></TIM>"#,
        ] {
            assert!(header(&task(inside)).is_none(), "{inside}");
        }
        let many: String = (0..300)
            .map(|at| format!(r#"<DLV A="0057" B="1" C="DET{at}"/>"#))
            .collect();
        let time = format!(r#"<TIM A=""><PTN A="43" B="-93"/>{many}</TIM>"#);
        assert_eq!(header(&task(&time)).unwrap().1, 45);
    }
}
