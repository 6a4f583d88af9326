// A strip along a line: two clicks along a pass, as wide as the options say, repeated side by side.

import type { LineString } from "ol/geom";
import MultiPolygon from "ol/geom/MultiPolygon";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { toPoint } from "../map_view";
import { distance } from "../plane";
import { stripStyles } from "../strips_layer";
import { announce } from "../announcements";
import { fieldList } from "./brush";
import { POINTER } from "./pointer_mark";
import { sketch } from "./sketch";
import { namedFirst, type Bench, type Tool } from "./tool";

/** Shorter than this is a slip of the hand. */
const SHORTEST_M = 1;

export function drawingStrips(bench: Bench): Tool {
  const { brush, model } = bench;
  const fields = [...brush.nameFields(), ...brush.lineFields()];
  const drawn = sketch(bench, {
    type: "LineString",
    corners: 2,
    style: (feature) => {
      const geometry = feature.getGeometry()!;
      const line = new Style({ stroke: new Stroke({ color: "#000", width: 2, lineDash: [6, 4] }) });
      if (geometry.getType() !== "LineString") return POINTER;
      const [a, b] = (geometry as LineString).getCoordinates().map(toPoint);
      if (!a || !b || distance(a, b) < SHORTEST_M) return line;
      const strips = brush.along(a, b).flatMap(({ treatment, polygons }, place) => {
        const words = place === 0 ? treatment : "";
        const styles = stripStyles(model.treatments(), treatment, words, false);
        for (const style of styles) style.setGeometry(new MultiPolygon([...polygons]));
        return styles;
      });
      return [...strips, line];
    },
    done([a, b]) {
      if (!a || !b || distance(a, b) < SHORTEST_M) {
        announce("Too short for a strip: set the second corner further along the pass.");
        return;
      }
      const before = model.state.strips.length;
      model.add(brush.along(a, b), "Strips drawn along a line");
      announce(`${namedFirst(model.state.strips.slice(before))} drawn.`);
    },
  });
  return {
    name: "strip",
    title: "Strip along line",
    key: "s",
    help: "Click where the strip begins, then where it ends. Keys: Space sets a corner at the cross, Backspace takes it back, Escape gives up.",
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
