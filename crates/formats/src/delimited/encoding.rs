//! The characters of a text file: UTF-8 with or without its mark, UTF-16 with its mark, and
//! otherwise Latin-1 as Windows writes it.

use checkstrip_model::Problem;

/// The text of a file as UTF-8.
#[derive(Debug)]
pub(crate) struct Text {
    bytes: Vec<u8>,
    /// Where the text begins in `bytes`, behind a mark.
    start: usize,
    /// The text, when `bytes` are in another encoding.
    decoded: Option<String>,
}

impl Text {
    /// The text of `file`, whose content is `bytes`.
    ///
    /// # Errors
    /// When the bytes are no text.
    pub(crate) fn new(file: &str, bytes: Vec<u8>) -> Result<Text, Problem> {
        let mut text = Text {
            bytes,
            start: 0,
            decoded: None,
        };
        if let Some((encoding, mark)) = encoding_rs::Encoding::for_bom(&text.bytes) {
            if encoding == encoding_rs::UTF_8 {
                text.start = mark;
            } else {
                text.decoded = Some(encoding.decode(&text.bytes).0.into_owned());
            }
        }
        if memchr::memchr(0, text.as_bytes()).is_some() {
            return Err(no_text(file));
        }
        if text.decoded.is_none() && std::str::from_utf8(text.as_bytes()).is_err() {
            let (decoded, _) =
                encoding_rs::WINDOWS_1252.decode_without_bom_handling(text.as_bytes());
            text.decoded = Some(decoded.into_owned());
        }
        Ok(text)
    }

    /// The text as UTF-8, without a mark.
    pub(crate) fn as_bytes(&self) -> &[u8] {
        match &self.decoded {
            Some(decoded) => decoded.as_bytes(),
            None => &self.bytes[self.start..],
        }
    }

    /// The bytes as they stand in the file.
    pub(crate) fn file_bytes(&self) -> &[u8] {
        &self.bytes
    }
}

/// What is said of bytes that are no text.
pub(super) fn no_text(file: &str) -> Problem {
    Problem::new(file, "expected text, found bytes that are none")
        .hint("save it as UTF-8 text (CSV), not in a program's own format")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8]) -> Vec<u8> {
        Text::new("a", bytes.to_vec()).unwrap().as_bytes().to_vec()
    }

    #[test]
    fn encodings_that_exports_come_in() {
        assert_eq!(text("höhe".as_bytes()), "höhe".as_bytes());
        assert_eq!(text(b"\xef\xbb\xbflon"), b"lon");
        assert_eq!(text(b"\xff\xfel\0\xf6\0"), "lö".as_bytes());
        assert_eq!(text(b"\xfe\xff\0l\0\xf6"), "lö".as_bytes());
        assert_eq!(text(b"h\xf6he"), "höhe".as_bytes());
        assert!(Text::new("a", b"l\0o\0".to_vec()).is_err());
    }
}
