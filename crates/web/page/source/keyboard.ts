// Every key the page knows, in one list: what it does, when it is heard, and how the list of keys
// shows it.

import { announce } from "./announcements";
import { byId, element, fill } from "./element";
import { switchField } from "./fields";

export interface Key {
  /** As the event names it, with `Ctrl+` or `Shift+` before it. */
  key: string;
  does: string;
  /** Under which heading the list of keys has it. */
  about: "strips" | "page";
  run(): void;
}

/** Whether keys reach a field that takes letters. */
const typing = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement && target.matches("input:not([type=checkbox]):not([type=range]), select, textarea");

const nameOf = (event: KeyboardEvent): string => {
  const letter = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const control = event.ctrlKey || event.metaKey ? "Ctrl+" : "";
  // Signs such as ? already hold Shift in them.
  const shift = event.shiftKey && (event.key.length > 1 || /[a-z]/i.test(event.key)) ? "Shift+" : "";
  return control + shift + letter;
};

/** Keys that work in the map only; they are the tools' and the map's own. */
const MAP_KEYS: readonly [key: string, does: string][] = [
  ["Arrows", "move the map; with the tool Move: the selected strips"],
  ["+ and −", "zoom"],
  ["Space", "set a corner at the cross, or select the strip under it"],
  ["Enter", "end the polygon"],
  ["Backspace", "take the last corner back"],
  ["Escape", "give up drawing; select nothing"],
  ["[ and ]", "with the tool Turn: turn the selected strips by 0.1°, with Shift by 1°"],
];

export function keyboard(keys: readonly Key[]): { showKeys(): void } {
  const dialog = byId<HTMLDialogElement>("keys");
  let letters = true;
  const showKeys = (): void => {
    if (!dialog.open) dialog.showModal();
  };
  const all: readonly Key[] = [...keys, { key: "?", does: "show these keys", about: "page", run: showKeys }];
  const list = (rows: readonly (readonly [string, string])[]): HTMLElement =>
    element(
      "dl",
      { class: "keys" },
      ...rows.flatMap(([key, does]) => [element("dt", {}, element("kbd", {}, key)), element("dd", {}, does)]),
    );
  const shown = (key: string): string =>
    key.length === 1 ? key.toUpperCase() : key.replace(/\+([a-z])$/, (_, letter: string) => `+${letter.toUpperCase()}`);
  const about = (what: Key["about"]): HTMLElement =>
    list(all.filter((each) => each.about === what).map(({ key, does }) => [shown(key), does] as const));
  const letterSwitch = switchField(
    "Single letters and signs are keys",
    () => letters,
    (on) => {
      letters = on;
      announce(on ? "Letter keys are on." : "Letter keys are off.");
    },
  );
  fill(
    dialog,
    element(
      "div",
      { class: "head" },
      element("h2", { id: "keys-title" }, "Keys"),
      element("button", { type: "button", class: "main", autofocus: true, onclick: () => dialog.close() }, "Close"),
    ),
    element(
      "div",
      { class: "columns" },
      element("section", {}, element("h3", {}, "Tools and strips"), about("strips")),
      element(
        "section",
        {},
        element("h3", {}, "On the map"),
        list(MAP_KEYS),
        element("h3", {}, "Map and page"),
        about("page"),
      ),
    ),
    letterSwitch.row,
  );
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.altKey || document.querySelector("dialog[open]")) return;
    const name = nameOf(event);
    const found = all.find(({ key }) => key === name);
    if (!found) return;
    const withControl = name.startsWith("Ctrl+");
    // In a field letters are text, and Ctrl with Z, Y or A belongs to what was typed.
    if (typing(event.target) && !(withControl && !/[zya]$/.test(name))) return;
    if (!withControl && name.length === 1 && !letters) return;
    event.preventDefault();
    found.run();
  });
  return { showKeys };
}
