// The map layer of the records: every footprint filled straight into the pixels of one image, later
// ones over earlier ones, so that hundreds of thousands stay quick without WebGL. Zoomed out, where a
// header is thinner than two pixels, a footprint is a dot.

import ImageLayer from "ol/layer/Image";
import type Projection from "ol/proj/Projection";
import ImageCanvasSource from "ol/source/ImageCanvas";
import { DROPPED_GROUND, KEPT_GROUND, RAMP, pixel, stepOf } from "./colour_scale";
import { reasonColour, stamp, type Stamp } from "./marks";
import type { RecordView } from "./record_view";

/** An image to fill: where its upper left corner lies, and how many pixels a metre has. */
interface Frame {
  pixels: Uint32Array;
  wide: number;
  high: number;
  west: number;
  north: number;
  perMetre: number;
}

export function recordsLayer(view: RecordView, projection: Projection): ImageLayer<ImageCanvasSource> {
  const source = new ImageCanvasSource({
    projection,
    // Half as much again on each side, so that a pan has something to show at once.
    ratio: 1.5,
    interpolate: false,
    canvasFunction: (extent, resolution, pixelRatio, size) => {
      const canvas = document.createElement("canvas");
      const [wide, high] = [Math.max(1, Math.round(size[0]!)), Math.max(1, Math.round(size[1]!))];
      canvas.width = wide;
      canvas.height = high;
      const context = canvas.getContext("2d")!;
      const image = context.createImageData(wide, high);
      const frame: Frame = {
        pixels: new Uint32Array(image.data.buffer),
        wide,
        high,
        west: extent[0]!,
        north: extent[3]!,
        perMetre: pixelRatio / resolution,
      };
      paint(view, frame, pixelRatio);
      context.putImageData(image, 0, 0);
      return canvas;
    },
  });
  view.onChange(() => source.changed());
  return new ImageLayer({ source, className: "records" });
}

function paint(view: RecordView, frame: Frame, pixelRatio: number): void {
  if (!view.columns) return;
  if (view.quantity.kind === "status") paintStatuses(view, frame, pixelRatio);
  else paintValues(view, frame, pixelRatio);
}

function paintValues(view: RecordView, frame: Frame, pixelRatio: number): void {
  const { values, statuses, passes } = view.columns!;
  const ramp = Uint32Array.from(RAMP, (colour) => pixel(colour));
  const [dropped, pale] = [pixel(DROPPED_GROUND), pixel(KEPT_GROUND)];
  const { low, high, cleaned, pass, until } = view;
  const footprint = filler(view, frame, pixelRatio);
  if (pass !== null) {
    for (let record = 0; record < until; record++) {
      if (passes[record] !== pass) footprint(record, pale);
    }
  }
  // Dropped ground first: it never hides a record that counts.
  if (cleaned) {
    for (let record = 0; record < until; record++) {
      if (statuses[record] !== 0 && (pass === null || passes[record] === pass)) footprint(record, dropped);
    }
  }
  for (let record = 0; record < until; record++) {
    const value = values![record]!;
    if ((cleaned && statuses[record] !== 0) || Number.isNaN(value)) continue;
    if (pass !== null && passes[record] !== pass) continue;
    footprint(record, ramp[stepOf(value, low, high)]!);
  }
}

/** Marks stand at least this far apart, in pixels of the screen. */
const MARK_SPACING = 11;
const MARK_REACH = 5;

function paintStatuses(view: RecordView, frame: Frame, pixelRatio: number): void {
  const { statuses } = view.columns!;
  const kept = pixel(KEPT_GROUND);
  const footprint = filler(view, frame, pixelRatio);
  for (let record = 0; record < view.until; record++) {
    if (statuses[record] === 0 && view.shows(record)) footprint(record, kept);
  }
  const reasons = view.shownStatuses.length - 1;
  const colours = Array.from({ length: reasons }, (_, place) => pixel(reasonColour(place)));
  for (let record = 0; record < view.until; record++) {
    const status = statuses[record]!;
    if (status !== 0 && view.shows(record)) footprint(record, colours[status - 1]!);
  }
  const stamps = Array.from({ length: reasons }, (_, place) => stamp(place, Math.round(MARK_REACH * pixelRatio)));
  const spacing = MARK_SPACING * pixelRatio;
  const cells = Math.ceil(frame.wide / spacing) + 1;
  const stamped = new Uint8Array(cells * (Math.ceil(frame.high / spacing) + 1));
  const { east, north } = view.records.footprints;
  for (let record = 0; record < view.until; record++) {
    const status = statuses[record]!;
    if (status === 0 || !view.shows(record)) continue;
    const x = Math.round((east[record]! - frame.west) * frame.perMetre);
    const y = Math.round((frame.north - north[record]!) * frame.perMetre);
    if (!(x >= 0 && x < frame.wide && y >= 0 && y < frame.high)) continue;
    const cell = Math.floor(y / spacing) * cells + Math.floor(x / spacing);
    // One mark a cell: more would be a blot. A cell shared by two reasons shows the colour of both.
    if (stamped[cell]) continue;
    stamped[cell] = 1;
    press(stamps[status - 1]!, colours[status - 1]!, frame, x, y);
  }
}

