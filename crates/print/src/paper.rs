//! Sizes of paper.

/// The paper a report is set for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 8.5 by 11 inches (ANSI/ASME Y14.1).
    #[default]
    Letter,
    /// 210 by 297 mm (ISO 216).
    A4,
}

impl Paper {
    /// Its name where the page is set.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Paper::Letter => "us-letter",
            Paper::A4 => "a4",
        }
    }
}
