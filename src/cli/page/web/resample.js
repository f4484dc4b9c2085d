// From the file's sample rate to the device's: a sinc under a Kaiser window. A
// browser's own conversion between buffers is far too coarse.

// Lobes on either side, of the lower of the two rates. With the window's 80 dB
// the passage from pass to stop takes 0.126 of the half-rate (J. F. Kaiser,
// "Nonrecursive digital filter design using the I0-sinh window function",
// ISCAS 1974): flat to 0.857, nothing left from 0.983 on.
const LOBES = 40;
const BETA = 0.1102 * (80 - 8.7);
const MIDDLE = 0.92;

/** The modified Bessel function of order zero, by its series. */
function bessel0(x) {
  let sum = 1;
  let term = 1;
  for (let k = 1; term > sum * 1e-17; ++k) {
    term *= (x / 2 / k) ** 2;
    sum += term;
  }
  return sum;
}

function greatestDivisor(a, b) {
  return b ? greatestDivisor(b, a % b) : a;
}

/** The kernel's values for output frames that lie `phase` behind an input's. */
function kernelOf(phase, half, cutoff) {
  const taps = new Float64Array(2 * half);
  const width = LOBES / Math.min(1, cutoff / MIDDLE);
  for (let i = 0; i < taps.length; ++i) {
    const x = i - half + 1 - phase;
    const inside = 1 - (x / width) ** 2;
    const turn = Math.PI * cutoff * x;
    const sinc = turn === 0 ? 1 : Math.sin(turn) / turn;
    taps[i] = inside <= 0
      ? 0
      : cutoff * sinc * bessel0(BETA * Math.sqrt(inside)) / bessel0(BETA);
  }
  return taps;
}

/** How frames of one rate are made from those of another. */
function makeResampler(fromHz, toHz) {
  const divisor = greatestDivisor(fromHz, toHz);
  const cutoff = MIDDLE * Math.min(1, toHz / fromHz);
  return {
    fromHz,
    toHz,
    same: fromHz === toHz,
    step: fromHz / divisor,
    nPhases: toHz / divisor,
    cutoff,
    // How many frames of the input a frame of the output looks either way.
    reach: fromHz === toHz ? 0 : Math.ceil(LOBES * Math.max(1, fromHz / toHz)),
    kernels: new Map(),
  };
}

function kernelAt(resampler, phase) {
  let kernel = resampler.kernels.get(phase);
  if (!kernel) {
    kernel =
      kernelOf(phase / resampler.nPhases, resampler.reach, resampler.cutoff);
    resampler.kernels.set(phase, kernel);
  }
  return kernel;
}

/**
 * Output frames [from, to).
 *
 * @param read Gives input frames [from, to); they may lie before the start.
 */
function resample(resampler, read, from, to) {
  if (resampler.same) {
    return read(from, to);
  }
  const {step, nPhases, reach} = resampler;
  const first = Math.floor(from * step / nPhases) - reach + 1;
  const last = Math.floor((to - 1) * step / nPhases) + reach + 1;
  const input = read(first, last);
  const output = new Float64Array(to - from);
  for (let i = 0; i < output.length; ++i) {
    const position = (from + i) * step;
    const whole = Math.floor(position / nPhases);
    const taps = kernelAt(resampler, position - whole * nPhases);
    const start = whole - reach + 1 - first;
    let sum = 0;
    for (let k = 0; k < taps.length; ++k) {
      sum += taps[k] * input[start + k];
    }
    output[i] = sum;
  }
  return output;
}