/** Stamps a mark with its white rim. */
function press({ reach, ink, rim }: Stamp, colour: number, frame: Frame, x: number, y: number): void {
  const side = 2 * reach + 1;
  const channel = (rgb: number, shift: number): number => (rgb >>> shift) & 255;
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const [px, py] = [x + column - reach, y + row - reach];
      const cover = rim[row * side + column]!;
      if (cover <= 0 || px < 0 || py < 0 || px >= frame.wide || py >= frame.high) continue;
      const below = frame.pixels[py * frame.wide + px]!;
      const inked = ink[row * side + column]!;
      const mix = (shift: number): number => {
        const under = below >>> 24 === 0 ? 255 : channel(below, shift);
        const rimmed = under + (255 - under) * cover;
        return Math.round(rimmed + (channel(colour, shift) - rimmed) * inked);
      };
      const opacity = Math.max(below >>> 24, Math.round(255 * cover));
      frame.pixels[py * frame.wide + px] = ((opacity << 24) | (mix(16) << 16) | (mix(8) << 8) | mix(0)) >>> 0;
    }
  }
}

/** What fills one record's footprint with a colour. */
function filler(view: RecordView, frame: Frame, pixelRatio: number): (record: number, colour: number) => void {
  const { east, north, headingDeg, widthM, lengthM } = view.records.footprints;
  const { pixels, wide, high, west, perMetre } = frame;
  const least = 0.75;
  const dot = Math.round(2 * pixelRatio);
  return (record, colour) => {
    const x = (east[record]! - west) * perMetre;
    const y = (frame.north - north[record]!) * perMetre;
    const width = widthM[record]! * perMetre;
    // Wild and missing places end here too: every comparison with NaN is false.
    if (!(x > -200 && y > -200 && x < wide + 200 && y < high + 200)) return;
    if (!(width >= 2 * pixelRatio)) {
      fillRows(pixels, wide, high, Math.round(x), Math.round(y), dot, colour);
      return;
    }
    const heading = (headingDeg[record]! * Math.PI) / 180;
    const [forwardX, forwardY] = [Math.sin(heading), -Math.cos(heading)];
    const halfLength = Math.max(least, ((lengthM[record]! || 0) * perMetre) / 2);
    const halfWidth = width / 2;
    const [middleX, middleY] = [x - forwardX * halfLength, y - forwardY * halfLength];
    const [rightX, rightY] = [-forwardY, forwardX];
    const tall = Math.abs(forwardY) * halfLength + Math.abs(rightY) * halfWidth;
    const top = Math.max(0, Math.ceil(middleY - tall - 0.5));
    const bottom = Math.min(high - 1, Math.floor(middleY + tall - 0.5));
    for (let row = top; row <= bottom; row++) {
      // The row's pixels within both bands: along the heading, and across it.
      const down = row + 0.5 - middleY;
      let [from, to] = [-Infinity, Infinity];
      if (Math.abs(forwardX) > 1e-6) {
        const a = (-halfLength - down * forwardY) / forwardX;
        const b = (halfLength - down * forwardY) / forwardX;
        from = Math.min(a, b);
        to = Math.max(a, b);
      } else if (Math.abs(down * forwardY) > halfLength) continue;
      if (Math.abs(rightX) > 1e-6) {
        const a = (-halfWidth - down * rightY) / rightX;
        const b = (halfWidth - down * rightY) / rightX;
        from = Math.max(from, Math.min(a, b));
        to = Math.min(to, Math.max(a, b));
      } else if (Math.abs(down * rightY) > halfWidth) continue;
      const first = Math.max(0, Math.ceil(middleX + from - 0.5));
      const last = Math.min(wide - 1, Math.floor(middleX + to - 0.5));
      if (last >= first) pixels.fill(colour, row * wide + first, row * wide + last + 1);
    }
  };
}

/** A square of `side` pixels with its middle at a pixel. */
function fillRows(
  pixels: Uint32Array,
  wide: number,
  high: number,
  x: number,
  y: number,
  side: number,
  colour: number,
): void {
  const [left, top] = [x - (side >> 1), y - (side >> 1)];
  const [first, last] = [Math.max(0, left), Math.min(wide - 1, left + side - 1)];
  if (last < first) return;
  for (let row = Math.max(0, top); row < Math.min(high, top + side); row++) {
    pixels.fill(colour, row * wide + first, row * wide + last + 1);
  }
}
