//! Cells as the spatial methods see them: the yield of a piece of a strip or of a pass, where it
//! lies, and what was done on its ground.

/// A piece of a strip or of a pass.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldCell {
    /// The strip or pass it is a piece of, numbered from 0 in any order.
    pub line: usize,
    /// Place along the strips and across them, m.
    pub place_m: [f64; 2],
    /// Harvested ground, m².
    pub area_m2: f64,
    /// Yield at market moisture, kg/ha.
    pub yield_kg_ha: f64,
    /// For each treatment, the share of the ground drawn as it.
    pub shares: Vec<f64>,
    /// The strips, by place in the layout, that the ground of a piece of a pass was drawn as, with the
    /// share in each; empty for pieces of strips.
    pub strip_shares: Vec<(usize, f64)>,
}

/// Variance of each cell's own noise relative to a cell of median area: noise averages out over
/// ground.
pub(crate) fn relative_noise(cells: &[&FieldCell]) -> Vec<f64> {
    let mut areas: Vec<f64> = cells.iter().map(|cell| cell.area_m2).collect();
    areas.sort_unstable_by(f64::total_cmp);
    let middle = areas.get(areas.len() / 2).copied().unwrap_or(1.0);
    cells.iter().map(|cell| middle / cell.area_m2).collect()
}
