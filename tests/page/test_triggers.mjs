// What a trigger plays, frame by frame, against what the program rehearses with
// the same files; and who holds it: mouse, fingers, keys, a screen reader.

import {readFileSync} from "node:fs";
import {join} from "node:path";
import {
  check, checkMost, finish, folder, run, take, unpackFloats, writeBoard,
} from "./tools.mjs";
import {openSounds, openWorkbench, settle, until} from "./workbench.mjs";

const boards = {
  three: {repeat: "three-files", delay: "12ms", "on-release": "finishes"},
  late: {repeat: "three-files", delay: "350ms"},
  stops: {gap: "25ms", delay: "30ms", "press-min": "20ms"},
  finishes: {gap: "25ms", "press-min": "20ms", "on-release": "finishes"},
  points: {
    "loop-points": "yes", repeat: "loop-points", "on-release": "finishes"},
  breaks: {"loop-points": "yes", repeat: "loop-points", delay: "5ms"},
  track: {channels: "2", "on-release": "finishes"},
};

// None ends in the middle between two frames, at whole 10 ms; the presses of
// the last are so quick that most meet what still sounds.
const holds = [[0.051], [0.015], [0.401], [1.203], [3.001],
  [0.301, 0.062, 0.303, 0.405, 0.101], [0.911, 0.703, 0.402],
  Array.from({length: 41}, (_, i) => 0.0301 + 0.01 * (i % 7))];

/**
 * Runs in a page before its script: a device whose time stands still until the
 * test lets it go on, and a note of all that it is handed.
 */
function standIn() {
  const device = {atS: 1, plays: [], timers: new Map(), isAwake: true};
  globalThis.device = device;
  performance.now = () => device.atS * 1000;
  globalThis.setInterval = (act) => {
    device.timers.set(act, act);
    return act;
  };
  globalThis.clearInterval = (act) => device.timers.delete(act);
  globalThis.AudioContext = class {
    constructor({sampleRate}) {
      this.sampleRate = sampleRate;
      this.waking = new Promise((resolve) => {
        device.wake = () => {
          device.isAwake = true;
          resolve();
        };
      });
    }

    get state() {
      return device.isAwake ? "running" : "suspended";
    }

    get currentTime() {
      return device.atS;
    }

    resume() {
      return this.waking;
    }

    createBuffer(numberOfChannels, length, sampleRate) {
      return new AudioBuffer({numberOfChannels, length, sampleRate});
    }
  };
  globalThis.GainNode = class {
    connect() {}
  };
  const Real = AudioBufferSourceNode;
  globalThis.AudioBufferSourceNode = class {
    constructor(context, {buffer}) {
      this.buffer = buffer;
      device.plays.push(this);
    }

    connect() {}

    start(atS) {
      this.fromS = Math.max(atS, device.atS);
    }

    stop(atS = 0) {
      this.toS = Math.min(this.toS ?? Infinity, Math.max(atS, device.atS));
    }
  };
  /** What a browser makes of all that was handed over, from a time on. */
  device.render = async (fromS, nFrames, rateHz) => {
    const context = new OfflineAudioContext(1, nFrames, rateHz);
    for (const {buffer, fromS: startS, toS} of device.plays) {
      if (!(toS <= startS)) {
        const source = new Real(context, {buffer});
        source.connect(context.destination);
        source.start(startS - fromS);
        if (toS !== undefined) {
          source.stop(toS - fromS);
        }
      }
    }
    return packFloats((await context.startRendering()).getChannelData(0));
  };
  /** Let the device's time go on; what is done at each step. */
  device.run = (seconds, each = () => {}) => {
    const toS = device.atS + seconds;
    while (device.atS < toS) {
      device.atS = Math.min(toS, device.atS + 0.001);
      device.timers.forEach((act) => act());
      each();
    }
  };
}

const LOOP = "fog-knapper.loop.wav";

// Between a press and the first frame that the page can play for it.
const LEAD_S = 0.02;

// A browser reads positive values of 16 bits as parts of 32767, others as parts
// of 32768.
const STEP = 2 ** -15;

