//! Ground out of task data: the boundary of a partfield, and treatment zones as strips or zones, each with
//! its rates in words.

use checkstrip_model::Problem;

use super::data_dictionary::{name, rate_in_words, shortest};
use super::device::Presentation;
use super::element::Element;
use super::{TaskSet, listed};
use crate::cell::Cell;
use crate::feature::{Feature, FeatureFile};
use crate::ground::nest;
use crate::polygon_file::PolygonFile;

/// Which polygons are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// The outline of the field.
    Boundary,
    /// The ground of treatment zones.
    Zones,
}

/// Line strings of a polygon (LSG, attribute A).
const OUTER: &str = "1";
const INNER: &str = "2";
/// Polygons of a partfield that are its outline (PLN, attribute A).
const PARTFIELD_BOUNDARY: &str = "1";

impl TaskSet {
    /// The polygons asked for, as any other file of polygons holds them.
    ///
    /// Zones have the attributes `treatment` (their rates with units, else their name), `designator`, `zone`
    /// (the same as treatment) and `strip_id`.
    ///
    /// # Errors
    /// When there are none, or they are of several fields or tasks and none was chosen.
    pub(crate) fn polygons(self, wanted: Wanted) -> Result<PolygonFile, Problem> {
        let file = self.files.given.clone();
        let (features, attribute_names) = match wanted {
            Wanted::Boundary => (self.boundary()?, Vec::new()),
            Wanted::Zones => {
                let names = ["treatment", "designator", "zone", "strip_id"];
                (self.zones()?, names.map(str::to_owned).to_vec())
            }
        };
        Ok(PolygonFile {
            sha256: self.files.sha256(),
            file,
            features: FeatureFile {
                features,
                attribute_names,
                crs: None,
                short_names: false,
                problems: self.problems,
            },
        })
    }

    fn boundary(&self) -> Result<Vec<Feature>, Problem> {
        let file = self.files.given.as_str();
        let fields: Vec<&Element> = self.root.each("PFD").collect();
        let called = |field: &Element| {
            field
                .text("C")
                .or(field.text("A"))
                .unwrap_or("no name")
                .to_owned()
        };
        let field = self.the_one(&fields, "field", |field| {
            let names = [field.text("A"), field.text("C"), field.text("B")];
            (
                called(field),
                names.into_iter().flatten().map(str::to_owned).collect(),
            )
        })?;
        let outlines: Vec<&Element> = field.each("PLN").collect();
        let mut of_kind: Vec<&Element> = outlines
            .iter()
            .copied()
            .filter(|outline| outline.text("A") == Some(PARTFIELD_BOUNDARY))
            .collect();
        if of_kind.is_empty() && outlines.len() == 1 {
            of_kind = outlines;
        }
        if of_kind.is_empty() {
            let message = format!("the field {:?} has no boundary in it", called(field));
            return Err(
                Problem::new(file, message).hint("draw it, or give it as GeoJSON or Shapefile")
            );
        }
        let mut features = Vec::new();
        for (at, outline) in of_kind.into_iter().enumerate() {
            features.push(Feature {
                row: at as u32 + 1,
                polygons: self.rings(outline)?,
                attributes: Vec::new(),
            });
        }
        Ok(features)
    }

    fn zones(&self) -> Result<Vec<Feature>, Problem> {
        let file = self.files.given.as_str();
        let tasks: Vec<&Element> = self
            .tasks()?
            .into_iter()
            .filter(|task| {
                task.each("TZN")
                    .any(|zone| zone.each("PLN").next().is_some())
            })
            .collect();
        let &[task] = &tasks[..] else {
            let (message, hint) = match tasks.len() {
                0 if self
                    .root
                    .each("TSK")
                    .any(|task| task.each("GRD").next().is_some()) =>
                {
                    (
                        "its treatment zones are cells of a grid, which is not read".to_owned(),
                        "export the prescription as polygons".to_owned(),
                    )
                }
                0 => (
                    "no treatment zone with a polygon in it".to_owned(),
                    "give the planned task, or the strips as GeoJSON or Shapefile".to_owned(),
                ),
                several => (
                    format!("{several} tasks in it have treatment zones"),
                    format!(
                        "name one behind a colon, as in {file}:NAME; they are {}",
                        listed(tasks.iter().map(|task| self.task_name(task)))
                    ),
                ),
            };
            return Err(Problem::new(file, message).hint(hint));
        };
        let mut features: Vec<Feature> = Vec::new();
        for zone in task.each("TZN") {
            let code = zone.text("A").unwrap_or_default();
            let designator = zone.text("B").unwrap_or_default();
            let rates = self.rates(zone);
            let treatment = match (rates.is_empty(), designator.is_empty()) {
                (false, _) => rates,
                (true, false) => designator.to_owned(),
                (true, true) => format!("zone {code}"),
            };
            // Parts of one strip carry its name; polygons without one are each on their own.
            let mut named: Vec<(String, usize)> = Vec::new();
            for polygon in zone.each("PLN") {
                let part = polygon.text("B").unwrap_or_default().to_owned();
                let rings = self.rings(polygon)?;
                if let Some((_, at)) = named
                    .iter()
                    .find(|(name, _)| !part.is_empty() && *name == part)
                {
                    features[*at].polygons.extend(rings);
                    continue;
                }
                named.push((part, features.len()));
                let row = features.len() as u32 + 1;
                let mut attributes = Vec::new();
                for (key, value) in [
                    ("treatment", treatment.clone()),
                    ("zone", treatment.clone()),
                    ("designator", designator.to_owned()),
                    ("strip_id", row.to_string()),
                ] {
                    attributes.push((key.to_owned(), Cell::text(&value)));
                }
                features.push(Feature {
                    row,
                    polygons: rings,
                    attributes,
                });
            }
        }
        Ok(features)
    }

