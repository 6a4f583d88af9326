// Drawing a line or a polygon corner by corner, by pointer or by keys: Space sets a corner at the
// cross in the middle of the map, Enter ends, Backspace takes the last corner back, Escape gives up.

import type { Polygon as PolygonGeometry, LineString } from "ol/geom";
import Draw from "ol/interaction/Draw";
import { never } from "ol/events/condition";
import type { StyleFunction } from "ol/style/Style";
import { announce } from "../announcements";
import { element } from "../element";
import { toPoint } from "../map_view";
import type { Point } from "../wire";
import type { Bench } from "./tool";

export interface Sketch {
  /** Buttons for what the keys do, where there is no keyboard. */
  buttons: HTMLElement;
  start(): void;
  stop(): void;
  press(event: KeyboardEvent): boolean;
}

export interface SketchOrder {
  type: "Polygon" | "LineString";
  /** A line is done with so many corners. */
  corners?: number;
  style: StyleFunction;
  done(points: Point[]): void;
}

export function sketch(bench: Bench, order: SketchOrder): Sketch {
  const { map } = bench.view;
  const draw = new Draw({
    type: order.type,
    ...(order.corners ? { maxPoints: order.corners, minPoints: order.corners } : {}),
    freehandCondition: never,
    stopClick: true,
    clickTolerance: 8,
    snapTolerance: 10,
    style: order.style,
  });
  /** Corners set so far; what follows the pointer is not one yet. */
  let corners: Point[] = [];
  draw.on("drawstart", () => map.getTargetElement()?.classList.add("sketching"));
  draw.on("drawabort", () => (corners = []));
  draw.on("drawend", ({ feature }) => {
    corners = [];
    const geometry = feature.getGeometry() as PolygonGeometry | LineString;
    const places = (
      order.type === "Polygon"
        ? (geometry as PolygonGeometry).getCoordinates()[0]!
        : (geometry as LineString).getCoordinates()
    ).map(toPoint);
    // Not within the event: the tool may change the map that is still handling it.
    queueMicrotask(() => order.done(places));
  });
  const setCorner = (): void => {
    const corner = bench.snapping.snapped(map, bench.view.middle());
    const last = corners[corners.length - 1];
    if (last && last[0] === corner[0] && last[1] === corner[1]) {
      announce("This corner is there already. Move the map with the arrow keys, then press Space again.");
      return;
    }
    corners.push(corner);
    draw.appendCoordinates([corner]);
    announce(`Corner ${corners.length} set.`);
    if (corners.length === order.corners) draw.finishDrawing();
  };
  const finish = (): void => {
    if (order.type === "Polygon" && corners.length > 0 && corners.length < 3) {
      announce("A polygon has at least three corners.");
    } else draw.finishDrawing();
  };
  const takeBack = (): void => {
    corners.pop();
    draw.removeLastPoint();
    announce("Last corner taken back.");
  };
  const giveUp = (): void => {
    corners = [];
    draw.abortDrawing();
    announce("Given up. Nothing was drawn.");
  };
  const button = (words: string, does: () => void): HTMLElement =>
    element("button", { type: "button", onclick: does }, words);
  return {
    buttons: element(
      "div",
      { class: "buttons" },
      order.type === "Polygon" ? button("End", finish) : null,
      button("Take corner back", takeBack),
      button("Give up", giveUp),
    ),
    start() {
      corners = [];
      map.addInteraction(draw);
      bench.snapping.start(map, new Set());
    },
    stop() {
      draw.abortDrawing();
      map.removeInteraction(draw);
      bench.snapping.stop(map);
      map.getTargetElement()?.classList.remove("sketching");
    },
    press(event) {
      switch (event.key) {
        case " ":
          setCorner();
          return true;
        case "Enter":
          finish();
          return true;
        case "Backspace":
          takeBack();
          return true;
        case "Escape":
          giveUp();
          return true;
        default:
          return false;
      }
    },
  };
}
