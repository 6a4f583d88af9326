// What the map shows of the records: quantity, before or after cleaning, pass, and how far in time.

import { announce } from "./announcements";
import { element, fill, freshId } from "./element";
import { choiceField } from "./fields";
import { momentWords } from "./moments";
import type { RecordView } from "./record_view";
import { figure } from "./units";
import type { Pass, Trial } from "./wire";

export interface RecordControls {
  quantities: HTMLSelectElement;
  flipCleaned(): void;
  stepPass(by: number): void;
}

export function recordControls(
  target: HTMLElement,
  timeTarget: HTMLElement,
  view: RecordView,
  trial: Trial,
): RecordControls {
  const fetch = (): void => {
    view.fetch().catch((error: Error) => announce(error.message));
  };
  // As logged is the other side of the switch, not a quantity of its own.
  const asLogged = new Set(trial.quantities.map((each) => each.before));
  const quantity = choiceField(
    "Colour by",
    trial.quantities.filter((each) => !asLogged.has(each.key)).map(({ key, title }) => [key, title] as const),
    () => view.quantity.key,
    (key) => {
      view.quantity = trial.quantities.find((each) => each.key === key)!;
      fetch();
    },
  );
  const cleaned = choiceField<"after" | "before">(
    "Cleaning",
    [
      ["after", "after"],
      ["before", "before"],
    ],
    () => (view.cleaned ? "after" : "before"),
    (which) => {
      view.cleaned = which === "after";
      fetch();
    },
  );
  const pass = choiceField(
    "Pass",
    [["", "all passes"], ...trial.passes.map((each) => passChoice(each, trial))],
    () => (view.pass === null ? "" : String(view.pass)),
    (number) => {
      view.pass = number === "" ? null : Number(number);
      view.changed();
    },
  );
  fill(target, quantity.row, cleaned.row, pass.row);

  const slider = element("input", {
    type: "range",
    id: freshId(),
    min: 0,
    max: trial.records,
    step: Math.max(1, Math.round(trial.records / 2000)),
  });
  slider.value = String(trial.records);
  const moment = element("output", { for: slider.id });
  const sayMoment = (): void => {
    const { footprints } = view.records;
    const all = view.until >= trial.records;
    const time =
      footprints && view.until > 0 ? momentWords(footprints.timeS[view.until - 1]!, footprints.timeS[0]!) : "";
    moment.textContent = all ? "the whole harvest" : `until ${time} (${figure(view.until, 0)} records)`;
    slider.setAttribute("aria-valuetext", moment.textContent);
  };
  slider.addEventListener("input", () => {
    // The last step may fall short of the last record.
    const last = Number(slider.max) - Number(slider.value) < Number(slider.step);
    view.until = last ? trial.records : Number(slider.value);
    sayMoment();
    view.changed();
  });
  view.onChange(sayMoment);
  sayMoment();
  fill(timeTarget, element("label", { for: slider.id }, "Harvested"), slider, moment);

  return {
    quantities: quantity.input,
    flipCleaned() {
      view.cleaned = !view.cleaned;
      cleaned.refresh();
      fetch();
      announce(view.cleaned ? "After cleaning." : "Before cleaning: every record as logged.");
    },
    stepPass(by) {
      const numbers = trial.passes.map((each) => each.number);
      if (numbers.length === 0) return;
      const at = view.pass === null ? (by > 0 ? -1 : numbers.length) : numbers.indexOf(view.pass);
      const next = numbers[at + by];
      view.pass = next ?? null;
      pass.refresh();
      view.changed();
      announce(view.pass === null ? "All passes." : `Pass ${view.pass}.`);
    },
  };
}

function passChoice({ number, machine }: Pass, trial: Trial): readonly [string, string] {
  const several = trial.machines.length > 1 && machine !== null ? `, ${trial.machines[machine] ?? ""}` : "";
  return [String(number), `pass ${number}${several}`];
}
