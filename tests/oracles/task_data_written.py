"""Task data as an outside writer makes it: task_data_written.py FOLDER

Writes v3.zip and v4.zip with isoxml: a field with a pond, drawn with shapely, and a task with two treatment
zones, 140 kg/ha and 80,000 seeds/ha. Prints the areas in square degrees.
"""
import json
import sys
from pathlib import Path

import isoxml.models.base.v3 as v3
import isoxml.models.base.v4 as v4
import shapely
from isoxml.converter.shapely_geom import ShapelyConverterV3, ShapelyConverterV4
from isoxml.util.isoxml_io import isoxml_to_zip

folder = Path(sys.argv[1])
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
    data = iso.Iso11783TaskData(
        management_software_manufacturer="invented",
        management_software_version="1",
        data_transfer_origin=list(iso.Iso11783TaskDataDataTransferOrigin)[0],
        partfields=[partfield],
        tasks=[task],
    )
    isoxml_to_zip(folder / f"{name}.zip", data)
print(json.dumps({"field": field.area, "zones": [zone.area for zone in zones]}))
