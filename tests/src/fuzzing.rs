//! One entrance for bytes of any origin into every reader: the targets of `tests/fuzz` call it under a
//! coverage-guided fuzzer, `fuzzed_readers` feeds it the corpus and random damage on stable Rust. Whatever the
//! bytes are, a reader uses them or refuses them; it never panics.

use std::path::{Path, PathBuf};

use checkstrip_formats::{
    ConvertOptions, PlanOptions, ReadOptions, StripOptions, convert, format_in_words,
    read_boundary, read_line, read_log, read_plan, read_polygon_contents, read_strips, read_zones,
};

/// What stands between the files of a case that needs several, as Shapefiles do.
pub const PART: &[u8] = b"\n==== next file ====\n";

/// A reader, fed with the content of its files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reader {
    /// Its name: that of the fuzz target and of the folder of its corpus.
    pub name: &'static str,
    /// The files it reads, one part of a case each; the first is given to it.
    files: &'static [&'static str],
}

/// Every reader.
pub const READERS: &[Reader] = &[
    Reader {
        name: "delimited_text",
        files: &["case.csv"],
    },
    Reader {
        name: "geojson",
        files: &["case.geojson"],
    },
    Reader {
        name: "geojson_sequence",
        files: &["case.geojsons"],
    },
    Reader {
        name: "shapefile",
        files: &["case.shp", "case.dbf", "case.shx", "case.prj", "case.cpg"],
    },
    Reader {
        name: "zip_archive",
        files: &["case.zip"],
    },
    Reader {
        name: "gzip",
        files: &["case.csv.gz"],
    },
    Reader {
        name: "geopackage",
        files: &["case.gpkg"],
    },
    Reader {
        name: "geoparquet",
        files: &["case.parquet"],
    },
    Reader {
        name: "flatgeobuf",
        files: &["case.fgb"],
    },
    Reader {
        name: "task_data",
        files: &[
            "TASKDATA.XML",
            "TLG00001.XML",
            "TLG00001.BIN",
            "GRD00001.BIN",
            "PNT00001.BIN",
        ],
    },
];

impl Reader {
    /// The reader called `name`.
    ///
    /// # Panics
    /// When there is none.
    pub fn called(name: &str) -> Reader {
        *READERS
            .iter()
            .find(|reader| reader.name == name)
            .unwrap_or_else(|| panic!("no reader is called {name}"))
    }

    /// Gives `case` to everything that reads files of this kind.
    ///
    /// # Panics
    /// When a reader does, or the disk is full.
    pub fn feed(self, case: &[u8]) {
        let folder = tempfile::tempdir().expect("a folder for the case");
        for (name, content) in self.files.iter().zip(parts(case)) {
            std::fs::write(folder.path().join(name), content).expect("a file of the case");
        }
        let path = folder.path().join(self.files[0]);
        let _ = format_in_words(&path);
        let _ = read_log(std::slice::from_ref(&path), &ReadOptions::default());
        let _ = read_strips(&path, &StripOptions::default());
        let _ = read_zones(&path, None);
        let _ = read_plan(&path, &PlanOptions::default());
        let _ = read_boundary(&path);
        let _ = read_line(&path);
        let _ = read_polygon_contents(&path);
        let chosen = ConvertOptions {
            bbox: Some([-100.0, 40.0, -40.0, 44.0]),
            columns: None,
        };
        for (target, options) in [
            ("out.csv", &ConvertOptions::default()),
            ("out.fgb", &chosen),
            ("TASKDATA", &ConvertOptions::default()),
        ] {
            let _ = convert(&path, &folder.path().join(target), options);
        }
    }

    /// The cases of its corpus, in order of their names.
    ///
    /// # Panics
    /// When it has none.
    pub fn corpus(self) -> Vec<(PathBuf, Vec<u8>)> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("fuzz/corpus")
            .join(self.name);
        let entries = std::fs::read_dir(&folder)
            .unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        let mut cases: Vec<(PathBuf, Vec<u8>)> = entries
            .map(|entry| {
                let path = entry.expect("an entry of the corpus").path();
                let bytes = std::fs::read(&path).expect("a case of the corpus");
                (path, bytes)
            })
            .collect();
        assert!(!cases.is_empty(), "{} is empty", folder.display());
        cases.sort();
        cases
    }
}

/// The files of a case.
fn parts(case: &[u8]) -> impl Iterator<Item = &[u8]> {
    let mut rest = Some(case);
    std::iter::from_fn(move || {
        let all = rest.take()?;
        match all.windows(PART.len()).position(|window| window == PART) {
            Some(at) => {
                rest = Some(&all[at + PART.len()..]);
                Some(&all[..at])
            }
            None => Some(all),
        }
    })
}
