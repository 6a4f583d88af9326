// Turning strips about their middle: by a drag, or by so many degrees.

import { announce } from "../announcements";
import { element } from "../element";
import { numberField } from "../fields";
import { boxAround, direction, mapped, toMillimetres, turned } from "../plane";
import { figure } from "../units";
import { fieldList } from "./brush";
import { dragging } from "./dragging";
import { SELECT_FIRST, namedFirst, type Bench, type Tool } from "./tool";

export function turning(bench: Bench): Tool {
  const { model, view } = bench;
  const drag = dragging(
    bench,
    (polygons, { from, to, centre }) => {
      const by = direction(centre, to) - direction(centre, from);
      return mapped(polygons, (point) => turned(point, centre, by));
    },
    "turned",
  );
  let degrees = 1;
  const fields = [
    numberField("Turn clockwise by", {
      value: () => degrees,
      changed: (by) => (degrees = by),
      least: -360,
      most: 360,
      unit: () => "°",
    }),
  ];
  const turnBy = (by: number): void => {
    const strips = model.selectedStrips();
    if (strips.length === 0) {
      announce(SELECT_FIRST);
      return;
    }
    const { centre } = boxAround(strips.flatMap((strip) => strip.polygons));
    const words = `${namedFirst(strips)} turned`;
    model.edit(
      model.selected,
      (strip) => ({ polygons: toMillimetres(mapped(strip.polygons, (point) => turned(point, centre, by))) }),
      words,
    );
    announce(`${words} by ${figure(by, 1)} degrees.`);
  };
  return {
    name: "turn",
    title: "Turn",
    key: "r",
    help: "Drag a strip around its middle; several turn about their common middle. Keys: [ and ] turn by a tenth of a degree, with Shift by a whole one.",
    options: fieldList(fields, element("button", { type: "button", onclick: () => turnBy(degrees) }, "Turn")),
    start: () => {
      view.map.addInteraction(drag);
    },
    stop: () => {
      view.map.removeInteraction(drag);
    },
    press(event) {
      const by = { "[": -0.1, "]": 0.1, "{": -1, "}": 1 }[event.key];
      if (by === undefined) return false;
      turnBy(by);
      return true;
    },
  };
}
