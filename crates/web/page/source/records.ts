// The records of the log as columns of numbers, fetched when they are first wanted and kept until
// cleaning changes them; and which record lies under a place.

import * as server from "./server";
import type { Point, Trial } from "./wire";

/** Where every record's footprint lies: a rectangle behind a place, in driving order. */
export interface Footprints {
  east: Float32Array;
  north: Float32Array;
  headingDeg: Float32Array;
  widthM: Float32Array;
  lengthM: Float32Array;
  timeS: Float64Array;
}

export class Records {
  readonly count: number;
  footprints!: Footprints;
  private cleaning = 0;
  private readonly columns = new Map<string, Promise<ArrayBuffer>>();
  private grid!: Grid;

  constructor(trial: Trial) {
    this.count = trial.records;
  }

  /** Fetches where the records lie, which no cleaning changes; everything else waits for this. */
  async load(cleaning: number): Promise<void> {
    const names = ["east", "north", "heading", "width", "length", "time"];
    const [east, north, heading, width, length, time] = await Promise.all(
      names.map((name) => server.column(name, cleaning)),
    );
    this.footprints = {
      east: new Float32Array(east!),
      north: new Float32Array(north!),
      headingDeg: new Float32Array(heading!),
      widthM: new Float32Array(width!),
      lengthM: new Float32Array(length!),
      timeS: new Float64Array(time!),
    };
    this.grid = new Grid(this.footprints);
  }

  /** From now on columns are those of this cleaning. */
  setCleaning(cleaning: number): void {
    if (cleaning === this.cleaning) return;
    this.cleaning = cleaning;
    this.columns.clear();
  }

  private bytes(key: string): Promise<ArrayBuffer> {
    let column = this.columns.get(key);
    if (!column) {
      column = server.column(key, this.cleaning);
      // A failed request is asked again the next time.
      column.catch(() => this.columns.delete(key));
      this.columns.set(key, column);
    }
    return column;
  }

  async values(key: string): Promise<Float32Array> {
    return new Float32Array(await this.bytes(key));
  }

  async statuses(): Promise<Uint8Array> {
    return new Uint8Array(await this.bytes("status"));
  }

  async passes(): Promise<Uint32Array> {
    return new Uint32Array(await this.bytes("pass"));
  }

  /** The last record whose footprint holds the place, among those `shown` lets through. */
  at(place: Point, shown: (record: number) => boolean): number | null {
    return this.grid.at(place, shown);
  }
}

/** Cells a little larger than a footprint; each lists the records whose footprint has its middle in it. */
class Grid {
  private readonly cellM: number;
  private readonly west: number;
  private readonly south: number;
  private readonly columns: number;
  private readonly rows: number;
  /** Records sorted by cell, and where each cell's begin. */
  private readonly sorted: Uint32Array;
  private readonly starts: Uint32Array;

  constructor(private readonly footprints: Footprints) {
    const { east, north, widthM, lengthM } = footprints;
    let [west, south, eastmost, northmost, reach] = [Infinity, Infinity, -Infinity, -Infinity, 1];
    for (let record = 0; record < east.length; record++) {
      const [x, y] = [east[record]!, north[record]!];
      if (!Number.isFinite(x + y)) continue;
      west = Math.min(west, x);
      eastmost = Math.max(eastmost, x);
      south = Math.min(south, y);
      northmost = Math.max(northmost, y);
      const size = Math.hypot(widthM[record]!, lengthM[record]!);
      if (size > reach && size < 100) reach = size;
    }
    if (!Number.isFinite(west)) [west, south, eastmost, northmost] = [0, 0, 1, 1];
    // A wild position far off must not make millions of cells.
    this.cellM = Math.max(reach, (eastmost - west) / 1000, (northmost - south) / 1000);
    this.west = west;
    this.south = south;
    this.columns = Math.floor((eastmost - west) / this.cellM) + 1;
    this.rows = Math.floor((northmost - south) / this.cellM) + 1;
    this.starts = new Uint32Array(this.columns * this.rows + 1);
    for (let record = 0; record < east.length; record++) {
      const cell = this.cellOf(east[record]!, north[record]!);
      if (cell !== null) this.starts[cell + 1]! += 1;
    }
    for (let cell = 1; cell < this.starts.length; cell++) this.starts[cell]! += this.starts[cell - 1]!;
    this.sorted = new Uint32Array(this.starts[this.starts.length - 1]!);
    const next = this.starts.slice();
    for (let record = 0; record < east.length; record++) {
      const cell = this.cellOf(east[record]!, north[record]!);
      if (cell !== null) this.sorted[next[cell]!++] = record;
    }
  }

  private cellOf(x: number, y: number): number | null {
    const column = Math.floor((x - this.west) / this.cellM);
    const row = Math.floor((y - this.south) / this.cellM);
    const inside = column >= 0 && column < this.columns && row >= 0 && row < this.rows;
    return inside ? row * this.columns + column : null;
  }

  at([x, y]: Point, shown: (record: number) => boolean): number | null {
    const { east, north, headingDeg, widthM, lengthM } = this.footprints;
    let last: number | null = null;
    for (let downwards = -1; downwards <= 1; downwards++) {
      for (let sideways = -1; sideways <= 1; sideways++) {
        const cell = this.cellOf(x + sideways * this.cellM, y + downwards * this.cellM);
        if (cell === null) continue;
        for (let place = this.starts[cell]!; place < this.starts[cell + 1]!; place++) {
          const record = this.sorted[place]!;
          if (last !== null && record <= last) continue;
          const heading = (headingDeg[record]! * Math.PI) / 180;
          const [dx, dy] = [x - east[record]!, y - north[record]!];
          const back = -(dx * Math.sin(heading) + dy * Math.cos(heading));
          const aside = Math.abs(dx * Math.cos(heading) - dy * Math.sin(heading));
          // Half a metre more, so that records that stand still can be pointed at.
          if (back < -0.5 || back > lengthM[record]! + 0.5 || aside > widthM[record]! / 2) continue;
          if (shown(record)) last = record;
        }
      }
    }
    return last;
  }
}
