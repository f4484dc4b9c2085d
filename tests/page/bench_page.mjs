// How long a page takes until it can be used: that of the recordings of the
// package bzflag-data, and one of a thousand sounds.
//
// Wanted of the first: under 1 s from opening it to the end of its script.

import {execSync} from "node:child_process";
import {statSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {check, finish, folder, open, run} from "./tools.mjs";

const RUNS = 5;

/** The middle one of some runs, in ms. */
async function timeToUse(file) {
  const times = [];
  for (let i = 0; i < RUNS; ++i) {
    const page = await open(file);
    times.push(await page.evaluate(() =>
      performance.getEntriesByType("navigation")[0].domInteractive));
    await page.context().close();
  }
  return times.sort((a, b) => a - b)[Math.floor(RUNS / 2)];
}

async function tell(file, what, mostMs) {
  const ms = await timeToUse(file);
  const size = statSync(join(folder, file)).size / 1e6;
  console.log(`${what}: ${size.toFixed(1)} MB, ${ms.toFixed(0)} ms`);
  check(ms < mostMs, `${what}: ${ms} ms`);
}

run("pack", "-q", "--board", "wav-22k-mono", "-o", "real",
  "/usr/share/games/bzflag");
await tell("real/tryout.html", "the recordings", 1000);

const names = Array.from({length: 1000}, (_, i) => `s${i}`);
execSync("sox -n -r 22050 -b 16 s.wav synth 0.5 pinknoise", {cwd: folder});
writeFileSync(join(folder, "many.ini"), names.map((name) =>
  `[sound ${name}]\ntake = s.wav\nmake = whole\n`).join(""));
run("pack", "-q", "--board", "wav-22k-mono", "-o", "many", "many.ini");
await tell("many/tryout.html", "a thousand sounds", Infinity);
await finish();
