// Strips cut in two by a line, or into equal parts: what lies on either side of a straight cut.

import { intersection, type Geom } from "polyclip-ts";
import { boxAround, distance, direction, extentAlong, mapped, shifted, step, toMillimetres } from "./plane";
import type { Point, Polygon } from "./wire";

/** Less ground than this, in square metres, is a sliver of the arithmetic and no part of a strip. */
const SLIVER_M2 = 0.01;

/** What lies within metres `from` to `to` along a direction. */
function slice(polygons: readonly Polygon[], directionDeg: number, from: number, to: number): Polygon[] {
  const corners = polygons.flatMap((polygon) => polygon[0] ?? []);
  const [leftmost, rightmost] = extentAlong(corners, directionDeg + 90);
  const corner = (forward: number, right: number): Point => step(directionDeg, forward, right);
  const window: Point[] = [
    corner(from, leftmost - 1),
    corner(to, leftmost - 1),
    corner(to, rightmost + 1),
    corner(from, rightmost + 1),
  ];
  const parts = intersection(polygons as unknown as Geom, [[...window, window[0]!]] as unknown as Geom);
  return toMillimetres(parts as Polygon[]);
}

/** Drops parts without ground. */
const withGround = (parts: Polygon[][]): Polygon[][] =>
  parts.filter((polygons) => polygons.length > 0 && groundOf(polygons) > SLIVER_M2);

function groundOf(polygons: Polygon[]): number {
  const box = boxAround(polygons);
  return box.lengthM * box.widthM;
}

/**
 * Both sides of a straight cut through `a` and `b`; one part when the line from `a` to `b` does not
 * cross the polygons.
 */
export function splitByLine(polygons: readonly Polygon[], a: Point, b: Point): Polygon[][] {
  const across = direction(a, b) + 90;
  const corners = polygons.flatMap((polygon) => polygon[0] ?? []);
  const [cut] = extentAlong([a], across);
  const [from, to] = extentAlong(corners, across);
  if (!(from < cut && cut < to) || !reaches(polygons, a, b)) return [[...polygons]];
  return withGround([slice(polygons, across, from - 1, cut), slice(polygons, across, cut, to + 1)]);
}

/** Whether the piece of line from `a` to `b` runs through the polygons. */
function reaches(polygons: readonly Polygon[], a: Point, b: Point): boolean {
  const length = distance(a, b);
  if (length === 0) return false;
  // A band a millimetre wide along the line: it has ground in common with whatever it runs through.
  const thin = step(direction(a, b), 0, 0.0005);
  const back: Point = [-thin[0], -thin[1]];
  const band: Point[] = [shifted(a, thin), shifted(b, thin), shifted(b, back), shifted(a, back)];
  return intersection(polygons as unknown as Geom, [[...band, band[0]!]] as unknown as Geom).length > 0;
}

/** `parts` pieces of the same length along the strip, or of the same width across it. */
export function splitEqually(polygons: readonly Polygon[], parts: number, way: "along" | "across"): Polygon[][] {
  const box = boxAround(polygons);
  const run = way === "along" ? box.directionDeg : box.directionDeg + 90;
  const corners = polygons.flatMap((polygon) => polygon[0] ?? []);
  const [from, to] = extentAlong(corners, run);
  const each = (to - from) / parts;
  const pieces = Array.from({ length: parts }, (_, place) =>
    slice(
      polygons,
      run,
      place === 0 ? from - 1 : from + each * place,
      place === parts - 1 ? to + 1 : from + each * (place + 1),
    ),
  );
  return withGround(pieces);
}

/** Polygons without shared references, for changing one corner. */
export const copied = (polygons: readonly Polygon[]): Polygon[] => mapped(polygons, ([x, y]) => [x, y]);
