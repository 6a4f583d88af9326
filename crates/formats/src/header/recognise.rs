//! What one header says by itself: which columns it may be, in which unit, of which row. Nothing is decided
//! here: a header that fits several columns gives them all.

use checkstrip_model::spelling::plain_letters;
use checkstrip_model::{Column, Operation, Quantity, units};

use super::Container;
use super::names::{ROW_WORDS, names};

/// Letters and digits of a header without case and accents, nothing else.
pub(super) fn fold(text: &str) -> String {
    letters(text)
        .into_iter()
        .map(|(letter, _)| letter)
        .collect()
}

/// Letters and digits of `text` without case and accents, each with where what it stands for ends.
fn letters(text: &str) -> Vec<(char, usize)> {
    let mut found = Vec::with_capacity(text.len());
    for (at, letter) in text.char_indices().filter(|(_, c)| c.is_alphanumeric()) {
        plain_letters(letter, |plain| {
            if plain.is_alphanumeric() {
                found.push((plain, at + letter.len_utf8()));
            }
        });
    }
    found
}

/// One meaning of a header.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Said {
    pub(super) column: Column,
    /// The header is the name that exports write.
    pub(super) canonical: bool,
    /// The unit behind the name and the factor it stands for.
    pub(super) unit: Option<(String, f64)>,
    /// The row of the planter that it is of.
    pub(super) row: Option<u16>,
}

impl Said {
    fn new(column: Column, unit: Option<(String, f64)>) -> Said {
        Said {
            column,
            canonical: false,
            unit,
            row: None,
        }
    }
}

/// The unit in the rest of a header behind the column's name: `_m_s`, ` (mph)`, ` [ft]`.
fn unit_in(column: Column, rest: &str, bushel_kg: f64) -> Option<(String, f64)> {
    unit_of(column.quantity(), rest, bushel_kg)
}

fn unit_of(quantity: Quantity, rest: &str, bushel_kg: f64) -> Option<(String, f64)> {
    let mut unit = rest
        .trim_matches(|c: char| !(c.is_alphanumeric() || matches!(c, '%' | '°')))
        .to_owned();
    for per in [" per ", " pro ", " par ", " por "] {
        unit = unit.replace(per, "/");
    }
    let factor = units::to_si(quantity, &unit, bushel_kg)?;
    Some((unit.replace(['_', ' '], "/"), factor))
}

/// The rest of `header`, whose letters are given, behind the part that folds to `name`.
fn behind<'a>(header: &'a str, letters: &[(char, usize)], name: &str) -> Option<&'a str> {
    let mut end = 0;
    let mut found = letters.iter();
    for wanted in name.chars() {
        let (letter, behind) = found.next()?;
        if *letter != wanted {
            return None;
        }
        end = *behind;
    }
    Some(&header[end..])
}

/// Whether `header` is one of `names`, of a table that is no log: `None` when it is not, else the unit behind the
/// name and its factor, where there is one.
pub(crate) fn named(
    header: &str,
    names: &[&str],
    quantity: Quantity,
    bushel_kg: f64,
) -> Option<Option<(String, f64)>> {
    let letters = letters(header);
    let folded: String = letters.iter().map(|(letter, _)| *letter).collect();
    let has_sign = header.contains(['%', '°', 'º']);
    names.iter().map(|name| fold(name)).find_map(|name| {
        if folded == name && !has_sign {
            return Some(None);
        }
        let rest = behind(header, &letters, &name)?;
        unit_of(quantity, rest, bushel_kg).map(Some)
    })
}

pub(super) fn has_unit(column: Column) -> bool {
    !matches!(
        column.quantity(),
        Quantity::Label | Quantity::Switch | Quantity::Number
    )
}

/// Every meaning of `header`; none when it fits no column.
pub(super) fn recognise(header: &str, container: Container, bushel_kg: f64) -> Vec<Said> {
    let whole = meanings(header, container, bushel_kg);
    if !whole.is_empty() {
        return whole;
    }
    let Some((rest, row)) = without_row(header) else {
        return Vec::new();
    };
    let mut said = meanings(&rest, Container::default(), bushel_kg);
    said.retain(|said| is_of_rows(said.column));
    for said in &mut said {
        // Every row has the name: none beats the others.
        (said.row, said.canonical) = (Some(row), false);
    }
    said
}

/// Whether a planter logs the column row by row.
fn is_of_rows(column: Column) -> bool {
    Operation::Planting.telling_columns().contains(&column)
        || matches!(column, Column::TargetSeedRate | Column::Product)
}

