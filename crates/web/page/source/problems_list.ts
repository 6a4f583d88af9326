// What is wrong with drawn strips, each with a button that goes to the strip.

import { element, fill } from "./element";
import { sentence } from "./sentence";
import type { Live } from "./live";
import type { Model } from "./model";

export function problemsList(target: HTMLElement, model: Model, live: Live, showStrip: (key: number) => void): void {
  let shown = "";
  const draw = (): void => {
    const key = JSON.stringify(live.problems);
    if (key === shown) return;
    shown = key;
    target.hidden = live.problems.length === 0;
    fill(
      target,
      element("h3", {}, "Strips to put right"),
      element(
        "ul",
        {},
        ...live.problems.map(({ strip_id, message, hint }) => {
          const strip = model.state.strips.find((each) => each.id === strip_id);
          const go = strip
            ? element(
                "button",
                {
                  type: "button",
                  class: "link",
                  onclick: () => {
                    model.select([strip.key]);
                    showStrip(strip.key);
                  },
                },
                `Go to strip ${strip.id}`,
              )
            : null;
          return element("li", {}, sentence(message), " ", hint ? `${sentence(hint)} ` : "", go);
        }),
      ),
    );
  };
  draw();
  live.onChange(draw);
}
