// Copies of selected strips beside them, across their direction.

import { announce } from "../announcements";
import { element } from "../element";
import { choiceField, lengthField, numberField, textField } from "../fields";
import { boxAround, copiesAcross, toMillimetres, type Side } from "../plane";
import { fieldList } from "./brush";
import { clickSelects } from "./strip_at";
import { SELECT_FIRST, namedFirst, type Bench, type Tool } from "./tool";

const COMPASS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"] as const;
const compass = (directionDeg: number): string => COMPASS[Math.round((((directionDeg % 360) + 360) % 360) / 45) % 8]!;

export function copying(bench: Bench): Tool {
  const { model } = bench;
  const clicks = clickSelects(bench);
  let times = 1;
  let gapM = 0;
  let side: Side = "right";
  let treatment = "";
  const sides = choiceField<Side>(
    "To the",
    [
      ["right", "right"],
      ["left", "left"],
    ],
    () => side,
    (chosen) => (side = chosen),
  );
  const fields = [
    numberField("Copies", {
      value: () => times,
      changed: (count) => (times = count),
      least: 1,
      most: 100,
      whole: true,
    }),
    lengthField("Gap between them", { valueM: () => gapM, changed: (metres) => (gapM = metres) }),
    sides,
    textField(
      "Treatment of the copies (empty: the same)",
      () => treatment,
      (text) => (treatment = text),
      "treatments",
    ),
  ];
  const directionDeg = (): number => boxAround(model.selectedStrips().flatMap((strip) => strip.polygons)).directionDeg;
  // Right and left of a strip are east and west, or whatever they are.
  const nameSides = (): void => {
    const along = model.selected.size > 0 ? directionDeg() : (model.trial.direction_deg ?? 0) % 180;
    sides.input.options[0]!.textContent = compass(along + 90);
    sides.input.options[1]!.textContent = compass(along - 90);
  };
  model.onChange(nameSides);
  const copy = (): void => {
    const strips = model.selectedStrips();
    if (strips.length === 0) {
      announce(SELECT_FIRST);
      return;
    }
    // All selected strips stride together: a pair is copied as a pair.
    const together = strips.map((strip) => strip.polygons.length);
    const made = copiesAcross(
      strips.flatMap((strip) => strip.polygons),
      directionDeg(),
      times,
      gapM,
      side,
    );
    const copies = made.flatMap((polygons, place) => {
      let from = 0;
      return strips.map((strip, at) => {
        const own = polygons.slice(from, from + together[at]!);
        from += together[at]!;
        return {
          origin: strip.origin,
          treatment: treatment === "" ? strip.treatment : treatment,
          block: laterBlock(strip.block, place + 1),
          polygons: toMillimetres(own),
        };
      });
    });
    const words = `${namedFirst(strips)} copied`;
    model.add(copies, words);
    announce(`${words}: ${copies.length} new.`);
  };
  return {
    name: "copy",
    title: "Copy across",
    key: "k",
    help: "Select one or more strips; their copies lie beside them, all selected ones together. A block that is a number rises with each copy.",
    options: fieldList(fields, element("button", { type: "button", onclick: copy }, "Copy")),
    start() {
      nameSides();
      clicks.start();
    },
    stop: clicks.stop,
  };
}

/** The block `further` on, where blocks are numbers. */
function laterBlock(block: string | null, further: number): string | null {
  const number = block === null || block === "" ? NaN : Number(block);
  return Number.isInteger(number) ? String(number + further) : block;
}
