// What the next strip will be: treatment, block, width, and how often it is repeated. Kept from strip
// to strip, and shared by all tools that make strips.

import { choiceField, lengthField, numberField, textField, type Field } from "../fields";
import { element } from "../element";
import type { Model, StripParts } from "../model";
import { copiesAcross, direction, stripAlong, toMillimetres, type LinePlace, type Side } from "../plane";
import type { Point } from "../wire";

export type NewStrip = Omit<StripParts, "id">;

export class Brush {
  treatment: string;
  /** Every second strip has this treatment; empty: all have the same. */
  alternate = "";
  block = "";
  widthM: number;
  line: LinePlace = "centre";
  times = 1;
  gapM = 0;
  side: Side = "right";

  constructor(model: Model) {
    const names = model.treatments();
    this.treatment = names.find((name) => name !== model.state.check) ?? names[0] ?? "treated";
    this.widthM = model.trial.header_width_m ?? 9.144;
  }

  /** The strips that a line from `a` to `b` makes. */
  along(a: Point, b: Point): NewStrip[] {
    const first = [stripAlong(a, b, this.widthM, this.line)];
    const more = copiesAcross(first, direction(a, b), this.times - 1, this.gapM, this.side);
    return [first, ...more].map((polygons, place) => ({
      treatment: this.treatmentAt(place),
      block: this.blockAt(place),
      polygons: toMillimetres(polygons),
    }));
  }

  treatmentAt(place: number): string {
    return this.alternate !== "" && place % 2 === 1 ? this.alternate : this.treatment;
  }

  /** A number rises with every strip, or with every pair where treatments alternate. */
  blockAt(place: number): string | null {
    if (this.block === "") return null;
    const number = Number(this.block);
    if (!Number.isInteger(number)) return this.block;
    return String(number + (this.alternate === "" ? place : Math.floor(place / 2)));
  }

  nameFields(): Field[] {
    return [
      textField(
        "Treatment",
        () => this.treatment,
        (text) => (this.treatment = text),
        "treatments",
      ),
      textField(
        "Block (may be empty)",
        () => this.block,
        (text) => (this.block = text),
      ),
    ];
  }

  lineFields(): Field<HTMLElement>[] {
    const sides = [
      ["right", "to the right"],
      ["left", "to the left"],
    ] as const;
    return [
      lengthField("Width of a strip", { valueM: () => this.widthM, changed: (m) => (this.widthM = m), least: 0.1 }),
      choiceField<LinePlace>(
        "The line is its",
        [
          ["centre", "middle"],
          ["left", "left edge"],
          ["right", "right edge"],
        ],
        () => this.line,
        (line) => (this.line = line),
      ),
      numberField("Strips side by side", {
        value: () => this.times,
        changed: (times) => (this.times = times),
        least: 1,
        most: 100,
        whole: true,
      }),
      lengthField("Gap between them", { valueM: () => this.gapM, changed: (m) => (this.gapM = m) }),
      choiceField<Side>(
        "Further ones go",
        sides,
        () => this.side,
        (side) => (this.side = side),
      ),
      textField(
        "Every second one is",
        () => this.alternate,
        (text) => (this.alternate = text),
        "treatments",
      ),
    ];
  }
}

/** Fields one under the other, shown afresh whenever their tool starts. */
export function fieldList(fields: Field<HTMLElement>[], ...more: (Node | null)[]): HTMLElement {
  return element("div", { class: "fields" }, ...fields.map((field) => field.row), ...more);
}
