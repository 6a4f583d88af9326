//! The way the combine drives: laps around the field from the outside in, then back-and-forth passes
//! with a turn on the headland after each. Every piece of the way is straight and knows what it cuts.

use crate::plan::FieldPlan;

/// The header comes down this far before the standing crop and goes up this far behind it, m.
const LEAD_M: f64 = 2.0;

/// How far into the headland a turn reaches where there is room, m.
const TURN_M: f64 = 12.0;

/// A straight piece of the way, in the field's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Leg {
    pub(crate) from: [f64; 2],
    pub(crate) to: [f64; 2],
    /// Pass number, from 1; a turn has that of the pass before it.
    pub(crate) pass: u32,
    pub(crate) header_down: bool,
    /// Where the crop it cuts begins and ends, m to the right of the way; `None` on bare ground.
    pub(crate) cut: Option<[f64; 2]>,
    /// How far it is from where the header came down to the start of this leg, m.
    pub(crate) since_down_m: f64,
    /// How far it is from the end of this leg to where the header goes up, m.
    pub(crate) until_up_m: f64,
}

impl Leg {
    pub(crate) fn length_m(&self) -> f64 {
        (self.to[0] - self.from[0]).hypot(self.to[1] - self.from[1])
    }

    /// Unit vector along the way.
    pub(crate) fn direction(&self) -> [f64; 2] {
        let length = self.length_m();
        [
            (self.to[0] - self.from[0]) / length,
            (self.to[1] - self.from[1]) / length,
        ]
    }
}

/// The whole way, with the number of the leg after which the first day ends.
pub(crate) struct Route {
    pub(crate) legs: Vec<Leg>,
    pub(crate) last_leg_of_first_day: usize,
}

/// The way over the field of `plan`.
pub(crate) fn route(plan: &FieldPlan) -> Route {
    let mut way = Way {
        legs: Vec::new(),
        pass: 0,
    };
    let (width, step, overlap) = (
        plan.header_width_m,
        plan.swath_step_m(),
        plan.swath_overlap_m,
    );
    let [across, along] = plan.size_m();
    for lap in 0..plan.headland_laps {
        // Counter-clockwise, so that the outside is on the right. The lap before has cut `taken` of
        // this one's width; each side starts where the side before it has cut.
        let edge = lap as f64 * step;
        let line = edge + width / 2.0;
        let inner = edge + width;
        let taken = if lap == 0 { 0.0 } else { overlap };
        let cut = [-width / 2.0, width / 2.0 - taken];
        let start = edge + taken;
        way.cut([start, line], [across - start, line], cut);
        way.cut([across - line, inner], [across - line, along - start], cut);
        way.cut([across - inner, along - line], [start, along - line], cut);
        way.cut([line, along - inner], [line, inner], cut);
    }
    let headland = plan.headland_m();
    let (south, north) = (headland, along - headland);
    let mut standing_from = headland;
    let turn = TURN_M.min(headland - LEAD_M);
    let mut last_leg_of_first_day = 0;
    for number in 0..plan.passes {
        let line = headland - overlap + width / 2.0 + number as f64 * step;
        let standing_to = (line + width / 2.0).min(across - headland);
        let [left, right] = [standing_from - line, standing_to - line];
        standing_from = standing_to;
        way.turn_to(line, turn);
        if number % 2 == 0 {
            way.cut([line, south], [line, north], [left, right]);
        } else {
            way.cut([line, north], [line, south], [-right, -left]);
        }
        if number + 1 == plan.passes / 2 {
            last_leg_of_first_day = way.legs.len() - 1;
        }
    }
    Route {
        legs: way.legs,
        last_leg_of_first_day,
    }
}

struct Way {
    legs: Vec<Leg>,
    pass: u32,
}

impl Way {
    /// Drives to a point with the header up.
    fn drive_to(&mut self, to: [f64; 2]) {
        let Some(last) = self.legs.last() else { return };
        let leg = Leg {
            from: last.to,
            to,
            pass: self.pass,
            header_down: false,
            cut: None,
            since_down_m: 0.0,
            until_up_m: 0.0,
        };
        if leg.length_m() > 1e-6 {
            self.legs.push(leg);
        }
    }

    /// Turns on the headland towards the pass on `line`, reaching `depth` further out.
    fn turn_to(&mut self, line: f64, depth: f64) {
        let Some(last) = self.legs.last() else { return };
        let [x, y] = last.to;
        let outwards = depth * last.direction()[1].signum();
        self.drive_to([x, y + outwards / 2.0]);
        self.drive_to([(x + line) / 2.0, y + outwards]);
        self.drive_to([line, y + outwards / 2.0]);
    }

    /// Cuts from one point to another, crop standing `cut` to the right of the way.
    fn cut(&mut self, from: [f64; 2], to: [f64; 2], cut: [f64; 2]) {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        let lead = [
            (to[0] - from[0]) / length * LEAD_M,
            (to[1] - from[1]) / length * LEAD_M,
        ];
        let before = [from[0] - lead[0], from[1] - lead[1]];
        let behind = [to[0] + lead[0], to[1] + lead[1]];
        self.drive_to(before);
        self.pass += 1;
        let leg = |from, to, cut, since_down_m, until_up_m| Leg {
            from,
            to,
            pass: self.pass,
            header_down: true,
            cut,
            since_down_m,
            until_up_m,
        };
        self.legs.extend([
            leg(before, from, None, 0.0, length + LEAD_M),
            leg(from, to, Some(cut), LEAD_M, LEAD_M),
            leg(to, behind, None, length + LEAD_M, 0.0),
        ]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan() -> FieldPlan {
        FieldPlan {
            passes: 7,
            pass_length_m: 120.0,
            blocks: 1,
            swath_overlap_m: 0.3,
            ..FieldPlan::default()
        }
    }

    #[test]
    fn legs_follow_each_other() {
        let route = route(&plan());
        for pair in route.legs.windows(2) {
            assert_eq!(pair[0].to, pair[1].from);
        }
        assert!(!route.legs[0].from.iter().any(|v| v.is_nan()));
        assert_eq!(route.legs.iter().map(|leg| leg.pass).max(), Some(2 * 4 + 7));
    }

    /// Law: every square metre of the field is cut, and none twice.
    #[test]
    fn what_is_cut_is_the_field() {
        for overlap in [0.0, 0.3] {
            let plan = FieldPlan {
                swath_overlap_m: overlap,
                ..plan()
            };
            let cut: f64 = route(&plan)
                .legs
                .iter()
                .filter_map(|leg| leg.cut.map(|[from, to]| (to - from) * leg.length_m()))
                .sum();
            let [across, along] = plan.size_m();
            assert!(
                (cut - across * along).abs() < 1e-6 * cut,
                "{cut} of {}",
                across * along
            );
        }
    }

    #[test]
    fn turns_stay_on_the_headland_in_front_of_their_pass() {
        let plan = plan();
        let [_, along] = plan.size_m();
        let route = route(&plan);
        let headland = plan.headland_m();
        for leg in route
            .legs
            .iter()
            .filter(|leg| !leg.header_down && leg.pass > 8)
        {
            for y in [leg.from[1], leg.to[1]] {
                assert!(y <= headland || y >= along - headland, "{leg:?}");
                assert!((0.0..=along).contains(&y), "{leg:?}");
            }
        }
    }
}
