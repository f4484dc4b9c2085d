// The page of a pack: its sounds against what the program rehearses with the
// pack's files, and how large and how quick it is.

import {execSync} from "node:child_process";
import {copyFileSync, mkdirSync, readdirSync, statSync, writeFileSync}
  from "node:fs";
import {join} from "node:path";
import {errorDb, isAsLong, readWav} from "./signal.mjs";
import {
  check, checkAxe, checkMost, finish, folder, open, run, take, tryToRun, unpackFloats,
  writeBoard,
} from "./tools.mjs";

const inFolder = (...names) => join(folder, ...names);

copyFileSync(take, inFolder("zap.wav"));
writeFileSync(inFolder("prop.ini"), `[prop]
name = Fog <b>knapper</b>
[sound zap]
take = zap.wav
make = shot
[sound zaps]
take = zap.wav
make = loop
fire-rate = 9/s
[sound three]
take = zap.wav
make = burst 3
[sound hum]
take = /usr/share/games/bzflag/flag_won.wav
make = loop
`);

// What a board reads that is no WAV file of 16 bits, or plays another way.
const boards = {
  bits24: {encoding: "24", gap: "20ms"},
  float: {encoding: "float", repeat: "three-files", "on-release": "finishes"},
  eight: {encoding: "8"},
  raw: {container: "raw"},
  array: {container: "c-array", "on-release": "finishes"},
  ogg: {container: "ogg"},
  flac: {container: "flac", delay: "12ms"},
  points: {
    "loop-points": "yes", repeat: "loop-points", "on-release": "finishes"},
  track: {channels: "2"},
};

/** What the page plays for a hold of one of its sounds. */
async function render(page, index, key, heldS) {
  return unpackFloats(await page.evaluate(async (asked) => {
    const data = readData();
    const sound = data.sounds[asked.index][asked.key]();
    const buffer = await renderHolds(
      sound, data.boards[0], [asked.heldS], sound.rateHz);
    if (buffer.numberOfChannels !== 1) {
      throw new Error("a lamp's track is heard");
    }
    return packFloats(buffer.getChannelData(0));
  }, {index, key, heldS}));
}

async function checkBoard(name, keys) {
  const board = writeBoard(name, keys);
  const more = name === "track" ? ["--lamp-track"] : [];
  run("pack", "-q", "--board", board, "-o", "out", ...more, "prop.ini");
  copyFileSync(inFolder("out/tryout.html"), inFolder(`${name}.html`));
  const page = await open(`${name}.html`);
  const files = readdirSync(inFolder("out", name));
  for (const [index, sound, part] of [
    [0, "zap", "shot"], [1, "zaps", "loop"], [2, "three", "burst"],
    [3, "hum", "loop"]]) {
    const file = files.find((one) => one.startsWith(`${sound}.${part}.`));
    run("rehearse", `out/${name}/${file}`, "--hold", "0.7s", "--board", board,
      "--bits", "float", "-o", "held.wav", "--force");
    const wanted = readWav(inFolder("held.wav"));
    const key = index ? "rapid" : "single";
    const got = await render(page, index, key, 0.7);
    const db = errorDb(got, wanted.values, 1);
    checkMost(db, -90, "dB off", `${name}, ${sound}`);
    check(isAsLong(got, wanted.values), `${name}, ${sound}: length`);
  }
  await page.context().close();
}

/** Sounds of the same takes share the triggers; names are text. */
async function checkTriggers() {
  const page = await open("bits24.html");
  await page.locator("#table tbody tr").nth(1).locator("button").click();
  const said = await page.locator("#does-single").textContent();
  check(said.startsWith("zap: once"), `the single trigger: ${said}`);
  check(await page.locator("#trigger-single").isEnabled(), "no single trigger");
  check((await page.locator("#about").textContent()).includes("<b>knapper</b>"),
    "the prop's name");
  check(await page.locator("#relay").isHidden(), "sliders for a pack");
  await page.context().close();
}

/** The rate that is measured in the sound is the one that was asked for. */
async function checkRate() {
  const page = await open("bits24.html");
  await page.locator("#table tbody tr").nth(1).locator("button").click();
  await page.locator("#trigger-rapid").focus();
  await page.keyboard.down(" ");
  await page.waitForTimeout(2500);
  const rate = parseFloat(await page.locator("#rate-heard").textContent());
  await page.keyboard.up(" ");
  checkMost(Math.abs(rate - 9), 0.05, "off the fire rate heard", "a pack");
  await page.context().close();
}

