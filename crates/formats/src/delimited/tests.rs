//! Corners of reading delimited text.

use super::*;
use crate::column_builder::Values;
use checkstrip_model::Column;
use proptest::prelude::*;

fn read(text: &[u8]) -> Result<LogPart, Problem> {
    DelimitedLog::open("log.csv", text.to_vec(), None)?.read(&ReadOptions::default())
}

fn numbers(part: &LogPart, column: Column) -> Vec<f64> {
    match part.columns.iter().find(|(found, _)| *found == column) {
        Some((_, Values::Numbers(numbers))) => numbers.clone(),
        _ => panic!("{column:?} is missing"),
    }
}

#[test]
fn rows_are_lines_of_the_file() {
    let part = read(b"# invented\nlon,lat,flow_kg_s\n1,2,3\n\n4,5,6\r\n7,8,9").unwrap();
    assert_eq!(part.rows, [3, 5, 6]);
    assert_eq!(numbers(&part, Column::MassFlow), [3.0, 6.0, 9.0]);
}

#[test]
fn short_long_and_wrong_cells_are_located() {
    let part =
        read(b"lon,lat,flow_kg_s,speed_mph\n1,2,3\n1,2,x,4\n1,2,inf,4,5\n1,2,3,4,,\n").unwrap();
    let flow = numbers(&part, Column::MassFlow);
    assert!(flow[1].is_nan() && flow[2].is_nan());
    assert!(numbers(&part, Column::Speed)[0].is_nan());
    let found: Vec<(Option<u32>, &str)> = part
        .problems
        .iter()
        .map(|problem| (problem.row, problem.message.as_str()))
        .collect();
    assert_eq!(
        found,
        [
            (Some(2), "expected 4 cells, found 3"),
            (Some(3), "expected a number, found \"x\""),
            (Some(4), "expected a number, found \"inf\""),
            (Some(4), "expected 4 cells, found 5"),
        ]
    );
}

#[test]
fn quoted_cells_may_hold_delimiters_quotes_and_line_ends() {
    let text =
        b"lon,lat,flow_kg_s,machine\n1,2,3,\"a, \"\"b\"\"\"\n1,2,4,\"two\nlines\"\n1,2,5,c\n";
    let part = read(text).unwrap();
    assert_eq!(part.rows, [2, 3, 5]);
    assert_eq!(numbers(&part, Column::MassFlow), [3.0, 4.0, 5.0]);
    let Some((_, Values::Names(names))) = part.columns.last() else {
        panic!("names")
    };
    assert_eq!(
        names.clone().finish().names,
        ["a, \"b\"", "two\nlines", "c"]
    );
}

#[test]
fn a_stray_quote_costs_one_row() {
    let part = read(b"lon,lat,flow_kg_s,machine\n1,2,3,5\" wide\n1,2,4,b\n1,2,5,c\n").unwrap();
    assert_eq!(numbers(&part, Column::MassFlow), [3.0, 4.0, 5.0]);
    let part = read(b"lon,lat,flow_kg_s,machine\n1,2,3,5\" a\n1,2,4,5\" b\n1,2,5,\"c\n").unwrap();
    assert_eq!(numbers(&part, Column::MassFlow), [3.0, 4.0, 5.0]);
    assert_eq!(part.rows, [2, 3, 4]);
}

#[test]
fn nothing_to_read() {
    assert!(
        read(b"lon,lat,flow_kg_s\n")
            .unwrap_err()
            .message
            .contains("no record")
    );
    assert!(
        read(b"\n\n")
            .unwrap_err()
            .message
            .contains("no line with text")
    );
    assert!(read(b"lon\0lat").is_err());
}

/// A text long enough to be cut into parts, with quotes here and there.
fn long_text(records: usize) -> String {
    let mut text = String::from("lon;lat;flow_kg_s;machine\n");
    for record in 0..records {
        let name = if record % 97 == 0 {
            "\"an \"\"invented\"\"\nmachine\""
        } else {
            "other"
        };
        text.push_str(&format!("-93,{record:06};43,2;{record};{name}\n"));
    }
    text
}

#[test]
fn parts_are_put_together_in_order() {
    let records = 60_000;
    let text = long_text(records);
    assert!(text.len() > 1 << 20);
    let part = read(text.as_bytes()).unwrap();
    assert!(part.problems.is_empty(), "{:?}", part.problems);
    let flow = numbers(&part, Column::MassFlow);
    assert!(
        flow.iter()
            .enumerate()
            .all(|(record, flow)| *flow == record as f64)
    );
    let line = |record: usize| 2 + record + record.div_ceil(97);
    assert!(
        part.rows
            .iter()
            .enumerate()
            .all(|(record, row)| *row as usize == line(record))
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes);
    }

    #[test]
    fn any_text_behind_a_header_is_read(body in "[-0-9.,;\"\n\r \teEa#]{0,300}", quote: bool) {
        let mut text = String::from("lon,lat,flow_kg_s,machine\n1,2,3,a\n");
        text.push_str(&body);
        if quote {
            text.push('"');
        }
        if let Ok(part) = read(text.as_bytes()) {
            for (_, values) in &part.columns {
                prop_assert_eq!(values.len(), part.rows.len());
            }
            prop_assert!(part.rows.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }

    #[test]
    fn quotes_change_nothing(cells in proptest::collection::vec("[-0-9.a ]{0,6}", 3)) {
        let plain = format!("lon,lat,flow_kg_s\n1,2,3\n{}\n", cells.join(","));
        let quoted = format!("lon,lat,flow_kg_s\n1,2,3\n\"{}\"\n", cells.join("\",\""));
        if let (Ok(plain), Ok(quoted)) = (read(plain.as_bytes()), read(quoted.as_bytes()))
            && plain.rows.len() == quoted.rows.len()
        {
            for column in [Column::Lon, Column::Lat, Column::MassFlow] {
                let bits = |part| numbers(part, column).iter().map(|v| v.to_bits()).collect::<Vec<_>>();
                prop_assert_eq!(bits(&plain), bits(&quoted));
            }
        }
    }
}
