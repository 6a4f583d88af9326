// The answer as the program gives it: in words, then gain, odds and net for each treatment, what was
// before the last change, and the warnings. Every figure is the program's.

import { byId, element, fill } from "./element";
import type { Live } from "./live";
import {
  eitherYield,
  figure,
  moneyPerArea,
  onUnits,
  areaWord,
  signed,
  unitSystem,
  UNKNOWN,
  yieldDecimals,
  yieldUnit,
} from "./units";
import type { Compared, Comparison, Payoff } from "./wire";

export function resultPanel(target: HTMLElement, live: Live): void {
  const state = element("p", { class: "state" });
  // Spoken once there is an answer; "working it out" on every change would only interrupt.
  const spoken = byId("spoken-result");
  const answer = element("div", { class: "answer" });
  const figures = element("div", {});
  const warnings = element("div", { class: "warnings" });
  fill(target, element("h2", {}, "Result"), state, answer, figures, warnings);
  const draw = (): void => {
    const { compared, before, refusal, busy } = live;
    state.textContent = busy
      ? "Working it out …"
      : refusal
        ? "No answer for the strips as they stand."
        : "Up to date with what is drawn.";
    target.setAttribute("aria-busy", String(busy));
    target.classList.toggle("stale", busy || !!refusal);
    if (refusal && !busy) {
      fill(answer, element("p", { class: "refusal" }, refusal.words));
      fill(figures);
      fill(warnings);
      spoken.textContent = refusal.words;
      return;
    }
    if (!compared) return;
    if (!busy) spoken.textContent = headlines(compared).map(inShort).join(" ");
    fill(answer, ...(compared.answer?.[unitSystem()] ?? []).map((paragraph) => element("p", {}, paragraph)));
    fill(figures, ...headlines(compared).map((comparison) => card(comparison, compared, before)));
    const said = compared.results.warnings;
    fill(
      warnings,
      said.length === 0 ? null : element("h3", {}, said.length === 1 ? "1 warning" : `${said.length} warnings`),
      said.length === 0 ? null : element("ul", {}, ...said.map((warning) => element("li", {}, warning.message))),
    );
  };
  draw();
  live.onChange(draw);
  onUnits(draw);
}

/** The first comparison of each treatment is its headline. */
function headlines({ results }: Compared): Comparison[] {
  return results.comparisons.filter(
    (comparison, place) => results.comparisons.findIndex((other) => other.treatment === comparison.treatment) === place,
  );
}

const gain = (comparison: Comparison): number | null =>
  eitherYield(comparison.advantage_kg_ha, comparison.advantage_bu_ac);

const inShort = (comparison: Comparison): string =>
  `${comparison.treatment} against ${comparison.check}: ${signed(gain(comparison), yieldDecimals())} ${yieldUnit()}.`;

function range(from: string, to: string): string {
  return from === UNKNOWN && to === UNKNOWN ? UNKNOWN : `${from} to ${to}`;
}

function card(comparison: Comparison, compared: Compared, before: Compared | null): HTMLElement {
  const payoff = compared.results.payoff.find((each) => each.treatment === comparison.treatment);
  const earlier = before && headlines(before).find((each) => each.treatment === comparison.treatment);
  const decimals = yieldDecimals();
  const interval = eitherYield(comparison.interval_95_kg_ha, comparison.interval_95_bu_ac ?? null) ?? [null, null];
  const entries: [name: string, value: string, more?: string][] = [
    ["Gain", `${signed(gain(comparison), decimals)} ${yieldUnit()}`, changeFrom(comparison, earlier ?? null)],
    ["95 % interval", withUnit(range(signed(interval[0], decimals), signed(interval[1], decimals)), yieldUnit())],
    ...(payoff ? money(payoff) : []),
    ["Blocks", String(comparison.blocks)],
  ];
  return element(
    "section",
    { class: "card", "aria-label": `${comparison.treatment} against ${comparison.check}` },
    element("h3", {}, `${comparison.treatment} against ${comparison.check}`),
    element(
      "dl",
      {},
      ...entries.flatMap(([name, value, more]) => [
        element("dt", {}, name),
        element(
          "dd",
          {},
          element("span", { class: "value" }, value),
          more ? element("span", { class: "fine" }, ` ${more}`) : null,
        ),
      ]),
    ),
  );
}

const withUnit = (value: string, unit: string): string => (value === UNKNOWN ? value : `${value} ${unit}`);

function changeFrom(now: Comparison, earlier: Comparison | null): string {
  if (!earlier) return "";
  const [was, is] = [signed(gain(earlier), yieldDecimals()), signed(gain(now), yieldDecimals())];
  return was === is ? "" : `was ${was} before the last change`;
}

function money(payoff: Payoff): [string, string][] {
  const [low, high] = payoff.net_interval_95_per_ac ?? [null, null];
  const odds = payoff.odds_it_pays;
  return [
    ["Odds it pays", odds === null || odds === undefined ? UNKNOWN : `${figure(odds * 100, 1)} in 100`],
    [`Net per ${areaWord()}`, moneyPerArea(payoff.net_per_ac)],
    ["its 95 % interval", range(moneyPerArea(low), moneyPerArea(high))],
    [`Cost per ${areaWord()}`, moneyPerArea(payoff.cost_per_ac)],
  ];
}
