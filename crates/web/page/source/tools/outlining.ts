// Where a machine was, as strips: the ground its chosen passes cover, from a log of planting or
// spreading. The program does the union; here passes are chosen, on a list and on the map.

import Feature from "ol/Feature";
import LineString from "ol/geom/LineString";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { announce } from "../announcements";
import { element, fill, freshId } from "../element";
import { choiceField, textField } from "../fields";
import * as server from "../server";
import type { AppliedPass } from "../wire";
import { fieldList } from "./brush";
import type { Bench, Tool } from "./tool";

type By = "product" | "rate" | "treatment";

export function outlining(bench: Bench): Tool {
  const { model, view } = bench;
  const { applied } = model.trial;
  let log = applied[0]?.id ?? "";
  let by: By = "treatment";
  let name = bench.brush.treatment;
  let passes: AppliedPass[] = [];
  const chosen = new Set<number>();

  const source = new VectorSource<Feature<LineString>>();
  const layer = new VectorLayer({
    source,
    visible: false,
    style: (feature) =>
      chosen.has(feature.get("pass") as number)
        ? [
            new Style({ stroke: new Stroke({ color: "#fff", width: 7 }) }),
            new Style({ stroke: new Stroke({ color: "#000", width: 3.5 }) }),
          ]
        : new Style({ stroke: new Stroke({ color: "rgba(0, 0, 0, 0.6)", width: 1.5, lineDash: [5, 4] }) }),
  });
  view.map.addLayer(layer);

  const list = element("ul", { class: "pass-list", "aria-label": "Passes to outline" });
  const showPasses = (): void => {
    fill(
      list,
      ...passes.map((pass) => {
        const box = element("input", {
          type: "checkbox",
          id: freshId(),
          onchange: () => {
            if (!chosen.delete(pass.number)) chosen.add(pass.number);
            layer.changed();
          },
        });
        box.checked = chosen.has(pass.number);
        return element("li", { class: "switch" }, box, element("label", { for: box.id }, pass.label));
      }),
    );
    layer.changed();
  };
  const fetchPasses = async (): Promise<void> => {
    passes = [];
    chosen.clear();
    source.clear();
    showPasses();
    if (log === "") return;
    try {
      passes = await server.appliedPasses(log);
    } catch (error) {
      announce((error as Error).message);
      return;
    }
    for (const pass of passes) {
      chosen.add(pass.number);
      if (pass.centre.length > 1) {
        source.addFeature(new Feature({ geometry: new LineString(pass.centre), pass: pass.number }));
      }
    }
    showPasses();
  };
  const choose = (all: boolean): void => {
    chosen.clear();
    if (all) for (const pass of passes) chosen.add(pass.number);
    showPasses();
  };
  const outline = async (): Promise<void> => {
    if (chosen.size === 0) {
      announce("Choose at least one pass.");
      return;
    }
    announce("Outlining …");
    try {
      const found = await server.outline({
        applied: log,
        by,
        ...(chosen.size < passes.length ? { passes: [...chosen].sort((a, b) => a - b) } : {}),
        ...(by === "treatment" && name !== "" ? { name } : {}),
      });
      // Their ids are those of the outline by itself: on the page they get free ones.
      const strips = found.strips.map(({ treatment, block, polygons }) => ({ treatment, block, polygons }));
      if (strips.length > 0) model.add(strips, "Outlined where the machine was");
      const said = found.warnings.map((warning) => (typeof warning === "string" ? warning : warning.message));
      announce([`${found.strips.length} outlined.`, ...said].join(" "));
    } catch (error) {
      announce(error instanceof server.Refusal ? error.words : (error as Error).message);
    }
  };

  const nothing = element("p", {}, "No log of planting or spreading is here. Start with --applied LOG to have one.");
  const nameField = textField(
    "Name of the treatment",
    () => name,
    (text) => (name = text),
    "treatments",
  );
  const byField = choiceField<By>(
    "Strips are told apart by",
    [
      ["treatment", "nothing: one treatment"],
      ["product", "product"],
      ["rate", "rate"],
    ],
    () => by,
    (chosenBy) => {
      by = chosenBy;
      nameField.row.hidden = by !== "treatment";
    },
  );
  const logField = choiceField(
    "Log",
    applied.map((each) => [each.id, `${each.file} (${each.operation})`] as const),
    () => log,
    (id) => {
      log = id;
      offerBy();
      void fetchPasses();
    },
  );
  for (const { row } of [logField, byField]) row.classList.add("stacked");
  // Only what the log records.
  const offerBy = (): void => {
    const offered = applied.find(({ id }) => id === log)?.by ?? ["treatment"];
    for (const option of byField.input.options) option.hidden = !offered.includes(option.value as By);
    if (!offered.includes(by)) by = offered[0] ?? "treatment";
    byField.refresh();
    nameField.row.hidden = by !== "treatment";
  };
  offerBy();
  const options =
    applied.length === 0
      ? nothing
      : fieldList(
          [logField, byField, nameField],
          element(
            "div",
            { class: "buttons" },
            element("button", { type: "button", onclick: () => choose(true) }, "All passes"),
            element("button", { type: "button", onclick: () => choose(false) }, "No pass"),
          ),
          list,
          element("button", { type: "button", class: "main", onclick: () => void outline() }, "Outline as strips"),
        );
  return {
    name: "outline",
    title: "Outline machine",
    key: "o",
    help: "Choose the passes of a planter, spreader or roller: the ground they cover becomes strips.",
    options,
    start() {
      layer.setVisible(true);
      if (passes.length === 0) void fetchPasses();
    },
    stop() {
      layer.setVisible(false);
    },
  };
}
