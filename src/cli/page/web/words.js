// Figures in words.

const NONE = "\u2013";

/** A number with its unit, or a dash. */
function inWords(number, decimals, unit) {
  return typeof number === "number" && Number.isFinite(number)
    ? `${number.toFixed(decimals)}${unit ? "\u00a0" + unit : ""}`
    : NONE;
}

function bytesInWords(bytes) {
  const units = ["B", "kB", "MB", "GB"];
  const power = Math.min(
    3, Math.max(0, Math.floor(Math.log10(Math.max(bytes, 1)) / 3)));
  return inWords(bytes / 1000 ** power, power ? 1 : 0, units[power]);
}

const rapidWords = {
  "three-files": () => "run-in, loop while held, then ring-out",
  "loop-points": (stops) => stops
    ? "loops while held, silent at the release"
    : "loops while held, then its ending",
  "whole-file": (stops) => stops
    ? "repeats while held, silent at the release"
    : "repeats while held, finishes the last",
  "nothing": (stops) => "once at each press, " +
    (stops ? "silent at the release" : "plays to its end"),
};

/** What a trigger's sound does on a board, held and let go. */
function doesOf(sound, board) {
  return rapidWords[sound.repeat](board.release === "stops");
}

const holdWords = {
  "three-files": "run-in, then loops",
  "loop-points": "loops",
  "whole-file": "repeats",
  "nothing": "plays once",
};

function holdOf(sound) {
  return holdWords[sound.repeat];
}

function releaseOf(sound, board) {
  const ends = {"three-files": "ring-out", "loop-points": "its ending"};
  return sound.repeat !== "three-files" && board.release === "stops"
    ? "silent"
    : ends[sound.repeat] ?? "finishes";
}

/** The shortest sound that a touch of the trigger makes. */
function tapOf(sound, board) {
  const seconds = (file) => file ? file.nFrames / sound.rateHz : 0;
  const {main, runIn, ringOut} = sound.files;
  if (sound.repeat === "three-files") {
    return "run-in and ring-out, " +
      inWords(seconds(runIn) + board.gapMs / 1000 + seconds(ringOut), 2, "s");
  }
  if (board.release === "stops") {
    return "while held";
  }
  const shots = main.shots.length;
  const what = shots > 1 ? `${shots} shots` : shots ? "one shot" : "the sound";
  return `${what}, ${inWords(seconds(main), 2, "s")}`;
}

/** How long a sound may go on after the release, in seconds. */
function overrunS(sound, board) {
  const seconds = (file) => file ? file.nFrames / sound.rateHz : 0;
  const {main, runIn, ringOut} = sound.files;
  const gapS = board.gapMs / 1000;
  if (sound.repeat === "three-files") {
    return Math.max(seconds(main), seconds(runIn)) + gapS + seconds(ringOut);
  }
  if (board.release === "stops") {
    return 0;
  }
  return seconds(main);
}

/** Shots per second while a trigger is held, or null. */
function pulseOf(sound, board) {
  const {main} = sound.files;
  const cycle = main.nFrames / sound.rateHz + board.gapMs / 1000;
  return sound.repeat === "whole-file"
    ? main.shots.length / cycle || null
    : sound.fireRatePerS;
}

/** An element with a text, and what else it has. */
function element(name, text, attributes = {}) {
  const made = document.createElement(name);
  made.textContent = text;
  for (const [key, value] of Object.entries(attributes)) {
    made.setAttribute(key, value);
  }
  return made;
}

/** A name from elsewhere: its direction of writing stays within it. */
function nameElement(name) {
  return element("bdi", name);
}

/** A command line, which is broken between its words alone. */
function commandElements(line) {
  return line.split(/( )/).filter(Boolean).map((word) =>
    word === " " ? word : element("span", word, {class: "word"}));
}

/** A text in which no number is parted from its unit. */
function unparted(text) {
  return text.replaceAll(/(\d) (?=[%a-zA-Z]{1,4}\b|%)/g, "$1\u00a0");
}

function byId(id) {
  return document.getElementById(id);
}

/** The facts of a sound that there are, as pairs. */
function factsOf(sound) {
  const report = sound.report ?? {};
  const {loop, level, lamp} = report;
  const baseOf = ({path}) => path.split("/").at(-1);
  const shot = Array.isArray(report.shots) ? report.shots[0] : report.shot;
  return [
    [report.command === "pack" ? "Files" : "Would be called",
      (report.files ?? []).map(baseOf).join(", ") || NONE],
    ["Kind", shot
      ? shot.kind + (shot.shots_in_take > 1 ? `, ${shot.shots_in_take} shots` : "")
      : NONE],
    ["Length of the shot", inWords(shot?.length_ms, 0, "ms")],
    ["Fires untouched up to", inWords(shot?.fastest_fire_rate_per_s, 1, "per\u00a0s")],
    ["Fire rate", inWords(loop?.fire_rate_per_s, 3, "per\u00a0s")],
    ["Shots in the loop", inWords(loop?.shots, 0, "")],
    ["Valley", inWords(loop?.valley_db, 1, "dB")],
    ["Seam", inWords(loop?.join_residual_db, 0, "dB")],
    ["Loudness of the shot", inWords(level?.shot_loudness_lufs, 1, "LUFS")],
    ["Loudness of the burst", inWords(level?.burst_loudness_lufs, 1, "LUFS")],
    ["True peak", inWords(level?.true_peak_dbtp, 1, "dBTP")],
    ["Limiting", inWords(level?.limiting_db, 1, "dB")],
    ["Lamp", lamp
      ? `${inWords(lamp.pulse_hz, 2, "flashes per\u00a0s")}, ` +
        `${inWords(lamp.on_ms, 0, "ms on")}`
      : NONE],
    ["Size", bytesInWords(sound.bytes)],
    ["Slot", sound.slot ? String(sound.slot) : NONE],
    ["Made again by", sound.madeBy ?? NONE],
  ].filter(([, text]) => text !== NONE);
}
