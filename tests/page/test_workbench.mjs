// The page that holds the whole program: what it asks of the network, what it
// does with bad files, undo, comparing, the keyboard, accessibility, its size.

import {
  mkdirSync, readdirSync, readFileSync, statSync, writeFileSync,
} from "node:fs";
import {dirname, join} from "node:path";
import {
  check, checkAxeIn, checkMost, finish, folder, run, take,
} from "./tools.mjs";
import {
  command, openDemo, openSounds, openWorkbench, opened, pageFile, saveAll,
  saved, set, settle, until,
} from "./workbench.mjs";

const BYTES_OF_HEADER = 44;
// Of the recording, to some minutes.
const REPEATS = 480;
// Of the package bzflag-data: softer as recorded, for a peak holds its gain down.
const softer = "/usr/share/games/bzflag/flap.wav";

const MOST_BYTES = 3e6;
const MOST_CODE_LINES = 2600;

/** Runs in a page before its script: note what is played, and how loud. */
function listening() {
  globalThis.played = [];
  const {start} = AudioBufferSourceNode.prototype;
  AudioBufferSourceNode.prototype.start = function note(...words) {
    globalThis.played.push(performance.now());
    return start.apply(this, words);
  };
  globalThis.gains = [];
  globalThis.GainNode = class extends GainNode {
    constructor(context, options) {
      super(context, options);
      globalThis.gains.push(options.gain);
    }
  };
}

