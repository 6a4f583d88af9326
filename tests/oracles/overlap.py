"""Ground covered more than once: overlap.py CLEANED.csv

Sum of the areas of all footprints less the area of their union (shapely), m².
"""
import json
import sys

import shapely
from footprints import read

_, polygons, _ = read(sys.argv[1])
total = float(shapely.area(polygons).sum())
union = float(shapely.area(shapely.union_all(polygons)))
print(json.dumps({"footprints_m2": total, "overlap_m2": total - union}))
