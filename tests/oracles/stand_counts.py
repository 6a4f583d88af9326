"""Stands of strips from counts, and their comparison: stand_counts.py STAND.csv STRIPS.geojson INSET_M CHECK

Counts are plants in a length of row (ft) at a row spacing (in), joined with shapely to strips inset in a transverse
Mercator plane of pyproj. Pairs of strips are compared with scipy's paired t test and its exact permutation test.
Prints plants/ha by strip, and for the pairs the mean difference, interval and p values.
"""
import json
import sys

import numpy as np
import pandas
import pyproj
import scipy.stats
import shapely

counts = pandas.read_csv(sys.argv[1])
strips = json.load(open(sys.argv[2]))["features"]
inset, check = float(sys.argv[3]), sys.argv[4]
to_plane = pyproj.Transformer.from_crs(
    "EPSG:4326",
    f"+proj=tmerc +lat_0={counts.lat.mean()} +lon_0={counts.lon.mean()} +ellps=WGS84 +units=m",
    always_xy=True,
)
places = shapely.points(*to_plane.transform(counts.lon.to_numpy(), counts.lat.to_numpy()))
FOOT, INCH = 0.3048, 0.0254
ground = counts["row length (ft)"] * FOOT * counts["row spacing (in)"] * INCH
density = (counts["plants"] / ground * 1e4).to_numpy()
found, blocks = {}, {}
for feature in strips:
    drawn = shapely.transform(
        shapely.geometry.shape(feature["geometry"]),
        lambda corners: np.column_stack(to_plane.transform(corners[:, 0], corners[:, 1])),
    )
    inside = shapely.contains(drawn.buffer(-inset, join_style="mitre"), places) & np.isfinite(density)
    properties = feature["properties"]
    mean = float(density[inside].mean())
    found[properties["strip_id"]] = {"plants_ha": mean, "counts": int(inside.sum())}
    of_block = blocks.setdefault(properties["block"], {})
    of_block["check" if properties["treatment"] == check else "treated"] = mean
treated = np.array([block["treated"] for block in blocks.values()])
untreated = np.array([block["check"] for block in blocks.values()])
test = scipy.stats.ttest_rel(treated, untreated)
interval = test.confidence_interval(0.95)
flips = scipy.stats.permutation_test(
    (treated, untreated),
    lambda a, b, axis: np.mean(a - b, axis=axis),
    permutation_type="samples",
    vectorized=True,
    n_resamples=np.inf,
)
print(
    json.dumps(
        {
            "strips": found,
            "difference": float((treated - untreated).mean()),
            "interval": [float(interval.low), float(interval.high)],
            "p_value": float(test.pvalue),
            "p_value_permutation": float(flips.pvalue),
        }
    )
)
