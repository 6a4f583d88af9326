// The legend under the map: the ramp with its figures and unit, or the reasons with their marks, which
// can be switched off one by one; and the treatments.

import { RAMP, css } from "./colour_scale";
import { element, fill, freshId } from "./element";
import { markPicture } from "./marks";
import type { Model } from "./model";
import type { RecordView } from "./record_view";
import { swatch } from "./treatment_look";
import { figure, onUnits, shownValue, unitOf } from "./units";

export function legend(target: HTMLElement, view: RecordView, model: Model): void {
  const scale = element("div", { class: "scale" });
  const treatments = element("ul", { class: "treatments", "aria-label": "Treatments" });
  fill(target, scale, treatments);
  let shown = "";
  const draw = (): void => {
    const { quantity, columns } = view;
    scale.classList.toggle("wide", quantity.kind === "status");
    if (quantity.kind === "status") {
      // Rebuilt only when counts differ, so that a switch in use keeps the focus.
      const counts = countStatuses(view);
      const key = `status ${counts.join()}`;
      if (key === shown) return;
      shown = key;
      fill(scale, ...statuses(view, model, counts));
      return;
    }
    const key = `${quantity.key} ${view.columnKey} ${unitOf(quantity)} ${view.low} ${view.high} ${!!columns}`;
    if (key === shown) return;
    shown = key;
    fill(scale, ...ramp(view));
  };
  const drawTreatments = (): void => {
    const all = model.treatments();
    const used = all.filter((name) => model.state.strips.some((strip) => strip.treatment === name));
    fill(
      treatments,
      ...used.map((name) =>
        element("li", {}, swatch(all, name), name === model.state.check ? `${name} (check)` : name),
      ),
    );
    treatments.hidden = used.length === 0;
  };
  view.onChange(draw);
  onUnits(draw);
  model.onChange(drawTreatments);
  draw();
  drawTreatments();
}

function ramp(view: RecordView): HTMLElement[] {
  const { quantity } = view;
  const unit = unitOf(quantity);
  const shownTitle = view.cleaned || !quantity.before ? quantity.title : `${quantity.title}, as logged`;
  const title = element("p", { class: "legend-title" }, unit === "" ? shownTitle : `${shownTitle}, ${unit}`);
  if (quantity.low === quantity.high) {
    const same = quantity.low === null ? "not known" : shownValue(quantity, view.low);
    return [title, element("p", {}, `${same}, the same in nearly all records`)];
  }
  const bar = element("canvas", { width: 200, height: 14, class: "ramp", role: "img" });
  const context = bar.getContext("2d")!;
  for (let x = 0; x < bar.width; x++) {
    context.fillStyle = css(RAMP[Math.floor((x / bar.width) * RAMP.length)]!);
    context.fillRect(x, 0, 1, bar.height);
  }
  const ticks = [0, 0.25, 0.5, 0.75, 1].map((share) => shownValue(quantity, view.low + share * (view.high - view.low)));
  // Values beyond have the colours of the ends.
  ticks[0] = `≤ ${ticks[0]}`;
  ticks[4] = `≥ ${ticks[4]}`;
  bar.setAttribute("aria-label", `From light, ${ticks[0]} ${unit}, to dark, ${ticks[4]} ${unit}`);
  return [
    title,
    bar,
    element("div", { class: "ticks", "aria-hidden": "true" }, ...ticks.map((tick) => element("span", {}, tick))),
  ];
}

function countStatuses(view: RecordView): number[] {
  const counts = view.shownStatuses.map(() => 0);
  for (const status of view.columns?.statuses ?? []) counts[status]! += 1;
  return counts;
}

function statuses(view: RecordView, model: Model, counts: number[]): HTMLElement[] {
  const list = element("ul", { class: "reasons", "aria-label": "Records by what became of them" });
  model.trial.statuses.forEach(({ title }, status) => {
    // Reasons that no record has would only lengthen the list; a screen reader hears the others alone.
    if (status > 0 && counts[status] === 0) return;
    const box = element("input", {
      type: "checkbox",
      id: freshId(),
      onchange: () => {
        view.shownStatuses[status] = box.checked;
        view.changed();
      },
    });
    box.checked = view.shownStatuses[status]!;
    const mark =
      status === 0 ? element("span", { class: "kept-mark", "aria-hidden": "true" }) : markPicture(status - 1);
    list.append(
      element(
        "li",
        { class: "switch" },
        box,
        element("label", { for: box.id }, mark, title, element("span", { class: "count" }, figure(counts[status]!, 0))),
      ),
    );
  });
  return [element("p", { class: "legend-title" }, "Records, kept and removed"), list];
}
