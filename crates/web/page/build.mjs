// Bundles the page into a folder: index.html, page.js, page.css, favicon.svg, and THIRD-PARTY.txt with
// the licences of what is bundled. The same sources give the same bytes.
//
//   node build.mjs FOLDER

import { build } from "esbuild";
import { copyFile, mkdir, readFile, readdir, writeFile } from "node:fs/promises";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const folder = process.argv[2];
if (!folder) {
  console.error("expected a folder to build into: node build.mjs FOLDER");
  process.exit(2);
}
const out = resolve(folder);
await mkdir(out, { recursive: true });

const shared = {
  bundle: true,
  minify: true,
  charset: "utf8",
  legalComments: "none",
  absWorkingDir: here,
  metafile: true,
};
const script = await build({
  ...shared,
  entryPoints: ["source/main.ts"],
  outfile: join(out, "page.js"),
  format: "iife",
  target: "es2022",
});
await build({ ...shared, entryPoints: ["source/page.css"], outfile: join(out, "page.css"), target: "chrome110" });
for (const name of ["index.html", "favicon.svg"]) await copyFile(join(here, "static", name), join(out, name));

// Packages that ended up in the bundle, with their licences. The stylesheet's one package is among them.
const packages = new Set();
for (const input of Object.keys(script.metafile.inputs)) {
  const found = /^node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(input);
  // A file that leaves no byte behind is not bundled.
  const bytes = Object.values(script.metafile.outputs)[0].inputs[input]?.bytesInOutput ?? 0;
  if (found && bytes > 0) packages.add(found[1]);
}
const notices = [];
for (const name of [...packages].sort()) {
  const place = join(here, "node_modules", name);
  const { version, license } = JSON.parse(await readFile(join(place, "package.json"), "utf8"));
  const file = (await readdir(place)).sort().find((each) => /^licen[cs]e/i.test(each));
  if (!file) throw new Error(`${name} ${version} (${license}) comes without a licence file`);
  const text = (await readFile(join(place, file), "utf8")).replaceAll("\r\n", "\n").trim();
  notices.push(`${name} ${version} (${license})\n${"-".repeat(72)}\n${text}\n`);
}
await writeFile(
  join(out, "THIRD-PARTY.txt"),
  `Packages bundled into page.js and page.css, with their licences.\n\n${notices.join("\n\n")}`,
);
