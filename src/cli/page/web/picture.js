// The picture of a sound: its waveform, its level, its shots and its lamp. Of a
// loop two cycles, with the seam between them in the middle.

const SVG = "http://www.w3.org/2000/svg";
const LOWEST_DB = -60;

function svgElement(name, attributes = {}, text = "") {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) {
    made.setAttribute(key, value);
  }
  made.textContent = text;
  return made;
}

/* In a line of a table */

/** A small line of a level: dB above -60 dBFS, one after the other. */
function outlineOf(outline) {
  const svg = svgElement("svg", {
    class: "outline", viewBox: `0 0 ${outline.length} 60`,
    preserveAspectRatio: "none", "aria-hidden": "true"});
  const points = outline.map((db, i) => `${i + 0.5},${60 - db}`).join(" ");
  svg.append(svgElement("polyline",
    {points, "vector-effect": "non-scaling-stroke"}));
  return svg;
}

/* On the bench */

/** What is drawn: values, attacks, where cycles join, and gaps, in frames. */
function drawnOf(sound) {
  const {main} = sound.files;
  const marked = sound.repeat === "loop-points";
  const from = marked ? sound.loopStart : 0;
  const to = marked ? sound.loopEnd : main.nFrames;
  const once = {
    values: main.channels[0].subarray(from, to),
    shots: main.shots.filter((shot) => shot >= from && shot < to)
      .map((shot) => shot - from),
  };
  return {...once, repeats: sound.repeat !== "nothing"};
}

/** Two cycles of a loop with the board's gap behind each, or all of a file. */
function twice(drawn, gapFrames) {
  if (!drawn.repeats) {
    return {values: drawn.values, shots: drawn.shots, gaps: [], seam: null};
  }
  const n = drawn.values.length;
  const cycle = n + gapFrames;
  const values = new Float32Array(2 * cycle);
  values.set(drawn.values, 0);
  values.set(drawn.values, cycle);
  return {
    values,
    shots: [...drawn.shots, ...drawn.shots.map((shot) => shot + cycle)],
    gaps: gapFrames ? [[n, cycle], [cycle + n, 2 * cycle]] : [],
    seam: cycle,
  };
}

/** A step of 1, 2 or 5 times a power of ten that divides a span so often. */
function roundStep(span, most) {
  const power = 10 ** Math.floor(Math.log10(span / most));
  return [1, 2, 5, 10].map((x) => x * power)
    .find((step) => span / step <= most);
}

/** Upper and lower ends of the waveform in each column. */
function envelopeOf(values, nColumns) {
  return Array.from({length: nColumns}, (_, i) => {
    const part = values.subarray(
      Math.floor(i * values.length / nColumns),
      Math.max(Math.floor((i + 1) * values.length / nColumns),
        Math.floor(i * values.length / nColumns) + 1));
    return [part.reduce((a, x) => Math.max(a, x), 0),
      part.reduce((a, x) => Math.min(a, x), 0)];
  });
}

/** The least of some round scales that holds a waveform. */
function fullScaleOf(envelope) {
  const most = envelope.reduce(
    (peak, [high, low]) => Math.max(peak, high, -low), 0);
  return [0.01, 0.02, 0.05, 0.1, 0.2, 0.5].find((scale) => most <= scale) ?? 1;
}

class Picture {
  constructor(svg) {
    this.svg = svg;
    this.left = 46;
    this.right = 12;
    this.wave = {top: 24, height: 88};
    this.level = {top: 136, height: 96};
    this.lampTop = 242;
    this.height = 306;
  }

  /** Draw a sound, or nothing of none. */
  draw(sound, board) {
    this.sound = sound;
    this.board = board;
    this.svg.replaceChildren();
    this.svg.toggleAttribute("hidden", !sound);
    if (sound) {
      this.drawAll();
    }
  }

  redraw() {
    this.draw(this.sound, this.board);
  }

  drawAll() {
    const {sound, board} = this;
    const gap = sound.repeat === "nothing"
      ? 0
      : Math.floor(board.gapMs / 1000 * sound.rateHz + 0.5);
    this.shown = twice(drawnOf(sound), gap);
    this.seconds = this.shown.values.length / sound.rateHz;
    this.fullWidth = Math.max(280, this.svg.parentElement.clientWidth || 680);
    this.width = this.fullWidth - this.left - this.right;
    this.svg.setAttribute("viewBox", `0 0 ${this.fullWidth} ${this.height}`);
    this.svg.setAttribute("aria-label", this.inWords());
    this.drawGaps();
    this.drawTimes();
    this.drawWave();
    this.drawLevel();
    this.drawLamp();
    this.drawSeam();
  }

