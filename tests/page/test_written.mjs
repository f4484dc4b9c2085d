// Pages with sounds in them, as `tryout` and `pack` write them: they open what
// is in them, and make of it what the program makes.

import {
  copyFileSync, mkdirSync, readFileSync, readdirSync, writeFileSync,
} from "node:fs";
import {join} from "node:path";
import {unzipSync} from "fflate";
import {check, finish, folder, open, run, take, writeBoard} from "./tools.mjs";
import {command, saveAll, saved, settle, until} from "./workbench.mjs";

// No markup is run, no quote ends anything, no order of letters misleads.
const odd = ["<img src=x onerror=\"document.title='run'\">.wav",
  "\"quoted\" & 'so'.wav", "\u0627\u0644\u0636\u0628\u0627\u0628.wav",
  "a -- b.wav"];

const inFolder = (...names) => join(folder, ...names);

/** Runs in a page before its script: note the lengths of what is played. */
function listening() {
  globalThis.played = [];
  const {start} = AudioBufferSourceNode.prototype;
  AudioBufferSourceNode.prototype.start = function note(...words) {
    globalThis.played.push(this.buffer.length);
    return start.apply(this, words);
  };
}

/** Open a page; wait until what is in it is made. */
async function openWritten(name, before = null) {
  const page = await open(name, {}, before);
  await page.locator("#ready").waitFor({timeout: 120_000});
  await page.locator("#status").filter({hasText: /\d+ of \d+ opened|pack is/})
    .waitFor({timeout: 120_000});
  return page;
}

/** A speaker that was gauged goes into the page, and sounds are made for it. */
async function checkSpeaker() {
  writeFileSync(inFolder("desk.speaker.ini"), "[speaker]\nhigh-pass = 300Hz\n" +
    "cut = 1000Hz -8dB 2\n");
  run("tryout", "--speaker", "desk", "--fire-rate", "9", "-q", "-o",
    "speaker.html", take);
  const page = await openWritten("speaker.html");
  await settle(page);
  check(await page.locator("#refused-box").isHidden(), "a speaker is refused");
  check(/--speaker=desk\.speaker\.ini/.test(await command(page)),
    `for no speaker: ${await command(page)}`);
  run("loop", "--speaker", "desk", "--fire-rate", "9", "-q", "-o", "for-desk/",
    take);
  const wrong = others(await saveAll(page), "for-desk");
  check(!wrong.length, `made for a speaker: other ${wrong}`);
  await page.context().close();
}

const isSound = (name) => name.endsWith(".wav");

/** What differs of files from those in a folder that the program wrote. */
function others(files, path) {
  const wanted = readdirSync(inFolder(path), {recursive: true})
    .filter((name) => isSound(name));
  // Within the page's own folder a pack has one by the prop's name.
  const got = Object.entries(files).filter(([name]) => isSound(name))
    .map(([name, bytes]) =>
      [name.replace(/^volleyweave-out\/(.*\/(?=.*\/))?/, ""), bytes]);
  check(got.length === wanted.length && got.length > 1,
    `${path}: ${got.map(([name]) => name)} for ${wanted}`);
  return got.filter(([name, bytes]) => !wanted.includes(name) ||
    !readFileSync(inFolder(path, name)).equals(Buffer.from(bytes)))
    .map(([name]) => name);
}

/** Each of the takes is made as `loop` makes it, with the same options. */
async function checkTakes() {
  mkdirSync(inFolder("odd"));
  const takes = odd.map((name) => `odd/${name}`);
  takes.forEach((path) => copyFileSync(take, inFolder(path)));
  const board = writeBoard("wide",
    {"sample-rate": "48000", "encoding": "24", "repeat": "three-files"});
  const words = ["--board", board, "--fire-rate", "9", "--valley", "12", "-q"];
  run("tryout", ...words, "-o", "takes.html", "--", ...takes);
  const page = await openWritten("takes.html");
  await settle(page);
  check(await page.title() === "Volleyweave", `title: ${await page.title()}`);
  check(await page.locator("#trigger-rapid").isVisible(), "nothing to fire");
  check(await page.locator("#refused-box").isHidden(), "something is refused");
  const sounds = page.locator("#list li > button:first-child");
  const names = await sounds.allTextContents();
  check(String(names) === String(odd), `${names} for ${odd}`);
  for (const [i, path] of takes.entries()) {
    await sounds.nth(i).click();
    await settle(page);
    run("loop", ...words, "-o", `out${i}/`, "--", path);
    const wrong = others(await saveAll(page), `out${i}`);
    check(!wrong.length, `${path}: ${await command(page)}: other ${wrong}`);
  }
  await page.context().close();
}

