"""Ground that a planter worked, by product: worked_ground.py LOG.csv ROW_SPACING_M

The rows of each moment are rectangles from the moment before, in a transverse Mercator plane of pyproj, joined with
shapely. Passes are told by their number. Prints the area of each product, m².
"""
import json
import sys

import numpy as np
import pandas
import pyproj
import shapely

log = pandas.read_csv(sys.argv[1])
spacing = float(sys.argv[2])
to_plane = pyproj.Transformer.from_crs(
    "EPSG:4326",
    f"+proj=tmerc +lat_0={log.lat.mean()} +lon_0={log.lon.mean()} +ellps=WGS84 +units=m",
    always_xy=True,
)
log["x"], log["y"] = to_plane.transform(log.lon.to_numpy(), log.lat.to_numpy())
rows = log.row.max()
grounds = {}
for _, drive in log.groupby("pass_id"):
    moments = drive.groupby("timestamp_s").first()[["x", "y"]].to_numpy()
    step = np.diff(moments, axis=0)
    along = step / np.linalg.norm(step, axis=1)[:, None]
    across = np.column_stack([along[:, 1], -along[:, 0]])
    for row, product in drive.groupby("row")["variety"].first().items():
        left = (row - 1 - rows / 2) * spacing
        right = left + spacing
        corners = np.stack(
            [
                moments[:-1] + across * left,
                moments[:-1] + across * right,
                moments[1:] + across * right,
                moments[1:] + across * left,
            ],
            axis=1,
        )
        grounds.setdefault(product, []).extend(shapely.polygons(corners))
# A hair of overlap closes the seams that rounding leaves between rows.
areas = {
    product: shapely.union_all([piece.buffer(1e-4, join_style="mitre") for piece in pieces]).area
    for product, pieces in grounds.items()
}
print(json.dumps(areas))