/** Lines that are neither empty nor comments of their own lines. */
function codeLinesOf(text) {
  return text.replaceAll(/^[ \t]*(\/\*[^]*?\*\/|<!--[^]*?-->)[ \t]*$/gm, "")
    .split("\n").filter((line) => /\S/.test(line) && !/^\s*\/\//.test(line))
    .length;
}

function checkSize() {
  const source = join(dirname(take), "../src/page");
  const lines = readdirSync(source).filter((name) =>
    /\.(js|css|html)$/.test(name)).map((name) =>
    codeLinesOf(readFileSync(join(source, name), "utf8")));
  checkMost(lines.reduce((sum, n) => sum + n, 0), MOST_CODE_LINES,
    "code lines", "the page");
  checkMost(statSync(pageFile).size, MOST_BYTES, "bytes", "the page");
}

/** Runs in a page before its script: a browser of some years ago. */
function aging() {
  delete Uint8Array.fromBase64;
}

/** The policy lets nothing in and nothing out, and the page works offline. */
async function checkPolicy() {
  const page = await openWorkbench({}, aging);
  const policy = await page.locator(
    "meta[http-equiv='Content-Security-Policy']").getAttribute("content");
  check(policy.startsWith("default-src 'none'"), policy);
  check(!/unsafe-inline|(?<!wasm-)unsafe-eval|https?:|\*/.test(policy), policy);
  check(await page.locator("[style]").count() === 0, "a style in an element");
  await page.context().setOffline(true);
  await openDemo(page);
  check(await page.locator("#picture img").isVisible(), "offline: no picture");
  await page.context().close();
}

/** Let something fall on the page, as if a person dropped it. */
function dropped(page, name) {
  return opened(page, () => page.evaluate((asked) => {
    const event = new Event("drop", {bubbles: true, cancelable: true});
    event.dataTransfer = {items: [], files: globalThis.makeFiles[asked]()};
    document.body.dispatchEvent(event);
  }, name));
}

/** Runs in a page before its script: files that no disk should hold. */
function making() {
  const header = (bytes, rateHz) => {
    const view = new DataView(new ArrayBuffer(44));
    const word = (at, text) => [...text].forEach((letter, i) =>
      view.setUint8(at + i, letter.charCodeAt(0)));
    word(0, "RIFF");
    view.setUint32(4, 36 + bytes, true);
    word(8, "WAVEfmt ");
    [[16, 16, 4], [20, 1, 2], [22, 1, 2], [24, rateHz, 4], [28, rateHz, 4],
      [32, 1, 2], [34, 8, 2]].forEach(([at, value, size]) => size === 4
      ? view.setUint32(at, value, true)
      : view.setUint16(at, value, true));
    word(36, "data");
    view.setUint32(40, bytes, true);
    return view;
  };
  const file = (parts, name) => new File(parts, name);
  globalThis.makeFiles = {
    empty: () => [file([], "empty.wav")],
    words: () => [file(["Dear all, this is a letter."], "letter.wav")],
    noise: () => [file([crypto.getRandomValues(new Uint8Array(9999))], "x.bin")],
    cut: () => [file([header(9999, 44100)], "cut.wav")],
    rate: () => [file([header(9999, 4e9), new Uint8Array(9999)], "fast.wav")],
    markup: () => [
      file(["no sound"], "<img src=x onerror=\"document.title='run'\">.wav")],
    large: () => [Object.defineProperty(file(["RIFF"], "huge.wav"), "size",
      {value: 2e9})],
    // Hours of it: more than the program's memory holds.
    long: () => [file([header(3.8e8, 8000), new Uint8Array(3.8e8)], "long.wav")],
    many: () => Array.from({length: 500}, (_, i) =>
      file([`no sound ${i}`], `take ${i}.wav`)),
  };
}

const bad = {
  empty: /is empty/,
  words: /letter\.wav: .{15}/,
  noise: /x\.bin: .{15}/,
  cut: /cut\.wav: .{15}/,
  rate: /fast\.wav: .{15}/,
  markup: /onerror=.*: .{15}/,
  large: /huge\.wav: .*large/,
  long: /long\.wav: .*(long|memory)/,
  many: /take 499\.wav: .{15}/,
};

/** Each is told in a sentence, and a good file after it works. */
async function checkBadFiles() {
  const page = await openWorkbench({}, `(${making})()`);
  for (const [name, wanted] of Object.entries(bad)) {
    const status = await dropped(page, name);
    check(status.startsWith("0 of "), `${name}: ${status}`);
    const said = await page.locator("#refused li").allTextContents();
    const n = name === "many" ? 500 : 1;
    check(said.length === n && wanted.test(said.at(-1)), `${name}: ${said}`);
    check(await page.locator("#refused-box").isVisible(), `${name}: not shown`);
    check(!said.some((one) => /undefined|Error:|\[object/.test(one)),
      `${name}: ${said[0]}`);
    check(await page.locator("#list li").count() === 0, `${name}: is listed`);
  }
  check(await page.title() === "Volleyweave", "markup ran");
  await openSounds(page, take);
  check(await page.locator("#facts dd").count() > 5, "a good one afterwards");
  check(await page.locator("#refused-box").isHidden(), "a refusal stays");
  await page.locator("#undo").click();
  check(await page.locator("#list li").count() === 0 &&
    await page.locator("#undo").isDisabled(), "steps of what was refused");
  await page.context().close();
}

/** What was set is taken back step by step; so is what was opened. */
async function checkUndo() {
  const page = await openWorkbench();
  await openDemo(page);
  const before = await command(page);
  const facts = await page.locator("#facts").textContent();
  await set(page, {"set-fire-rate": "7"});
  await set(page, {"set-valley": "none"});
  check(/--fire-rate=7 --valley=none/.test(await command(page)), "what is set");
  await page.locator("#undo").click();
  await settle(page);
  check(/--fire-rate=7 (?!--valley)/.test(await command(page)), "one undone");
  await page.locator("#undo").click();
  await settle(page);
  check(await command(page) === before, "both undone");
  check(await page.locator("#facts").textContent() === facts, "their figures");
  check(await page.locator("#set-valley").inputValue() === "", "the field");
  await page.locator("#undo").click();
  check(await page.locator("#bench").isHidden(), "a sound that is gone");
  await checkRemoved(page);
  await page.context().close();
}

/** A removed recording comes back, though another of its name was opened. */
async function checkRemoved(page) {
  await openSounds(page, take);
  const before = await saveAll(page);
  await page.getByRole("button", {name: /^Remove /}).click();
  mkdirSync(join(folder, "other"));
  const other = join(folder, "other", "fog-knapper.wav");
  const bytes = readFileSync(take);
  writeFileSync(other, bytes.fill(0, bytes.length / 2));
  await openSounds(page, other);
  await page.locator("#undo").click();
  await page.locator("#undo").click();
  await settle(page);
  const after = await saveAll(page);
  for (const [name, saved] of Object.entries(before)) {
    check(Buffer.from(saved).equals(Buffer.from(after[name] ?? [])),
      `undone, ${name} is another: ${Object.keys(after)}`);
  }
}

/** Both bursts are equally loud, by the program's own figures: the louder of
 * them is turned down, as it is set now. */
async function checkCompare() {
  const page = await openWorkbench({}, listening);
  await openSounds(page, take);
  check((await hold(page, take)).gain === 1, "a gain that none asked for");
  for (const [file, values] of [
    [take, {"set-fire-rate": "8"}],
    [take, {"set-fire-rate": "12"}],
    [softer, {"set-fire-rate": "10", "set-limiting-max": "0"}],
  ]) {
    if (file === softer) {
      await openSounds(page, file);
    }
    const all = [];
    for (const isRecorded of [false, true, false]) {
      await page.locator("#compare").setChecked(isRecorded);
      await set(page, values);
      all.push(await hold(page, file));
    }
    const [, recorded, made] = all;
    const heard = ({lufs, gain}) => lufs + 20 * Math.log10(gain);
    check((recorded.lufs < made.lufs) === (file === softer),
      `${recorded.lufs} LUFS as recorded, ${made.lufs} made`);
    checkMost(Math.abs(heard(recorded) - heard(made)), 0.01,
      "dB off the equal loudness", JSON.stringify(values));
    checkMost(Math.max(recorded.gain, made.gain), 1, "gain", "compared");
  }
  await page.context().close();
}

/** Hold the trigger; its gain, and the loudness of the command shown. */
async function hold(page, file) {
  const shown = (await command(page)).split(" ");
  const words = shown.slice(1, -1);
  await page.locator("#trigger-rapid").focus();
  await page.keyboard.down(" ");
  await until(page, () => globalThis.gains.length > 0);
  await page.keyboard.up(" ");
  const gain = await page.evaluate(() => globalThis.gains.splice(0).at(-1));
  const report = JSON.parse(
    run(...words, "--json", "--dry-run", file).trim().split("\n")[0]);
  return {gain, lufs: report.level.burst_loudness_lufs};
}

/** Long work is told, what it replaces too; and it can be stopped. */
async function checkLong() {
  const header = readFileSync(take);
  const once = header.subarray(BYTES_OF_HEADER);
  const long = join(folder, "long.wav");
  header.writeUInt32LE(REPEATS * once.length, BYTES_OF_HEADER - 4);
  writeFileSync(long, Buffer.concat([header.subarray(0, BYTES_OF_HEADER),
    ...Array.from({length: REPEATS}, () => once)]));
  const page = await openWorkbench();
  await openSounds(page, long);
  const error = page.locator("#bench-error");
  const said = "Stopped. Change a setting to make it again.";
  // A quick machine may have made it before it is seen, or stopped.
  for (let i = 0; i < 6 && await error.textContent() !== said; ++i) {
    await page.locator("#set-fire-rate").fill(String(7 + i));
    await page.locator("#set-fire-rate").press("Tab");
    const told = await page
      .locator("#bench > .work", {hasText: "the one before"})
      .waitFor({timeout: 4000}).then(() => true, () => false);
    if (!told) {
      continue;
    }
    check(await page.locator("#working").isVisible(), "no progress is shown");
    await page.locator("#cancel").evaluate((one) => one.click());
    await settle(page);
  }
  check(await error.textContent() === said, "not stopped");
  check(await page.locator("#made").isHidden() &&
    await page.locator("#save-all").isDisabled(), "stopped, the old is shown");
  await page.locator("#cancel").waitFor({state: "hidden"});
  await set(page, {"set-to": "2s"});
  check(await page.locator("#made").isVisible(), "nothing made afterwards");
  const status = await opened(page, async () => {
    await page.locator("#open-files").setInputFiles([long, take, take]);
    await page.locator("#status", {hasText: "Opening 1"}).waitFor();
    await page.locator("#cancel").evaluate((one) => one.click());
  });
  // The first may just be read when it is stopped; the others never are.
  check(/^[01] of 3 opened/.test(status), `opened and stopped: ${status}`);
  await page.context().close();
}

/** A stretch that is dragged is set and shown, and can be typed. */
async function checkStretch() {
  const page = await openWorkbench();
  await openSounds(page, take);
  await page.getByLabel(/The recording: .*From and To/).check();
  const band = page.locator("#stretch");
  const box = await page.locator("#picture").boundingBox();
  await page.mouse.move(box.x + 0.3 * box.width, box.y + 9);
  await page.mouse.down();
  await page.mouse.move(box.x + 0.7 * box.width, box.y + 9);
  await page.mouse.up();
  await settle(page);
  const {x, width} = await band.boundingBox();
  checkMost(Math.abs(x - box.x - 0.3 * box.width), 2, "pixels off", "dragged");
  checkMost(Math.abs(width - 0.4 * box.width), 2, "pixels off", "dragged");
  check(/--from=[\d.]+s --to=[\d.]+s/.test(await command(page)), "not set");
  await set(page, {"set-to": "1.2s"});
  const typed = await band.boundingBox();
  check(typed.width > width + 20, `typed, ${typed.width} of ${width} wide`);
  await page.locator("#undo").click();
  await page.locator("#undo").click();
  await settle(page);
  check(await band.isHidden(), "undone, the stretch is shown");
  await page.context().close();
}

/** Press Tab until an element has the focus. */
async function tabTo(page, id) {
  for (let i = 0; i < 80; ++i) {
    if (await page.evaluate(() => document.activeElement.id) === id) {
      return true;
    }
    await page.keyboard.press("Tab");
  }
  return false;
}

/** Open, fire and save with nothing but keys. */
async function checkKeyboard() {
  const page = await openWorkbench({}, listening);
  check(await tabTo(page, "demo"), "no way to the demo take");
  await opened(page, () => page.keyboard.press("Enter"));
  await settle(page);
  check(await tabTo(page, "trigger-rapid"), "no way to the trigger");
  await page.keyboard.down(" ");
  await until(page, () => globalThis.played.length > 3);
  check(await page.locator("#trigger-rapid[data-held='true']").count() === 1,
    "the trigger is not held");
  await page.keyboard.up(" ");
  check(await tabTo(page, "save-all"), "no way to save");
  const zip = await saved(page, () => page.keyboard.press("Enter"));
  check(zip.toString("latin1", 0, 2) === "PK", "what was saved");
  await page.context().close();
}

/** When the lamp on the screen goes on during two seconds of rapid fire. */
async function flashes(page) {
  await page.evaluate(() => {
    globalThis.onsets = [];
    new MutationObserver(() => {
      const isOn = document.querySelector("#lamp").dataset.on === "true";
      if (isOn && !globalThis.was) {
        globalThis.onsets.push(performance.now());
      }
      globalThis.was = isOn;
    }).observe(document.querySelector("#lamp"), {attributes: true});
  });
  await page.locator("#trigger-rapid").focus();
  await page.keyboard.down(" ");
  await page.waitForTimeout(2500);
  await page.keyboard.up(" ");
  return page.evaluate(() => globalThis.onsets);
}

/** The lamp is dark until it is wanted, and calm if motion is to be reduced. */
async function checkLamp() {
  for (const reducedMotion of ["reduce", "no-preference"]) {
    const page = await openWorkbench({reducedMotion});
    await openSounds(page, take);
    await set(page, {"set-fire-rate": "14"});
    check((await flashes(page)).length === 0, "it flashes unasked");
    const {cautions} = JSON.parse(run("help", "--json"));
    check((await page.locator("#rest .caution").textContent())
      .includes(cautions.flash.slice(1)), "no word of flashes");
    await page.locator("#use-lamp").check();
    const onsetsMs = await flashes(page);
    if (reducedMotion === "reduce") {
      // WCAG 2.2, 2.3.1: three in any second.
      const most = Math.max(...onsetsMs.map((fromMs) =>
        onsetsMs.filter((ms) => ms >= fromMs && ms < fromMs + 1000).length));
      check(onsetsMs.length >= 2, `${onsetsMs.length} flashes in all`);
      checkMost(most, 3, "flashes a second", "reduced motion");
    } else {
      check(onsetsMs.length > 9, `${onsetsMs.length} flashes with motion`);
    }
    await page.context().close();
  }
}

const sizes = [{width: 1280, height: 900}, {width: 390, height: 844}];

/** Whether each of some elements is in view as a whole, with nothing before it. */
function inView(page, selector) {
  return page.locator(selector).evaluateAll((all) => all.map((one) => {
    const {left, right, top, bottom} = one.getBoundingClientRect();
    const front = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
    return {html: one.outerHTML.slice(0, 60), holds: left >= 0 && top >= 0 &&
      right <= innerWidth && bottom <= innerHeight && right > left &&
      (one.contains(front) || front?.control === one)};
  }));
}

/** Where in the loop it plays is shown, between the two ends of its axis. */
async function checkPlayhead() {
  const page = await openWorkbench();
  await openSounds(page, take);
  check(await page.locator("#playhead").isHidden(), "a playhead at rest");
  await page.locator("#trigger-rapid").focus();
  await page.keyboard.down("Enter");
  const head = await page.waitForSelector("#playhead", {state: "visible"});
  const part = await head.evaluate((one) => Number.parseFloat(one.style.left));
  // Two repeats go from 64 to 570 of the 600 that the picture is wide.
  check(part > 10 && part < 53, `the playhead is at ${part} %, in one repeat`);
  await page.keyboard.up("Enter");
  await page.waitForSelector("#playhead", {state: "hidden"});
  await page.context().close();
}

/** What one needs while a trigger is held stays at the edge of the screen. */
async function checkDeck() {
  const page = await openWorkbench();
  await openSounds(page, ...Array(30).fill(take));
  for (const size of sizes) {
    await page.setViewportSize(size);
    for (const screen of ["Prop", "Lamp", "Sounds"]) {
      await page.locator("#screens").getByText(screen, {exact: true}).click();
      for (const part of [0, 0.5, 1]) {
        await page.evaluate((asked) => scrollTo(
          0, asked * document.documentElement.scrollHeight), part);
        const found = await inView(page,
          "#deck > *:not(:empty), #deck .trigger, #chosen, #deck input");
        check(found.length === 10, `${found.length} parts of the deck`);
        for (const {html, holds} of found) {
          check(holds, `${screen}, ${size.width} wide, at ${part}: ${html}`);
        }
      }
    }
  }
  await page.locator("#chosen").selectOption("fog-knapper-7.wav");
  await settle(page);
  check((await command(page)).endsWith(" fog-knapper-7.wav"), "not chosen");
  await page.context().close();
}

// WCAG 2.2, 2.5.5: 44 by 44 CSS pixels.
const TOUCH_PX = 44;

/** Nothing for a finger is smaller than a finger, bar words to fold. */
async function checkTouch(page, what) {
  const small = await page.evaluate((least) => [...document.querySelectorAll(
    "button, select, summary, input:not(.unseen), .button")].filter((one) => {
    const target = /checkbox|radio/.test(one.type) ? one.closest("label") : one;
    const {width, height} = (target ?? one).getBoundingClientRect();
    return one.checkVisibility() && Math.min(width, height) < least;
  }).map((one) => one.outerHTML.slice(0, 80)), TOUCH_PX);
  check(!small.length, `${what}, for a finger: ${small.slice(0, 3)}`);
}

/** Space fires wherever it has no use of its own, with Shift the single. */
async function checkSpace() {
  const page = await openWorkbench({}, listening);
  await openSounds(page, take);
  const held = async (keys, focused) => {
    await page.locator(focused).first().focus();
    for (const key of keys.split("+")) {
      await page.keyboard.down(key);
    }
    const all = await page.locator(".trigger").evaluateAll((triggers) =>
      triggers.filter(({dataset}) => dataset.held === "true")
        .map(({id}) => id).join());
    for (const key of keys.split("+")) {
      await page.keyboard.up(key);
    }
    return all;
  };
  await page.locator("#set-fire-rate").fill("7 ");
  for (const [screen, keys, focused, wanted] of [
    ["Sounds", "Space", "#deck input[type=range]", "trigger-rapid"],
    ["Sounds", "Shift+Space", "#deck input[type=range]", "trigger-single"],
    ["Sounds", "Space", "#trigger-single", "trigger-single"],
    ["Sounds", "Shift+Space", "#trigger-rapid", "trigger-single"],
    ["Sounds", "Enter", "#trigger-rapid", "trigger-rapid"],
    ["Sounds", "Space", "#set-fire-rate", ""],
    ["Sounds", "Space", "#compare", ""],
    ["Sounds", "Space", "#board", ""],
    ["Prop", "Space", "#prop .scroll", "trigger-rapid"],
    ["Prop", "Shift+Space", "#prop .scroll", "trigger-single"],
    ["Prop", "Space", "#prop-make", ""],
    ["Lamp", "Space", "#circuit-command", "trigger-rapid"],
    ["Check", "Space", "#checked", ""],
  ]) {
    await page.locator("#screens").getByText(screen, {exact: true}).click();
    const found = await held(keys, focused);
    check(found === wanted, `${keys} at ${screen}, ${focused}: ${found}`);
  }
  await page.locator("#screens").getByText("Prop", {exact: true}).click();
  check(/Choose the board/.test(await page.locator("#prop-error").textContent()),
    "a button has no space bar of its own");
  await page.context().close();
}

/** Every stop of the Tab key shows itself, and the last is the rapid fire. */
async function checkStops() {
  const page = await openWorkbench();
  await openSounds(page, take);
  for (const size of sizes) {
    await page.setViewportSize(size);
    for (const screen of ["Check", "Lamp", "Prop", "Sounds"]) {
      await page.locator("#screens").getByText(screen, {exact: true}).click();
      for (let i = 0, id = ""; id !== "trigger-rapid" && id !== "check-gap"; ++i) {
        await page.keyboard.press("Tab");
        id = await page.evaluate(() => document.activeElement.id);
        const shown = await page.evaluate(() => {
          const one = document.activeElement;
          const {outlineStyle} = getComputedStyle(one.matches(".unseen")
            ? one.previousElementSibling : one);
          return outlineStyle === "solid";
        });
        const [{html, holds}] = await inView(page, ":focus:not(.unseen), " +
          ".button:has(+ :focus)");
        check(shown && holds,
          `${screen}, ${size.width} wide, Tab ${i}: ${shown} ${html}`);
        if (i > 99) {
          check(false, `${screen}: a trap at ${html}`);
          break;
        }
      }
    }
  }
  await page.locator("#list button").first().press("Enter");
  await settle(page);
  check(await page.locator("#list button:focus").count() === 1,
    "the focus is lost as a sound is chosen");
  await page.context().close();
}

/** How far the page is wider than the window, with text of some size. */
function tooWide(page, fontSize = "100%") {
  return page.evaluate((size) => {
    const {style} = document.documentElement;
    style.fontSize = size;
    const wide = document.documentElement.scrollWidth - innerWidth;
    style.fontSize = "";
    return wide;
  }, fontSize);
}

/** Nothing found by axe-core, and nothing wider than the window. */
async function checkLooks(page, what) {
  for (const colorScheme of ["light", "dark"]) {
    for (const size of sizes) {
      await page.emulateMedia({colorScheme});
      await page.setViewportSize(size);
      const where = `${what}, ${colorScheme}, ${size.width} wide`;
      await checkAxeIn(page, where);
      checkMost(await tooWide(page), 0, "pixels too wide", where);
      if (size.width < 400) {
        checkMost(await tooWide(page, "200%"), 0, "pixels too wide",
          `${where}, text of twice the size`);
        await checkTouch(page, what);
      }
    }
  }
}

/** The bench sheet prints on one page, with nothing else on it. */
async function checkSheet(page) {
  await page.emulateMedia({media: "print"});
  const words = await page.locator("body").innerText();
  await page.emulateMedia({media: null});
  check(/^Bench sheet/.test(words) && /Wiring.*Cautions/s.test(words) &&
    !/Loud\.|Undo|volleyweave /.test(words), `printed: ${words}`);
  const pdf = await page.pdf({format: "A4"});
  const n = pdf.toString("latin1").match(/\/Type \/Page\b/g).length;
  checkMost(n, 1, "pages", "the bench sheet");
}

async function checkAccess() {
  const page = await openWorkbench();
  await checkLooks(page, "at the start");
  await opened(page, () => page.locator("#open-files").setInputFiles(
    ["a.wav", "b".repeat(150)].map((name) =>
      ({name, mimeType: "audio/wav", buffer: Buffer.from(name)}))));
  await checkLooks(page, "refused");
  await openSounds(page, take, take);
  for (const group of await page.locator("details").all()) {
    await group.evaluate((one) => one.toggleAttribute("open", true));
  }
  const screens = page.locator("#screens button");
  for (let i = await screens.count() - 1; i >= 0; --i) {
    await screens.nth(i).click();
    await checkLooks(page, await screens.nth(i).textContent());
  }
  await page.locator("#shown input[value='take']").check();
  await screens.nth(1).click();
  await page.locator("#prop-boards input").first().check();
  await page.locator("#prop-make").click();
  await page.locator("#prop-print:enabled").waitFor();
  await checkLooks(page, "a prop made");
  await checkSheet(page);
  await screens.nth(0).click();
  await set(page, {"set-fire-rate": "9000"});
  check(await page.locator("#bench-error").isVisible(), "no error is shown");
  await checkLooks(page, "an error");
  await page.context().close();
}

/** How quick it is: told, and held to bounds that no load reaches. */
async function checkTimes() {
  const fromMs = performance.now();
  const page = await openWorkbench({}, listening);
  await openDemo(page);
  await page.locator("#trigger-rapid").focus();
  await page.keyboard.down(" ");
  await until(page, () => globalThis.played.length > 0);
  checkMost(Math.round(performance.now() - fromMs), 20_000,
    "ms from opening to the first sound", "the demo take");
  await page.keyboard.up(" ");
  const takenMs = await page.evaluate(async () => {
    const slider = document.querySelector("#set-fire-rate").parentElement
      .querySelector("input[type='range']");
    const all = [];
    for (let i = 0; i < 30; ++i) {
      const startMs = performance.now();
      const made = new Promise((resolve) =>
        document.addEventListener("made", resolve, {once: true}));
      slider.value = String(5 + i / 4);
      slider.dispatchEvent(new Event("input"));
      await made;
      all.push(performance.now() - startMs);
    }
    return all;
  });
  takenMs.sort((a, b) => a - b);
  checkMost(Math.round(takenMs[15]), 5000, "ms from a slider to a new sound",
    "the median of 30");
  await page.context().close();
}

checkSize();
await checkPolicy();
await checkBadFiles();
await checkUndo();
await checkCompare();
await checkLong();
await checkStretch();
await checkKeyboard();
await checkDeck();
await checkSpace();
await checkStops();
await checkLamp();
await checkPlayhead();
await checkAccess();
await checkTimes();
await finish();
