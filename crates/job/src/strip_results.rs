//! The strips with their results for a GIS: the ground of each as drawn, with the figures of `strips.csv` and what the
//! comparison says of its treatment. Called where a comparison is written.

use crate::compare::Compared;
use crate::error::JobError;
use crate::outputs::remove_stale;
use checkstrip_formats::{
    Attribute, AttributeColumn, AttributeKind, AttributedGround, FormatError,
    write_grounds_geopackage, write_grounds_parquet, write_grounds_shapefile,
};
use checkstrip_model::results::{Comparison, Results, StripYield};
use checkstrip_model::units::bu_per_acre;
use std::path::{Path, PathBuf};

/// A form that strips with their results are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StripsForm {
    /// `strips_results.gpkg`.
    GeoPackage,
    /// `strips_results.parquet`.
    GeoParquet,
    /// `strips_results.shp` and the files that belong to it.
    Shapefile,
}

const NAME: &str = "strips_results";

impl StripsForm {
    const ALL: [StripsForm; 3] = [
        StripsForm::GeoPackage,
        StripsForm::GeoParquet,
        StripsForm::Shapefile,
    ];

    /// Endings of its files, the one that is opened first.
    fn endings(self) -> &'static [&'static str] {
        match self {
            StripsForm::GeoPackage => &["gpkg"],
            StripsForm::GeoParquet => &["parquet"],
            StripsForm::Shapefile => &["shp", "shx", "dbf", "prj", "cpg"],
        }
    }

    fn write(
        self,
        path: &Path,
        columns: &[AttributeColumn],
        strips: &[AttributedGround],
    ) -> Result<(), FormatError> {
        match self {
            StripsForm::GeoPackage => write_grounds_geopackage(path, NAME, columns, strips),
            StripsForm::GeoParquet => write_grounds_parquet(path, columns, strips),
            StripsForm::Shapefile => write_grounds_shapefile(path, columns, strips),
        }
    }
}

/// Writes the strips in these forms and takes away those that an earlier run left in others. Returns the files.
pub(crate) fn write_strip_results(
    compared: &Compared,
    dir: &Path,
    forms: &[StripsForm],
) -> Result<Vec<PathBuf>, JobError> {
    let path = |ending: &str| dir.join(format!("{NAME}.{ending}"));
    for form in StripsForm::ALL {
        if !forms.contains(&form) {
            for ending in form.endings() {
                remove_stale(path(ending))?;
            }
        }
    }
    if forms.is_empty() {
        return Ok(Vec::new());
    }
    let (columns, strips) = with_results(compared);
    let mut written = Vec::new();
    for form in forms {
        let opened = path(form.endings()[0]);
        form.write(&opened, &columns, &strips)?;
        written.push(opened);
    }
    Ok(written)
}

/// Columns of every strip: name, kind, value. The first ten bytes of the names differ, as Shapefiles need.
type Column = (AttributeColumn, fn(&StripFigures) -> Attribute);

/// What is known of a strip.
struct StripFigures<'a> {
    strip: &'a StripYield,
    results: &'a Results,
    place: usize,
    /// The headline comparison of its treatment; none for check strips.
    comparison: Option<&'a Comparison>,
}

