//! Readers and writers of the open formats that logs and strips come in: delimited text, GeoJSON,
//! Shapefiles, GeoPackage, GeoParquet, FlatGeobuf and ISO 11783-10 task data. Readers turn files into the model's columns in SI
//! units and say what was wrong where; writers put a cleaned log back under canonical names. No
//! value is changed beyond its unit: judging records is the work of cleaning.
#![forbid(unsafe_code)]

mod background;
mod cell;
mod column_builder;
mod convert;
mod delimited;
mod error;
mod export;
mod feature;
mod feature_stream;
mod feature_table;
mod file_bytes;
mod flatgeobuf;
mod geojson;
mod geopackage;
mod geoparquet;
mod globs;
mod ground;
mod header;
mod kind;
mod log_part;
mod polygon_contents;
mod polygon_file;
mod problem_list;
mod raw_table;
mod read_boundary;
mod read_line;
mod read_log;
mod read_plan;
mod read_strips;
mod read_tickets;
mod read_zones;
mod row_columns;
mod shapefile;
mod strip_file;
mod task_data;
mod unnamed_crs;
mod well_known_binary;

pub use background::{Background, read_background};
pub use convert::{Conversion, ConvertOptions, convert};
pub use error::FormatError;
pub use export::{
    Attribute, AttributeColumn, AttributeKind, AttributedGround, GuidanceGroup, GuidanceLine,
    MOST_ZONES, RasterBand, RasterFile, TaskData, TreatmentZone, remove_unfinished,
    write_atomically, write_bytes_atomically, write_cleaned_csv, write_cleaned_geojson,
    write_cleaned_geopackage, write_cleaned_parquet, write_geotiff, write_grounds_geojson,
    write_grounds_geopackage, write_grounds_parquet, write_grounds_shapefile, write_strips_geojson,
    write_strips_shapefile, write_task_data,
};
pub use file_bytes::{sha256, sha256_of_file};
pub use geopackage::without_layer;
pub use globs::expand_globs;
pub use ground::outline_ground;
pub use header::header_guide;
pub use kind::format_in_words;
pub use polygon_contents::{AttributeContents, PolygonContents, read_polygon_contents};
pub use read_boundary::{Boundary, read_boundary};
pub use read_line::read_line;
pub use read_log::{ReadOptions, read_log, read_log_in_pieces};
pub use read_plan::{PlanFile, PlanOptions, PlannedGround, read_plan};
pub use read_strips::{StripOptions, read_strips};
pub use read_tickets::read_tickets;
pub use read_zones::read_zones;
pub use strip_file::{EditedStrip, StripFile, keep_earlier_version};
pub use task_data::without_choice;
