// What drawn corners cling to: the middles of passes, the edges that the header cut, and other
// strips. Each kind can be switched off. The strips that are being changed do not hold on to
// themselves, so that a narrow strip cannot fold onto its own edge.

import Collection from "ol/Collection";
import Feature from "ol/Feature";
import type Map from "ol/Map";
import LineString from "ol/geom/LineString";
import Snap from "ol/interaction/Snap";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import type { Model } from "./model";
import type { StripsLayer } from "./strips_layer";
import type { PassLines, Point } from "./wire";

export type SnapKind = "passes" | "header edges" | "strips";
export const SNAP_KINDS: readonly SnapKind[] = ["passes", "header edges", "strips"];

export interface Snapping {
  /** Faint lines that show what there is to snap to, while a drawing tool is in use. */
  guides: VectorLayer;
  setEdges(passes: PassLines[]): void;
  on: Record<SnapKind, boolean>;
  /** Takes the switches into account. */
  refresh(): void;
  /** Puts snapping over whatever tool is active: it has to come last. `leaveOut`: strips that move. */
  start(map: Map, leaveOut: ReadonlySet<number>): void;
  stop(map: Map): void;
  /** Where a place snaps to; itself when nothing is near. */
  snapped(map: Map, place: Point): Point;
}

/** A fingertip is larger than a mouse pointer. */
const TOLERANCE_PX = matchMedia("(pointer: coarse)").matches ? 16 : 10;

export function snapping(model: Model, strips: StripsLayer): Snapping {
  const features = new Collection<Feature>();
  const middles: Feature[] = [];
  const edges: Feature[] = [];
  const guideSource = new VectorSource();
  const middleStyle = new Style({ stroke: new Stroke({ color: "rgba(0, 0, 0, 0.55)", width: 1, lineDash: [6, 5] }) });
  const edgeStyle = new Style({ stroke: new Stroke({ color: "rgba(0, 0, 0, 0.45)", width: 1 }) });
  const guides = new VectorLayer({
    source: guideSource,
    visible: false,
    // Closer together than this the lines would cover the field.
    maxResolution: 1.2,
    style: (feature) => (feature.get("middle") ? middleStyle : edgeStyle),
  });
  const on: Record<SnapKind, boolean> = { passes: true, "header edges": true, strips: true };
  let leftOut: ReadonlySet<number> = new Set();
  const snap = new Snap({ features, pixelTolerance: TOLERANCE_PX });
  const refresh = (): void => {
    features.clear();
    const stripFeatures = model.state.strips
      .filter((strip) => !leftOut.has(strip.key))
      .map((strip) => strips.feature(strip.key))
      .filter((feature) => feature !== null);
    features.extend([
      ...(on.strips ? stripFeatures : []),
      ...(on.passes ? middles : []),
      ...(on["header edges"] ? edges : []),
    ]);
    guideSource.clear();
    guideSource.addFeatures([...(on.passes ? middles : []), ...(on["header edges"] ? edges : [])]);
  };
  return {
    guides,
    on,
    refresh,
    setEdges(passes) {
      for (const pass of passes) {
        if (pass.centre.length > 1) middles.push(new Feature({ geometry: new LineString(pass.centre), middle: true }));
        for (const side of [pass.left, pass.right]) {
          if (side.length > 1) edges.push(new Feature({ geometry: new LineString(side), middle: false }));
        }
      }
      refresh();
    },
    start(map, leaveOut) {
      leftOut = leaveOut;
      refresh();
      guides.setVisible(true);
      map.removeInteraction(snap);
      map.addInteraction(snap);
    },
    stop(map) {
      guides.setVisible(false);
      map.removeInteraction(snap);
    },
    snapped(map, place) {
      if (!snap.getMap()) return place;
      const found = snap.snapTo(map.getPixelFromCoordinate(place), place, map);
      const vertex = found?.vertex;
      return vertex ? [vertex[0]!, vertex[1]!] : place;
    },
  };
}
