//! The machines that a set of task data describes: devices, their elements (the machine, its functions,
//! sections, connectors and the receiver) and what each element says of itself.

use std::collections::HashMap;

use super::element::Element;

/// What a device element is (ISO 11783-10, DeviceElementType).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ElementKind {
    Device,
    Function,
    Bin,
    Section,
    Unit,
    Connector,
    Navigation,
    Other,
}

/// A part of a machine.
#[derive(Debug, Clone)]
pub(crate) struct DeviceElement {
    pub(crate) id: String,
    pub(crate) kind: ElementKind,
    pub(crate) number: u32,
    object: u32,
    parent: u32,
    /// Fixed properties: data dictionary entry and value.
    pub(crate) properties: Vec<(u16, i32)>,
}

impl DeviceElement {
    /// The fixed property `entry`.
    pub(crate) fn property(&self, entry: u16) -> Option<i32> {
        let found = self.properties.iter().find(|(number, _)| *number == entry);
        found.map(|(_, value)| *value)
    }
}

/// How a machine shows a value: (value + offset) × scale, in a unit.
#[derive(Debug, Clone)]
pub(crate) struct Presentation {
    pub(crate) offset: f64,
    pub(crate) scale: f64,
    pub(crate) decimals: usize,
    pub(crate) unit: String,
}

impl Presentation {
    /// From a DVP or VPN element, which have the same attributes.
    pub(crate) fn new(element: &Element) -> Presentation {
        Presentation {
            offset: element.number("B").unwrap_or(0.0),
            scale: element.number("C").unwrap_or(1.0),
            decimals: element.number::<usize>("D").unwrap_or(0).min(7),
            unit: element.text("E").unwrap_or_default().to_owned(),
        }
    }
}

/// A machine has fewer parts; further ones are left out.
const MOST_ELEMENTS: usize = 5_000;
/// Parts inside each other.
const DEEPEST: usize = 32;

/// A machine.
#[derive(Debug, Clone)]
pub(crate) struct Device {
    pub(crate) name: String,
    pub(crate) elements: Vec<DeviceElement>,
    by_id: HashMap<String, usize>,
    by_object: HashMap<u32, usize>,
    /// By data dictionary entry: the machine's own name for it and how it shows it.
    pub(crate) logged: HashMap<u16, (String, Option<Presentation>)>,
}

impl Device {
    /// From a DVC element.
    pub(crate) fn new(device: &Element) -> Device {
        let object = |element: &Element| element.number::<u32>("A");
        let presentations: HashMap<u32, Presentation> = device
            .each("DVP")
            .filter_map(|shown| Some((object(shown)?, Presentation::new(shown))))
            .collect();
        let properties: HashMap<u32, (u16, i32)> = device
            .each("DPT")
            .filter_map(|property| {
                let value = property.number("C")?;
                Some((object(property)?, (property.data_entry("B")?, value)))
            })
            .collect();
        let logged = device
            .each("DPD")
            .filter_map(|data| {
                let shown = data
                    .number::<u32>("F")
                    .and_then(|at| presentations.get(&at));
                let name = data.text("E").unwrap_or_default().to_owned();
                Some((data.data_entry("B")?, (name, shown.cloned())))
            })
            .collect();
        let elements: Vec<DeviceElement> = device
            .each("DET")
            .take(MOST_ELEMENTS)
            .filter_map(|element| {
                Some(DeviceElement {
                    id: element.text("A")?.to_owned(),
                    kind: match element.number::<u8>("C") {
                        Some(1) => ElementKind::Device,
                        Some(2) => ElementKind::Function,
                        Some(3) => ElementKind::Bin,
                        Some(4) => ElementKind::Section,
                        Some(5) => ElementKind::Unit,
                        Some(6) => ElementKind::Connector,
                        Some(7) => ElementKind::Navigation,
                        _ => ElementKind::Other,
                    },
                    number: element.number("E").unwrap_or(0),
                    object: element.number("B").unwrap_or(0),
                    parent: element.number("F").unwrap_or(0),
                    properties: element
                        .each("DOR")
                        .filter_map(object)
                        .filter_map(|at| properties.get(&at).copied())
                        .collect(),
                })
            })
            .collect();
        Device {
            name: device.text("B").unwrap_or_default().to_owned(),
            by_id: elements
                .iter()
                .enumerate()
                .map(|(at, element)| (element.id.clone(), at))
                .collect(),
            by_object: elements
                .iter()
                .enumerate()
                .map(|(at, element)| (element.object, at))
                .collect(),
            elements,
            logged,
        }
    }

    /// Its name, for messages.
    pub(crate) fn shown(&self) -> &str {
        match self.name.as_str() {
            "" => "a machine without a name",
            name => name,
        }
    }

    /// The element called `id`.
    pub(crate) fn element(&self, id: &str) -> Option<&DeviceElement> {
        self.by_id.get(id).map(|&at| &self.elements[at])
    }

    /// Whether `element` is `above` or a part of it.
    pub(crate) fn is_part(&self, element: &DeviceElement, above: &DeviceElement) -> bool {
        let mut at = element;
        // Parents of damaged files may go round in a circle.
        for _ in 0..DEEPEST {
            if at.object == above.object {
                return true;
            }
            match self.by_object.get(&at.parent) {
                Some(&parent) if at.parent != 0 => at = &self.elements[parent],
                _ => return false,
            }
        }
        false
    }

    /// The sections that are part of `above`, from left to right: by their offset to the right where all
    /// have one, else by their number.
    pub(crate) fn sections(&self, above: &DeviceElement) -> Vec<&DeviceElement> {
        let mut sections: Vec<&DeviceElement> = self
            .elements
            .iter()
            .filter(|element| element.kind == ElementKind::Section && self.is_part(element, above))
            .collect();
        from_left_to_right(&mut sections);
        sections
    }
}

/// Sorts parts of a machine: by their offset to the right where all have one, else by their number.
pub(crate) fn from_left_to_right(parts: &mut [&DeviceElement]) {
    if parts.iter().all(|part| part.property(OFFSET_Y).is_some()) {
        parts.sort_by_key(|part| part.property(OFFSET_Y));
    } else {
        parts.sort_by_key(|part| part.number);
    }
}

/// Device Element Offset X: forwards.
pub(crate) const OFFSET_X: u16 = 134;
/// Device Element Offset Y: to the right.
pub(crate) const OFFSET_Y: u16 = 135;
