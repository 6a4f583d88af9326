//! What `checkstrip planting` takes.

use super::above_0;
use checkstrip_planting::KnownRhythm;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct PlantingArguments {
    /// Planting logs of one field; patterns such as 'planting/*.csv' are understood.
    #[arg(required = true, value_name = "LOG")]
    pub(crate) logs: Vec<String>,
    /// Name of the field [the first file's when absent].
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
    /// Which column holds what, when its header does not say: seed_rate=pop:seeds/ac. May be repeated.
    #[arg(long = "column", value_name = "KEY=HEADER[:UNIT]")]
    pub(crate) columns: Vec<String>,
    /// Distance between rows, with its unit [working width over the number of rows when absent].
    #[arg(long, value_name = "LENGTH", value_parser = above_0)]
    pub(crate) row_spacing: Option<f64>,
    /// Cells of the seed disc: a fault that repeats once a turn is then known as one cell's.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) disc_cells: Option<u32>,
    /// Something else that turns, and the ground covered in one turn: "press wheel=7.2 ft". May be
    /// repeated.
    #[arg(long, value_name = "NAME=LENGTH", value_parser = turning)]
    pub(crate) turns: Vec<KnownRhythm>,
    /// File (TOML) of any settings in docs/planting.md, such as lowest_downforce = "30 lbf"; the options
    /// above go before it.
    #[arg(long, value_name = "FILE")]
    pub(crate) settings: Option<PathBuf>,
    /// Folder for tables, maps, report and planting.json; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
}

/// `press wheel=7.2 ft`.
fn turning(text: &str) -> Result<KnownRhythm, String> {
    let expected =
        "expected a name and the ground covered in one turn, such as \"press wheel=7.2 ft\"";
    let (name, way) = text.split_once('=').ok_or(expected)?;
    let name = name.trim();
    if name.is_empty() {
        return Err(expected.to_owned());
    }
    Ok(KnownRhythm {
        name: name.to_owned(),
        period_m: above_0(way.trim())?,
    })
}
