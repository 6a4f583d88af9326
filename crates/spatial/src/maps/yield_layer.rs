//! What the two yield maps share: every record's footprint in the colour of its yield class, and
//! the legend that says how much ground each class holds.

use super::canvas::Rgb;
use super::figures::percent;
use super::footprint_layer::paint_footprint;
use super::legend::{Entry, Symbol};
use super::palette::yield_colour;
use super::sheet::Sheet;
use super::yield_classes::YieldClasses;
use checkstrip_model::CleanLog;
use checkstrip_words::{Reader, say};

/// Marks a record that is not drawn.
const NOT_DRAWN: u8 = u8::MAX;

/// The records to draw, each with its class.
pub(super) struct YieldLayer {
    classes: YieldClasses,
    /// For each record its class, or [`NOT_DRAWN`].
    class: Vec<u8>,
    /// Records drawn.
    pub(super) records: usize,
}

impl YieldLayer {
    /// Classifies the records that `counts` and have a yield and a position.
    pub(super) fn new(
        log: &CleanLog,
        classes: YieldClasses,
        yields_kg_ha: &[f64],
        counts: impl Fn(usize) -> bool,
    ) -> YieldLayer {
        let mut records = 0;
        let class = (0..log.len())
            .map(|record| {
                let drawn = counts(record)
                    && yields_kg_ha[record].is_finite()
                    && log.east_m[record].is_finite()
                    && log.north_m[record].is_finite();
                if !drawn {
                    return NOT_DRAWN;
                }
                records += 1;
                classes.class_of(yields_kg_ha[record]) as u8
            })
            .collect();
        YieldLayer {
            classes,
            class,
            records,
        }
    }

    /// The legend: classes from the highest down, each with its share of the ground drawn.
    pub(super) fn legend(&self, log: &CleanLog, reader: Reader) -> Vec<Entry> {
        let words = reader.words;
        let mut entries = vec![Entry::Heading(YieldClasses::heading(reader))];
        if self.records == 0 {
            entries.push(Entry::Note(say!(words, "map-no-record")));
            return entries;
        }
        let labels = self.classes.labels();
        let mut ground_m2 = vec![0.0; labels.len()];
        for (record, &class) in self.class.iter().enumerate() {
            let area = log.distance_m[record] * log.width_m[record];
            if let Some(sum) = ground_m2
                .get_mut(class as usize)
                .filter(|_| area.is_finite())
            {
                *sum += area;
            }
        }
        let total: f64 = ground_m2.iter().sum();
        for (class, label) in labels.iter().enumerate().rev() {
            let share = if total > 0.0 {
                ground_m2[class] / total
            } else {
                0.0
            };
            let symbol = Symbol::Patch(yield_colour(class, labels.len()));
            entries.push(Entry::key(symbol, label.clone(), percent(share, words)));
        }
        if labels.len() > 1 {
            entries.push(Entry::Note(say!(words, "map-steps")));
        }
        entries
    }

    /// Paints the records, later ones over earlier ones.
    pub(super) fn paint(&self, sheet: &mut Sheet, log: &CleanLog) {
        let classes = self.classes.labels().len();
        let colours: Vec<Rgb> = (0..classes)
            .map(|class| yield_colour(class, classes))
            .collect();
        for (record, &class) in self.class.iter().enumerate() {
            if let Some(&colour) = colours.get(class as usize) {
                paint_footprint(sheet, log, record, colour);
            }
        }
    }
}
