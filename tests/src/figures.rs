//! Two JSON values held against each other: the same shape and words, and figures that agree to
//! within what the last digits of doubles and of written coordinates can do.

use serde_json::Value;

/// Panics, naming the place, unless `a` and `b` are the same but for rounding: numbers may differ by
/// 1 in 10⁶ of the larger, or by 10⁻⁵ where both are small.
#[track_caller]
pub fn same_figures(place: &str, a: &Value, b: &Value) {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().expect("a number"), y.as_f64().expect("a number"));
            let within = 1e-6 * x.abs().max(y.abs()) + 1e-5;
            assert!((x - y).abs() <= within, "{place}: {x} against {y}");
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{place}: entries");
            for (at, (x, y)) in x.iter().zip(y).enumerate() {
                same_figures(&format!("{place}[{at}]"), x, y);
            }
        }
        (Value::Object(x), Value::Object(y)) => {
            let keys = |map: &serde_json::Map<String, Value>| -> Vec<String> {
                map.keys().cloned().collect()
            };
            assert_eq!(keys(x), keys(y), "{place}: keys");
            for (key, x) in x {
                same_figures(&format!("{place}.{key}"), x, &y[key]);
            }
        }
        _ => assert_eq!(a, b, "{place}"),
    }
}
