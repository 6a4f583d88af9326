//! What the acceptance tests stand on: the binary that was just built, a throwaway folder to run it
//! in, a small invented field to run it on, and the outside references that some results are held
//! against. Everything here fails by panicking, as a test should.

mod binary;
mod bucket;
mod drawing_page;
mod farm;
mod figures;
mod folder;
mod fuzzing;
mod outside;
mod shapes;
mod table;
mod task_data;

pub use binary::{Run, binary, season_binary, workspace};
pub use bucket::Bucket;
pub use drawing_page::{Answer, DrawingPage};
pub use farm::{EAST_M, NORTH_M, SmallFarm, season, season_of_fields, strips_geojson, warning};
pub use figures::same_figures;
pub use folder::{Folder, fixture, write_fixture};
pub use fuzzing::{PART, READERS, Reader};
pub use outside::{browser, open_data, oracle, peer, peer_baseline, peer_field, python, skipped};
pub use shapes::{Shapes, UTM_15_NORTH, WGS_84};
pub use table::Table;
pub use task_data::write_task_data_log;
