// A field of its own for each test: a copy of the invented one, the real program serving it, and a
// page open on it that collects every complaint of the browser.

import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { cp, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

/** Where things are; tests/tests/draw_page.rs says it. */
export const BINARY = needed("CHECKSTRIP_BINARY");
const FARM = needed("CHECKSTRIP_FARM");
const CHROMIUM = needed("CHECKSTRIP_CHROMIUM");

function needed(variable) {
  const value = process.env[variable];
  if (!value) throw new Error(`${variable} is unset: these tests are run by cargo test --test draw_page`);
  return value;
}

let browser;
export async function startBrowser() {
  browser = await chromium.launch({
    executablePath: CHROMIUM,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}
export const stopBrowser = () => browser.close();

/** What each page asked the program, and what it was told. */
const questions = new WeakMap();

/** Pages that tests opened: closed before their program ends, so that none asks in vain. */
const pages = new Map();

/** A copy of the field, served. It is gone when the test is over. */
export async function served(test, ...options) {
  const folder = await mkdtemp(join(tmpdir(), "checkstrip-page-"));
  await cp(FARM, folder, { recursive: true });
  const server = spawn(BINARY, ["draw", "trial.toml", "--no-browser", "--json", ...options], { cwd: folder });
  let said = "";
  server.stderr.on("data", (text) => (said += text));
  test.after(async () => {
    for (const close of pages.get(test) ?? []) await close();
    server.kill();
    await rm(folder, { recursive: true, force: true });
  });
  const address = await new Promise((resolve, reject) => {
    let text = "";
    server.stdout.on("data", (part) => {
      text += part;
      const found = /"address":\s*"([^"]+)"/.exec(text);
      if (found) resolve(found[1]);
    });
    server.once("exit", (code) => reject(new Error(`checkstrip draw ended with ${code}: ${said}`)));
  });
  return { folder, address, server };
}

/** Runs the program to its end in a folder. */
export function run(folder, ...words) {
  const ran = spawnSync(BINARY, words, { cwd: folder, encoding: "utf8" });
  assert.equal(ran.status, 0, ran.stderr);
  return ran.stdout;
}

/** A page on an address, ready; complaints of the browser fail the test when it is over. */
export async function opened(test, address, { width = 1280, height = 800, touch = false, goneIsFine = false } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, hasTouch: touch });
  const page = await context.newPage();
  const complaints = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("request", (request) => {
    if (!request.url().startsWith(new URL(address).origin) && !/^(data|blob):/.test(request.url())) {
      complaints.push(`asked ${request.url()}`);
    }
  });
  const asked = { compare: [], clean: [], pending: 0 };
  questions.set(page, asked);
  const kindOf = (request) => {
    const kind = new URL(request.url()).pathname.split("/api/")[1];
    return Array.isArray(asked[kind]) ? kind : null;
  };
  page.on("request", (request) => (asked.pending += kindOf(request) ? 1 : 0));
  page.on("requestfailed", (request) => (asked.pending -= kindOf(request) ? 1 : 0));
  page.on("requestfinished", async (request) => {
    const kind = kindOf(request);
    if (!kind) return;
    const response = await request.response();
    const answer = await response.json().catch(() => null);
    if (response.ok() && answer && !answer.superseded) asked[kind].push({ question: request.postDataJSON(), answer });
    asked.pending -= 1;
  });
  pages.set(test, [...(pages.get(test) ?? []), close]);
  async function close() {
    await context.close();
    // A conflict and a refusal are answered with 409 and 422: the browser reports them, the page copes.
    // Reading the map's pixels is what these tests do, and slow.
    const fine = goneIsFine
      ? /status of (409|422)|willReadFrequently|ERR_CONNECTION_REFUSED/
      : /status of (409|422)|willReadFrequently/;
    assert.deepEqual(
      complaints.filter((text) => !fine.test(text)),
      [],
    );
  }
  await page.goto(address);
  await page.waitForSelector("html[data-ready]");
  await settled(page);
  return { page, asked, complaints, context };
}

/** Waits until the answer belongs to what is drawn. */
export async function settled(page) {
  // The change comes first, then the rest, then the answer.
  await page.waitForTimeout(50);
  await page.waitForSelector('#result[aria-busy="false"]', { state: "attached" });
  while (questions.get(page).pending > 0) await page.waitForTimeout(20);
}

export const last = (list) => list[list.length - 1];

/** Names in the table of strips, as they stand. */
export const stripNames = (page) => page.locator("table.strips .choose").allTextContents();

/** A point of the map, in shares of its width and height. */
export async function onMap(page, across, down) {
  const box = await page.locator("#map").boundingBox();
  return [box.x + box.width * across, box.y + box.height * down];
}

/** What the records' layer shows: how many colours, and a number that differs with the picture. */
export const picture = (page) =>
  page.evaluate(() => {
    const canvas = document.querySelector("#map .records canvas");
    const { data } = canvas
      .getContext("2d", { willReadFrequently: true })
      .getImageData(0, 0, canvas.width, canvas.height);
    const colours = new Set();
    let hash = 0;
    let painted = 0;
    for (let at = 0; at < data.length; at += 4) {
      if (data[at + 3] === 0) continue;
      painted += 1;
      const colour = (data[at] << 16) | (data[at + 1] << 8) | data[at + 2];
      colours.add(colour);
      hash = (hash * 31 + colour + at + data[at + 3]) | 0;
    }
    return { colours: colours.size, hash, share: painted / (data.length / 4) };
  });

/** The picture once it is as wanted; after a while whatever it is, for the test to judge. */
export async function pictureWhen(page, wanted) {
  let shown = await picture(page);
  for (const begun = Date.now(); !wanted(shown) && Date.now() - begun < 3000;) {
    await page.waitForTimeout(100);
    shown = await picture(page);
  }
  return shown;
}

/** The picture once it is another than `before`; two quantities may look alike, so it waits in vain at times. */
export const nextPicture = (page, before) => pictureWhen(page, (shown) => shown.hash !== before.hash);
