// Files of sound that the program wrote, to be heard.

const readers = {
  8: (view, at) => (view.getUint8(at) - 128) / 128,
  16: (view, at) => view.getInt16(at, true) / 32768,
  24: (view, at) =>
    (view.getUint16(at, true) + 65536 * view.getInt8(at + 2)) / 8388608,
  32: (view, at) => view.getFloat32(at, true),
};

/** A WAV file's channels, or null: `rateHz`, `channels`. */
function readWav(bytes) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const name = (at) => String.fromCharCode(...bytes.subarray(at, at + 4));
  const found = {};
  for (let at = 12; name(0) === "RIFF" && at + 8 <= bytes.length;) {
    const length = view.getUint32(at + 4, true);
    found[name(at)] ??= {at: at + 8, length};
    at += 8 + length + length % 2;
  }
  const {"fmt ": format, data} = found;
  if (!format || !data) {
    return null;
  }
  const nChannels = view.getUint16(format.at + 2, true);
  const bits = view.getUint16(format.at + 14, true);
  const nFrames = Math.floor(data.length / (nChannels * bits / 8));
  const channels = Array.from({length: nChannels}, (_, c) =>
    Float32Array.from({length: nFrames}, (_, i) =>
      readers[bits](view, data.at + (i * nChannels + c) * bits / 8)));
  return {rateHz: view.getUint32(format.at + 4, true), channels, nFrames};
}
