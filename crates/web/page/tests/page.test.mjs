// The page in a real browser over the real program: what a grower does on it, by pointer and by keys.

import assert from "node:assert/strict";
import { readFile, readdir } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { after, before, test } from "node:test";
import {
  last,
  nextPicture,
  pictureWhen,
  onMap,
  opened,
  picture,
  run,
  served,
  settled,
  startBrowser,
  stopBrowser,
  stripNames,
} from "./farm.mjs";

before(startBrowser);
after(stopBrowser);

const field = (page, label) => page.getByLabel(label, { exact: true });
const tool = (page, name) => page.locator(`[data-tool="${name}"]`).click();
const announced = (page) => page.locator("#announcement").textContent();

/** Ground of a strip that travelled to the program, in square metres. */
const ground = (strip) =>
  strip.polygons.reduce((sum, [ring]) => {
    let twice = 0;
    for (let at = 1; at < ring.length; at++) twice += ring[at - 1][0] * ring[at][1] - ring[at][0] * ring[at - 1][1];
    return sum + Math.abs(twice / 2);
  }, 0);

const easts = (strip) => strip.polygons[0][0].map(([east]) => east);

async function fill(page, label, value) {
  await field(page, label).fill(String(value));
  await field(page, label).press("Enter");
}

/** Draws a strip along a line with two clicks. */
async function drawAlong(page, from, to) {
  await tool(page, "strip");
  await page.mouse.click(...(await onMap(page, ...from)));
  await page.mouse.move(...(await onMap(page, ...to)), { steps: 4 });
  await page.mouse.click(...(await onMap(page, ...to)));
}

test("opens with the field on the map", async (t) => {
  const { address } = await served(t);
  const { page } = await opened(t, address);
  const shown = await picture(page);
  assert.ok(shown.colours > 20, `only ${shown.colours} colours`);
  assert.ok(shown.share > 0.05, `only ${shown.share} of the map is painted`);
  assert.equal(await page.locator("#saved-state").textContent(), "Saved");
  assert.equal((await stripNames(page)).length, 6);
  assert.match(await page.locator("#result .answer").textContent(), /Rolled strips yielded/);
});

test("colours by every quantity, before and after cleaning, one pass, part of the harvest", async (t) => {
  const { address } = await served(t);
  const { page } = await opened(t, address);
  const quantities = await field(page, "Colour by").locator("option").allTextContents();
  for (const wanted of [/yield/i, /moisture/i, /speed/i, /flow/i, /elevation/i]) {
    assert.ok(
      quantities.some((title) => wanted.test(title)),
      `${wanted} is not among ${quantities}`,
    );
  }
  const pictures = new Set();
  let shown = { hash: NaN };
  for (const title of quantities) {
    await field(page, "Colour by").selectOption({ label: title });
    shown = await nextPicture(page, shown);
    assert.ok(shown.share > 0.05, `${title}: only ${shown.share} painted`);
    pictures.add(shown.hash);
    assert.ok((await page.locator("#legend .legend-title").textContent()).length > 3);
  }
  // What is the same in all records, such as the width, looks like any other such.
  const { quantities: told } = await (await page.request.get(`${address}api/trial`)).json();
  const varied = told.filter(
    ({ title, kind, low, high }) => quantities.includes(title) && (kind === "status" || low < high),
  );
  assert.ok(pictures.size >= varied.length, "two quantities look the same");

  await field(page, "Colour by").selectOption({ index: 0 });
  const cleaned = await nextPicture(page, shown);
  await field(page, "Cleaning").selectOption("before");
  const logged = await nextPicture(page, cleaned);
  assert.notEqual(logged.hash, cleaned.hash);
  await field(page, "Pass").selectOption({ index: 3 });
  const onePass = await nextPicture(page, logged);
  assert.notEqual(onePass.hash, logged.hash);
  await field(page, "Pass").selectOption({ index: 0 });
  await nextPicture(page, onePass);
  await field(page, "Harvested").fill("1000");
  const half = await pictureWhen(page, ({ share }) => share < logged.share / 2);
  assert.ok(half.share < logged.share / 2, "less than half of the harvest is not less than half of the map");
  assert.match(await page.locator("#time output").textContent(), /until/);
});

