//! A planned task for a machine's terminal: `TASKDATA.XML` of ISO 11783-10:2015, *Tractors and
//! machinery for agriculture and forestry — Serial control and communications data network —
//! Part 10: Task controller and management information system data interchange*, version 4. It holds
//! the field with its boundary, groups of A-B guidance lines and a treatment zone for every strip; no
//! rates, for what is done on a strip is the driver's business.

use std::io;
use std::path::Path;

use geo::{LineString, MultiPolygon};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, Event};

use super::write_bytes_atomically;
use crate::FormatError;

/// What a task holds. Positions are WGS 84 longitude and latitude, degrees.
#[derive(Debug, Clone)]
pub struct TaskData {
    /// Name of the field.
    pub field: String,
    /// Its boundary.
    pub boundary: MultiPolygon<f64>,
    /// Its area, m².
    pub area_m2: f64,
    /// Name of the task.
    pub task: String,
    /// Guidance lines in groups.
    pub guidance: Vec<GuidanceGroup>,
    /// The strips.
    pub zones: Vec<TreatmentZone>,
}

/// Guidance lines that belong together.
#[derive(Debug, Clone)]
pub struct GuidanceGroup {
    /// Its name.
    pub name: String,
    /// Its lines.
    pub lines: Vec<GuidanceLine>,
}

/// A straight line from A to B, and passes beside it.
#[derive(Debug, Clone)]
pub struct GuidanceLine {
    /// Its name.
    pub name: String,
    /// A and B.
    pub ends: [[f64; 2]; 2],
    /// Direction from A to B, degrees clockwise from true north.
    pub heading_deg: f64,
    /// Width of a pass, m.
    pub width_m: f64,
    /// Passes that follow to the right of this one, a width apart.
    pub more_to_the_right: u32,
}

/// The ground of one strip.
#[derive(Debug, Clone)]
pub struct TreatmentZone {
    /// What the driver reads: the strip and its treatment.
    pub name: String,
    /// Its ground.
    pub ground: MultiPolygon<f64>,
    /// Its area, m².
    pub area_m2: f64,
}

/// Zones are numbered in one byte, 255 being reserved; more strips make no task.
pub const MOST_ZONES: usize = 254;

/// Names in task data have at most this many characters.
const LONGEST_NAME: usize = 32;

/// Writes `data` as the task file `path`, which terminals expect to be called `TASKDATA.XML`.
///
/// # Errors
/// When the file cannot be written or there are more than [`MOST_ZONES`] zones.
pub fn write_task_data(path: &Path, data: &TaskData) -> Result<(), FormatError> {
    if data.zones.len() > MOST_ZONES {
        let message = format!(
            "expected at most {MOST_ZONES} strips in a task, found {}",
            data.zones.len()
        );
        return Err(
            checkstrip_model::Problem::new(path.display().to_string(), message)
                .hint("plan fewer blocks")
                .into(),
        );
    }
    let xml = document(data).map_err(|error| FormatError::writing(path, error))?;
    write_bytes_atomically(path, &xml)
}

pub(super) type Xml = Writer<Vec<u8>>;

/// A document that holds what `write` writes.
pub(super) fn xml_document(write: impl FnOnce(&mut Xml) -> io::Result<()>) -> io::Result<Vec<u8>> {
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 2);
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    write(&mut xml)?;
    let mut bytes = xml.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

/// The main document of a set, which holds what `write` writes.
pub(super) fn main_document(write: impl FnOnce(&mut Xml) -> io::Result<()>) -> io::Result<Vec<u8>> {
    xml_document(|xml| {
        xml.create_element("ISO11783_TaskData")
            .with_attribute(("VersionMajor", "4"))
            .with_attribute(("VersionMinor", "0"))
            .with_attribute(("ManagementSoftwareManufacturer", "checkstrip"))
            .with_attribute(("ManagementSoftwareVersion", env!("CARGO_PKG_VERSION")))
            .with_attribute(("DataTransferOrigin", "1"))
            .write_inner_content(write)?;
        Ok(())
    })
}

fn document(data: &TaskData) -> io::Result<Vec<u8>> {
    main_document(|xml| {
        field(xml, data)?;
        task(xml, data)
    })
}

