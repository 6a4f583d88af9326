//! An XML document of task data as a tree of elements, kept within limits: no document type, hence no
//! entities of its own, no deep nesting and no more elements than a machine's memory takes.

use checkstrip_model::Problem;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// A document of task data is smaller than this; logs are in binary files.
const LARGEST: usize = 64 << 20;
/// Elements in one document.
const MOST_ELEMENTS: usize = 1_000_000;
/// Elements inside each other: the standard nests eight deep.
const DEEPEST: usize = 32;
/// Attributes of one element: the standard has at most two dozen, makers add their own.
const MOST_ATTRIBUTES: usize = 100;

/// An element: its tag of three letters, attributes and what it holds.
#[derive(Debug, Clone, Default)]
pub(crate) struct Element {
    pub(crate) tag: String,
    attributes: Vec<(String, String)>,
    pub(crate) children: Vec<Element>,
}

impl Element {
    /// The attribute `name` as written; `None` when it is not there.
    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(key, _)| key == name)?;
        Some(found.1.as_str())
    }

    /// The attribute `name`, trimmed; `None` when it is empty as well.
    pub(crate) fn text(&self, name: &str) -> Option<&str> {
        let text = self.attribute(name)?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// The attribute `name` as a number.
    pub(crate) fn number<T: std::str::FromStr>(&self, name: &str) -> Option<T> {
        self.text(name)?.parse().ok()
    }

    /// The attribute `name` as the number of a data dictionary entry, four hexadecimal digits.
    pub(crate) fn data_entry(&self, name: &str) -> Option<u16> {
        u16::from_str_radix(self.text(name)?, 16).ok()
    }

    /// The elements in it with this tag.
    pub(crate) fn each<'e>(&'e self, tag: &'e str) -> impl Iterator<Item = &'e Element> {
        self.children.iter().filter(move |child| child.tag == tag)
    }
}

/// The root element of the document `name` of `file`.
///
/// # Errors
/// When it is no XML, has a document type, or is beyond the limits.
pub(crate) fn parse(file: &str, name: &str, bytes: &[u8]) -> Result<Element, Problem> {
    let refuse = |message: String, hint: &str| Problem::new(file, message).hint(hint);
    let again = "the file was cut off or edited by hand: export the task data again";
    if bytes.len() > LARGEST {
        let message = format!("{name} is larger than {} MiB", LARGEST >> 20);
        return Err(refuse(message, "export one field at a time"));
    }
    let text = decode(bytes).ok_or_else(|| {
        refuse(
            format!("{name} is not written in the encoding it names"),
            "save it as UTF-8",
        )
    })?;
    let mut reader = Reader::from_str(&text);
    let mut open: Vec<Element> = Vec::new();
    let mut root = None;
    let mut elements = 0;
    loop {
        let at = reader.buffer_position() as usize;
        let line = || {
            text.as_bytes()[..at.min(text.len())]
                .iter()
                .filter(|b| **b == b'\n')
                .count()
                + 1
        };
        let broken = |what: String| refuse(format!("{name}, line {}: {what}", line()), again);
        let event = reader
            .read_event()
            .map_err(|error| broken(error.to_string()))?;
        let done = match event {
            Event::Start(start) => {
                open.push(element(&start).map_err(broken)?);
                None
            }
            Event::Empty(start) => Some(element(&start).map_err(broken)?),
            // The reader has checked that it closes what is open.
            Event::End(_) => open.pop(),
            Event::DocType(_) => {
                return Err(refuse(
                    format!(
                        "{name}, line {}: a document type, which task data does not have",
                        line()
                    ),
                    "the file is no task data, or was made to harm: do not use it",
                ));
            }
            Event::Eof => break,
            _ => continue,
        };
        elements += usize::from(done.is_some());
        if elements > MOST_ELEMENTS || open.len() > DEEPEST {
            return Err(broken(format!(
                "more than {MOST_ELEMENTS} elements, or more than {DEEPEST} inside each other"
            )));
        }
        match (done, open.last_mut()) {
            (Some(done), Some(parent)) => parent.children.push(done),
            (Some(done), None) if root.is_none() => root = Some(done),
            (Some(_), None) => return Err(broken("a second root element".to_owned())),
            (None, _) => {}
        }
    }
    if !open.is_empty() {
        return Err(refuse(format!("{name} ends too early"), again));
    }
    root.ok_or_else(|| refuse(format!("{name} holds no element"), again))
}

