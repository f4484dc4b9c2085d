// Sounds in files, and measures of them, by code of the tests' own.

import {readFileSync} from "node:fs";

/** A WAV file of 16 bits or floats: its rate and its first channel. */
export function readWav(path) {
  const bytes = readFileSync(path);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const tag = view.getUint16(20, true);
  const channels = view.getUint16(22, true);
  let at = 12;
  while (bytes.toString("latin1", at, at + 4) !== "data") {
    at += 8 + view.getUint32(at + 4, true);
  }
  const size = tag === 3 ? 4 : 2;
  const n = view.getUint32(at + 4, true) / size / channels;
  const values = Float64Array.from({length: n}, (_, i) => {
    const place = at + 8 + i * channels * size;
    return tag === 3
      ? view.getFloat32(place, true)
      : view.getInt16(place, true) / 32768;
  });
  return {rateHz: view.getUint32(24, true), values};
}

/** Whether what is heard is as long as a file, but for the frame of silence
 * that a file ends with if a board breaks its sound off. */
export function isAsLong(got, values) {
  const silent = values[values.length - 1] === 0 && got[got.length - 1] !== 0;
  return got.length === values.length - (silent ? 1 : 0);
}

function sinc(x) {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
}

// So long that what its window does to the band up to 0.8 of the half-rate is
// below -100 dB.
const LOBES = 200;

/** The taps for outputs that lie `part` of a frame behind an input's. */
function tapsAt(part, scale) {
  const reach = Math.ceil(LOBES / scale);
  return Float64Array.from({length: 2 * reach + 1}, (_, i) => {
    const d = part + reach - i;
    return Math.abs(d) > reach
      ? 0
      : scale * sinc(d * scale) * (0.5 + 0.5 * Math.cos(Math.PI * d / reach));
  });
}

/** Values at another rate, by a sinc under a Hann window. */
export function toRate(values, fromHz, toHz) {
  const n = Math.floor(values.length * toHz / fromHz + 0.5);
  const scale = Math.min(1, toHz / fromHz);
  const reach = Math.ceil(LOBES / scale);
  const taps = new Map();
  const padded = new Float64Array(values.length + 2 * reach + 2);
  padded.set(values, reach);
  return Float64Array.from({length: n}, (_, m) => {
    const phase = m * fromHz % toHz;
    const whole = (m * fromHz - phase) / toHz;
    if (!taps.has(phase)) {
      taps.set(phase, tapsAt(phase / toHz, scale));
    }
    const own = taps.get(phase);
    let sum = 0;
    for (let i = 0; i < own.length; ++i) {
      sum += own[i] * padded[whole + i];
    }
    return sum;
  });
}

/** Power in [0, share of the half-rate), by a transform of powers of two. */
function bandPower(values, share) {
  let n = 2;
  while (n < values.length) {
    n *= 2;
  }
  const re = new Float64Array(n);
  const im = new Float64Array(n);
  re.set(values);
  transform(re, im);
  let sum = 0;
  for (let k = 0; k < n / 2 * share; ++k) {
    sum += re[k] ** 2 + im[k] ** 2;
  }
  return sum;
}

/** In place, radix two (Cooley and Tukey, 1965). */
function transform(re, im) {
  const n = re.length;
  for (let i = 1, j = 0; i < n; ++i) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) {
      j ^= bit;
    }
    j ^= bit;
    if (i < j) {
      [re[i], re[j]] = [re[j], re[i]];
    }
  }
  for (let size = 2; size <= n; size *= 2) {
    const turn = -2 * Math.PI / size;
    for (let k = 0; k < size / 2; ++k) {
      const c = Math.cos(turn * k);
      const s = Math.sin(turn * k);
      for (let i = k; i < n; i += size) {
        const j = i + size / 2;
        const x = re[j] * c - im[j] * s;
        const y = re[j] * s + im[j] * c;
        re[j] = re[i] - x;
        im[j] = im[i] - y;
        re[i] += x;
        im[i] += y;
      }
    }
  }
}

/** How far `values` are from `wanted`, dB below that, within a band. */
export function errorDb(values, wanted, share) {
  const n = Math.max(values.length, wanted.length);
  const difference = Float64Array.from(
    {length: n}, (_, i) => (values[i] ?? 0) - (wanted[i] ?? 0));
  const power = bandPower(wanted, share);
  const error = bandPower(difference, share);
  return error > 0 ? 10 * Math.log10(error / power) : -300;
}

/** The gain that brings `values` nearest to `wanted`. */
export function bestGain(values, wanted) {
  let cross = 0;
  let own = 0;
  for (let i = 0; i < values.length; ++i) {
    cross += values[i] * (wanted[i] ?? 0);
    own += values[i] ** 2;
  }
  return cross / own;
}

export function peakOf(values) {
  return values.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
}
