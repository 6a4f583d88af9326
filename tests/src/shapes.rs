//! The small farm as Shapefiles, whose bytes a test can then cut short or move to another zone.

use crate::{SmallFarm, Table};
use shapefile::dbase::{FieldName, FieldValue, Record, TableWriterBuilder};
use shapefile::{Point, Polygon, PolygonRing, ShapeWriter};
use std::io::Cursor;

/// Well-known text of WGS 84 longitude and latitude.
pub const WGS_84: &str = "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,\
    298.257223563]],PRIMEM[\"Greenwich\",0],UNIT[\"degree\",0.0174532925199433]]";

/// Well-known text of zone 15 north of the universal transverse Mercator grid, in metres.
pub const UTM_15_NORTH: &str = "PROJCS[\"WGS 84 / UTM zone 15N\",GEOGCS[\"WGS 84\",\
    DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563]],PRIMEM[\"Greenwich\",0],\
    UNIT[\"degree\",0.0174532925199433]],PROJECTION[\"Transverse_Mercator\"],\
    PARAMETER[\"latitude_of_origin\",0],PARAMETER[\"central_meridian\",-93],\
    PARAMETER[\"scale_factor\",0.9996],PARAMETER[\"false_easting\",500000],\
    PARAMETER[\"false_northing\",0],UNIT[\"metre\",1]]";

/// The two files of a Shapefile that hold its content.
#[derive(Debug, Clone)]
pub struct Shapes {
    /// Shapes.
    pub shp: Vec<u8>,
    /// Attributes.
    pub dbf: Vec<u8>,
}

impl Shapes {
    /// Puts them into the farm's folder as `stem.shp` and `stem.dbf`, with a `.prj`.
    #[track_caller]
    pub fn put(&self, farm: &SmallFarm, stem: &str, prj: &str) {
        farm.folder.put(&format!("{stem}.shp"), &self.shp);
        farm.folder.put(&format!("{stem}.dbf"), &self.dbf);
        farm.folder.put(&format!("{stem}.prj"), prj);
    }
}

impl SmallFarm {
    /// The log as points.
    #[track_caller]
    pub fn log_shapes(&self) -> Shapes {
        // Names as they fit into ten characters.
        let columns = [
            ("timestamp_s", "time_s"),
            ("mass_flow_kg_s", "flow_kg_s"),
            ("moisture_pct", "moisture_p"),
            ("speed_m_s", "speed_m_s"),
            ("distance_m", "distance_m"),
            ("interval_s", "interval_s"),
            ("width_m", "width_m"),
            ("header_down", "header_dow"),
            ("heading_deg", "heading"),
        ]
        .map(|(from, to)| (self.log.numbers(from), to));
        let points: Vec<Point> = position(&self.log);
        let mut shp = Cursor::new(Vec::new());
        ShapeWriter::new(&mut shp)
            .write_shapes(&points)
            .expect("shapes");
        let mut dbf = Cursor::new(Vec::new());
        let mut builder = TableWriterBuilder::new();
        for (_, header) in &columns {
            builder = builder.add_numeric_field(name(header), 18, 5);
        }
        let mut writer = builder.build_with_dest(&mut dbf);
        for row in 0..points.len() {
            let mut record = Record::default();
            for (values, header) in &columns {
                record.insert((*header).into(), FieldValue::Numeric(Some(values[row])));
            }
            writer.write_record(&record).expect("record");
        }
        drop(writer);
        Shapes {
            shp: shp.into_inner(),
            dbf: dbf.into_inner(),
        }
    }

    /// The strips as polygons.
    #[track_caller]
    pub fn strip_shapes(&self) -> Shapes {
        let strips = &self.harvest.strips.strips;
        let polygons: Vec<Polygon> = strips
            .iter()
            .map(|strip| {
                let ring = strip.ground.0[0].exterior().coords();
                Polygon::new(PolygonRing::Outer(
                    ring.map(|c| Point::new(c.x, c.y)).collect(),
                ))
            })
            .collect();
        let mut shp = Cursor::new(Vec::new());
        ShapeWriter::new(&mut shp)
            .write_shapes(&polygons)
            .expect("shapes");
        let mut dbf = Cursor::new(Vec::new());
        let mut writer = TableWriterBuilder::new()
            .add_character_field(name("treatment"), 12)
            .add_character_field(name("block"), 4)
            .add_character_field(name("strip_id"), 4)
            .build_with_dest(&mut dbf);
        for strip in strips {
            let text = |text: &str| FieldValue::Character(Some(text.to_owned()));
            let mut record = Record::default();
            record.insert("treatment".into(), text(&strip.treatment));
            record.insert(
                "block".into(),
                text(strip.block.as_deref().unwrap_or_default()),
            );
            record.insert("strip_id".into(), text(&strip.strip_id));
            writer.write_record(&record).expect("record");
        }
        drop(writer);
        Shapes {
            shp: shp.into_inner(),
            dbf: dbf.into_inner(),
        }
    }
}

fn position(log: &Table) -> Vec<Point> {
    let (lon, lat) = (log.numbers("lon"), log.numbers("lat"));
    lon.iter()
        .zip(&lat)
        .map(|(&x, &y)| Point::new(x, y))
        .collect()
}

fn name(text: &str) -> FieldName {
    FieldName::try_from(text).expect("a name of at most ten characters")
}
