// The screens Lamp and Check, and holds rehearsed: what they show and save,
// against the program's own.

import {copyFileSync, mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {
  check, checkAxeIn, finish, folder, run, take, tryToRun,
} from "./tools.mjs";
import {openSounds, openWorkbench, saved, settle} from "./workbench.mjs";

const BOARD = "wav-22k-mono";
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
    ["RA", timer.ra_ohm / 1e3, " kohm"],
    ["P", `a trimmer of ${timer.trimmer_ohm / 1e3}`, " kohm"],
    ["R", timer.led.next_e24_ohm, " ohm"],
    ["counts", `prescaler ${microcontroller.counts.prescaler}, period ` +
      microcontroller.counts.period_counts, ""],
  ]) {
    const text = await cellOf(page, name);
    check(text.startsWith(`${value}${unit}`),
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

/** Let go of files over the page. */
function dropped(page, names) {
  const files = names.map((name) => [name, written(name).toString("base64")]);
  return page.evaluate((all) => new Promise((resolve, reject) => {
    document.addEventListener("checked", resolve, {once: true});
    setTimeout(() => reject(new Error("nothing is checked")), 60_000);
    const dataTransfer = new DataTransfer();
    for (const [name, text] of all) {
      dataTransfer.items.add(new File([Uint8Array.from(
        atob(text), (letter) => letter.charCodeAt(0))], name));
    }
    document.body.dispatchEvent(new DragEvent(
      "drop", {dataTransfer, bubbles: true, cancelable: true}));
  }), files);
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

copyFileSync(take, join(folder, "fog-knapper.wav"));
await checkLamp();
await checkRehearsal();
await checkFiles();
mkdirSync(join(folder, "takes"));
copyFileSync(take, join(folder, "takes", "fog-knapper.wav"));
await checkPack();
await finish();