fn field(xml: &mut Xml, data: &TaskData) -> io::Result<()> {
    xml.create_element("PFD")
        .with_attribute(("A", "PFD1"))
        .with_attribute(("C", name(&data.field).as_str()))
        .with_attribute(("D", whole(data.area_m2).as_str()))
        .write_inner_content(|xml| {
            polygons(xml, "1", None, &data.boundary)?;
            let mut pattern = 0;
            for (place, group) in data.guidance.iter().enumerate() {
                xml.create_element("GGP")
                    .with_attribute(("A", format!("GGP{}", place + 1).as_str()))
                    .with_attribute(("B", name(&group.name).as_str()))
                    .write_inner_content(|xml| {
                        for line in &group.lines {
                            pattern += 1;
                            guidance_line(xml, pattern, line)?;
                        }
                        Ok(())
                    })?;
            }
            Ok(())
        })?;
    Ok(())
}

/// An A-B pattern (type 1) that runs on beyond both ends (extension 1).
fn guidance_line(xml: &mut Xml, number: usize, line: &GuidanceLine) -> io::Result<()> {
    let heading = format!("{:.6}", line.heading_deg.rem_euclid(360.0));
    let right = line.more_to_the_right;
    xml.create_element("GPN")
        .with_attribute(("A", format!("GPN{number}").as_str()))
        .with_attribute(("B", name(&line.name).as_str()))
        .with_attribute(("C", "1"))
        // To the right only, or nowhere.
        .with_attribute(("E", if right > 0 { "3" } else { "4" }))
        .with_attribute(("F", "1"))
        .with_attribute(("G", heading.as_str()))
        // Made at a desk, not recorded.
        .with_attribute(("I", "16"))
        .with_attribute(("N", "0"))
        .with_attribute(("O", right.to_string().as_str()))
        .write_inner_content(|xml| {
            let width_mm = whole(line.width_m * 1000.0);
            xml.create_element("LSG")
                .with_attribute(("A", "5"))
                .with_attribute(("C", width_mm.as_str()))
                .write_inner_content(|xml| {
                    point(xml, "6", line.ends[0])?;
                    point(xml, "7", line.ends[1])
                })?;
            Ok(())
        })?;
    Ok(())
}

fn task(xml: &mut Xml, data: &TaskData) -> io::Result<()> {
    xml.create_element("TSK")
        .with_attribute(("A", "TSK1"))
        .with_attribute(("B", name(&data.task).as_str()))
        .with_attribute(("E", "PFD1"))
        // Planned.
        .with_attribute(("G", "1"))
        .write_inner_content(|xml| {
            for (place, zone) in data.zones.iter().enumerate() {
                xml.create_element("TZN")
                    .with_attribute(("A", (place + 1).to_string().as_str()))
                    .with_attribute(("B", name(&zone.name).as_str()))
                    .write_inner_content(|xml| {
                        polygons(xml, "2", Some((&zone.name, zone.area_m2)), &zone.ground)
                    })?;
            }
            Ok(())
        })?;
    Ok(())
}

/// Polygons of a type; a lone polygon with a name carries it and the area.
fn polygons(
    xml: &mut Xml,
    kind: &str,
    named: Option<(&str, f64)>,
    ground: &MultiPolygon<f64>,
) -> io::Result<()> {
    for polygon in ground {
        let mut element = xml.create_element("PLN").with_attribute(("A", kind));
        if let Some((text, area_m2)) = named {
            element = element.with_attribute(("B", name(text).as_str()));
            if ground.0.len() == 1 {
                element = element.with_attribute(("C", whole(area_m2).as_str()));
            }
        }
        element.write_inner_content(|xml| {
            ring(xml, "1", polygon.exterior())?;
            polygon
                .interiors()
                .iter()
                .try_for_each(|hole| ring(xml, "2", hole))
        })?;
    }
    Ok(())
}

/// A closed ring, its first point again at its end.
fn ring(xml: &mut Xml, kind: &str, line: &LineString<f64>) -> io::Result<()> {
    xml.create_element("LSG")
        .with_attribute(("A", kind))
        .write_inner_content(|xml| {
            line.coords()
                .try_for_each(|corner| point(xml, "2", [corner.x, corner.y]))
        })?;
    Ok(())
}

fn point(xml: &mut Xml, kind: &str, [lon, lat]: [f64; 2]) -> io::Result<()> {
    xml.create_element("PNT")
        .with_attribute(("A", kind))
        .with_attribute(("C", format!("{lat:.9}").as_str()))
        .with_attribute(("D", format!("{lon:.9}").as_str()))
        .write_empty()?;
    Ok(())
}

/// A number that task data wants whole.
fn whole(value: f64) -> String {
    format!("{:.0}", value.max(0.0))
}

