// A take's burst laid anew: what the program makes with --loudness keep. As in
// the library's src/burst/cut.c.

const SAME = 4e-7;
const SAME_COARSE = 1e-5;
const COARSE_BELOW_HZ = 22050;
const LEFT_MOST_DB = -20;
const BLEND_S = 0.005;

/** One past the last frame that differs from the steady cycle. */
function lastDifference(laid, steady, nCycle, same) {
  for (let frame = steady - 1; frame >= 0; --frame) {
    const back = steady - 1 - frame;
    const twin = steady + nCycle - 1 - back % nCycle;
    if (laid.some((values) => Math.abs(values[frame] - values[twin]) > same)) {
      return frame + 1;
    }
  }
  return 0;
}

/** Difference of the cycles at two frames, relative to the second, in dB. */
function residualDb(laid, from, to, nCycle) {
  let energy = 0;
  let residual = 0;
  for (const values of laid) {
    for (let i = 0; i < nCycle; ++i) {
      energy += values[to + i] ** 2;
      residual += (values[from + i] - values[to + i]) ** 2;
    }
  }
  return residual > 0
    ? Math.max(10 * Math.log10(residual / energy), -200)
    : -200;
}

function nextCut(burst, shots, unit) {
  const step = burst.closed ? burst.plan.shots : 1;
  do {
    shots += step;
  } while (planStart(burst.plan, shots) % unit);
  return shots;
}

/** Where the run-in ends, and where the steady loop is taken from. */
function findCut(burst, take) {
  const {plan} = burst;
  const nBefore = Math.floor(
    (burst.shot[0].length + Math.floor(0.4 * plan.rateHz)) / plan.nFrames) + 2;
  const laid = layBurst(burst, (nBefore + 2) * plan.shots);
  const coarse = take.coarse && plan.rateHz < COARSE_BELOW_HZ;
  const from = lastDifference(
    laid, nBefore * plan.nFrames, plan.nFrames, coarse ? SAME_COARSE : SAME);
  let shots = nextCut(burst, 0, take.loopUnit);
  while (planStart(plan, shots) < from) {
    shots = nextCut(burst, shots, take.loopUnit);
  }
  return take.runInMaxS > 0 && !burst.closed
    ? endEarly(burst, take, laid, shots)
    : {runInShots: shots, steadyShots: shots};
}

/** End the run-in before the burst is steady, where that is allowed. */
function endEarly(burst, take, laid, steady) {
  const {plan} = burst;
  const latest = framesOfS(take.runInMaxS, plan.rateHz);
  let shots = nextCut(burst, 0, take.loopUnit);
  while (shots < steady) {
    const later = Math.ceil((steady - shots) / plan.shots);
    const from = planStart(plan, shots);
    const leftDb =
      residualDb(laid, from, from + later * plan.nFrames, plan.nFrames);
    const next = nextCut(burst, shots, take.loopUnit);
    if (leftDb <= LEFT_MOST_DB || planStart(plan, next) > latest) {
      return {runInShots: shots, steadyShots: shots + later * plan.shots};
    }
    shots = next;
  }
  return {runInShots: steady, steadyShots: steady};
}

/** Leave out frames [to, loopStart) of a burst, blending into what follows. */
function leaveOut(laid, to, loopStart, rateHz) {
  const nOut = loopStart - to;
  const nBlend = framesOfS(BLEND_S, rateHz);
  return laid.map((values) => {
    const out = new Float32Array(values.length - nOut);
    out.set(values.subarray(0, to));
    out.set(values.subarray(loopStart), to);
    for (let i = 0; nOut && i < nBlend; ++i) {
      const old = fadeOutAt(i, nBlend);
      const at = to - nBlend + i;
      out[at] = old * values[at] + (1 - old) * values[at + nOut];
    }
    return out;
  });
}

/** Attacks of `n` shots from shot 0 on. */
function attacksOf(plan, n) {
  const pre = framesOfS(PRE_ROLL_S, plan.rateHz);
  return Array.from({length: n}, (_, i) => planStart(plan, i) + pre);
}

