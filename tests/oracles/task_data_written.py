"""Task data as an outside writer makes it: task_data_written.py FOLDER

Writes with isoxml: v3.zip and v4.zip, a field with a pond, drawn with shapely, and a task with two treatment zones,
140 kg/ha and 80,000 seeds/ha; grid_v3.zip and grid_v4.zip, two rates in the cells of a grid of type 1 and 2; and
times.zip, the records of a harvest in the document itself. Prints the areas in square degrees, the ground of each
rate of the grid (shapely, cell by cell), and the records.
"""
import json
import sys
from decimal import Decimal
from pathlib import Path

import isoxml.models.base.v3 as v3
import isoxml.models.base.v4 as v4
import numpy as np
import shapely
from isoxml.converter.np_grid import from_numpy_array
from isoxml.converter.shapely_geom import ShapelyConverterV3, ShapelyConverterV4
from isoxml.util.isoxml_io import isoxml_to_zip
from xsdata.models.datatype import XmlDateTime

folder = Path(sys.argv[1])


def task_data(iso, **content):
    return iso.Iso11783TaskData(
        management_software_manufacturer="invented",
        management_software_version="1",
        data_transfer_origin=list(iso.Iso11783TaskDataDataTransferOrigin)[0],
        **content,
    )


field = shapely.box(-93.0, 43.0, -92.99, 43.01)
field = shapely.difference(field, shapely.box(-92.996, 43.004, -92.995, 43.005))
zones = [shapely.box(-93.0, 43.0, -92.999, 43.01), shapely.box(-92.999, 43.0, -92.998, 43.01)]
rates = [(b"\x00\x06", 14_000), (b"\x00\x0b", 8_000)]
for name, iso, shapes in [("v3", v3, ShapelyConverterV3()), ("v4", v4, ShapelyConverterV4())]:
    boundary = shapes.to_iso_polygon(field, iso.PolygonType.PartfieldBoundary)
    partfield = iso.Partfield(id="PFD1", designator="North", area=1, polygons=[boundary])
    treatments = [
        iso.TreatmentZone(
            code=at + 1,
            designator=f"zone {at}",
            polygons=[shapes.to_iso_polygon(zone, iso.PolygonType.TreatmentZone)],
            process_data_variables=[
                iso.ProcessDataVariable(process_data_ddi=ddi, process_data_value=value)
            ],
        )
        for at, (zone, (ddi, value)) in enumerate(zip(zones, rates))
    ]
    task = iso.Task(
        id="TSK1",
        designator="Spread",
        partfield_id_ref="PFD1",
        status=list(iso.TaskStatus)[0],
        treatment_zones=treatments,
    )
    isoxml_to_zip(folder / f"{name}.zip", task_data(iso, partfields=[partfield], tasks=[task]))

# Rates in strips at an angle to the grid: 0 is no rate of the task.
rows, columns, cell = 40, 30, Decimal("0.0001")
row, column = np.mgrid[0:rows, 0:columns]
which = ((3 * column + row) // 12) % 3
corner = (Decimal("43.0"), Decimal("-93.0"))
ground = {
    rate: shapely.union_all(
        [
            shapely.box(-93 + x / 1e4, 43 + y / 1e4, -93 + (x + 1) / 1e4, 43 + (y + 1) / 1e4)
            for y, x in zip(*np.nonzero(which == at))
        ]
    )
    for at, rate in enumerate(["0 kg/ha", "140 kg/ha", "200 kg/ha"])
}
values = np.array([0, 14_000, 20_000], np.int32)
for name, iso in [("grid_v3", v3), ("grid_v4", v4)]:
    kind = iso.GridType.GridType1 if iso is v3 else iso.GridType.GridType2
    grid = iso.Grid(
        minimum_north_position=corner[0],
        minimum_east_position=corner[1],
        cell_north_size=float(cell),
        cell_east_size=float(cell),
        maximum_column=columns,
        maximum_row=rows,
        filename="GRD00001",
        type=kind,
        treatment_zone_code=None if iso is v3 else 1,
    )
    cells = (which + 1).astype(np.uint8) if iso is v3 else values[which]
    content = from_numpy_array(cells, grid)
    grid.filelength = len(content)
    zones_of_grid = [
        iso.TreatmentZone(
            code=at + 1,
            process_data_variables=[
                iso.ProcessDataVariable(process_data_ddi=b"\x00\x06", process_data_value=int(value))
            ],
        )
        for at, value in enumerate(values if iso is v3 else values[:1])
    ]
    task = iso.Task(
        id="TSK1",
        designator="Spread",
        status=list(iso.TaskStatus)[0],
        treatment_zones=zones_of_grid,
        grids=[grid],
    )
    isoxml_to_zip(folder / f"{name}.zip", task_data(iso, tasks=[task]), {"GRD00001": content})

records = [(43 + at * 1e-5, -93 + at * 1e-6, 5_000_000 + 1_000 * at) for at in range(50)]
times = [
    v4.Time(
        start=XmlDateTime(2026, 10, 6, 14, 0, at),
        type=v4.TimeType.Effective,
        positions=[
            v4.Position(
                north=Decimal(f"{north:.9f}"),
                east=Decimal(f"{east:.9f}"),
                status=v4.PositionStatus.RTKFixedInteger,
            )
        ],
        data_log_values=[
            v4.DataLogValue(process_data_ddi=b"\x00\x57", process_data_value=flow, device_element_id_ref="DET1")
        ],
    )
    for at, (north, east, flow) in enumerate(records)
]
task = v4.Task(id="TSK1", designator="Harvest", status=list(v4.TaskStatus)[3], times=times)
isoxml_to_zip(folder / "times.zip", task_data(v4, tasks=[task]))
print(
    json.dumps(
        {
            "field": field.area,
            "zones": [zone.area for zone in zones],
            "grid": {rate: [ground.area, list(ground.bounds)] for rate, ground in ground.items()},
            "records": records,
        }
    )
)
