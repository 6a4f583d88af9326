//! The section on the advantage along the strips: how windows were formed, whether the advantage changes
//! from place to place by more than luck, and the chart of each treatment.

use crate::along_plot::AlongPlot;
use crate::answer::payoff_of;
use crate::figures::Figures;
use checkstrip_model::results::{
    AdvantageAlong, AlongStretch, AlongStrips, AlongTest, AlongWindow, Results,
};
use checkstrip_words::say;
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
        (Some(why), ..) => figures
            .words
            .carried("along-none", why, &along.why_none_values),
        (None, Some(window_m), Some(step_m)) => intro(along, window_m, step_m, figures),
        _ => return None,
    };
    let part = |shown: &AdvantageAlong| {
        let even = payoff_of(results, &shown.treatment).map(|payoff| payoff.break_even_bu_ac);
        let step_m = along.step_m.unwrap_or(f64::INFINITY);
        Part {
            title: say!(
                figures.words,
                "along-title",
                comparison = figures.difference_name(&shown.treatment, &shown.check)
            ),
            sentences: sentences(shown, figures),
            chart: AlongPlot::new(shown, step_m, &along.from_end, even, figures),
            caption: caption(shown, figures),
        }
    };
    Some(AlongSection {
        intro,
        parts: along.treatments.iter().map(part).collect(),
    })
}

fn intro(along: &AlongStrips, window_m: f64, step_m: f64, figures: Figures) -> String {
    let words = figures.words;
    let mut text = say!(
        words,
        "along-intro",
        window = figures.whole_length(window_m),
        step = figures.whole_length(step_m),
        end = words.compass(&along.from_end)
    );
    if along.strips_left_out > 0 {
        text.push(' ');
        text.push_str(&figures.counted("along-left-out", along.strips_left_out));
    }
    text
}

fn sentences(along: &AdvantageAlong, figures: Figures) -> Vec<String> {
    let words = figures.words;
    let blocks = figures.counted("count-blocks", along.blocks);
    let (Some(anywhere), Some(change)) = (&along.anywhere, &along.change) else {
        return vec![say!(
            words,
            "along-untested",
            blocks = blocks,
            windows = figures.counted("count-windows", along.windows.len())
        )];
    };
    if anywhere.smallest_p > LUCK {
        return vec![say!(
            words,
            "along-few-blocks",
            blocks = blocks,
            p = figures.number(anywhere.smallest_p, 2)
        )];
    }
    vec![
        change_words(change, figures),
        anywhere_words(along, anywhere, figures),
    ]
}

/// `1,200 to 1,397 ft`.
pub(crate) fn from_to(from_m: f64, to_m: f64, figures: Figures) -> String {
    say!(
        figures.words,
        "range-with-unit",
        low = figures.number(figures.shown_length(from_m), 0),
        high = figures.number(figures.shown_length(to_m), 0),
        unit = figures.length_unit()
    )
}

fn change_words(change: &AlongTest, figures: Figures) -> String {
    let words = figures.words;
    let p = figures.p_words(change.p_value);
    if change.p_value > LUCK {
        return say!(words, "along-no-change", p = p);
    }
    let [from_m, to_m] = change.most_at_m;
    say!(
        words,
        "along-change",
        outcome = if change.most_kg_ha > 0.0 {
            "more"
        } else {
            "less"
        },
        p = p,
        stretch = from_to(from_m, to_m, figures),
        size = figures.yields(change.most_kg_ha.abs()),
        unit = figures.yield_unit()
    )
}

fn anywhere_words(along: &AdvantageAlong, anywhere: &AlongTest, figures: Figures) -> String {
    let words = figures.words;
    let p = figures.p_words(anywhere.p_value);
    let named = |side: &str| -> Option<String> {
        let of_side = |stretch: &&AlongStretch| stretch.side == side;
        let found = along.stretches.iter().filter(of_side);
        found
            .map(|stretch| from_to(stretch.from_m, stretch.to_m, figures))
            .reduce(|first, second| say!(words, "joined-and", first = first, second = second))
    };
    let mut text = match (named("gain"), named("loss")) {
        (Some(gain), Some(loss)) => {
            say!(
                words,
                "along-gained-and-lost",
                gain = gain,
                loss = loss,
                p = p
            )
        }
        (Some(gain), None) => say!(words, "along-gained", gain = gain, p = p),
        (None, Some(loss)) => say!(words, "along-lost", loss = loss, p = p),
        (None, None) if anywhere.p_value <= LUCK => {
            return say!(words, "along-somewhere", p = p);
        }
        (None, None) => return say!(words, "along-nowhere", p = p),
    };
    if along
        .change
        .as_ref()
        .is_some_and(|change| change.p_value > LUCK)
    {
        text.push(' ');
        text.push_str(&say!(words, "along-surest"));
    }
    text
}

fn caption(along: &AdvantageAlong, figures: Figures) -> String {
    let words = figures.words;
    let at_once = |window: &AlongWindow| window.interval_95_family_kg_ha.is_some();
    if along.windows.iter().any(at_once) {
        say!(words, "along-caption-wide")
    } else if along.blocks > 1 {
        say!(words, "along-caption-narrow")
    } else {
        say!(words, "along-caption-none")
    }
}
