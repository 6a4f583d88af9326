//! Binary time logs: `TLGnnnnn.XML` says what stands in every record of `TLGnnnnn.BIN`, and this reads
//! record after record. A record is the time, what the position holds, and those process data values that
//! were logged since the record before; the others keep their last value.
//!
//! # Source
//! ISO 11783-10:2015, annex D (TIM, PTN, DLV) and its clause on the binary format of time logs; the layout
//! is checked in tests against an independent reader. Numbers are little-endian.

use checkstrip_model::Problem;

use super::element::Element;

/// A record counts its process data values in one byte.
pub(crate) const MOST_VALUES: usize = 255;

/// More records than a combine writes in 230 days at one a second.
pub(crate) const MOST_RECORDS: usize = 20_000_000;

/// Milliseconds of a day, with a leap second.
const DAY_MS: u32 = 86_401_000;

/// Where an attribute of the position comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Field {
    Absent,
    /// The same for every record, in degrees or metres.
    Fixed(f64),
    InRecord,
}

/// What a record logs of one quantity.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LoggedValue {
    /// The entry of the data dictionary.
    pub(crate) entry: u16,
    /// The device element it belongs to.
    pub(crate) element: String,
    /// The value, where the header gives one for all records.
    pub(crate) fixed: Option<i32>,
}

/// What stands in the records of one time log.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Header {
    north: Field,
    east: Field,
    up: Field,
    has_status: bool,
    /// Bytes of a record without its process data values.
    fixed_length: usize,
    pub(crate) values: Vec<LoggedValue>,
}

impl Header {
    /// Of a log that stands in the document, whose records have no layout.
    pub(crate) fn of_document(values: Vec<LoggedValue>) -> Header {
        Header {
            north: Field::InRecord,
            east: Field::InRecord,
            up: Field::InRecord,
            has_status: true,
            fixed_length: 0,
            values,
        }
    }

    /// The layout that the header document `root`, called `name`, describes.
    ///
    /// # Errors
    /// When it is none that the standard allows.
    pub(crate) fn new(file: &str, name: &str, root: &Element) -> Result<Header, Problem> {
        let refuse = |what: &str| {
            Err(Problem::new(file, format!("{name}: {what}")).hint(
                "the header of this time log is damaged: export the task data again, or take the log \
                 out of TASKDATA.XML",
            ))
        };
        let times = match root.tag.as_str() {
            "TIM" => vec![root],
            _ => root.each("TIM").collect(),
        };
        let &[time] = &times[..] else {
            return refuse("expected one TIM element");
        };
        if time.attribute("A") != Some("") {
            return refuse("expected TIM with an empty start, which stands in every record");
        }
        if ["B", "C"].iter().any(|key| time.attribute(key) == Some("")) {
            return refuse("expected TIM without a stop or duration in every record");
        }
        let mut header = Header {
            north: Field::Absent,
            east: Field::Absent,
            up: Field::Absent,
            has_status: false,
            fixed_length: 4 + 2,
            values: Vec::new(),
        };
        let positions: Vec<&Element> = time.each("PTN").collect();
        if positions.len() > 1 {
            return refuse("expected at most one PTN element");
        }
        if let Some(position) = positions.first() {
            let field = |key: &str| match position.attribute(key) {
                None => Some(Field::Absent),
                Some("") => Some(Field::InRecord),
                Some(text) => Some(Field::Fixed(text.trim().parse().ok()?)),
            };
            let (Some(north), Some(east), Some(up)) = (field("A"), field("B"), field("C")) else {
                return refuse("a fixed position is no number");
            };
            (header.north, header.east, header.up) = (north, east, up);
            header.has_status = position.attribute("D") == Some("");
            // PDOP, HDOP, satellites, UTC time and date.
            for (key, bytes) in [("E", 2), ("F", 2), ("G", 1), ("H", 4), ("I", 2)] {
                if position.attribute(key) == Some("") {
                    header.fixed_length += bytes;
                }
            }
            let is_in_record = |field: &&Field| **field == Field::InRecord;
            header.fixed_length += 4 * [north, east, up].iter().filter(is_in_record).count();
            header.fixed_length += usize::from(header.has_status);
        }
        // The count of values that follow.
        header.fixed_length += 1;
        for value in time.each("DLV") {
            let (Some(entry), Some(element)) = (value.data_entry("A"), value.text("C")) else {
                return refuse("a DLV element without its data dictionary entry or device element");
            };
            header.values.push(LoggedValue {
                entry,
                element: element.to_owned(),
                fixed: value.number("B"),
            });
        }
        if header.values.len() > MOST_VALUES {
            return refuse("more DLV elements than a record can number");
        }
        Ok(header)
    }
}