    /// The rates of a zone in words, such as `140 kg/ha`; with the products' names where there are several.
    fn rates(&self, zone: &Element) -> String {
        let rates: Vec<&Element> = zone.each("PDV").collect();
        let words = rates.iter().filter_map(|rate| {
            let entry = rate.data_entry("A")?;
            let value: i32 = rate.number("B")?;
            let shown = rate
                .text("E")
                .and_then(|id| self.with_id("VPN", id))
                .map(Presentation::new);
            let amount = match shown {
                Some(shown) => {
                    let amount = (f64::from(value) + shown.offset) * shown.scale;
                    format!("{} {}", shortest(amount, shown.decimals), shown.unit)
                }
                None => rate_in_words(entry, value)
                    .unwrap_or_else(|| format!("{value} of {}", name(entry))),
            };
            let product = self
                .designator("PDT", "B", rate.text("C"))
                .filter(|_| rates.len() > 1);
            Some(match product {
                Some(product) => format!("{product} {}", amount.trim()),
                None => amount.trim().to_owned(),
            })
        });
        words.collect::<Vec<String>>().join(", ")
    }

    /// The only one of `elements`, or the one that was chosen; `names` gives its name for messages and all that
    /// it may be called.
    pub(super) fn the_one<'e>(
        &self,
        elements: &[&'e Element],
        what: &str,
        names: impl Fn(&Element) -> (String, Vec<String>),
    ) -> Result<&'e Element, Problem> {
        let file = self.files.given.as_str();
        let is_chosen = |element: &&&'e Element| match &self.choice {
            Some(wanted) => names(element)
                .1
                .iter()
                .any(|name| name.trim().eq_ignore_ascii_case(wanted)),
            None => true,
        };
        let found: Vec<&&'e Element> = elements.iter().filter(is_chosen).collect();
        if let &[only] = &found[..] {
            return Ok(only);
        }
        let message = match (found.len(), &self.choice) {
            (0, Some(wanted)) if !elements.is_empty() => {
                format!("no {what} in it is called {wanted:?}")
            }
            (0, _) => format!("no {what} in it"),
            (several, _) => format!("expected one {what}, found {several}"),
        };
        let hint = match elements.is_empty() {
            true => "export the task data with it, or give it as GeoJSON".to_owned(),
            false => format!(
                "name one behind a colon, as in {file}:NAME; there are {}",
                listed(elements.iter().map(|element| names(element).0))
            ),
        };
        Err(Problem::new(file, message).hint(hint))
    }

    /// The polygons of a PLN element: rings sorted into outlines and holes, which version 3 may mix.
    fn rings(&self, polygon: &Element) -> Result<Vec<Vec<Vec<[f64; 2]>>>, Problem> {
        let lines: Vec<&Element> = polygon.each("LSG").collect();
        let mut rings = Vec::new();
        for line in &lines {
            // A lone line string is the outline, whatever it calls itself.
            let is_ring = matches!(line.text("A"), Some(OUTER | INNER)) || lines.len() == 1;
            if is_ring {
                rings.push(self.points(line)?);
            }
        }
        Ok(nest(rings))
    }

    /// The points of an LSG element, longitude and latitude in degrees.
    pub(super) fn points(&self, line: &Element) -> Result<Vec<[f64; 2]>, Problem> {
        let file = self.files.given.as_str();
        let mut points = Vec::new();
        for point in line.each("PNT") {
            if point.text("J").is_some() {
                return Err(Problem::new(
                    file,
                    "its points are in a binary file (PNT), which is not read",
                )
                .hint("export the field with its points in the XML"));
            }
            let (Some(lat), Some(lon)) = (point.number::<f64>("C"), point.number::<f64>("D"))
            else {
                return Err(Problem::new(file, "a point (PNT) without north or east")
                    .hint("the file was edited or is damaged: export it again"));
            };
            points.push([lon, lat]);
        }
        Ok(points)
    }
}