test("reads out the record under the pointer", async (t) => {
  const { address } = await served(t);
  const { page } = await opened(t, address);
  await page.mouse.move(...(await onMap(page, 0.3, 0.5)), { steps: 3 });
  const seen = [];
  for (let across = 0.1; across < 0.9; across += 0.02) {
    await page.mouse.move(...(await onMap(page, across, 0.45)));
    seen.push(await page.locator("#read-out").textContent());
  }
  assert.ok(
    seen.some((text) => /bu\/ac.*pass \d+/.test(text)),
    seen.join("\n"),
  );
});

test("draws a strip by two clicks, repeats it with a gap, and the answer follows", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const before = (await stripNames(page)).length;
  await tool(page, "strip");
  await fill(page, "Treatment", "rolled");
  await fill(page, "Width of a strip", 40);
  await fill(page, "Strips side by side", 3);
  await fill(page, "Gap between them", 10);
  await fill(page, "Every second one is", "check");
  await fill(page, "Block (may be empty)", 7);
  for (const kind of ["passes", "header edges", "strips"]) await field(page, kind).uncheck();
  await drawAlong(page, [0.3, 0.8], [0.3, 0.3]);
  await settled(page);
  const names = await stripNames(page);
  assert.equal(names.length, before + 3);
  const { question, answer } = last(asked.compare);
  const [first, second, third] = question.strips.slice(before);
  assert.deepEqual(
    [first, second, third].map((strip) => strip.treatment),
    ["rolled", "check", "rolled"],
  );
  assert.deepEqual(
    [first, second, third].map((strip) => strip.block),
    ["7", "7", "8"],
  );
  // 40 ft wide, and 10 ft from one to the next, in metres.
  const width = Math.max(...easts(first)) - Math.min(...easts(first));
  assert.ok(Math.abs(width - 40 * 0.3048) < 0.01, `${width} m wide`);
  const gap = Math.min(...easts(second)) - Math.max(...easts(first));
  assert.ok(Math.abs(gap - 10 * 0.3048) < 0.01, `${gap} m apart`);
  assert.equal(answer.results.strips.length, before + 3);
  assert.match(await page.locator("#saved-state").textContent(), /Not saved/);
});

test("snaps to a pass, draws a polygon, and takes a corner back", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const edges = await (await page.request.get(`${address}api/edges`)).json();
  await fill(page, "Kept clear inside each edge", 0);
  await drawAlong(page, [0.3, 0.7], [0.3, 0.4]);
  await settled(page);
  const strip = last(last(asked.compare).question.strips);
  const middle = (Math.max(...easts(strip)) + Math.min(...easts(strip))) / 2;
  const lines = edges.passes
    .flatMap((pass) => [pass.centre, pass.left, pass.right])
    .flatMap((line) => line.map(([east]) => east));
  assert.ok(
    lines.some((east) => Math.abs(east - middle) < 1),
    `${middle} m is on no pass`,
  );

  await tool(page, "polygon");
  for (const place of [
    [0.1, 0.2],
    [0.2, 0.2],
    [0.2, 0.3],
    [0.1, 0.3],
  ]) {
    await page.mouse.move(...(await onMap(page, ...place)), { steps: 2 });
    await page.mouse.click(...(await onMap(page, ...place)));
    await page.waitForTimeout(320);
  }
  await page.locator("#map").focus();
  await page.keyboard.press("Backspace");
  await page.keyboard.press("Enter");
  await settled(page);
  const drawn = last(last(asked.compare).question.strips);
  assert.equal(drawn.polygons[0][0].length, 4, "three corners and the first again");
});

