// Where the page begins: fetches the trial, makes the model and its views, and ties keys to what they
// do.

import { announce } from "./announcements";
import { backgroundsPanel } from "./backgrounds_panel";
import { cleaningPanel } from "./cleaning_panel";
import { display } from "./display";
import { byId, element, fill } from "./element";
import { switchField } from "./fields";
import { keyboard } from "./keyboard";
import { legend } from "./legend";
import { Live } from "./live";
import { PLANE, mapView } from "./map_view";
import { Model } from "./model";
import { moneyPanel } from "./money_panel";
import { problemsList } from "./problems_list";
import { readOut } from "./read_out";
import { recordControls } from "./record_controls";
import { RecordView } from "./record_view";
import { Records } from "./records";
import { recordsLayer } from "./records_layer";
import { resultPanel } from "./result_panel";
import { saving } from "./saving";
import * as server from "./server";
import { SNAP_KINDS, snapping } from "./snapping";
import { removeSelected, stripEditor } from "./strip_editor";
import { stripsLayer } from "./strips_layer";
import { stripsTable } from "./strips_table";
import { toolbar } from "./toolbar";
import { addingByNumbers } from "./tools/adding_by_numbers";
import { Brush } from "./tools/brush";
import { copying } from "./tools/copying";
import { drawingPolygons } from "./tools/drawing_polygons";
import { drawingStrips } from "./tools/drawing_strips";
import { moving } from "./tools/moving";
import { outlining } from "./tools/outlining";
import { selecting } from "./tools/selecting";
import { shaping } from "./tools/shaping";
import { splitting } from "./tools/splitting";
import type { Bench } from "./tools/tool";
import { turning } from "./tools/turning";
import { trialFields } from "./trial_fields";
import { figure } from "./units";

async function begin(): Promise<void> {
  const trial = await server.trial();
  byId("field-name").textContent = trial.field.name;
  byId("strips-file").textContent = trial.strips.file;
  const shown = display(trial.units);

  const model = new Model(trial);
  const records = new Records(trial);
  const view = new RecordView(trial, records);
  const live = new Live(model, view);

  const strips = stripsLayer(model);
  const snaps = snapping(model, strips);
  const recordPicture = recordsLayer(view, PLANE);
  const target = byId("map");
  const map = mapView(target, trial.extent, [recordPicture, snaps.guides, strips.layer]);
  const bench: Bench = { model, view: map, strips, snapping: snaps, brush: new Brush(model) };

  const tools = [
    selecting,
    drawingStrips,
    drawingPolygons,
    addingByNumbers,
    moving,
    shaping,
    turning,
    splitting,
    copying,
    outlining,
  ].map((make) => make(bench));
  const bar = toolbar(byId("tools"), byId("tool-options"), byId("snaps"), tools);
  fill(
    byId("snaps"),
    element("legend", {}, "Snap to"),
    ...SNAP_KINDS.map(
      (kind) =>
        switchField(
          kind,
          () => snaps.on[kind],
          (on) => {
            snaps.on[kind] = on;
            snaps.refresh();
          },
        ).row,
    ),
  );
  const showStrip = (key: number): void => {
    const extent = strips.feature(key)?.getGeometry()?.getExtent();
    if (extent) map.show(extent);
  };
  trialFields(byId("trial-fields"), byId("treatments"), model);
  problemsList(byId("problems"), model, live, showStrip);
  stripsTable(byId("strips"), model, live);
  stripEditor(byId("strip-editor"), model);
  resultPanel(byId("result"), live);
  cleaningPanel(byId("cleaning"), model, live);
  moneyPanel(byId("money"), model);
  backgroundsPanel(byId("backgrounds"), map, recordPicture, trial);
  legend(byId("legend"), view, model);
  const controls = recordControls(byId("record-controls"), byId("time"), view, trial);
  const reading = readOut(byId("read-out"), map, view, trial);
  const files = saving(model);

  const undo = (): void => {
    const words = model.undo();
    announce(words === null ? "Nothing to undo." : `Undone: ${words}.`);
  };
  const redo = (): void => {
    const words = model.redo();
    announce(words === null ? "Nothing to redo." : `Done again: ${words}.`);
  };
  const [undoButton, redoButton] = [byId<HTMLButtonElement>("undo"), byId<HTMLButtonElement>("redo")];
  undoButton.addEventListener("click", undo);
  redoButton.addEventListener("click", redo);
  const drawHistory = (): void => {
    undoButton.disabled = !model.canUndo;
    redoButton.disabled = !model.canRedo;
  };
  drawHistory();
  model.onChange(drawHistory);
  byId("whole-field").addEventListener("click", map.showAll);

  const { showKeys } = keyboard([
    ...tools.map(({ key, title, name }) => ({
      key,
      does: title,
      about: "strips" as const,
      run: () => bar.choose(name),
    })),
    { key: "Delete", does: "delete the selected strips", about: "strips", run: () => removeSelected(model) },
    { key: "Ctrl+z", does: "undo", about: "strips", run: undo },
    { key: "Ctrl+Shift+z", does: "redo", about: "strips", run: redo },
    { key: "Ctrl+y", does: "redo", about: "strips", run: redo },
    {
      key: "Ctrl+a",
      does: "select all strips",
      about: "strips",
      run: () => model.select(model.state.strips.map((strip) => strip.key)),
    },
    { key: "Ctrl+s", does: "save the strips", about: "strips", run: () => void files.save() },
    { key: "Ctrl+Enter", does: "save, and write the report", about: "strips", run: () => void files.report() },
    { key: "g", does: "go to the map", about: "page", run: () => target.focus() },
    { key: "w", does: "say what is under the cross", about: "page", run: reading.sayMiddle },
    { key: "f", does: "show the whole field", about: "page", run: map.showAll },
    {
      key: "z",
      does: "bring the selected strip into view",
      about: "page",
      run: () => {
        const [first] = model.selected;
        if (first !== undefined) showStrip(first);
      },
    },
    { key: "q", does: "choose what records are coloured by", about: "page", run: () => controls.quantities.focus() },
    { key: "b", does: "before or after cleaning", about: "page", run: controls.flipCleaned },
    { key: ",", does: "the pass before", about: "page", run: () => controls.stepPass(-1) },
    { key: ".", does: "the next pass", about: "page", run: () => controls.stepPass(1) },
    { key: "u", does: "other units", about: "page", run: shown.flipUnits },
    { key: "t", does: "theme for sunlight, or the usual one", about: "page", run: shown.flipTheme },
  ]);
  byId("show-keys").addEventListener("click", showKeys);
  // Before the map's own keys: a tool that takes a key keeps it from moving the map.
  target.addEventListener(
    "keydown",
    (event) => {
      if (event.target !== target || event.ctrlKey || event.metaKey || event.altKey) return;
      if (!bar.current().press?.(event)) return;
      event.preventDefault();
      event.stopPropagation();
    },
    { capture: true },
  );

  // The field is there to look at while its comparison is still being worked out.
  const answered = live.ask();
  await records.load(trial.cleaning);
  await view.fetch();
  snaps.setEdges(await server.edges());
  await answered;
  announce(`${figure(trial.records, 0)} records and ${model.state.strips.length} strips are here.`);
  document.documentElement.dataset.ready = "true";
}

function failed(error: unknown): void {
  announce(error instanceof server.Refusal ? error.words : (error as Error).message);
  // For whoever looks into it; the grower has the words above.
  console.error(error);
}

window.addEventListener("unhandledrejection", (event) => failed(event.reason));
begin().catch(failed);
