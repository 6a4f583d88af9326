//! What was chosen on a page, written back into the trial file: only the keys that changed, comments and
//! everything else as they were.

use crate::error::JobError;
use crate::live::LiveChoice;
use checkstrip_formats::{FormatError, keep_earlier_version, write_bytes_atomically};
use checkstrip_model::Problem;
use checkstrip_model::units::{M_PER_FOOT, parse_length};
use serde_json::{Map, Value as Json};
use std::path::{Path, PathBuf};
use toml_edit::{DocumentMut, Item, Table, TableLike, value};

/// Writes what `now` has other than `before` into the trial file `path`. The version that is on disk is kept
/// beside it under a name with `stamp` in it, which is returned; `None` when nothing changed.
///
/// # Errors
/// When the file cannot be read or written, or is no TOML any more.
pub fn save_choice(
    path: &Path,
    before: &LiveChoice,
    now: &LiveChoice,
    stamp: &str,
) -> Result<Option<PathBuf>, JobError> {
    if before == now {
        return Ok(None);
    }
    let text = std::fs::read_to_string(path).map_err(|source| FormatError::Io {
        path: path.to_owned(),
        action: "read",
        source,
    })?;
    let edited = edited(&path.display().to_string(), &text, before, now)?;
    if edited == text {
        return Ok(None);
    }
    let kept = keep_earlier_version(path, stamp)?;
    write_bytes_atomically(path, edited.as_bytes())?;
    Ok(kept)
}

fn edited(
    file: &str,
    text: &str,
    before: &LiveChoice,
    now: &LiveChoice,
) -> Result<String, JobError> {
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| {
        Problem::new(file, error.message().to_owned())
            .hint("it was changed since it was read: put it right, then save again")
    })?;
    if before.check != now.check {
        let strips = table(file, document.as_table_mut(), "strips")?;
        set(strips, "check", now.check.as_deref().map(value));
    }
    if before.inset_m != now.inset_m {
        let strips = table(file, document.as_table_mut(), "strips")?;
        set_inset(strips, now.inset_m);
    }
    if before.recipe != now.recipe {
        let cleaning = table(file, document.as_table_mut(), "cleaning")?;
        let (before, now) = (members(&before.recipe)?, members(&now.recipe)?);
        for key in before.keys().chain(now.keys()) {
            if before.get(key) != now.get(key) {
                set(cleaning, key, now.get(key).and_then(item));
            }
        }
    }
    if before.money != now.money {
        match &now.money {
            None => {
                document.remove("payoff");
            }
            Some(money) => {
                let payoff = table(file, document.as_table_mut(), "payoff")?;
                set_money(file, payoff, &members(money)?)?;
            }
        }
    }
    Ok(document.to_string())
}

/// A structure's keys and values.
fn members(of: &impl serde::Serialize) -> Result<Map<String, Json>, JobError> {
    Ok(match serde_json::to_value(of)? {
        Json::Object(members) => members,
        _ => Map::new(),
    })
}

/// The table called `name`, made where there is none.
fn table<'a>(
    file: &str,
    parent: &'a mut dyn TableLike,
    name: &str,
) -> Result<&'a mut dyn TableLike, Problem> {
    if !parent.contains_key(name) {
        parent.insert(name, Item::Table(Table::new()));
    }
    parent
        .get_mut(name)
        .and_then(Item::as_table_like_mut)
        .ok_or_else(|| {
            Problem::new(file, format!("{name} is no table any more"))
                .hint("it was changed since it was read: put it right, then save again")
        })
}

/// Writes a value where the old one stood, so that a comment behind it stays; `None` takes the key out.
fn set(table: &mut dyn TableLike, key: &str, new: Option<Item>) {
    match (table.get_mut(key), new) {
        (_, None) => {
            table.remove(key);
        }
        (Some(Item::Value(old)), Some(Item::Value(mut new))) => {
            *new.decor_mut() = old.decor().clone();
            *old = new;
        }
        (_, Some(new)) => {
            table.insert(key, new);
        }
    }
}

/// In feet where it was written so and nothing is lost by it, else in metres.
fn set_inset(strips: &mut dyn TableLike, inset_m: f64) {
    let in_feet = strips
        .get("inset")
        .and_then(Item::as_str)
        .filter(|text| text.contains("ft"))
        .map(|_| {
            let feet = (inset_m / M_PER_FOOT * 1e6).round() / 1e6;
            format!("{feet} ft")
        })
        .filter(|text| parse_length(text) == Ok(inset_m));
    if let Some(text) = in_feet {
        return set(strips, "inset", Some(value(text)));
    }
    for other in ["inset", "inset_ft"] {
        strips.remove(other);
    }
    set(strips, "inset_m", Some(value(inset_m)));
}

/// A number or a text of JSON; `None` for anything else.
fn item(of: &Json) -> Option<Item> {
    match of {
        Json::Number(number) => number.as_f64().map(value),
        Json::String(text) => Some(value(text.as_str())),
        _ => None,
    }
}