fn element(start: &BytesStart<'_>) -> Result<Element, String> {
    let mut attributes = Vec::new();
    // Names given twice are no harm: the first one counts. Looking for them takes the square of their number.
    for attribute in start.attributes().with_checks(false) {
        if attributes.len() == MOST_ATTRIBUTES {
            return Err(format!(
                "an element with more than {MOST_ATTRIBUTES} attributes"
            ));
        }
        let attribute = attribute.map_err(|error| error.to_string())?;
        let value = attribute
            .normalized_value(quick_xml::XmlVersion::Explicit1_0)
            .map_err(|error| error.to_string())?;
        attributes.push((attribute.key.as_ref().to_owned(), value.into_owned()));
    }
    Ok(Element {
        tag: start.name().as_ref().to_owned(),
        attributes,
        children: Vec::new(),
    })
}

/// The text of a document: in the encoding of its mark, else of its declaration, else UTF-8.
fn decode(bytes: &[u8]) -> Option<String> {
    let encoding = match encoding_rs::Encoding::for_bom(bytes) {
        Some((encoding, _)) => encoding,
        None => {
            let start = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]);
            let named = start
                .split_once("encoding=")
                .and_then(|(_, rest)| rest.get(1..)?.split(['"', '\'']).next().map(str::to_owned));
            match named {
                Some(label) => encoding_rs::Encoding::for_label(label.as_bytes())?,
                None => encoding_rs::UTF_8,
            }
        }
    };
    let (text, _, had_errors) = encoding.decode(bytes);
    (!had_errors).then(|| text.into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn message(bytes: &[u8]) -> String {
        parse("set", "TASKDATA.XML", bytes).unwrap_err().to_string()
    }

    #[test]
    fn a_tree_with_its_attributes() {
        let root = parse("set", "a", b"<A x='1 &amp; 2'><B y=''/><B/><C/></A>").unwrap();
        assert_eq!(
            (root.tag.as_str(), root.attribute("x")),
            ("A", Some("1 & 2"))
        );
        assert_eq!(root.each("B").count(), 2);
        let first = root.each("B").next().unwrap();
        assert_eq!((first.attribute("y"), first.text("y")), (Some(""), None));
    }

    #[test]
    fn entities_and_document_types_are_refused() {
        let bomb = br#"<!DOCTYPE A [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><A x="&b;"/>"#;
        assert!(message(bomb).contains("document type"), "{}", message(bomb));
        assert!(message(b"<A x='&b;'/>").contains("line 1"));
    }

    #[test]
    fn broken_and_endless_documents_are_refused() {
        assert!(message(b"<A><B>").contains("too early"));
        assert!(message(b"<A/>\n<A/>").contains("second root"));
        assert!(message(b"<A></B>").contains("line 1"));
        assert!(message(b"").contains("no element"));
        assert!(message("<A>".repeat(40).as_bytes()).contains("inside each other"));
    }

    #[test]
    fn encodings() {
        let named = |label: &str, name: &[u8]| {
            let mut bytes = format!("<?xml version='1.0' encoding='{label}'?><A x='").into_bytes();
            bytes.extend(name);
            bytes.extend(b"'/>");
            parse("set", "a", &bytes)
        };
        assert_eq!(
            named("ISO-8859-1", b"M\xe4h").unwrap().text("x"),
            Some("Mäh")
        );
        assert!(
            named("UTF-8", b"M\xe4h")
                .unwrap_err()
                .message
                .contains("encoding")
        );
        assert!(named("klingon", b"a").is_err());
    }
}
