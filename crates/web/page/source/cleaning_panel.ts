// Settings of the cleaning, and what they do: records kept and removed by reason, with what changed
// since the page was opened.

import { announce } from "./announcements";
import { element, fill } from "./element";
import { numberField, type Field } from "./fields";
import type { Live } from "./live";
import { markPicture } from "./marks";
import type { Model } from "./model";
import { factorOf, figure, onUnits, signed, typed, unitOf } from "./units";
import type { Setting, SettingValue } from "./wire";

export function cleaningPanel(target: HTMLElement, model: Model, live: Live): void {
  const counts = element("table", { class: "counts" });
  const delay = element("p", {});
  const fields: Field[] = [];
  const set = (setting: Setting, value: SettingValue): void => {
    model.change({ settings: { ...model.state.settings, [setting.key]: value } }, `${setting.title} changed`);
    announce(`${setting.title} changed: cleaning again.`);
  };
  const form = element("div", { class: "fields" });
  for (const setting of model.trial.settings) {
    const now = (): SettingValue => model.state.settings[setting.key] ?? null;
    const shown = (value: SettingValue): number | null =>
      typeof value === "number" ? value * factorOf(setting) : null;
    const number = (bound: number | null): number | undefined =>
      bound === null ? undefined : bound * factorOf(setting);
    const field = numberField(setting.title, {
      value: () => shown(now()),
      changed: (value) => set(setting, value / factorOf(setting)),
      // An empty field is whatever the program chooses by itself.
      ...(typeof setting.default === "number"
        ? {}
        : {
            emptied: () => set(setting, setting.default),
            placeholder: () =>
              setting.crop_value === null ? "from the log" : typed(setting.crop_value * factorOf(setting), 1),
          }),
      unit: () => unitOf(setting),
      decimals: 2,
    });
    const bounds = (): void => {
      for (const [name, bound] of [
        ["min", number(setting.low)],
        ["max", number(setting.high)],
      ] as const) {
        if (bound === undefined) field.input.removeAttribute(name);
        else field.input.setAttribute(name, String(bound));
      }
    };
    bounds();
    const help = element("p", { class: "fine", id: `${field.input.id}-help` }, setting.help);
    field.input.setAttribute("aria-describedby", help.id);
    fields.push(field);
    onUnits(() => {
      bounds();
      field.refresh();
    });
    form.append(element("div", { class: "setting" }, field.row, help));
  }
  const asBefore = element(
    "button",
    {
      type: "button",
      onclick: () => {
        const settings = { ...model.state.settings };
        for (const setting of model.trial.settings) settings[setting.key] = setting.default;
        model.change({ settings }, "Cleaning settings as usual");
        announce("All cleaning settings are the usual ones.");
      },
    },
    "Usual settings",
  );
  fill(
    target,
    element("h2", {}, "Cleaning"),
    delay,
    counts,
    element("details", {}, element("summary", {}, "Settings"), form, asBefore),
    element("p", { class: "fine" }, "Saved to the trial file, together with the strips."),
  );
  const draw = (): void => {
    for (const field of fields) field.refresh();
    const { cleaned, cleanedAtFirst } = live;
    if (!cleaned) return;
    const seconds = cleaned.grain_delay_s;
    delay.textContent = seconds === null || seconds === undefined ? "" : `Grain delay: ${figure(seconds, 1)} s`;
    const change = (now: number, first: number | undefined): string =>
      first === undefined || first === now ? "" : signed(now - first, 0);
    const line = (mark: Node | null, title: string, now: number, first: number | undefined): HTMLElement =>
      element(
        "tr",
        {},
        element("th", { scope: "row" }, mark, title),
        element("td", { class: "number" }, figure(now, 0)),
        element("td", { class: "number" }, change(now, first)),
      );
    fill(
      counts,
      element("caption", {}, "Records"),
      element(
        "thead",
        {},
        element(
          "tr",
          {},
          element("th", { scope: "col" }, "What became of them"),
          element("th", { scope: "col" }, "Number"),
          element("th", { scope: "col" }, "Change"),
        ),
      ),
      element(
        "tbody",
        {},
        line(
          element("span", { class: "kept-mark", "aria-hidden": "true" }),
          "kept",
          cleaned.kept,
          cleanedAtFirst?.kept,
        ),
        ...model.trial.statuses
          .map((status, place) => ({ ...status, place }))
          .filter(({ place }) => place > 0)
          .map(({ key, title, place }) =>
            line(markPicture(place - 1), title, cleaned.removed[key] ?? 0, cleanedAtFirst?.removed[key]),
          ),
      ),
    );
  };
  draw();
  live.onChange(draw);
  model.onChange(() => {
    for (const field of fields) field.refresh();
  });
}
