// The screen Prop: the pack it makes against the program's own, the prop as it
// is saved and opened again, and its bench sheet.

import {
  copyFileSync, mkdirSync, readFileSync, readdirSync, statSync, writeFileSync,
} from "node:fs";
import {basename, join} from "node:path";
import {unzipSync} from "fflate";
import {
  check, checkAxeIn, finish, folder, run, take, writeBoard,
} from "./tools.mjs";
import {
  opened, openSounds, openWorkbench, saveAll, saved, settle, until,
} from "./workbench.mjs";

// Of the package bzflag-data: shots, several, a hum too short for a loop, one
// that is looped, rapid fire. Their sample rate is that of the board: what is
// converted may be a step of the last bit apart.
const recordings = ["laser", "fire", "flag_drop", "burrow", "flag_alert",
  "flag_lost"]
  .map((name) => `/usr/share/games/bzflag/${name}.wav`);

// What a person may write, and the page has no field for.
const byHand = `[prop]
name = "Odd ; prop"
boards = wav-22k-mono
ceiling = -2
# --fit

[sound three]
take = "fog-knapper.wav"
make = burst 3
slot = 7
level = -3

[sound single]
take = fog-knapper.wav ; the same
make = shot
from = 0.001

[sound single on wav-22k-mono]
bits = 16

[lamp]
supply = 9V
`;

const textOf = (page) => page.locator("#prop-text").textContent();

async function show(page, screen) {
  await page.locator("#screens").getByText(screen, {exact: true}).click();
}

async function fill(page, id, value) {
  await page.locator(`#${id}`).fill(value);
  await page.keyboard.press("Tab");
}

async function makePack(page) {
  await page.locator("#prop-make").click();
  await until(page, () => !document.getElementById("prop-make").disabled);
}

const click = (page, id) => () => page.locator(`#${id}`).click();

function writeAll(files) {
  for (const [path, bytes] of Object.entries(files)) {
    writeFileSync(join(folder, path), bytes);
  }
}

function filesBelow(path) {
  return readdirSync(join(folder, path), {recursive: true})
    .filter((name) => statSync(join(folder, path, name)).isFile());
}

