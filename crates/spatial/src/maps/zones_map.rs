//! The map of zones: the ground of every kept record hatched by its zone, the strips on top with their
//! treatments, so that it is seen which strip crosses which zone.

use super::canvas::Canvas;
use super::extent::field_extent;
use super::figures::{ground, whole_length};
use super::footprint_layer::paint_footprint_on;
use super::hatch::Hatch;
use super::legend::{Entry, Symbol};
use super::palette::WHITE;
use super::polygon_fill::{Span, spans};
use super::request::{MapError, MapRequest, check_columns};
use super::sheet::Sheet;
use super::strip_label::{Labelled, place_labels};
use crate::zones::ZoneColumn;
use checkstrip_model::CleanLog;
use checkstrip_model::results::Zones;
use checkstrip_model::units::{M_PER_FOOT, UnitSystem};
use checkstrip_words::{Words, say};

/// What the map shows.
#[derive(Debug, Clone, Copy)]
pub struct ZonesMap<'a> {
    /// The field, its strips and units.
    pub request: MapRequest<'a>,
    /// The zone of every record.
    pub column: &'a ZoneColumn,
    /// The zones with their ground, in the order of the column's names.
    pub zones: &'a Zones,
}

impl ZonesMap<'_> {
    /// The name in file names.
    pub const KEY: &'static str = "zones";
    /// The heading on the map.
    pub fn title(words: &Words) -> String {
        say!(words, "map-zones")
    }

    /// How to read the map, for a report.
    pub fn caption(words: &Words) -> String {
        say!(words, "map-zones-caption")
    }
}

/// Draws the zones with the strips on top and returns a PNG file, 1600 pixels wide.
///
/// # Errors
/// When the log's columns differ in length or the picture cannot be encoded.
pub fn zones_map(log: &CleanLog, map: &ZonesMap) -> Result<Vec<u8>, MapError> {
    check_columns(log)?;
    let ZonesMap {
        request,
        column,
        zones,
    } = map;
    let classes = zones.by != "polygons";
    let zone_count = column.names.len();
    let hatch = |zone: usize| {
        if classes {
            Hatch::of_class(zone, zone_count)
        } else {
            Hatch::of_treatment(zone)
        }
    };
    let words = request.reader.words;
    let (unit, metres, decimals) = height_unit(request.reader.units);
    let mut legend = vec![Entry::Heading(match zones.by.as_str() {
        "elevation" => say!(words, "map-zones-heading-height", unit = unit),
        "yield_history" => say!(words, "map-zones-heading-past"),
        _ => say!(words, "map-zones-heading"),
    })];
    let rows = zones.zones.iter().enumerate().map(|(zone, row)| {
        let limits = match (row.elevation_m, row.relative_yield) {
            (Some(range), _) => {
                let [low, high] = range.map(|height| words.number(height / metres, decimals));
                format!(", {low}–{high}")
            }
            (_, Some(range)) => {
                let [low, high] = range.map(|share| words.number(share * 100.0, 0));
                format!(", {low}–{high}")
            }
            _ => String::new(),
        };
        let label = format!("{}{limits}", words.zone(&zones.by, &row.zone));
        Entry::key(
            Symbol::Hatching(hatch(zone)),
            label,
            ground(row.area_m2, request.reader),
        )
    });
    let mut rows: Vec<Entry> = rows.collect();
    if classes {
        // The highest class on top, as on the yield maps.
        rows.reverse();
    }
    legend.extend(rows);
    if zones.no_zone_area_m2 > 0.0 {
        legend.push(Entry::key(
            Symbol::Patch(WHITE),
            say!(words, "map-zones-no-zone"),
            ground(zones.no_zone_area_m2, request.reader),
        ));
    }
    if let Some(radius) = zones.radius_m {
        let text = if zones.by == "elevation" {
            "map-zones-elevation"
        } else {
            "map-zones-past"
        };
        let distance = whole_length(radius, request.reader);
        legend.push(Entry::Note(say!(words, text, distance = distance)));
    }
    legend.push(Entry::Heading(say!(words, "map-also-shown")));
    legend.push(Entry::key(
        Symbol::Outline,
        say!(words, "map-zones-strip"),
        "",
    ));
    let about = say!(
        words,
        "map-zones-about",
        field = &request.field.name,
        zones = words.count(zone_count),
        by = match zones.by.as_str() {
            "elevation" => "elevation",
            "yield_history" => "past",
            _ => "drawn",
        },
        strips = words.count(request.strips.len())
    );
    let extent = field_extent(log, request.strips);
    let mut sheet = Sheet::lay(&ZonesMap::title(words), &about, extent, legend)?;
    for (zone, spans) in zone_spans(&sheet, log, column).iter().enumerate() {
        for span in spans {
            sheet.canvas.span(span.y, span.from, span.to, WHITE);
        }
        hatch(zone).paint(&mut sheet.canvas, spans);
    }
    sheet.outline_strips(request.strips);
    let labelled: Vec<Labelled> = request
        .strips
        .iter()
        .map(|strip| {
            let ring = |ring: &Vec<[f64; 2]>| -> Vec<[f64; 2]> {
                ring.iter()
                    .map(|&point| sheet.ground.pixel(point))
                    .collect()
            };
            let rings: Vec<Vec<[f64; 2]>> = strip.rings.iter().map(ring).collect();
            let mut forms = vec![strip.treatment.clone()];
            if !strip.block.is_empty() {
                forms.insert(0, format!("{} · {}", strip.block, strip.treatment));
            }
            Labelled {
                spans: spans(&rings, sheet.ground.window),
                forms,
            }
        })
        .collect();
    sheet.write_labels(place_labels(&labelled, &sheet.lettering));
    sheet.finish(request.reader)
}

