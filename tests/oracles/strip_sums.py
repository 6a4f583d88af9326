"""Ground and grain on strips: strip_sums.py CLEANED.csv STRIPS.geojson INSET_M

Kept footprints cut with shapely by the strips, which geopandas reads and a negative buffer with
mitred corners insets. Within a footprint new ground and grain lie evenly. One entry per strip, in
the order of the file.
"""
import json
import sys

import geopandas
import numpy as np
import shapely
from footprints import read

log, polygons, to_plane = read(sys.argv[1])
strips = geopandas.read_file(sys.argv[2])
inset_m = float(sys.argv[3])
grounds = [
    shapely.transform(g, lambda c: np.column_stack(to_plane.transform(c[:, 0], c[:, 1])))
    for g in strips.geometry
]
kept = (log.status == "kept").to_numpy()
polygons, log = polygons[kept], log[kept]
new_share = log.area_m2.to_numpy() / shapely.area(polygons)
yields = log.yield_kg_ha.to_numpy()
tree = shapely.STRtree(polygons)
answer = []
for strip_id, ground in zip(strips.strip_id, grounds):
    inset = ground.buffer(-inset_m, join_style="mitre") if inset_m > 0 else ground
    at = tree.query(inset, predicate="intersects")
    area = shapely.area(shapely.intersection(polygons[at], inset)) * new_share[at]
    answer.append(
        {
            "strip_id": str(strip_id),
            "area_m2": float(area.sum()),
            "dry_mass_kg": float((area * yields[at]).sum() / 1e4),
            "inset_m2": float(inset.area),
        }
    )
print(json.dumps(answer))