/** Channels [from, to), with zeros where they end before. */
function cutChannels(channels, from, to) {
  return channels.map((values) => {
    const out = new Float32Array(to - from);
    out.set(values.subarray(from, Math.min(to, values.length)));
    return out;
  });
}

function roundUp(n, unit) {
  return Math.ceil(n / unit) * unit;
}

/** Cut the pieces of the board's form. */
function cutForm(burst, take) {
  const {plan} = burst;
  const cut = findCut(burst, take);
  const steady = planStart(plan, cut.steadyShots);
  const start = planStart(plan, cut.runInShots);
  const laid = leaveOut(
    layBurst(burst, cut.steadyShots + plan.shots), start, steady, plan.rateHz);
  const end = start + plan.nFrames;
  const least = framesOfS(PRE_ROLL_S, plan.rateHz);
  const ringEnd = end + roundUp(
    Math.max(laid[0].length - end, least), take.frameUnit);
  if (take.form === "whole-file") {
    const loop = cutChannels(laid, start, end - plan.gapFrames);
    closeCycle(loop, 0, plan.rateHz);
    return {
      repeat: "whole-file",
      files: {main: fileOf(loop, attacksOf(plan, plan.shots))}};
  }
  if (take.form === "loop-points") {
    const attacks = attacksOf(plan, cut.runInShots + plan.shots);
    return {
      repeat: "loop-points",
      files: {main: fileOf(cutChannels(laid, 0, ringEnd), attacks)},
      loopStart: start,
      loopEnd: end};
  }
  return {
    repeat: "three-files",
    files: {
      runIn: fileOf(cutChannels(laid, 0, start),
        attacksOf(plan, cut.runInShots)),
      main: fileOf(cutChannels(laid, start, end), attacksOf(plan, plan.shots)),
      ringOut: fileOf(cutChannels(laid, end, ringEnd), []),
    }};
}

/** A number of shots and their ring-out, finished. */
function finishedBurst(burst, take) {
  const laid = layBurst(burst, take.burstShots);
  const end = roundUp(laid[0].length, take.frameUnit);
  return {
    repeat: "nothing",
    files: {main: fileOf(
      cutChannels(laid, 0, end), attacksOf(burst.plan, take.burstShots))}};
}

/** One plain gain down where a sound exceeds the ceiling. */
function holdUnder(sound, ceiling) {
  let peak = 0;
  for (const file of Object.values(sound.files)) {
    for (const values of file.channels) {
      peak = values.reduce((most, x) => Math.max(most, Math.abs(x)), peak);
    }
  }
  const gain = peak > ceiling ? ceiling / peak : 1;
  for (const file of Object.values(sound.files)) {
    file.channels = file.channels.map((values) => values.map((x) => x * gain));
  }
}

/**
 * Lay a take's burst anew.
 *
 * @param take Its shot `alone`, crests, and what its board decides.
 * @param options `fireRatePerS`, `valleyDb` or null, `tail`, `shots` or 0.
 * @return A sound as Line plays it, with `plan`, `valleyDb`, `lateMs`; or null
 * where the cycle would be longer than the board or the take allows.
 */
function relay(take, options) {
  const plan = planMake(planWish(take, options));
  if (!plan) {
    return null;
  }
  const crest = lateCrest(take, plan);
  const started = options.valleyDb === null
    ? {shot: take.alone, crest, lateMs: 0}
    : startLate(take, plan, crest);
  const burst = {
    plan,
    tail: options.tail,
    closed: take.form === "whole-file",
    shot: started.shot,
  };
  const bendFrom = started.crest + framesOfS(WINDOW_S / 2, plan.rateHz);
  const tight = tightenShot(burst, bendFrom, options.valleyDb);
  const bent = {...burst, shot: tight.shot};
  const sound = take.form === "burst"
    ? finishedBurst(bent, take)
    : cutForm(bent, take);
  holdUnder(sound, take.ceiling);
  return {
    loopStart: 0, loopEnd: 0, ...sound, rateHz: plan.rateHz, plan,
    fireRatePerS: plan.fireRatePerS, valleyDb: tight.valleyDb,
    lateMs: started.lateMs};
}
