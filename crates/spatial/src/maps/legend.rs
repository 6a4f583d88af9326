//! A map's legend: its entries, and how they flow into the columns of the panel beside or below
//! the map. The sheet draws what is placed here.

use super::canvas::Rgb;
use super::hatch::Hatch;
use super::lettering::{Lettering, Style};
use super::marker::Shape;
use super::palette::{INK, SOFT_INK};

/// Lettering of headings, of labels and of notes.
pub(super) const HEADING: Style = Style {
    size: 27.0,
    bold: true,
    colour: INK,
};
pub(super) const LABEL: Style = Style {
    size: 25.0,
    bold: false,
    colour: INK,
};
pub(super) const NOTE: Style = Style {
    size: 22.0,
    bold: false,
    colour: SOFT_INK,
};

/// Width and height of a key's swatch, pixels.
pub(super) const SWATCH: (f32, f32) = (46.0, 28.0);
/// From the swatch to its label, pixels.
pub(super) const SWATCH_GAP: f32 = 14.0;
/// Height of the block with scale bar and north arrow, pixels.
const ORIENTATION_HEIGHT: f32 = 116.0;
/// Space above a heading that is not the first of its column.
const HEADING_SPACE: f32 = 22.0;

/// What a key shows beside its label.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Symbol {
    /// A patch of one colour.
    Patch(Rgb),
    /// Bands of one colour with gaps between them.
    Bands(Rgb),
    /// A treatment's hatching.
    Hatching(Hatch),
    /// The mark of the reason at this place in `Status::REASONS`, over its colour.
    Reason(usize),
    /// A mark by itself.
    Mark(Shape, Rgb),
    /// A strip's outline.
    Outline,
}

/// One entry.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Entry {
    /// What the keys below it are.
    Heading(String),
    /// A symbol, what it means and how much of it there is.
    Key {
        symbol: Symbol,
        label: String,
        figure: String,
    },
    /// A sentence.
    Note(String),
    /// North arrow and scale bar.
    Orientation,
}

impl Entry {
    /// A key with a figure at the right edge.
    pub(super) fn key(
        symbol: Symbol,
        label: impl Into<String>,
        figure: impl Into<String>,
    ) -> Entry {
        Entry::Key {
            symbol,
            label: label.into(),
            figure: figure.into(),
        }
    }
}

/// An entry's text broken into lines, and the height it takes.
#[derive(Debug, Clone)]
pub(super) struct Block {
    pub(super) entry: Entry,
    pub(super) lines: Vec<String>,
    pub(super) height: f32,
}

impl Block {
    fn new(entry: Entry, lettering: &Lettering, width: f32) -> Block {
        let (lines, height) = match &entry {
            Entry::Heading(text) => {
                let lines = lettering.wrap(text, HEADING, width);
                let height = lines.len() as f32 * 34.0 + 8.0;
                (lines, height)
            }
            Entry::Key { label, figure, .. } => {
                let taken = if figure.is_empty() {
                    0.0
                } else {
                    lettering.width(figure, LABEL) + 12.0
                };
                let room = width - SWATCH.0 - SWATCH_GAP - taken;
                let mut lines = lettering.wrap(label, LABEL, room);
                if let Some(rest) = lines.get(2..).filter(|rest| !rest.is_empty()) {
                    let last = format!("{} {}", lines[1], rest.join(" "));
                    lines.truncate(1);
                    lines.push(lettering.shorten(&last, LABEL, room));
                }
                let height = lines.len() as f32 * 30.0 + 9.0;
                (lines, height)
            }
            Entry::Note(text) => {
                let lines = lettering.wrap(text, NOTE, width);
                let height = lines.len() as f32 * 28.0 + 12.0;
                (lines, height)
            }
            Entry::Orientation => (Vec::new(), ORIENTATION_HEIGHT),
        };
        Block {
            entry,
            lines,
            height,
        }
    }

    fn opens_group(&self) -> bool {
        matches!(self.entry, Entry::Heading(_) | Entry::Orientation)
    }

    /// Space above it when it does not open its column.
    pub(super) fn space_above(&self) -> f32 {
        if self.opens_group() {
            HEADING_SPACE
        } else {
            0.0
        }
    }
}

/// A legend in columns.
#[derive(Debug, Clone)]
pub(super) struct Legend {
    /// Entries column by column, top to bottom.
    pub(super) columns: Vec<Vec<Block>>,
    /// Width of one column, pixels.
    pub(super) column_width: f32,
    /// Height of the longest column, pixels.
    pub(super) height: f32,
}

impl Legend {
    /// Flows `entries` into at most `columns` columns as short as can be, no heading parted from
    /// the entries below it.
    pub(super) fn flow(
        entries: &[Entry],
        lettering: &Lettering,
        columns: usize,
        column_width: f32,
    ) -> Legend {
        let blocks: Vec<Block> = entries
            .iter()
            .map(|entry| Block::new(entry.clone(), lettering, column_width))
            .collect();
        let total: f32 = blocks
            .iter()
            .map(|block| block.height + block.space_above())
            .sum();
        let mut limit = total / columns as f32;
        loop {
            let flowed = flow_within(&blocks, limit);
            if flowed.len() <= columns || limit > total {
                let height = flowed
                    .iter()
                    .map(|column| column_height(column))
                    .fold(0.0, f32::max);
                return Legend {
                    columns: flowed,
                    column_width,
                    height,
                };
            }
            limit += 6.0;
        }
    }
}

fn column_height(column: &[Block]) -> f32 {
    let first_space = column.first().map_or(0.0, Block::space_above);
    column
        .iter()
        .map(|block| block.height + block.space_above())
        .sum::<f32>()
        - first_space
}

fn flow_within(blocks: &[Block], limit: f32) -> Vec<Vec<Block>> {
    let mut columns: Vec<Vec<Block>> = vec![Vec::new()];
    for group in blocks.chunk_by(|_, next| !next.opens_group()) {
        let Some(column) = columns.last_mut() else {
            continue;
        };
        let mut longer = column.clone();
        longer.extend_from_slice(group);
        if column.is_empty() || column_height(&longer) <= limit {
            *column = longer;
        } else {
            columns.push(group.to_vec());
        }
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_stay_with_their_keys_and_columns_balance() {
        let lettering = Lettering::new().unwrap();
        let mut entries = Vec::new();
        for group in 0..3 {
            entries.push(Entry::Heading(format!("Group {group}")));
            for key in 0..4 {
                entries.push(Entry::key(Symbol::Outline, format!("key {key}"), "12 %"));
            }
        }
        for columns in 1..=4 {
            let legend = Legend::flow(&entries, &lettering, columns, 400.0);
            assert!(legend.columns.len() <= columns);
            assert_eq!(
                legend.columns.iter().map(Vec::len).sum::<usize>(),
                entries.len()
            );
            for column in &legend.columns {
                assert!(matches!(column[0].entry, Entry::Heading(_)));
            }
        }
    }
}
