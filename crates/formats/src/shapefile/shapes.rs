//! The shapes in a `.shp` file. Lengths and counts are compared with the bytes there are before the
//! shapes are decoded, so that a damaged file costs neither memory nor the program.

use std::io::Cursor;

use checkstrip_model::Problem;
use shapefile::{Shape, ShapeReader};

/// Bytes of the file header.
const HEADER: usize = 100;
/// Bytes before each record.
const RECORD_HEADER: usize = 8;

const DAMAGED: &str = "the file is damaged or was cut off: copy all files of the Shapefile again";

fn i32_at(bytes: &[u8], at: usize) -> Option<[u8; 4]> {
    bytes.get(at..at + 4)?.try_into().ok()
}

fn big(bytes: &[u8], at: usize) -> Option<i64> {
    i32_at(bytes, at).map(|four| i64::from(i32::from_be_bytes(four)))
}

fn little(bytes: &[u8], at: usize) -> Option<i64> {
    i32_at(bytes, at).map(|four| i64::from(i32::from_le_bytes(four)))
}

/// Every whole shape of `shp`, and a problem when the file breaks off.
///
/// # Errors
/// When the header is not one, or a record contradicts itself.
pub(crate) fn read(file: &str, shp: &[u8]) -> Result<(Vec<Shape>, Option<Problem>), Problem> {
    let refuse = |message: String| Problem::new(file, message).hint(DAMAGED);
    if shp.len() < HEADER || big(shp, 0) != Some(9994) {
        return Err(refuse(
            "expected a Shapefile (.shp), found another content".to_owned(),
        ));
    }
    let declared = big(shp, 24)
        .and_then(|words| usize::try_from(words * 2).ok())
        .unwrap_or(0);
    let end = declared.min(shp.len());
    let mut at = HEADER;
    let mut records = 0;
    let mut is_cut_off = declared > shp.len();
    while at < end {
        let length = big(shp, at + 4).and_then(|words| usize::try_from(words * 2).ok());
        let content = length.and_then(|length| {
            let start = at + RECORD_HEADER;
            (start + length <= end).then(|| &shp[start..start + length])
        });
        let Some(content) = content else {
            is_cut_off = true;
            break;
        };
        if !is_consistent(content) {
            let row = records + 1;
            return Err(
                refuse("the record's length and its content do not agree".into()).at_row(row),
            );
        }
        at += RECORD_HEADER + content.len();
        records += 1;
    }
    if records == 0 {
        return Err(match is_cut_off {
            true => refuse("the file breaks off before its first shape".to_owned()),
            false => Problem::new(file, "no shape in it").hint("export it again, or leave it out"),
        });
    }
    // The decoder reads up to the length in the header: it is set to the whole records there are.
    let mut whole = shp[..at].to_vec();
    whole[24..28].copy_from_slice(&((at / 2) as u32).to_be_bytes());
    let mut reader = ShapeReader::new(Cursor::new(whole.as_slice()))
        .map_err(|error| refuse(format!("the header cannot be read: {error}")))?;
    let mut shapes = Vec::with_capacity(records as usize);
    for shape in reader.iter_shapes() {
        let row = shapes.len() as u32 + 1;
        shapes.push(
            shape.map_err(|error| {
                refuse(format!("the shape cannot be read: {error}")).at_row(row)
            })?,
        );
    }
    let cut_off = is_cut_off.then(|| {
        refuse(format!(
            "the .shp breaks off; the {records} shapes before are read"
        ))
        .at_row(records)
    });
    Ok((shapes, cut_off))
}

/// Whether a record's counts of parts and points fit its length.
fn is_consistent(content: &[u8]) -> bool {
    let Some(kind) = little(content, 0) else {
        return false;
    };
    let length = content.len() as i64;
    match kind {
        0 => true,
        1 => length >= 20,
        21 => length >= 28,
        11 => length >= 28,
        3 | 5 | 13 | 15 | 23 | 25 => {
            let (Some(parts), Some(points)) = (little(content, 36), little(content, 40)) else {
                return false;
            };
            if parts < 1 || points < 1 || parts > points || length < 44 + parts * 4 + points * 16 {
                return false;
            }
            let starts: Vec<i64> = (0..parts)
                .filter_map(|part| little(content, 44 + 4 * part as usize))
                .collect();
            starts.first() == Some(&0)
                && starts.windows(2).all(|pair| pair[0] < pair[1])
                && starts.last().is_some_and(|&last| last < points)
        }
        8 | 18 | 28 => {
            little(content, 36).is_some_and(|points| points >= 0 && length >= 40 + points * 16)
        }
        // Patches of surfaces, which neither a log nor strips hold.
        31 => false,
        _ => false,
    }
}
