// Marks that tell the reasons for dropping a record apart without colour: one shape each, stamped on
// the map and shown in the legend. The shapes are those of the printed maps.

import { REASONS, type Rgb, css } from "./colour_scale";

type Shape = (x: number, y: number) => number;

const box = (x: number, y: number, halfX: number, halfY: number): number =>
  Math.max(Math.abs(x) - halfX, Math.abs(y) - halfY);
const plus: Shape = (x, y) => Math.min(box(x, y, 1, 0.24), box(x, y, 0.24, 1));
const cross: Shape = (x, y) => plus((x + y) * Math.SQRT1_2, (x - y) * Math.SQRT1_2);
const triangle: Shape = (x, y) => Math.max(y - 0.75, (Math.abs(x) * 1.9 - y - 1.05) / 2.15);

/** How far a point lies outside each shape of radius 1, roughly; inside is negative. */
const SHAPES: readonly Shape[] = [
  (x, y) => Math.hypot(x, y) - 0.62,
  triangle,
  (x, y) => triangle(x, -y),
  (x, y) => box(x, y, 0.75, 0.75),
  (x, y) => (Math.abs(x) + Math.abs(y) - 1) * Math.SQRT1_2,
  cross,
  plus,
  (x, y) => Math.abs(Math.hypot(x, y) - 0.68) - 0.26,
  (x, y) => Math.min(cross(x, y), plus(x, y)) + 0.08,
  (x, y) => box(x, y, 1, 0.36),
];

/** Width of the white rim, in radii. */
const RIM = 0.28;
const FINENESS = 4;

/** A mark of `2 × reach + 1` pixels a side: for each pixel how much ink and how much rim covers it. */
export interface Stamp {
  reach: number;
  ink: Float32Array;
  rim: Float32Array;
}

/** The mark of the reason at `place` behind `kept` in the statuses. */
export function stamp(place: number, reach: number): Stamp {
  const shape = SHAPES[place % SHAPES.length]!;
  const side = 2 * reach + 1;
  const [ink, rim] = [new Float32Array(side * side), new Float32Array(side * side)];
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      for (let sub = 0; sub < FINENESS * FINENESS; sub++) {
        const at = (pixel: number, part: number): number =>
          ((pixel - reach + (part + 0.5) / FINENESS - 0.5) / reach) * (1 + RIM);
        const off = shape(at(column, sub % FINENESS), at(row, Math.floor(sub / FINENESS)));
        ink[row * side + column]! += Number(off <= 0) / FINENESS ** 2;
        rim[row * side + column]! += Number(off <= RIM) / FINENESS ** 2;
      }
    }
  }
  return { reach, ink, rim };
}

export const reasonColour = (place: number): Rgb => REASONS[place % REASONS.length]!;

/** The mark as a small picture for legends. */
export function markPicture(place: number): HTMLCanvasElement {
  const { reach, ink } = stamp(place, 7);
  const side = 2 * reach + 1;
  const canvas = document.createElement("canvas");
  canvas.width = side;
  canvas.height = side;
  canvas.setAttribute("aria-hidden", "true");
  const context = canvas.getContext("2d")!;
  ink.forEach((cover, at) => {
    if (cover <= 0) return;
    context.fillStyle = css(reasonColour(place), cover);
    context.fillRect(at % side, Math.floor(at / side), 1, 1);
  });
  return canvas;
}