/** Two boards, one page: each shows its own. */
async function checkTwoBoards() {
  writeBoard("small", {capacity: "200kB"});
  run("pack", "-q", "--board", "small.board.ini", "--board", "wav-44k-stereo",
    "-o", "two", "prop.ini");
  const page = await open("two/tryout.html");
  const total = page.locator("#total");
  check((await total.textContent()).includes("of 200.0"),
    `the capacity: ${await total.textContent()}`);
  check(await page.locator("#table tbody tr").count() === 4, "rows of one");
  await page.locator("#board").selectOption({label: "wav-44k-stereo"});
  check((await total.textContent()).includes("not known"), "the other's");
  check((await page.locator("#board-name").textContent()) === "wav-44k-stereo",
    "the board on the bench");
  await page.context().close();
  await checkAxe("two/tryout.html", "light");
  await checkAxe("two/tryout.html", "dark");
}

/** Runs in a page: draw every sound, and look whether all can be read. */
function drawAll() {
  const box = (one) => {
    const {left, right, top, bottom} = one.getBoundingClientRect();
    return {left, right, top, bottom, words: one.textContent};
  };
  const frame = box(document.getElementById("picture"));
  const isOut = (a) => a.left < frame.left || a.right > frame.right ||
    a.top < frame.top || a.bottom > frame.bottom;
  const overlap = (a, b) => a.left < b.right && b.left < a.right &&
    a.top < b.bottom && b.top < a.bottom;
  return readData().sounds.map((sound) => {
    bench.choose(sound);
    const marks = Array.from(
      document.querySelectorAll("#picture :is(.gap, .attack)"),
      (one) => ({...box(one), words: one.getAttribute("class")}));
    const texts = Array.from(document.querySelectorAll("#picture text"), box);
    return {
      name: sound.name,
      waveHeight: document.querySelector("#picture .wave").getBBox().height,
      levelWidth: document.querySelector("#picture .level").getBBox().width,
      faults: texts.flatMap((a, i) => [
        ...(isOut(a) ? [`${a.words} is cut off`] : []),
        ...[...texts.slice(0, i), ...marks].filter((b) => overlap(a, b))
          .map((b) => `${a.words} lies on ${b.words}`)]),
    };
  });
}

/** All recordings of the package bzflag-data, as a pack. */
async function checkRecordings() {
  const {status} = tryToRun("pack", "-q", "--board", "wav-22k-mono", "-o",
    "many", "/usr/share/games/bzflag");
  check(status === 0, `the recordings: status ${status}`);
  checkMost(statSync(inFolder("many/tryout.html")).size / 1e6, 15,
    "MB of page", "the recordings");
  const page = await open("many/tryout.html");
  check(await page.locator("#table tbody tr").count() >= 34, "rows");
  const pictures = await page.evaluate(() => readData().sounds.map(
    (sound) => (sound.told.rapid ?? sound.told.single).outline));
  check(pictures.every((one) => Math.max(...one) > 20), "an empty outline");
  const drawn = await page.evaluate(drawAll);
  check(drawn.length === pictures.length, `${drawn.length} pictures`);
  for (const {name, waveHeight, levelWidth, faults} of drawn) {
    check(waveHeight > 8 && levelWidth > 300, `${name}: an empty picture`);
    check(faults.length === 0, `${name}: ${faults}`);
  }
  await page.context().close();
}

/** Runs in a page: what of its sheet cannot be read on paper. */
function cutOff() {
  return Array.from(document.querySelectorAll("#sheet *"))
    .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 ||
      one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0)
    .map((one) => one.outerHTML.slice(0, 80));
}

/** How many pages a PDF of the browser's has. */
function pagesOf(pdf) {
  return pdf.toString("latin1").match(/\/Type \/Page\n/g)?.length ?? 0;
}

