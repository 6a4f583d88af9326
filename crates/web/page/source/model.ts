// The one model behind the page: strips, check, inset, cleaning settings and money, with their
// history, and which strips are selected. Map, tables and panels are views of it: they change it
// through `change` and draw themselves again when it calls.

import { History } from "./history";
import type { Money, Polygon, Settings, StripsOnDisk, Trial, WireStrip } from "./wire";

export interface Strip {
  /** Names the strip within this page only; what the grower calls it is `id`. */
  readonly key: number;
  /** The strip that this one was split or copied from; otherwise itself. */
  readonly origin: number;
  readonly id: string;
  readonly treatment: string;
  readonly block: string | null;
  readonly polygons: readonly Polygon[];
}

export interface State {
  readonly strips: readonly Strip[];
  readonly check: string;
  readonly insetM: number;
  readonly settings: Settings;
  readonly money: Money | null;
}

export type StripParts = Omit<Strip, "key" | "origin">;

export class Model {
  readonly trial: Trial;
  private readonly history: History<State>;
  private listeners: (() => void)[] = [];
  private chosen: ReadonlySet<number> = new Set();
  private nextKey = 1;
  /** What is on disk, to tell whether there is something to save. */
  private onDisk!: State;
  private idsOnDisk = new Map<number, string>();
  private base = "";

  constructor(trial: Trial) {
    this.trial = trial;
    const { strips } = trial;
    const settings: Settings = {};
    for (const setting of trial.settings) settings[setting.key] = setting.value;
    const first: State = {
      strips: this.allKeyed(strips.strips),
      check: strips.check,
      insetM: strips.inset_m,
      settings,
      money: trial.money,
    };
    this.history = new History(first);
    this.restOn(first, strips.revision);
  }

  get state(): State {
    return this.history.state;
  }

  /** Calls `listener` after every change of the state or of what is selected. */
  onChange(listener: () => void): void {
    this.listeners.push(listener);
  }

  private tell(): void {
    for (const listener of this.listeners) listener();
  }

  private keyed(strip: StripParts | WireStrip, origin?: number): Strip {
    const { id, treatment, block, polygons } = strip;
    const key = this.nextKey++;
    return { key, origin: origin ?? key, id, treatment, block, polygons };
  }

  private allKeyed(strips: WireStrip[]): Strip[] {
    return strips.map((strip) => this.keyed(strip));
  }

  /** Makes a new state of the present one; `words` say what was done. */
  change(parts: Partial<State>, words: string): void {
    this.history.record({ ...this.state, ...parts }, words);
    this.forgetLostSelection();
    this.tell();
  }

  undo(): string | null {
    return this.step(this.history.undo());
  }

  redo(): string | null {
    return this.step(this.history.redo());
  }

  private step(words: string | null): string | null {
    if (words === null) return null;
    this.forgetLostSelection();
    this.tell();
    return words;
  }

  get canUndo(): boolean {
    return this.history.canUndo;
  }

  get canRedo(): boolean {
    return this.history.canRedo;
  }

  // Strips.

  strip(key: number): Strip | undefined {
    return this.state.strips.find((strip) => strip.key === key);
  }

  /** Adds strips, without an id: the next free numbers; and selects them. */
  add(added: (Omit<StripParts, "id"> & { id?: string; origin?: number })[], words: string): void {
    const taken = new Set(this.state.strips.map((strip) => strip.id));
    let number = 1;
    const strips = added.map((strip) => {
      let id = strip.id ?? "";
      while (id === "" || taken.has(id)) id = String(number++);
      taken.add(id);
      return this.keyed({ ...strip, id }, strip.origin);
    });
    this.chosen = new Set(strips.map((strip) => strip.key));
    this.change({ strips: [...this.state.strips, ...strips] }, words);
  }

  /** Changes some strips; `how` returns the parts that become different. */
  edit(keys: Iterable<number>, how: (strip: Strip) => Partial<StripParts>, words: string): void {
    const edited = new Set(keys);
    const strips = this.state.strips.map((strip) => (edited.has(strip.key) ? { ...strip, ...how(strip) } : strip));
    this.change({ strips }, words);
  }

  /** Puts each strip's parts in its place: the first keeps the strip's name, the others get new ones. */
  divide(parts: Map<number, (readonly Polygon[])[]>, words: string): void {
    const taken = new Set(this.state.strips.map((strip) => strip.id));
    const chosen = new Set<number>();
    const strips = this.state.strips.flatMap((strip) => {
      const pieces = parts.get(strip.key);
      if (!pieces || pieces.length < 2) return [strip];
      return pieces.map((polygons, place) => {
        let { id } = strip;
        for (let number = place + 1; place > 0 && taken.has(id); number++) id = `${strip.id}-${number}`;
        taken.add(id);
        const piece = place === 0 ? { ...strip, polygons } : this.keyed({ ...strip, id, polygons }, strip.origin);
        chosen.add(piece.key);
        return piece;
      });
    });
    this.chosen = chosen;
    this.change({ strips }, words);
  }

