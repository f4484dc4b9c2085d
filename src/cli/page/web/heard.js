// The fire rate that is heard, measured in the sound itself: shots are told by
// their crests on the curve of the level, as in the library's
// src/board/crests.c.

// As in the library: src/signal/signal.h, crests.c. Step and least power are
// chosen here.
const CURVE_STEP_S = 0.001;
const CURVE_WINDOW_S = 0.01;
const CREST_DB = 4.5;
const CREST_RANGE_DB = 12;
const CURVE_CORNER_HZ = 100;
const CURVE_LEAST = 1e-8;

/** Level over time in dB, a value each step: 10 ms of Hann window at least. */
function levelCurve(values, rateHz, stepS = CURVE_STEP_S) {
  const step = stepS * rateHz;
  const half = Math.round(Math.max(CURVE_WINDOW_S, stepS) * rateHz / 2);
  const window = Float64Array.from({length: 2 * half + 1}, (_, i) =>
    (0.5 - 0.5 * Math.cos(Math.PI * (i + 1) / (half + 1))) / (half + 1));
  const n = Math.floor(values.length / step);
  return Float64Array.from({length: n}, (_, k) => {
    const from = Math.round(k * step) - half;
    let power = 0;
    window.forEach((weight, i) => {
      power += weight * (values[from + i] ?? 0) ** 2;
    });
    return 10 * Math.log10(power + CURVE_LEAST);
  });
}

/** Where the crests of a curve lie, between its values too. */
function crestsOf(curve) {
  const crests = [];
  let lowest = Infinity;
  let best = null;
  curve.forEach((db, i) => {
    if (best !== null && db < curve[best] - CREST_DB) {
      crests.push(best);
      best = null;
      lowest = db;
    }
    lowest = Math.min(lowest, db);
    if (db > lowest + CREST_DB && (best === null || db > curve[best])) {
      best = i;
    }
  });
  const highest = crests.reduce(
    (most, i) => Math.max(most, curve[i]), -Infinity);
  return crests.filter((i) => curve[i] > highest - CREST_RANGE_DB).map((i) => {
    const [a, b, c] = [curve[i - 1] ?? curve[i], curve[i],
      curve[i + 1] ?? curve[i]];
    const bend = a - 2 * b + c;
    return i + (bend < 0 ? 0.5 * (a - c) / bend : 0);
  });
}

// So long is listened back, and by so many crests: chosen here.
const LISTEN_S = 2;
const CRESTS_LEAST = 3;

/**
 * Shots per second in what a line lets be heard before a time, or null.
 *
 * @param atS The device's time.
 */
function rateInSound(line, atS) {
  const {sound, context} = line;
  if (line.origin === null || !line.plays.length) {
    return null;
  }
  const frame = (timeS) =>
    Math.floor((timeS - line.origin / context.sampleRate) * sound.rateHz);
  const to = frame(atS);
  const from = Math.max(0, frame(atS - LISTEN_S));
  if (to - from < CURVE_WINDOW_S * sound.rateHz) {
    return null;
  }
  const heard = mix(line.plays, sound, 0, from, to, line.speakerHz);
  const filter = highPass(CURVE_CORNER_HZ, sound.rateHz);
  const crests = crestsOf(
    levelCurve(heard.map((value) => filter(value)), sound.rateHz));
  return crests.length < CRESTS_LEAST
    ? null
    : (crests.length - 1) / (crests.at(-1) - crests[0]) / CURVE_STEP_S;
}
