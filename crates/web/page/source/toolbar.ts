// The row of tools: one is in use at a time, its options and a line of help stand below.

import { announce } from "./announcements";
import { element, fill } from "./element";
import type { Tool } from "./tools/tool";

export interface Toolbar {
  choose(name: string): void;
  current(): Tool;
}

export function toolbar(
  target: HTMLElement,
  optionsTarget: HTMLElement,
  snaps: HTMLElement,
  tools: readonly Tool[],
): Toolbar {
  let current = tools[0]!;
  const buttons = new Map(
    tools.map((tool) => [
      tool,
      element(
        "button",
        {
          type: "button",
          "aria-pressed": "false",
          "aria-keyshortcuts": tool.key,
          title: `${tool.title} (key ${tool.key.toUpperCase()})`,
          "data-tool": tool.name,
          onclick: () => choose(tool.name),
        },
        tool.title,
        element("kbd", { "aria-hidden": "true" }, tool.key.toUpperCase()),
      ),
    ]),
  );
  fill(target, ...buttons.values());
  const show = (): void => {
    for (const [tool, button] of buttons) button.setAttribute("aria-pressed", String(tool === current));
    snaps.hidden = !current.snaps;
    fill(
      optionsTarget,
      element("h3", {}, current.title),
      element("p", { class: "fine" }, current.help),
      current.options ?? null,
    );
  };
  const choose = (name: string): void => {
    const wanted = tools.find((tool) => tool.name === name);
    if (!wanted || wanted === current) return;
    current.stop();
    current = wanted;
    show();
    current.start();
    announce(`${current.title}. ${current.help}`);
  };
  show();
  current.start();
  return { choose, current: () => current };
}
