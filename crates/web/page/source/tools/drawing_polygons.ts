// A strip of any shape: corner after corner.

import type { Polygon as PolygonGeometry } from "ol/geom";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { announce } from "../announcements";
import { area, toMillimetres } from "../plane";
import { stripStyles } from "../strips_layer";
import type { Polygon } from "../wire";
import { fieldList } from "./brush";
import { POINTER } from "./pointer_mark";
import { sketch } from "./sketch";
import { namedFirst, type Bench, type Tool } from "./tool";

/** Less ground is a slip of the hand, in square metres. */
const LEAST_GROUND_M2 = 1;

export function drawingPolygons(bench: Bench): Tool {
  const { brush, model } = bench;
  const fields = brush.nameFields();
  const drawn = sketch(bench, {
    type: "Polygon",
    style: (feature) => {
      const geometry = feature.getGeometry()!;
      if (geometry.getType() === "Point") return POINTER;
      if (geometry.getType() === "LineString") return new Style({ stroke: new Stroke({ color: "#000", width: 2 }) });
      const ring = (geometry as PolygonGeometry).getCoordinates()[0] ?? [];
      return ring.length < 4 ? [] : stripStyles(model.treatments(), brush.treatment, brush.treatment, false);
    },
    done(ring) {
      const polygons: Polygon[] = toMillimetres([[ring]]);
      if (area(polygons) < LEAST_GROUND_M2) {
        announce("These corners hold no ground: nothing was drawn.");
        return;
      }
      const before = model.state.strips.length;
      model.add([{ treatment: brush.treatment, block: brush.blockAt(0), polygons }], "Strip drawn corner by corner");
      announce(`${namedFirst(model.state.strips.slice(before))} drawn.`);
    },
  });
  return {
    name: "polygon",
    title: "Polygon",
    key: "p",
    help: "Click corner after corner; double-click ends. Keys: Space sets a corner at the cross, Enter ends, Backspace takes the last one back, Escape gives up.",
    snaps: true,
    options: fieldList(fields, drawn.buttons),
    start() {
      for (const field of fields) field.refresh();
      drawn.start();
    },
    stop: drawn.stop,
    press: drawn.press,
  };
}
