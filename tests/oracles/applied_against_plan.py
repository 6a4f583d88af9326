"""Ground by class, of a planting log held against a plan: applied_against_plan.py LOG.csv PLAN.geojson ROW_SPACING_M TOLERANCE

Every row of every moment is a rectangle from the moment before, in a transverse Mercator plane of pyproj, classed by its
own reading against each planned polygon and joined with shapely. Passes are told by their number. Prints, by treatment
of the plan, the area of each class, m², and the mean rate.
"""
import json
import sys

import numpy as np
import pandas
import pyproj
import shapely

log = pandas.read_csv(sys.argv[1])
plan = json.load(open(sys.argv[2]))
spacing, tolerance = float(sys.argv[3]), float(sys.argv[4])
SEEDS_HA = 1.0 / 0.40468564224
to_plane = pyproj.Transformer.from_crs(
    "EPSG:4326",
    f"+proj=tmerc +lat_0={log.lat.mean()} +lon_0={log.lon.mean()} +ellps=WGS84 +units=m",
    always_xy=True,
)
log["x"], log["y"] = to_plane.transform(log.lon.to_numpy(), log.lat.to_numpy())
rows = log.row.max()
pieces = []
for _, drive in log.groupby("pass_id"):
    for row, of_row in drive.groupby("row"):
        at = of_row[["x", "y"]].to_numpy()
        step = np.diff(at, axis=0)
        along = step / np.linalg.norm(step, axis=1)[:, None]
        across = np.column_stack([along[:, 1], -along[:, 0]])
        left = (row - 1 - rows / 2) * spacing
        corners = np.stack(
            [
                at[:-1] + across * left,
                at[:-1] + across * (left + spacing),
                at[1:] + across * (left + spacing),
                at[1:] + across * left,
            ],
            axis=1,
        )
        rates = of_row["population (seeds/ac)"].to_numpy()[1:] * SEEDS_HA
        names = of_row["variety"].to_numpy()[1:]
        pieces.extend(zip(shapely.polygons(corners), names, rates))
grounds = np.array([piece[0] for piece in pieces])
names = np.array([piece[1] for piece in pieces])
rates = np.array([piece[2] for piece in pieces])


def joined(chosen):
    # A hair of overlap closes the seams that rounding leaves between rows.
    return shapely.union_all([piece.buffer(1e-4, join_style="mitre") for piece in chosen])


found = {}
for feature in plan["features"]:
    properties = feature["properties"]
    ground = shapely.transform(
        shapely.geometry.shape(feature["geometry"]),
        lambda corners: np.column_stack(to_plane.transform(corners[:, 0], corners[:, 1])),
    )
    asked = properties["rate (seeds/ac)"] * SEEDS_HA
    near = shapely.intersects(grounds, ground)
    is_product = names == properties["treatment"]
    classes = {
        "other_product": near & ~is_product,
        "less": near & is_product & (rates < asked * (1 - tolerance)),
        "more": near & is_product & (rates > asked * (1 + tolerance)),
    }
    classes["as_asked"] = near & ~(classes["other_product"] | classes["less"] | classes["more"])
    of_treatment = found.setdefault(properties["treatment"], {"amount": 0.0, "ground": 0.0})
    for name, chosen in classes.items():
        area = shapely.intersection(joined(grounds[chosen]), ground).area if chosen.any() else 0.0
        of_treatment[name] = of_treatment.get(name, 0.0) + area
    worked = joined(grounds[near])
    left = ground.difference(worked).area
    of_treatment["not_worked"] = of_treatment.get("not_worked", 0.0) + left
    shares = shapely.area(shapely.intersection(grounds[near], ground))
    of_treatment["amount"] += float((shares * rates[near]).sum())
    of_treatment["ground"] += float(shares.sum())
for of_treatment in found.values():
    of_treatment["mean_rate"] = of_treatment.pop("amount") / of_treatment.pop("ground")
print(json.dumps(found))
