"""The yield surface made again: surface.py CLEANED.csv RECORD.json BAND1.xyz BAND2.xyz

From the cleaned export alone, with pyproj (UTM), numpy and scipy: records gathered to cells, their
empirical variogram pair by pair, the least of Cressie's (1985) criterion by scipy, and every cell by
the bordered system of ordinary kriging (or by inverse distance). The raster is what GDAL read of it,
as centres and values. Says how far apart the two are.
"""
import json
import sys

import numpy as np
import pandas as pd
from pyproj import Transformer
from scipy.optimize import minimize
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist, pdist

from footprints import plane

record = json.load(open(sys.argv[2]))
raster = record["raster"]
log = pd.read_csv(sys.argv[1])
log = log[(log.status == "kept") & log.yield_kg_ha.notna()].reset_index(drop=True)
to_plane = plane(log.lon.median(), log.lat.median())
east, north = to_plane.transform(log.lon.to_numpy(), log.lat.to_numpy())
heading = np.deg2rad(log.heading_deg.to_numpy())
east, north = east - np.sin(heading) * log.distance_m / 2, north - np.cos(heading) * log.distance_m / 2
lon, lat = to_plane.transform(east, north, direction="INVERSE")
east, north = Transformer.from_crs("OGC:CRS84", raster["crs"], always_xy=True).transform(lon, lat)

cell = raster["cell_m"]
column = np.floor((east - raster["west_m"]) / cell)
row = np.floor((raster["north_m"] - north) / cell)
frame = pd.DataFrame({"row": row, "column": column, "east": east, "north": north, "z": log.yield_kg_ha})
samples = frame.groupby(["row", "column"]).mean()
places, z = samples[["east", "north"]].to_numpy(), samples.z.to_numpy()

answer = {"records": len(log), "samples": len(z)}
model = record.get("variogram")
if model:
    # The diagonal's third, at most 150 m, in 15 lags.
    longest = min(np.hypot(*np.ptp(places, axis=0)) / 3, 150.0)
    distance, root = pdist(places), np.sqrt(pdist(z[:, None]))
    lag = np.ceil(distance / (longest / 15)).astype(int)
    worst = 0.0
    for at, said in enumerate(record["variogram"]["lags"], start=1):
        of_lag = lag == at
        n = of_lag.sum()
        gamma = 0.5 * root[of_lag].mean() ** 4 / (0.457 + 0.494 / n)
        worst = max(worst, abs(said["semivariance_kg2_ha2"] / gamma - 1), abs(said["pairs"] / n - 1))
    answer["lags"] = worst
    h = np.array([said["distance_m"] for said in model["lags"]])
    gamma = np.array([said["semivariance_kg2_ha2"] for said in model["lags"]])
    pairs = np.array([said["pairs"] for said in model["lags"]])

    def rise(h, name, a):
        if name == "spherical":
            return np.where(h < a, 1.5 * h / a - 0.5 * (h / a) ** 3, 1.0)
        return 1 - np.exp(-h / a)

    def criterion(p, name):
        with np.errstate(all="ignore"):
            fitted = np.exp(p[0]) + np.exp(p[1]) * rise(h, name, np.exp(p[2]))
            value = (pairs * (gamma / fitted - 1) ** 2).sum()
        return value if np.isfinite(value) else 1e300

    top = gamma.max()
    starts = [(n * top, (1 - n) * top, a) for n in (0.02, 0.3, 0.7) for a in (10, 40, 120, 250)]
    # Twice the longest lag is as far as a range may go.
    bounds = [(np.log(top * 1e-9), np.log(top * 9)), (np.log(top * 1e-9), np.log(top * 9)),
              (np.log(longest / 150), np.log(2 * longest))]
    options = {"maxiter": 9000, "maxfev": 9000, "xatol": 1e-9, "fatol": 1e-12}
    best = min(
        minimize(criterion, np.log(s), (name,), method="Nelder-Mead", bounds=bounds, options=options).fun
        for s in starts for name in ("spherical", "exponential")
    )
    answer["criterion"] = float(best)
    name, a = model["model"], model["range_m"]
    nugget, sill = model["nugget_kg2_ha2"], model["sill_kg2_ha2"]
    covariance = lambda d: (sill - nugget) * (1 - rise(d, name, a))

xyz = np.loadtxt(sys.argv[3])
errors = np.loadtxt(sys.argv[4])[:, 2] if model else None
tree, records = cKDTree(places), cKDTree(np.column_stack([east, north]))
steps = (np.arange(4) - 1.5) / 4 * cell
block = np.array([(x, y) for x in steps for y in steps])
differs, differs_error, wrong_side, inside = 0.0, 0.0, 0, 0
for at, (x, y, value) in enumerate(xyz):
    nearest = records.query([x, y])[0]
    # A record on the very edge may fall on either side.
    if abs(nearest - record["edge_m"]) > 1e-3 and (nearest < record["edge_m"]) != (value != -9999):
        wrong_side += 1
    if value == -9999:
        continue
    inside += 1
    d, near = tree.query([x, y], k=record["neighbours"], distance_upper_bound=record["reach_m"])
    d, near = d[np.isfinite(d)], near[np.isfinite(d)]
    value *= raster["kg_ha_per_unit"]
    if not model:
        expected = (z[near] / d**2).sum() / (1 / d**2).sum()
        differs = max(differs, abs(value - expected))
        continue
    n = len(near)
    system = np.ones((n + 1, n + 1))
    system[:n, :n] = covariance(cdist(places[near], places[near])) + nugget * np.eye(n)
    system[n, n] = 0
    right = np.append(covariance(cdist(places[near], block + [x, y])).mean(axis=1), 1.0)
    weights = np.linalg.solve(system, right)
    variance = covariance(cdist(block, block)).mean() - weights @ right
    differs = max(differs, abs(value - weights[:n] @ z[near]))
    differs_error = max(differs_error, abs(errors[at] * raster["kg_ha_per_unit"] - np.sqrt(variance)))
answer |= {"differs_kg_ha": differs, "differs_error_kg_ha": differs_error, "wrong_side": wrong_side, "cells": inside}
print(json.dumps(answer))
