//! The section on the advantage along the strips: how windows were formed, whether the advantage changes
//! from place to place by more than luck, and the chart of each treatment.

use crate::along_plot::AlongPlot;
use crate::answer::payoff_of;
use crate::figures::{Figures, counted, number, p_value};
use checkstrip_model::results::{
    AdvantageAlong, AlongStretch, AlongStrips, AlongTest, AlongWindow, Results,
};
use serde::Serialize;

/// Chance that is taken for luck no longer, as everywhere in the report.
const LUCK: f64 = 0.05;

/// One treatment.
#[derive(Debug, Serialize)]
struct Part {
    title: String,
    sentences: Vec<String>,
    chart: Option<AlongPlot>,
    caption: String,
}

/// The section, ready for the template.
#[derive(Debug, Serialize)]
pub(crate) struct AlongSection {
    intro: String,
    parts: Vec<Part>,
}

/// The section; `None` when there was no check to compare with.
pub(crate) fn along_section(results: &Results, figures: Figures) -> Option<AlongSection> {
    let along = results.along_strips.as_ref()?;
    let intro = match (&along.why_none, along.window_m, along.step_m) {
        (Some(why), ..) => why.clone(),
        (None, Some(window_m), Some(step_m)) => intro(along, window_m, step_m, figures),
        _ => return None,
    };
    let part = |shown: &AdvantageAlong| {
        let even = payoff_of(results, &shown.treatment).map(|payoff| payoff.break_even_bu_ac);
        let step_m = along.step_m.unwrap_or(f64::INFINITY);
        Part {
            title: format!("{} less {} along the strips", shown.treatment, shown.check),
            sentences: sentences(shown, figures),
            chart: AlongPlot::new(shown, step_m, &along.from_end, even, figures),
            caption: caption(shown),
        }
    };
    Some(AlongSection {
        intro,
        parts: along.treatments.iter().map(part).collect(),
    })
}

fn intro(along: &AlongStrips, window_m: f64, step_m: f64, figures: Figures) -> String {
    let mut text = format!(
        "Where along the strips did it gain? Each point of a chart is the mean of the blocks over {} of \
         driving, and every {} there is a new one, so neighbouring points share ground. Distances count \
         from the {} end.",
        figures.whole_length(window_m),
        figures.whole_length(step_m),
        along.from_end
    );
    if along.strips_left_out > 0 {
        let (one, many) = ("strip, which runs", "strips, which run");
        text.push_str(&format!(
            " Left out: {} another way than most.",
            counted(along.strips_left_out, one, many)
        ));
    }
    text
}

pub(crate) fn p_words(p: f64) -> String {
    let text = p_value(p);
    if text.starts_with('<') {
        format!("p {text}")
    } else {
        format!("p = {text}")
    }
}

fn sentences(along: &AdvantageAlong, figures: Figures) -> Vec<String> {
    let (Some(anywhere), Some(change)) = (&along.anywhere, &along.change) else {
        return vec![format!(
            "With {} and {} nothing can be said about luck along the strips: three blocks and two \
             windows are the least.",
            counted(along.blocks, "block", "blocks"),
            counted(along.windows.len(), "window", "windows")
        )];
    };
    if anywhere.smallest_p > LUCK {
        return vec![format!(
            "With {} no stretch can be told from luck: the smallest p that so few can give is {}, \
             whatever the yields. Six blocks or more are needed.",
            counted(along.blocks, "block", "blocks"),
            number(anywhere.smallest_p, 2)
        )];
    }
    vec![
        change_words(change, figures),
        anywhere_words(along, anywhere, figures),
    ]
}

/// `1,200 to 1,397 ft`.
fn from_to(from_m: f64, to_m: f64, figures: Figures) -> String {
    let from = number(figures.shown_length(from_m), 0);
    format!("{from} to {}", figures.whole_length(to_m))
}

fn change_words(change: &AlongTest, figures: Figures) -> String {
    let p = p_words(change.p_value);
    if change.p_value > LUCK {
        return format!(
            "Nothing shows that the advantage changes along the strips ({p}): ups and downs like those in \
             the chart come about by the luck of the ground alone. Do not treat parts of the field \
             differently for them."
        );
    }
    let [from_m, to_m] = change.most_at_m;
    format!(
        "The advantage changes along the strips by more than luck ({p}). What stands out most is {}, \
         where it is {} {} {} than its mean along the strips.",
        from_to(from_m, to_m, figures),
        figures.yields(change.most_kg_ha.abs()),
        figures.yield_unit(),
        if change.most_kg_ha > 0.0 {
            "more"
        } else {
            "less"
        }
    )
}

fn anywhere_words(along: &AdvantageAlong, anywhere: &AlongTest, figures: Figures) -> String {
    let p = p_words(anywhere.p_value);
    let named = |side: &str| -> Option<String> {
        let of_side = |stretch: &&AlongStretch| stretch.side == side;
        let found = along.stretches.iter().filter(of_side);
        let words: Vec<String> = found
            .map(|stretch| from_to(stretch.from_m, stretch.to_m, figures))
            .collect();
        (!words.is_empty()).then(|| words.join(" and "))
    };
    let (gain, loss) = (named("gain"), named("loss"));
    let said = match (&gain, &loss) {
        (Some(gain), Some(loss)) => format!("it gained from {gain}, and lost from {loss}"),
        (Some(gain), None) => format!("it gained from {gain}"),
        (None, Some(loss)) => format!("it lost from {loss}"),
        (None, None) if anywhere.p_value <= LUCK => {
            return format!(
                "Somewhere along the strips it differs from the check by more than luck ({p}), but with \
                 all windows judged at once no one stretch is sure."
            );
        }
        (None, None) => {
            return format!(
                "With all windows judged at once, no stretch differs from zero by more than luck ({p})."
            );
        }
    };
    let mut text = format!(
        "With all windows judged at once, {said}; that there is no difference anywhere has {p}."
    );
    if along
        .change
        .as_ref()
        .is_some_and(|change| change.p_value > LUCK)
    {
        text.push_str(" That is where it is surest, not where it is larger than elsewhere.");
    }
    text
}

fn caption(along: &AdvantageAlong) -> String {
    let narrow = "holds 19 times in 20 at a place chosen before the harvest; among many places, about one in \
                  twenty leaves the line of no difference out by luck alone.";
    let at_once = |window: &AlongWindow| window.interval_95_family_kg_ha.is_some();
    if along.windows.iter().any(at_once) {
        format!(
            "Read the wide band: it holds at all places at once, about 19 times in 20. The narrow one {narrow}"
        )
    } else if along.blocks > 1 {
        format!("The band {narrow}")
    } else {
        "One block: there is nothing to judge its ups and downs by.".to_owned()
    }
}
