//! What is different between the strips of a file and those that are to stand in it.

use super::EditedStrip;
use checkstrip_model::{Strip, StripSet};
use std::collections::HashMap;

/// What becomes of the strips of a file.
pub(super) struct Changes<'a> {
    /// For each strip of the file, in its order: the strip as it was, and as it is to be; `None` when it
    /// is taken out.
    pub(super) kept: Vec<(&'a Strip, Option<&'a EditedStrip>)>,
    /// The strips that come behind them, each with the strip of the file that it is a copy or part of.
    pub(super) added: Vec<(Option<&'a Strip>, &'a EditedStrip)>,
}

impl<'a> Changes<'a> {
    /// Of several strips of one strip of the file, the one that kept its name is it, else the first.
    pub(super) fn new(set: &'a StripSet, strips: &'a [EditedStrip]) -> Changes<'a> {
        let place: HashMap<u32, usize> = set
            .strips
            .iter()
            .enumerate()
            .map(|(place, strip)| (strip.row, place))
            .collect();
        let of = |edited: &EditedStrip| edited.of.and_then(|row| place.get(&row).copied());
        let mut heirs: Vec<Option<usize>> = vec![None; set.strips.len()];
        for (at, edited) in strips.iter().enumerate() {
            if let Some(place) = of(edited) {
                let has_its_name = edited.strip_id == set.strips[place].strip_id;
                if heirs[place].is_none() || has_its_name {
                    heirs[place] = Some(at);
                }
            }
        }
        let kept = set.strips.iter().zip(&heirs);
        let added = strips.iter().enumerate().filter_map(|(at, edited)| {
            let source = of(edited);
            let is_heir = source.is_some_and(|place| heirs[place] == Some(at));
            (!is_heir).then(|| (source.map(|place| &set.strips[place]), edited))
        });
        Changes {
            added: added.collect(),
            kept: kept
                .map(|(strip, heir)| (strip, heir.map(|at| &strips[at])))
                .collect(),
        }
    }

    /// Whether every strip is as it was.
    pub(super) fn are_none(&self) -> bool {
        let is_same = |(strip, edited): &(&Strip, Option<&EditedStrip>)| {
            edited.is_some_and(|edited| {
                edited.strip_id == strip.strip_id
                    && edited.treatment == strip.treatment
                    && edited.block == strip.block
                    && edited.ground == strip.ground
            })
        };
        self.added.is_empty() && self.kept.iter().all(is_same)
    }

    /// The names of the strips in the order in which they stand afterwards.
    pub(super) fn strip_ids(&self) -> impl Iterator<Item = &'a str> {
        let kept = self.kept.iter().filter_map(|(_, edited)| *edited);
        let added = self.added.iter().map(|(_, edited)| *edited);
        kept.chain(added).map(|edited| edited.strip_id.as_str())
    }

    /// Whether a file without names of strips needs them: numbers from 1 would be others.
    pub(super) fn need_names(&self) -> bool {
        self.strip_ids()
            .enumerate()
            .any(|(at, id)| id != (at + 1).to_string())
    }

    /// Whether any strip has a block.
    pub(super) fn have_blocks(&self) -> bool {
        let kept = self.kept.iter().filter_map(|(_, edited)| *edited);
        let added = self.added.iter().map(|(_, edited)| *edited);
        kept.chain(added).any(|edited| edited.block.is_some())
    }
}
