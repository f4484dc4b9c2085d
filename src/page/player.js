// What is heard: a trigger plays what a board would, frame by frame, at the
// file's own rate.

// Chosen here: sooner than this cannot be scheduled, nor is a cycle scheduled
// earlier.
const LEAD_S = 0.02;
const AHEAD_S = 0.3;
const FILL_MS = 50;

/**
 * What a trigger plays, all lengths in frames.
 *
 * @typedef {object} Playing
 * @property first Played once.
 * @property cycle Played again and again while the trigger is held; or null.
 * @property end Played after the release; or null.
 * @property overlaps Whether a new press sounds on top of the end.
 * @property gap The board's silence behind each of them.
 * @property delay From the press on.
 * @property notice A press that is shorter does nothing.
 * @property stops Whether the board falls silent at the release.
 * @property rateHz Of its frames.
 * @property shotsPerS Of its rapid fire; 0: none.
 * @property lit When the lamp is lit, if that was worked out already.
 * Each piece is {channels, from, to}.
 */

const pieceOf = ({channels, nFrames}, from, to) =>
  ({channels, from: from ?? 0, to: to ?? nFrames});

class Player {
  constructor() {
    Object.assign(this, {contexts: {}, plays: [], playing: null});
    this.silence();
  }

  /** The frame from which on what happens now is heard. */
  nowFrame() {
    return Math.round((this.to.currentTime + LEAD_S) * this.playing.rateHz);
  }

  /**
   * Press the trigger; only a touch or a key lets a browser play.
   *
   * @param by Who holds it; the release by another is none.
   */
  async press(playing, by, gain = 1) {
    if (playing !== this.playing) {
      this.silence();
    }
    const turn = {by, fromMs: performance.now()};
    this.turn = turn;
    this.held = true;
    this.playing = playing;
    this.to = this.contexts[playing.rateHz] ??= new AudioContext(
      {sampleRate: playing.rateHz, latencyHint: "interactive"});
    if (this.to.state !== "running") {
      await this.to.resume();
    }
    if (this.turn !== turn) {
      return;
    }
    this.begin(gain);
    turn.begun = true;
    if (!this.held) {
      this.finish(this.nowFrame() +
        Math.round(turn.heldMs / 1000 * playing.rateHz));
    }
  }

  /** Play from now on, or go on if the board still plays for another press. */
  begin(gain) {
    const now = this.nowFrame();
    const noticed = now + this.playing.notice;
    if (noticed > this.next) {
      this.volume = new GainNode(this.to, {gain});
      this.volume.connect(this.to.destination);
      this.pressed = now;
      this.start = now + this.playing.delay;
      this.next = this.start;
      this.schedule("first");
    } else if (!this.takeBack(({name, from}) => name === "end" &&
        from >= noticed) && this.plays.at(-1).name === "end") {
      this.schedule("first");
    }
    this.fill();
    this.timer = setInterval(() => this.fill(), FILL_MS);
  }

  /** Schedule what begins soon. */
  fill(until = this.nowFrame() + AHEAD_S * this.playing.rateHz) {
    while (this.playing.cycle && this.next < until) {
      this.schedule("cycle");
    }
  }

  schedule(name) {
    const {rateHz, gap, overlaps} = this.playing;
    const {channels, from, to} = this.playing[name];
    const buffer = this.to.createBuffer(channels.length, to - from, rateHz);
    channels.forEach((values, c) =>
      buffer.copyToChannel(values.subarray(from, to), c));
    const source = new AudioBufferSourceNode(this.to, {buffer});
    source.connect(this.volume);
    source.start(this.next / rateHz);
    this.plays = [...this.plays.filter((play) => play.to > this.nowFrame()),
      {source, name, from: this.next, to: this.next + to - from}];
    this.next += name === "end" && overlaps ? 0 : to - from + gap;
  }

  /** Take back what is not to begin; whether there was any. */
  takeBack(isBack) {
    const back = this.plays.filter(isBack);
    back.forEach(({source}) => source.stop());
    this.plays = this.plays.filter((play) => !back.includes(play));
    this.next = back[0]?.from ?? this.next;
    return back.length > 0;
  }

  pull(held, playing, by, gain) {
    if (held && playing) {
      this.press(playing, by, gain);
    } else {
      this.release(by);
    }
  }

  release(by) {
    const {turn} = this;
    if (this.held && by === turn.by) {
      this.held = false;
      turn.heldMs = performance.now() - turn.fromMs;
      if (turn.begun) {
        this.finish(this.nowFrame());
      }
    }
  }

  /** Follow the board's rule for a trigger that is let go in a frame. */
  finish(frame) {
    const {stops, notice, end} = this.playing;
    clearInterval(this.timer);
    this.fill(frame);
    if (stops || frame - this.pressed < notice) {
      this.silence(frame);
    } else {
      this.takeBack(({from}) => from >= frame && from > this.start);
      if (end && this.plays.at(-1).name !== "end") {
        this.schedule("end");
      }
    }
  }

  /** Let nothing be heard from a frame on, or at once. */
  silence(frame = 0) {
    clearInterval(this.timer);
    for (const play of this.plays) {
      play.source.stop(play.from < frame ? frame / this.playing.rateHz : 0);
      play.to = Math.min(play.to, frame);
    }
    this.turn = null;
    this.held = false;
    this.next = -Infinity;
  }

  /** What is heard now, and how many seconds into it; null: nothing. */
  heard() {
    const {playing, to, plays} = this;
    const atS = to?.currentTime - (to?.outputLatency || to?.baseLatency || 0);
    const secondsFrom = (frame) => atS - frame / playing.rateHz;
    const now = plays.findLast(({from, to: end}) =>
      secondsFrom(from) >= 0 && secondsFrom(end) < 0);
    return now ? {name: now.name, intoS: secondsFrom(now.from)} : null;
  }

  /** Whether a shot began less than `onS` ago, as it is heard. */
  isLit(onS) {
    const {playing} = this;
    const {name, intoS} = this.heard() ?? {};
    const isIn = ({on_s: fromS, off_s: toS}) => fromS <= intoS && intoS < toS;
    return playing?.lit?.some(isIn) ?? (Boolean(playing?.shotsPerS) &&
      name !== "end" && intoS % (1 / playing.shotsPerS) < onS);
  }
}

/** A lamp that flashes no more than so many times a second, whatever comes:
 * gives whether it is lit, from whether it should be. */
function calmLamp(mostPerS) {
  let [lastMs, was, shown] = [-Infinity, false, false];
  return (lit, nowMs) => {
    if (lit && !was) {
      shown = nowMs - lastMs >= 1001 / mostPerS;
      lastMs = shown ? nowMs : lastMs;
    }
    was = lit;
    return lit && shown;
  };
}