/** A WAV file of floats: its rate and its first channel. */
function readFloats(name) {
  const bytes = readFileSync(join(folder, name));
  const nChannels = bytes.readUInt16LE(22);
  const at = bytes.indexOf("data") + 8;
  return {rateHz: bytes.readUInt32LE(24), values: Float64Array.from(
    {length: (bytes.length - at) / 4 / nChannels},
    (_, i) => bytes.readFloatLE(at + 4 * nChannels * i))};
}

const asTimes = (held) => held.map((seconds) => `${seconds.toFixed(9)}s`)
  .join(",");

/** Hold the rapid trigger so; when the lamp would be lit, as it is heard. */
async function hold(page, held) {
  await page.evaluate(() => {
    // A time of its own, long after all before.
    device.atS = Math.ceil(device.atS + 10);
    device.plays = [];
    device.fromS = device.atS;
  });
  await page.locator("#trigger-rapid").focus();
  for (const [i, seconds] of held.entries()) {
    await (i % 2 ? page.keyboard.up(" ") : page.keyboard.down(" "));
    await page.evaluate((s) => device.run(s), seconds);
  }
  await page.keyboard.up(" ");
}

/** Holds that end where a board looks at its trigger, and a frame after. */
function edgesOf({gap, "press-min": delay}, path) {
  const bytes = readFileSync(join(folder, path));
  const rateHz = bytes.readUInt32LE(24);
  const frames = bytes.readUInt32LE(bytes.indexOf("data") + 4) / 2 +
    Math.round((parseFloat(gap) + parseFloat(delay)) / 1000 * rateHz);
  return [0, 1].map((more) => [(frames + more) / rateHz]);
}

async function checkHold(page, name, held) {
  const what = `${name}, ${asTimes(held)}`;
  run("rehearse", `${name}/${LOOP}`, "--hold", asTimes(held),
    "--board", `${name}.board.ini`, "--bits", "float", "-o", "held.wav",
    "--force", "-q");
  const wanted = readFloats("held.wav");
  await hold(page, held);
  const n = wanted.values.length;
  const values = unpackFloats(await page.evaluate(([leadS, nFrames, rateHz]) =>
    device.render(device.fromS + leadS, nFrames, rateHz),
  [LEAD_S, n + wanted.rateHz, wanted.rateHz]));
  checkMost(wanted.values.reduce((most, x, i) =>
    Math.max(most, Math.abs(x - values[i])), 0), STEP, "off what is rehearsed",
  what);
  check(values.subarray(n).every((x) => x === 0), `${what}: goes on`);
}

async function checkBoard(name, keys) {
  const board = writeBoard(name, keys);
  const more = name === "track" ? ["--lamp-track"] : [];
  run("loop", "--board", board, "--fire-rate", "9", ...more, "-q", "-o",
    `${name}/`, take);
  const page = await openWorkbench({}, standIn);
  await openSounds(page, join(folder, board), take);
  await page.evaluate((asked) => {
    for (const [id, value] of Object.entries(asked)) {
      const field = document.getElementById(id);
      field.value = value;
      field.checked = true;
      field.dispatchEvent(new Event("change"));
    }
  }, {"set-fire-rate": "9", ...more.length && {"set-lamp-track": ""}});
  await settle(page);
  const edges = name === "finishes" ? edgesOf(keys, `${name}/${LOOP}`) : [];
  for (const held of [...holds, ...edges]) {
    await checkHold(page, name, held);
  }
  await page.context().close();
}

/** A press is as long as it was, however long the browser takes to wake. */
async function checkWaking() {
  const page = await openWorkbench({}, standIn);
  await openSounds(page, take);
  await page.evaluate(() => {
    device.isAwake = false;
  });
  await hold(page, [1.203]);
  check(await page.evaluate(() => device.plays.length) === 0, "played asleep");
  await page.evaluate(() => device.wake());
  await until(page, () => device.plays.length > 0);
  const names = await page.evaluate(() => device.plays.map(({buffer, toS}) =>
    toS === undefined ? buffer.length : 0).filter(Boolean));
  const {files, loop} = JSON.parse(
    run("loop", "--json", "--dry-run", take).split("\n")[0]);
  const framesOf = (wanted) => files.find(({part}) => part === wanted).frames;
  const nLoops = Math.ceil((1.203 * files[0].sample_rate_hz -
    framesOf("runin")) / loop.frames);
  const wanted = [framesOf("runin"), ...Array(nLoops).fill(loop.frames),
    framesOf("ringout")];
  check(String(names) === String(wanted), `woken: ${names} for ${wanted}`);
  await page.context().close();
}

