// How many shots lie in how many frames, as in the library's src/burst/plan.c:
// a test compares what comes of it.

const ERROR_MOST_PPM = 1000;
const SHOTS_MOST = 64;
const GAP_MOST = 0.4;
const GAP_SHOTS_LEAST = 4;
const GAP_SHOTS_MOST = 8;
const HEADER_BYTES = 44;

/** What the cycle must be for a take, its board and the options. */
function planWish(take, options) {
  const repeats = take.form === "whole-file";
  const gapFrames = repeats ? framesOfS(take.gapMs / 1000, take.rateHz) : 0;
  const most = take.fileBytesMax
    ? Math.floor((take.fileBytesMax - HEADER_BYTES) / take.bytesPerFrame)
    : Infinity;
  return {
    fireRatePerS: options.fireRatePerS,
    rateHz: take.rateHz,
    framesMost: Math.min(
      Math.floor(take.cycleMaxS * take.rateHz * (1 + 1e-9)), most),
    gapFrames,
    unit: take.loopUnit,
    shots: options.shots,
    shotsLeast: gapFrames ? GAP_SHOTS_LEAST : 1,
    shotsMost: gapFrames ? GAP_SHOTS_MOST : Infinity,
  };
}

function isUneven(wish) {
  return wish.gapFrames > GAP_MOST * wish.rateHz / wish.fireRatePerS + 0.5;
}

function errorPpm(wish, shots, nFrames) {
  const hidden = isUneven(wish) ? 0 : wish.gapFrames;
  const rate = shots * wish.rateHz / (nFrames + hidden);
  return Math.abs((rate / wish.fireRatePerS - 1) * 1e6);
}

/** The file's length nearest to the wish. */
function framesFor(wish, shots) {
  const hidden = isUneven(wish) ? 0 : wish.gapFrames;
  const wanted = shots * wish.rateHz / wish.fireRatePerS - hidden;
  const low = Math.max(Math.floor(wanted / wish.unit), 1) * wish.unit;
  const high = low + wish.unit;
  const lowPpm = errorPpm(wish, shots, low);
  if (lowPpm <= errorPpm(wish, shots, high)) {
    return low;
  }
  const givesWay = high > wish.framesMost && low <= wish.framesMost &&
    lowPpm <= ERROR_MOST_PPM;
  return givesWay ? low : high;
}

function planFits(wish, shots) {
  return shots <= SHOTS_MOST && framesFor(wish, shots) <= wish.framesMost;
}

/** The number of shots that comes nearest, or 0 where none fits. */
function bestShots(wish) {
  let least = wish.shotsLeast;
  while (least && !planFits(wish, least)) {
    --least;
  }
  let best = least;
  let bestPpm = Infinity;
  for (let shots = least; shots && bestPpm > ERROR_MOST_PPM &&
       planFits(wish, shots) && (shots === least || shots <= wish.shotsMost);
       ++shots) {
    const ppm = errorPpm(wish, shots, framesFor(wish, shots));
    best = ppm < bestPpm ? shots : best;
    bestPpm = Math.min(ppm, bestPpm);
  }
  return best;
}

/**
 * Lay out a cycle.
 *
 * @return `shots`, `nFrames` (the gap included), `gapFrames`, `uneven`,
 * `rateHz`, `fireRatePerS`; or null where it does not fit.
 */
function planMake(wish) {
  const shots = wish.shots || bestShots(wish);
  if (!shots || !planFits(wish, shots)) {
    return null;
  }
  const nFrames = framesFor(wish, shots) + wish.gapFrames;
  return {
    shots,
    nFrames,
    gapFrames: wish.gapFrames,
    uneven: isUneven(wish),
    rateHz: wish.rateHz,
    fireRatePerS: shots * wish.rateHz / nFrames,
  };
}

/** What the shots of a cycle share out among them. */
function sharedFrames(plan) {
  return plan.uneven ? plan.nFrames - plan.gapFrames : plan.nFrames;
}

/** Where shot `index` of the burst starts. */
function planStart(plan, index) {
  const cycle = Math.floor(index / plan.shots);
  const shot = index % plan.shots;
  return cycle * plan.nFrames + Math.floor(
    (2 * shot * sharedFrames(plan) + plan.shots) / (2 * plan.shots));
}

/** Seconds from one shot to the next. */
function planPeriodS(plan) {
  return sharedFrames(plan) / plan.shots / plan.rateHz;
}
