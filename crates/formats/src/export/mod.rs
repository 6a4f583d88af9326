//! Writing a cleaned log: every record in input order under canonical names, what became of it and
//! the yield of its ground, as CSV, GeoJSON or GeoParquet.

mod atomic;
mod columns;
mod csv;
mod fixed_decimal;
mod geojson;
mod in_order;
mod parquet;

pub use atomic::{write_atomically, write_bytes_atomically};
pub use csv::write_cleaned_csv;
pub use geojson::write_cleaned_geojson;
pub use parquet::write_cleaned_parquet;

pub(crate) use columns::EXPORT_ONLY;

#[cfg(test)]
mod tests;
