// Sound that is heard: the device, and one Line for each trigger in use.

// Chosen here: what a browser's busy moments take, and several fills in it.
const FILL_AHEAD_S = 0.25;
const FILL_EVERY_MS = 50;

class Player {
  /** @param onWaiting Called with whether the browser holds the sound back. */
  constructor(onWaiting) {
    this.onWaiting = onWaiting;
    this.context = null;
    this.lines = new Map();
    this.timer = null;
  }

  /** Ask the browser for sound; only a touch or a key can. */
  async wake() {
    this.context ??= new AudioContext({latencyHint: "interactive"});
    if (this.context.state !== "running") {
      this.onWaiting(true);
      await this.context.resume();
    }
    this.onWaiting(this.context.state !== "running");
  }

  isAwake() {
    return this.context?.state === "running";
  }

  /** The line of a trigger, a new one where its sound or board has changed. */
  line(key, sound, board, speakerHz) {
    const old = this.lines.get(key);
    if (old && old.sound === sound && old.board === board &&
        old.speakerHz === speakerHz) {
      return old;
    }
    old?.release(old.eventFrame());
    const line = new Line(
      this.context, this.context.destination, sound, board, speakerHz);
    line.board = board;
    this.lines.set(key, line);
    if (old) {
      this.fadingLines = [...(this.fadingLines ?? []), old];
    }
    return line;
  }

  /** Every line that may still sound. */
  all() {
    return [...this.lines.values(), ...(this.fadingLines ?? [])];
  }

  press(line) {
    line.press(line.eventFrame());
    this.fill();
    this.timer ??= setInterval(() => this.fill(), FILL_EVERY_MS);
  }

  release(line) {
    line.release(line.eventFrame());
    this.fill();
  }

  fill() {
    const rate = this.context.sampleRate;
    let sounds = false;
    for (const line of this.all()) {
      const next = line.next();
      if (line.origin !== null && (line.isHeld() || next < line.end())) {
        // What was missed, the page having been busy, is left out.
        line.filled = Math.max(line.filled, next);
        line.fill(next + Math.ceil(FILL_AHEAD_S * rate));
        sounds = true;
      }
    }
    if (!sounds) {
      this.fadingLines = [];
      clearInterval(this.timer);
      this.timer = null;
    }
  }

  /** Seconds of the device's time that are heard now. */
  heardS() {
    const {context} = this;
    return context
      ? context.currentTime -
        (context.outputLatency || context.baseLatency || 0)
      : 0;
  }
}