/** The sheet of a board of numbers: all of it on one page. */
async function checkSheet() {
  const takes = ["boom", "fire", "laser", "missile", "shock", "thief"];
  const sections = takes.flatMap((name, i) => [
    `[sound ${name}]\ntake = /usr/share/games/bzflag/${name}.wav\n` +
      `make = shot\nslot = ${2 * i + 1}\n`,
    `[sound ${name}-rapid]\ntake = /usr/share/games/bzflag/${name}.wav\n` +
      `make = ${i ? "loop" : "burst 3"}\nfire-rate = ${4 + i}/s\n` +
      `slot = ${2 * i + 2}\n`]);
  writeFileSync(inFolder("lid.ini"),
    "[lamp]\nsupply = 9V\nled = white\nled-current = 150mA\n\n" +
      sections.join(""));
  const board = writeBoard("lid", {digits: 2, sound: "no", parts: "no",
    gap: "25ms", delay: "40ms", "press-min": "60ms", "on-release": "finishes"});
  run("pack", "-q", "--board", board, "-o", "lid", "lid.ini");
  const page = await open("lid/tryout.html",
    {viewport: {width: 703, height: 1032}});
  check(await page.locator("#bench-name").textContent() === "fire-rapid",
    "it does not open with what repeats");
  check((await page.locator("#does-single").textContent()).startsWith("fire:"),
    "the shot of the same take");
  const shown = await page.evaluate(() => readData().sounds.map((sound) =>
    sound.told.rapid?.lampParts ?? null));
  const uneven = await page.evaluate(() => {
    const {sounds, boards} = readData();
    const loop = sounds.find(({told}) =>
      told.rapid?.repeat === "whole-file" &&
      told.rapid.files.main.shots.length > 1);
    const of = (gapMs) => unevenOf(loop, {...boards[0], gapMs});
    return [of(boards[0].gapMs), of(boards[0].gapMs + 60)];
  });
  check(uneven[0] === "" && uneven[1].includes("only a microcontroller"),
    `uneven: ${uneven}`);
  checkLamps(shown, run("lamp", "--json", "--board", board, "lid.ini"));
  await page.emulateMedia({media: "print"});
  const sheet = await page.locator("#sheet").innerText();
  for (const word of ["60 ms do nothing", "with the timer the lamp leads",
    "volleyweave pack --board lid.board.ini lid.ini", "--fire-rate=9/s",
    "ohmmeter", "Battery"]) {
    check(sheet.replaceAll("\u00a0", " ").includes(word), `no ${word}`);
  }
  check(await page.locator("#sheet .entry").count() === 12, "rows of 12");
  const cut = await page.evaluate(cutOff);
  check(cut.length === 0, `cut off on paper: ${cut}`);
  for (const format of ["A4", "Letter"]) {
    checkMost(pagesOf(await page.pdf({format})), 1, "pages", format);
    check(pagesOf(await page.pdf({format})) === 1, `${format}: no page`);
  }
  await page.context().close();
}

/** The page shows the parts that the program finds. */
function checkLamps(shown, lines) {
  const told = lines.trim().split("\n").map((line) => JSON.parse(line));
  const rapid = shown.filter(Boolean);
  check(rapid.length === 6, `${rapid.length} circuits`);
  shown.forEach((parts, i) => {
    const wanted = told[i].timer_with_diode;
    if (parts) {
      check(parts.onMs === wanted.on_ms.middle &&
        parts.ratePerS === wanted.rate_hz.middle &&
        Math.abs(parseFloat(parts.set) * 1000 / wanted.set_ohm - 1) < 0.05 &&
        parseFloat(parts.led) === wanted.led.next_e24_ohm,
      `${told[i].sound}: ${JSON.stringify(parts)}`);
    }
  });
}

/** Three hundred sounds, of which not all find room: all are shown. */
async function checkMany() {
  mkdirSync(inFolder("lots"));
  // Whole takes of 4 s at 22.05 kHz: 235 kB of text each.
  execSync("sox -n -r 22050 -b 16 lots/s0.wav synth 4 pinknoise && for i in " +
    "$(seq 299); do cp lots/s0.wav lots/s$i.wav; done", {cwd: folder});
  const sections = Array.from({length: 300}, (_, i) =>
    `[sound s${i}]\ntake = lots/s${i}.wav\nmake = whole\n`);
  writeFileSync(inFolder("lots.ini"), sections.join(""));
  run("pack", "-q", "--board", "wav-22k-mono", "-o", "lot", "lots.ini");
  const size = statSync(inFolder("lot/tryout.html")).size / 1e6;
  checkMost(size, 70, "MB of page", "three hundred sounds");
  const page = await open("lot/tryout.html");
  check(await page.locator("#table tbody tr").count() === 300, "rows");
  const total = await page.locator("#total").textContent();
  check(/\d+ are listed but not in this page/.test(total), total);
  await page.locator("#table tbody tr").last().locator("button").click();
  check(await page.locator("#bench-error").isVisible(), "no reason is told");
  check(await page.locator("#trigger-single").isDisabled(), "a silent trigger");
  await page.context().close();
}

for (const [name, keys] of Object.entries(boards)) {
  await checkBoard(name, keys);
}
await checkTriggers();
await checkRate();
await checkTwoBoards();
await checkSheet();
await checkRecordings();
await checkMany();
await finish();
