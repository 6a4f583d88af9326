//! The pixels inside an outline: rings of any shape, holes included, as spans of pixel rows by the
//! even-odd rule. Hatching, label placement and filled marks walk these spans.

use crate::canvas::PixelRect;

/// The pixels `from..to` of row `y`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The row.
    pub y: i32,
    /// First column.
    pub from: i32,
    /// Column after the last.
    pub to: i32,
}

/// Spans of the pixels whose centre lies inside `rings` (pixel positions), within `window`, top
/// to bottom. Points that are not finite are left out of their ring. Cost grows with the rings'
/// points times the rows each side crosses.
pub fn spans(rings: &[Vec<[f64; 2]>], window: PixelRect) -> Vec<Span> {
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); window.height().max(0) as usize];
    for ring in rings {
        let points: Vec<[f64; 2]> = ring
            .iter()
            .copied()
            .filter(|p| p[0].is_finite() && p[1].is_finite())
            .collect();
        for (place, &a) in points.iter().enumerate() {
            let b = points[(place + 1) % points.len()];
            let (low, high) = if a[1] < b[1] { (a, b) } else { (b, a) };
            let first = ((low[1] - 0.5).ceil().max(f64::from(window.top))) as i32;
            let past = ((high[1] - 0.5).ceil().min(f64::from(window.bottom))) as i32;
            for row in first..past {
                let part = (f64::from(row) + 0.5 - low[1]) / (high[1] - low[1]);
                crossings[(row - window.top) as usize].push(low[0] + (high[0] - low[0]) * part);
            }
        }
    }
    let mut found = Vec::new();
    for (row, xs) in crossings.iter_mut().enumerate() {
        xs.sort_unstable_by(f64::total_cmp);
        for pair in xs.chunks_exact(2) {
            let from = ((pair[0] - 0.5).ceil().max(f64::from(window.left))) as i32;
            let to = ((pair[1] - 0.5).ceil().min(f64::from(window.right))) as i32;
            if from < to {
                found.push(Span {
                    y: window.top + row as i32,
                    from,
                    to,
                });
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOW: PixelRect = PixelRect {
        left: 0,
        top: 0,
        right: 50,
        bottom: 50,
    };

    fn square(from: f64, to: f64) -> Vec<[f64; 2]> {
        vec![[from, from], [to, from], [to, to], [from, to], [from, from]]
    }

    fn area(rings: &[Vec<[f64; 2]>]) -> i32 {
        spans(rings, WINDOW)
            .iter()
            .map(|span| span.to - span.from)
            .sum()
    }

    #[test]
    fn a_hole_is_left_open() {
        assert_eq!(area(&[square(10.0, 30.0)]), 400);
        assert_eq!(area(&[square(10.0, 30.0), square(15.0, 20.0)]), 375);
    }

    #[test]
    fn rings_off_the_window_are_clipped() {
        assert_eq!(area(&[square(-1e12, 1e12)]), 2500);
        assert_eq!(area(&[vec![[f64::NAN, 1.0], [2.0, 2.0]]]), 0);
        assert_eq!(area(&[Vec::new()]), 0);
    }
}