/// The `[payoff]` table as `money` has it. Amounts of nothing are left out.
fn set_money(
    file: &str,
    payoff: &mut dyn TableLike,
    money: &Map<String, Json>,
) -> Result<(), Problem> {
    for key in ["price_per_bu", "cost_per_unit"] {
        set_amount(payoff, key, money.get(key), key == "price_per_bu");
    }
    let none = Map::new();
    let treatments = money.get("treatments").and_then(Json::as_object);
    let treatments = treatments.unwrap_or(&none);
    if treatments.is_empty() {
        payoff.remove("treatments");
        return Ok(());
    }
    let is_new = !payoff.contains_key("treatments");
    let written = table(file, payoff, "treatments")?;
    let gone: Vec<String> = written
        .iter()
        .map(|(name, _)| name.to_owned())
        .filter(|name| !treatments.contains_key(name))
        .collect();
    for name in gone {
        written.remove(&name);
    }
    for (name, costs) in treatments {
        let costs = costs.as_object().unwrap_or(&none);
        let own = table(file, written, name)?;
        for (key, amount) in costs {
            set_amount(own, key, Some(amount), false);
        }
    }
    if is_new && let Some(Item::Table(table)) = payoff.get_mut("treatments") {
        // [payoff.treatments.NAME] says all that [payoff.treatments] would.
        table.set_implicit(true);
    }
    Ok(())
}

/// Amounts that did not change keep the form they were written in.
fn set_amount(table: &mut dyn TableLike, key: &str, amount: Option<&Json>, needed: bool) {
    let amount = amount
        .and_then(Json::as_f64)
        .filter(|a| needed || *a != 0.0);
    let written = table
        .get(key)
        .and_then(|item| item.as_float().or_else(|| Some(item.as_integer()? as f64)));
    if written != amount {
        set(table, key, amount.map(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial_file::read_trial_file;
    use checkstrip_cleaning::DelaySetting;

    const TRIAL: &str = "# An invented trial.\n[field]\nname = \"x\" # its name\ncrop = \"soybean\"\n\
        [harvest]\nlogs = \"log.csv\"\n[strips]\nfile = \"strips.geojson\"\ncheck = \"check\" # untouched\n\
        inset = \"5 ft\"   # both sides\n\n[cleaning]\ngrain_delay = \"auto\"\npass_end_s = 6 # long\n\n\
        [payoff]\nprice_per_bu = 10.40\n[payoff.treatments.rolled]\nrent_per_ac = 3\nspeed_mph = 10.0\n\
        width_ft = 40.0\n";

    fn saved(change: impl Fn(&mut LiveChoice)) -> (String, LiveChoice, LiveChoice) {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("log.csv"), "lon,lat\n").unwrap();
        let path = dir.path().join("trial.toml");
        std::fs::write(&path, TRIAL).unwrap();
        let before = LiveChoice::of(&read_trial_file(&path).unwrap());
        let mut now = before.clone();
        change(&mut now);
        let kept = save_choice(&path, &before, &now, "x").unwrap();
        if let Some(kept) = kept {
            assert_eq!(std::fs::read_to_string(kept).unwrap(), TRIAL);
        }
        let read = LiveChoice::of(&read_trial_file(&path).unwrap());
        (std::fs::read_to_string(&path).unwrap(), now, read)
    }

    #[test]
    fn nothing_changed_writes_nothing() {
        assert_eq!(saved(|_| {}).0, TRIAL);
    }

    #[test]
    fn only_what_changed_is_written_and_is_read_back() {
        let (text, now, read) = saved(|choice| {
            choice.check = Some("as it was".to_owned());
            choice.inset_m = 8.0 * M_PER_FOOT;
            choice.recipe.grain_delay = DelaySetting::Given(12.5);
            choice.recipe.pass_end_s = 4.0;
            choice.recipe.highest_yield_kg_ha = Some(7000.0);
        });
        assert_eq!(now, read);
        let wanted = TRIAL
            .replace("\"check\" #", "\"as it was\" #")
            .replace("\"5 ft\"", "\"8 ft\"")
            .replace("\"auto\"", "12.5")
            .replace(
                "pass_end_s = 6 # long",
                "pass_end_s = 4.0 # long\nhighest_yield_kg_ha = 7000.0",
            );
        assert_eq!(text, wanted);
    }

    #[test]
    fn metres_where_feet_would_lose_something() {
        let (text, now, read) = saved(|choice| {
            choice.inset_m = 1.0 / 3.0;
            choice.check = None;
        });
        assert_eq!(now, read);
        assert!(text.contains("inset_m = 0.333333") && !text.contains("inset ="));
    }

    #[test]
    fn costs_are_written_treatment_by_treatment() {
        let (text, now, read) = saved(|choice| {
            let money = choice.money.as_mut().unwrap();
            let mut tilled = money.treatments["rolled"].clone();
            tilled.rent_per_ac = 4.5;
            money.treatments.insert("tilled twice".to_owned(), tilled);
            money.treatments.get_mut("rolled").unwrap().material_per_ac = -1.25;
            money.price_per_bu = 11.0;
        });
        assert_eq!(now, read);
        assert!(
            text.contains(
                "rent_per_ac = 3\nspeed_mph = 10.0\nwidth_ft = 40.0\nmaterial_per_ac = -1.25\n"
            ),
            "{text}"
        );
        assert!(
            text.contains("[payoff.treatments.\"tilled twice\"]"),
            "{text}"
        );
        let (text, now, read) = saved(|choice| choice.money = None);
        assert_eq!((now, text.contains("payoff")), (read, false));
    }
}
