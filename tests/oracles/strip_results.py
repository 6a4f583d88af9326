"""Strips with their results as geopandas reads them: strip_results.py FILE…

For each file its reference system, the kinds of its columns and, strip by strip, every attribute
(null where there is none) and the area on the ellipsoid.
"""
import json
import sys

import geopandas
import pandas as pd
from pyproj import Geod

answer = []
for path in sys.argv[1:]:
    read = geopandas.read_parquet if path.endswith(".parquet") else geopandas.read_file
    strips = read(path)
    geod = Geod(ellps="WGS84")
    attributes = strips.drop(columns="geometry")
    rows = [
        {key: None if pd.isna(value) else value for key, value in row.items()}
        for row in attributes.to_dict("records")
    ]
    for row, ground in zip(rows, strips.geometry):
        row["ground_m2"] = abs(geod.geometry_area_perimeter(ground)[0])
    answer.append(
        {
            # GeoParquet's own system is WGS 84 with longitude first, which has no EPSG number.
            "epsg": 4326 if strips.crs.equals("EPSG:4326", ignore_axis_order=True) else strips.crs.to_epsg(),
            "kinds": {name: str(kind) for name, kind in attributes.dtypes.items()},
            "strips": rows,
        }
    )
print(json.dumps(answer, default=lambda value: value.item()))