/// A name as long as task data takes, without control characters, which XML 1.0 cannot hold.
pub(super) fn name(text: &str) -> String {
    let kept: String = text
        .chars()
        .filter(|character| !character.is_control())
        .take(LONGEST_NAME)
        .collect();
    kept.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;
    use quick_xml::Reader;
    use std::collections::{BTreeMap, HashSet};

    fn data() -> TaskData {
        let strip = polygon![
            (x: -93.0, y: 43.0), (x: -92.999, y: 43.0), (x: -92.999, y: 43.01), (x: -93.0, y: 43.01)
        ];
        let pond = polygon!(
            exterior: [(x: -93.1, y: 42.9), (x: -92.9, y: 42.9), (x: -92.9, y: 43.1)],
            interiors: [[(x: -92.95, y: 42.95), (x: -92.94, y: 42.95), (x: -92.94, y: 42.96)]],
        );
        let line = GuidanceLine {
            name: "1 rolled".into(),
            ends: [[-93.0, 43.0], [-93.0, 43.01]],
            heading_deg: -0.5,
            width_m: 12.192,
            more_to_the_right: 1,
        };
        TaskData {
            field: "\"Invented\" & <odd> field of more than 32 letters".into(),
            boundary: MultiPolygon::new(vec![pond]),
            area_m2: 161_874.4,
            task: "Trial\u{7}".into(),
            guidance: vec![
                GuidanceGroup {
                    name: "Treatment".into(),
                    lines: vec![line.clone(), line.clone()],
                },
                GuidanceGroup {
                    name: "Harvest".into(),
                    lines: vec![line],
                },
            ],
            zones: vec![
                TreatmentZone {
                    name: "1 rolled".into(),
                    ground: MultiPolygon::new(vec![strip.clone()]),
                    area_m2: 90_000.0,
                };
                3
            ],
        }
    }

    /// Attributes that ISO 11783-10:2015, annex D, requires.
    const REQUIRED: &[(&str, &[&str])] = &[
        (
            "ISO11783_TaskData",
            &[
                "VersionMajor",
                "VersionMinor",
                "ManagementSoftwareManufacturer",
                "ManagementSoftwareVersion",
                "DataTransferOrigin",
            ],
        ),
        ("PFD", &["A", "C", "D"]),
        ("PLN", &["A"]),
        ("LSG", &["A"]),
        ("PNT", &["A", "C", "D"]),
        ("GGP", &["A"]),
        ("GPN", &["A", "C"]),
        ("TSK", &["A", "G"]),
        ("TZN", &["A"]),
    ];

    #[test]
    fn the_task_is_well_formed_and_complete() {
        let text = String::from_utf8(document(&data()).unwrap()).unwrap();
        let mut reader = Reader::from_str(&text);
        let (mut open, mut ids, mut counts) = (Vec::new(), HashSet::new(), BTreeMap::new());
        loop {
            let event = reader.read_event().unwrap();
            if let Event::Start(element) | Event::Empty(element) = &event {
                let tag = element.name().as_ref().to_owned();
                let attributes: BTreeMap<String, String> = element
                    .attributes()
                    .map(|attribute| {
                        let attribute = attribute.unwrap();
                        let key = attribute.key.as_ref().to_owned();
                        (key, attribute.value.to_string())
                    })
                    .collect();
                let (_, required) = REQUIRED.iter().find(|(name, _)| *name == tag).unwrap();
                for key in *required {
                    assert!(attributes.contains_key(*key), "{tag} without {key}");
                }
                if ["PFD", "GGP", "GPN", "TSK"].contains(&tag.as_str()) {
                    let id = &attributes["A"];
                    assert!(id.starts_with(&tag) && ids.insert(id.clone()), "{id}");
                }
                *counts.entry(tag.clone()).or_insert(0) += 1;
                if matches!(event, Event::Start(_)) {
                    open.push(tag);
                }
                continue;
            }
            match event {
                Event::End(_) => drop(open.pop()),
                Event::Eof => break,
                _ => {}
            }
        }
        assert!(open.is_empty());
        let count = |tag: &str| counts[tag];
        assert_eq!(
            (count("PFD"), count("TSK"), count("TZN"), count("GPN")),
            (1, 1, 3, 3)
        );
        // Boundary with pond, three strips; three lines.
        assert_eq!(
            (count("PLN"), count("LSG"), count("PNT")),
            (4, 2 + 3 + 3, 4 + 4 + 15 + 6)
        );
        assert!(
            text.contains("&quot;Invented&quot; &amp; &lt;odd&gt;"),
            "{text}"
        );
        assert!(text.contains("G=\"359.500000\"") && !text.contains('\u{7}'));
    }

    #[test]
    fn more_zones_than_a_byte_counts_are_refused() {
        let mut many = data();
        many.zones = vec![many.zones[0].clone(); 255];
        let error = write_task_data(Path::new("TASKDATA.XML"), &many).unwrap_err();
        assert!(error.to_string().contains("254"), "{error}");
    }
}
