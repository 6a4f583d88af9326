"""Task data as an outside reader has it: task_data.py FOLDER

The documents are read by isoxml, the records of the first time log by numpy as structured elements, each at
its offset, with the fields that the log's own document leaves empty. Prints the designators, the area of boundary and zones in square degrees (shapely), and of the log
its count, sums and last values.
"""
import json
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
from isoxml.converter.shapely_geom import ShapelyConverterV4
from isoxml.util.isoxml_io import isoxml_from_path

# Attributes of PTN that a binary log may hold in every record (ISO 11783-10, from memory).
POSITION = {
    "A": ("north", "<i4"), "B": ("east", "<i4"), "C": ("up", "<i4"), "D": ("status", "u1"), "E": ("pdop", "<u2"),
    "F": ("hdop", "<u2"), "G": ("satellites", "u1"), "H": ("utc_ms", "<u4"), "I": ("utc_day", "<u2"),
}

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
    document = ElementTree.parse(folder / f"{name}.XML").getroot()
    position = document.find("PTN")
    start = np.dtype(
        [("ms", "<u4"), ("day", "<u2")]
        + [field for key, field in POSITION.items() if position.get(key) == ""]
        + [("count", "u1")]
    )
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
        "entries": [value.get("A") for value in document.findall("DLV")],
        "first": str(np.datetime64("1980-01-01") + np.timedelta64(int(starts["day"][0]), "D")),
        "last": [last[place] for place in sorted(last)],
    }
print(json.dumps(answer))
