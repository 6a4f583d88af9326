// Corners of selected strips: dragged, added by dragging an edge, taken out with Alt and a click. The
// table of corners beside the map does the same by numbers.

import Collection from "ol/Collection";
import Modify from "ol/interaction/Modify";
import { announce } from "../announcements";
import { toMillimetres } from "../plane";
import { polygonsOf, type StripFeature } from "../strips_layer";
import { clickSelects } from "./strip_at";
import { namedFirst, type Bench, type Tool } from "./tool";

export function shaping(bench: Bench): Tool {
  const { model, strips, snapping, view } = bench;
  const features = new Collection<StripFeature>();
  const modify = new Modify({ features, pixelTolerance: 12 });
  const clicks = clickSelects(bench);
  let active = false;
  let held = "";
  const follow = (): void => {
    const keys = [...model.selected].join();
    if (!active || keys === held) return;
    held = keys;
    features.clear();
    for (const strip of model.selectedStrips()) {
      const feature = strips.feature(strip.key);
      if (feature) features.push(feature);
    }
    snapping.start(view.map, model.selected);
  };
  model.onChange(follow);
  modify.on("modifyend", ({ features: modified }) => {
    const shapes = new Map(
      (modified.getArray() as StripFeature[]).map((feature) => [feature.getId() as number, polygonsOf(feature)]),
    );
    // Only strips whose shape differs: a click on a corner alone is no change.
    const changed = model.state.strips.filter((strip) => {
      const shape = shapes.get(strip.key);
      return shape && JSON.stringify(toMillimetres(shape)) !== JSON.stringify(toMillimetres(strip.polygons));
    });
    if (changed.length === 0) return;
    const words = `Corners of ${namedFirst(changed).toLowerCase()} changed`;
    model.edit(
      changed.map((strip) => strip.key),
      (strip) => ({ polygons: toMillimetres(shapes.get(strip.key)!) }),
      words,
    );
    announce(`${words}.`);
  });
  return {
    name: "corners",
    title: "Corners",
    key: "c",
    help: "Select a strip, then drag its corners; drag an edge to add one, Alt-click a corner to take it out. Keys: the table of corners below.",
    snaps: true,
    start() {
      active = true;
      held = "";
      clicks.start();
      view.map.addInteraction(modify);
      follow();
      snapping.start(view.map, model.selected);
    },
    stop() {
      active = false;
      clicks.stop();
      view.map.removeInteraction(modify);
      features.clear();
      snapping.stop(view.map);
    },
  };
}
