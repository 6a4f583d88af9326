// Which strip lies under the pointer, and selecting it by a click.

import type MapBrowserEvent from "ol/MapBrowserEvent";
import type { Pixel } from "ol/pixel";
import { announce } from "../announcements";
import type { Bench } from "./tool";

/** The key of the uppermost strip at a pixel of the map. */
export function stripAt(bench: Bench, at: Pixel): number | null {
  const found = bench.view.map.forEachFeatureAtPixel(at, (feature) => feature.getId() as number, {
    layerFilter: (layer) => layer === bench.strips.layer,
    hitTolerance: 4,
  });
  return found ?? null;
}

/** Selects the strip there; with `more`, adds it to those selected or takes it out. */
export function selectAt(bench: Bench, at: Pixel, more: boolean): void {
  const { model } = bench;
  const key = stripAt(bench, at);
  if (key === null) {
    if (!more && model.selected.size > 0) model.select([]);
    return;
  }
  if (more) model.toggle(key);
  else model.select([key]);
  const strip = model.strip(key)!;
  announce(`Strip ${strip.id}, ${strip.treatment}${model.selected.has(key) ? " selected" : " no longer selected"}.`);
}

/** Clicks on the map select strips while a tool is in use. */
export function clickSelects(bench: Bench): { start(): void; stop(): void } {
  const listener = (event: MapBrowserEvent): void => {
    selectAt(bench, event.pixel, (event.originalEvent as MouseEvent).shiftKey);
  };
  return {
    start: () => bench.view.map.on("click", listener),
    stop: () => bench.view.map.un("click", listener),
  };
}