  remove(keys: Iterable<number>, words: string): void {
    const gone = new Set(keys);
    this.change({ strips: this.state.strips.filter((strip) => !gone.has(strip.key)) }, words);
  }

  /** Every treatment that is named anywhere, the check first. */
  treatments(): string[] {
    const { strips, check } = this.state;
    const names = [check, ...this.trial.strips.treatments, ...strips.map((strip) => strip.treatment)];
    return [...new Set(names.filter((name) => name !== ""))];
  }

  // Selection.

  get selected(): ReadonlySet<number> {
    return this.chosen;
  }

  selectedStrips(): Strip[] {
    return this.state.strips.filter((strip) => this.chosen.has(strip.key));
  }

  select(keys: Iterable<number>): void {
    this.chosen = new Set(keys);
    this.tell();
  }

  toggle(key: number): void {
    const chosen = new Set(this.chosen);
    if (!chosen.delete(key)) chosen.add(key);
    this.select(chosen);
  }

  private forgetLostSelection(): void {
    const there = new Set(this.state.strips.map((strip) => strip.key));
    this.chosen = new Set([...this.chosen].filter((key) => there.has(key)));
  }

  // What is on disk: strips in their file, the rest in the trial file.

  /** Names what is on disk, as far as this page knows. */
  get revision(): string {
    return this.base;
  }

  get unsaved(): boolean {
    const { state, onDisk } = this;
    if (state === onDisk) return false;
    return (
      !alike(state.strips, onDisk.strips) ||
      JSON.stringify({ ...state, strips: [] }) !== JSON.stringify({ ...onDisk, strips: [] })
    );
  }

  /**
   * The state `sent` is on disk now, and reads from there as `there`: places that a file cannot hold to
   * the last digit are those of the file from now on.
   */
  saved(sent: State, there: StripsOnDisk): void {
    const same = there.strips.length === sent.strips.length;
    const strips = sent.strips.map((strip, place) =>
      same ? { ...strip, polygons: there.strips[place]!.polygons } : strip,
    );
    const saved = { ...sent, strips };
    if (this.state === sent) this.history.replace(saved);
    this.restOn(saved, there.revision);
    this.tell();
  }

  private restOn(state: State, revision: string): void {
    this.onDisk = state;
    this.idsOnDisk = new Map(state.strips.map((strip) => [strip.key, strip.id]));
    this.base = revision;
  }

  /** Strips as they travel, each with the strip on disk that it comes from. */
  wireStrips(strips: readonly Strip[] = this.state.strips): WireStrip[] {
    return strips.map((strip) => {
      const from = this.idsOnDisk.get(strip.key) ?? this.idsOnDisk.get(strip.origin);
      return { ...plain(strip), ...(from === undefined ? {} : { from }) };
    });
  }

  /** The strips that this page began from, or last saved. */
  stripsOnDisk(): WireStrip[] {
    return this.onDisk.strips.map(plain);
  }

  /** The strips of this page, without where they come from. */
  plainStrips(): WireStrip[] {
    return this.state.strips.map(plain);
  }

  /** Other strips in place of all these; one step, that can be undone. */
  putInPlace(strips: WireStrip[], words: string): void {
    this.change({ strips: this.allKeyed(strips) }, words);
  }

  /** What another page saved takes the place of these strips; one step, that can be undone. */
  takeOver(there: StripsOnDisk, words: string): void {
    this.change({ strips: this.allKeyed(there.strips), check: there.check, insetM: there.inset_m }, words);
    const { settings, money } = this.onDisk;
    this.restOn({ ...this.state, settings, money }, there.revision);
    this.tell();
  }

  /** The file is another revision now; what this page holds is drawn over that. */
  restOnFile(there: StripsOnDisk): void {
    const known = new Map(this.state.strips.map((strip) => [strip.id, strip.key]));
    this.idsOnDisk = new Map(there.strips.flatMap(({ id }) => (known.has(id) ? [[known.get(id)!, id]] : [])));
    this.base = there.revision;
  }
}

const plain = ({ id, treatment, block, polygons }: Strip): WireStrip => ({
  id,
  treatment,
  block,
  polygons: [...polygons],
});

/** Whether two lists of strips would be the same file. */
function alike(one: readonly Strip[], other: readonly Strip[]): boolean {
  return JSON.stringify(one.map(plain)) === JSON.stringify(other.map(plain));
}
