/* global fflate */
// Files dropped on the page or chosen, and files saved from it.

// What is larger is not even read: no recording of a sound is (chosen here).
const BYTES_MOST = 400e6;

/** The sample rate that a compressed file names, or 48000. */
function rateNamedIn(bytes) {
  const mpeg = [[11025, 12000, 8000], [], [22050, 24000, 16000],
    [44100, 48000, 32000]];
  for (let i = 0; i + 3 < Math.min(bytes.length, 1e6); ++i) {
    const word = String.fromCharCode(...bytes.subarray(i, i + 4));
    if (word === "mp4a" && i + 30 < bytes.length) {
      return bytes[i + 28] * 256 + bytes[i + 29] || 48000;
    }
    const rate = mpeg[bytes[i + 1] >> 3 & 3][bytes[i + 2] >> 2 & 3];
    if (bytes[i] === 0xFF && bytes[i + 1] >= 0xE0 && rate &&
        bytes[i + 1] & 6 && bytes[i + 2] >> 4 < 15) {
      return rate;
    }
  }
  return 48000;
}

/** A WAV file of 32-bit floats. */
function wavOf(buffer) {
  const {numberOfChannels: nChannels, length, sampleRate} = buffer;
  const bytes = new Uint8Array(44 + 4 * length * nChannels);
  const view = new DataView(bytes.buffer);
  const word = (at, text) => [...text].forEach((letter, i) =>
    view.setUint8(at + i, letter.charCodeAt(0)));
  word(0, "RIFF");
  view.setUint32(4, bytes.length - 8, true);
  word(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 3, true);
  view.setUint16(22, nChannels, true);
  view.setUint32(24, sampleRate, true);
  view.setUint32(28, sampleRate * nChannels * 4, true);
  view.setUint16(32, nChannels * 4, true);
  view.setUint16(34, 32, true);
  word(36, "data");
  view.setUint32(40, bytes.length - 44, true);
  for (let c = 0; c < nChannels; ++c) {
    buffer.getChannelData(c).forEach((value, i) =>
      view.setFloat32(44 + 4 * (i * nChannels + c), value, true));
  }
  return bytes;
}

/** What only the browser can read, as a WAV file; null: it cannot either. */
async function decodeByBrowser(bytes) {
  try {
    const context = new OfflineAudioContext(1, 1, rateNamedIn(bytes));
    return wavOf(await context.decodeAudioData(bytes.slice().buffer));
  } catch {
    return null;
  }
}

/** Everything in what was dropped, also in folders: File objects. */
async function filesDropped(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.());
  const below = async (entry) => {
    if (entry.isFile) {
      const file = await new Promise((resolve, reject) =>
        entry.file(resolve, reject));
      return [Object.assign(file, {place: entry.fullPath.slice(1)})];
    }
    const reader = entry.createReader();
    const found = [];
    for (;;) {
      const some = await new Promise((resolve, reject) =>
        reader.readEntries(resolve, reject));
      if (!some.length) {
        return (await Promise.all(found.map(below))).flat();
      }
      found.push(...some);
    }
  };
  return entries.every(Boolean) && entries.length
    ? (await Promise.all(entries.map(below))).flat()
    : [...transfer.files];
}

/** A file's bytes; throws what a person can do about one that has none. */
async function bytesOf(file) {
  if (file.size === 0) {
    throw new Error("it is empty");
  }
  if (file.size > BYTES_MOST) {
    throw new Error("it is larger than 400 MB: cut the sound out of it first");
  }
  try {
    return new Uint8Array(await file.arrayBuffer());
  } catch {
    throw new Error(
      "the browser cannot read it: copy it to this computer first");
  }
}

/** Hand a file to the person. */
function save(name, bytes, type = "application/octet-stream") {
  const url = URL.createObjectURL(new Blob([bytes], {type}));
  const link = element("a", {href: url, download: name});
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10000);
}

function saveButton(name, bytes) {
  const button = element("button", {type: "button"}, `Save ${name}`);
  button.addEventListener("click", () => save(name, bytes));
  return button;
}

/** A picture that the program drew. */
function pictureOf(bytes, alt) {
  const url = URL.createObjectURL(new Blob([bytes], {type: "image/svg+xml"}));
  const image = element("img", {src: url, alt});
  image.addEventListener("load", () => URL.revokeObjectURL(url));
  return image;
}

/** Hand over several files as one ZIP, unpacked as they are. */
function saveZip(name, files) {
  const entries = Object.fromEntries(
    files.map(({path, bytes}) => [path, bytes]));
  save(name, fflate.zipSync(entries, {level: 0}), "application/zip");
}
