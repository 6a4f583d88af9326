//! The moment of a change, as files and their names hold it.

use jiff::Timestamp;

/// A moment, UTC.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Moment {
    /// ISO 8601 to the millisecond.
    pub(crate) iso: String,
    /// ISO 8601 in its short form to the second, which every file system takes in a name.
    pub(crate) in_names: String,
}

impl Moment {
    pub(crate) fn now() -> Moment {
        Moment::of(Timestamp::now())
    }

    fn of(moment: Timestamp) -> Moment {
        Moment {
            iso: moment.strftime("%Y-%m-%dT%H:%M:%S.%3fZ").to_string(),
            in_names: moment.strftime("%Y%m%dT%H%M%SZ").to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_in_files_and_in_names() {
        let moment = Moment::of("2026-11-05T07:08:09.5Z".parse().unwrap());
        assert_eq!(moment.iso, "2026-11-05T07:08:09.500Z");
        assert_eq!(moment.in_names, "20261105T070809Z");
    }
}
