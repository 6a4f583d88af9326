// How each treatment looks on the map and in tables: a colour and a hatch of its own, so that they
// stay apart without colour, and always its name beside it.

import { TREATMENTS, css, type Rgb } from "./colour_scale";

type Hatch = (context: CanvasRenderingContext2D, size: number) => void;

function line(context: CanvasRenderingContext2D, x1: number, y1: number, x2: number, y2: number): void {
  context.moveTo(x1, y1);
  context.lineTo(x2, y2);
}

// Slanted lines run past the tile's corners, so that neighbouring tiles join without a notch.
const rising: Hatch = (context, size) => {
  for (const by of [-size, 0, size]) line(context, by, size, by + size, 0);
};
const falling: Hatch = (context, size) => {
  for (const by of [-size, 0, size]) line(context, by, 0, by + size, size);
};
const upright: Hatch = (context, size) => line(context, size / 2, 0, size / 2, size);
const level: Hatch = (context, size) => line(context, 0, size / 2, size, size / 2);
const both =
  (one: Hatch, other: Hatch): Hatch =>
  (context, size) => {
    one(context, size);
    other(context, size);
  };
const rings: Hatch = (context, size) => {
  context.moveTo(size * 0.7, size / 2);
  context.arc(size / 2, size / 2, size * 0.2, 0, 2 * Math.PI);
};

const HATCHES: readonly Hatch[] = [rising, falling, upright, both(rising, falling), level, both(upright, level), rings];

/** Place of a treatment in the list of all. */
function placeOf(treatments: readonly string[], treatment: string): number {
  return Math.max(0, treatments.indexOf(treatment));
}

export function treatmentColour(treatments: readonly string[], treatment: string): Rgb {
  return TREATMENTS[placeOf(treatments, treatment) % TREATMENTS.length]!;
}

/** Colours repeat after six and hatches after seven treatments: of 16 no two look alike. */
function tile(treatments: readonly string[], treatment: string, size: number, scale: number): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = size * scale;
  canvas.height = size * scale;
  const context = canvas.getContext("2d")!;
  context.scale(scale, scale);
  const hatch = HATCHES[placeOf(treatments, treatment) % HATCHES.length]!;
  for (const [width, colour] of [
    [2.8, "rgba(255, 255, 255, 0.6)"],
    [1.3, css(treatmentColour(treatments, treatment))],
  ] as const) {
    context.beginPath();
    hatch(context, size);
    context.lineWidth = width;
    context.strokeStyle = colour;
    context.stroke();
  }
  return canvas;
}

const patterns = new Map<string, CanvasPattern>();

/** The hatch as a fill for the map. */
export function hatch(treatments: readonly string[], treatment: string, scale: number): CanvasPattern {
  const place = placeOf(treatments, treatment);
  const key = `${place} ${scale}`;
  let pattern = patterns.get(key);
  if (!pattern) {
    const context = document.createElement("canvas").getContext("2d")!;
    pattern = context.createPattern(tile(treatments, treatment, 18, scale), "repeat")!;
    patterns.set(key, pattern);
  }
  return pattern;
}

/** A swatch for tables and legends. */
export function swatch(treatments: readonly string[], treatment: string): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [28, 20];
  canvas.className = "swatch";
  canvas.setAttribute("aria-hidden", "true");
  const context = canvas.getContext("2d")!;
  context.fillStyle = css(treatmentColour(treatments, treatment), 0.15);
  context.fillRect(0, 0, 28, 20);
  context.fillStyle = context.createPattern(tile(treatments, treatment, 10, 1), "repeat")!;
  context.fillRect(0, 0, 28, 20);
  context.strokeStyle = css(treatmentColour(treatments, treatment));
  context.lineWidth = 3;
  context.strokeRect(0, 0, 28, 20);
  return canvas;
}
