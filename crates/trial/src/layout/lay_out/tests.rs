//! Laws of layouts, and the corners of their requests.

use super::*;
use crate::layout::Direction;
use geo::{Area, BooleanOps, Buffer, Rotate, coord, polygon};
use proptest::prelude::*;

/// An invented field: a star-shaped outline of `radii` around the origin, m.
fn field(radii: &[f64]) -> MultiPolygon<f64> {
    let corners = radii.iter().enumerate().map(|(place, radius)| {
        let turn = place as f64 / radii.len() as f64 * std::f64::consts::TAU;
        coord! { x: radius * turn.cos(), y: radius * turn.sin() }
    });
    MultiPolygon::new(vec![Polygon::new(corners.collect(), vec![])])
}

fn request() -> LayoutRequest {
    LayoutRequest {
        implement_width_m: 12.192,
        header_width_m: 9.144,
        strip_passes: None,
        treatments: vec!["rolled".into(), "check".into()],
        blocks: 6,
        offset_m: None,
        seed: 1,
    }
}

fn square(side: f64) -> MultiPolygon<f64> {
    let half = side / 2.0 * 2f64.sqrt();
    field(&[half; 4]).rotate_around_point(45.0, geo::point!(x: 0.0, y: 0.0))
}

fn laid(boundary: &MultiPolygon<f64>, headland: f64, direction: Direction) -> PlannedLayout {
    let ground = TrialGround::new(boundary, headland, &direction).unwrap();
    lay_out(&ground, &request()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Laws: strips lie inside the boundary less the headland and share no ground; with what is left
    /// over they make up the ground; each is a whole number of passes wide and as large as width
    /// times length; every block holds every treatment once; the same seed gives the same layout.
    #[test]
    fn strips_are_laid_as_promised(
        radii in prop::collection::vec(220.0f64..600.0, 5..14),
        headland in 0.0f64..40.0, direction in -400.0f64..400.0, implement in 4.0f64..20.0,
        header in 5.0f64..13.0, passes in prop::option::of(1u32..4), treatments in 2usize..5,
        blocks in 1u32..9, offset in prop::option::of(-30.0f64..60.0), seed in any::<u64>(),
    ) {
        let boundary = field(&radii);
        let ground = TrialGround::new(&boundary, headland, &Direction::FromNorth(direction)).unwrap();
        let request = LayoutRequest {
            implement_width_m: implement,
            header_width_m: header,
            strip_passes: passes,
            treatments: (0..treatments).map(|t| format!("treatment {t}")).collect(),
            blocks,
            offset_m: offset,
            seed,
        };
        let layout = match lay_out(&ground, &request) {
            Err(LayoutError::NoBlockFits { .. }) => return Ok(()),
            other => other.unwrap(),
        };
        prop_assert_eq!(&lay_out(&ground, &request).unwrap(), &layout);
        let outlines: Vec<MultiPolygon<f64>> =
            layout.strips.iter().map(|strip| layout.outline(strip)).collect();
        let inside = ground.ground().buffer(0.001);
        let mut sum = 0.0;
        for (strip, outline) in layout.strips.iter().zip(&outlines) {
            prop_assert!(outline.difference(&inside).unsigned_area() < 0.01);
            let area = outline.unsigned_area();
            prop_assert!((area - strip.length_m() * layout.strip_width_m()).abs() < 1e-4);
            sum += area;
        }
        for (place, one) in outlines.iter().enumerate() {
            for other in &outlines[place + 1..] {
                prop_assert!(one.intersection(other).unsigned_area() < 0.01);
            }
        }
        prop_assert!((sum + layout.left_over_m2 - ground.ground_m2()).abs() < 1e-4);
        prop_assert!(ground.ground_m2() <= ground.field_m2() + 1e-6);
        let in_passes = layout.strip_width_m() / implement;
        prop_assert!((in_passes - in_passes.round()).abs() < 1e-9 && in_passes >= 1.0);
        if passes.is_none() {
            prop_assert!(layout.swaths.surely >= 1);
        }
        for pair in layout.strips.windows(2) {
            let gap = (pair[1].left_m - pair[0].left_m - layout.strip_width_m()) / implement;
            prop_assert!(gap > -1e-6 && (gap - gap.round()).abs() < 1e-6, "{}", gap);
            prop_assert!(gap < 1e-6 || pair[0].block != pair[1].block);
        }
        for mut order in layout.orders() {
            order.sort_unstable();
            prop_assert_eq!(order, (0..treatments).collect::<Vec<_>>());
        }
    }

    /// Law: turning the field and the direction together turns the layout.
    #[test]
    fn turning_the_field_turns_the_layout(
        radii in prop::collection::vec(250.0f64..600.0, 5..14), turn in 0.0f64..360.0,
    ) {
        let boundary = field(&radii);
        let turned = boundary.rotate_around_point(-turn, geo::point!(x: 0.0, y: 0.0));
        let one = laid(&boundary, 15.0, Direction::FromNorth(20.0));
        let other = laid(&turned, 15.0, Direction::FromNorth(20.0 + turn));
        prop_assert_eq!(one.strips.len(), other.strips.len());
        for (a, b) in one.strips.iter().zip(&other.strips) {
            prop_assert_eq!((a.block, a.treatment), (b.block, b.treatment));
            prop_assert!((a.left_m - b.left_m).abs() < 1e-3);
            prop_assert!((a.length_m() - b.length_m()).abs() < 0.01);
        }
    }
}

#[test]
fn a_first_line_is_the_left_side_of_the_first_strip_whichever_way_it_was_drawn() {
    let boundary = square(800.0);
    let (a, b) = ([-390.0, -300.0], [-390.0, 300.0]);
    for line in [[a, b], [b, a]] {
        let layout = laid(&boundary, 0.0, Direction::FirstLine(line));
        let [from, to] = layout.line_along(&layout.strips[0], 0.0);
        assert!((from[0] + 390.0).abs() < 1e-6 && (to[0] + 390.0).abs() < 1e-6);
        assert!(from[1] < to[1]);
    }
    // A line in the headland stays the line the passes are counted from.
    let layout = laid(&boundary, 20.0, Direction::FirstLine([a, b]));
    let [from, _] = layout.line_along(&layout.strips[0], 0.0);
    assert!((from[0] - (-390.0 + 12.192)).abs() < 1e-6, "{from:?}");
}

/// A side that runs half a metre askew over 800 m does not shorten the first strip.
#[test]
fn a_side_a_little_askew_moves_the_first_strip_in() {
    let field = polygon![
        (x: 0.0, y: 0.0), (x: 400.0, y: 0.0), (x: 400.0, y: 800.0), (x: 0.5, y: 800.0)
    ];
    let layout = laid(
        &MultiPolygon::new(vec![field]),
        0.0,
        Direction::FromNorth(0.0),
    );
    let first = &layout.strips[0];
    assert!(first.length_m() > 780.0 && first.left_m < 0.8, "{first:?}");
}

#[test]
fn as_many_blocks_as_fit() {
    // 300 m inside the headland take six blocks of 48.8 m.
    let ground = TrialGround::new(&square(320.0), 10.0, &Direction::FromNorth(0.0)).unwrap();
    let many = LayoutRequest {
        blocks: 9,
        ..request()
    };
    assert_eq!(lay_out(&ground, &many).unwrap().blocks, 6);
    let wide = LayoutRequest {
        strip_passes: Some(20),
        ..request()
    };
    let error = lay_out(&ground, &wide).unwrap_err().to_string();
    assert!(
        error.contains("not one block") && error.contains("300.0 m across"),
        "{error}"
    );
}

#[test]
fn requests_that_make_no_sense_are_refused() {
    let ground = TrialGround::new(&square(320.0), 10.0, &Direction::LongestSide).unwrap();
    let refused = [
        LayoutRequest {
            implement_width_m: 0.0,
            ..request()
        },
        LayoutRequest {
            header_width_m: f64::NAN,
            ..request()
        },
        LayoutRequest {
            treatments: vec!["check".into()],
            ..request()
        },
        LayoutRequest {
            treatments: vec!["check".into(), "check".into()],
            ..request()
        },
        LayoutRequest {
            blocks: 0,
            ..request()
        },
        LayoutRequest {
            blocks: u32::MAX,
            ..request()
        },
        LayoutRequest {
            strip_passes: Some(0),
            ..request()
        },
        LayoutRequest {
            offset_m: Some(f64::INFINITY),
            ..request()
        },
    ];
    for request in refused {
        assert!(lay_out(&ground, &request).is_err(), "{request:?}");
    }
    let field = square(320.0);
    assert!(TrialGround::new(&field, 160.0, &Direction::LongestSide).is_err());
    assert!(TrialGround::new(&field, -1.0, &Direction::LongestSide).is_err());
    assert!(TrialGround::new(&field, 0.0, &Direction::FromNorth(f64::NAN)).is_err());
    assert!(TrialGround::new(&field, 0.0, &Direction::FirstLine([[1.0; 2]; 2])).is_err());
    assert!(TrialGround::new(&MultiPolygon::new(vec![]), 0.0, &Direction::LongestSide).is_err());
}
