// What the page plays against what the program renders, in a real browser.
// All bounds in dB and in seconds are chosen here.

import {join} from "node:path";
import {readFileSync, readdirSync} from "node:fs";
import {execSync} from "node:child_process";
import {bestGain, errorDb, isAsLong, readWav, toRate} from "./signal.mjs";
import {
  check, checkMost, finish, folder, open, program, run, take, unpackFloats,
  writeBoard,
} from "./tools.mjs";

const boards = {
  three: {repeat: "three-files", delay: "12ms", "on-release": "finishes"},
  stops: {gap: "25ms", delay: "30ms", "press-min": "20ms"},
  finishes: {gap: "25ms", "on-release": "finishes"},
  points: {
    "loop-points": "yes", repeat: "loop-points", "on-release": "finishes"},
};

const holds = [[0.05], [0.4], [1.2], [3], [0.3, 0.06, 0.3, 0.4, 0.1]];

/** Holds that end where a board looks at its trigger, and a frame after. */
function edges(name) {
  const {rateHz, values} = readWav(
    join(folder, name, "fog-knapper.loop.wav"));
  const looks = values.length + 0.025 * rateHz;
  return [0, 1].map((more) => [Number(
    ((Math.round(looks) + more) / rateHz).toFixed(9))]);
}

function asTimes(held) {
  return held.map((seconds) => `${seconds}s`).join(",");
}

/** The page's rendering of its first sound, at a device's rate. */
async function render(page, held, rateHz, speakerHz) {
  return unpackFloats(await page.evaluate(async (asked) => {
    const data = readData();
    const sound = data.sounds[0].rapid();
    const buffer = await renderHolds(
      sound, data.boards[0], asked.held, asked.rateHz, asked.speakerHz);
    return packFloats(buffer.getChannelData(0));
  }, {held, rateHz, speakerHz}));
}

async function checkHold(name, page, held) {
  const what = `${name}, ${asTimes(held)}`;
  run("rehearse", `${name}/fog-knapper.loop.wav`, "--hold", asTimes(held),
    "--board", `${name}.board.ini`, "--bits", "float", "-o", "held.wav",
    "--force");
  const wanted = readWav(join(folder, "held.wav"));
  const own = await render(page, held, wanted.rateHz, 0);
  const db = errorDb(own, wanted.values, 1);
  checkMost(db, -90, "dB off at the file's own rate", what);
  check(isAsLong(own, wanted.values), `${what}: length`);
  for (const rateHz of [44100, 48000]) {
    const ideal = toRate(wanted.values, wanted.rateHz, rateHz);
    const got = await render(page, held, rateHz, 0);
    const off = errorDb(got, ideal, 0.8 * wanted.rateHz / rateHz);
    checkMost(off, -60, `dB off at ${rateHz} Hz`, what);
    const length = own.length * rateHz / wanted.rateHz;
    check(Math.abs(got.length - length) <= 1, `${what}: length at ${rateHz}`);
  }
  await checkLamp(what, page, held);
}

/** The lamp's times in the page against those beside the program's file. */
async function checkLamp(what, page, held) {
  const wanted = JSON.parse(
    readFileSync(join(folder, "held.lamp.json"), "utf8")).lamp;
  const got = await page.evaluate((times) => {
    const data = readData();
    const sound = data.sounds[0].rapid();
    const plays = followBoard(
      playingOf(sound, data.boards[0]), pressesOf(times, sound.rateHz));
    return flashesOf(plays, sound, sound.lampOnS);
  }, held);
  check(got.length === wanted.length,
    `${what}: ${got.length} flashes, ${wanted.length} wanted`);
  got.forEach(({onS, offS}, i) => {
    const off = Math.max(
      Math.abs(onS - wanted[i]?.on_s), Math.abs(offS - wanted[i]?.off_s));
    checkMost(off, 0.005, "seconds a flash is off", `${what}: ${i}`);
  });
}

async function checkSpeaker(name, page) {
  run("rehearse", `${name}/fog-knapper.loop.wav`, "--hold", "0.7s", "--board",
    `${name}.board.ini`, "--bits", "float", "-o", "held.wav", "--force",
    "--through-speaker", "--speaker", "20mm");
  const wanted = readWav(join(folder, "held.wav"));
  const got = await render(page, [0.7], wanted.rateHz, 800);
  const db = errorDb(got, wanted.values, 1);
  checkMost(db, -90, "dB off through the speaker", name);
}

/* Bursts laid anew */

const relays = [
  {fireRatePerS: 9, valleyDb: 9, tail: "overlap", shots: 0},
  {fireRatePerS: 6.3, valleyDb: 20, tail: "overlap", shots: 3},
  {fireRatePerS: 13, valleyDb: null, tail: "choke", shots: 0},
  {fireRatePerS: 11.1, valleyDb: 12, tail: "choke", shots: 5},
];

/** The files of a burst joined as a board would with one loop between. */
function joined(path) {
  const part = (name) => {
    const file = readdirSync(path).find((one) => one.includes(`.${name}.`));
    return file ? Array.from(readWav(join(path, file)).values) : [];
  };
  return [...part("runin"), ...part("loop"), ...part("ringout")];
}

async function checkRelay(name, page, options) {
  const {packed, command} = await page.evaluate((asked) => {
    const written = readData().sounds[0].relay();
    const {files} = relay(written, asked);
    const order = [files.runIn, files.main, files.ringOut].filter(Boolean);
    return {
      packed: packFloats(
        order.flatMap(({channels}) => Array.from(channels[0]))),
      command: commandFor(written, asked)};
  }, options);
  const values = unpackFloats(packed);
  const what = `${name}: ${command}`;
  check(command.startsWith("volleyweave loop "), what);
  execSync("rm -rf again; mkdir again", {cwd: folder});
  execSync(`volleyweave() { "${program}" "$@"; }; ${command} -q -o again`,
    {cwd: folder, shell: "/bin/bash"});
  const wanted = joined(join(folder, "again"));
  check(values.length === wanted.length,
    `${what}: ${values.length} frames, ${wanted.length} wanted`);
  const gain = bestGain(values, wanted);
  const db = errorDb(values.map((x) => gain * x), wanted, 1);
  checkMost(db, -60, "dB off laid anew", what);
}

for (const [name, keys] of Object.entries(boards)) {
  const board = writeBoard(name, keys);
  run("loop", "--board", board, "--fire-rate", "9", "-q", "-o", `${name}/`,
    take);
  run("tryout", "--board", board, "--fire-rate", "9", "-q", "-o",
    `${name}.html`, take);
  const page = await open(`${name}.html`);
  const own = name === "finishes" ? edges(name) : [];
  for (const held of [...holds, ...own]) {
    await checkHold(name, page, held);
  }
  await checkSpeaker(name, page);
  for (const options of relays) {
    await checkRelay(name, page, options);
  }
}
await finish();
