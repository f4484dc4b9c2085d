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

/** A WAV file of 32-bit floats, little end first as browsers' machines are. */
function wavOf(buffer) {
  const {numberOfChannels: nChannels, length, sampleRate} = buffer;
  const nBytes = 4 * length * nChannels;
  const words = new Uint32Array(11 + length * nChannels);
  // "RIFF", "WAVE", "fmt ", code 3 and "data".
  words.set([0x46464952, 36 + nBytes, 0x45564157, 0x20746D66, 16,
    3 + 65536 * nChannels, sampleRate, 4 * sampleRate * nChannels,
    4 * nChannels + 65536 * 32, 0x61746164, nBytes]);
  const values = new Float32Array(words.buffer, 44);
  for (let c = 0; c < nChannels; ++c) {
    buffer.getChannelData(c).forEach((value, i) => {
      values[i * nChannels + c] = value;
    });
  }
  return new Uint8Array(words.buffer);
}

/** A file of sound as the browser reads it at a rate; null: it cannot. */
async function decoded(bytes, rateHz) {
  try {
    const context = new OfflineAudioContext(1, 1, rateHz);
    return await context.decodeAudioData(bytes.slice().buffer);
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
    ? (await Promise.all(entries.map(below))).flat() : [...transfer.files];
}

/** A screen on which files are dropped, for commands that its fields set. */
class DropScreen {
  constructor(project, id, fields) {
    Object.assign(this,
      {project, id, paths: [], refused: [], nDrops: 0, asked: null});
    this.form = new Form(project, {id, root: `${id}-fields`, commands: [id],
      groups: {"": fields}, settings: () => this.settings});
    this.root = byId(`${id}-screen`);
    this.root.addEventListener("shown", () => this.show());
    project.onChange(() => this.show());
    onFiles(this.root, (files) => this.take(files));
  }

  get settings() {
    return this.project.settings[this.id];
  }

  /** Show what is set; run again what changed, if there is anything to do. */
  show() {
    this.form.show();
    const asked = JSON.stringify(this.settings);
    if (this.paths.length + this.refused.length && asked !== this.asked) {
      this.asked = asked;
      this.run();
    }
  }

  /** Take these files in place of those before. */
  async take(dropped) {
    const {project, id} = this;
    this.paths.forEach((path) => project.engine.forget(path));
    this.paths = [];
    // Nothing that still runs may meet another file of the same name.
    const folder = `${id}${++this.nDrops}`;
    this.refused = await takeFiles(project, dropped, (file, bytes) =>
      this.put([folder, file.place || file.webkitRelativePath || file.name]
        .join("/"), bytes));
    this.asked = null;
    this.show();
  }

  put(path, bytes) {
    this.project.engine.put(path, bytes);
    this.paths.push(path);
  }
}

/** Why files cannot be used, or what is wrong with them. */
function notesOf(texts) {
  return texts.map((text) => element("p", {class: "note"}, text));
}

/** A file's bytes; throws what a person can do about one that has none. */
async function bytesOf(file) {
  if (file.size === 0) {
    throw new Error("it is empty");
  }
  if (file.size > BYTES_MOST) {
    throw new Error(`it is larger than ${BYTES_MOST / 1e6} MB: cut the sound ` +
      "out of it first");
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
  return buttonOf(`Save ${name}`, () => save(name, bytes));
}

/** A picture that the program drew. */
function pictureOf(bytes, alt) {
  const url = URL.createObjectURL(new Blob([bytes], {type: "image/svg+xml"}));
  const image = element("img", {src: url, alt});
  image.addEventListener("load", () => URL.revokeObjectURL(url));
  return image;
}

/** What shows a picture; nothing if there is none. */
function picturesOf(bytes, alt) {
  return bytes
    ? [element("div", {class: "picture"}, pictureOf(bytes, alt))] : [];
}

/** Hand over several files as one ZIP, unpacked as they are. */
function saveZip(name, files) {
  const entries = Object.fromEntries(
    files.map(({path, bytes}) => [path, bytes]));
  save(name, fflate.zipSync(entries, {level: 0}), "application/zip");
}
