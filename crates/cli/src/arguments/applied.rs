//! What `checkstrip applied` takes.

use super::MachineLogArguments;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct AppliedArguments {
    #[command(flatten)]
    pub(crate) machine: MachineLogArguments,
    /// Folder for map, areas, strips and applied.json; made when absent.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// The plan: a file of polygons with a treatment, product or rate each [the rates that the log says were asked for].
    #[arg(long, value_name = "FILE")]
    pub(crate) plan: Option<PathBuf>,
    /// Attribute of the plan that names treatment or product [treatment, or one called like a product, when absent].
    #[arg(long, value_name = "NAME", requires = "plan")]
    pub(crate) treatment_column: Option<String>,
    /// Attribute of the plan that holds the rate, and its unit where the name does not say it: rate:lb/ac.
    #[arg(long, value_name = "NAME[:UNIT]", requires = "plan")]
    pub(crate) rate_column: Option<String>,
    /// What the log calls a treatment of the plan; without a product: nothing was to be put on. May be repeated.
    #[arg(long = "product", value_name = "TREATMENT=PRODUCT", requires = "plan")]
    pub(crate) products: Vec<String>,
    /// How far a rate may be off and still counts as asked [10 %].
    #[arg(long, value_name = "PERCENT", value_parser = tolerance)]
    pub(crate) tolerance: Option<f64>,
    /// Name of the field on the map [the first file's when absent].
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<String>,
}

/// `10 %` as a share.
fn tolerance(text: &str) -> Result<f64, String> {
    let number = text.trim().trim_end_matches('%').trim_end();
    match number.parse::<f64>() {
        Ok(percent) if percent > 0.0 && percent < 100.0 => Ok(percent / 100.0),
        _ => Err(format!(
            "{text:?} is no tolerance, expected percent above 0 and under 100, such as \"10 %\""
        )),
    }
}
