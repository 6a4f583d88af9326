//! Has a page set by Typst and exported as PDF. Everything that Typst may read is in memory: its template, the page
//! as JSON, the pictures and the fonts.

use crate::PrintError;
use crate::page::Page;
use checkstrip_drawing::FONTS;
use checkstrip_model::units::Paper;
use serde::Serialize;
use std::collections::HashMap;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::PdfOptions;

/// Letters and signs that the fonts of maps do without: Greek, Cyrillic, infinity.
const FURTHER_FONTS: [&[u8]; 2] = [
    include_bytes!("../fonts/DejaVuSansCondensed-Greek-Cyrillic.ttf"),
    include_bytes!("../fonts/DejaVuSansCondensed-Bold-Greek-Cyrillic.ttf"),
];

const TEMPLATE: &str = include_str!("../templates/report.typ");

/// What the template reads.
#[derive(Serialize)]
struct Sheet<'a> {
    paper: &'static str,
    #[serde(flatten)]
    page: &'a Page,
}

/// The page as PDF.
pub(crate) fn pdf(page: Page, paper: Paper) -> Result<Vec<u8>, PrintError> {
    let sheet = Sheet {
        paper: match paper {
            Paper::Letter => "us-letter",
            Paper::A4 => "a4",
        },
        page: &page,
    };
    let json = serde_json::to_vec(&sheet)?;
    let mut files = HashMap::new();
    files.insert(file("page.json")?, Bytes::new(json));
    for (name, bytes) in page.pictures {
        files.insert(file(&name)?, Bytes::new(bytes));
    }
    let fonts: Vec<Font> = FONTS
        .iter()
        .chain(&FURTHER_FONTS)
        .filter_map(|font| Font::new(Bytes::new(*font), 0))
        .collect();
    let desk = Desk {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
        template: Source::new(file("report.typ")?, TEMPLATE.to_owned()),
        files,
    };
    let set = typst::compile::<PagedDocument>(&desk).output;
    let options = PdfOptions {
        creator: Smart::Custom(Some("checkstrip".to_owned())),
        ..PdfOptions::default()
    };
    let made = set.and_then(|document| typst_pdf::pdf(&document, &options));
    // What Typst remembers for a next version of this document would only grow over a season of fields.
    typst::comemo::evict(0);
    made.map_err(|faults| PrintError::Typesetting(in_words(&faults)))
}

/// Everything that Typst may read.
struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    template: Source,
    files: HashMap<FileId, Bytes>,
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() {
            Ok(self.template.clone())
        } else {
            Err(missing(id))
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| missing(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn file(name: &str) -> Result<FileId, PrintError> {
    let path = VirtualPath::new(name)
        .map_err(|fault| PrintError::Typesetting(format!("the file name {name}: {fault}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

fn missing(id: FileId) -> FileError {
    FileError::NotFound(id.vpath().get_without_slash().into())
}

fn in_words(faults: &[SourceDiagnostic]) -> String {
    let faults: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
    faults.join("; ")
}
