// The line of figures for the record under the pointer, or, from the keyboard, under the cross.

import { announce } from "./announcements";
import { element, fill } from "./element";
import { toPoint, type MapView } from "./map_view";
import { momentWords } from "./moments";
import type { RecordView } from "./record_view";
import type { Trial } from "./wire";
import { figure, lengthUnit, shownLength, shownValue, unitOf } from "./units";
import type { Point } from "./wire";

export interface ReadOut {
  /** Says what is under the cross, for the key. */
  sayMiddle(): void;
}

export function readOut(target: HTMLElement, map: MapView, view: RecordView, trial: Trial): ReadOut {
  const words = (place: Point): [value: string, rest: string] => {
    const where = `${figure(shownLength(place[0]), 0)} ${lengthUnit()} E, ${figure(shownLength(place[1]), 0)} ${lengthUnit()} N`;
    const { columns, quantity, records } = view;
    const record = columns && records.footprints ? records.at(place, (each) => view.shows(each)) : null;
    if (!columns || record === null) return ["No record here", where];
    const status = trial.statuses[columns.statuses[record]!]?.title ?? "";
    const pass = columns.passes[record]!;
    const value = columns.values?.[record];
    const unit = unitOf(quantity);
    const shown = value === undefined ? status : `${shownValue(quantity, value)}${unit ? ` ${unit}` : ""}`;
    const rest = [
      value === undefined ? "" : status,
      pass > 0 ? `pass ${pass}` : "not cutting",
      momentWords(records.footprints.timeS[record]!, records.footprints.timeS[0]!),
      where,
    ];
    return [shown, rest.filter((part) => part !== "").join(" · ")];
  };
  const show = (place: Point): void => {
    const [value, rest] = words(place);
    fill(target, element("strong", {}, value), ` ${rest}`);
  };
  map.map.on("pointermove", (event) => {
    if (!event.dragging) show(toPoint(event.coordinate));
  });
  map.map.on("click", (event) => show(toPoint(event.coordinate)));
  return {
    sayMiddle() {
      show(map.middle());
      announce(words(map.middle()).join(". "));
    },
  };
}
