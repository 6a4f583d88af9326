//! Files made to fill the memory, and pages that lie.

use std::io::Write;
use std::sync::Arc;

use bytes::Bytes;
use flate2::{Compression as Effort, GzBuilder};
use parquet::basic::{Compression, GzipLevel, Repetition, Type as PhysicalType};
use parquet::data_type::DoubleType;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;

use super::*;

/// One column `lon` of numbers that cannot be packed, in one page packed with gzip.
fn packed() -> Vec<u8> {
    let number = Type::primitive_type_builder("lon", PhysicalType::DOUBLE)
        .with_repetition(Repetition::REQUIRED)
        .build()
        .unwrap();
    let schema = Type::group_type_builder("schema")
        .with_fields(vec![Arc::new(number)])
        .build()
        .unwrap();
    let properties = WriterProperties::builder()
        .set_compression(Compression::GZIP(GzipLevel::default()))
        .set_dictionary_enabled(false)
        .set_statistics_enabled(EnabledStatistics::None)
        .build();
    let mut bytes = Vec::new();
    let mut file =
        SerializedFileWriter::new(&mut bytes, Arc::new(schema), Arc::new(properties)).unwrap();
    let mut group = file.next_row_group().unwrap();
    let mut column = group.next_column().unwrap().unwrap();
    let mut state = 1_u64;
    let values: Vec<f64> = (0..10_000)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            f64::from_bits(state >> 2)
        })
        .collect();
    column
        .typed::<DoubleType>()
        .write_batch(&values, None, None)
        .unwrap();
    column.close().unwrap();
    group.close().unwrap();
    file.close().unwrap();
    bytes
}

#[test]
fn a_page_that_unpacks_to_more_than_it_says_is_refused() {
    let mut bytes = packed();
    assert_eq!(read("a", bytes.clone()).unwrap().records(), 10_000);
    let start = bytes
        .windows(3)
        .position(|three| three == [0x1f, 0x8b, 8])
        .unwrap();
    let reader = SerializedFileReader::new(Bytes::from(bytes.clone())).unwrap();
    let (first, length) = reader.metadata().row_group(0).column(0).byte_range();
    let packed_length = (first + length) as usize - start;
    // 60 MB of zeros, as long as the page they replace.
    let bomb = |name: usize| {
        let builder = GzBuilder::new().filename(vec![b'x'; name]);
        let mut packer = builder.write(Vec::new(), Effort::best());
        packer.write_all(&vec![0; 60 << 20]).unwrap();
        packer.finish().unwrap()
    };
    let short = bomb(1).len();
    assert!(short < packed_length);
    bytes[start..start + packed_length].copy_from_slice(&bomb(packed_length - short + 1));
    let error = read("a", bytes).unwrap_err();
    assert!(
        error.message.contains("a page is not what it says"),
        "{error}"
    );
}

#[test]
fn a_file_that_breaks_off_is_refused_at_every_length() {
    let bytes = packed();
    for length in (0..bytes.len()).step_by(997) {
        assert!(read("a", bytes[..length].to_vec()).is_err());
    }
}
