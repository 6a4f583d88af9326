// Labelled inputs, as the panels use them. Lengths are held in metres and shown in the unit of the
// switch; what is typed takes effect on Enter or when the field is left.

import { element, freshId, setValue } from "./element";
import { lengthUnit, metresOf, onUnits, shownLength, typed } from "./units";

export interface Field<I extends HTMLElement = HTMLInputElement> {
  row: HTMLElement;
  input: I;
  /** Shows the present value again. */
  refresh(): void;
}

function labelled<I extends HTMLElement>(words: string | Node, input: I, unit?: Node): HTMLElement {
  input.id ||= freshId();
  return element(
    "div",
    { class: "field" },
    element("label", { for: input.id }, words),
    element("span", { class: "with-unit" }, input, unit),
  );
}

export interface NumberOptions {
  value(): number | null;
  changed(value: number): void;
  least?: number;
  most?: number;
  whole?: boolean;
  unit?: () => string;
  decimals?: number;
  /** What the field says when it is empty. */
  placeholder?: () => string;
  /** What happens when it is emptied; absent: the old value comes back. */
  emptied?(): void;
}

/** Takes over a number when it is one and within limits; otherwise says so beside the field. */
export function numberField(words: string, options: NumberOptions): Field {
  const input = element("input", {
    type: "number",
    step: options.whole ? 1 : "any",
    min: options.least,
    max: options.most,
    inputmode: options.whole ? "numeric" : "decimal",
  });
  const unit = element("span", { class: "unit" });
  const row = labelled(words, input, unit);
  const refresh = (): void => {
    unit.textContent = options.unit?.() ?? "";
    input.placeholder = options.placeholder?.() ?? "";
    const value = options.value();
    setValue(input, value === null ? "" : typed(value, options.decimals ?? 3));
    input.removeAttribute("aria-invalid");
  };
  input.addEventListener("change", () => {
    const value = input.valueAsNumber;
    const { least = -Infinity, most = Infinity } = options;
    if (input.value.trim() === "" && options.emptied && !input.validity.badInput) {
      options.emptied();
      return;
    }
    if (!Number.isFinite(value) || value < least || value > most || (options.whole && !Number.isInteger(value))) {
      input.setAttribute("aria-invalid", "true");
      input.setCustomValidity(limits(least, most, options.whole ?? false));
      input.reportValidity();
      input.setCustomValidity("");
      return;
    }
    input.removeAttribute("aria-invalid");
    options.changed(value);
  });
  refresh();
  return { row, input, refresh };
}

function limits(least: number, most: number, whole: boolean): string {
  const kind = whole ? "a whole number" : "a number";
  if (Number.isFinite(least) && Number.isFinite(most)) return `Write ${kind} from ${least} to ${most}.`;
  if (Number.isFinite(least)) return `Write ${kind} of at least ${least}.`;
  return `Write ${kind}.`;
}

export interface LengthOptions {
  valueM(): number;
  changed(metres: number): void;
  /** In the unit that is shown. */
  least?: number;
}

export function lengthField(words: string, { valueM, changed, least }: LengthOptions): Field {
  const field = numberField(words, {
    value: () => shownLength(valueM()),
    changed: (value) => {
      const metres = metresOf(value);
      // What is shown is rounded: leaving the field as it was changes nothing.
      if (typed(value, 2) !== typed(shownLength(valueM()), 2)) changed(metres);
    },
    // A floor against slips of the pen: the same number in either unit.
    ...(least === undefined ? {} : { least }),
    unit: lengthUnit,
    decimals: 2,
  });
  onUnits(field.refresh);
  return field;
}

export function textField(words: string, value: () => string, changed: (text: string) => void, list?: string): Field {
  const input = element("input", { type: "text", list, autocomplete: "off", spellcheck: "false" });
  input.addEventListener("change", () => changed(input.value.trim()));
  const refresh = (): void => setValue(input, value());
  refresh();
  return { row: labelled(words, input), input, refresh };
}

export function choiceField<T extends string>(
  words: string,
  choices: readonly (readonly [value: T, shown: string])[],
  value: () => T,
  changed: (value: T) => void,
): Field<HTMLSelectElement> {
  const input = element("select", {});
  for (const [of, shown] of choices) input.append(element("option", { value: of }, shown));
  input.addEventListener("change", () => changed(input.value as T));
  const refresh = (): void => setValue(input, value());
  refresh();
  return { row: labelled(words, input), input, refresh };
}

export function switchField(words: string | Node, value: () => boolean, changed: (on: boolean) => void): Field {
  const input = element("input", { type: "checkbox" });
  input.id = freshId();
  input.addEventListener("change", () => changed(input.checked));
  const refresh = (): void => {
    input.checked = value();
  };
  refresh();
  const row = element("div", { class: "switch" }, input, element("label", { for: input.id }, words));
  return { row, input, refresh };
}
