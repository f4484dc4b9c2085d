// Bending the tails down, as in the library's src/burst/tighten.c.

// As there.
const OVER_LEAST_DB = 0.03;
const OVER_MOST_DB = 0.08;
const STEEPEST_DB_PER_S = 20000;
const STEPS_MOST = 40;
const GONE = 1e-7;

/** A shot whose level falls the faster by `slope` dB a second from a frame. */
function bendShot(shot, from, slope, rateHz) {
  const step = 10 ** (-slope / rateHz / 20);
  return shot.map((values) => {
    const bent = values.slice();
    let gain = 1;
    let frame = Math.min(from, values.length);
    for (; frame < bent.length && gain > GONE; ++frame, gain *= step) {
      bent[frame] = values[frame] * gain;
    }
    return bent.subarray(0, frame);
  });
}

/** Bend by a slope and measure the valley. */
function trySlope(search, slope) {
  const {burst, bendFrom} = search;
  const shot = bendShot(burst.shot, bendFrom, slope, burst.plan.rateHz);
  const cycle = foldBurst({...burst, shot});
  return {slope, shot, valleyDb: measureValley(cycle, burst.plan)};
}

/** The slope to try next: by straight line, kept off the bracket's ends. */
function slopeBetween(below, above, wantedDb) {
  const span = above.valleyDb - below.valleyDb;
  const part = span > 0 ? (wantedDb - below.valleyDb) / span : 0.5;
  return below.slope +
    (above.slope - below.slope) * Math.min(Math.max(part, 0.1), 0.9);
}

/** Steepen the bend until the valley is reached, or no steeper one helps. */
function bracketSlope(search, start) {
  const missing = Math.max(search.wantedDb - start.valleyDb, 0.5);
  let slope = missing * 1.5 / planPeriodS(search.burst.plan);
  let below = start;
  let above = trySlope(search, slope);
  while (above.valleyDb < search.wantedDb + OVER_LEAST_DB &&
         above.slope < STEEPEST_DB_PER_S) {
    below = above;
    slope = Math.min(above.slope * 2, STEEPEST_DB_PER_S);
    above = trySlope(search, slope);
  }
  return {below, above};
}

/**
 * Bend a shot's decay down, no more than a valley needs.
 *
 * @param valleyDb To reach; null: the shot is left as it is.
 * @return `shot`, `valleyDb` reached, `slope`.
 */
function tightenShot(burst, bendFrom, valleyDb) {
  const search = {burst, bendFrom, wantedDb: valleyDb};
  const start = trySlope(search, 0);
  if (valleyDb === null || start.valleyDb >= valleyDb + OVER_LEAST_DB) {
    return {...start, shot: burst.shot};
  }
  let {below, above} = bracketSlope(search, start);
  const aim = valleyDb + (OVER_LEAST_DB + OVER_MOST_DB) / 2;
  for (let i = 0; i < STEPS_MOST &&
       above.valleyDb > valleyDb + OVER_MOST_DB; ++i) {
    const middle = trySlope(search, slopeBetween(below, above, aim));
    if (middle.valleyDb >= valleyDb + OVER_LEAST_DB) {
      above = middle;
    } else {
      below = middle;
    }
  }
  return above;
}
