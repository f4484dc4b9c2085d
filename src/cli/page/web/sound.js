// Sounds: a list of channels, each a Float32Array or Float64Array, and the
// frames that a board's speaker plays.

/** The bytes of a base64 text. */
function bytesOf(base64) {
  const binary = atob(base64);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < bytes.length; ++i) {
    bytes[i] = binary.charCodeAt(i);
  }
  return bytes;
}

/** Split interleaved values into channels. */
function channelsOf(values, nChannels) {
  const nFrames = Math.floor(values.length / nChannels);
  return Array.from({length: nChannels}, (_, c) => {
    const channel = new Float32Array(nFrames);
    for (let i = 0; i < nFrames; ++i) {
      channel[i] = values[i * nChannels + c];
    }
    return channel;
  });
}

/** How values are read from codes, little end first, and their bytes. */
const codings = {
  u8: {size: 1, read: (view, at) => (view.getUint8(at) - 128) / 128},
  s16: {size: 2, read: (view, at) => view.getInt16(at, true) / 32768},
  s24: {
    size: 3,
    read: (view, at) =>
      (view.getUint16(at, true) + 65536 * view.getInt8(at + 2)) / 8388608,
  },
  f32: {size: 4, read: (view, at) => view.getFloat32(at, true)},
};

/** Channels of codes in base64. */
function decodeCodes(base64, word, nChannels) {
  const {size, read} = codings[word];
  const view = new DataView(bytesOf(base64).buffer);
  const values = new Float32Array(Math.floor(view.byteLength / size));
  for (let i = 0; i < values.length; ++i) {
    values[i] = read(view, size * i);
  }
  return channelsOf(values, nChannels);
}

/** A file that a board plays: its channels and the frames of its attacks. */
function fileOf(channels, shots) {
  return {channels, shots, nFrames: channels[0].length};
}

/** Add what of the plays lies in frames [from, from + sum.length). */
function addPlays(plays, sound, channel, from, sum) {
  for (const played of plays) {
    const values = sound.files[played.file].channels[channel];
    const first = Math.max(played.at, from);
    const end =
      Math.min(played.at + played.to - played.from, from + sum.length);
    const shift = played.from - played.at;
    for (let i = first; i < end; ++i) {
      sum[i - from] += values[i + shift];
    }
  }
}

// The speaker's high-pass has forgotten what was before: its slowest pole falls
// by 100 dB in less (corner 50 Hz or more).
const SETTLE_S = 0.12;

/**
 * Frames [from, to) of what the plays sound like, one channel.
 *
 * @param speakerHz Corner of the speaker, or 0.
 */
function mix(plays, sound, channel, from, to, speakerHz) {
  const nBefore = speakerHz ? framesOfS(SETTLE_S, sound.rateHz) : 0;
  const sum = new Float64Array(to - from + nBefore);
  addPlays(plays, sound, channel, from - nBefore, sum);
  if (!speakerHz) {
    return sum;
  }
  const filter = highPass(speakerHz, sound.rateHz);
  return sum.map((value) => filter(value)).subarray(nBefore);
}
