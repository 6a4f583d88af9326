"""Footprints of a cleaned export, rebuilt with pyproj and shapely from its columns alone."""
import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer


def plane(lon, lat):
    """Transverse Mercator of scale 1 around a point, WGS 84."""
    text = f"+proj=tmerc +lat_0={lat} +lon_0={lon} +k=1 +ellps=WGS84 +units=m"
    return Transformer.from_crs("OGC:CRS84", text, always_xy=True)


def read(path):
    """Records of passes with their footprints, and the plane these are in."""
    log = pd.read_csv(path)
    to_plane = plane(log.lon.median(), log.lat.median())
    log = log[(log["pass"] > 0) & (log.distance_m > 0) & (log.width_m > 0)].reset_index(drop=True)
    east, north = to_plane.transform(log.lon.to_numpy(), log.lat.to_numpy())
    heading = np.deg2rad(log.heading_deg.to_numpy())
    forward = np.column_stack([np.sin(heading), np.cos(heading)])
    right = np.column_stack([np.cos(heading), -np.sin(heading)])
    front = np.column_stack([east, north])
    back = front - forward * log.distance_m.to_numpy()[:, None]
    half = right * log.width_m.to_numpy()[:, None] / 2
    corners = np.stack([back + half, front + half, front - half, back - half], axis=1)
    return log, shapely.polygons(corners), to_plane
