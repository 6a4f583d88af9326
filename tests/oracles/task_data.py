"""Task data as an outside reader has it: task_data.py FOLDER

The documents are read by isoxml, the records of the first time log by numpy as structured elements, each at
its offset. Prints the designators, the area of boundary and zones in square degrees (shapely), and of the log
its count, sums and last values.
"""
import json
import sys
from pathlib import Path

import numpy as np
from isoxml.converter.shapely_geom import ShapelyConverterV4
from isoxml.util.isoxml_io import isoxml_from_path

folder = Path(sys.argv[1])
data, binaries = isoxml_from_path(folder)
shapes = ShapelyConverterV4()


def area(polygons):
    return sum(shapes.to_shapely_polygon(polygon).area for polygon in polygons)


answer = {
    "fields": [[f.designator, area(f.polygons)] for f in data.partfields],
    "tasks": [t.designator for t in data.tasks],
    "zones": [
        [zone.designator, area(zone.polygons)]
        for task in data.tasks
        for zone in task.treatment_zones
    ],
    "lines": [
        list(map(float, np.ravel(shapes.to_shapely_line_string(line).coords)))
        for field in data.partfields
        for group in field.guidance_groups
        for pattern in group.guidance_patterns
        for line in pattern.line_strings
    ],
    "devices": [d.designator for d in data.devices],
}
logs = [log for task in data.tasks for log in task.time_logs]
if logs:
    name = logs[0].filename
    start = np.dtype([
        ("ms", "<u4"), ("day", "<u2"), ("north", "<i4"), ("east", "<i4"), ("up", "<i4"),
        ("status", "u1"), ("satellites", "u1"), ("count", "u1"),
    ])
    value = np.dtype([("at", "u1"), ("value", "<i4")])
    content, at, starts, last = binaries[name], 0, [], {}
    while at < len(content):
        first = np.frombuffer(content, start, 1, at)[0]
        at += start.itemsize
        for place, number in np.frombuffer(content, value, first["count"], at):
            last[int(place)] = int(number)
        at += int(first["count"]) * value.itemsize
        starts.append(first)
    starts = np.array(starts, start)
    answer["log"] = {
        "length": logs[0].filelength == len(content),
        "records": len(starts),
        "north": float(starts["north"].astype(float).sum() / 1e7),
        "east": float(starts["east"].astype(float).sum() / 1e7),
        "up": float(starts["up"].astype(float).sum() / 1e3),
        "first": str(np.datetime64("1980-01-01") + np.timedelta64(int(starts["day"][0]), "D")),
        "last": [last[place] for place in sorted(last)],
    }
print(json.dumps(answer))
