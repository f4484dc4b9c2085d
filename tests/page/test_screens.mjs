// The screens Lamp, Check and Gauge, and holds rehearsed: what they show and
// save, against the program's own.

import {copyFileSync, mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {
  check, checkAxeIn, finish, folder, run, take, tryToRun,
} from "./tools.mjs";
import {openSounds, openWorkbench, saved, settle} from "./workbench.mjs";

const BOARD = "wav-22k-mono";
const RATE_HZ = 22050;
const BYTES_OF_HEADER = 44;
const SILENT_FRAMES = 441;

const written = (name) => readFileSync(join(folder, name));

async function show(page, screen) {
  await page.locator("#screens").getByText(screen, {exact: true}).click();
}

/** Type into a field, and wait until what follows from it is shown. */
async function type(page, id, value, event) {
  await page.evaluate(([asked, text, name]) => new Promise((resolve, reject) => {
    document.addEventListener(name, resolve, {once: true});
    setTimeout(() => reject(new Error(`${asked}: no ${name}`)), 20_000);
    const input = document.getElementById(asked);
    input.value = text;
    input.dispatchEvent(new Event("change"));
  }), [id, value, event]);
}

/** What is saved of the lamp is what the command shown writes. */
async function checkLampFiles(page, what) {
  const shown = await page.locator("#circuit-command").textContent();
  run(...shown.split(" ").slice(1), "--force");
  for (const name of ["lamp.h", "lamp.svg"]) {
    const bytes = await saved(page, () =>
      page.getByRole("button", {name: `Save ${name}`}).click());
    check(bytes.equals(written(name)), `${what}: ${name} is another`);
  }
}

/** What a row of the lamp's tables says. */
function cellOf(page, name) {
  return page.getByRole("row", {name: `${name} `}).filter(
    {has: page.getByRole("rowheader", {name, exact: true})}).first()
    .getByRole("cell").textContent();
}

async function checkLamp() {
  const page = await openWorkbench();
  await show(page, "Lamp");
  check(await page.locator("#circuit-error").isVisible(), "a lamp of nothing");
  await type(page, "circuit-fire-rate", "9", "lamp-made");
  await type(page, "circuit-supply", "12", "lamp-made");
  await type(page, "circuit-clock", "8MHz", "lamp-made");
  await checkLampFiles(page, "typed");
  const told = JSON.parse(run("lamp", "--json", "--supply=12", "--clock=8MHz",
    "9"));
  const {timer_with_diode: timer, microcontroller, cautions} = told;
  for (const [name, value, unit] of [
    ["C", timer.c_farad * 1e6, " uF"],
    ["resistors", `RA ${timer.ra_ohm / 1e3}`, " kohm"],
    ["resistors", `P, a trimmer of ${timer.trimmer_ohm / 1e3}`, " kohm"],
    ["R", timer.led.next_e24_ohm, " ohm"],
    ["counts", `prescaler ${microcontroller.counts.prescaler}, period ` +
      microcontroller.counts.period_counts, ""],
  ]) {
    const text = await cellOf(page, name);
    check(text.includes(`${value}${unit}`),
      `${name}: ${text}, ${value} is told`);
  }
  const words = await page.locator("#lamp-screen .caution:visible")
    .allTextContents();
  check(Object.values(cautions).every((caution) =>
    words.some((text) => text.includes(caution.slice(1)))), "no cautions");
  await checkAxeIn(page, "lamp");
  await page.keyboard.press("Control+z");
  await page.getByRole("row", {name: "counts with --clock"}).waitFor();
  check(await page.locator("#circuit-clock").inputValue() === "" &&
    await page.locator("#circuit-supply").inputValue() === "12",
  "undone, a field is otherwise");
  await page.locator("#circuit-supply").fill("1");
  await page.locator("#circuit-supply").press("Tab");
  await page.locator("#circuit-error", {hasText: "too low"}).waitFor();
  check(!await page.locator("#circuit-found").isVisible(), "a stale circuit");
  await page.context().close();
}

/** A loop's lamp, and its trigger held, from the files just made. */
async function checkRehearsal() {
  run("loop", "-q", `--board=${BOARD}`, take);
  const page = await openWorkbench();
  await openSounds(page, take);
  await page.locator("#board").selectOption(BOARD);
  await settle(page);
  await page.locator("#rehearsal summary").click();
  for (const options of [[], ["--through-speaker"]]) {
    await page.locator("#rehearse-through-speaker")
      .setChecked(Boolean(options.length));
    await page.locator("#rehearse").click();
    const button = page.locator("#rehearsal-files button").first();
    await button.waitFor();
    const bytes = await saved(page, () => button.click());
    run("rehearse", "-q", "--force", `--board=${BOARD}`,
      "--hold=1.2s,0.3s,0.8s", ...options, "--output=held.wav",
      "volleyweave-out/fog-knapper.loop.wav");
    check(bytes.equals(written("held.wav")), `rehearsed ${options}: another`);
  }
  await checkAxeIn(page, "rehearsed");
  await show(page, "Lamp");
  await page.locator("#circuit img").waitFor();
  await checkLampFiles(page, "of a loop");
  await page.context().close();
}

/** A loop that is good, one that falls silent, and what is no sound. */
function writeFiles() {
  const good = written("volleyweave-out/fog-knapper.loop.wav");
  const bad = Buffer.from(good);
  bad.fill(0, bad.length - 2 * SILENT_FRAMES);
  writeFileSync(join(folder, "good.wav"), good);
  writeFileSync(join(folder, "bad.wav"), bad);
  writeFileSync(join(folder, "none.wav"), "no sound");
  const ms = (good.length - BYTES_OF_HEADER) / 2 / 22.05;
  return [ms - SILENT_FRAMES / 22.05, ms];
}

/** Let go of files over the page, and wait until they were looked at. */
function dropped(page, names, event = "checked") {
  const files = names.map((name) => [name, written(name).toString("base64")]);
  return page.evaluate(([all, name]) => new Promise((resolve, reject) => {
    document.addEventListener(name, resolve, {once: true});
    setTimeout(() => reject(new Error(`nothing is ${name}`)), 60_000);
    const dataTransfer = new DataTransfer();
    for (const [file, text] of all) {
      dataTransfer.items.add(new File([Uint8Array.from(
        atob(text), (letter) => letter.charCodeAt(0))], file));
    }
    document.body.dispatchEvent(new DragEvent(
      "drop", {dataTransfer, bubbles: true, cancelable: true}));
  }), [files, event]);
}

async function checkFiles() {
  const [fromMs, toMs] = writeFiles();
  const page = await openWorkbench();
  await show(page, "Check");
  await dropped(page, ["bad.wav", "good.wav", "none.wav"]);
  check(await page.locator("#list li").count() === 0, "opened as sounds, too");
  const [bad, good, none] = await page.locator(".checked").allInnerTexts();
  const {faults: [{fault}]} = JSON.parse(
    tryToRun("check", "--json", "bad.wav").out);
  const place = bad.match(/([\d.]+)\sms to ([\d.]+)\sms: /) ?? [];
  check(bad.includes(fault) && Math.abs(place[1] - fromMs) < 3 &&
    Math.abs(place[2] - toMs) < 0.06, `at ${fromMs} to ${toMs} ms: ${bad}`);
  check(good.includes("No fault found."), good);
  check(none.includes("no sound can be recognised"), none);
  check(await page.locator(".checked img").count() === 2, "no pictures");
  await page.getByRole("button", {name: "Mend it"}).click();
  const bytes = await saved(page, () =>
    page.getByRole("button", {name: "Save bad.loop.wav"}).click());
  run("mend", "-q", "bad.wav");
  check(bytes.equals(written("volleyweave-out/bad.loop.wav")),
    "mended otherwise");
  await page.locator(".checked img").nth(2).waitFor();
  await checkAxeIn(page, "checked");
  await page.locator("#check-board").selectOption("wav-44k-mono");
  await page.locator("#status", {hasText: "3 checked"}).waitFor();
  const onCard = await page.locator(".checked").first().innerText();
  check(onCard.includes("its sample rate is 22050 Hz"), onCard);
  await page.keyboard.press("Control+z");
  await page.locator(".checked").first().getByText(fault).waitFor();
  check(await page.locator("#check-board").inputValue() === "",
    "undone, a board is named");
  await page.context().close();
}

/** A pack's folder is checked in one go, for the board that its list names. */
async function checkPack() {
  run("pack", "-q", `--board=${BOARD}`, "-o", "made", "takes");
  writeFileSync(join(folder, "made", BOARD, "bad.wav"), "no sound");
  const page = await openWorkbench();
  await show(page, "Check");
  await page.locator("#check-folder").setInputFiles(join(folder, "made"));
  await page.locator("#status", {hasText: "1 checked."}).waitFor();
  check(await page.locator("#check-board").inputValue() === BOARD,
    "the board is not chosen");
  const section = await page.locator(".checked").innerText();
  const {faults: [{fault}], files_total: nFiles, bytes} = JSON.parse(
    tryToRun("check", "--json", `--board=${BOARD}`, `made/${BOARD}`).out);
  for (const text of [`made/${BOARD}`, `bad.wav: ${fault}`, `Files\n${nFiles}`,
    String(bytes)]) {
    check(section.includes(text), `not told: ${text} in ${section}`);
  }
  await page.context().close();
}

/** A recording in the format of a header: 16 bits, one channel. */
function writeRecording(name, header, values) {
  const bytes = Buffer.concat([header, Buffer.alloc(2 * values.length)]);
  bytes.writeUInt32LE(bytes.length - 8, 4);
  bytes.writeUInt32LE(2 * values.length, BYTES_OF_HEADER - 4);
  values.forEach((value, i) =>
    bytes.writeInt16LE(value, BYTES_OF_HEADER + 2 * i));
  writeFileSync(join(folder, name), bytes);
}

/** Choose what is measured, make its test sound, and save that. */
async function checkTestSound(page, what) {
  const file = `gauge-${what}.wav`;
  await page.locator("#gauge-what").selectOption(what);
  await page.locator("#gauge-board").selectOption(BOARD);
  await page.locator("#gauge-write").click();
  const bytes = await saved(page, () =>
    page.getByRole("button", {name: `Save ${file}`}).click());
  run("gauge", what, "-q", "--write", `--board=${BOARD}`);
  check(bytes.equals(written(`volleyweave-out/${file}`)), `${file}: another`);
  check((await page.locator("#gauged").innerText()).includes("CAUTION"),
    `${file}: no caution`);
  return bytes;
}

/** What was found is saved as a file, as the program saves it. */
async function checkFound(page, what, recording) {
  const file = `gauged.${what}.ini`;
  const bytes = await saved(page, () =>
    page.getByRole("button", {name: `Save ${file}`}).click());
  run("gauge", what, "-q", "--force", `--save=${file}`, recording,
    ...what === "board" ? [`--board=${BOARD}`] : []);
  check(bytes.equals(written(file)), `${file}: another`);
  await page.locator("#status", {hasText: `${file} is chosen`}).waitFor();
}

/** A board that pauses 25 ms, a speaker that is perfect, a lamp that flashes. */
async function checkGauge() {
  const page = await openWorkbench();
  await openSounds(page, take);
  await show(page, "Gauge");
  const test = await checkTestSound(page, "board");
  const header = test.subarray(0, BYTES_OF_HEADER);
  const once = [...Array(Math.round(0.025 * RATE_HZ)).fill(0),
    ...new Int16Array(test.buffer.slice(
      test.byteOffset + BYTES_OF_HEADER, test.byteOffset + test.length))];
  writeRecording("held.wav", header, Array(5).fill(once).flat());
  await dropped(page, ["held.wav"], "gauged");
  const gap = await cellOf(page, "gap");
  check(Math.abs(Number.parseFloat(gap) - 25) < 0.1, `25 ms: ${gap}`);
  await checkFound(page, "board", "held.wav");
  writeFileSync(join(folder, "sweep.wav"),
    await checkTestSound(page, "speaker"));
  await dropped(page, ["sweep.wav"], "gauged");
  await page.locator("#gauged img").waitFor();
  await checkFound(page, "speaker", "sweep.wav");
  await page.locator("#gauge-what").selectOption("lamp");
  check(!await page.locator("#gauge-write").isVisible(), "a lamp's test sound");
  writeRecording("flashes.wav", header, Array.from({length: 4 * RATE_HZ},
    (_, i) => i * 8.37 / RATE_HZ % 1 < 0.03 * 8.37 ? 16000 : 0));
  await dropped(page, ["flashes.wav"], "gauged");
  const [, rate, onMs] =
    / ([\d.]+) a second, each ([\d.]+) ms/.exec(await cellOf(page, "lamp"));
  check(Math.abs(rate - 8.37) < 0.002 && Math.abs(onMs - 30) < 0.2,
    `8.37 a second, 30 ms: ${rate}, ${onMs}`);
  await checkAxeIn(page, "gauged");
  await show(page, "Sounds");
  check(await page.locator("#board").inputValue() === "gauged.board.ini" &&
    await page.locator("#set-speaker").inputValue() === "gauged.speaker.ini",
  "what was found is not chosen");
  await page.context().close();
}

copyFileSync(take, join(folder, "fog-knapper.wav"));
await checkLamp();
await checkRehearsal();
await checkFiles();
await checkGauge();
mkdirSync(join(folder, "takes"));
copyFileSync(take, join(folder, "takes", "fog-knapper.wav"));
await checkPack();
await finish();
