// The strips as a table: each a button that selects it, its names to be written over, its ground, and
// the yield that the program found. Rows stay in place while they change, so that typing goes on.

import { announce } from "./announcements";
import { element, fill, setValue } from "./element";
import type { Live } from "./live";
import type { Model, Strip, StripParts } from "./model";
import { area } from "./plane";
import { swatch } from "./treatment_look";
import { areaUnit, areaWord, eitherYield, figure, onUnits, shownArea, yieldDecimals, yieldUnit } from "./units";

interface Row {
  row: HTMLTableRowElement;
  choose: HTMLButtonElement;
  look: HTMLElement;
  treatment: HTMLInputElement;
  block: HTMLInputElement;
  area: HTMLElement;
  yielded: HTMLElement;
  drawn: string;
}

export function stripsTable(target: HTMLElement, model: Model, live: Live): void {
  const areaHead = element("th", { scope: "col" });
  const yieldHead = element("th", { scope: "col" });
  const body = element("tbody");
  const empty = element("p", { class: "fine" }, "No strip yet: choose a tool above and draw one.");
  fill(
    target,
    element(
      "table",
      { class: "strips" },
      element("caption", { class: "hidden" }, "Strips"),
      element(
        "thead",
        {},
        element(
          "tr",
          {},
          element("th", { scope: "col" }, "Strip"),
          element("th", { scope: "col" }, "Treatment"),
          element("th", { scope: "col" }, "Block"),
          areaHead,
          yieldHead,
        ),
      ),
      body,
    ),
    empty,
  );
  const rows = new Map<number, Row>();

  const makeRow = (strip: Strip): Row => {
    const { key } = strip;
    const edit = (parts: Partial<StripParts>, words: string): void => {
      model.edit([key], () => parts, words);
      announce(`${words}.`);
    };
    const choose = element("button", {
      type: "button",
      class: "choose",
      onclick: (event: MouseEvent) =>
        event.shiftKey || event.ctrlKey || event.metaKey ? model.toggle(key) : model.select([key]),
    });
    const look = element("span", { class: "look" });
    const treatment = element("input", { type: "text", list: "treatments", autocomplete: "off", spellcheck: "false" });
    treatment.addEventListener("change", () => {
      const name = treatment.value.trim();
      const id = model.strip(key)?.id ?? "";
      if (name === "") {
        treatment.value = model.strip(key)?.treatment ?? "";
        announce("A strip needs the name of a treatment.");
      } else edit({ treatment: name }, `Strip ${id} is ${name}`);
    });
    const block = element("input", { type: "text", class: "short", autocomplete: "off" });
    block.addEventListener("change", () => {
      const id = model.strip(key)?.id ?? "";
      const name = block.value.trim();
      edit(
        { block: name === "" ? null : name },
        name === "" ? `Strip ${id} is in no block` : `Strip ${id} is in block ${name}`,
      );
    });
    const [areaCell, yieldCell] = [element("td", { class: "number" }), element("td", { class: "number" })];
    const row = element(
      "tr",
      {},
      element("th", { scope: "row" }, choose),
      element("td", { class: "treatment" }, look, treatment),
      element("td", {}, block),
      areaCell,
      yieldCell,
    );
    return { row, choose, look, treatment, block, area: areaCell, yielded: yieldCell, drawn: "" };
  };

  const draw = (): void => {
    areaHead.textContent = areaUnit();
    areaHead.title = `Ground, ${areaWord()}s`;
    yieldHead.textContent = yieldUnit();
    yieldHead.title = "Yield of the harvested ground inside the strip";
    const { strips } = model.state;
    empty.hidden = strips.length > 0;
    const names = model.treatments();
    const yields = new Map(live.compared?.results.strips.map((strip) => [strip.strip_id, strip]));
    const there = new Set(strips.map((strip) => strip.key));
    for (const [key, { row }] of rows) {
      if (there.has(key)) continue;
      row.remove();
      rows.delete(key);
    }
    strips.forEach((strip, place) => {
      let row = rows.get(strip.key);
      if (!row) {
        row = makeRow(strip);
        rows.set(strip.key, row);
      }
      if (body.children[place] !== row.row) body.insertBefore(row.row, body.children[place] ?? null);
      const chosen = model.selected.has(strip.key);
      row.row.classList.toggle("chosen", chosen);
      row.choose.textContent = strip.id;
      row.choose.setAttribute("aria-pressed", String(chosen));
      row.choose.setAttribute("aria-label", `Strip ${strip.id}, ${strip.treatment}`);
      row.treatment.setAttribute("aria-label", `Treatment of strip ${strip.id}`);
      row.block.setAttribute("aria-label", `Block of strip ${strip.id}`);
      setValue(row.treatment, strip.treatment);
      setValue(row.block, strip.block ?? "");
      const drawn = `${names.indexOf(strip.treatment)}`;
      if (drawn !== row.drawn) fill(row.look, swatch(names, strip.treatment));
      row.drawn = drawn;
      row.area.textContent = figure(shownArea(area(strip.polygons)), 2);
      const found = yields.get(strip.id);
      row.yielded.textContent = figure(found && eitherYield(found.yield_kg_ha, found.yield_bu_ac), yieldDecimals());
    });
  };
  draw();
  model.onChange(draw);
  live.onChange(draw);
  onUnits(draw);
}
