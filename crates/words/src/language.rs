//! The languages that are built in, and their files.

/// A language that is built in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// Spanish as it is used in the Americas.
    Spanish,
}

/// The parts of a language, each a file of its own.
macro_rules! parts {
    ($language:literal) => {
        [
            (
                "figures.ftl",
                include_str!(concat!("../languages/", $language, "/figures.ftl")),
            ),
            (
                "report.ftl",
                include_str!(concat!("../languages/", $language, "/report.ftl")),
            ),
            (
                "glance.ftl",
                include_str!(concat!("../languages/", $language, "/glance.ftl")),
            ),
            (
                "answer.ftl",
                include_str!(concat!("../languages/", $language, "/answer.ftl")),
            ),
            (
                "tables.ftl",
                include_str!(concat!("../languages/", $language, "/tables.ftl")),
            ),
            (
                "machines.ftl",
                include_str!(concat!("../languages/", $language, "/machines.ftl")),
            ),
            (
                "money.ftl",
                include_str!(concat!("../languages/", $language, "/money.ftl")),
            ),
            (
                "places.ftl",
                include_str!(concat!("../languages/", $language, "/places.ftl")),
            ),
            (
                "rates.ftl",
                include_str!(concat!("../languages/", $language, "/rates.ftl")),
            ),
            (
                "stand.ftl",
                include_str!(concat!("../languages/", $language, "/stand.ftl")),
            ),
            (
                "maps.ftl",
                include_str!(concat!("../languages/", $language, "/maps.ftl")),
            ),
            (
                "warnings.ftl",
                include_str!(concat!("../languages/", $language, "/warnings.ftl")),
            ),
            (
                "pooled.ftl",
                include_str!(concat!("../languages/", $language, "/pooled.ftl")),
            ),
            (
                "season.ftl",
                include_str!(concat!("../languages/", $language, "/season.ftl")),
            ),
        ]
    };
}

impl Language {
    /// Every language.
    pub const ALL: &[Language] = &[Language::English, Language::Spanish];

    /// The name on the command line and in trial files.
    pub fn key(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::Spanish => "es",
        }
    }

    /// The language whose [`key`](Self::key) is `key`.
    pub fn from_key(key: &str) -> Option<Language> {
        Language::ALL.iter().copied().find(|l| l.key() == key)
    }

    /// Its files: name and content.
    pub(crate) fn files(self) -> [(&'static str, &'static str); 14] {
        match self {
            Language::English => parts!("en"),
            Language::Spanish => parts!("es"),
        }
    }

    /// All its words in one file: where a reader's own file starts from.
    pub fn whole_file(self) -> String {
        self.files()
            .map(|(_, content)| content.trim_end())
            .join("\n\n")
            + "\n"
    }
}
