// What is heard: a trigger plays what a board would, frame by frame, at the
// file's own rate.

// Chosen here: sooner than this cannot be scheduled, nor is a cycle scheduled
// earlier.
const LEAD_S = 0.02;
const AHEAD_S = 0.3;
const FILL_MS = 50;

/**
 * What a trigger plays.
 *
 * @typedef {object} Playing
 * @property first Played once; or null.
 * @property cycle Played again and again while the trigger is held; or null.
 * @property end Played after the release; or null.
 * @property gapS The board's silence between two files.
 * @property delayS From the press on.
 * @property stops Whether the board falls silent at the release.
 * @property rateHz Of its frames.
 * @property shotsPerS Of its rapid fire; 0: none.
 * @property lit When the lamp is lit, if that was worked out already.
 * Each piece is {channels, from, to}, in frames.
 */

function pieceOf(wav, from = 0, to = wav.nFrames) {
  return {channels: wav.channels, from, to};
}

class Player {
  constructor() {
    this.contexts = new Map();
    this.sources = [];
    this.timer = null;
    this.playing = null;
    this.held = false;
  }

  context(rateHz) {
    if (!this.contexts.has(rateHz)) {
      this.contexts.set(rateHz,
        new AudioContext({sampleRate: rateHz, latencyHint: "interactive"}));
    }
    return this.contexts.get(rateHz);
  }

  /** Press the trigger; only a touch or a key lets a browser play. */
  async press(playing, gain = 1) {
    this.silence();
    this.held = true;
    this.playing = playing;
    this.to = this.context(playing.rateHz);
    if (this.to.state !== "running") {
      await this.to.resume();
    }
    if (this.playing !== playing) {
      return;
    }
    this.volume = new GainNode(this.to, {gain});
    this.volume.connect(this.to.destination);
    this.startS = this.to.currentTime + LEAD_S + playing.delayS;
    this.next = this.startS;
    this.nextPiece = playing.first ? "first" : "cycle";
    this.timer = setInterval(() => this.fill(), FILL_MS);
    this.fill();
    if (!this.held) {
      this.release();
    }
  }

  /** Schedule what begins soon. */
  fill() {
    const {playing} = this;
    while (this.held && playing[this.nextPiece] &&
        this.next < this.to.currentTime + AHEAD_S) {
      this.schedule(this.nextPiece);
      this.nextPiece = "cycle";
    }
  }

  schedule(name) {
    const {channels, from, to} = this.playing[name];
    const {rateHz, gapS} = this.playing;
    const buffer = this.to.createBuffer(channels.length, to - from, rateHz);
    channels.forEach((values, c) =>
      buffer.copyToChannel(values.subarray(from, to), c));
    const source = new AudioBufferSourceNode(this.to, {buffer});
    source.connect(this.volume);
    source.start(this.next);
    const lengthS = (to - from) / rateHz;
    this.sources.push(
      {source, name, fromS: this.next, toS: this.next + lengthS});
    this.next += lengthS + gapS;
  }

  release() {
    const {playing, held} = this;
    this.held = false;
    if (!held || !playing || !this.sources.length) {
      return;
    }
    clearInterval(this.timer);
    if (playing.stops) {
      this.silence();
      return;
    }
    // What has not begun is taken back; what has, is played to its end.
    const nowS = this.to.currentTime + LEAD_S / 2;
    const late = this.sources.filter(({fromS, name}) =>
      fromS > nowS && name === "cycle");
    late.forEach(({source}) => source.stop());
    this.next = late.length ? late[0].fromS : this.next;
    this.sources = this.sources.filter((one) => !late.includes(one));
    if (playing.end) {
      this.schedule("end");
    }
  }

  silence() {
    clearInterval(this.timer);
    this.sources.forEach(({source}) => source.stop());
    this.sources = [];
    this.held = false;
  }

  /** Whether a shot began less than `onS` ago, as it is heard. */
  isLit(onS) {
    const {playing, to} = this;
    if (!to || !playing) {
      return false;
    }
    const atS = to.currentTime - (to.outputLatency || to.baseLatency || 0);
    if (playing.lit) {
      const intoS = atS - this.startS;
      return this.isSounding() && playing.lit.some(
        ({on_s: fromS, off_s: toS}) => fromS <= intoS && intoS < toS);
    }
    if (!playing.shotsPerS) {
      return false;
    }
    const now = this.sources.find(({fromS, toS, name}) =>
      name !== "end" && fromS <= atS && atS < toS);
    return Boolean(now) && (atS - now.fromS) % (1 / playing.shotsPerS) < onS;
  }

  isSounding() {
    return Boolean(this.to) &&
      this.sources.some(({toS}) => toS > this.to.currentTime);
  }
}

/** A lamp that flashes no more than so many times a second, whatever comes. */
class CalmLamp {
  constructor(mostPerS) {
    this.gapMs = 1001 / mostPerS;
    this.lastMs = -Infinity;
    this.was = false;
    this.shown = false;
  }

  isLit(lit, nowMs) {
    if (lit && !this.was) {
      this.shown = nowMs - this.lastMs >= this.gapMs;
      this.lastMs = this.shown ? nowMs : this.lastMs;
    }
    this.was = lit;
    return lit && this.shown;
  }
}
