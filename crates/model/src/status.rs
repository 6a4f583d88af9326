//! What became of a record. A record is never deleted: the first step that rejects it writes its
//! reason here, and every count in the results is a count of these.

/// Kept, or the reason a record was dropped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
#[repr(u8)]
pub enum Status {
    /// The record counts.
    #[default]
    Kept,
    /// The header was up, or the machine was not cutting.
    HeaderUp,
    /// Too soon after the machine entered the crop: the grain stream was still filling.
    PassStart,
    /// Too close to the end of a pass: the grain was not logged, or the stream was running out.
    PassEnd,
    /// Most of the ground under the header had been harvested before.
    Overlap,
    /// Standing, too slow, too fast, or an abrupt change of speed.
    Speed,
    /// No position, or a position that the machine cannot have reached.
    Position,
    /// No time, a repeated record, or a clock that makes no sense.
    Time,
    /// No yield, or one outside the limits of the crop.
    YieldLimit,
    /// Far from what its neighbours say.
    LocalOutlier,
    /// No moisture, or one outside the limits of the crop.
    Moisture,
}

impl Status {
    /// Every reason a record can be dropped for, in the order results list them.
    pub const REASONS: &[Status] = &[
        Status::HeaderUp,
        Status::PassStart,
        Status::PassEnd,
        Status::Overlap,
        Status::Speed,
        Status::Position,
        Status::Time,
        Status::YieldLimit,
        Status::LocalOutlier,
        Status::Moisture,
    ];

    /// The key in `results.json` and in the `status` column of exports.
    pub fn key(self) -> &'static str {
        match self {
            Status::Kept => "kept",
            Status::HeaderUp => "header_up",
            Status::PassStart => "pass_start",
            Status::PassEnd => "pass_end",
            Status::Overlap => "overlap",
            Status::Speed => "speed",
            Status::Position => "position",
            Status::Time => "time",
            Status::YieldLimit => "yield_limit",
            Status::LocalOutlier => "local_outlier",
            Status::Moisture => "moisture",
        }
    }

    /// The status whose [`key`](Self::key) is `key`.
    pub fn from_key(key: &str) -> Option<Status> {
        std::iter::once(&Status::Kept)
            .chain(Status::REASONS)
            .copied()
            .find(|s| s.key() == key)
    }

    /// Whether the record counts.
    pub fn is_kept(self) -> bool {
        self == Status::Kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_lead_back_to_their_status() {
        for &status in Status::REASONS.iter().chain(&[Status::Kept]) {
            assert_eq!(Status::from_key(status.key()), Some(status));
        }
        assert_eq!(Status::from_key("lost"), None);
    }
}