/// One record as it is read, in the units of the file.
#[derive(Debug)]
pub(crate) struct Record<'r> {
    /// Seconds from 1970-01-01, local time of the machine.
    pub(crate) time_s: f64,
    /// Longitude and latitude, degrees; `NaN` where there is no position.
    pub(crate) lon: f64,
    pub(crate) lat: f64,
    /// Height, m.
    pub(crate) up_m: f64,
    /// Quality of the position: 0 no fix, 14 error.
    pub(crate) status: Option<u8>,
    /// The last value of every quantity of the header.
    pub(crate) values: &'r Values,
    /// Whether the record brought any value.
    pub(crate) has_news: bool,
}

/// The last value of every quantity of a header.
#[derive(Debug)]
pub(crate) struct Values {
    last: [i32; 256],
    known: [bool; 256],
}

impl Values {
    /// None of them known.
    pub(crate) fn none() -> Values {
        Values {
            last: [0; 256],
            known: [false; 256],
        }
    }

    /// Takes `value` for quantity `at`.
    #[inline]
    pub(crate) fn set(&mut self, at: u8, value: i32) {
        self.last[at as usize] = value;
        self.known[at as usize] = true;
    }

    /// The last value of quantity `at`; `None` before its first.
    #[inline]
    pub(crate) fn get(&self, at: u8) -> Option<i32> {
        self.known[at as usize].then(|| self.last[at as usize])
    }
}

/// How a time log ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum End {
    /// With its last record.
    Whole,
    /// In the middle of a record that begins at this byte.
    CutOff { byte: usize },
    /// At a record, beginning at this byte, that cannot be one of this header.
    Mismatch { byte: usize, what: &'static str },
    /// At the most records that are read.
    TooLong,
}

/// Days from 1970-01-01 to 1980-01-01.
const DAYS_TO_1980: f64 = 3_652.0;

/// "Not available" of a coordinate.
const NO_COORDINATE: i32 = i32::MAX;

/// What is known when a time log is read.
#[derive(Debug)]
pub(crate) struct Decoded {
    pub(crate) records: usize,
    pub(crate) end: End,
    /// The last values.
    pub(crate) values: Values,
}