const isHeld = (page) =>
  page.evaluate(() =>
    document.querySelector("#trigger-rapid").dataset.held === "true");

/** Each way to hold it, and all that lets go. */
async function checkHands() {
  const page = await openWorkbench({hasTouch: true});
  await openSounds(page, take);
  const trigger = page.locator("#trigger-rapid");
  await trigger.scrollIntoViewIfNeeded();
  const box = await trigger.boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const touch = await page.context().newCDPSession(page);
  const fingers = (type, ...points) => () => touch.send(
    "Input.dispatchTouchEvent", {type, touchPoints: points.map((id) =>
      ({x: x + id, y, id}))});
  const key = (name, ...words) => () => page.keyboard[name](...words);
  const mouse = (name) => () => page.mouse[name]();
  const event = (type, target = "document.activeElement") => () =>
    page.evaluate(
      `${target}.dispatchEvent(new Event("${type}", {bubbles: true}))`);
  await trigger.focus();
  await page.mouse.move(x, y);
  const steps = [
    ["mouse", mouse("down"), true], ["key too", key("down", " "), true],
    ["key alone", mouse("up"), true], ["neither", key("up", " "), false],
    ["Enter", key("down", "Enter"), true],
    ["Space too", key("down", " "), true],
    ["Space alone", key("up", "Enter"), true], ["none", key("up", " "), false],
    ["another key", key("down", "a"), false], ["it up", key("up", "a"), false],
    ["finger", fingers("touchStart", 1), true],
    ["two fingers", fingers("touchStart", 1, 2), true],
    ["one of two", fingers("touchEnd", 1), true],
    ["no finger", fingers("touchEnd"), false],
    ["finger again", fingers("touchStart", 1), true],
    ["cancelled", fingers("touchCancel"), false],
    ["mouse again", mouse("down"), true],
    ["out of the button", () => page.mouse.move(2, 2), true],
    ["up elsewhere", mouse("up"), false],
    ["back", () => page.mouse.move(x, y), false],
    ["mouse down", mouse("down"), true],
    ["capture lost", () => trigger.evaluate((one) => one.dispatchEvent(
      new PointerEvent("lostpointercapture", {pointerId: 1}))), false],
    ["mouse up", mouse("up"), false],
    ["right button", () => page.mouse.down({button: "right"}), false],
    ["right up", () => page.mouse.up({button: "right"}), false],
    ["key once more", key("down", " "), true],
    ["focus moved on", () => page.locator("#open-files").focus(), true],
    ["key up", key("up", " "), false],
    ["mouse once more", mouse("down"), true],
    ["window left", event("blur", "globalThis"), false],
    ["its mouse up", mouse("up"), false],
    ["mouse at last", mouse("down"), true],
    ["page hidden", event("visibilitychange", "document"), false],
    ["the last up", mouse("up"), false],
  ];
  for (const [what, act, wanted] of steps) {
    await act();
    check(await isHeld(page) === wanted, `${what}: held is ${!wanted}`);
  }
  await page.context().close();
}

/** A press that a screen reader makes is a short one of its own. */
async function checkClick() {
  const page = await openWorkbench();
  await openSounds(page, take);
  await page.evaluate(() => {
    globalThis.changes = [];
    const trigger = document.querySelector("#trigger-rapid");
    new MutationObserver(() => globalThis.changes.push(trigger.dataset.held))
      .observe(trigger, {attributes: true});
    trigger.click();
  });
  await until(page, () => globalThis.changes.length > 1);
  check(String(await page.evaluate(() => globalThis.changes)) === "true,false",
    "a click is no press");
  await page.context().close();
}

for (const [name, keys] of Object.entries(boards)) {
  await checkBoard(name, keys);
}
await checkWaking();
await checkHands();
await checkClick();
await finish();
