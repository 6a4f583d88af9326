//! Scale tickets: what loads of grain weighed. Their reader fills this, cleaning holds the log against it.

/// One weighed load.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ScaleTicket {
    /// Row in the file, from 1 with the header counted.
    pub row: u32,
    /// Name of the load, where the ticket has one.
    pub load: Option<String>,
    /// The machine whose grain it was, where the ticket says it; `None`: of whichever machines filled the load.
    pub machine: Option<String>,
    /// Grain as it went over the scale, kg; `NaN` where the ticket does not say it.
    pub mass_kg: f64,
    /// Its moisture, percent, where the ticket has one.
    pub moisture_pct: Option<f64>,
    /// First and last moment of the load, on the clock of the log, s.
    pub span_s: Option<[f64; 2]>,
}

/// The tickets of one file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ScaleTickets {
    /// The file as given.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Unit that masses were read in, in words.
    pub mass_unit: String,
    /// The tickets, in the order of the file.
    pub tickets: Vec<ScaleTicket>,
}
