// Filters, as in the library's src/signal/filter.c.

/**
 * A second-order high-pass, by the bilinear transform of the analogue filter
 * with the corner prewarped (R. Bristow-Johnson, "Cookbook formulae for audio
 * EQ biquad filter coefficients"), in transposed direct form II.
 */
function highPassSection(cornerHz, q, rateHz) {
  const w = 2 * Math.PI * cornerHz / rateHz;
  const alpha = Math.sin(w) / (2 * q);
  const a0 = 1 + alpha;
  const b = (1 + Math.cos(w)) / 2 / a0;
  const a1 = -2 * Math.cos(w) / a0;
  const a2 = (1 - alpha) / a0;
  let s1 = 0;
  let s2 = 0;
  return (x) => {
    const y = b * x + s1;
    s1 = -2 * b * x - a1 * y + s2;
    s2 = b * x - a2 * y;
    return y;
  };
}

/** A fourth-order Butterworth high-pass: a section for each pole pair. */
function highPass(cornerHz, rateHz) {
  const first = highPassSection(cornerHz, 0.5 / Math.cos(Math.PI / 8), rateHz);
  const second =
    highPassSection(cornerHz, 0.5 / Math.cos(3 * Math.PI / 8), rateHz);
  return (x) => second(first(x));
}

/** Frames nearest to a time. */
function framesOfS(seconds, rateHz) {
  return seconds > 0 ? Math.floor(seconds * rateHz + 0.5) : 0;
}

/** What of a fade remains at `i` of `n` frames: a raised cosine from 1 to 0. */
function fadeOutAt(i, n) {
  return 0.5 * (1 + Math.cos(Math.PI * i / n));
}