test("moves, turns, splits, copies, shapes, undoes and redoes", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const strips = () => last(asked.compare).question.strips;
  const begun = strips();
  await page.locator("table.strips .choose").first().click();

  await tool(page, "move");
  await fill(page, "Across, to its right", 33);
  await page.getByRole("button", { name: "Move by these" }).click();
  await settled(page);
  const [was, is] = [begun[0], strips()[0]].map((strip) => strip.polygons[0][0][0]);
  assert.ok(Math.abs(Math.hypot(is[0] - was[0], is[1] - was[1]) - 33 * 0.3048) < 0.01);

  await tool(page, "turn");
  const direction = () => field(page, "Direction").inputValue();
  const turnedFrom = Number(await direction());
  await fill(page, "Turn clockwise by", 5);
  await page.locator("#tool-options").getByRole("button", { name: "Turn", exact: true }).click();
  const turnedTo = Number(await direction());
  assert.ok(Math.abs(((turnedTo - turnedFrom + 180) % 180) - 5) < 0.02, `${turnedFrom} to ${turnedTo}`);

  await tool(page, "split");
  await page.getByRole("button", { name: "Split into equal parts" }).click();
  await settled(page);
  assert.equal(strips().length, begun.length + 1);
  const halves = strips().filter((strip) => strip.id === begun[0].id || strip.id.startsWith(`${begun[0].id}-`));
  assert.ok(Math.abs(ground(halves[0]) + ground(halves[1]) - ground(begun[0])) < 0.5, "ground was lost");
  assert.ok(Math.abs(ground(halves[0]) - ground(halves[1])) < 0.5, "the halves differ");

  await tool(page, "copy");
  await fill(page, "Copies", 2);
  await page.locator("#tool-options").getByRole("button", { name: "Copy", exact: true }).click();
  await settled(page);
  assert.equal(strips().length, begun.length + 1 + 4, "two halves, copied twice");

  for (let step = 0; step < 4; step++) await page.getByRole("button", { name: "Undo" }).click();
  await settled(page);
  assert.deepEqual(strips(), begun);
  assert.equal(await page.locator("#saved-state").textContent(), "Saved");
  await page.locator("#map").focus();
  for (let step = 0; step < 4; step++) await page.keyboard.press("Control+Shift+Z");
  await settled(page);
  assert.equal(strips().length, begun.length + 5);
  for (let step = 0; step < 4; step++) await page.keyboard.press("Control+z");
  await settled(page);
  assert.deepEqual(strips(), begun);
});

test("a strip is dragged, cut by a line, and its corner is dragged", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const strips = () => last(asked.compare).question.strips;
  await tool(page, "strip");
  for (const kind of ["passes", "header edges", "strips"]) await field(page, kind).uncheck();
  await tool(page, "numbers");
  await fill(page, "Begins east", 0);
  await fill(page, "Begins north", -150);
  await fill(page, "Direction, clockwise from north", 0);
  await fill(page, "Length", 300);
  await fill(page, "Width of a strip", 60);
  await page.getByRole("button", { name: "Add strip" }).click();
  // Alone on the map, with its middle in the middle.
  await page.locator("#map").focus();
  await page.keyboard.press("z");
  await page.waitForTimeout(400);
  await settled(page);
  const drawn = strips();
  const alone = last(drawn);

  await tool(page, "move");
  const [gripX, gripY] = await grip(page);
  await page.mouse.move(gripX, gripY);
  await page.mouse.down();
  await page.mouse.move(gripX + 30, gripY, { steps: 6 });
  await page.mouse.up();
  await settled(page);
  assert.ok(easts(last(strips()))[0] > easts(alone)[0] + 1, "it did not go east");
  assert.ok(Math.abs(ground(last(strips())) - ground(alone)) < 0.2, "it changed its size");

  await tool(page, "split");
  const [cutX, cutY] = await grip(page);
  await page.mouse.click(cutX - 150, cutY);
  await page.mouse.move(cutX + 150, cutY, { steps: 4 });
  await page.mouse.click(cutX + 150, cutY);
  await settled(page);
  assert.equal(strips().length, drawn.length + 1, await announced(page));

  await page.keyboard.press("Control+z");
  await tool(page, "corners");
  await page.waitForTimeout(300);
  const corner = await corners(page);
  await page.mouse.move(...corner);
  await page.mouse.down();
  await page.mouse.move(corner[0] - 40, corner[1], { steps: 6 });
  await page.mouse.up();
  await settled(page);
  assert.match(await announced(page), /Corners of strip .* changed/);
  assert.notEqual(Math.round(ground(last(strips()))), Math.round(ground(alone)));
});

