// Prices and costs, as the trial file has them, to be changed here and watched.

import { announce } from "./announcements";
import { element, fill } from "./element";
import { numberField, type Field } from "./fields";
import type { Model } from "./model";
import type { Money } from "./wire";

export function moneyPanel(target: HTMLElement, model: Model): void {
  let shown = "";
  let fields: Field[] = [];
  const set = (money: Money, words: string): void => {
    model.change({ money }, words);
    announce(`${words}.`);
  };
  const now = (): Money => model.state.money ?? { price_per_bu: 0, cost_per_unit: null, treatments: {} };
  const setCost = (treatment: string, key: string, value: number | null): void => {
    const costs = { ...now().treatments[treatment] };
    if (value === null) delete costs[key];
    else costs[key] = value;
    set({ ...now(), treatments: { ...now().treatments, [treatment]: costs } }, `Costs of ${treatment} changed`);
  };
  const draw = (): void => {
    const treated = model
      .treatments()
      .filter((name) => name !== model.state.check && model.state.strips.some((strip) => strip.treatment === name));
    const key = JSON.stringify([treated, !!model.state.money]);
    if (key === shown) {
      for (const field of fields) field.refresh();
      return;
    }
    shown = key;
    const price = numberField("Price of the crop, $ a bushel", {
      value: () => model.state.money?.price_per_bu ?? null,
      changed: (price_per_bu) => set({ ...now(), price_per_bu }, "Price changed"),
      emptied: () => {
        model.change({ money: null }, "Price taken out");
        announce("No price: nothing is said about money.");
      },
      least: 0.01,
      placeholder: () => "none",
    });
    fields = [price];
    const groups = model.state.money
      ? treated.map((treatment) => {
          const costs = (model.trial.money_fields ?? []).map(({ key: cost, title, unit, default: usual }) =>
            numberField(title, {
              value: () => now().treatments[treatment]?.[cost] ?? null,
              changed: (value) => setCost(treatment, cost, value),
              emptied: () => setCost(treatment, cost, null),
              unit: () => unit,
              placeholder: () => (usual === null ? "" : String(usual)),
            }),
          );
          fields.push(...costs);
          return element(
            "details",
            {},
            element("summary", {}, `What ${treatment} costs over the check`),
            element("div", { class: "fields" }, ...costs.map((field) => field.row)),
          );
        })
      : [];
    fill(
      target,
      element("h2", {}, "Money"),
      element("div", { class: "fields" }, price.row),
      ...groups,
      element("p", { class: "fine" }, "Saved to the trial file, together with the strips."),
    );
  };
  draw();
  model.onChange(draw);
}