/** The prop is packed at once, as `pack` packs it, and can be heard. */
async function checkProp() {
  copyFileSync(take, inFolder("zap.wav"));
  const board = writeBoard("small", {gap: "20ms", "on-release": "finishes"});
  writeFileSync(inFolder("sounds.ini"), `[prop]
name = Fog <b>knapper</b> "of 'so'"
boards = ${board}
[sound zap]
take = zap.wav
make = shot
[sound zap rapid]
take = zap.wav
make = loop
fire-rate = 9/s
[sound hum]
take = /usr/share/games/bzflag/flag_won.wav
make = loop
[sound laser]
take = /usr/share/games/bzflag/laser.wav
make = loop
`);
  const reports = run("pack", "-f", "-q", "--json", "--all-reach", "--fit",
    "-o", "out", "sounds.ini")
    .split("\n").filter((line) => line.startsWith("{"))
    .map((line) => JSON.parse(line)).filter(({sound}) => sound);
  const page = await openWritten("out/tryout.html", listening);
  check(await page.locator("#prop").isVisible(), "the prop is not shown");
  await page.locator("#prop-save-pack:enabled").waitFor({timeout: 120_000});
  const title = await page.title();
  check(title.startsWith("Fog <b>knapper</b> \"of 'so'\" \u2013"), title);
  const files = unzipSync(await saved(page, () =>
    page.locator("#prop-save-pack").click()));
  const wrong = others(files, "out");
  check(!wrong.length, `the prop: other ${wrong}`);
  check(!Object.keys(files).some((name) => name.endsWith(".html")),
    "a page made in the page");
  const text = await page.locator("#prop-text").textContent();
  check(/^# --all-reach\n# --fit\n\n/m.test(text), `not asked for: ${text}`);
  for (const {sound, make, files: made} of reports) {
    await checkHeard(page, sound, make, made.map(({frames}) => frames));
  }
  await page.locator("#prop-slot-0").fill("7");
  await page.keyboard.press("Tab");
  check(await page.locator("td .trigger:visible").count() === 0,
    "a pack grown old can be heard");
  await page.context().close();
}

/** What a row's trigger plays, held by a key or clicked by a screen reader. */
async function checkHeard(page, sound, make, frames) {
  const trigger = page.getByRole("button",
    {name: `Hear: ${sound}`, exact: true});
  await page.evaluate(() => globalThis.played.splice(0));
  await trigger.focus();
  // The space bar is the row's own here, not that of the sound on the bench.
  const key = make === "loop" ? " " : "Enter";
  await page.keyboard.down(key);
  await until(page, make === "loop"
    ? () => globalThis.played.length > 1 : () => globalThis.played.length > 0);
  await page.keyboard.up(key);
  const held = await page.evaluate(() => globalThis.played.splice(0));
  check(held.every((length) => frames.includes(length)) &&
    (make === "loop" ? held.length > 1 : held.length === 1),
  `${sound}: ${held} of ${frames}`);
  // A click so soon after a press would be the press's own.
  await page.waitForTimeout(600);
  await trigger.evaluate((one) => one.click());
  await until(page, () => globalThis.played.length > 0);
  const clicked = await page.evaluate(() => globalThis.played.splice(0));
  check(clicked.every((length) => frames.includes(length)),
    `${sound} clicked: ${clicked} of ${frames}`);
  // What is still to be played is not that of the next.
  await trigger.and(page.locator("[data-held='false']")).waitFor();
}

/** What found no room is named; what is damaged does not keep the rest shut. */
async function checkDamage() {
  copyFileSync(take, inFolder("lone.wav"));
  run("tryout", "-q", "--name", "Lone", "-o", "lone.html", "lone.wav");
  const text = readFileSync(inFolder("lone.html"), "utf8");
  const block = (inside) =>
    `<script type="application/json" class="written">${inside}</script>\n`;
  const withOut = text.replace("\"left_out\":[]",
    "\"left_out\":[\"\\u003cb\\u003elarge.wav\"]");
  check(withOut !== text, "no place for what is left out");
  const damages = {
    none: [withOut, ["<b>large.wav: it had no room in this page"], 1],
    half: [text.replace(/("name":"lone\.wav","bytes":"[^"]{999})[^<]*/, "$1"),
      ["is damaged"], 0],
    letters: [text.replace("\"bytes\":\"", "\"bytes\":\"!"), ["is damaged"], 0],
    head: [text.replace("{\"title\"", "{title"), ["is damaged"], 1],
    nothing: [text.replace("<script type=\"application/json\"",
      `${block("null")}${block("")}<script type="application/json"`),
    ["is damaged", "is damaged"], 1],
    sound: [text.replace(/"bytes":"[^"]*"/, "\"bytes\":\"AAAA\""),
      ["lone.wav: "], 0],
  };
  for (const [name, [damaged, wanted, nSounds]] of Object.entries(damages)) {
    writeFileSync(inFolder("damaged.html"), damaged);
    const page = await openWritten("damaged.html");
    const told = await page.locator("#refused li").allTextContents();
    check(told.length === wanted.length &&
      told.every((line, i) => line.includes(wanted[i])), `${name}: ${told}`);
    check(await page.locator("#list li").count() === nSounds,
      `${name}: not ${nSounds} sounds`);
    const isNamed = await page.title() === "Lone \u2013 Volleyweave";
    check(isNamed === (name !== "head"), `${name}: ${await page.title()}`);
    await page.context().close();
  }
}

await checkTakes();
await checkSpeaker();
await checkProp();
await checkDamage();
await finish();
