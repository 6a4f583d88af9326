//! Reads one log and prints how many seconds that took, with how many records: what
//! `scripts/measure_readers.py` runs beside other readers.
//!
//! ```text
//! RAYON_NUM_THREADS=2 cargo run --release -p checkstrip-formats --example read_log_once -- log.csv
//! ```

#![allow(clippy::print_stdout)]

use std::error::Error;
use std::path::PathBuf;
use std::time::Instant;

use checkstrip_formats::{ReadOptions, read_log};

fn main() -> Result<(), Box<dyn Error>> {
    let path = PathBuf::from(std::env::args_os().nth(1).ok_or("name a log to read")?);
    let began = Instant::now();
    let log = read_log(&[path], &ReadOptions::default())?;
    let seconds = began.elapsed().as_secs_f64();
    println!("{seconds:.4} {}", log.len());
    Ok(())
}
