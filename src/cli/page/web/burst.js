// Laying shots down, as in the library's src/burst/burst.c and
// src/burst/shot.c. A shot is a list of channels; all shots of a cycle are the
// same one here.

// As in the library: src/take/take.h, burst.c, shot.c.
const PRE_ROLL_S = 0.002;
const CHOKE_S = 0.005;
const CREST_LATEST = 0.4;
const LATE_FADE_S = 0.005;

/** A shot as it lies in the burst: whole, or faded once the next one starts. */
function laidShot(burst, index, followed) {
  const nFrames = burst.shot[0].length;
  if (!followed || burst.tail !== "choke") {
    return {fadeFrom: nFrames, fadeFrames: 0, nFrames};
  }
  const fadeFrom =
    planStart(burst.plan, index + 1) - planStart(burst.plan, index);
  const fadeFrames = framesOfS(CHOKE_S, burst.plan.rateHz);
  return {
    fadeFrom, fadeFrames, nFrames: Math.min(fadeFrom + fadeFrames, nFrames)};
}

function gainAt(laid, frame) {
  return frame < laid.fadeFrom
    ? 1
    : fadeOutAt(frame - laid.fadeFrom, laid.fadeFrames);
}

/** Lay down `nShots` shots, the first at frame 0; the last rings out. */
function layBurst(burst, nShots) {
  const {plan, shot} = burst;
  const laid = Array.from(
    {length: nShots}, (_, i) => laidShot(burst, i, i + 1 < nShots));
  const nFrames = laid.reduce(
    (most, one, i) => Math.max(most, planStart(plan, i) + one.nFrames), 0);
  return shot.map((values) => {
    const sum = new Float64Array(nFrames);
    laid.forEach((one, i) => {
      const at = planStart(plan, i);
      for (let k = 0; k < one.nFrames; ++k) {
        sum[at + k] += values[k] * gainAt(one, k);
      }
    });
    return Float32Array.from(sum);
  });
}

/** Fade the first and last 2 ms of a cycle; the gap at its end is silent. */
function closeCycle(cycle, nGap, rateHz) {
  const n = framesOfS(PRE_ROLL_S, rateHz);
  for (const values of cycle) {
    const nFile = values.length - nGap;
    for (let i = 0; i < n; ++i) {
      const gain = 1 - fadeOutAt(i, n);
      values[i] *= gain;
      values[nFile - 1 - i] *= gain;
    }
    values.fill(0, nFile);
  }
}

/** The steady cycle, all older tails under it. */
function foldBurst(burst) {
  const {plan, shot, closed} = burst;
  const cycle = shot.map((values) => {
    const sum = new Float32Array(plan.nFrames);
    for (let index = 0; index < plan.shots; ++index) {
      const laid = laidShot(burst, index, true);
      let at = planStart(plan, index);
      for (let k = 0; k < laid.nFrames; ++k) {
        sum[at] += Math.fround(values[k] * Math.fround(gainAt(laid, k)));
        at = at + 1 === plan.nFrames ? 0 : at + 1;
      }
    }
    return sum;
  });
  if (closed) {
    closeCycle(cycle, plan.gapFrames, plan.rateHz);
  }
  return cycle;
}

/** The crest about which a shot is laid down. */
function lateCrest(take, plan) {
  const latest = CREST_LATEST * planPeriodS(plan) * plan.rateHz;
  return take.crestFrame > latest ? take.nearCrestFrame : take.crestFrame;
}

/** Let a shot start late where its crest lies later than 0.4 of the period. */
function startLate(take, plan, crest) {
  const {rateHz} = plan;
  const latest = framesOfS(CREST_LATEST * planPeriodS(plan), rateHz);
  const nLate = Math.max(0, crest - latest);
  const nPre = framesOfS(PRE_ROLL_S, rateHz);
  const nFade = framesOfS(LATE_FADE_S, rateHz);
  const shot = take.alone.map((values) => {
    const late = values.slice(nLate);
    for (let i = 0; nLate && i < nPre + nFade && i < late.length; ++i) {
      late[i] *= i < nPre ? 0 : 1 - fadeOutAt(i - nPre, nFade);
    }
    return late;
  });
  return {shot, crest: crest - nLate, lateMs: 1000 * nLate / rateHz};
}
