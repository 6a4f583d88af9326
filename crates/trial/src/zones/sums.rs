//! Ground and grain of every strip in every zone, and the places they make: one zone in one block, with
//! the ground of treatment and check in it.

use crate::plot::Layout;

/// What was harvested of one strip in one zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneSum {
    /// Place of the strip in [`Layout::plots`].
    pub plot: usize,
    /// Place of the zone in [`ZoneSums::zones`].
    pub zone: usize,
    /// Harvested ground, m².
    pub area_m2: f64,
    /// Grain at market moisture, kg.
    pub mass_kg: f64,
}

/// All strips by zone.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ZoneSums {
    /// Names of the zones.
    pub zones: Vec<String>,
    /// At most one entry for each strip and zone.
    pub sums: Vec<ZoneSum>,
}

/// The ground of a treatment and its check in one zone of one block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Place of the block in [`Layout::blocks`].
    pub(super) block: usize,
    /// Place of the zone.
    pub(super) zone: usize,
    /// Treated and check ground, m².
    pub(super) area_m2: [f64; 2],
    /// Treated and check grain, kg.
    pub(super) mass_kg: [f64; 2],
}

impl Place {
    /// Treatment minus check, kg/ha.
    pub(super) fn difference_kg_ha(&self) -> f64 {
        let [treated, check] = [0, 1].map(|side| self.mass_kg[side] / self.area_m2[side] * 1e4);
        treated - check
    }

    /// The area whose noise the difference has: 1/(1/treated + 1/check), m².
    pub(super) fn effective_area_m2(&self) -> f64 {
        1.0 / (1.0 / self.area_m2[0] + 1.0 / self.area_m2[1])
    }

    /// Ground of treatment and check together, m².
    pub(super) fn ground_m2(&self) -> f64 {
        self.area_m2.iter().sum()
    }
}

impl ZoneSums {
    /// Every zone of every block that has ground of `treatment` or of the check, in the order of blocks
    /// and zones. Blocks that do not hold both anywhere are left out.
    pub(super) fn places(&self, layout: &Layout, treatment: usize) -> Vec<Place> {
        let blocks = layout.blocks();
        let mut places: Vec<Place> = (0..blocks.len() * self.zones.len())
            .map(|at| Place {
                block: at / self.zones.len(),
                zone: at % self.zones.len(),
                area_m2: [0.0; 2],
                mass_kg: [0.0; 2],
            })
            .collect();
        for sum in &self.sums {
            let plot = &layout.plots[sum.plot];
            let side = match plot.treatment {
                t if t == treatment => 0,
                t if t == layout.check => 1,
                _ => continue,
            };
            let block = plot.block.as_deref();
            if let Some(block) = blocks.iter().position(|b| Some(*b) == block) {
                let place = &mut places[block * self.zones.len() + sum.zone];
                place.area_m2[side] += sum.area_m2;
                place.mass_kg[side] += sum.mass_kg;
            }
        }
        let holds_both = |block: usize| {
            layout.cell(blocks[block], treatment, treatment).is_some()
                && layout
                    .cell(blocks[block], layout.check, treatment)
                    .is_some()
        };
        places.retain(|place| place.ground_m2() > 0.0 && holds_both(place.block));
        places
    }
}
