// What the page saves, byte for byte, against what the program writes for the
// command that the page shows.

import {execFileSync} from "node:child_process";
import {
  copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync,
} from "node:fs";
import {basename, dirname, join} from "node:path";
import {
  check, finish, folder, program, writeBoard,
} from "./tools.mjs";
import {
  command, openSounds, openWorkbench, saveAll, set,
} from "./workbench.mjs";

const recordings = "/usr/share/games/bzflag";
const forms = ["pieces", "whole-file", "loop-points"];
const rates = ["9", "14"];

// None named, two that are built in, and one that is dropped: of other channels,
// containers, rates, encodings and forms.
const dropped = writeBoard(
  "wide", {"sample-rate": "48000", "encoding": "24", "repeat": "three-files"});
const boards = ["", "wav-44k-stereo", "raw-8k-8bit", dropped];

// With it every recording in every form at every rate for every board.
const isWhole = Boolean(process.env.VOLLEYWEAVE_ALL_BYTES);
const ONE_OF = 17;

/** What the program makes in a folder of its own: {files, err}. */
function runShown(shown, sound) {
  const own = join(folder, "own");
  mkdirSync(own);
  copyFileSync(sound, join(own, basename(sound)));
  copyFileSync(join(folder, dropped), join(own, dropped));
  // All but the list by which the program knows its own files again.
  const written = () => execFileSync("find", [".", "-type", "f", "!", "-name",
    ".*", "-printf", "%P\\n"], {cwd: own, encoding: "utf8"}).split("\n").filter(Boolean);
  const before = written();
  let err = "";
  try {
    execFileSync("sh", ["-c", `PATH=${dirname(program)}:$PATH; ${shown}`],
      {cwd: own, stdio: "pipe"});
  } catch (error) {
    err = String(error.stderr);
  }
  const files = Object.fromEntries(written()
    .filter((name) => !before.includes(name))
    .map((name) => [name, readFileSync(join(own, name))]));
  rmSync(own, {recursive: true});
  return {files, err};
}

const inOneLine = (text) => text.trim().replaceAll(/\s+/g, " ");

let nMade = 0;
let nSame = 0;
let nRefused = 0;

/** Compare what is set now; the program refuses what the page refuses. */
async function compare(page, sound) {
  const shown = await command(page);
  const wanted = runShown(shown, sound);
  const refusal = page.locator("#bench-error");
  if (wanted.err && !Object.keys(wanted.files).length) {
    const said = await refusal.textContent();
    check(await refusal.isVisible() && said &&
      inOneLine(wanted.err).includes(inOneLine(said)),
    `${shown}: the page says ${said}, the program ${wanted.err}`);
    nRefused += 1;
    return;
  }
  if (await refusal.isVisible()) {
    check(false, `${shown}: the page says ${await refusal.textContent()}`);
    return;
  }
  nMade += 1;
  const got = await saveAll(page);
  const names = Object.keys(wanted.files).sort().join(" ");
  check(Object.keys(got).sort().join(" ") === names,
    `${shown}: ${Object.keys(got)} for ${names}`);
  const others = Object.keys(got).filter((name) =>
    !wanted.files[name]?.equals(Buffer.from(got[name])));
  nSame += others.length ? 0 : 1;
  check(others.length === 0, `${shown}: other bytes in ${others}`);
}

const page = await openWorkbench();
await page.locator("#open-files").setInputFiles(join(folder, dropped));
await page.locator("#board option", {hasText: dropped})
  .waitFor({state: "attached"});

let n = 0;
for (const file of readdirSync(recordings).filter((one) =>
  one.endsWith(".wav"))) {
  const sound = join(recordings, file);
  const cases = boards.flatMap((board) => forms.flatMap((form) =>
    rates.map((rate) => ({board, "set-form": form, "set-fire-rate": rate}))))
    .filter(() => isWhole || n++ % ONE_OF === 0);
  if (cases.length) {
    await openSounds(page, sound);
  }
  for (const values of cases) {
    await set(page, values);
    await compare(page, sound);
  }
}
console.log(
  `${nMade} made, ${nSame} with the same bytes; ${nRefused} refused alike`);
await page.context().close();
await finish();
