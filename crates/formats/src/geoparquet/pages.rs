//! The pages of a column, looked at before they are unpacked: each says how large it becomes, and a few
//! bytes may say gigabytes. What all of them say is counted against what the file may hold, and pages
//! packed with gzip or Brotli, which the decoder unpacks without end, are unpacked once beforehand.

use std::io::{self, Read};
use std::sync::atomic::{AtomicU64, Ordering};

use parquet::basic::Compression;
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::reader::ChunkReader;

/// What a file may still unpack to.
#[derive(Debug)]
pub(super) struct Budget {
    bytes: AtomicU64,
    /// How many values one column of a row group may have.
    values: u64,
}

impl Budget {
    /// `bytes` of unpacked pages, and `values` in each column of a row group.
    pub(super) fn new(bytes: u64, values: u64) -> Budget {
        Budget {
            bytes: AtomicU64::new(bytes),
            values,
        }
    }

    /// Takes `bytes` off.
    ///
    /// # Errors
    /// When so much is not left.
    pub(super) fn take(&self, bytes: u64) -> Result<()> {
        let less = |left: u64| left.checked_sub(bytes);
        self.bytes
            .fetch_update(Ordering::Relaxed, Ordering::Relaxed, less)
            .map(|_| ())
            .map_err(|_| {
                ParquetError::General("its values unpack to more than any log holds".to_owned())
            })
    }
}

/// Walks over the pages of `column` in `file`.
///
/// # Errors
/// When they are more than `budget` has left, or are not what they say.
pub(super) fn check(
    file: &impl ChunkReader,
    column: &ColumnChunkMetaData,
    budget: &Budget,
) -> Result<()> {
    let (start, length) = column.byte_range();
    let (mut at, end) = (start, start.saturating_add(length));
    let mut values = 0;
    while at < end {
        let mut read = Counted {
            read: file.get_read(at)?.take(end - at),
            count: 0,
        };
        let page = PageHeader::read(&mut read).map_err(|_| no_page())?;
        let body = at + read.count;
        let packed = u64::try_from(page.packed).map_err(|_| no_page())?;
        let unpacked = u64::try_from(page.unpacked).map_err(|_| no_page())?;
        values += u64::try_from(page.values).map_err(|_| no_page())?;
        if packed > end - body || values > budget.values {
            return Err(no_page());
        }
        budget.take(unpacked)?;
        let levels = u64::try_from(page.levels).map_err(|_| no_page())?;
        let is_endless = matches!(
            column.compression(),
            Compression::GZIP(_) | Compression::BROTLI(_)
        );
        if is_endless && page.is_packed && unpacked > levels {
            let bytes = file.get_bytes(body, packed as usize)?;
            let bytes = bytes.get(levels as usize..).ok_or_else(no_page)?;
            let wanted = unpacked - levels;
            let found = match column.compression() {
                Compression::GZIP(_) => measure(flate2::read::MultiGzDecoder::new(bytes), wanted),
                _ => measure(brotli::Decompressor::new(bytes, BUFFER), wanted),
            };
            if found.ok() != Some(wanted) {
                return Err(no_page());
            }
        }
        at = body + packed;
    }
    Ok(())
}

const BUFFER: usize = 64 << 10;

/// How many bytes `unpacked` has, at most one more than `wanted`.
fn measure(unpacked: impl Read, wanted: u64) -> io::Result<u64> {
    io::copy(&mut unpacked.take(wanted + 1), &mut io::sink())
}

fn no_page() -> ParquetError {
    ParquetError::General("a page is not what it says".to_owned())
}

/// What is asked of the header of a page (Apache Parquet format 2.11, `PageHeader` in parquet.thrift).
#[derive(Debug, Default, PartialEq)]
struct PageHeader {
    unpacked: i64,
    packed: i64,
    /// Values of a page of data.
    values: i64,
    /// Bytes before the packed part.
    levels: i64,
    is_packed: bool,
}

/// Structures within structures: a page header has three.
const DEEPEST: u32 = 8;

impl PageHeader {
    fn read(from: &mut impl Read) -> io::Result<PageHeader> {
        /// `DataPageHeader` and `DataPageHeaderV2`.
        const DATA: [i64; 2] = [5, 8];
        let mut page = PageHeader {
            is_packed: true,
            ..PageHeader::default()
        };
        each_field(from, &mut |from, field, kind| {
            match (field, kind) {
                (2, I32) => page.unpacked = signed(from)?,
                (3, I32) => page.packed = signed(from)?,
                (_, STRUCT) if DATA.contains(&field) => {
                    each_field(from, &mut |from, inner, kind| {
                        match (field, inner, kind) {
                            (_, 1, I32) => page.values = signed(from)?,
                            (8, 5 | 6, I32) => page.levels += signed(from)?,
                            (8, 7, TRUE | FALSE) => page.is_packed = kind == TRUE,
                            _ => skip(from, kind, DEEPEST)?,
                        }
                        Ok(())
                    })?;
                }
                _ => skip(from, kind, DEEPEST)?,
            }
            Ok(())
        })?;
        Ok(page)
    }
}