/** What is made of each follows its kind, as the program guesses of a folder. */
async function checkGuess(page) {
  const takes = join(folder, "takes");
  mkdirSync(takes);
  recordings.forEach((path) => copyFileSync(path, join(takes, basename(path))));
  run("pack", "-q", "--write-list=guess.ini", "takes");
  const guessed = readFileSync(join(folder, "guess.ini"), "utf8");
  const wishes = (text) => [...text.matchAll(
    /take = (?:.*\/)?(.*)\nmake = (.*)((?:\n(?:level|fire-rate) = .*)*)/g)]
    .map(([, ...words]) => words.join(" ")).sort().join("\n");
  check(wishes(await textOf(page)) === wishes(guessed),
    `made: ${wishes(await textOf(page))}`);
  const told = await page.locator("#prop-table").innerText();
  for (const [, remark, kind] of guessed.matchAll(/^# ((.*?)[;:, ].*)\n\[so/gm)) {
    const text = remark.slice(1).replaceAll("`", "");
    check(kind === "shot" || told.includes(text), `not told: ${text}`);
  }
  check(await page.locator("[id^=prop-rate]").count() === 4,
    "a fire rate of what is no shot");
}

/** What is packed is what the program packs of the prop that is saved. */
async function checkPack(page) {
  await openSounds(page, ...recordings);
  await show(page, "Prop");
  await checkGuess(page);
  await makePack(page);
  check(await page.locator("#prop-error").isVisible(), "no board is missed");
  await page.locator("#prop-board-wav-22k-mono").check();
  await fill(page, "prop-name", "Keeper's lamp");
  await fill(page, "prop-slot-0", "4");
  check(await page.evaluate(() => document.activeElement.id) === "prop-in-1",
    "the place in the table is lost");
  await fill(page, "prop-rate-1", "540/min");
  await page.locator("#prop-make-4").selectOption("split");
  await page.locator("#prop-in-2").uncheck();
  await makePack(page);
  const files = unzipSync(await saved(page, click(page, "prop-save-pack")));
  writeAll(unzipSync(await saved(page, click(page, "prop-save"))));
  run("pack", "-q", "sounds.ini");
  // A page makes no other, nor a list of one.
  const wanted = filesBelow("volleyweave-out").filter((name) =>
    !/^[^/]*\/(tryout\.html|\.volleyweave\.list)$/.test(name));
  check(wanted.length > 6, `${wanted.length} files`);
  check(wanted.length === Object.keys(files).length,
    `${Object.keys(files)} for ${wanted}`);
  // The list's lines stand in the order in which the sounds were finished; one
  // tells where the sound list lies.
  const inOrder = (bytes, name) => name.endsWith(".list")
    ? String(bytes).split("\n").filter((line) =>
      !line.startsWith("pack prop")).sort().join("\n")
    : bytes.toString("latin1");
  for (const name of wanted) {
    const bytes = Buffer.from(files[`volleyweave-out/${name}`] ?? []);
    const own = readFileSync(join(folder, "volleyweave-out", name));
    check(inOrder(own, name) === inOrder(bytes, name), `${name}: other bytes`);
  }
}

/** The bench sheet alone is printed, without a command. */
async function checkSheet(page) {
  await page.emulateMedia({media: "print"});
  check(!await page.locator("#prop").isVisible(), "the screen is printed");
  const text = await page.locator("#sheet").innerText();
  for (const word of ["Keeper's lamp", "laser-rapid", "9.00", "seizures"]) {
    check(text.includes(word), `not on the sheet: ${word}`);
  }
  check(!/volleyweave|--/.test(text), "a command on the sheet");
  await page.emulateMedia({media: null});
  await fill(page, "prop-slot-0", "5");
  check(await page.locator("#prop-save-pack").isDisabled(), "a pack grown old");
}

/** A prop opened again, written by the page or by hand, is the same. */
async function checkAgain(text, ...files) {
  const page = await openWorkbench();
  await opened(page, () => page.locator("#open-files").setInputFiles(files));
  await show(page, "Prop");
  const before = await textOf(page);
  check(before === text, `${files[0]}: opened as ${before}`);
  await makePack(page);
  check(!await page.locator("#prop-save-pack").isDisabled(),
    `${files[0]}: ${await page.locator("#prop-error").textContent()}`);
  return page;
}

/** Another take before a loop goes where its sound goes. */
async function checkRunIn() {
  const board = writeBoard("three", {repeat: "three-files"});
  const text = `[prop]
name = spun
boards = ${board}

[sound hum]
take = flag_won.wav
make = loop
run-in-take = fog-knapper.wav
`;
  writeFileSync(join(folder, "spun.ini"), text.replace("= fog", "= takes/fog"));
  const hum = "/usr/share/games/bzflag/flag_won.wav";
  const page = await checkAgain(
    text, join(folder, "spun.ini"), join(folder, board), hum, take);
  await show(page, "Sounds");
  await page.locator("#chosen").selectOption("flag_won.wav");
  await settle(page);
  run("loop", "-q", `--board=${board}`, `--run-in-take=${take}`, hum);
  const files = await saveAll(page);
  const name = "volleyweave-out/flag_won.runin.wav";
  check(readFileSync(join(folder, name)).equals(
    Buffer.from(Object.values(files)[0])) &&
    Object.keys(files)[0] === name, `${Object.keys(files)}: another run-in`);
}

async function checkRefused() {
  const page = await openWorkbench();
  writeFileSync(join(folder, "bad.zip"), "no ZIP");
  writeFileSync(join(folder, "bad.ini"), "no prop");
  writeFileSync(join(folder, "lone.ini"), byHand);
  const board = run("boards", "wav-22k-mono");
  writeFileSync(join(folder, "my odd.board.ini"),
    board.replace(/^channels/m, "chanels"));
  const line = board.split("\n").findIndex((one) => /^channels/.test(one)) + 1;
  await opened(page, () => page.locator("#open-files").setInputFiles(
    ["bad.zip", "bad.ini", "lone.ini", "my odd.board.ini"].map((name) => join(folder, name))));
  const told = await page.locator("#refused li").allTextContents();
  for (const text of ["bad.zip: it cannot be unpacked", "bad.ini: it has no",
    "take fog-knapper.wav is not here",
    `my odd.board.ini:${line}: chanels: no such key`]) {
    check(told.some((line) => line.includes(text)), `not said: ${text}`);
  }
}

const page = await openWorkbench();
await checkPack(page);
await checkAxeIn(page, "the screen Prop");
const lines = await page.locator("#prop-table .trigger:visible").evaluateAll(
  (buttons) => buttons.map((button) => {
    const range = document.createRange();
    range.selectNodeContents(button);
    return range.getClientRects().length;
  }));
check(lines.length && lines.every((n) => n === 1), `Hear on ${lines} lines`);
await checkSheet(page);
const zip = join(folder, "keeper.zip");
writeFileSync(zip, await saved(page, click(page, "prop-save")));
await checkAgain(await textOf(page), zip);
writeFileSync(join(folder, "hand.ini"), byHand);
const again = await checkAgain(byHand
  .replace("\"fog-knapper.wav\"", "fog-knapper.wav").replace(" ; the same", "")
  .replace("[sound single]\ntake = fog-knapper",
    "[sound single]\ntake = fog-knapper-2"),
join(folder, "hand.ini"), take);
await again.evaluate(() => ["prop-make", "cancel"].forEach((id) =>
  document.getElementById(id).click()));
await until(again, () => !document.getElementById("prop-make").disabled);
check((await again.locator("#status").textContent()) === "Stopped.",
  "it is not stopped");
await checkRunIn();
await checkRefused();
await finish();
