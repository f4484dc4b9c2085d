// One trigger's sound on its way to the device: blocks of frames, each a buffer
// source of its own, scheduled to the frame. What a press or a release changes
// is rendered anew from just before it on, so nothing ever has to be faded.

// Chosen here: a press is heard in the block that is made next.
const BLOCK_S = 0.04;

// Frames that the device takes at once, at least (W3C, "Web Audio API", render
// quantum).
const QUANTUM = 128;

// What lies nearer than this is too late to change: the device may be asked for
// more while a block is being rendered. Not yet heard as a delay (chosen here).
const NOW_S = 0.02;

/** A time that lies in `frame`, never behind it, however it is rounded. */
function timeOfFrame(frame, rateHz) {
  const time = frame / rateHz;
  return time * rateHz > frame ? time * (1 - Number.EPSILON) : time;
}

class Line {
  /**
   * @param context An AudioContext or OfflineAudioContext.
   * @param output The node that is played into.
   * @param sound See fileOf(): `files`, `repeat`, `rateHz`, loop points.
   * @param board `gapMs`, `delayMs`, `pressMinMs`, `release`.
   * @param speakerHz Corner of the small speaker, or 0.
   */
  constructor(context, output, sound, board, speakerHz) {
    this.context = context;
    this.output = output;
    this.sound = sound;
    this.playing = playingOf(sound, board);
    this.speakerHz = speakerHz;
    this.resampler = makeResampler(sound.rateHz, context.sampleRate);
    this.nBlock = Math.ceil(BLOCK_S * context.sampleRate / QUANTUM) * QUANTUM;
    // Frames of the device by which an event's effect begins before it.
    this.reach = Math.ceil(
      (this.resampler.reach + 2) * context.sampleRate / sound.rateHz);
    this.blocks = [];
    this.presses = [];
    this.plays = [];
    this.origin = null;
    this.filled = 0;
    this.rehearse();
  }

  /** Do once what takes long the first time, before it is to be in time. */
  rehearse() {
    const silence = (from, to) => new Float64Array(to - from);
    resample(this.resampler, silence, 0, this.nBlock);
    this.context.createBuffer(1, this.nBlock, this.context.sampleRate);
  }

  /** The file's frame at a frame of the device. */
  fileFrame(frame) {
    const {sampleRate} = this.context;
    return Math.floor((frame - this.origin) * this.sound.rateHz / sampleRate +
      0.5);
  }

  /** The device's frame at, or before, a frame of the file. */
  deviceFrame(fileFrame) {
    const {sampleRate} = this.context;
    return this.origin + Math.floor(fileFrame * sampleRate / this.sound.rateHz);
  }

  isHeld() {
    const last = this.presses.at(-1);
    return Boolean(last) && last.to === Infinity;
  }

  /** The frame of the device that is played next. */
  next() {
    return Math.ceil(this.context.currentTime * this.context.sampleRate);
  }

  /** The first frame of the device that can still be changed. */
  now() {
    return this.next() + Math.ceil(NOW_S * this.context.sampleRate);
  }

  /** The frame of the device at which what happens now takes place. */
  eventFrame() {
    return this.now() + this.reach;
  }

  /** The device's frame after which all is silent. */
  end() {
    const ends = this.plays.map((played) =>
      played.at + played.to - played.from);
    const last = Math.max(0, ...ends) + this.resampler.reach;
    return this.origin === null ? 0 : this.deviceFrame(last) + 1;
  }

  /** Press the trigger at a frame of the device: see eventFrame(). */
  press(frame) {
    if (this.isHeld()) {
      return;
    }
    if (this.origin === null || frame > this.end() + this.reach) {
      this.origin = frame;
      this.presses = [];
      this.filled = 0;
    }
    this.presses.push({from: this.fileFrame(frame), to: Infinity});
    this.change(frame);
  }

  release(frame) {
    if (!this.isHeld()) {
      return;
    }
    const press = this.presses.at(-1);
    press.to = Math.max(this.fileFrame(frame), press.from + 1);
    this.change(frame);
  }

  /** Render anew what is not yet played and may have changed. */
  change(frame) {
    const from = Math.max(frame - this.reach, 0);
    for (const block of this.blocks.filter(({to}) => to > from)) {
      // A source's end is rounded up: half a frame before is this frame.
      block.node.stop(Math.max(0, (from - 0.5) / this.context.sampleRate));
      block.to = from;
    }
    this.filled = this.filled ? Math.min(this.filled, from) : from;
    this.follow(frame);
  }

  follow(frame) {
    this.plays = followBoard(
      this.playing, this.presses, this.fileFrame(frame) + 2 * this.nBlock);
  }

  /** Schedule all blocks that begin before a frame of the device. */
  fill(until) {
    while (this.origin !== null && this.filled < until) {
      const to = this.filled + this.nBlock;
      if (this.isHeld()) {
        this.follow(to + this.nBlock);
      } else if (this.filled >= this.end()) {
        this.filled = to;
        continue;
      }
      this.schedule(this.filled, to);
      this.filled = to;
    }
  }

  /** Frames [from, to) of the device, one channel. */
  render(channel, from, to) {
    const read = (first, last) => mix(
      this.plays, this.sound, channel, first, last, this.speakerHz);
    return resample(
      this.resampler, read, from - this.origin, to - this.origin);
  }

  schedule(from, to) {
    const {context, sound} = this;
    const nChannels = sound.files.main.channels.length;
    const buffer = context.createBuffer(
      nChannels, to - from, context.sampleRate);
    for (let c = 0; c < nChannels; ++c) {
      buffer.copyToChannel(Float32Array.from(this.render(c, from, to)), c);
    }
    const node = context.createBufferSource();
    const block = {node, from, to};
    node.buffer = buffer;
    node.connect(this.output);
    node.onended = () => {
      node.disconnect();
      this.blocks = this.blocks.filter((other) => other !== block);
    };
    node.start(timeOfFrame(from, context.sampleRate));
    this.blocks.push(block);
  }

  /** The lamp's flashes, in seconds of the context's time. */
  flashes(onS) {
    const originS = (this.origin ?? 0) / this.context.sampleRate;
    return flashesOf(this.plays, this.sound, onS).map((flash) => ({
      onS: originS + flash.onS, offS: originS + flash.offS}));
  }
}

/**
 * Render what a trigger sounds like that is held so and so long, all at once.
 *
 * @param rateHz The device's.
 * @return A promise of an AudioBuffer.
 */
async function renderHolds(sound, board, heldS, rateHz, speakerHz = 0) {
  const playing = playingOf(sound, board);
  const presses = pressesOf(heldS, sound.rateHz);
  const plays = followBoard(playing, presses);
  const sumS = heldS.reduce((sum, seconds) => sum + seconds, 0);
  const nFrames = plays.reduce(
    (most, {at, from, to}) => Math.max(most, at + to - from),
    Math.floor(sumS * sound.rateHz + 0.5));
  const nOut = Math.floor(nFrames * rateHz / sound.rateHz + 0.5);
  const context = new OfflineAudioContext(
    sound.files.main.channels.length, nOut, rateHz);
  const line = new Line(context, context.destination, sound, board, speakerHz);
  line.origin = 0;
  line.presses = presses;
  line.plays = plays;
  line.fill(nOut);
  return context.startRendering();
}
