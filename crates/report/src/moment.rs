//! Moments in words.

/// A moment as a date when it is one (Unix time), otherwise as seconds.
pub fn moment(seconds: f64) -> String {
    /// 1 January 1990: earlier than any machine's log.
    const OLDEST: f64 = 631_152_000.0;
    match jiff::Timestamp::from_second(seconds as i64) {
        Ok(time) if seconds > OLDEST => time.strftime("%Y-%m-%d %H:%M UTC").to_string(),
        _ => format!("{seconds:.0} s"),
    }
}
