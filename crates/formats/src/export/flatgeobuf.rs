//! Features as FlatGeobuf (version 3), in their own order: an index would sort them, and the order of a
//! log is how the machine drove.

use std::io::{self, Write};
use std::path::Path;

use ::flatgeobuf::{
    Column, ColumnArgs, ColumnType, Crs, CrsArgs, Feature, FeatureArgs, Geometry, GeometryArgs,
    GeometryType, Header, HeaderArgs,
};
use flatbuffers::{FlatBufferBuilder, WIPOffset};

use super::feature_source::{
    ColumnKind, Drawn, FeatureBatch, FeatureSource, Holds, Outline, Value,
};
use super::write_atomically;
use crate::FormatError;
use crate::feature::Rings;
use crate::flatgeobuf::MAGIC;

/// Writes `source` as FlatGeobuf.
///
/// # Errors
/// When the file cannot be written.
pub(crate) fn write_flatgeobuf(
    path: &Path,
    name: &str,
    source: &dyn FeatureSource,
) -> Result<(), FormatError> {
    let outline = source.outline();
    let of_all = match outline.holds {
        Holds::Nothing => GeometryType::Unknown,
        Holds::Points => GeometryType::Point,
        Holds::Polygons if outline.several_parts => GeometryType::MultiPolygon,
        Holds::Polygons => GeometryType::Polygon,
    };
    write_atomically(path, |writer| {
        writer.write_all(MAGIC)?;
        // The patch level.
        writer.write_all(&[0])?;
        write_header(writer, name, outline, of_all)?;
        let mut builder = FlatBufferBuilder::new();
        source.each_batch(&mut |batch| {
            for record in 0..batch.records() {
                builder.reset();
                let geometry = geometry(&mut builder, batch.drawn(record), of_all);
                let properties = properties(batch, outline.columns.len(), record)?;
                let properties = builder.create_vector(&properties);
                let arguments = FeatureArgs {
                    geometry,
                    properties: Some(properties),
                    columns: None,
                };
                let feature = Feature::create(&mut builder, &arguments);
                builder.finish_size_prefixed(feature, None);
                writer.write_all(builder.finished_data())?;
            }
            Ok(())
        })
    })
}

fn write_header(
    writer: &mut (dyn Write + Send),
    name: &str,
    outline: &Outline,
    geometry_type: GeometryType,
) -> io::Result<()> {
    let mut builder = FlatBufferBuilder::new();
    let columns: Vec<WIPOffset<Column<'_>>> = outline
        .columns
        .iter()
        .map(|column| {
            let name = builder.create_string(&column.name);
            let arguments = ColumnArgs {
                name: Some(name),
                type_: match column.kind {
                    ColumnKind::Truth => ColumnType::Bool,
                    ColumnKind::Whole => ColumnType::Long,
                    ColumnKind::Number => ColumnType::Double,
                    ColumnKind::Text => ColumnType::String,
                },
                ..ColumnArgs::default()
            };
            Column::create(&mut builder, &arguments)
        })
        .collect();
    let columns = builder.create_vector(&columns);
    let crs = match &outline.crs {
        None => {
            let arguments = CrsArgs {
                org: Some(builder.create_string("EPSG")),
                code: 4326,
                name: Some(builder.create_string("WGS 84")),
                ..CrsArgs::default()
            };
            Crs::create(&mut builder, &arguments)
        }
        Some(crs) => {
            let code = crs.code.as_ref();
            let arguments = CrsArgs {
                org: code.map(|(authority, _)| builder.create_string(authority)),
                code: code.map_or(0, |(_, code)| *code),
                name: Some(builder.create_string(&crs.name)),
                wkt: Some(builder.create_string(&crs.description.wkt)),
                ..CrsArgs::default()
            };
            Crs::create(&mut builder, &arguments)
        }
    };
    let envelope = outline.extent.map(|extent| builder.create_vector(&extent));
    let arguments = HeaderArgs {
        name: Some(builder.create_string(name)),
        envelope,
        geometry_type,
        columns: Some(columns),
        features_count: outline.records as u64,
        index_node_size: 0,
        crs: Some(crs),
        ..HeaderArgs::default()
    };
    let header = Header::create(&mut builder, &arguments);
    builder.finish_size_prefixed(header, None);
    writer.write_all(builder.finished_data())
}

fn geometry<'b>(
    builder: &mut FlatBufferBuilder<'b>,
    drawn: Drawn<'_>,
    of_all: GeometryType,
) -> Option<WIPOffset<Geometry<'b>>> {
    match drawn {
        Drawn::Nothing => None,
        Drawn::Point(point) => {
            let arguments = GeometryArgs {
                xy: Some(builder.create_vector(&point)),
                type_: GeometryType::Point,
                ..GeometryArgs::default()
            };
            Some(Geometry::create(builder, &arguments))
        }
        Drawn::Polygons([only]) if of_all == GeometryType::Polygon => Some(polygon(builder, only)),
        Drawn::Polygons(polygons) => {
            let parts: Vec<_> = polygons
                .iter()
                .map(|rings| polygon(builder, rings))
                .collect();
            let arguments = GeometryArgs {
                parts: Some(builder.create_vector(&parts)),
                type_: GeometryType::MultiPolygon,
                ..GeometryArgs::default()
            };
            Some(Geometry::create(builder, &arguments))
        }
    }
}

/// Rings stand one behind the other; where each ends is said when there is more than one.
fn polygon<'b>(builder: &mut FlatBufferBuilder<'b>, rings: &Rings) -> WIPOffset<Geometry<'b>> {
    let corners: Vec<f64> = rings.iter().flatten().flatten().copied().collect();
    let mut end = 0;
    let ends: Vec<u32> = rings
        .iter()
        .map(|ring| {
            end += ring.len() as u32;
            end
        })
        .collect();
    let arguments = GeometryArgs {
        xy: Some(builder.create_vector(&corners)),
        ends: (ends.len() > 1).then(|| builder.create_vector(&ends)),
        type_: GeometryType::Polygon,
        ..GeometryArgs::default()
    };
    Geometry::create(builder, &arguments)
}

/// The number of a column, then its value, for every value that there is.
fn properties(batch: &dyn FeatureBatch, columns: usize, record: usize) -> io::Result<Vec<u8>> {
    let mut out = Vec::new();
    for column in 0..columns {
        let value = batch.value(column, record);
        if value == Value::Nothing {
            continue;
        }
        let number = u16::try_from(column).map_err(io::Error::other)?;
        out.extend_from_slice(&number.to_le_bytes());
        match value {
            Value::Nothing => {}
            Value::Truth(value) => out.push(u8::from(value)),
            Value::Whole(value) => out.extend_from_slice(&value.to_le_bytes()),
            Value::Number(value) => out.extend_from_slice(&value.to_le_bytes()),
            Value::Text(text) => {
                let length = u32::try_from(text.len()).map_err(io::Error::other)?;
                out.extend_from_slice(&length.to_le_bytes());
                out.extend_from_slice(text.as_bytes());
            }
        }
    }
    Ok(out)
}
