//! Why a curve of yield on rate is used, in sentences: `trial` writes them in English into the results, the report
//! says the same in the reader's language.

use crate::words::Words;

/// AICc further apart than this tells curves apart (Burnham, K. P. and Anderson, D. R., 2002, *Model Selection and
/// Multimodel Inference*, Springer, section 2.6).
const ABOUT_AS_GOOD: f64 = 2.0;
/// Fewer rates than this cannot tell a plateau from a curve.
const RATES_FOR_A_PLATEAU: usize = 4;

/// The name of the curve with this key.
pub(crate) fn curve_name(words: &Words, curve: &str) -> String {
    match curve {
        "flat" => crate::say!(words, "rates-curve-flat"),
        "linear" => crate::say!(words, "rates-curve-linear"),
        "quadratic" => crate::say!(words, "rates-curve-quadratic"),
        "quadratic_plateau" => crate::say!(words, "rates-curve-quadratic-plateau"),
        other => other.to_owned(),
    }
}

/// Why the first of these curves is used: each with its key and its AICc, best first, fitted through so many `rates`.
/// Empty when the first has no AICc. A reader is told of curves about as good, because their best rates may differ.
pub fn why_curve(words: &Words, curves: &[(&str, Option<f64>)], rates: usize) -> String {
    let Some((first, Some(lowest))) = curves.first() else {
        return String::new();
    };
    let name = curve_name(words, first);
    let others: Vec<(String, f64)> = curves[1..]
        .iter()
        .filter_map(|(curve, aicc)| Some((curve_name(words, curve), (*aicc)? - lowest)))
        .collect();
    let higher: Vec<String> = others
        .iter()
        .map(|(curve, above)| {
            crate::say!(
                words,
                "rates-why-other",
                curve = curve,
                above = words.marks().ungrouped(*above, 1)
            )
        })
        .collect();
    let mut said = vec![if higher.is_empty() {
        crate::say!(words, "rates-why", curve = name)
    } else {
        crate::say!(
            words,
            "rates-why-others",
            curve = name,
            others = higher.join(", ")
        )
    }];
    let near = others
        .iter()
        .filter(|(_, above)| *above < ABOUT_AS_GOOD)
        .map(|(curve, _)| curve.clone())
        .reduce(|first, second| {
            crate::say!(words, "rates-why-and-the", first = first, second = second)
        });
    if let Some(near) = near {
        let apart = words.number(ABOUT_AS_GOOD, 0);
        said.push(crate::say!(
            words,
            "rates-why-near",
            apart = apart,
            curves = near
        ));
    }
    if *first == "flat" {
        said.push(crate::say!(words, "rates-why-flat"));
    }
    if rates < RATES_FOR_A_PLATEAU {
        said.push(crate::say!(words, "rates-why-few"));
    }
    said.join(" ")
}

impl Words {
    /// The name of the curve with this key, such as `quadratic_plateau`.
    pub fn curve_name(&self, curve: &str) -> String {
        curve_name(self, curve)
    }
}
