// Colours of records, reasons and treatments; the same schemes as on the printed maps, so that page
// and report look alike. None rests on red against green.

import { interpolateViridis } from "d3-scale-chromatic";

export type Rgb = readonly [number, number, number];

/** Colour as one 32-bit pixel of an ImageData on a little-endian machine. */
export const pixel = ([r, g, b]: Rgb, opacity = 255): number => ((opacity << 24) | (b << 16) | (g << 8) | r) >>> 0;

export const css = ([r, g, b]: Rgb, opacity = 1): string => `rgba(${r}, ${g}, ${b}, ${opacity})`;

/** Ground whose records were dropped, and kept ground where only reasons are coloured. */
export const DROPPED_GROUND: Rgb = [214, 214, 210];
export const KEPT_GROUND: Rgb = [232, 232, 228];

/** Steps of the ramp. */
export const STEPS = 256;
// The ends of the scheme are left out, as on the printed maps: the lightest would vanish beside the
// grey of dropped ground, the darkest would swallow the outlines of strips.
const LIGHT_END = 0.92;
const DARK_END = 0.06;

/** The ramp, lowest first; more is darker (scheme "viridis", Smith and van der Walt 2015). */
export const RAMP: readonly Rgb[] = Array.from({ length: STEPS }, (_, place) => {
  const at = LIGHT_END + ((DARK_END - LIGHT_END) * place) / (STEPS - 1);
  // The scheme is a table of 256 colours, written #rrggbb or rgb(r, g, b).
  const written = interpolateViridis(at);
  const hex = /^#(..)(..)(..)$/.exec(written);
  const parts = hex ? hex.slice(1).map((part) => parseInt(part, 16)) : (written.match(/\d+/g) ?? []).map(Number);
  return [parts[0] ?? 0, parts[1] ?? 0, parts[2] ?? 0];
});

/** Which step of the ramp a value has between `low` and `high`; values beyond have the end's. */
export const stepOf = (value: number, low: number, high: number): number =>
  Math.max(0, Math.min(STEPS - 1, Math.floor(((value - low) / (high - low)) * STEPS)));

/** Reasons a record was dropped, in the order of the statuses behind `kept`: grey, then Tol's "muted" (2021). */
export const REASONS: readonly Rgb[] = [
  [112, 112, 112],
  [51, 34, 136],
  [136, 204, 238],
  [221, 204, 119],
  [17, 119, 51],
  [136, 34, 85],
  [153, 153, 51],
  [204, 102, 119],
  [170, 68, 153],
  [68, 170, 153],
];

/** Treatments in the order in which they are named (Okabe and Ito 2008, without black and yellow). */
export const TREATMENTS: readonly Rgb[] = [
  [0, 114, 178],
  [230, 159, 0],
  [0, 158, 115],
  [204, 121, 167],
  [213, 94, 0],
  [86, 180, 233],
];
