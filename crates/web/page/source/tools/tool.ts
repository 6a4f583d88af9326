// What every tool is: a name, a key, options beside the map while it is chosen, and a start and an
// end. `Bench` is what tools work on.

import type { MapView } from "../map_view";
import type { Model } from "../model";
import type { Snapping } from "../snapping";
import type { StripsLayer } from "../strips_layer";
import type { Brush } from "./brush";

export interface Bench {
  model: Model;
  view: MapView;
  strips: StripsLayer;
  snapping: Snapping;
  brush: Brush;
}

export interface Tool {
  name: string;
  title: string;
  key: string;
  /** One line on how it is used, with pointer and keys. */
  help: string;
  options?: HTMLElement;
  /** Whether what is drawn with it snaps. */
  snaps?: boolean;
  start(): void;
  stop(): void;
  /** A key pressed with the map in focus; whether the tool took it. */
  press?(event: KeyboardEvent): boolean;
}

/** "strip 3", "strips 3 and 4", "5 strips": for announcements. */
export function named(strips: readonly { id: string }[]): string {
  const ids = strips.map((strip) => strip.id);
  if (ids.length === 1) return `strip ${ids[0]}`;
  if (ids.length === 2) return `strips ${ids[0]} and ${ids[1]}`;
  return `${ids.length} strips`;
}

/** `named` at the start of a sentence. */
export function namedFirst(strips: readonly { id: string }[]): string {
  const words = named(strips);
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** What is said where a tool needs strips and none is selected. */
export const SELECT_FIRST = "Select a strip first: click it on the map, or press its button in the table.";