const COLUMNS: &[Column] = &[
    (("strip_id", AttributeKind::Text), |s| {
        text(&s.strip.strip_id)
    }),
    (("treatment", AttributeKind::Text), |s| {
        text(&s.strip.treatment)
    }),
    (("block", AttributeKind::Text), |s| text(&s.strip.block)),
    (("records", AttributeKind::Whole), |s| {
        whole(s.strip.records)
    }),
    (("area_m2", AttributeKind::Number), |s| {
        known(s.strip.area_m2)
    }),
    (("drawn_area_m2", AttributeKind::Number), |s| {
        known(s.strip.drawn_area_m2)
    }),
    (("covered_fraction", AttributeKind::Number), |s| {
        known(s.strip.covered_fraction)
    }),
    (("dry_mass_kg", AttributeKind::Number), |s| {
        known(s.strip.dry_mass_kg)
    }),
    (("yield_kg_ha", AttributeKind::Number), |s| {
        number(s.strip.yield_kg_ha)
    }),
    (("yield_bu_ac", AttributeKind::Number), |s| {
        number(s.strip.yield_bu_ac)
    }),
    (("moisture_pct", AttributeKind::Number), |s| {
        number(s.strip.moisture_pct)
    }),
    (("mixed_fraction", AttributeKind::Number), |s| {
        known(s.strip.mixed_fraction)
    }),
    (("diff_kg_ha", AttributeKind::Number), |s| {
        number(s.block_difference_kg_ha())
    }),
    (("diff_bu_ac", AttributeKind::Number), |s| {
        let bushel_kg = s.results.field.bushel_kg;
        let difference = s.block_difference_kg_ha();
        number(difference.map(|kg_ha| bu_per_acre(kg_ha, bushel_kg)))
    }),
    (("gain_kg_ha", AttributeKind::Number), |s| {
        number(s.comparison.map(|c| c.advantage_kg_ha))
    }),
    (("low_kg_ha", AttributeKind::Number), |s| {
        number(s.comparison.map(|c| c.interval_95_kg_ha[0]))
    }),
    (("high_kg_ha", AttributeKind::Number), |s| {
        number(s.comparison.map(|c| c.interval_95_kg_ha[1]))
    }),
    (("gain_bu_ac", AttributeKind::Number), |s| {
        number(s.comparison.map(|c| c.advantage_bu_ac))
    }),
    (("low_bu_ac", AttributeKind::Number), |s| {
        number(s.comparison.map(|c| c.interval_95_bu_ac[0]))
    }),
    (("high_bu_ac", AttributeKind::Number), |s| {
        number(s.comparison.map(|c| c.interval_95_bu_ac[1]))
    }),
    (("method", AttributeKind::Text), |s| {
        s.comparison.map_or(Attribute::Nothing, |c| text(&c.method))
    }),
    (("net_per_ac", AttributeKind::Number), |s| {
        number(s.payoff().map(|payoff| payoff.net_per_ac))
    }),
    (("odds_pays", AttributeKind::Number), |s| {
        number(s.payoff().map(|payoff| payoff.odds_it_pays))
    }),
];

/// Columns of strips on which plants were counted.
const STAND_COLUMNS: &[Column] = &[
    (("counts", AttributeKind::Whole), |s| {
        s.stand()
            .map_or(Attribute::Nothing, |stand| whole(stand.counts))
    }),
    (("plants_ha", AttributeKind::Number), |s| {
        number(s.stand().and_then(|stand| stand.plants_ha))
    }),
    (("plants_ac", AttributeKind::Number), |s| {
        number(s.stand().and_then(|stand| stand.plants_ac))
    }),
    (("sd_plants_ha", AttributeKind::Number), |s| {
        number(s.stand().and_then(|stand| stand.sd_plants_ha))
    }),
    (("emergence_pct", AttributeKind::Number), |s| {
        number(s.stand().and_then(|stand| stand.emergence_pct))
    }),
];

impl StripFigures<'_> {
    /// Treatment less check in the strip's block, by the first method that tells blocks apart.
    fn block_difference_kg_ha(&self) -> Option<f64> {
        let of_treatment = self.results.comparisons.iter();
        let mut of_treatment = of_treatment.filter(|c| c.treatment == self.strip.treatment);
        let told = of_treatment.find(|c| !c.block_differences.is_empty())?;
        let in_block =
            |b: &&checkstrip_model::results::BlockDifference| b.block == self.strip.block;
        let difference = told.block_differences.iter().find(in_block)?;
        Some(difference.difference_kg_ha)
    }

    fn payoff(&self) -> Option<&checkstrip_model::results::Payoff> {
        let mut of_all = self.results.payoff.iter();
        of_all.find(|payoff| payoff.treatment == self.strip.treatment)
    }

    fn stand(&self) -> Option<&checkstrip_model::results::StripStand> {
        self.results.stand.as_ref()?.strips.get(self.place)
    }
}

fn with_results(compared: &Compared) -> (Vec<AttributeColumn>, Vec<AttributedGround>) {
    let results = &compared.results;
    let of_stand = match results.stand {
        Some(_) => STAND_COLUMNS,
        None => &[],
    };
    let columns = || COLUMNS.iter().chain(of_stand);
    let strips = results.strips.iter().zip(&compared.drawn).enumerate();
    let strips = strips.map(|(place, (strip, ground))| {
        let figures = StripFigures {
            strip,
            results,
            place,
            comparison: (results.comparisons.iter()).find(|c| c.treatment == strip.treatment),
        };
        AttributedGround {
            ground: ground.clone(),
            values: columns().map(|(_, value)| value(&figures)).collect(),
        }
    });
    (
        columns().map(|(column, _)| *column).collect(),
        strips.collect(),
    )
}

/// Text; nothing for none.
fn text(text: &str) -> Attribute {
    match text {
        "" => Attribute::Nothing,
        text => Attribute::Text(text.to_owned()),
    }
}

fn whole(count: usize) -> Attribute {
    i64::try_from(count).map_or(Attribute::Nothing, Attribute::Whole)
}

fn known(value: f64) -> Attribute {
    Attribute::Number(value)
}

fn number(value: Option<f64>) -> Attribute {
    value.map_or(Attribute::Nothing, Attribute::Number)
}
