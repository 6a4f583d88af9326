//! Strips that nobody has to draw: the ground that a machine worked, outlined from its own log, by product, by the rate
//! it was asked for, or all of it as one treatment; and the ground it left out between, as the check.

mod naming;

use crate::error::JobError;
use crate::ground::{to_lon_lat, to_plane};
use crate::machine_log::{
    CLOSED_M, LabelledBand, MachineLog, MachineWidth, SMALLEST_M2, is_at_work, is_end_row,
    labelled_bands, place_across, straightened,
};
use crate::outputs::this_tool;
use crate::setup::LogSetup;
use checkstrip_formats::{read_boundary, write_strips_geojson, write_strips_shapefile};
use checkstrip_model::results::Tool;
use checkstrip_model::units::M2_PER_HA;
use checkstrip_model::{Operation, Problem, SourceFile, Strip, Warning};
use checkstrip_spatial::moved_edge::edge_moved;
use checkstrip_spatial::worked_ground::{Band, worked_ground};
use geo::{Area, BooleanOps, ConvexHull, MultiPolygon, Polygon, Translate};
use naming::Naming;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The name under which an outline's record says what it is.
pub const OUTLINE_SCHEMA: &str = "checkstrip-outline/1";

/// What tells one treatment from another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OutlineBy {
    /// The product, variety or hybrid.
    Product,
    /// The rate that was asked for, to three digits.
    Rate,
    /// All ground worked is one treatment, called so.
    Treatment(String),
}

/// Which log to outline, and how.
#[derive(Debug, Clone)]
pub struct OutlineSetup {
    /// The log, of a planting or an application; its header width is that of the machine where the log has none.
    pub log: LogSetup,
    /// What tells treatments apart.
    pub by: OutlineBy,
    /// Distance from row to row where the log does not say, m.
    pub row_spacing_m: Option<f64>,
    /// Treatments that are no part of the trial, such as a refuge.
    pub left_out: Vec<String>,
    /// Whether passes across the main direction belong to the trial.
    pub keep_end_rows: bool,
    /// The field's boundary: ground in it between the passes that was not worked becomes strips.
    pub boundary: Option<PathBuf>,
    /// What that ground is called.
    pub untreated: String,
}

/// What was outlined.
#[derive(Debug, Clone, Serialize)]
pub struct Outline {
    /// `checkstrip-outline/1`.
    pub schema: String,
    /// The program that made it.
    pub tool: Tool,
    /// Which work the log is of.
    pub operation: Operation,
    /// The files.
    pub files: Vec<SourceFile>,
    /// The boundary, when one was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub boundary: Option<String>,
    /// What told treatments apart.
    pub by: OutlineBy,
    /// Width of the machine, m.
    pub width_m: f64,
    /// Moments of the log, and how many of them had nothing at work.
    pub moments: usize,
    /// See `moments`.
    pub idle_moments: usize,
    /// Slits narrower than twice this were closed, m.
    pub closed_m: f64,
    /// Pieces smaller than this were left out, m².
    pub smallest_m2: f64,
    /// How many were.
    pub small_pieces: usize,
    /// Direction of most ground, degrees from north.
    pub direction_deg: f64,
    /// Ground of passes across that direction, which is in no strip, ha.
    pub end_rows_ha: f64,
    /// The strips.
    pub strips: Vec<OutlinedStrip>,
    /// What to know before using them.
    pub warnings: Vec<Warning>,
}

/// One strip.
#[derive(Debug, Clone, Serialize)]
pub struct OutlinedStrip {
    /// Its name: strips are numbered across the passes.
    pub strip_id: String,
    /// What was done on it.
    pub treatment: String,
    /// Its ground, ha.
    pub area_ha: f64,
}

/// Ground left out that is narrower than this share of the machine is a miss between two passes and no strip. Common
/// practice, no source.
const NARROWEST_SHARE: f64 = 0.5;
/// Ground left out belongs to the trial within so many machine widths beside the first and the last pass. Common
/// practice, no source: strips are a few widths wide.
const BESIDE_WIDTHS: f64 = 3.0;

