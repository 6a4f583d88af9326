//! Text of many records, formatted side by side and written in order, with a few blocks in memory at
//! a time.

use std::io::{self, Write};
use std::ops::Range;

use rayon::prelude::*;

/// Records per block.
const BLOCK: usize = 4096;
/// Blocks formatted before they are written.
const BLOCKS: usize = 8;

/// Writes `records` records, each block of them formatted by `format`; while one group of blocks is
/// written the next is formatted.
pub(crate) fn write_blocks(
    writer: &mut (dyn Write + Send),
    records: usize,
    format: impl Fn(Range<usize>, &mut Vec<u8>) + Sync,
) -> io::Result<()> {
    let fill = |first: usize, blocks: &mut Vec<Vec<u8>>| {
        blocks.par_iter_mut().enumerate().for_each(|(at, block)| {
            block.clear();
            let start = (first + at * BLOCK).min(records);
            format(start..(start + BLOCK).min(records), block);
        });
    };
    let mut ready = vec![Vec::new(); BLOCKS];
    let mut next = vec![Vec::new(); BLOCKS];
    fill(0, &mut ready);
    let mut first = 0;
    while first < records {
        first += BLOCK * BLOCKS;
        let (written, ()) = rayon::join(
            || ready.iter().try_for_each(|block| writer.write_all(block)),
            || fill(first, &mut next),
        );
        written?;
        std::mem::swap(&mut ready, &mut next);
    }
    Ok(())
}