/// Calls `each` for every record of `bytes`, in order.
pub(crate) fn decode(bytes: &[u8], header: &Header, each: impl FnMut(&Record<'_>)) -> Decoded {
    let mut values = Values::none();
    for (value, at) in header.values.iter().zip(0..=u8::MAX) {
        if let Some(fixed) = value.fixed {
            values.set(at, fixed);
        }
    }
    let (records, end) = decode_into(&mut values, bytes, header, each);
    Decoded {
        records,
        end,
        values,
    }
}

fn decode_into(
    values: &mut Values,
    bytes: &[u8],
    header: &Header,
    mut each: impl FnMut(&Record<'_>),
) -> (usize, End) {
    let quantities = header.values.len();
    let mut records = 0;
    let mut rest = bytes;
    while !rest.is_empty() {
        let byte = bytes.len() - rest.len();
        let Some((start, behind)) = rest.split_at_checked(header.fixed_length) else {
            return (records, End::CutOff { byte });
        };
        let count = start[header.fixed_length - 1] as usize;
        let Some((logged, behind)) = behind.split_at_checked(5 * count) else {
            // A count that no record has is a wrong header sooner than a cut.
            let what = "counts more values than its header has";
            return match count > quantities {
                true => (records, End::Mismatch { byte, what }),
                false => (records, End::CutOff { byte }),
            };
        };
        if records == MOST_RECORDS {
            return (records, End::TooLong);
        }
        let ms = u32::from_le_bytes([start[0], start[1], start[2], start[3]]);
        let day = u16::from_le_bytes([start[4], start[5]]);
        if ms >= DAY_MS {
            let what = "has a time of day beyond 24 hours";
            return (records, End::Mismatch { byte, what });
        }
        let mut fields = &start[6..];
        let mut coordinate = |field: Field, step: f64| match field {
            Field::Absent => f64::NAN,
            Field::Fixed(value) => value,
            Field::InRecord => {
                let (number, behind) = fields.split_at(4);
                fields = behind;
                match i32::from_le_bytes([number[0], number[1], number[2], number[3]]) {
                    NO_COORDINATE => f64::NAN,
                    // Divided, not multiplied: 1e7 is exact.
                    value => f64::from(value) / step,
                }
            }
        };
        let lat = coordinate(header.north, 1e7);
        let lon = coordinate(header.east, 1e7);
        let up_m = coordinate(header.up, 1e3);
        let status = header.has_status.then(|| fields[0]);
        for value in logged.chunks_exact(5) {
            let at = value[0];
            if at as usize >= quantities {
                let what = "has a value that its header does not";
                return (records, End::Mismatch { byte, what });
            }
            values.set(
                at,
                i32::from_le_bytes([value[1], value[2], value[3], value[4]]),
            );
        }
        each(&Record {
            time_s: (DAYS_TO_1980 + f64::from(day)) * 86_400.0 + f64::from(ms) / 1e3,
            lon,
            lat,
            up_m,
            status,
            values,
            has_news: count > 0 || records == 0,
        });
        records += 1;
        rest = behind;
    }
    (records, End::Whole)
}

#[cfg(test)]
mod tests {
    use super::super::element;
    use super::*;

    fn header(xml: &str) -> Result<Header, Problem> {
        let root = element::parse("set", "TLG00001.XML", xml.as_bytes())?;
        Header::new("set", "TLG00001.XML", &root)
    }

    const USUAL: &str = r#"<TIM A="" D="4"><PTN A="" B="" C="" D="" G=""/>
        <DLV A="0057" B="" C="DET-1"/><DLV A="0043" B="9000" C="DET-2"/></TIM>"#;

    /// 2 January 1980, 00:00:01.500; 43.2 N, 93.1 W, 300 m, status 2, 9 satellites.
    fn record(values: &[(u8, i32)]) -> Vec<u8> {
        let mut bytes = Vec::new();
        bytes.extend(1_500_u32.to_le_bytes());
        bytes.extend(1_u16.to_le_bytes());
        for number in [432_000_000, -931_000_000, 300_000_i32] {
            bytes.extend(number.to_le_bytes());
        }
        bytes.extend([2, 9, values.len() as u8]);
        for (at, value) in values {
            bytes.push(*at);
            bytes.extend(value.to_le_bytes());
        }
        bytes
    }

    type Seen = Vec<(f64, f64, f64, Option<i32>, Option<i32>)>;

    fn read(bytes: &[u8]) -> (Seen, End) {
        let mut seen = Vec::new();
        let decoded = decode(bytes, &header(USUAL).unwrap(), |record| {
            assert_eq!((record.time_s, record.status), (315_619_201.5, Some(2)));
            let values = record.values;
            seen.push((
                record.lon,
                record.lat,
                record.up_m,
                values.get(0),
                values.get(1),
            ));
        });
        assert_eq!(decoded.records, seen.len());
        (seen, decoded.end)
    }

    #[test]
    fn values_last_until_the_next() {
        let bytes = [
            record(&[]),
            record(&[(0, -7)]),
            record(&[]),
            record(&[(1, 5), (0, 8)]),
        ]
        .concat();
        let (seen, end) = read(&bytes);
        assert_eq!(end, End::Whole);
        let place = (-93.1, 43.2, 300.0);
        let logged = [
            (None, Some(9000)),
            (Some(-7), Some(9000)),
            (Some(-7), Some(9000)),
            (Some(8), Some(5)),
        ];
        for (seen, logged) in seen.iter().zip(logged) {
            assert_eq!((seen.0, seen.1, seen.2), place);
            assert_eq!((seen.3, seen.4), logged);
        }
    }

    #[test]
    fn a_cut_keeps_the_records_before_it() {
        let whole = [record(&[(0, 1)]), record(&[(0, 2)])].concat();
        let second = record(&[(0, 1)]).len();
        for cut in second + 1..whole.len() {
            let (seen, end) = read(&whole[..cut]);
            assert_eq!((seen.len(), end), (1, End::CutOff { byte: second }));
        }
    }

    #[test]
    fn records_of_another_header_are_noticed() {
        let mut late = record(&[]);
        late[..4].copy_from_slice(&90_000_000_u32.to_le_bytes());
        assert!(matches!(read(&late).1, End::Mismatch { byte: 0, .. }));
        assert!(matches!(
            read(&record(&[(7, 1)])).1,
            End::Mismatch { byte: 0, .. }
        ));
        let mut many = record(&[]);
        let last = many.len() - 1;
        many[last] = 200;
        assert!(matches!(read(&many).1, End::Mismatch { .. }));
    }

    #[test]
    fn headers_that_are_none_are_refused() {
        for xml in [
            r#"<TIM D="4"/>"#,
            r#"<TIM A="" B="" D="4"/>"#,
            r#"<TIM A="" D="4"><PTN/><PTN/></TIM>"#,
            r#"<TIM A="" D="4"><PTN A="north" B=""/></TIM>"#,
            r#"<TIM A="" D="4"><DLV A="0057" B=""/></TIM>"#,
            r#"<TIM A="" D="4"><DLV A="yield" B="" C="DET-1"/></TIM>"#,
            r#"<XFC/>"#,
        ] {
            assert!(header(xml).is_err(), "{xml}");
        }
    }
}
