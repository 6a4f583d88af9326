//! Ground out of task data: the boundary of a partfield, and treatment zones as strips or zones, each with
//! its rates in words.

use checkstrip_model::Problem;
use checkstrip_model::units::shortest;

use super::data_dictionary::{name, rate_in_words};
use super::device::Presentation;
use super::element::Element;
use super::grid::GridZone;
use super::{TaskSet, listed};
use crate::cell::Cell;
use crate::feature::{Feature, FeatureFile, Rings};
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

/// Attributes of treatment zones.
const ATTRIBUTES: [&str; 4] = ["treatment", "designator", "zone", "strip_id"];

/// Whether `task` has treatment zones with ground.
pub(super) fn is_prescription(task: &Element) -> bool {
    let has_polygons = |zone: &Element| zone.each("PLN").next().is_some();
    task.each("TZN").any(has_polygons) || task.each("GRD").next().is_some()
}

/// Adds the ground `polygons` of `zone`, on which `treatment` is done, to `features`.
fn push_zone(features: &mut Vec<Feature>, treatment: &str, zone: &Element, polygons: Vec<Rings>) {
    let row = features.len() as u32 + 1;
    let designator = zone.text("B").unwrap_or_default();
    let values = [treatment, designator, treatment, &row.to_string()].map(Cell::text);
    let names = ATTRIBUTES.map(str::to_owned);
    features.push(Feature {
        row,
        polygons,
        attributes: names.into_iter().zip(values).collect(),
    });
}

impl TaskSet {
    /// The polygons asked for, as any other file of polygons holds them.
    ///
    /// Zones have the attributes `treatment` (their rates with units, else their name), `designator`, `zone`
    /// (the same as treatment) and `strip_id`.
    ///
    /// # Errors
    /// When there are none, or they are of several fields or tasks and none was chosen.
    pub(crate) fn polygons(mut self, wanted: Wanted) -> Result<PolygonFile, Problem> {
        self.read_binary_files("PNT", "J")?;
        let file = self.files.given.clone();
        let (features, attribute_names) = match wanted {
            Wanted::Boundary => (self.boundary()?, Vec::new()),
            Wanted::Zones => {
                self.read_binary_files("GRD", "G")?;
                let (features, left_out) = self.zones()?;
                self.problems.extend(left_out);
                (features, ATTRIBUTES.map(str::to_owned).to_vec())
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
        let of_kind = self.outlines(field);
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

    /// The polygons of a partfield that are its outline; a lone one is, whatever it calls itself.
    pub(super) fn outlines<'e>(&self, field: &'e Element) -> Vec<&'e Element> {
        let all: Vec<&Element> = field.each("PLN").collect();
        let of_kind: Vec<&Element> = all
            .iter()
            .copied()
            .filter(|outline| outline.text("A") == Some(PARTFIELD_BOUNDARY))
            .collect();
        match (of_kind.is_empty(), all.len()) {
            (true, 1) => all,
            _ => of_kind,
        }
    }

    fn zones(&self) -> Result<(Vec<Feature>, Vec<Problem>), Problem> {
        let file = self.files.given.as_str();
        let tasks = self.tasks()?.into_iter().map(|(_, task)| task);
        let tasks: Vec<&Element> = tasks.filter(|task| is_prescription(task)).collect();
        let &[task] = &tasks[..] else {
            let (message, hint) = match tasks.len() {
                0 => (
                    "no treatment zone with a polygon, and no grid in it".to_owned(),
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
            let treatment = self.treatment(zone, None);
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
                push_zone(&mut features, &treatment, zone, rings);
            }
        }
        let grids: Vec<&Element> = task.each("GRD").collect();
        let left_out = match grids[..] {
            [] => Vec::new(),
            [grid] => {
                let (found, left_out) = self.grid_zones(task, grid)?;
                for GridZone {
                    zone,
                    values,
                    polygons,
                } in found
                {
                    let treatment = self.treatment(zone, values.as_deref());
                    push_zone(&mut features, &treatment, zone, polygons);
                }
                left_out
            }
            _ => {
                let message = format!("expected one grid in the task, found {}", grids.len());
                return Err(Problem::new(file, message).hint(
                    "export one product at a time: strips of several grids would lie on each other",
                ));
            }
        };
        Ok((features, left_out))
    }

    /// What is done in a zone: its rates, else its name. `values` are the rates where a grid holds them.
    fn treatment(&self, zone: &Element, values: Option<&[i32]>) -> String {
        let rates = self.rates(zone, values);
        match (rates.is_empty(), zone.text("B")) {
            (false, _) => rates,
            (true, Some(designator)) => designator.to_owned(),
            (true, None) => format!("zone {}", zone.text("A").unwrap_or_default()),
        }
    }

    /// The rates of a zone in words, such as `140 kg/ha`; with the products' names where there are several.
    /// `values` stand for those of the zone where a grid holds them.
    fn rates(&self, zone: &Element, values: Option<&[i32]>) -> String {
        let rates: Vec<&Element> = zone.each("PDV").collect();
        let words = rates.iter().enumerate().filter_map(|(at, rate)| {
            let entry = rate.data_entry("A")?;
            let value: i32 = match values {
                Some(values) => *values.get(at)?,
                None => rate.number("B")?,
            };
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
    pub(super) fn rings(&self, polygon: &Element) -> Result<Vec<Rings>, Problem> {
        let lines: Vec<&Element> = polygon.each("LSG").collect();
        let mut rings = Vec::new();
        for line in &lines {
            // A lone line string is the outline, whatever it calls itself.
            let is_ring = matches!(line.text("A"), Some(OUTER | INNER)) || lines.len() == 1;
            if is_ring {
                let points = self.points(line)?;
                rings.push(points.into_iter().map(|point| point.position).collect());
            }
        }
        Ok(nest(rings))
    }
}
