// What goes with the strips as a whole: which treatment is the check, and the ground kept clear inside
// every strip's edge.

import { element, fill } from "./element";
import { lengthField } from "./fields";
import type { Model } from "./model";

export function trialFields(target: HTMLElement, datalist: HTMLElement, model: Model): void {
  const check = element("select", { id: "check" });
  check.addEventListener("change", () => model.change({ check: check.value }, `The check is ${check.value || "none"}`));
  const inset = lengthField("Kept clear inside each edge", {
    valueM: () => model.state.insetM,
    changed: (insetM) => model.change({ insetM }, "Inset changed"),
    least: 0,
  });
  fill(
    target,
    element("div", { class: "field" }, element("label", { for: "check" }, "The check is"), check),
    inset.row,
  );
  let named = "";
  const draw = (): void => {
    const names = model.treatments();
    const key = JSON.stringify([names, model.state.check]);
    if (key !== named) {
      named = key;
      fill(check, ...["", ...names].map((name) => element("option", { value: name }, name === "" ? "none" : name)));
      check.value = model.state.check;
      fill(datalist, ...names.map((name) => element("option", { value: name })));
    }
    inset.refresh();
  };
  draw();
  model.onChange(draw);
}