/// Outlines the ground that the log says was worked.
///
/// # Errors
/// When the log is of a harvest, does not say what tells treatments apart, or no strip comes out of it.
pub fn outline(setup: &OutlineSetup) -> Result<(Outline, Vec<Strip>), JobError> {
    let machine = MachineLog::read(&setup.log)?;
    let (record, pieces) = outline_in(&machine, setup, None)?;
    let mut strips = Vec::with_capacity(pieces.len());
    for (at, piece) in pieces.into_iter().enumerate() {
        strips.push(Strip {
            strip_id: piece.strip_id,
            treatment: piece.treatment,
            block: None,
            ground: to_lon_lat(&MultiPolygon::new(vec![piece.ground]), &machine.plane)?,
            row: at as u32 + 1,
        });
    }
    Ok((record, strips))
}

/// A strip of an outline in the plane.
pub(crate) struct OutlinedPiece {
    pub(crate) strip_id: String,
    pub(crate) treatment: String,
    /// m east and north.
    pub(crate) ground: Polygon<f64>,
}

/// The pass of each record of a planting or as-applied log, from 1; 0 where nothing was at work.
///
/// # Errors
/// When the log does not say how wide the machine is.
pub(crate) fn passes_of(machine: &MachineLog, setup: &OutlineSetup) -> Result<Vec<u32>, JobError> {
    let log = &machine.log;
    let mut one = |record| is_at_work(log, record).then_some((0, f64::NAN));
    Ok(labelled_bands(log, machine.east_north_m(), width(setup), &mut one)?.passes())
}

fn width(setup: &OutlineSetup) -> MachineWidth {
    MachineWidth {
        width_m: setup.log.header_width_m,
        row_spacing_m: setup.row_spacing_m,
    }
}

