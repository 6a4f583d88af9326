// Undo and redo: every state the model was in, as whole snapshots. States are never changed in
// place, so a snapshot is a reference and costs nothing.

interface Step<T> {
  state: T;
  /** What led to the state, in words: "Strip 3 moved". */
  words: string;
}

export class History<T> {
  private readonly past: Step<T>[] = [];
  private ahead: Step<T>[] = [];
  private now: Step<T>;

  constructor(first: T) {
    this.now = { state: first, words: "" };
  }

  get state(): T {
    return this.now.state;
  }

  get canUndo(): boolean {
    return this.past.length > 0;
  }

  get canRedo(): boolean {
    return this.ahead.length > 0;
  }

  record(state: T, words: string): void {
    this.past.push(this.now);
    this.now = { state, words };
    this.ahead = [];
  }

  /** The present state, put more exactly; no step of its own. */
  replace(state: T): void {
    this.now = { ...this.now, state };
  }

  /** Steps back; the words of what was undone, or nothing when there is nothing to undo. */
  undo(): string | null {
    const before = this.past.pop();
    if (!before) return null;
    const { words } = this.now;
    this.ahead.push(this.now);
    this.now = before;
    return words;
  }

  /** Steps forward again; the words of what was redone. */
  redo(): string | null {
    const after = this.ahead.pop();
    if (!after) return null;
    this.past.push(this.now);
    this.now = after;
    return after.words;
  }
}
