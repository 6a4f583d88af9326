//! Every reader, fed with the corpus of the fuzz targets and with damage to it: the file is used or refused,
//! and nothing panics. On stable Rust; `PROPTEST_CASES=100000` makes the run as long as one likes, and
//! `tests/fuzz` holds the same targets for a coverage-guided fuzzer.

use checkstrip_acceptance::{READERS, Reader};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestRunner};

/// Damage of one kind; places are shares of the length, so that they fit any file.
#[derive(Debug, Clone)]
enum Damage {
    Byte(f64, u8),
    /// A length or count as formats hold them, in either order of bytes.
    Length(f64, u32, bool),
    CutOff(f64),
    Delete(f64, usize),
    Repeat(f64, usize, usize),
    Insert(f64, &'static [u8]),
}

/// Words that break readers which trust their input.
const WORDS: &[&[u8]] = &[
    b"\r",
    b"\n",
    b"\r\n",
    b"\"",
    b",",
    b";",
    b"\0",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\xc3\x28",
    b"1e309",
    b"-1e-400",
    b"NaN",
    b"99999999999999999999",
    b"[[[[[[[[",
    b"{\"a\":",
    b"<!DOCTYPE a [<!ENTITY b \"c\">]>",
    b"&b;",
    b"../../etc/passwd",
    b"<TSK><TIM A=\"\"/>",
    b"<GRD A=\"90\" B=\"-180\" C=\"1e-9\" D=\"1e-9\" E=\"65535\" F=\"65535\" G=\"GRD00001\" H=\"9\" I=\"1\"/>",
];

fn damage() -> impl Strategy<Value = Damage> {
    let place = || 0.0_f64..1.0;
    let length = prop_oneof![
        Just(u32::MAX),
        Just(i32::MAX as u32),
        Just(0_u32),
        any::<u32>(),
        0_u32..256
    ];
    prop_oneof![
        (place(), any::<u8>()).prop_map(|(at, byte)| Damage::Byte(at, byte)),
        (place(), length, any::<bool>()).prop_map(|(at, n, big)| Damage::Length(at, n, big)),
        place().prop_map(Damage::CutOff),
        (place(), 1_usize..64).prop_map(|(at, n)| Damage::Delete(at, n)),
        (place(), 1_usize..64, 1_usize..40).prop_map(|(at, n, times)| Damage::Repeat(at, n, times)),
        (place(), prop::sample::select(WORDS)).prop_map(|(at, word)| Damage::Insert(at, word)),
    ]
}

fn damaged(mut case: Vec<u8>, all: &[Damage]) -> Vec<u8> {
    for damage in all {
        let place = |at: f64| (at * case.len() as f64) as usize;
        match *damage {
            _ if case.is_empty() => {}
            Damage::Byte(at, byte) => {
                let at = place(at);
                case[at] = byte;
            }
            Damage::Length(at, value, big_endian) => {
                let at = place(at).min(case.len().saturating_sub(4));
                let bytes = match big_endian {
                    true => value.to_be_bytes(),
                    false => value.to_le_bytes(),
                };
                for (old, new) in case[at..].iter_mut().zip(bytes) {
                    *old = new;
                }
            }
            Damage::CutOff(at) => {
                let at = place(at);
                case.truncate(at);
            }
            Damage::Delete(at, count) => {
                let at = place(at);
                case.drain(at..(at + count).min(case.len()));
            }
            Damage::Repeat(at, count, times) => {
                let at = place(at);
                let piece = case[at..(at + count).min(case.len())].repeat(times);
                case.splice(at..at, piece);
            }
            Damage::Insert(at, word) => {
                let at = place(at);
                case.splice(at..at, word.iter().copied());
            }
        }
    }
    case
}

/// Damaged cases of each reader, unless `PROPTEST_CASES` says how many.
const CASES: u32 = 120;

fn hold(reader: Reader) {
    let corpus = reader.corpus();
    for (_, case) in &corpus {
        reader.feed(case);
    }
    let asked = std::env::var("PROPTEST_CASES").ok();
    let mut runner = TestRunner::new(Config {
        cases: asked.and_then(|n| n.parse().ok()).unwrap_or(CASES),
        // A failing case is printed, shrunk, and belongs into the corpus.
        failure_persistence: None,
        ..Config::default()
    });
    let cases = (0..corpus.len(), prop::collection::vec(damage(), 1..6));
    let outcome = runner.run(&cases, |(which, all)| {
        reader.feed(&damaged(corpus[which].1.clone(), &all));
        Ok::<(), TestCaseError>(())
    });
    if let Err(error) = outcome {
        panic!("{}: {error}", reader.name);
    }
}

macro_rules! held {
    ($($name:ident)*) => {
        $(
            #[test]
            fn $name() {
                hold(Reader::called(stringify!($name)));
            }
        )*

        #[test]
        fn every_reader_is_held_and_has_a_fuzz_target() {
            let held = [$(stringify!($name)),*];
            let manifest = include_str!("../fuzz/Cargo.toml");
            for reader in READERS {
                assert!(held.contains(&reader.name), "{}", reader.name);
                let target = format!("name = \"{}\"", reader.name);
                assert!(manifest.contains(&target), "{}", reader.name);
            }
        }
    };
}

held! {
    delimited_text
    geojson
    geojson_sequence
    shapefile
    zip_archive
    gzip
    geopackage
    geoparquet
    flatgeobuf
    task_data
}
