//! Writing a cleaned log: every record in input order under canonical names, what became of it and
//! the yield of its ground, as CSV, GeoJSON, GeoParquet or GeoPackage. Writing planned strips: as GeoJSON, as a
//! Shapefile and as a task for a machine's terminal; grounds with attributes of any names in the formats of a GIS.
//! Writing a log as task data, and values in cells as GeoTIFF.
//! Writing whatever another file held: `features_…` and the formats that tables are written in.

mod atomic;
mod columns;
mod csv;
pub(crate) mod feature_source;
mod features_csv;
mod features_geojson;
mod features_shapefile;
mod fixed_decimal;
mod flatgeobuf;
mod geojson;
mod geopackage;
mod geotiff;
mod grounds;
mod in_order;
mod parquet;
mod strips_geojson;
mod strips_shapefile;
mod task_data;
mod task_data_log;
pub(crate) mod written_crs;

pub use atomic::{remove_unfinished, write_atomically, write_bytes_atomically};
pub use csv::write_cleaned_csv;
pub use geojson::write_cleaned_geojson;
pub use geopackage::write_cleaned_geopackage;
pub use geotiff::{RasterBand, RasterFile, write_geotiff};
pub use grounds::{
    Attribute, AttributeColumn, AttributeKind, AttributedGround, write_grounds_geojson,
    write_grounds_geopackage, write_grounds_parquet, write_grounds_shapefile,
};
pub use parquet::write_cleaned_parquet;
pub use strips_geojson::write_strips_geojson;
pub use strips_shapefile::write_strips_shapefile;
pub use task_data::{
    GuidanceGroup, GuidanceLine, MOST_ZONES, TaskData, TreatmentZone, write_task_data,
};

pub(crate) use columns::EXPORT_ONLY;
pub(crate) use features_csv::write_features_csv;
pub(crate) use features_geojson::{write_features_geojson, write_features_geojson_sequence};
pub(crate) use features_shapefile::write_features_shapefile;
pub(crate) use flatgeobuf::write_flatgeobuf;
pub(crate) use geopackage::{empty_geopackage, push_geometry, write_geopackage};
pub(crate) use parquet::write_parquet;
pub(crate) use strips_shapefile::{WGS_84, empty_strips_shapefile};
pub(crate) use task_data_log::{TaskDataTarget, write_task_data_log};

#[cfg(test)]
mod tests;
