// The answer as it changes: whenever strips, settings or prices change, the program is asked again,
// after a short rest, and an answer that was overtaken is thrown away. Panels show what is here.

import type { Model, State } from "./model";
import type { RecordView } from "./record_view";
import * as server from "./server";
import type { Cleaned, Compared, Question, StripProblem } from "./wire";

/** Changes within this many milliseconds are asked about together. */
const REST_MS = 50;

export class Live {
  cleaned: Cleaned | null = null;
  /** What cleaning left with the settings the page began with, to show what a change did. */
  cleanedAtFirst: Cleaned | null = null;
  compared: Compared | null = null;
  /** The answer before the present one. */
  before: Compared | null = null;
  /** What is wrong with drawn strips. */
  problems: StripProblem[] = [];
  /** Why there is no answer to what stands on the page now. */
  refusal: server.Refusal | null = null;
  busy = false;
  private listeners: (() => void)[] = [];
  private timer: ReturnType<typeof setTimeout> | undefined;
  private running: AbortController | null = null;
  private asked: State;

  constructor(
    private readonly model: Model,
    private readonly view: RecordView,
  ) {
    this.asked = model.state;
    model.onChange(() => {
      // What is selected does not bear on the answer.
      if (model.state !== this.asked) this.askSoon();
    });
  }

  onChange(listener: () => void): void {
    this.listeners.push(listener);
  }

  private tell(): void {
    for (const listener of this.listeners) listener();
  }

  private askSoon(): void {
    this.asked = this.model.state;
    clearTimeout(this.timer);
    // An answer on its way is to what was there before.
    this.running?.abort();
    this.busy = true;
    this.tell();
    this.timer = setTimeout(() => void this.ask(), REST_MS);
  }

  /** Asks for everything now; also how the page begins. */
  async ask(): Promise<void> {
    const { state } = this.model;
    this.asked = state;
    this.running?.abort();
    const running = new AbortController();
    this.running = running;
    this.busy = true;
    this.tell();
    try {
      await this.clean(state, running.signal);
      const asked = question(this.model, state);
      const [compared, problems] = await Promise.all([
        server.compare(asked, running.signal),
        server.check(asked, running.signal),
      ]);
      // Another request of this page is on its way.
      if (compared.superseded) return;
      if (this.compared) this.before = this.compared;
      this.compared = compared;
      this.problems = problems;
      this.refusal = null;
    } catch (error) {
      if (running.signal.aborted) return;
      if (!(error instanceof server.Refusal)) throw error;
      this.refusal = error;
      this.problems = error.problems;
    }
    if (running !== this.running) return;
    this.busy = false;
    this.tell();
  }

  private async clean(state: State, signal: AbortSignal): Promise<void> {
    const same = this.cleaned && JSON.stringify(this.settingsCleaned) === JSON.stringify(state.settings);
    if (same) return;
    const cleaned = await server.clean(state.settings, signal);
    this.settingsCleaned = state.settings;
    this.cleaned = cleaned;
    this.cleanedAtFirst ??= cleaned;
    this.view.records.setCleaning(cleaned.cleaning);
    this.tell();
    if (this.view.records.footprints) await this.view.fetch();
  }

  private settingsCleaned: State["settings"] | null = null;
}

/** Pages that are open at once are told apart by chance. */
const PAGE = Math.random().toString(36).slice(2);

/** What the program is asked about a state. */
export function question(model: Model, state: State = model.state): Question {
  const { check, insetM, settings, money } = state;
  return {
    page: PAGE,
    base_revision: model.revision,
    strips: model.wireStrips(state.strips),
    check,
    inset_m: insetM,
    settings,
    money,
  };
}
