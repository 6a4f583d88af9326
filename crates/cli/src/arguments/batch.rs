//! What `checkstrip batch` takes.

use super::WantedArguments;
use checkstrip_job::parse_memory;
use clap::Args;
use std::num::NonZeroUsize;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct BatchArguments {
    /// Season file: its name and its trials; see docs/season.md.
    #[arg(value_name = "SEASON.toml")]
    pub(crate) season: PathBuf,
    /// Folder for the results, one folder in it for each field; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Fields done at once [one for each processor when absent].
    #[arg(long, value_name = "COUNT")]
    pub(crate) at_once: Option<NonZeroUsize>,
    /// Memory that the fields done at once may take together, such as "4 GB"; fewer are then done at once
    /// [no limit when absent].
    #[arg(long, value_name = "AMOUNT", value_parser = parse_memory)]
    pub(crate) memory: Option<u64>,
    /// Go on looking for logs and trials that are copied in, until stopped.
    #[arg(long)]
    pub(crate) watch: bool,
    #[command(flatten)]
    pub(crate) wanted: WantedArguments,
}
