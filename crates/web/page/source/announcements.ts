// What just happened, in one line at the foot of the page that screen readers speak.

import { byId } from "./element";

export function announce(words: string): void {
  const line = byId("announcement");
  // The same words twice are spoken twice only when the text changes.
  line.textContent = line.textContent === words ? `${words}\u00a0` : words;
}
