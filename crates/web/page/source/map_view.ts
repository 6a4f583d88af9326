// The map itself: a plane in metres with north up, its layers from the ground up, scale bar and zoom
// buttons, and the cross in its middle with which it is worked from the keyboard.

import Map from "ol/Map";
import View from "ol/View";
import ScaleLine from "ol/control/ScaleLine";
import Zoom from "ol/control/Zoom";
import type { Coordinate } from "ol/coordinate";
import type { Extent } from "ol/extent";
import { defaults } from "ol/interaction/defaults";
import type BaseLayer from "ol/layer/Base";
import LayerGroup from "ol/layer/Group";
import Projection from "ol/proj/Projection";
import { onUnits, unitSystem } from "./units";
import type { Point } from "./wire";

/** The field's plane. */
export const PLANE = new Projection({ code: "LOCAL", units: "m", metersPerUnit: 1 });

export interface MapView {
  map: Map;
  /** Backgrounds of the grower go here, under the records. */
  backgrounds: LayerGroup;
  showAll(): void;
  /** Brings an extent into view. */
  show(extent: Extent): void;
  /** Where the cross in the middle is. */
  middle(): Point;
}

export function mapView(target: HTMLElement, extent: Extent, layers: BaseLayer[]): MapView {
  const scale = new ScaleLine({ units: "metric", minWidth: 90 });
  const setUnits = (): void => scale.setUnits(unitSystem() === "farm" ? "us" : "metric");
  setUnits();
  onUnits(setUnits);
  const backgrounds = new LayerGroup();
  const map = new Map({
    target,
    layers: [backgrounds, ...layers],
    // A field has its own north; turning the map would only confuse directions.
    interactions: defaults({ altShiftDragRotate: false, pinchRotate: false, doubleClickZoom: false }),
    controls: [scale, new Zoom({ zoomInTipLabel: "Zoom in (+)", zoomOutTipLabel: "Zoom out (−)" })],
    view: new View({
      projection: PLANE,
      center: [(extent[0]! + extent[2]!) / 2, (extent[1]! + extent[3]!) / 2],
      resolution: 1,
      minResolution: 0.02,
      maxResolution: 50,
      enableRotation: false,
      constrainResolution: false,
      smoothResolutionConstraint: false,
    }),
  });
  const show = (wanted: Extent): void => {
    map.getView().fit(wanted, { padding: [48, 24, 56, 24], minResolution: 0.05 });
  };
  /** The view that showed the whole field, until somebody moves it. */
  let whole = "";
  const viewed = (): string => `${map.getView().getCenter()} ${map.getView().getResolution()}`;
  const showAll = (): void => {
    show(extent);
    whole = viewed();
  };
  showAll();
  map.on("change:size", () => {
    if (whole === "" || whole === viewed()) showAll();
  });
  new ResizeObserver(() => map.updateSize()).observe(target);
  return {
    map,
    backgrounds,
    showAll,
    show,
    middle: () => toPoint(map.getView().getCenter()!),
  };
}

export const toPoint = (place: Coordinate): Point => [place[0]!, place[1]!];
