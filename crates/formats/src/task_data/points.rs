//! The points of a line string (LSG): in the document itself, or since version 4 in a binary file
//! `PNTnnnnn.BIN`, where the element says which attributes stand in every record of it.
//!
//! # Source
//! ISO 11783-10:2015, annex D (PNT) and its clause on binary point files: little-endian; type one byte, north and
//! east eight bytes in 1e-16 degrees, up four bytes in mm, colour one byte, accuracies two bytes in mm each, in this
//! order (from memory; a public reader in Java, written by others, has the same layout).

use checkstrip_model::Problem;

use super::TaskSet;
use super::element::Element;

/// One point of a line string.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LinePoint {
    /// PointType: 6 is A and 7 is B of a guidance line.
    pub(crate) kind: Option<u8>,
    /// Longitude and latitude, degrees.
    pub(crate) position: [f64; 2],
}

/// Points in one file.
const MOST_POINTS: usize = 1_000_000;

impl TaskSet {
    /// The points of an LSG element.
    ///
    /// # Errors
    /// When one has no position, or a file of points is gone, cut off or of no known layout.
    pub(super) fn points(&self, line: &Element) -> Result<Vec<LinePoint>, Problem> {
        let file = self.files.given.as_str();
        let mut points = Vec::new();
        for point in line.each("PNT") {
            if let Some(name) = point.text("J") {
                let read = in_file(point, self.binary_file(point, "J")?).map_err(|what| {
                    Problem::new(file, format!("{name}.BIN: {what}"))
                        .hint("export the task data again, with all its files")
                })?;
                points.extend(read);
                continue;
            }
            let (Some(lat), Some(lon)) = (point.number::<f64>("C"), point.number::<f64>("D"))
            else {
                return Err(Problem::new(file, "a point (PNT) without north or east")
                    .hint("the file was edited or is damaged: export it again"));
            };
            points.push(LinePoint {
                kind: point.number("A"),
                position: [lon, lat],
            });
        }
        Ok(points)
    }
}

/// What every record of a file of points has, or the element says for all of them.
enum Attribute<T> {
    /// `None`: not given.
    Fixed(Option<T>),
    InRecord,
}

impl<T: std::str::FromStr> Attribute<T> {
    fn new(point: &Element, key: &str) -> Attribute<T> {
        match point.attribute(key) {
            Some("") => Attribute::InRecord,
            _ => Attribute::Fixed(point.number(key)),
        }
    }
}

/// The points of the file `bytes` that `point` describes; `Err` says why there are none.
fn in_file(point: &Element, bytes: &[u8]) -> Result<Vec<LinePoint>, String> {
    /// What one step is, degrees.
    const STEP: f64 = 1e16;
    let kind = Attribute::<u8>::new(point, "A");
    let [north, east] = ["C", "D"].map(|key| Attribute::<f64>::new(point, key));
    let length_of = |key: &str, bytes: usize| match point.attribute(key) {
        Some("") => bytes,
        _ => 0,
    };
    let behind: usize = [("E", 4), ("F", 1), ("H", 2), ("I", 2)]
        .iter()
        .map(|&(key, bytes)| length_of(key, bytes))
        .sum();
    let length = length_of("A", 1) + length_of("C", 8) + length_of("D", 8) + behind;
    if length_of("C", 8) + length_of("D", 8) == 0 {
        return Err("its element names no position that stands in it".to_owned());
    }
    if !bytes.len().is_multiple_of(length) {
        return Err(format!(
            "expected whole points of {length} bytes, found {} bytes: it was cut off or is damaged",
            bytes.len()
        ));
    }
    let count = bytes.len() / length;
    if count == 0 || count > MOST_POINTS {
        return Err(format!("expected 1 to {MOST_POINTS} points, found {count}"));
    }
    let mut points = Vec::with_capacity(count);
    for record in bytes.chunks_exact(length) {
        let mut rest = record;
        let kind = match kind {
            Attribute::Fixed(kind) => kind,
            Attribute::InRecord => {
                let (number, behind) = rest.split_at(1);
                rest = behind;
                Some(number[0])
            }
        };
        let mut degrees = |attribute: &Attribute<f64>| match attribute {
            Attribute::Fixed(degrees) => *degrees,
            Attribute::InRecord => {
                let (number, behind) = rest.split_first_chunk::<8>()?;
                rest = behind;
                Some(i64::from_le_bytes(*number) as f64 / STEP)
            }
        };
        let (Some(lat), Some(lon)) = (degrees(&north), degrees(&east)) else {
            return Err("its points have no north or no east".to_owned());
        };
        points.push(LinePoint {
            kind,
            position: [lon, lat],
        });
    }
    Ok(points)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(attributes: &str) -> Element {
        let xml = format!("<PNT {attributes}/>");
        super::super::element::parse("set", "a", xml.as_bytes()).unwrap()
    }

    fn record(kind: u8, north: i64, east: i64, behind: &[u8]) -> Vec<u8> {
        let mut bytes = vec![kind];
        bytes.extend(north.to_le_bytes());
        bytes.extend(east.to_le_bytes());
        bytes.extend(behind);
        bytes
    }

    #[test]
    fn records_have_what_their_element_leaves_empty() {
        let whole = point(r#"A="" C="" D="" E="" F="" H="" I="" J="PNT00001""#);
        let behind = [0; 9];
        let bytes = [
            record(
                6,
                430_000_000_000_000_000,
                -930_000_000_000_000_000,
                &behind,
            ),
            record(
                7,
                430_100_000_000_000_000,
                -930_000_000_000_000_000,
                &behind,
            ),
        ]
        .concat();
        let points = in_file(&whole, &bytes).unwrap();
        assert_eq!(points[0].position, [-93.0, 43.0]);
        assert_eq!((points[1].kind, points[1].position[1]), (Some(7), 43.01));
        let narrow = point(r#"A="2" C="" D="-93.5" J="PNT00001""#);
        let points = in_file(&narrow, &430_000_000_000_000_000_i64.to_le_bytes()).unwrap();
        assert_eq!(
            (points[0].kind, points[0].position),
            (Some(2), [-93.5, 43.0])
        );
    }

    #[test]
    fn files_that_are_none_are_refused() {
        let usual = point(r#"A="" C="" D="" J="PNT00001""#);
        let bytes = record(2, 0, 0, &[]);
        assert!(
            in_file(&usual, &bytes[..16])
                .unwrap_err()
                .contains("cut off")
        );
        assert!(in_file(&usual, b"").unwrap_err().contains("found 0"));
        let nowhere = point(r#"A="2" C="43" D="-93" J="PNT00001""#);
        assert!(
            in_file(&nowhere, &bytes)
                .unwrap_err()
                .contains("no position")
        );
        let half = point(r#"A="2" C="" J="PNT00001""#);
        assert!(in_file(&half, &[0; 8]).unwrap_err().contains("no east"));
    }
}
