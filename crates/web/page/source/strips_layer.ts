// The strips on the map: one feature a strip, kept in step with the model. Each shows its treatment
// by hatch, colour and name; selected ones have a dark double outline.

import Feature from "ol/Feature";
import MultiPolygon from "ol/geom/MultiPolygon";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Fill from "ol/style/Fill";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { css } from "./colour_scale";
import type { Model, Strip } from "./model";
import { boxAround, type Box } from "./plane";
import { hatch, treatmentColour } from "./treatment_look";
import type { Polygon } from "./wire";

export type StripFeature = Feature<MultiPolygon>;

export interface StripsLayer {
  layer: VectorLayer<VectorSource<StripFeature>>;
  source: VectorSource<StripFeature>;
  feature(key: number): StripFeature | null;
  /** Puts features back to what the model holds, after a drag that came to nothing. */
  restore(): void;
}

const LABEL_FONT = "600 13px system-ui, -apple-system, 'Segoe UI', 'DejaVu Sans', sans-serif";

export function stripsLayer(model: Model): StripsLayer {
  const source = new VectorSource<StripFeature>({ useSpatialIndex: true });
  const layer = new VectorLayer<VectorSource<StripFeature>>({
    source,
    declutter: true,
    updateWhileInteracting: true,
    updateWhileAnimating: true,
    style: (feature, resolution) => stylesOf(model, feature as StripFeature, resolution),
  });
  /** The strip each feature was last drawn from: unchanged ones are left alone. */
  const drawn = new Map<number, Strip>();
  const sync = (again: boolean): void => {
    for (const strip of model.state.strips) {
      if (!again && drawn.get(strip.key) === strip) continue;
      const geometry = new MultiPolygon(strip.polygons as Polygon[]);
      let feature = source.getFeatureById(strip.key) as StripFeature | null;
      if (feature) feature.setGeometry(geometry);
      else {
        feature = new Feature(geometry);
        feature.setId(strip.key);
        source.addFeature(feature);
      }
      drawn.set(strip.key, strip);
    }
    const there = new Set(model.state.strips.map((strip) => strip.key));
    for (const key of [...drawn.keys()]) {
      if (there.has(key)) continue;
      const feature = source.getFeatureById(key) as StripFeature | null;
      if (feature) source.removeFeature(feature);
      drawn.delete(key);
    }
    layer.changed();
  };
  sync(false);
  model.onChange(() => sync(false));
  return {
    layer,
    source,
    feature: (key) => source.getFeatureById(key) as StripFeature | null,
    restore: () => sync(true),
  };
}

/** The polygons of a feature, as the model has them. */
export const polygonsOf = (feature: StripFeature): Polygon[] => feature.getGeometry()!.getCoordinates() as Polygon[];

function stylesOf(model: Model, feature: StripFeature, resolution: number): Style[] {
  const key = feature.getId() as number;
  const strip = model.strip(key);
  if (!strip) return [];
  const chosen = model.selected.has(key);
  const styles = stripStyles(model.treatments(), strip.treatment, `${strip.id} ${strip.treatment}`, chosen);
  const { directionDeg, widthM } = boxOf(strip);
  // A name runs along a strip that is too narrow for it.
  if (widthM / resolution < NAME_WIDTH_PX) {
    // Read from the left or from below; a strip a little west of north reads as one that runs north.
    const along = directionDeg > 165 ? directionDeg - 180 : directionDeg;
    styles[2]!.getText()!.setRotation(((along - 90) * Math.PI) / 180);
  }
  return styles;
}

/** Wide enough for most names, in pixels. */
const NAME_WIDTH_PX = 90;

const boxes = new WeakMap<Strip, Box>();

/** The box around a strip, which never changes: a strip that does is another object. */
function boxOf(strip: Strip): Box {
  let box = boxes.get(strip);
  if (!box) {
    box = boxAround(strip.polygons);
    boxes.set(strip, box);
  }
  return box;
}

/** Outline, hatch and name; also for strips that are only being drawn. */
export function stripStyles(treatments: readonly string[], treatment: string, words: string, chosen: boolean): Style[] {
  const colour = css(treatmentColour(treatments, treatment));
  return [
    new Style({
      stroke: new Stroke({ color: chosen ? "#000" : "rgba(255, 255, 255, 0.9)", width: chosen ? 8 : 5 }),
      fill: new Fill({ color: chosen ? "rgba(255, 255, 255, 0.35)" : "rgba(255, 255, 255, 0.08)" }),
      zIndex: chosen ? 2 : 0,
    }),
    new Style({
      stroke: new Stroke({ color: chosen ? "#fff" : colour, width: chosen ? 4 : 2.5 }),
      fill: new Fill({ color: hatch(treatments, treatment, Math.max(1, Math.round(window.devicePixelRatio))) }),
      zIndex: chosen ? 3 : 1,
    }),
    new Style({
      stroke: chosen ? new Stroke({ color: colour, width: 2, lineDash: [8, 6] }) : undefined,
      text: new Text({
        text: words,
        font: LABEL_FONT,
        overflow: true,
        fill: new Fill({ color: "#111" }),
        stroke: new Stroke({ color: "#fff", width: 4 }),
      }),
      zIndex: 4,
    }),
  ];
}
