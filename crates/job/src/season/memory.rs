//! How much memory a field is expected to take, and a gate that lets fields begin only while there is room.

use super::fields::Field;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// What a field takes besides its log: strips, maps, the report and the typesetting of it. The program's own
/// share, which fields done at once have in common, is in that of each.
const BASE_BYTES: u64 = 150_000_000;

/// Memory for each byte of a log, by the ending of its file. Measured on invented harvests of 20,000 and
/// 160,000 records: at most 0.7 kB a record whatever the format, so that the factor says how tightly a format
/// packs; rounded up.
fn bytes_for_each(path: &std::path::Path) -> u64 {
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    match ending.to_lowercase().as_str() {
        "zip" | "gz" => 40,
        "parquet" | "geoparquet" => 20,
        "bin" => 20,
        "json" | "geojson" | "geojsons" | "geojsonl" | "ndjson" | "fgb" => 4,
        _ => 8,
    }
}

/// Memory that a field is expected to take, bytes.
pub(super) fn expected(field: &Field) -> u64 {
    let of_files = field.inputs.iter();
    let logs: u64 = of_files
        .map(|input| input.bytes.saturating_mul(bytes_for_each(&input.path)))
        .fold(0, u64::saturating_add);
    logs.saturating_add(BASE_BYTES)
}

/// Lets fields begin while what they are expected to take stays within the limit; one that takes more than
/// that by itself begins when no other is running.
pub(super) struct MemoryGate {
    limit: Option<u64>,
    taken: Mutex<u64>,
    freed: Condvar,
}

/// The memory of a field that runs; given back when it is dropped.
pub(super) struct Room<'a> {
    gate: &'a MemoryGate,
    bytes: u64,
}

impl MemoryGate {
    pub(super) fn new(limit: Option<u64>) -> MemoryGate {
        MemoryGate {
            limit,
            taken: Mutex::new(0),
            freed: Condvar::new(),
        }
    }

    /// How many fields are done at once at the most when none is expected to take less than `least` bytes. More
    /// threads would not only wait: each keeps some of what its last field took.
    pub(super) fn most_at_once(&self, least: u64) -> usize {
        self.limit.map_or(usize::MAX, |limit| {
            usize::try_from(limit / least.max(1)).map_or(usize::MAX, |fit| fit.max(1))
        })
    }

    fn taken(&self) -> MutexGuard<'_, u64> {
        self.taken.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits until there is room.
    pub(super) fn room(&self, bytes: u64) -> Room<'_> {
        let mut taken = self.taken();
        while let Some(limit) = self.limit
            && *taken > 0
            && taken.saturating_add(bytes) > limit
        {
            taken = self
                .freed
                .wait(taken)
                .unwrap_or_else(PoisonError::into_inner);
        }
        *taken += bytes;
        Room { gate: self, bytes }
    }
}

impl Drop for Room<'_> {
    fn drop(&mut self) {
        *self.gate.taken() -= self.bytes;
        self.gate.freed.notify_all();
    }
}

/// An amount of memory such as `"4 GB"` or `"800 MB"`, in bytes; a kilobyte has 1,000.
///
/// # Errors
/// A sentence saying what was expected and what was found.
///
/// ```
/// use checkstrip_job::parse_memory;
/// assert_eq!(parse_memory("4 GB"), Ok(4_000_000_000));
/// assert_eq!(parse_memory("512 MiB"), Ok(536_870_912));
/// assert!(parse_memory("4").is_err());
/// ```
pub fn parse_memory(text: &str) -> Result<u64, String> {
    let expected = || format!("expected an amount of memory such as \"4 GB\", found {text:?}");
    let text = text.trim();
    let split = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .ok_or_else(expected)?;
    let (number, unit) = text.split_at(split);
    let number: f64 = number.parse().map_err(|_| expected())?;
    let factor = match unit.trim().to_lowercase().as_str() {
        "mb" => 1e6,
        "gb" => 1e9,
        "mib" => 1024.0 * 1024.0,
        "gib" => 1024.0 * 1024.0 * 1024.0,
        _ => return Err(expected()),
    };
    let bytes = number * factor;
    if bytes < 1.0 {
        return Err(expected());
    }
    Ok(bytes as u64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU64, Ordering};

    /// Law: what runs at once never takes more than the limit, but for one that does so by itself.
    #[test]
    fn the_gate_keeps_the_limit() {
        let gate = MemoryGate::new(Some(100));
        let (running, most) = (AtomicU64::new(0), AtomicU64::new(0));
        let sizes = [60, 30, 50, 20, 40, 70, 10, 90, 100, 5];
        std::thread::scope(|scope| {
            for bytes in sizes {
                let (gate, running, most) = (&gate, &running, &most);
                scope.spawn(move || {
                    let _room = gate.room(bytes);
                    let now = running.fetch_add(bytes, Ordering::SeqCst) + bytes;
                    most.fetch_max(now, Ordering::SeqCst);
                    std::thread::yield_now();
                    running.fetch_sub(bytes, Ordering::SeqCst);
                });
            }
        });
        assert!(most.into_inner() <= 100);
        assert_eq!(gate.most_at_once(30), 3);
        assert_eq!(gate.most_at_once(101), 1);
        assert_eq!(MemoryGate::new(None).most_at_once(30), usize::MAX);
        let alone = gate.room(1_000);
        drop(alone);
        assert_eq!(*gate.taken(), 0);
    }
}
