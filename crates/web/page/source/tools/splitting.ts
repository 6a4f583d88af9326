// Splitting strips: along a line drawn across them, or into equal parts.

import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { announce } from "../announcements";
import { element } from "../element";
import { choiceField, numberField } from "../fields";
import { splitByLine, splitEqually } from "../split";
import type { Polygon } from "../wire";
import { fieldList } from "./brush";
import { POINTER } from "./pointer_mark";
import { sketch } from "./sketch";
import { SELECT_FIRST, named, type Bench, type Tool } from "./tool";

export function splitting(bench: Bench): Tool {
  const { model } = bench;
  let parts = 2;
  let way: "along" | "across" = "along";
  const fields = [
    numberField("Equal parts", {
      value: () => parts,
      changed: (count) => (parts = count),
      least: 2,
      most: 50,
      whole: true,
    }),
    choiceField<"along" | "across">(
      "One behind the other or side by side",
      [
        ["along", "one behind the other"],
        ["across", "side by side"],
      ],
      () => way,
      (chosen) => (way = chosen),
    ),
  ];
  const divide = (how: (polygons: readonly Polygon[]) => Polygon[][], nothing: string): void => {
    // Without a selection the cut goes through every strip it meets.
    const strips = model.selected.size > 0 ? model.selectedStrips() : [...model.state.strips];
    const pieces = new Map<number, Polygon[][]>();
    for (const strip of strips) {
      const divided = how(strip.polygons);
      if (divided.length > 1) pieces.set(strip.key, divided);
    }
    if (pieces.size === 0) {
      announce(nothing);
      return;
    }
    const words = `Split ${named(strips.filter((strip) => pieces.has(strip.key)))}`;
    model.divide(pieces, words);
    announce(`${words} into ${model.selected.size} parts.`);
  };
  const drawn = sketch(bench, {
    type: "LineString",
    corners: 2,
    style: (feature) =>
      feature.getGeometry()!.getType() === "Point"
        ? POINTER
        : [
            new Style({ stroke: new Stroke({ color: "#fff", width: 5 }) }),
            new Style({ stroke: new Stroke({ color: "#000", width: 2, lineDash: [8, 5] }) }),
          ],
    done([a, b]) {
      if (a && b) divide((polygons) => splitByLine(polygons, a, b), "The line crosses no strip: nothing was split.");
    },
  });
  const button = element(
    "button",
    {
      type: "button",
      onclick: () => {
        if (model.selected.size === 0) announce(SELECT_FIRST);
        else divide((polygons) => splitEqually(polygons, parts, way), "Nothing was split.");
      },
    },
    "Split into equal parts",
  );
  return {
    name: "split",
    title: "Split",
    key: "x",
    help: "Click on both sides of a strip: it is cut along that line. Only selected strips are cut, where some are. Keys: Space sets both ends at the cross.",
    snaps: true,
    options: fieldList(fields, button, drawn.buttons),
    start: drawn.start,
    stop: drawn.stop,
    press: drawn.press,
  };
}
