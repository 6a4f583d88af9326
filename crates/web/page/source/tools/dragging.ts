// Dragging selected strips about the map: what a drag does to them is the tool's, what is dragged and
// how it becomes one step of the history is here.

import MultiPolygon from "ol/geom/MultiPolygon";
import PointerInteraction from "ol/interaction/Pointer";
import { toPoint } from "../map_view";
import type { Strip } from "../model";
import { boxAround, toMillimetres } from "../plane";
import type { Point, Polygon } from "../wire";
import { namedFirst, type Bench } from "./tool";
import { stripAt } from "./strip_at";

export interface Drag {
  from: Point;
  to: Point;
  /** Middle of everything that is dragged. */
  centre: Point;
}

/** A drag that moves every selected strip as `how` says; `done`: what is said of it, "moved". */
export function dragging(
  bench: Bench,
  how: (polygons: readonly Polygon[], drag: Drag) => Polygon[],
  done: string,
): PointerInteraction {
  const { model, strips } = bench;
  let dragged: Strip[] = [];
  let from: Point = [0, 0];
  let centre: Point = [0, 0];
  let moved = false;
  const drag = (to: Point, polygons: readonly Polygon[]): Polygon[] => how(polygons, { from, to, centre });
  return new PointerInteraction({
    handleDownEvent(event) {
      const key = stripAt(bench, event.pixel);
      if (key === null) return false;
      if (!model.selected.has(key)) model.select([key]);
      dragged = model.selectedStrips();
      from = toPoint(event.coordinate);
      centre = boxAround(dragged.flatMap((strip) => strip.polygons)).centre;
      moved = false;
      return true;
    },
    handleDragEvent(event) {
      moved = true;
      for (const strip of dragged) {
        strips.feature(strip.key)?.setGeometry(new MultiPolygon(drag(toPoint(event.coordinate), strip.polygons)));
      }
    },
    handleUpEvent(event) {
      if (moved) {
        const to = toPoint(event.coordinate);
        model.edit(
          dragged.map((strip) => strip.key),
          (strip) => ({ polygons: toMillimetres(drag(to, strip.polygons)) }),
          `${namedFirst(dragged)} ${done}`,
        );
      }
      return false;
    },
  });
}
