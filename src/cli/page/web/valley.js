// The valley between shots, as in the library's src/burst/valley.c and
// src/signal/envelope.c.

const WINDOW_S = 0.010;
const LEVEL_CORNER_HZ = 100;
const QUIET_SHARE = 5;
const DEEPEST_DB = 60;
const READS_PER_S = 48000;
const LEVEL_SETTLE_S = 0.1;

/** Add one channel's squares behind the high-pass, settled on the cycle. */
function addPower(cycle, rateHz, nLead, nChannels, power) {
  const filter = highPass(LEVEL_CORNER_HZ, rateHz);
  const nSettle = framesOfS(LEVEL_SETTLE_S, rateHz);
  const nCycle = cycle.length;
  const nBefore = nLead + nSettle;
  let at = (Math.ceil(nBefore / nCycle) * nCycle - nBefore) % nCycle;
  for (let i = 0; i < nSettle + power.length; ++i) {
    const y = filter(cycle[at]);
    if (i >= nSettle) {
      power[i - nSettle] += y * y / nChannels;
    }
    at = at + 1 === nCycle ? 0 : at + 1;
  }
}

/**
 * A moving mean with Hann weights: a constant and one turn of a cosine, so that
 * three running sums give it everywhere.
 */
function hannMeans(values, nWindow) {
  const n = values.length;
  const turn = 2 * Math.PI / nWindow;
  const sums = [0, 1, 2].map(() => new Float64Array(n + 1));
  for (let i = 0; i < n; ++i) {
    sums[0][i + 1] = sums[0][i] + values[i];
    sums[1][i + 1] = sums[1][i] + values[i] * Math.cos(turn * i);
    sums[2][i + 1] = sums[2][i] + values[i] * Math.sin(turn * i);
  }
  const half = Math.floor(nWindow / 2);
  return (at) => {
    const from = Math.max(0, at - half);
    const to = Math.min(n, at + nWindow - half);
    const sum = sums[0][to] - sums[0][from] +
      (sums[1][to] - sums[1][from]) * Math.cos(turn * at) +
      (sums[2][to] - sums[2][from]) * Math.sin(turn * at);
    return Math.max(sum, 0) / nWindow;
  };
}

/** Depth of the quiet, the mean of the lowest fifth, below the crest. */
function valleyOfLevels(levels) {
  const sorted = levels.sort();
  const crest = sorted[sorted.length - 1];
  const nQuiet = Math.max(1, Math.floor(sorted.length / QUIET_SHARE));
  const quiet = sorted.subarray(0, nQuiet).reduce((a, b) => a + b, 0) / nQuiet;
  if (!(crest > 0)) {
    return 0;
  }
  return quiet > crest * 10 ** (-DEEPEST_DB / 10)
    ? 10 * Math.log10(crest / quiet)
    : DEEPEST_DB;
}

/** The valley of a steady cycle, of its shallowest shot, in dB. */
function measureValley(cycle, plan) {
  const nLead = framesOfS(WINDOW_S, plan.rateHz);
  const power = new Float64Array(plan.nFrames + 2 * nLead);
  for (const values of cycle) {
    addPower(values, plan.rateHz, nLead, cycle.length, power);
  }
  const mean = hannMeans(power, nLead);
  const step = Math.max(1, Math.floor(plan.rateHz / READS_PER_S));
  let valleyDb = DEEPEST_DB;
  for (let shot = 0; shot < plan.shots; ++shot) {
    const from = planStart(plan, shot);
    const to = planStart(plan, shot + 1);
    const levels = new Float64Array(Math.ceil((to - from) / step));
    for (let i = 0; i < levels.length; ++i) {
      levels[i] = mean(from + i * step + nLead);
    }
    valleyDb = Math.min(valleyDb, valleyOfLevels(levels));
  }
  return valleyDb;
}
