//! Names of columns within the limits of a format.

use std::collections::HashSet;

use crate::header;

/// Attribute tables of Shapefiles take this many bytes.
const SHORT: usize = 10;

/// Names that differ in more than upper and lower case: later ones get a number.
pub(super) fn parted(names: &[&str]) -> Vec<String> {
    fit(names, usize::MAX, |name| name.to_owned())
}

/// Names of at most ten bytes that differ, without losing the unit where checkstrip knows the column.
pub(crate) fn short(names: &[&str]) -> Vec<String> {
    fit(names, SHORT, |name| match name.len() <= SHORT {
        true => name.to_owned(),
        false => header::short_spelling(name, SHORT).unwrap_or_else(|| name.to_owned()),
    })
}

fn fit(names: &[&str], most: usize, spell: impl Fn(&str) -> String) -> Vec<String> {
    let mut taken = HashSet::new();
    let fitted = names.iter().map(|name| {
        let wanted = cut(&spell(name), most).to_owned();
        let mut name = wanted.clone();
        let mut number = 2;
        while !taken.insert(name.to_lowercase()) {
            let suffix = format!("_{number}");
            name = format!("{}{suffix}", cut(&wanted, most - suffix.len()));
            number += 1;
        }
        name
    });
    fitted.collect()
}

/// The first `most` bytes, or a few less where a character would be cut.
fn cut(name: &str, most: usize) -> &str {
    let mut end = most.min(name.len());
    while !name.is_char_boundary(end) {
        end -= 1;
    }
    &name[..end]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_names_keep_units_and_differ() {
        let names = [
            "mass_flow_kg_s",
            "moisture_pct",
            "yield_kg_ha",
            "Mass flow (lb/s)",
            "a note of mine",
            "a note of yours",
            "ertragsmäßig",
        ];
        assert_eq!(
            short(&names),
            [
                "flow_kg_s",
                "moisture_p",
                "yield_kg_h",
                "flow_lb_s",
                "a note of ",
                "a note o_2",
                "ertragsm\u{e4}",
            ]
        );
        assert_eq!(parted(&["a", "A", "b"]), ["a", "A_2", "b"]);
    }
}