fn meanings(header: &str, container: Container, bushel_kg: f64) -> Vec<Said> {
    let letters = letters(header);
    let folded: String = letters.iter().map(|(letter, _)| *letter).collect();
    for &column in Column::ALL {
        if folded == fold(column.canonical_name()) {
            let rest = column
                .canonical_name()
                .strip_prefix(column.key())
                .unwrap_or_default();
            return vec![Said {
                canonical: true,
                ..Said::new(column, unit_in(column, rest, bushel_kg))
            }];
        }
    }
    let mut said: Vec<Said> = Vec::new();
    for name in names() {
        let Some(rest) = behind(header, &letters, &name.folded) else {
            continue;
        };
        let is_all = folded == name.folded && !header.contains(['%', '°', 'º']);
        for &column in &name.columns {
            let unit = match is_all {
                true => None,
                false if !has_unit(column) => continue,
                false => match unit_in(column, rest, bushel_kg) {
                    None => continue,
                    unit => unit,
                },
            };
            if said.iter().all(|other| other.column != column) {
                said.push(Said::new(column, unit));
            }
        }
    }
    // A stand may be called by its unit alone: `plants/ac`.
    if said.is_empty() && folded.starts_with("plants") {
        let unit = unit_in(Column::Stand, header, bushel_kg);
        said.extend(unit.map(|unit| Said::new(Column::Stand, Some(unit))));
    }
    if said.is_empty() && container.short_names && header.len() == SHORT_NAME {
        said.extend(complete(&folded, bushel_kg));
    }
    said
}

/// Attribute tables of Shapefiles cut names to this many bytes.
const SHORT_NAME: usize = 10;

/// What a name that was cut short stood for: its column when all names that begin like it agree, its
/// unit when these agree as well.
fn complete(folded: &str, bushel_kg: f64) -> Option<Said> {
    let mut said: Option<Said> = None;
    for name in names() {
        // Names and what was cut must agree as far as both go.
        if !folded.starts_with(&name.folded) && !name.folded.starts_with(folded) {
            continue;
        }
        for &column in &name.columns {
            let units = match has_unit(column) {
                true => units::spellings(column.quantity()),
                false => vec![""],
            };
            for unit in units {
                if !format!("{}{}", name.folded, fold(unit)).starts_with(folded) {
                    continue;
                }
                let unit = unit_in(column, unit, bushel_kg);
                match &mut said {
                    None => said = Some(Said::new(column, unit)),
                    Some(earlier) if earlier.column != column => return None,
                    Some(earlier) => {
                        if earlier.unit.as_ref().map(|u| u.1) != unit.as_ref().map(|u| u.1) {
                            earlier.unit = None;
                        }
                    }
                }
            }
        }
    }
    said
}

/// The words of a header: runs of letters, runs of digits, each with where it begins and ends.
fn words(header: &str) -> Vec<(usize, usize)> {
    let mut words: Vec<(usize, usize)> = Vec::new();
    let mut before: Option<char> = None;
    for (at, letter) in header.char_indices() {
        let end = at + letter.len_utf8();
        let goes_on = before.is_some_and(|before| {
            before.is_alphanumeric() && before.is_ascii_digit() == letter.is_ascii_digit()
        });
        if letter.is_alphanumeric() {
            match words.last_mut() {
                Some(word) if goes_on => word.1 = end,
                _ => words.push((at, end)),
            }
        }
        before = Some(letter);
    }
    words
}

/// `header` without the row it names, and that row: `Row 3 Downforce (lb)`, `singulation_r12_pct`.
fn without_row(header: &str) -> Option<(String, u16)> {
    let words = words(header);
    let pairs = words.windows(2);
    let mut found = pairs.filter_map(|pair| {
        let [(start, middle), (digits, end)] = *pair else {
            return None;
        };
        let is_word = ROW_WORDS.contains(&fold(&header[start..middle]).as_str());
        let row: u16 = header[digits..end].parse().ok()?;
        (is_word && row > 0).then(|| (format!("{} {}", &header[..start], &header[end..]), row))
    });
    match (found.next(), found.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_taken_out_of_a_header() {
        let row = |header: &str| without_row(header).map(|found| found.1);
        assert_eq!(row("Row 3 Downforce (lb)"), Some(3));
        assert_eq!(row("singulation_r12_pct"), Some(12));
        assert_eq!(row("Vereinzelung Reihe 07"), Some(7));
        assert_eq!(row("row 0 skips"), None);
        assert_eq!(row("var12"), None);
        assert_eq!(row("row 1 of row 2"), None);
        assert_eq!(row("row 99999 skips"), None);
    }
}