/** Where the selected strip is on the screen: middle of its outline, found by its white and black edge. */
async function outlined(page) {
  return page.evaluate(() => {
    const canvases = [...document.querySelectorAll("#map canvas")];
    const frame = document.querySelector("#map").getBoundingClientRect();
    let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
    for (const canvas of canvases) {
      if (canvas.closest(".records")) continue;
      const scale = canvas.width / frame.width;
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      for (let y = 0; y < canvas.height; y++) {
        let black = 0;
        for (let x = 0; x < canvas.width; x++) {
          const at = 4 * (y * canvas.width + x);
          // Only the outline of what is selected is fully black.
          black = data[at] === 0 && data[at + 1] === 0 && data[at + 2] === 0 && data[at + 3] === 255 ? black + 1 : 0;
          if (black < 2) continue;
          left = Math.min(left, x / scale);
          right = Math.max(right, x / scale);
          top = Math.min(top, y / scale);
          bottom = Math.max(bottom, y / scale);
        }
      }
    }
    return { left: left + frame.left, right: right + frame.left, top: top + frame.top, bottom: bottom + frame.top };
  });
}

async function grip(page) {
  const { left, right, top, bottom } = await outlined(page);
  return [(left + right) / 2, (top + bottom) / 2];
}

/** The upper left corner of the selected strip, in the middle of its outline. */
async function corners(page) {
  const { left, top } = await outlined(page);
  return [left + 3, top + 3];
}

test("everything by keyboard: select, rename, add, draw on the map", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const strips = () => last(asked.compare).question.strips;
  const before = strips().length;
  // From the top of the page to the table, as somebody does who uses no pointer.
  await page.keyboard.press("Tab");
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "To the table of strips");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("aria-pressed")), "false");
  await page.keyboard.press("Enter");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("aria-pressed")), "true");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Control+a");
  await page.keyboard.type("rolled twice");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Control+a");
  await page.keyboard.type("9");
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(strips()[0].treatment, "rolled twice");
  assert.equal(strips()[0].block, "9");

  // Width and a corner by number.
  await field(page, "Width").focus();
  await page.keyboard.press("Control+a");
  await page.keyboard.type("50");
  await page.keyboard.press("Enter");
  await page.locator("#strip-editor summary").focus();
  await page.keyboard.press("Enter");
  await page.getByLabel(/^East of corner 1,/).focus();
  await page.keyboard.press("Control+a");
  await page.keyboard.type("-200");
  await page.keyboard.press("Enter");
  await settled(page);
  assert.ok(Math.abs(strips()[0].polygons[0][0][0][0] + 200 * 0.3048) < 0.002, JSON.stringify(strips()[0]));
  assert.equal(
    await page.evaluate(() => document.activeElement.getAttribute("aria-label").split(",")[0]),
    "East of corner 1",
  );

  // A strip drawn at the cross in the middle of the map.
  await page.locator("#show-keys").focus();
  await page.keyboard.press("s");
  await page.keyboard.press("g");
  await page.keyboard.press(" ");
  await page.keyboard.press("ArrowUp");
  await page.waitForTimeout(400);
  await page.keyboard.press(" ");
  await settled(page);
  assert.equal(strips().length, before + 1, await announced(page));
  // Nudged by an arrow key, ten feet north.
  await page.keyboard.press("m");
  const north = last(strips()).polygons[0][0][0][1];
  await page.keyboard.press("Shift+ArrowUp");
  await settled(page);
  assert.ok(Math.abs(last(strips()).polygons[0][0][0][1] - north - 3.048) < 0.002);
  await page.keyboard.press("Delete");
  await settled(page);
  assert.equal(strips().length, before);

  // A polygon, one corner too many taken back.
  await page.locator("#map").focus();
  await page.keyboard.press("p");
  for (const key of ["ArrowRight", "ArrowUp", "ArrowLeft", "ArrowLeft"]) {
    await page.keyboard.press(" ");
    await page.keyboard.press(key);
    await page.waitForTimeout(300);
  }
  await page.keyboard.press("Backspace");
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(strips().length, before + 1, await announced(page));
  assert.equal(last(strips()).polygons[0][0].length, 4, "three corners and the first again");

  await page.keyboard.press("?");
  assert.ok(await page.locator("#keys").isVisible());
  await page.keyboard.press("Escape");
  assert.ok(!(await page.locator("#keys").isVisible()));
});

