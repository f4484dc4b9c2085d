// The lamp on the screen.

// Above three flashes a second seizures are brought on (Rec. ITU-R BT.1702, W3C
// WCAG 2.2, 2.3.1).
const CALM_GAP_S = 1 / 3 + 0.001;

/** Leave out flashes until no more than three a second are left. */
function calmFlashes(flashes) {
  let lastS = -Infinity;
  return flashes.filter(({onS}) => {
    const kept = onS - lastS >= CALM_GAP_S;
    lastS = kept ? onS : lastS;
    return kept;
  });
}

/** Whether a lamp is on at a time. */
function isLit(flashes, atS) {
  return flashes.some(({onS, offS}) => onS <= atS && atS < offS);
}
