// Two pages, one file: when the strips on disk are no longer those that this page began from, nothing
// is written over. The grower sees which strips differ and chooses, strip by strip or all at once.

import { element, fill } from "./element";
import { area } from "./plane";
import { areaUnit, figure, shownArea } from "./units";
import type { WireStrip } from "./wire";

/** Mine and theirs of one strip, where they differ; absent on one side: not there. */
interface Difference {
  id: string;
  mine: WireStrip | null;
  theirs: WireStrip | null;
  keep: "mine" | "theirs";
}

export type Choice = { what: "save"; strips: WireStrip[] } | { what: "take" } | { what: "later" };

const same = (a: WireStrip | null, b: WireStrip | null): boolean => JSON.stringify(a) === JSON.stringify(b);

/** Strips by id; a second strip of the same id is told apart by a number behind it. */
function byName(strips: WireStrip[]): Map<string, WireStrip> {
  const named = new Map<string, WireStrip>();
  for (const strip of strips) {
    let name = strip.id;
    for (let number = 2; named.has(name); number++) name = `${strip.id} (${number})`;
    named.set(name, strip);
  }
  return named;
}

/** Strips in the order of `mine`, then those that only `theirs` has. */
function differences(mine: WireStrip[], theirs: WireStrip[], begun: WireStrip[]): Difference[] {
  const [own, other, base] = [byName(mine), byName(theirs), byName(begun)];
  return [...new Set([...own.keys(), ...other.keys()])]
    .map((id): Difference => {
      const [on, off, before] = [own, other, base].map((strips) => strips.get(id) ?? null) as [
        WireStrip | null,
        WireStrip | null,
        WireStrip | null,
      ];
      // Whoever changed it since both began is the one to keep; where both did, this page.
      return { id, mine: on, theirs: off, keep: same(on, before) ? "theirs" : "mine" };
    })
    .filter((difference) => !same(difference.mine, difference.theirs));
}

function words(strip: WireStrip | null): string {
  if (!strip) return "not there";
  const block = strip.block ? `, block ${strip.block}` : "";
  return `${strip.treatment}${block}, ${figure(shownArea(area(strip.polygons)), 2)} ${areaUnit()}`;
}

function merged(mine: WireStrip[], theirs: WireStrip[], chosen: Difference[]): WireStrip[] {
  const [own, other] = [byName(mine), byName(theirs)];
  const kept = new Map(chosen.map((difference) => [difference.id, difference[difference.keep]]));
  return [...new Set([...own.keys(), ...other.keys()])]
    .map((id) => (kept.has(id) ? kept.get(id)! : own.get(id)!))
    .filter((strip) => strip !== null);
}

/** Asks what to do; nothing on disk or on the page has changed yet. */
export function askAboutConflict(
  message: string,
  mine: WireStrip[],
  theirs: WireStrip[],
  begun: WireStrip[],
): Promise<Choice> {
  const found = differences(mine, theirs, begun);
  const rows = found.map((difference) => {
    const select = element(
      "select",
      { "aria-label": `Keep of strip ${difference.id}` },
      element("option", { value: "mine" }, "this page’s"),
      element("option", { value: "theirs" }, "the file’s"),
    );
    select.value = difference.keep;
    select.addEventListener("change", () => (difference.keep = select.value as "mine" | "theirs"));
    const row = element(
      "tr",
      {},
      element("th", { scope: "row" }, difference.id),
      element("td", {}, words(difference.mine)),
      element("td", {}, words(difference.theirs)),
      element("td", {}, select),
    );
    return row;
  });
  const dialog = element("dialog", { class: "conflict", "aria-labelledby": "conflict-title" });
  return new Promise((resolve) => {
    const end = (choice: Choice): void => {
      dialog.close();
      dialog.remove();
      resolve(choice);
    };
    const button = (text: string, kind: string, choice: () => Choice): HTMLElement =>
      element("button", { type: "button", class: kind, onclick: () => end(choice()) }, text);
    fill(
      dialog,
      element("h2", { id: "conflict-title" }, "The strips on disk have changed"),
      element("p", {}, message),
      element(
        "p",
        {},
        "Nothing has been saved yet, and nothing is lost. Choose what the file shall hold; whatever it holds now is kept beside it as an earlier version.",
      ),
      found.length === 0
        ? element("p", {}, "Page and file hold the same strips.")
        : element(
            "div",
            { class: "scroll", tabindex: 0, role: "region", "aria-label": "Strips that differ" },
            element(
              "table",
              {},
              element("caption", {}, found.length === 1 ? "1 strip differs" : `${found.length} strips differ`),
              element(
                "thead",
                {},
                element(
                  "tr",
                  {},
                  ...["Strip", "On this page", "In the file", "Keep"].map((head) =>
                    element("th", { scope: "col" }, head),
                  ),
                ),
              ),
              element("tbody", {}, ...rows),
            ),
          ),
      element(
        "div",
        { class: "buttons" },
        button("Save what is chosen above", "main", () => ({ what: "save", strips: merged(mine, theirs, found) })),
        button("Keep all of this page’s", "", () => ({ what: "save", strips: mine })),
        button("Take all of the file’s", "", () => ({ what: "take" })),
        button("Decide later", "", () => ({ what: "later" })),
      ),
    );
    dialog.addEventListener("cancel", (event) => {
      event.preventDefault();
      end({ what: "later" });
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}