test("a cleaning setting is changed and its effect is shown", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const kept = () => last(asked.clean).answer.kept;
  const first = kept();
  const firstAnswer = last(asked.compare).answer.results.comparisons[0].advantage_kg_ha;
  await page.locator("#cleaning summary").click();
  const start = page
    .locator("#cleaning .setting")
    .filter({ hasText: /start of a pass/i })
    .locator("input");
  await start.fill("20");
  await start.press("Enter");
  await settled(page);
  assert.ok(kept() < first, `${kept()} of ${first} are kept`);
  const row = page.locator("#cleaning table tr").filter({ hasText: /^kept/ });
  const cells = await row.locator("td").allTextContents();
  assert.equal(cells[0].replaceAll(",", ""), String(kept()));
  assert.equal(cells[1].replaceAll(",", ""), `−${first - kept()}`);
  assert.notEqual(last(asked.compare).answer.results.comparisons[0].advantage_kg_ha, firstAnswer);
  // What was removed, by reason, on the map and in the legend.
  const yields = await picture(page);
  await field(page, "Colour by").selectOption("status");
  const all = await nextPicture(page, yields);
  const reasons = await page.locator("#legend .reasons label").allTextContents();
  const removed = last(asked.clean).answer.removed.pass_start;
  assert.ok(
    reasons.some((text) => text.replaceAll(",", "").includes(String(removed))),
    reasons.join("; "),
  );
  await page.locator("#legend .reasons input").nth(1).uncheck();
  assert.notEqual((await nextPicture(page, all)).hash, all.hash);
});

test("saves, keeps the earlier version, and has the strips after reloading", async (t) => {
  const { address, folder } = await served(t);
  const { page, asked } = await opened(t, address);
  const earlier = await readFile(join(folder, "strips.geojson"), "utf8");
  await drawAlong(page, [0.3, 0.8], [0.3, 0.3]);
  await settled(page);
  const drawn = last(last(asked.compare).question.strips);
  await page.keyboard.press("Control+s");
  await page.waitForFunction(() => document.querySelector("#saved-state").textContent === "Saved");
  const saved = JSON.parse(await readFile(join(folder, "strips.geojson"), "utf8"));
  assert.equal(saved.features.length, 7);
  const others = (await readdir(folder, { recursive: true })).filter(
    (name) => /strips.*geojson/.test(name) && name !== "strips.geojson",
  );
  const texts = await Promise.all(others.map((name) => readFile(join(folder, name), "utf8")));
  assert.ok(texts.includes(earlier), `the earlier version is not among ${others}`);
  await page.reload();
  await page.waitForSelector("html[data-ready]");
  assert.equal((await stripNames(page)).length, 7);
  const read = last(last(asked.compare).question.strips);
  assert.equal(read.treatment, drawn.treatment);
  // A file may begin its ring elsewhere, or run it the other way.
  for (const corner of drawn.polygons[0][0]) {
    const nearest = Math.min(
      ...read.polygons[0][0].map(([east, north]) => Math.hypot(east - corner[0], north - corner[1])),
    );
    assert.ok(nearest < 0.001, `${corner} is ${nearest} m off`);
  }
});

