// A strip from numbers alone: where its line begins, which way it runs, how long it is.

import { announce } from "../announcements";
import { element } from "../element";
import { lengthField, numberField } from "../fields";
import { shifted, step } from "../plane";
import type { Point } from "../wire";
import { fieldList } from "./brush";
import { namedFirst, type Bench, type Tool } from "./tool";

export function addingByNumbers(bench: Bench): Tool {
  const { brush, model, view } = bench;
  let start: Point | null = null;
  let directionDeg = model.trial.direction_deg ?? 0;
  let lengthM = usualPassLength(bench);
  const at = (): Point => start ?? view.middle();
  const fields = [
    lengthField("Begins east", { valueM: () => at()[0], changed: (east) => (start = [east, at()[1]]) }),
    lengthField("Begins north", { valueM: () => at()[1], changed: (north) => (start = [at()[0], north]) }),
    numberField("Direction, clockwise from north", {
      value: () => directionDeg,
      changed: (degrees) => (directionDeg = degrees),
      least: 0,
      most: 360,
      unit: () => "°",
      decimals: 2,
    }),
    lengthField("Length", { valueM: () => lengthM, changed: (metres) => (lengthM = metres), least: 1 }),
    ...brush.nameFields(),
    ...brush.lineFields(),
  ];
  const add = (): void => {
    const before = model.state.strips.length;
    model.add(brush.along(at(), shifted(at(), step(directionDeg, lengthM))), "Strips added by numbers");
    announce(`${namedFirst(model.state.strips.slice(before))} added.`);
  };
  return {
    name: "numbers",
    title: "By numbers",
    key: "n",
    help: "Write where the line of the strip begins, its direction and its length, then add it.",
    options: fieldList(fields, element("button", { type: "button", class: "main", onclick: add }, "Add strip")),
    start() {
      start = null;
      for (const field of fields) field.refresh();
    },
    stop: () => undefined,
  };
}

/** Half of the passes are shorter: a strip usually runs as far as a pass does. */
function usualPassLength(bench: Bench): number {
  const lengths = bench.model.trial.passes.map((pass) => pass.length_m).sort((a, b) => a - b);
  return lengths[Math.floor(lengths.length / 2)] ?? 100;
}
