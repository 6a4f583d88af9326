// Moving strips: dragged, nudged with the arrow keys, or by so many feet along and across.

import { announce } from "../announcements";
import { element } from "../element";
import { lengthField } from "../fields";
import { boxAround, mapped, shifted, step, toMillimetres } from "../plane";
import { lengthText, metresOf, unitSystem } from "../units";
import type { Point } from "../wire";
import { fieldList } from "./brush";
import { dragging } from "./dragging";
import { SELECT_FIRST, namedFirst, type Bench, type Tool } from "./tool";

export function moving(bench: Bench): Tool {
  const { model, view } = bench;
  const drag = dragging(
    bench,
    (polygons, { from, to }) => mapped(polygons, (point) => shifted(point, [to[0] - from[0], to[1] - from[1]])),
    "moved",
  );
  let alongM = 0;
  let acrossM = 0;
  const fields = [
    lengthField("Along the strip", { valueM: () => alongM, changed: (metres) => (alongM = metres) }),
    lengthField("Across, to its right", { valueM: () => acrossM, changed: (metres) => (acrossM = metres) }),
  ];
  const moveBy = (by: Point): void => {
    const strips = model.selectedStrips();
    if (strips.length === 0) {
      announce(SELECT_FIRST);
      return;
    }
    const words = `${namedFirst(strips)} moved`;
    model.edit(
      model.selected,
      (strip) => ({ polygons: toMillimetres(mapped(strip.polygons, (point) => shifted(point, by))) }),
      words,
    );
    announce(`${words} by ${lengthText(Math.hypot(...by))}.`);
  };
  const button = element(
    "button",
    {
      type: "button",
      onclick: () => {
        const chosen = model.selectedStrips().flatMap((strip) => strip.polygons);
        moveBy(step(chosen.length > 0 ? boxAround(chosen).directionDeg : 0, alongM, acrossM));
      },
    },
    "Move by these",
  );
  return {
    name: "move",
    title: "Move",
    key: "m",
    help: "Drag a strip; all selected ones go with it. Keys: arrows move the selected strips by 1 ft (0.5 m), with Shift by ten times that.",
    options: fieldList(fields, button),
    start: () => {
      view.map.addInteraction(drag);
    },
    stop: () => {
      view.map.removeInteraction(drag);
    },
    press(event) {
      const arrows: Record<string, Point> = {
        ArrowUp: [0, 1],
        ArrowDown: [0, -1],
        ArrowRight: [1, 0],
        ArrowLeft: [-1, 0],
      };
      const arrow = arrows[event.key];
      if (!arrow || model.selected.size === 0) return false;
      const stride = metresOf(unitSystem() === "farm" ? 1 : 0.5) * (event.shiftKey ? 10 : 1);
      moveBy([arrow[0] * stride, arrow[1] * stride]);
      return true;
    },
  };
}