test("two pages do not write over each other", async (t) => {
  const { address, folder } = await served(t);
  const [one, other] = [await opened(t, address), await opened(t, address)];
  const name = async ({ page }, row, treatment) => {
    const input = page.locator("table.strips .treatment input").nth(row);
    await input.fill(treatment);
    await input.press("Enter");
  };
  await name(one, 0, "rolled early");
  await name(other, 1, "rolled late");
  await one.page.locator("#save").click();
  await one.page.waitForFunction(() => document.querySelector("#saved-state").textContent === "Saved");
  await other.page.locator("#save").click();
  const dialog = other.page.locator("dialog.conflict");
  await dialog.waitFor();
  assert.match(await dialog.textContent(), /have changed/);
  assert.match(await dialog.textContent(), /rolled early/);
  assert.match(await dialog.textContent(), /rolled late/);
  // Later: nothing is lost on either side.
  await dialog.getByRole("button", { name: "Decide later" }).click();
  assert.match(await other.page.locator("#saved-state").textContent(), /Not saved/);
  const onDisk = async () =>
    JSON.parse(await readFile(join(folder, "strips.geojson"), "utf8")).features.map(
      (each) => each.properties.treatment,
    );
  assert.equal((await onDisk())[0], "rolled early");
  // What each changed is what is kept: both.
  await other.page.locator("#save").click();
  await dialog.getByRole("button", { name: "Save what is chosen above" }).click();
  await other.page.waitForFunction(() => document.querySelector("#saved-state").textContent === "Saved");
  assert.deepEqual((await onDisk()).slice(0, 2), ["rolled early", "rolled late"]);
  // The first page, now behind, takes what is in the file.
  await name(one, 2, "nothing");
  await one.page.locator("#save").click();
  await one.page.locator("dialog.conflict").getByRole("button", { name: "Take all of the file’s" }).click();
  assert.equal(await one.page.locator("table.strips .treatment input").nth(1).inputValue(), "rolled late");
  assert.equal(await one.page.locator("#saved-state").textContent(), "Saved");
  // And keeps its own over the file's, by one undo and one choice.
  await one.page.locator("#undo").click();
  const mine = await one.page
    .locator("table.strips .treatment input")
    .evaluateAll((inputs) => inputs.map((input) => input.value));
  assert.deepEqual(mine.slice(0, 3), ["rolled early", "check", "nothing"]);
  await name(other, 3, "other");
  await other.page.locator("#save").click();
  await other.page.waitForFunction(() => document.querySelector("#saved-state").textContent === "Saved");
  await one.page.locator("#save").click();
  await one.page.locator("dialog.conflict").getByRole("button", { name: "Keep all of this page’s" }).click();
  await one.page.waitForFunction(() => document.querySelector("#saved-state").textContent === "Saved");
  assert.deepEqual(await onDisk(), mine);
});