/// Outlines the ground that the log of `machine` says was worked, in its plane; of all records, or those that
/// are `chosen`.
///
/// # Errors
/// As [`outline`], once the log is read.
pub(crate) fn outline_in(
    machine: &MachineLog,
    setup: &OutlineSetup,
    chosen: Option<&[bool]>,
) -> Result<(Outline, Vec<OutlinedPiece>), JobError> {
    let (log, plane) = (&machine.log, &machine.plane);
    let naming = Naming::new(log, &setup.by)?;
    let mut labels: Vec<String> = Vec::new();
    let found = labelled_bands(log, machine.east_north_m(), width(setup), &mut |record| {
        let is_chosen = chosen.is_none_or(|chosen| chosen[record]);
        let name = (is_chosen && is_at_work(log, record)).then(|| naming.name(record))??;
        let known = labels.iter().position(|known| *known == name);
        let label = known.unwrap_or_else(|| {
            labels.push(name);
            labels.len() - 1
        });
        Some((label, f64::NAN))
    })?;
    let direction_deg = machine.direction_deg(&found.bands)?;
    let is_end_row =
        |labelled: &LabelledBand| !setup.keep_end_rows && is_end_row(labelled, direction_deg);
    let ground_of = |wanted: &dyn Fn(&LabelledBand) -> bool| {
        let bands = found.bands.iter().filter(|labelled| wanted(labelled));
        let bands: Vec<Band> = bands.map(|labelled| labelled.band).collect();
        worked_ground(&bands, CLOSED_M)
    };
    let end_rows = ground_of(&|labelled| is_end_row(labelled));
    let mut pieces: Vec<(String, Polygon<f64>)> = Vec::new();
    let mut treated = MultiPolygon::new(vec![]);
    let mut small_pieces = 0;
    let mut warnings = Vec::new();
    let is_left_out = |label: &str| {
        let mut names = setup.left_out.iter();
        names.any(|name| name.trim().eq_ignore_ascii_case(label))
    };
    for (place, label) in labels.iter().enumerate() {
        let ground = ground_of(&|labelled| labelled.label == place && !is_end_row(labelled));
        treated = treated.union(&ground);
        if is_left_out(label) {
            continue;
        }
        // Where two treatments claim one ground, the noise of the receiver decides: `compare` leaves it out of both.
        for piece in ground.difference(&end_rows) {
            match piece.unsigned_area() >= SMALLEST_M2 {
                true => pieces.push((label.clone(), piece)),
                false => small_pieces += 1,
            }
        }
    }
    for name in &setup.left_out {
        if !labels
            .iter()
            .any(|label| name.trim().eq_ignore_ascii_case(label))
        {
            warnings.push(Warning::new(
                "nothing_left_out",
                format!("No ground was called {name:?}, which was to be left out."),
            ));
        }
    }
    if let Some(path) = &setup.boundary {
        let boundary = to_plane(&read_boundary(path)?.ground, plane)?;
        let half = found.width_m * NARROWEST_SHARE / 2.0;
        let beside = beside_passes(&treated, direction_deg, found.width_m * BESIDE_WIDTHS);
        let left = boundary
            .intersection(&beside)
            .difference(&treated.union(&end_rows));
        for piece in edge_moved(&edge_moved(&left, -half), half) {
            match piece.unsigned_area() >= SMALLEST_M2 {
                true => pieces.push((setup.untreated.clone(), piece)),
                false => small_pieces += 1,
            }
        }
    }
    if pieces.is_empty() {
        return Err(machine
            .refuse(
                "no ground in it is large enough for a strip",
                "a strip has 0.05 ha (0.12 ac) at least: is it the log of this field?",
            )
            .into());
    }
    // Numbered across the passes, from the west or north.
    let place = |piece: &Polygon<f64>| place_across(piece, direction_deg);
    pieces.sort_by(|a, b| place(&a.1).total_cmp(&place(&b.1)));
    let mut strips = Vec::with_capacity(pieces.len());
    let mut outlined = Vec::with_capacity(pieces.len());
    for (at, (treatment, piece)) in pieces.into_iter().enumerate() {
        let ground = straightened(&piece);
        let strip_id = (at + 1).to_string();
        outlined.push(OutlinedStrip {
            strip_id: strip_id.clone(),
            treatment: treatment.clone(),
            area_ha: ground.unsigned_area() / M2_PER_HA,
        });
        strips.push(OutlinedPiece {
            strip_id,
            treatment,
            ground,
        });
    }
    let mut treatments: Vec<&str> = outlined.iter().map(|s| s.treatment.as_str()).collect();
    treatments.sort_unstable();
    treatments.dedup();
    if treatments.len() == 1 {
        warnings.push(Warning::new(
            "one_treatment",
            format!(
                "All strips are {:?}: a comparison needs a second treatment. Give the field's boundary \
                 (--boundary), and the ground left out between the passes becomes {:?}.",
                treatments[0], setup.untreated
            ),
        ));
    }
    let record = Outline {
        schema: OUTLINE_SCHEMA.to_owned(),
        tool: this_tool(),
        operation: log.operation,
        files: log.files.clone(),
        boundary: setup
            .boundary
            .as_ref()
            .map(|path| path.display().to_string()),
        by: setup.by.clone(),
        width_m: found.width_m,
        moments: found.moments,
        idle_moments: found.idle,
        closed_m: CLOSED_M,
        smallest_m2: SMALLEST_M2,
        small_pieces,
        direction_deg,
        end_rows_ha: end_rows.unsigned_area() / M2_PER_HA,
        strips: outlined,
        warnings,
    };
    Ok((record, strips))
}

/// The ground between the passes and up to `reach_m` beside them: the convex hull of `treated` moved across the passes.
/// What lies beyond the ends of the passes is headland, and no check.
fn beside_passes(
    treated: &MultiPolygon<f64>,
    direction_deg: f64,
    reach_m: f64,
) -> MultiPolygon<f64> {
    let across = (direction_deg + 90.0).to_radians();
    let [east, north] = [across.sin() * reach_m, across.cos() * reach_m];
    let hull = treated.convex_hull();
    let moved = MultiPolygon::new(vec![
        hull.translate(east, north),
        hull.translate(-east, -north),
    ]);
    MultiPolygon::new(vec![moved.convex_hull()])
}

/// Writes `strips` as `path`, in the format that its ending says: GeoJSON or a Shapefile.
///
/// # Errors
/// When the ending says neither, or the file cannot be written.
pub fn write_outline(strips: &[Strip], path: &Path) -> Result<(), JobError> {
    let extension = path.extension().unwrap_or_default().to_string_lossy();
    match extension.to_lowercase().as_str() {
        "geojson" | "json" => Ok(write_strips_geojson(path, strips)?),
        "shp" => Ok(write_strips_shapefile(path, strips)?),
        _ => Err(Problem::new(
            path.display().to_string(),
            "the name does not say which format to write",
        )
        .hint("end it in .geojson or .shp; checkstrip convert makes others of them")
        .into()),
    }
}
