// Saving strips to the trial's own file, and writing the report: with what is done when somebody else
// saved in between.

import { announce } from "./announcements";
import { askAboutConflict } from "./conflict";
import { byId, element, fill } from "./element";
import { question } from "./live";
import type { Model } from "./model";
import { sentence } from "./sentence";
import * as server from "./server";
import { unitSystem } from "./units";

export interface Saving {
  save(): Promise<boolean>;
  report(): Promise<void>;
}

export function saving(model: Model): Saving {
  const saveButton = byId<HTMLButtonElement>("save");
  const reportButton = byId<HTMLButtonElement>("report");
  const state = byId("saved-state");
  const link = byId("report-link");
  let working = false;

  const draw = (): void => {
    const { unsaved } = model;
    state.textContent = unsaved ? "Not saved" : "Saved";
    state.classList.toggle("unsaved", unsaved);
    document.title = `${unsaved ? "• " : ""}${model.trial.field.name} – strips`;
    saveButton.disabled = working || !unsaved;
    reportButton.disabled = working;
  };
  draw();
  model.onChange(draw);
  window.addEventListener("beforeunload", (event) => {
    if (model.unsaved) event.preventDefault();
  });

  /** Words of a refusal, said and left standing. */
  const say = (error: unknown): void => {
    if (!(error instanceof server.Refusal)) throw error;
    announce(error.words);
  };

  const send = async (): Promise<boolean> => {
    const sent = model.state;
    const { page: _, ...plan } = question(model);
    const saved = await server.save(plan);
    model.saved(sent, saved.strips);
    const kept = [saved.kept_as, saved.trial_kept_as].filter((name) => !!name).join(" and ");
    announce(`Saved to ${saved.file}.${kept === "" ? "" : ` The earlier version is kept as ${kept}.`}`);
    return true;
  };

  const settle = async (conflict: NonNullable<server.Refusal["conflict"]>): Promise<boolean> => {
    const theirs = conflict.strips;
    const mine = model.plainStrips();
    const choice = await askAboutConflict(sentence(conflict.message), mine, theirs.strips, model.stripsOnDisk());
    if (choice.what === "later") {
      announce("Not saved. Your strips are still on this page.");
      return false;
    }
    if (choice.what === "take") {
      model.takeOver(theirs, "Took the strips of the file");
      announce("The strips of the file are shown. Ctrl+Z brings back those of this page.");
      return true;
    }
    if (JSON.stringify(choice.strips) !== JSON.stringify(mine))
      model.putInPlace(choice.strips, "Strips of both put together");
    model.restOnFile(theirs);
    return saveOnce();
  };

  const saveOnce = async (): Promise<boolean> => {
    try {
      return await send();
    } catch (error) {
      if (error instanceof server.Refusal && error.conflict) return settle(error.conflict);
      say(error);
      return false;
    }
  };

  const busy = async <T>(work: () => Promise<T>): Promise<T> => {
    working = true;
    draw();
    try {
      return await work();
    } finally {
      working = false;
      draw();
    }
  };

  const save = (): Promise<boolean> => {
    if (!model.unsaved) {
      announce("There is nothing to save.");
      return Promise.resolve(true);
    }
    return busy(saveOnce);
  };

  const report = async (): Promise<void> => {
    if (model.unsaved && !(await save())) return;
    await busy(async () => {
      announce("Writing the report …");
      const { base_revision, check, inset_m, settings, money } = question(model);
      try {
        const written = await server.report({ base_revision, check, inset_m, settings, money, units: unitSystem() });
        fill(link, element("a", { href: written.report, target: "_blank", rel: "noopener" }, "Open the report"));
        announce(`The report is written to ${written.folder}.`);
      } catch (error) {
        if (error instanceof server.Refusal && error.conflict) await settle(error.conflict);
        else say(error);
      }
    });
  };

  saveButton.addEventListener("click", () => void save());
  reportButton.addEventListener("click", () => void report());
  return { save, report };
}