test("page, report and checkstrip compare agree to the last digit", async (t) => {
  const { address, folder } = await served(t);
  const { page, asked, context } = await opened(t, address);
  run(folder, "compare", "trial.toml", "--out", "compared");
  const compared = JSON.parse(await readFile(join(folder, "compared", "results.json"), "utf8"));
  assert.deepEqual(last(asked.compare).answer.results, compared);
  const gain = compared.comparisons[0].advantage_bu_ac;
  assert.equal(
    await page.locator("#result .card .value").first().textContent(),
    `${gain < 0 ? "−" : "+"}${Math.abs(gain).toFixed(1)} bu/ac`,
  );

  // The same after strips, settings and prices were changed, which are saved on the way to the report.
  const input = page.locator("table.strips input.short").first();
  await input.fill("2");
  await input.press("Enter");
  await fill(page, "Price of the crop, $ a bushel", 9.35);
  await fill(page, "Kept clear inside each edge", 4);
  await page.locator("#cleaning summary").click();
  const start = page
    .locator("#cleaning .setting")
    .filter({ hasText: /start of a pass/i })
    .locator("input");
  await start.fill("6");
  await start.press("Enter");
  await settled(page);
  const live = last(asked.compare).answer.results;
  await page.locator("#report").click();
  const link = page.locator("#report-link a");
  await link.waitFor();
  const [report] = await Promise.all([context.waitForEvent("page"), link.click()]);
  await report.waitForLoadState();
  assert.match(await report.textContent("body"), /Rolled strips yielded|Rolled ground yielded|cannot be compared/);
  const folders = (await readdir(folder, { recursive: true })).filter(
    (name) => /results\.json$/.test(name) && !name.startsWith("compared"),
  );
  assert.equal(folders.length, 1, folders.join());
  const written = JSON.parse(await readFile(join(folder, folders[0]), "utf8"));
  run(folder, "compare", "trial.toml", "--out", "again");
  const again = JSON.parse(await readFile(join(folder, "again", "results.json"), "utf8"));
  assert.deepEqual(written, again);
  assert.deepEqual(live.comparisons, again.comparisons);
  assert.deepEqual(live.strips, again.strips);
  assert.deepEqual(live.payoff, again.payoff);
  const html = (name) => readFile(join(folder, name, "report.html"), "utf8");
  assert.equal(await html(folders[0].replace(/[/\\]results\.json$/, "")), await html("again"));
});

test("prices are changed and the net follows", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  const net = () => last(asked.compare).answer.results.payoff[0].net_per_ac;
  const first = net();
  await fill(page, "Price of the crop, $ a bushel", 20);
  await settled(page);
  const gain = last(asked.compare).answer.results.comparisons[0].advantage_bu_ac;
  assert.ok(Math.abs(net() - first - gain * (20 - 10.4)) < 1e-9);
});

test("a background is laid under the records", async (t) => {
  const { address } = await served(t, "--background", "strips.geojson");
  const { page } = await opened(t, address);
  const [answer] = await Promise.all([
    page.waitForResponse((response) => response.url().includes("/api/background/")),
    page.locator("#backgrounds input[type=checkbox]").check(),
  ]);
  assert.ok((await answer.json()).lines.length > 0);
  const opaque = await picture(page);
  await field(page, "Strength of the records, %").fill("40");
  assert.notEqual((await nextPicture(page, opaque)).hash, opaque.hash);
});

test("units are switched", async (t) => {
  const { address } = await served(t);
  const { page, asked } = await opened(t, address);
  await field(page, "Units").selectOption("si");
  const { results } = last(asked.compare).answer;
  const gain = results.comparisons[0].advantage_kg_ha;
  assert.equal(
    await page.locator("#result .card .value").first().textContent(),
    `${gain < 0 ? "−" : "+"}${Math.abs(gain).toFixed(0)} kg/ha`,
  );
  assert.match(await page.locator("#legend .legend-title").textContent(), /kg\/ha/);
  assert.match(await page.locator("table.strips thead").textContent(), /ha.*kg\/ha/);
  assert.match(await page.locator(".ol-scale-line").textContent(), /\d m$/);
  await tool(page, "strip");
  const width = Number(await field(page, "Width of a strip").inputValue());
  assert.ok(Math.abs(width - 9.144) < 0.01, `${width} m`);
});

test("outlines where a machine was", async (t) => {
  const { address } = await served(t, "--applied", "roller.csv");
  const { page, asked } = await opened(t, address);
  await tool(page, "outline");
  await page.locator(".pass-list input").first().waitFor();
  const passes = await page.locator(".pass-list input").count();
  assert.ok(passes >= 2, `${passes} passes`);
  await page.getByRole("button", { name: "No pass" }).click();
  await page.locator(".pass-list input").first().check();
  await fill(page, "Name of the treatment", "driven");
  await page.getByRole("button", { name: "Outline as strips" }).click();
  await page.waitForFunction(() => /outlined/.test(document.querySelector("#announcement").textContent));
  await settled(page);
  const driven = last(asked.compare).question.strips.filter((strip) => strip.treatment === "driven");
  assert.equal(driven.length, 1, await announced(page));
  assert.ok(ground(driven[0]) > 100);
});

