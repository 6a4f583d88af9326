// The page's side of every request to the program: sends, awaits, and turns an answer that says no
// into an error with the program's own words.

import { sentence } from "./sentence";
import type {
  AppliedPass,
  Cleaned,
  Compared,
  Conflict,
  Outlined,
  PassLines,
  Point,
  Question,
  Saved,
  Settings,
  StripProblem,
  Trial,
  Written,
} from "./wire";

/** The program said no, in words for the grower. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    message: string,
    readonly hint: string | null,
    readonly problems: StripProblem[],
    readonly conflict: Conflict | null,
  ) {
    super(message);
  }

  /** What is wrong, and what to do, as sentences. */
  get words(): string {
    return [this.message, this.hint ?? ""]
      .filter((part) => part !== "")
      .map(sentence)
      .join(" ");
  }
}

async function refusal(response: Response): Promise<Refusal> {
  const text = await response.text();
  let body: Record<string, unknown> = {};
  try {
    body = JSON.parse(text) as Record<string, unknown>;
  } catch {
    // Not JSON: the words below stand in for it.
  }
  const problems = (body.problems as StripProblem[] | undefined) ?? [];
  const message =
    (body.message as string | undefined) ??
    problems[0]?.message ??
    `The program answered ${response.status} ${response.statusText}.`;
  const conflict = response.status === 409 && body.strips ? (body as unknown as Conflict) : null;
  return new Refusal(response.status, message, (body.hint as string | undefined) ?? null, problems, conflict);
}

async function ask(path: string, options?: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(`api/${path}`, options);
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Refusal(
      0,
      "The program does not answer.",
      "Is checkstrip draw still running? Start it again; strips not saved are still on this page.",
      [],
      null,
    );
  }
  if (!response.ok) throw await refusal(response);
  return response;
}

async function got<T>(path: string): Promise<T> {
  return (await (await ask(path)).json()) as T;
}

async function posted<T>(path: string, body: unknown, signal?: AbortSignal): Promise<T> {
  const response = await ask(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
    signal: signal ?? null,
  });
  return (await response.json()) as T;
}

export const trial = (): Promise<Trial> => got("trial");

/** One column of the records, as raw bytes. */
export async function column(key: string, cleaning: number): Promise<ArrayBuffer> {
  return (await ask(`records/${encodeURIComponent(key)}?cleaning=${cleaning}`)).arrayBuffer();
}

export async function edges(): Promise<PassLines[]> {
  return (await got<{ passes: PassLines[] }>("edges")).passes;
}

export const clean = (settings: Settings, signal: AbortSignal): Promise<Cleaned> =>
  posted("clean", { settings }, signal);

export const compare = (question: Question, signal: AbortSignal): Promise<Compared> =>
  posted("compare", question, signal);

export async function check(question: Question, signal: AbortSignal): Promise<StripProblem[]> {
  const { strips, base_revision } = question;
  return (await posted<{ problems: StripProblem[] }>("check", { strips, base_revision }, signal)).problems;
}

export const save = (plan: Omit<Question, "page">): Promise<Saved> => posted("save", plan);

export const report = (order: Omit<Question, "strips" | "page"> & { units: "farm" | "si" }): Promise<Written> =>
  posted("report", order);

export const outline = (order: {
  applied: string;
  passes?: number[];
  by: "product" | "rate" | "treatment";
  name?: string;
}): Promise<Outlined> => posted("outline", order);

export async function appliedPasses(id: string): Promise<AppliedPass[]> {
  return (await got<{ passes: AppliedPass[] }>(`applied/${encodeURIComponent(id)}`)).passes;
}

export const backgroundAddress = (id: string): string => `api/background/${encodeURIComponent(id)}`;

export async function backgroundLines(id: string): Promise<Point[][]> {
  return (await got<{ lines: Point[][] }>(`background/${encodeURIComponent(id)}`)).lines;
}
