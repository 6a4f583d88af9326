//! Strips edited in GeoJSON: features that nobody touched stay as they are, members that mean nothing
//! here too.

use checkstrip_model::Problem;
use serde_json::{Map, Value, json};

use super::changes::Changes;
use super::{EditedStrip, StripFile};
use crate::geojson::json_problem;

/// The text of `file` with `changes`, one feature on each line.
pub(super) fn edited(
    file: &StripFile,
    bytes: &[u8],
    changes: &Changes<'_>,
) -> Result<Vec<u8>, Problem> {
    let shown = file.shown();
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let document: Value =
        serde_json::from_slice(text).map_err(|error| json_problem(&shown, text, &error))?;
    let Value::Object(mut members) = document else {
        return Err(Problem::new(shown, "expected GeoJSON features"));
    };
    let features = match members.remove("features") {
        Some(Value::Array(features)) => features,
        // A single feature: what it says of the coordinates is said of the collection it becomes.
        _ => {
            let mut feature = std::mem::take(&mut members);
            for member in ["crs", "name"] {
                if let Some(value) = feature.remove(member) {
                    members.insert(member.to_owned(), value);
                }
            }
            members.insert("type".to_owned(), "FeatureCollection".into());
            vec![Value::Object(feature)]
        }
    };
    // Boxes around the features would be wrong.
    members.remove("bbox");

    let writer = Writer {
        file,
        with_names: file.names.strip_id.is_some() || changes.need_names(),
        with_blocks: file.names.block.is_some() || changes.have_blocks(),
    };
    let mut written = Vec::new();
    for ((strip, heir), feature) in changes.kept.iter().zip(&features) {
        let (Some(edited), Value::Object(feature)) = (heir, feature) else {
            continue;
        };
        let mut feature = feature.clone();
        writer.name(
            &mut feature,
            edited,
            [
                strip.treatment != edited.treatment,
                strip.block != edited.block,
                strip.strip_id != edited.strip_id,
            ],
        );
        if strip.ground != edited.ground {
            writer.draw(&mut feature, edited)?;
        }
        written.push(feature);
    }
    for (source, edited) in &changes.added {
        let source = source
            .and_then(|strip| features.get(strip.row as usize - 1))
            .and_then(Value::as_object);
        let mut feature = source.cloned().unwrap_or_default();
        feature.remove("id");
        feature.insert("type".to_owned(), "Feature".into());
        writer.name(&mut feature, edited, [true; 3]);
        writer.draw(&mut feature, edited)?;
        written.push(feature);
    }
    text_of(members, &written)
        .map_err(|error| Problem::new(shown, format!("cannot be written as GeoJSON: {error}")))
}

struct Writer<'a> {
    file: &'a StripFile,
    with_names: bool,
    with_blocks: bool,
}

impl Writer<'_> {
    /// Writes treatment, block and name where they changed, and the name where the file had none.
    fn name(&self, feature: &mut Map<String, Value>, edited: &EditedStrip, changed: [bool; 3]) {
        let (names, options) = (&self.file.names, &self.file.options);
        let treatment = self.file.attribute(&names.treatment, &options.treatment);
        let block = self.file.attribute(&names.block, &options.block);
        let strip_id = self.file.attribute(&names.strip_id, &options.strip_id);
        let [new_treatment, new_block, new_id] = changed;
        let new_id = new_id || names.strip_id.is_none();
        if !matches!(feature.get("properties"), Some(Value::Object(_))) {
            feature.insert("properties".to_owned(), Value::Object(Map::new()));
        }
        let Some(Value::Object(properties)) = feature.get_mut("properties") else {
            return;
        };
        if new_treatment {
            properties.insert(treatment.to_owned(), edited.treatment.as_str().into());
        }
        if new_block && self.with_blocks {
            properties.insert(block.to_owned(), edited.block.as_deref().into());
        }
        if new_id && self.with_names {
            properties.insert(strip_id.to_owned(), edited.strip_id.as_str().into());
        }
    }

    fn draw(&self, feature: &mut Map<String, Value>, edited: &EditedStrip) -> Result<(), Problem> {
        let polygons = self
            .file
            .places
            .polygons(&self.file.shown(), &edited.ground)?;
        let geometry = match polygons.as_slice() {
            [only] => json!({ "type": "Polygon", "coordinates": only }),
            several => json!({ "type": "MultiPolygon", "coordinates": several }),
        };
        feature.insert("geometry".to_owned(), geometry);
        feature.remove("bbox");
        Ok(())
    }
}

/// The document: its members, and the features last.
fn text_of(
    members: Map<String, Value>,
    features: &[Map<String, Value>],
) -> serde_json::Result<Vec<u8>> {
    let mut text = serde_json::to_vec(&Value::Object(members))?;
    text.pop();
    text.extend_from_slice(b",\"features\":[\n");
    for (at, feature) in features.iter().enumerate() {
        if at > 0 {
            text.extend_from_slice(b",\n");
        }
        serde_json::to_writer(&mut text, feature)?;
    }
    text.extend_from_slice(b"\n]}\n");
    Ok(text)
}