test("a strip that crosses itself is named, and the program gone is said", async (t) => {
  const { address, server } = await served(t);
  const { page } = await opened(t, address, { goneIsFine: true });
  await page.locator("table.strips .choose").first().click();
  await page.locator("#strip-editor summary").click();
  const [one, two] = [page.getByLabel(/^(East|North) of corner 1,/), page.getByLabel(/^(East|North) of corner 2,/)];
  const values = await Promise.all([
    one.nth(0).inputValue(),
    one.nth(1).inputValue(),
    two.nth(0).inputValue(),
    two.nth(1).inputValue(),
  ]);
  // Corners one and two change places: two sides cross.
  for (const [cells, axis, value] of [
    [one, 0, values[2]],
    [one, 1, values[3]],
    [two, 0, values[0]],
    [two, 1, values[1]],
  ]) {
    await cells.nth(axis).fill(value);
    await cells.nth(axis).press("Enter");
  }
  await settled(page);
  assert.ok(await page.locator("#problems").isVisible());
  assert.ok((await page.locator("#problems li").first().textContent()).length > 10);
  server.kill();
  await new Promise((gone) => server.once("exit", gone));
  await page.getByRole("button", { name: "Undo" }).click();
  await page.waitForSelector("#result .refusal");
  assert.match(await page.locator("#result .refusal").textContent(), /does not answer/);
});

for (const [width, height, touch] of [
  [1280, 800, false],
  [1024, 768, true],
  [768, 1024, true],
]) {
  test(`fits ${width} by ${height}, readable in both themes`, async (t) => {
    const { address } = await served(t);
    const { page } = await opened(t, address, { width, height, touch });
    const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
    const fits = async () =>
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "it scrolls sideways");
    // The file is put in past the page's own policy, which lets no other script in.
    const script = await readFile(axe, "utf8");
    const readable = async (where) => {
      await page.evaluate(script);
      const { violations } = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
      const serious = violations.filter(({ impact }) => impact === "serious" || impact === "critical");
      assert.deepEqual(
        serious.map(({ id, nodes }) => `${where}: ${id}: ${nodes.map((node) => node.html).join(" ")}`),
        [],
      );
    };
    const large = async () => {
      const small = await page.evaluate(() =>
        [...document.querySelectorAll("button, select, input:not([type=checkbox]):not([type=range])")]
          .filter((each) => each.checkVisibility() && !each.closest(".skip"))
          .map((each) => [each.getBoundingClientRect(), each.id || each.textContent || each.getAttribute("aria-label")])
          .filter(([box]) => box.height < 43.5)
          .map(([box, name]) => `${name}: ${box.height}`),
      );
      assert.deepEqual(small, []);
    };
    for (const theme of ["usual", "sunlight"]) {
      await field(page, "Theme").selectOption(theme);
      await fits();
      await readable(theme);
      for (const panel of ["Strips", "Result"]) {
        const button = page.locator(".panel-buttons").getByRole("button", { name: panel });
        if (!(await button.isVisible())) continue;
        await button.click();
        await fits();
        await large();
        await readable(`${theme}, ${panel}`);
        await button.click();
      }
    }
    await field(page, "Theme").selectOption("usual");
    if (width > 1100) {
      await page.locator("table.strips .choose").first().click();
      await page.locator("#strip-editor summary").click();
      await page.locator("#cleaning summary").click();
      await page.locator("#money summary").first().click();
      await field(page, "Colour by").selectOption("status");
      for (const name of ["strip", "polygon", "numbers", "move", "turn", "split", "copy", "outline"]) {
        await tool(page, name);
        await readable(name);
      }
      await page.locator("#show-keys").click();
      await readable("keys");
    }
  });
}
