//! A trial file for `compare`, with everything that is known when strips are planned filled in.

use super::record::Plan;
use checkstrip_model::units::M_PER_FOOT;

/// The text of `trial.toml` beside the strips.
pub(super) fn trial_stub(plan: &Plan) -> String {
    let treated = plan
        .parameters
        .treatments
        .iter()
        .filter(|name| **name != plan.parameters.check);
    let payoff: String = treated
        .map(|name| {
            format!(
                "# [payoff.treatments.{}]\n# rent_per_ac = 0.00\n# fuel_gal_per_h = 0.0\n\
                 # fuel_price_per_gal = 0.00\n# labour_per_h = 0.00\n# speed_mph = 0.0\n# width_ft = {:.0}\n",
                quoted(name),
                plan.parameters.implement_width_m / M_PER_FOOT
            )
        })
        .collect();
    format!(
        "# For after harvest: put the combine's logs into the folder harvest beside this file, then\n\
         # run `checkstrip compare trial.toml`. docs/trial-file.md explains every key.\n\
         \n\
         [field]\n\
         name = {name}\n\
         crop = {crop}\n\
         \n\
         [harvest]\n\
         logs = [\"harvest/*\"]\n\
         # Used where the log does not say how wide the header cut.\n\
         width = \"{width} m\"\n\
         \n\
         [strips]\n\
         file = \"strips.geojson\"\n\
         check = {check}\n\
         # Ground kept clear inside each strip's edge.\n\
         # inset = \"3 ft\"\n\
         \n\
         # What a bushel brings, and what the treatment costs more than the check.\n\
         # [payoff]\n\
         # price_per_bu = 0.00\n\
         {payoff}",
        name = quoted(&plan.name),
        crop = quoted(&plan.crop),
        width = (plan.parameters.header_width_m * 1e4).round() / 1e4,
        check = quoted(&plan.parameters.check),
    )
}

/// A TOML string.
fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}
