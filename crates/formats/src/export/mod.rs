//! Writing a cleaned log: every record in input order under canonical names, what became of it and
//! the yield of its ground, as CSV, GeoJSON or GeoParquet. Writing planned strips: as GeoJSON, as a
//! Shapefile and as a task for a machine's terminal.

mod atomic;
mod columns;
mod csv;
mod fixed_decimal;
mod geojson;
mod in_order;
mod parquet;
mod strips_geojson;
mod strips_shapefile;
mod task_data;

pub use atomic::{write_atomically, write_bytes_atomically};
pub use csv::write_cleaned_csv;
pub use geojson::write_cleaned_geojson;
pub use parquet::write_cleaned_parquet;
pub use strips_geojson::write_strips_geojson;
pub use strips_shapefile::write_strips_shapefile;
pub use task_data::{
    GuidanceGroup, GuidanceLine, MOST_ZONES, TaskData, TreatmentZone, write_task_data,
};

pub(crate) use columns::EXPORT_ONLY;

#[cfg(test)]
mod tests;
