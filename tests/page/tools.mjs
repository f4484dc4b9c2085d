// A folder of its own, the program, a browser, and checks that go on.

import {execFileSync} from "node:child_process";
import {
  existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync,
} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join, resolve} from "node:path";
import {chromium} from "playwright-core";

export const program = resolve(process.argv[2]);
export const take = resolve(process.argv[3]);
export const folder = mkdtempSync(join(tmpdir(), "volleyweave-page-"));

let failed = 0;
let held = 0;

/** Note whether something holds; print it where it does not. */
export function check(holds, text) {
  held += holds ? 1 : 0;
  failed += holds ? 0 : 1;
  if (!holds) {
    console.log(`FAILED: ${text}`);
  }
}

const worst = new Map();

/** Check a figure against its most; the worst of each kind is told at the end. */
export function checkMost(value, most, kind, what) {
  worst.set(kind, Math.max(worst.get(kind) ?? -Infinity, value));
  check(value <= most, `${what}: ${kind} ${value}, ${most} at most`);
}

/** Run the program in the folder; returns what it printed. */
export function run(...words) {
  return execFileSync(program, words, {cwd: folder, encoding: "utf8"});
}

/** Run it, whatever comes of it. */
export function tryToRun(...words) {
  try {
    return {status: 0, out: run(...words)};
  } catch (error) {
    return {status: error.status, out: error.stdout, err: error.stderr};
  }
}

/** Write a board of its own: that of 22.05 kHz, with other keys. */
export function writeBoard(name, keys) {
  let text = run("boards", "wav-22k-mono");
  for (const [key, value] of Object.entries(keys)) {
    const line = new RegExp(`^${key} *=.*$`, "m");
    if (!line.test(text)) {
      throw new Error(`no key ${key}`);
    }
    text = text.replace(line, `${key} = ${value}`);
  }
  writeFileSync(join(folder, `${name}.board.ini`), text);
  return `${name}.board.ini`;
}

// Debian's, and Ubuntu's, which is a snap.
const browsers = ["/usr/bin/chromium", "/snap/bin/chromium"];
const executablePath = process.env.CHROMIUM ?? browsers.find(existsSync);
if (!executablePath) {
  console.log(`Skipped: no browser at ${browsers.join(" or ")}.`);
  process.exit(77);
}
const browser = await chromium.launch({
  executablePath,
  args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
});

/** What runs in every page before its own script: values on their way out. */
function packing() {
  globalThis.packFloats = (values) => {
    const bytes = new Uint8Array(Float32Array.from(values).buffer);
    const parts = [];
    for (let i = 0; i < bytes.length; i += 8192) {
      parts.push(String.fromCharCode(...bytes.subarray(i, i + 8192)));
    }
    return btoa(parts.join(""));
  };
}

/** Values that came out of a page so. */
export function unpackFloats(text) {
  const bytes = Buffer.from(text, "base64");
  return Float64Array.from(
    {length: bytes.length / 4}, (_, i) => bytes.readFloatLE(4 * i));
}

/**
 * Open a page, and note what must not be: errors, and requests beyond it.
 *
 * @param before What runs in it before its own script, with its arguments.
 */
export async function open(file, options = {}, before = null) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  page.on("pageerror", (error) => check(false, `${file}: ${error.stack}`));
  page.on("console", (message) =>
    check(message.type() !== "error", `${file}: ${message.text()}`));
  page.on("dialog", (dialog) => {
    check(false, `${file}: a dialog: ${dialog.message()}`);
    dialog.dismiss();
  });
  page.on("request", (request) => {
    const own = /^(file|data|blob):/.test(request.url());
    check(own, `${file}: asks for ${request.url()}`);
  });
  await page.addInitScript(packing);
  if (before) {
    await page.addInitScript(before);
  }
  await page.goto(`file://${resolve(folder, file)}`);
  return page;
}

const axe = readFileSync(
  createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** No violation of what axe-core knows of WCAG A and AA. */
export async function checkAxeIn(page, what) {
  await page.evaluate(axe);
  const {violations, passes} = await page.evaluate(() => axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa",
      "best-practice"]}));
  for (const {id, nodes} of violations) {
    check(false, `${what}: ${id}: ${nodes[0].html}`);
  }
  check(passes.length > 20, `${what}: ${passes.length} rules held`);
}

/** Say how it went, and end. */
export async function finish() {
  await browser.close();
  rmSync(folder, {recursive: true});
  worst.forEach((value, kind) => console.log(`${kind}: ${value} at worst`));
  console.log(`${held} checks held, ${failed} failed`);
  process.exitCode = failed || !held ? 1 : 0;
}
