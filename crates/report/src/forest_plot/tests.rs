//! The picture in its corners.

use super::*;
use crate::pooled::tests::pooled;
use checkstrip_model::units::UnitSystem;

fn size(png: &[u8]) -> (u32, u32) {
    assert_eq!(&png[1..4], b"PNG");
    let side = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
    (side(16), side(20))
}

#[test]
fn every_answer_can_be_drawn() {
    let whole = pooled();
    let mut two = pooled();
    two.treatments[0].prediction = None;
    two.treatments[0].interval_95_kg_ha = [-440.0, 576.0];
    two.treatments[0].entries.truncate(2);
    let mut wild = pooled();
    wild.treatments[0].entries[1].interval_95_kg_ha = Some([-1e300, 1e300]);
    wild.treatments[0].entries[2].interval_95_kg_ha = None;
    wild.treatments[0].entries[2].advantage_kg_ha = None;
    let mut nothing = pooled();
    for entry in &mut nothing.treatments[0].entries {
        entry.advantage_kg_ha = Some(0.0);
        entry.interval_95_kg_ha = Some([0.0, 0.0]);
    }
    nothing.treatments[0].advantage_kg_ha = 0.0;
    nothing.treatments[0].interval_95_kg_ha = [0.0, 0.0];
    nothing.treatments[0].prediction = None;
    nothing.treatments[0].payoff = None;
    let mut long = pooled();
    long.treatments[0].treatment = "a treatment with a name too long ".repeat(9);
    long.treatments[0].entries[0].field = "a field with a name too long ".repeat(9);
    let mut several = pooled();
    several.treatments.push(several.treatments[0].clone());
    for pooled in [whole, two, wild, nothing, long, several] {
        for units in [UnitSystem::Farm, UnitSystem::Si] {
            let (width, height) = size(&forest_plot(&pooled, units.into()).unwrap());
            assert_eq!(width, 1600);
            assert!((500..1600).contains(&height), "{height}");
        }
    }
}

#[test]
fn many_fields_make_no_endless_picture() {
    let mut pooled = pooled();
    let entry = pooled.treatments[0].entries[0].clone();
    pooled.treatments[0].entries = vec![entry; 2000];
    let field = pooled.crop.as_field("");
    let figures = Figures::new(&field, UnitSystem::Farm.into());
    let panel = Panel::new(&pooled.treatments[0], figures);
    assert_eq!(panel.shown.len(), MOST_FIELDS);
    assert!(panel.note.starts_with("1700 lighter fields"));
    let (_, height) = size(&forest_plot(&pooled, UnitSystem::Farm.into()).unwrap());
    assert!(height < 12_000, "{height}");
}

#[test]
fn a_field_that_knows_little_does_not_press_the_others_together() {
    let figures_field = pooled().crop.as_field("");
    let figures = Figures::new(&figures_field, UnitSystem::Si.into());
    let mut wide = pooled();
    wide.treatments[0].entries[1].interval_95_kg_ha = Some([-9_000.0, 9_000.0]);
    let before = Scale::new(&pooled(), figures, 0.0, 1000.0);
    let after = Scale::new(&wide, figures, 0.0, 1000.0);
    let spread = |scale: &Scale| scale.place(112.0) - scale.place(22.0);
    assert!(spread(&after) > 0.5 * spread(&before));
    for (value, _) in after.ticks(figures.words.marks()) {
        assert!((0.0..=1000.0).contains(&after.place(value)));
    }
}
