// The lamp on the screen.

// Above three flashes a second seizures are brought on (Rec. ITU-R BT.1702, W3C
// WCAG 2.2, 2.3.1).
const CALM_GAP_MS = 1001 / 3;

/** The flash that a lamp shows at a time, if any. */
function flashAt(flashes, atS) {
  return flashes.find(({onS, offS}) => onS <= atS && atS < offS);
}

/**
 * A lamp that leaves out flashes until no more than three a second are left,
 * however often triggers are pressed anew.
 */
class CalmLamp {
  constructor() {
    this.lastMs = -Infinity;
    this.onS = null;
    this.shown = false;
  }

  /** Whether it is on at a time of the device; `nowMs`: that of the clock. */
  isLit(flashes, atS, nowMs) {
    const flash = flashAt(flashes, atS);
    if (flash && flash.onS !== this.onS) {
      this.onS = flash.onS;
      this.shown = nowMs - this.lastMs >= CALM_GAP_MS;
      this.lastMs = this.shown ? nowMs : this.lastMs;
    }
    return Boolean(flash) && this.shown;
  }
}
