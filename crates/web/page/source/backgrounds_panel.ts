// Pictures and lines of the grower's own under the records, switched on one by one; and how far the
// records let them shine through.

import Feature from "ol/Feature";
import LineString from "ol/geom/LineString";
import type BaseLayer from "ol/layer/Base";
import ImageLayer from "ol/layer/Image";
import VectorLayer from "ol/layer/Vector";
import ImageStatic from "ol/source/ImageStatic";
import VectorSource from "ol/source/Vector";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { announce } from "./announcements";
import { element, fill, freshId } from "./element";
import { switchField } from "./fields";
import { PLANE, type MapView } from "./map_view";
import * as server from "./server";
import type { Background, Trial } from "./wire";

export function backgroundsPanel(target: HTMLElement, map: MapView, records: BaseLayer, trial: Trial): void {
  const layers = new Map<string, BaseLayer>();
  const rows = trial.backgrounds.map(
    (background) =>
      switchField(
        background.title,
        () => layers.get(background.id)?.getVisible() ?? false,
        (on) => {
          let layer = layers.get(background.id);
          if (!layer && on) {
            layer = layerOf(background);
            layers.set(background.id, layer);
            map.backgrounds.getLayers().push(layer);
          }
          layer?.setVisible(on);
        },
      ).row,
  );
  const clear = element("input", { type: "range", id: freshId(), min: 0, max: 100, step: 5 });
  clear.value = "100";
  clear.addEventListener("input", () => records.setOpacity(Number(clear.value) / 100));
  fill(
    target,
    element("h2", {}, "Background"),
    ...rows,
    rows.length === 0
      ? element(
          "p",
          { class: "fine" },
          "None. Start with --background FILE to lay a GeoTIFF, GeoJSON or MBTiles file under the records.",
        )
      : null,
    element("div", { class: "field" }, element("label", { for: clear.id }, "Strength of the records, %"), clear),
  );
}

function layerOf({ id, kind, extent }: Background): BaseLayer {
  if (kind === "image" && extent) {
    return new ImageLayer({
      source: new ImageStatic({ url: server.backgroundAddress(id), imageExtent: extent, projection: PLANE }),
    });
  }
  const source = new VectorSource();
  server.backgroundLines(id).then(
    (lines) => source.addFeatures(lines.map((line) => new Feature(new LineString(line)))),
    (error: Error) => announce(error.message),
  );
  return new VectorLayer({ source, style: new Style({ stroke: new Stroke({ color: "#5a3e1b", width: 2 }) }) });
}
