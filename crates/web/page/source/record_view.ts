// What is to be seen of the records: coloured by which quantity, before or after cleaning, which pass,
// up to which moment, which reasons. Controls set it; map, legend and read-out follow it.

import type { Records } from "./records";
import type { Quantity, Trial } from "./wire";

/** The columns that the view needs, fetched together so that they belong to one cleaning. */
export interface Columns {
  values: Float32Array | null;
  statuses: Uint8Array;
  passes: Uint32Array;
}

export class RecordView {
  quantity: Quantity;
  /** After cleaning: kept records in colour, at the places their grain grew. Before: all, as logged. */
  cleaned = true;
  /** Only this pass in colour; `null`: all. */
  pass: number | null = null;
  /** Records from this place on, in driving order, are not driven yet. */
  until: number;
  /** Whether each status is shown when records are coloured by status. */
  readonly shownStatuses: boolean[];
  columns: Columns | null = null;
  private listeners: (() => void)[] = [];
  private wanted = 0;

  constructor(
    trial: Trial,
    readonly records: Records,
  ) {
    this.quantity = trial.quantities[0]!;
    this.until = trial.records;
    this.shownStatuses = trial.statuses.map(() => true);
  }

  onChange(listener: () => void): void {
    this.listeners.push(listener);
  }

  /** Draws again with the columns that are here. */
  changed(): void {
    for (const listener of this.listeners) listener();
  }

  /** The column coloured by. */
  get columnKey(): string {
    return !this.cleaned && this.quantity.before ? this.quantity.before : this.quantity.key;
  }

  /** Fetches the columns and draws; a later call overtakes an earlier one. */
  async fetch(): Promise<void> {
    const turn = ++this.wanted;
    const status = this.quantity.kind === "status";
    const [values, statuses, passes] = await Promise.all([
      status ? null : this.records.values(this.columnKey),
      this.records.statuses(),
      this.records.passes(),
    ]);
    if (turn !== this.wanted) return;
    this.columns = { values, statuses, passes };
    this.changed();
  }

  get low(): number {
    return this.quantity.low ?? 0;
  }

  get high(): number {
    const { high } = this.quantity;
    return high !== null && high > this.low ? high : this.low + 1;
  }

  /** Whether a record is on the map at all. */
  shows(record: number): boolean {
    if (!this.columns || record >= this.until) return false;
    if (this.pass !== null && this.columns.passes[record] !== this.pass) return false;
    return this.quantity.kind !== "status" || !!this.shownStatuses[this.columns.statuses[record]!];
  }
}
