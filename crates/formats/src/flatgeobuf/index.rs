//! The index of FlatGeobuf: a packed tree of boxes (FlatGeobuf specification, version 3), its root first
//! and its leaves last, each leaf with the place of a feature behind the index.

use std::io::{self, BufRead, Seek, SeekFrom};

use super::NODE;

/// The features whose boxes meet `bbox` (west, south, east, north), in the order of the file: of each its
/// place behind the beginning of the features, and its number from 0. `content` holds an index over `features` features from `start`,
/// with nodes of `node_size` boxes.
///
/// # Errors
/// When the index cannot be read, or leads out of itself.
pub(super) fn search(
    content: &mut (impl BufRead + Seek),
    start: u64,
    features: u64,
    node_size: u64,
    bbox: [f64; 4],
) -> io::Result<Vec<(u64, u64)>> {
    // Where each level begins and ends among all nodes, the leaves first.
    let mut sizes = vec![features];
    while let Some(&below) = sizes.last()
        && below > 1
    {
        sizes.push(below.div_ceil(node_size));
    }
    // A single feature still has a root above it.
    if sizes.len() == 1 {
        sizes.push(1);
    }
    let all = sizes.iter().sum::<u64>();
    let mut end = all;
    let levels: Vec<[u64; 2]> = sizes
        .iter()
        .map(|size| {
            end -= size;
            [end, end + size]
        })
        .collect();
    let mut found = Vec::new();
    let mut nodes = vec![(0, levels.len() - 1)];
    let mut bytes = [0; NODE as usize];
    let mut left = all;
    while let Some((first, level)) = nodes.pop() {
        let [begin, end] = levels[level];
        if first < begin || first >= end {
            return Err(io::ErrorKind::InvalidData.into());
        }
        content.seek(SeekFrom::Start(start + first * NODE))?;
        for node in first..end.min(first + node_size) {
            // Each box is looked at once, unless damaged ones lead to one place again and again.
            left = left.checked_sub(1).ok_or(io::ErrorKind::InvalidData)?;
            content.read_exact(&mut bytes)?;
            let mut eights = bytes.chunks_exact(8).map(|eight| {
                let mut copy = [0; 8];
                copy.copy_from_slice(eight);
                copy
            });
            let mut side = || eights.next().map_or(f64::NAN, f64::from_le_bytes);
            let [west, south, east, north] = [side(), side(), side(), side()];
            let place = eights.next().map_or(0, u64::from_le_bytes);
            if west > bbox[2] || south > bbox[3] || east < bbox[0] || north < bbox[1] {
                continue;
            }
            match level {
                0 => found.push((place, node - begin)),
                _ => nodes.push((place, level - 1)),
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    Ok(found)
}