/// The pixels of every zone: its records' footprints, later ones over earlier ones.
fn zone_spans(sheet: &Sheet, log: &CleanLog, column: &ZoneColumn) -> Vec<Vec<Span>> {
    // Zones are first painted as numbers, in red: white, 255, stays for no zone.
    let mut numbers = Canvas::new(sheet.canvas.width, sheet.canvas.height);
    for record in (0..log.len()).filter(|&record| log.status[record].is_kept()) {
        if let Some(zone) = column.zone(record) {
            let number = [zone as u8, 0, 0];
            paint_footprint_on(&mut numbers, sheet.ground, log, record, number);
        }
    }
    let mut found = vec![Vec::new(); column.names.len()];
    let width = numbers.width as usize;
    for (y, row) in numbers.pixels.chunks_exact(3 * width).enumerate() {
        let mut from = 0;
        while from < width {
            let zone = row[3 * from];
            let length = row[3 * from..]
                .chunks_exact(3)
                .take_while(|pixel| pixel[0] == zone)
                .count();
            if let Some(spans) = found.get_mut(zone as usize) {
                spans.push(Span {
                    y: y as i32,
                    from: from as i32,
                    to: (from + length) as i32,
                });
            }
            from += length;
        }
    }
    found
}

/// The unit of heights, its length in m and the decimals heights are told to.
fn height_unit(units: UnitSystem) -> (&'static str, f64, usize) {
    match units {
        UnitSystem::Farm => ("ft", M_PER_FOOT, 0),
        UnitSystem::Si => ("m", 1.0, 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use checkstrip_model::results::{Field, ZoneGround};
    use checkstrip_model::{Crop, Status};

    #[test]
    fn every_record_is_painted_in_its_zone() {
        let mut log = CleanLog::default();
        for record in 0..100u32 {
            log.east_m.push(f64::from(record / 50) * 9.0);
            log.north_m.push(f64::from(record % 50) * 2.0);
            log.heading_deg.push(0.0);
            log.distance_m.push(2.0);
            log.width_m.push(9.0);
            log.pass.push(record / 50 + 1);
            log.status.push(Status::Kept);
            log.raw_yield_kg_ha.push(9e3);
            log.yield_kg_ha.push(9e3);
        }
        let column = ZoneColumn {
            names: vec!["loam".into(), "clay".into()],
            of_record: (0..100).map(|record| u16::from(record >= 50)).collect(),
            several: vec![],
        };
        let field = Field::new("Invented", &Crop::known("corn").unwrap());
        let ground = |zone: &str| ZoneGround {
            zone: zone.into(),
            elevation_m: None,
            relative_yield: None,
            records: 50,
            area_m2: 900.0,
        };
        let zones = Zones {
            by: "polygons".into(),
            polygons: None,
            harvests: vec![],
            radius_m: None,
            least_area_m2: 200.0,
            zones: vec![ground("loam"), ground("clay")],
            no_zone_records: 0,
            no_zone_area_m2: 0.0,
            several_zones_records: 0,
            treatments: vec![],
        };
        for units in [UnitSystem::Farm, UnitSystem::Si] {
            let request = MapRequest {
                field: &field,
                reader: units.into(),
                strips: &[],
            };
            let map = ZonesMap {
                request,
                column: &column,
                zones: &zones,
            };
            let png = zones_map(&log, &map).unwrap();
            assert_eq!(&png[1..4], b"PNG");
            let sheet = Sheet::lay("", "", field_extent(&log, &[]), vec![]).unwrap();
            let pixels = zone_spans(&sheet, &log, &column).into_iter().map(|spans| {
                spans
                    .iter()
                    .map(|span| f64::from(span.to - span.from))
                    .sum::<f64>()
            });
            let wanted = 900.0 * sheet.ground.scale * sheet.ground.scale;
            for found in pixels {
                assert!((found / wanted - 1.0).abs() < 0.02, "{found} of {wanted}");
            }
        }
    }
}
