// Laws of the plane geometry, without a browser: the sources are bundled in memory and called.

import assert from "node:assert/strict";
import { test } from "node:test";
import { build } from "esbuild";

async function bundled(entry) {
  const { outputFiles } = await build({
    entryPoints: [entry],
    bundle: true,
    write: false,
    format: "esm",
    target: "es2022",
  });
  return import(`data:text/javascript;base64,${Buffer.from(outputFiles[0].contents).toString("base64")}`);
}

const here = new URL("../source/", import.meta.url).pathname;
const plane = await bundled(`${here}plane.ts`);
const { splitByLine, splitEqually } = await bundled(`${here}split.ts`);

// The same numbers in every run (Park and Miller 1988, "minimal standard").
let seed = 20261126;
const random = (from, to) => {
  seed = (seed * 16807) % 2147483647;
  return from + (to - from) * (seed / 2147483647);
};
const near = (one, other, within, words) => assert.ok(Math.abs(one - other) <= within, `${words}: ${one}, ${other}`);
const rectangle = (directionDeg, lengthM, widthM, at = [0, 0]) => {
  const half = plane.step(directionDeg, lengthM / 2);
  return [plane.stripAlong([at[0] - half[0], at[1] - half[1]], plane.shifted(at, half), widthM, "centre")];
};

test("directions run clockwise from north", () => {
  for (const [to, expected] of [
    [[0, 5], 0],
    [[5, 0], 90],
    [[0, -5], 180],
    [[-5, 0], 270],
  ]) {
    near(plane.direction([0, 0], to), expected, 1e-9, `towards ${to}`);
  }
  const [east, north] = plane.step(90, 3, 4);
  near(east, 3, 1e-9, "forward is east");
  near(north, -4, 1e-9, "right of east is south");
  const [x, y] = plane.turned([0, 1], [0, 0], 90);
  near(x, 1, 1e-9, "north turned clockwise is east");
  near(y, 0, 1e-9, "north turned clockwise is east");
});

test("the box around a turned rectangle is the rectangle", () => {
  for (let each = 0; each < 200; each++) {
    const [directionDeg, lengthM, widthM] = [random(0, 180), random(50, 900), random(3, 45)];
    const at = [random(-500, 500), random(-500, 500)];
    const box = plane.boxAround(rectangle(directionDeg, lengthM, widthM, at));
    near(box.lengthM, lengthM, 1e-6, "length");
    near(box.widthM, widthM, 1e-6, "width");
    near(plane.distance(box.centre, at), 0, 1e-6, "centre");
    const off = Math.abs(box.directionDeg - directionDeg);
    near(Math.min(off, 180 - off), 0, 1e-6, "direction");
  }
});

test("moved, turned and stretched ground keeps or scales its area", () => {
  for (let each = 0; each < 200; each++) {
    const strip = rectangle(random(0, 180), random(50, 900), random(3, 45));
    const ground = plane.area(strip);
    const back = plane.mapped(
      plane.mapped(strip, (point) => plane.turned(point, [7, 9], 33)),
      (point) => plane.turned(point, [7, 9], -33),
    );
    back[0][0].forEach((point, place) =>
      near(plane.distance(point, strip[0][0][place]), 0, 1e-9, "turned there and back"),
    );
    near(plane.area(back), ground, 1e-6 * ground, "turned");
    const wider = plane.stretched(strip, plane.boxAround(strip), 1, 1.5);
    near(plane.area(wider), 1.5 * ground, 1e-6 * ground, "half as wide again");
  }
});

test("copies lie a gap apart, on the side asked for", () => {
  for (let each = 0; each < 100; each++) {
    const [directionDeg, widthM, gap] = [random(0, 180), random(3, 45), random(0, 20)];
    const strip = rectangle(directionDeg, 300, widthM);
    for (const side of ["right", "left"]) {
      const copies = plane.copiesAcross(strip, directionDeg, 3, gap, side);
      copies.forEach((copy, place) => {
        const by = plane.step(directionDeg, 0, (widthM + gap) * (place + 1) * (side === "right" ? 1 : -1));
        copy[0][0].forEach((point, corner) =>
          near(plane.distance(point, plane.shifted(strip[0][0][corner], by)), 0, 1e-6, `copy ${place} to the ${side}`),
        );
      });
    }
  }
});

test("parts of a split add up to the whole", () => {
  for (let each = 0; each < 200; each++) {
    const strip = rectangle(random(0, 180), random(50, 900), random(6, 45));
    const ground = plane.area(strip);
    const { centre, directionDeg } = plane.boxAround(strip);
    const across = plane.step(directionDeg, 0, 100);
    const cut = plane.shifted(centre, plane.step(directionDeg, random(-20, 20)));
    const halves = splitByLine(strip, [cut[0] - across[0], cut[1] - across[1]], plane.shifted(cut, across));
    assert.equal(halves.length, 2);
    // Corners are rounded to the millimetre.
    near(plane.area(halves[0]) + plane.area(halves[1]), ground, 1, "two halves");
    for (const way of ["along", "across"]) {
      const parts = splitEqually(strip, 4, way);
      assert.equal(parts.length, 4);
      for (const part of parts) near(plane.area(part), ground / 4, 1, `four parts ${way}`);
    }
  }
});

test("a line that misses a strip leaves it whole", () => {
  const strip = rectangle(0, 100, 10);
  assert.equal(splitByLine(strip, [20, -10], [30, 10]).length, 1);
  assert.equal(splitByLine(strip, [20, 0], [6, 0]).length, 1, "it ends before the strip");
  assert.equal(splitByLine(strip, [0, 0], [0, 0]).length, 1, "no line at all");
});

test("holes and parts survive a split", () => {
  const holed = [
    [
      [
        [0, 0],
        [20, 0],
        [20, 100],
        [0, 100],
        [0, 0],
      ],
      [
        [5, 40],
        [5, 60],
        [15, 60],
        [15, 40],
        [5, 40],
      ],
    ],
    [
      [
        [30, 0],
        [40, 0],
        [40, 100],
        [30, 100],
        [30, 0],
      ],
    ],
  ];
  const halves = splitByLine(holed, [-5, 50], [45, 50]);
  assert.equal(halves.length, 2);
  for (const half of halves) near(plane.area(half), (2000 - 200 + 1000) / 2, 1e-6, "half of ground with a hole");
});
