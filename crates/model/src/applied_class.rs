//! How what was done on a ground compares with what was planned for it: the classes of the comparison of an as-applied
//! or planting log with its plan.

/// A class of ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AppliedClass {
    /// The planned product at the planned rate, within the tolerance; or nothing, where nothing was planned.
    AsAsked,
    /// The planned product at a lower rate.
    Less,
    /// The planned product at a higher rate.
    More,
    /// Another product than the planned one.
    OtherProduct,
    /// Nothing, where something was planned.
    NotWorked,
    /// Something, where nothing was planned.
    NotPlanned,
    /// The log does not say which product or rate.
    NotLogged,
}

impl AppliedClass {
    /// Every class, in the order of tables and legends.
    pub const ALL: [AppliedClass; 7] = [
        AppliedClass::AsAsked,
        AppliedClass::Less,
        AppliedClass::More,
        AppliedClass::OtherProduct,
        AppliedClass::NotWorked,
        AppliedClass::NotPlanned,
        AppliedClass::NotLogged,
    ];

    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            AppliedClass::AsAsked => "as_asked",
            AppliedClass::Less => "less",
            AppliedClass::More => "more",
            AppliedClass::OtherProduct => "other_product",
            AppliedClass::NotWorked => "not_worked",
            AppliedClass::NotPlanned => "not_planned",
            AppliedClass::NotLogged => "not_logged",
        }
    }

    /// Its name for people.
    pub fn words(self) -> &'static str {
        match self {
            AppliedClass::AsAsked => "as asked",
            AppliedClass::Less => "less than asked",
            AppliedClass::More => "more than asked",
            AppliedClass::OtherProduct => "another product",
            AppliedClass::NotWorked => "not worked",
            AppliedClass::NotPlanned => "worked, not planned",
            AppliedClass::NotLogged => "product or rate not logged",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_those_of_files() {
        for class in AppliedClass::ALL {
            let json = serde_json::to_value(class).unwrap();
            assert_eq!(json, class.key());
        }
    }
}