// Types of Thrift's compact protocol (thrift/doc/specs/thrift-compact-protocol.md).
const TRUE: u8 = 1;
const FALSE: u8 = 2;
const BYTE: u8 = 3;
const I16: u8 = 4;
const I32: u8 = 5;
const I64: u8 = 6;
const DOUBLE: u8 = 7;
const BINARY: u8 = 8;
const LIST: u8 = 9;
const SET: u8 = 10;
const STRUCT: u8 = 12;

/// Calls `read` for each field of a structure, with its number and type.
fn each_field<R: Read>(
    from: &mut R,
    read: &mut dyn FnMut(&mut R, i64, u8) -> io::Result<()>,
) -> io::Result<()> {
    let mut field = 0;
    loop {
        let head = byte(from)?;
        if head == 0 {
            return Ok(());
        }
        field = match head >> 4 {
            0 => signed(from)?,
            further => field + i64::from(further),
        };
        read(from, field, head & 0x0f)?;
    }
}

fn skip<R: Read>(from: &mut R, kind: u8, depth: u32) -> io::Result<()> {
    if depth == 0 {
        return Err(io::ErrorKind::InvalidData.into());
    }
    match kind {
        TRUE | FALSE => Ok(()),
        BYTE => byte(from).map(|_| ()),
        I16 | I32 | I64 => unsigned(from).map(|_| ()),
        DOUBLE => skip_bytes(from, 8),
        BINARY => {
            let length = unsigned(from)?;
            skip_bytes(from, length)
        }
        LIST | SET => {
            let head = byte(from)?;
            let count = match head >> 4 {
                15 => unsigned(from)?,
                few => u64::from(few),
            };
            let kind = match head & 0x0f {
                // A truth value in a list takes a byte.
                TRUE | FALSE => BYTE,
                kind => kind,
            };
            (0..count).try_for_each(|_| skip(from, kind, depth - 1))
        }
        STRUCT => each_field(from, &mut |from, _, kind| skip(from, kind, depth - 1)),
        _ => Err(io::ErrorKind::InvalidData.into()),
    }
}

fn skip_bytes(from: &mut impl Read, count: u64) -> io::Result<()> {
    match io::copy(&mut from.take(count), &mut io::sink())? {
        read if read == count => Ok(()),
        _ => Err(io::ErrorKind::UnexpectedEof.into()),
    }
}

fn byte(from: &mut impl Read) -> io::Result<u8> {
    let mut byte = [0];
    from.read_exact(&mut byte)?;
    Ok(byte[0])
}

/// Seven bits a byte, the lowest first.
fn unsigned(from: &mut impl Read) -> io::Result<u64> {
    let mut value = 0;
    for shift in (0..64).step_by(7) {
        let byte = byte(from)?;
        value |= u64::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            return Ok(value);
        }
    }
    Err(io::ErrorKind::InvalidData.into())
}

/// The sign is the lowest bit.
fn signed(from: &mut impl Read) -> io::Result<i64> {
    let value = unsigned(from)?;
    Ok((value >> 1) as i64 ^ -((value & 1) as i64))
}

/// Counts what was read.
struct Counted<R> {
    read: R,
    count: u64,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.read.read(into)?;
        self.count += read as u64;
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Put together by hand after the compact protocol: a page of data of version 2.
    #[test]
    fn a_header_is_understood() {
        let bytes = [
            0x15, 6, // 1: type 3
            0x15, 0xd0, 0x0f, // 2: 1000 bytes unpacked
            0x15, 200, 1,    // 3: 100 bytes packed
            0x5c, // 8: version 2
            0x15, 20, // 1: ten values
            0x45, 8, // 5: four bytes of levels
            0x15, 4,    // 6: two bytes
            0x12, // 7: not packed
            0x1c, 0x18, 2, b'a', b'b', 0, // 8: statistics with a text
            0, 0,
        ];
        let mut read = Counted {
            read: &bytes[..],
            count: 0,
        };
        let page = PageHeader::read(&mut read).unwrap();
        assert_eq!(read.count, bytes.len() as u64);
        let expected = PageHeader {
            unpacked: 1000,
            packed: 100,
            values: 10,
            levels: 6,
            is_packed: false,
        };
        assert_eq!(page, expected);
        for end in 0..bytes.len() {
            assert!(PageHeader::read(&mut &bytes[..end]).is_err());
        }
        // Structures without end.
        assert!(PageHeader::read(&mut io::repeat(0x1c)).is_err());
    }
}
