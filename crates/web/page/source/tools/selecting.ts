// Looking and selecting: a click selects a strip, a drag moves the map.

import { clickSelects, selectAt } from "./strip_at";
import type { Bench, Tool } from "./tool";

export function selecting(bench: Bench): Tool {
  const clicks = clickSelects(bench);
  return {
    name: "select",
    title: "Select",
    key: "v",
    help: "Click a strip to select it, with Shift to select several. Keys: Space selects the strip under the cross.",
    start: clicks.start,
    stop: clicks.stop,
    press(event) {
      if (event.key === " ") {
        selectAt(bench, bench.view.map.getPixelFromCoordinate(bench.view.middle()), event.shiftKey);
        return true;
      }
      if (event.key === "Escape") {
        bench.model.select([]);
        return true;
      }
      return false;
    },
  };
}
