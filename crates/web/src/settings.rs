//! Settings of cleaning between the page and a recipe.

use crate::refusal::Refusal;
use axum::http::StatusCode;
use checkstrip_cleaning::{Recipe, SETTINGS, SettingKind};
use checkstrip_job::{LiveChoice, ShownUnits};
use checkstrip_model::Crop;
use checkstrip_trial::PayoffSetup;
use serde::Deserialize;
use serde_json::{Map, Value, json};

/// What a request says beside the strips. What it leaves out is as in the trial file.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Choice {
    /// The check; null for the treatment called like one.
    #[serde(default, deserialize_with = "given")]
    check: Option<Option<String>>,
    inset_m: Option<f64>,
    settings: Option<Map<String, Value>>,
    #[serde(default, deserialize_with = "given")]
    money: Option<Option<PayoffSetup>>,
}

/// Tells null from nothing.
fn given<'de, T: Deserialize<'de>, D: serde::Deserializer<'de>>(
    deserializer: D,
) -> Result<Option<Option<T>>, D::Error> {
    Option::<T>::deserialize(deserializer).map(Some)
}

impl Choice {
    /// The choice, where it says nothing that of `usual`.
    ///
    /// # Errors
    /// When a setting is not known or makes no sense.
    pub(crate) fn over(self, usual: LiveChoice) -> Result<LiveChoice, Refusal> {
        let inset_m = self.inset_m.unwrap_or(usual.inset_m);
        if !(0.0..1000.0).contains(&inset_m) {
            return Err(Refusal::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                format!("the inset is {inset_m} m, expected 0 or more"),
            )
            .hint("give a length such as 10 ft"));
        }
        let named = |name: String| Some(name).filter(|name| !name.trim().is_empty());
        Ok(LiveChoice {
            check: match self.check {
                Some(check) => check.and_then(named),
                None => usual.check,
            },
            inset_m,
            recipe: match &self.settings {
                Some(settings) => recipe(settings, &usual.recipe)?,
                None => usual.recipe,
            },
            money: self.money.unwrap_or(usual.money),
        })
    }
}

/// The recipe that `settings` are, keys that are missing as in `usual`; null leaves a value to the log or
/// the crop.
fn recipe(settings: &Map<String, Value>, usual: &Recipe) -> Result<Recipe, Refusal> {
    let mut written = match serde_json::to_value(usual) {
        Ok(Value::Object(written)) => written,
        _ => Map::new(),
    };
    for (key, value) in settings {
        match value {
            Value::Null => {
                written.remove(key);
            }
            value => {
                written.insert(key.clone(), value.clone());
            }
        }
    }
    let recipe: Recipe = serde_json::from_value(Value::Object(written)).map_err(|error| {
        Refusal::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            format!("the cleaning settings cannot be used: {error}"),
        )
    })?;
    recipe.check().map_err(|error| Refusal::said(&error))?;
    Ok(recipe)
}

/// Every setting with its value in `recipe`, as the page shows them.
pub(crate) fn shown(recipe: &Recipe, crop: &Crop) -> Vec<Value> {
    let usual = Recipe::default();
    let of_crop = |key: &str| match key {
        "highest_yield_kg_ha" => Some(crop.highest_yield_kg_ha),
        "lowest_moisture_pct" => Some(crop.lowest_moisture_pct),
        "highest_moisture_pct" => Some(crop.highest_moisture_pct),
        _ => None,
    };
    // The page's fields hold numbers; a switch stays as the trial file has it.
    SETTINGS
        .iter()
        .filter(|setting| setting.kind != SettingKind::AutoOrOff)
        .map(|setting| {
            let units = ShownUnits::of(setting.quantity, crop.bushel_kg);
            let (farm, si) = match setting.quantity {
                Some(_) => (units.farm, units.si),
                None => ((setting.unit, 1.0), (setting.unit, 1.0)),
            };
            json!({
                "key": setting.key,
                "title": setting.title,
                "help": setting.help,
                "kind": match setting.kind {
                    SettingKind::Number | SettingKind::AutoOrOff => "number",
                    SettingKind::SecondsOrAuto => "seconds_or_auto",
                    SettingKind::NumberOrCrop => "number_or_crop",
                },
                "unit": setting.unit,
                "unit_farm": farm.0, "factor_farm": farm.1,
                "unit_si": si.0, "factor_si": si.1,
                "value": setting.value(recipe),
                "default": setting.value(&usual),
                "crop_value": of_crop(setting.key),
                "low": setting.low,
                "high": setting.high,
            })
        })
        .collect()
}
