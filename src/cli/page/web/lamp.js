// The lamp on the screen.

/** The flash that a lamp shows at a time, if any. */
function flashAt(flashes, atS) {
  return flashes.find(({onS, offS}) => onS <= atS && atS < offS);
}

/**
 * A lamp that leaves out flashes until no more than so many a second are left,
 * however often triggers are pressed anew.
 */
class CalmLamp {
  constructor(mostPerS) {
    // A little longer than need be, or rounding lets one more in.
    this.gapMs = 1001 / mostPerS;
    this.lastMs = -Infinity;
    this.onS = null;
    this.shown = false;
  }

  /** Whether it is on at a time of the device; `nowMs`: that of the clock. */
  isLit(flashes, atS, nowMs) {
    const flash = flashAt(flashes, atS);
    if (flash && flash.onS !== this.onS) {
      this.onS = flash.onS;
      this.shown = nowMs - this.lastMs >= this.gapMs;
      this.lastMs = this.shown ? nowMs : this.lastMs;
    }
    return Boolean(flash) && this.shown;
  }
}