  inWords() {
    const {sound, shown, seconds} = this;
    const what = shown.seam === null ? "The sound" : "Two cycles of the loop";
    return `${what}: ${shown.shots.length} shots in ` +
      `${inWords(seconds, 2, "s")}. Above the waveform, below it the level in ` +
      "dBFS" + (sound.lampOnS
      ? `, at the bottom the lamp, ${inWords(1000 * sound.lampOnS, 0, "ms")} on.`
      : ".");
  }

  x(seconds) {
    return this.left + this.width * seconds / this.seconds;
  }

  add(name, attributes, text) {
    this.svg.append(svgElement(name, attributes, text));
  }

  line(className, x1, y1, x2, y2) {
    this.add("line", {class: className, x1, y1, x2, y2});
  }

  text(x, y, anchor, words) {
    this.add("text", {x, y, "text-anchor": anchor}, words);
  }

  drawGaps() {
    for (const [from, to] of this.shown.gaps) {
      const x = this.x(from / this.sound.rateHz);
      const width = this.x(to / this.sound.rateHz) - x;
      for (const {top, height} of [this.wave, this.level]) {
        this.add("rect", {class: "gap", x, y: top, width, height});
      }
    }
  }

  drawTimes() {
    const step = roundStep(this.seconds, this.width / 70);
    const bottom = this.lampTop + 26;
    const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    for (let i = 0; i * step <= this.seconds * (1 + 1e-9); ++i) {
      const x = this.x(i * step);
      this.line("grid", x, this.wave.top, x, bottom);
      const atEnd = x > this.left + this.width - 20;
      this.text(atEnd ? this.left + this.width : x, bottom + 15,
        atEnd ? "end" : "middle", (i * step).toFixed(decimals));
    }
    this.text(this.left + this.width, this.height - 6, "end", "time in s");
  }

  drawWave() {
    const {top, height} = this.wave;
    const middle = top + height / 2;
    const nColumns = Math.floor(this.width);
    const envelope = envelopeOf(this.shown.values, nColumns);
    const most = fullScaleOf(envelope);
    const d = envelope.map(([high, low], i) => {
      const x = (this.left + i + 0.5).toFixed(1);
      const y = (value) => (middle - value / most * height / 2).toFixed(1);
      return `M${x} ${y(high)}V${y(low) === y(high) ? y(high - 0.01 * most) : y(low)}`;
    }).join("");
    this.line("axis", this.left, middle, this.left + this.width, middle);
    this.add("path", {class: "wave", d});
    this.text(this.left - 6, top + 10, "end", String(most));
    this.text(this.left - 6, middle + 4, "end", "0");
    this.text(this.left - 6, top + height, "end", `\u2212${most}`);
    this.text(this.left + this.width, top - 8, "end",
      "waveform, full scale is 1");
  }

  drawLevel() {
    const {top, height} = this.level;
    const y = (db) => top + height * Math.min(Math.max(db / LOWEST_DB, 0), 1);
    for (const db of [0, -20, -40, -60]) {
      this.line("grid", this.left, y(db), this.left + this.width, y(db));
      this.text(this.left - 6, y(db) + 4, "end",
        String(db).replace("-", "\u2212"));
    }
    const stepS = Math.max(CURVE_STEP_S, this.seconds / this.width);
    const curve = levelCurve(this.shown.values, this.sound.rateHz, stepS);
    const points = Array.from(curve, (db, i) =>
      `${this.x(i * stepS).toFixed(1)},${y(db).toFixed(1)}`);
    this.add("polyline", {class: "level", points: points.join(" ")});
    this.text(this.left + this.width, top - 8, "end", "level in dBFS");
  }

  drawLamp() {
    const {rateHz, lampOnS} = this.sound;
    if (lampOnS === null) {
      return;
    }
    for (const shot of this.shown.shots) {
      const onS = shot / rateHz;
      const x = this.x(onS);
      this.line("attack", x, this.wave.top, x, this.wave.top + 7);
      const width = this.x(Math.min(onS + lampOnS, this.seconds)) - x;
      this.add("rect",
        {class: "lit", x, y: this.lampTop + 6, width, height: 14});
    }
    this.line("axis", this.left, this.lampTop + 20, this.left + this.width,
      this.lampTop + 20);
    this.text(this.left - 6, this.lampTop + 18, "end", "lamp");
  }

  drawSeam() {
    if (this.shown.seam !== null) {
      const x = this.x(this.shown.seam / this.sound.rateHz);
      this.line("seam", x, this.wave.top, x, this.lampTop + 26);
      this.text(x, this.height - 6, "middle", "seam");
    }
  }
}
