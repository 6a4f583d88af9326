// Plane geometry in metres: points, directions clockwise from north, and polygons moved, turned,
// measured, stretched and made from lines. Strips are small against the earth, the plane is the
// program's own.

import type { Point, Polygon, Ring } from "./wire";

/** Metres along (forward) and across (to the right) as a step east and north. */
export function step(directionDeg: number, forward: number, right = 0): Point {
  const angle = (directionDeg * Math.PI) / 180;
  return [Math.sin(angle) * forward + Math.cos(angle) * right, Math.cos(angle) * forward - Math.sin(angle) * right];
}

export const shifted = ([x, y]: Point, [dx, dy]: Point): Point => [x + dx, y + dy];

export const distance = (a: Point, b: Point): number => Math.hypot(b[0] - a[0], b[1] - a[1]);

/** Direction from `a` to `b`, 0 to 360. */
export function direction(a: Point, b: Point): number {
  return ((Math.atan2(b[0] - a[0], b[1] - a[1]) * 180) / Math.PI + 360) % 360;
}

/** A point turned clockwise around `centre`. */
export function turned(point: Point, centre: Point, byDeg: number): Point {
  const angle = (byDeg * Math.PI) / 180;
  const [dx, dy] = [point[0] - centre[0], point[1] - centre[1]];
  return [
    centre[0] + dx * Math.cos(angle) + dy * Math.sin(angle),
    centre[1] - dx * Math.sin(angle) + dy * Math.cos(angle),
  ];
}

/** Every corner through `how`. */
export function mapped(polygons: readonly Polygon[], how: (point: Point) => Point): Polygon[] {
  return polygons.map((polygon) => polygon.map((ring) => ring.map(how)));
}

/** Twice the signed area over 2: positive when the ring runs against the clock. */
function signedArea(ring: Ring): number {
  let sum = 0;
  for (let at = 1; at < ring.length; at++) {
    const [a, b] = [ring[at - 1]!, ring[at]!];
    sum += a[0] * b[1] - b[0] * a[1];
  }
  return sum / 2;
}

/** Square metres, holes taken off. */
export function area(polygons: readonly Polygon[]): number {
  return polygons.reduce(
    (sum, polygon) =>
      sum + polygon.reduce((part, ring, place) => part + (place === 0 ? 1 : -1) * Math.abs(signedArea(ring)), 0),
    0,
  );
}

/** The rectangle that lies closest around polygons: its middle, the direction of its long side, its sides. */
export interface Box {
  centre: Point;
  /** 0 to 180. */
  directionDeg: number;
  lengthM: number;
  widthM: number;
}

/** The convex hull of points, against the clock (Andrew, A. M. 1979, Information Processing Letters 9, 216-219). */
function hull(points: Point[]): Point[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (ordered: Point[]): Point[] => {
    const chain: Point[] = [];
    for (const point of ordered) {
      while (chain.length >= 2) {
        const [a, b] = [chain[chain.length - 2]!, chain[chain.length - 1]!];
        if ((b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) > 0) break;
        chain.pop();
      }
      chain.push(point);
    }
    chain.pop();
    return chain;
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

/** The smallest rectangle around polygons: one of its sides lies along a side of their hull. */
export function boxAround(polygons: readonly Polygon[]): Box {
  const corners = hull(polygons.flatMap((polygon) => polygon[0] ?? []));
  let best: Box = { centre: corners[0] ?? [0, 0], directionDeg: 0, lengthM: 0, widthM: 0 };
  let least = Infinity;
  corners.forEach((corner, place) => {
    const along = direction(corner, corners[(place + 1) % corners.length]!);
    const forward = extentAlong(corners, along);
    const right = extentAlong(corners, along + 90);
    const [length, width] = [forward[1] - forward[0], right[1] - right[0]];
    if (length * width >= least) return;
    least = length * width;
    const centre = step(along, (forward[0] + forward[1]) / 2, (right[0] + right[1]) / 2);
    const longForward = length >= width;
    best = {
      centre,
      directionDeg: (longForward ? along : along + 90) % 180,
      lengthM: Math.max(length, width),
      widthM: Math.min(length, width),
    };
  });
  return best;
}

/** How far points reach in a direction: least and greatest metres along it. */
export function extentAlong(points: readonly Point[], directionDeg: number): [number, number] {
  const [east, north] = step(directionDeg, 1);
  const places = points.map(([x, y]) => x * east + y * north);
  return [Math.min(...places), Math.max(...places)];
}

/** Polygons stretched about the middle of their box, along and across its direction. */
export function stretched(polygons: readonly Polygon[], box: Box, along: number, across: number): Polygon[] {
  const [forwardX, forwardY] = step(box.directionDeg, 1);
  const [rightX, rightY] = step(box.directionDeg, 0, 1);
  return mapped(polygons, ([x, y]) => {
    const [dx, dy] = [x - box.centre[0], y - box.centre[1]];
    const forward = (dx * forwardX + dy * forwardY) * along;
    const right = (dx * rightX + dy * rightY) * across;
    return shifted(box.centre, step(box.directionDeg, forward, right));
  });
}

/** Where the line that was drawn lies in the strip that it makes. */
export type LinePlace = "centre" | "left" | "right";

/** The rectangle of `width` metres along the line from `a` to `b`. */
export function stripAlong(a: Point, b: Point, width: number, line: LinePlace): Polygon {
  const along = direction(a, b);
  const left = line === "left" ? 0 : line === "right" ? -width : -width / 2;
  const at = (point: Point, right: number): Point => shifted(point, step(along, 0, right));
  const ring = [at(a, left), at(b, left), at(b, left + width), at(a, left + width)];
  return [[...ring, ring[0]!]];
}

export type Side = "right" | "left";

/** `times` copies beside polygons, `gap` metres from each to the next, across `directionDeg`. */
export function copiesAcross(
  polygons: readonly Polygon[],
  directionDeg: number,
  times: number,
  gap: number,
  side: Side,
): Polygon[][] {
  const corners = polygons.flatMap((polygon) => polygon[0] ?? []);
  const [from, to] = extentAlong(corners, directionDeg + 90);
  const stride = (to - from + gap) * (side === "right" ? 1 : -1);
  return Array.from({ length: times }, (_, place) => {
    const by = step(directionDeg, 0, stride * (place + 1));
    return mapped(polygons, (point) => shifted(point, by));
  });
}

/** A place to the millimetre: finer is noise of the arithmetic. */
export function toMillimetres(polygons: readonly Polygon[]): Polygon[] {
  return mapped(polygons, ([x, y]) => [Math.round(x * 1000) / 1000, Math.round(y * 1000) / 1000]);
}
