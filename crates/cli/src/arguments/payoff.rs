//! What `checkstrip payoff` takes.

use super::length;
use checkstrip_model::units::{M_PER_MILE, parse_speed};
use clap::{ArgGroup, Args};
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    group = ArgGroup::new("question").required(true).multiple(true).args(["trial", "price", "stand"]),
    group = ArgGroup::new("money").multiple(true).args(["trial", "price"]),
    group = ArgGroup::new("costs").multiple(true).args([
        "rent", "material", "fuel_gal_per_h", "labour_per_h", "machine_per_h",
    ]),
)]
pub(crate) struct PayoffArguments {
    /// Trial file: its payoff table and crop are used; logs and strips need not be there yet.
    #[arg(value_name = "TRIAL.toml", conflicts_with_all = ["price", "costs", "crop"])]
    pub(crate) trial: Option<PathBuf>,
    /// Crop: sets the bushel weight [soybean when absent].
    #[arg(long, value_name = "NAME")]
    pub(crate) crop: Option<String>,
    /// Price of a bushel.
    #[arg(long, value_name = "MONEY", value_parser = positive, requires = "costs")]
    pub(crate) price: Option<f64>,
    /// Rent of the implement, or a custom rate, per acre.
    #[arg(long, value_name = "MONEY", value_parser = amount, requires = "price")]
    pub(crate) rent: Option<f64>,
    /// Seed, chemical, fertiliser or other material, per acre; negative for a saving.
    #[arg(
        long,
        value_name = "MONEY",
        allow_hyphen_values = true,
        requires = "price"
    )]
    pub(crate) material: Option<f64>,
    /// Fuel burnt, gallons an hour.
    #[arg(
        long, value_name = "GALLONS", value_parser = amount,
        requires_all = ["price", "fuel_price", "speed", "width"]
    )]
    pub(crate) fuel_gal_per_h: Option<f64>,
    /// Price of a gallon of fuel.
    #[arg(long, value_name = "MONEY", value_parser = amount, requires = "fuel_gal_per_h")]
    pub(crate) fuel_price: Option<f64>,
    /// Wage, per hour.
    #[arg(
        long, value_name = "MONEY", value_parser = amount,
        requires_all = ["price", "speed", "width"]
    )]
    pub(crate) labour_per_h: Option<f64>,
    /// Tractor or machine cost, per hour.
    #[arg(
        long, value_name = "MONEY", value_parser = amount,
        requires_all = ["price", "speed", "width"]
    )]
    pub(crate) machine_per_h: Option<f64>,
    /// Working speed, such as "10 mph"; a bare number is miles an hour.
    #[arg(long, alias = "speed-mph", value_name = "SPEED", value_parser = speed_mph, requires = "price")]
    pub(crate) speed: Option<f64>,
    /// Working width of the implement, with its unit.
    #[arg(long, value_name = "LENGTH", value_parser = width, requires = "price")]
    pub(crate) width: Option<f64>,
    /// Share of the time in the field spent working [0.80 when absent].
    #[arg(long, value_name = "SHARE", value_parser = share, requires = "speed")]
    pub(crate) field_efficiency: Option<f64>,
    /// Size of the field: adds cost, hours and bushels for all of it.
    #[arg(long, value_name = "ACRES", value_parser = positive, requires = "money")]
    pub(crate) acres: Option<f64>,
    /// Plants an acre: tells what one more seed or pod on every plant is worth.
    #[arg(long, value_name = "PLANTS", value_parser = positive, requires = "seeds_per_lb")]
    pub(crate) stand: Option<f64>,
    /// Seeds of harvested grain in one pound.
    #[arg(long, value_name = "SEEDS", value_parser = positive, requires = "stand")]
    pub(crate) seeds_per_lb: Option<f64>,
    /// Seeds in one pod.
    #[arg(long, value_name = "SEEDS", value_parser = positive, default_value = "3")]
    pub(crate) seeds_per_pod: f64,
}

/// A number of 0 or more.
fn amount(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok(value),
        _ => Err("expected a number of 0 or more".into()),
    }
}

/// A number above 0; thousands may be separated by commas.
fn positive(text: &str) -> Result<f64, String> {
    match text.trim().replace(',', "").parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(value),
        _ => Err("expected a number above 0".into()),
    }
}

/// A length above 0, in metres.
fn width(text: &str) -> Result<f64, String> {
    match length(text)? {
        0.0 => Err(format!("{text:?} is not above 0")),
        metres => Ok(metres),
    }
}

/// A share of a whole that is not nothing.
fn share(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value > 0.0 && value <= 1.0 => Ok(value),
        _ => Err("expected a share above 0, at most 1, such as 0.80".into()),
    }
}

/// A speed in miles an hour.
fn speed_mph(text: &str) -> Result<f64, String> {
    let mph = match text.trim().parse::<f64>() {
        Ok(mph) => mph,
        Err(_) => parse_speed(text)? * 3600.0 / M_PER_MILE,
    };
    if mph.is_finite() && mph > 0.0 {
        Ok(mph)
    } else {
        Err(format!("{text:?} is not above 0"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_with_and_without_a_unit() {
        assert_eq!(speed_mph("10"), Ok(10.0));
        assert!((speed_mph("10 mph").unwrap() - 10.0).abs() < 1e-12);
        assert!((speed_mph("16 km/h").unwrap() - 9.942).abs() < 1e-3);
        assert!(speed_mph("0 mph").is_err() && speed_mph("10 ft").is_err());
    }

    #[test]
    fn amounts() {
        assert_eq!(positive("140,000"), Ok(140_000.0));
        assert!(share("80").is_err() && width("0 ft").is_err());
        assert!(positive("0").is_err() && amount("-1").is_err() && amount("inf").is_err());
    }
}
