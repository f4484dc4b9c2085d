// The page as a whole.

/** Show the lamp and the readings, as often as the screen is drawn. */
function showReadings(bench, flashesMostPerS) {
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const disc = byId("disc");
  const calmLamp = new CalmLamp(flashesMostPerS);
  const isLit = (flashes, atS) => calm.matches
    ? calmLamp.isLit(flashes, atS, performance.now())
    : Boolean(flashAt(flashes, atS));
  const draw = () => {
    const {player} = bench;
    const atS = player.heardS();
    const flashes = player.context ? bench.flashes() : [];
    const lit = byId("use-lamp").checked && isLit(flashes, atS);
    if (disc.dataset.on !== String(lit)) {
      disc.dataset.on = String(lit);
    }
    showNumbers(bench, flashes, atS);
    requestAnimationFrame(draw);
  };
  byId("use-lamp").addEventListener("change", (event) => {
    disc.setAttribute("aria-label", event.target.checked
      ? "Lamp, flashing with the shots"
      : "Lamp, off");
  });
  requestAnimationFrame(draw);
}

/** Put a text into an element where it is not there yet. */
function show(id, text) {
  if (byId(id).textContent !== text) {
    byId(id).textContent = text;
  }
}

// The fire rate is measured so often: chosen here.
const MEASURE_EVERY_MS = 200;

function showNumbers(bench, flashes, atS) {
  const held = Object.values(bench.triggers).some((trigger) => trigger.held);
  const heard = flashes.filter(({onS}) => onS <= atS).length;
  const nowMs = performance.now();
  if (held || flashes.some(({offS}) => offS > atS)) {
    show("shots-heard", flashes.length ? String(heard) : NONE);
    if (nowMs - (bench.measuredMs ?? 0) > MEASURE_EVERY_MS) {
      bench.measuredMs = nowMs;
      show("rate-heard", inWords(bench.rateHeard(atS), 2, "per\u00a0s"));
    }
  }
  if (held) {
    show("held-for", inWords((nowMs - bench.heldSinceMs) / 1000, 1, "s"));
  }
}

/** What the sounds take, in whole clusters. */
function bytesOnCard(board, sounds) {
  const {clusterBytes} = board;
  return board.bytesOnCard ?? sounds.reduce((sum, sound) => sum +
    Math.ceil(sound.bytes / clusterBytes) * clusterBytes, 0);
}

function showTotal(board, sounds) {
  const bytes = bytesOnCard(board, sounds);
  const failed = sounds.filter((sound) => sound.error).length;
  const unheard = sounds.filter((sound) =>
    !sound.error && !sound.heard).length;
  const parts = [sounds.length, sounds.length === 1 ? "sound," : "sounds,",
    bytesInWords(bytes)];
  if (board.capacityBytes) {
    const share = 100 * bytes / board.capacityBytes;
    parts.push(`of ${bytesInWords(board.capacityBytes)} ` +
      `(${inWords(share, share < 10 ? 1 : 0, "%")})`);
  } else {
    parts.push("(the board's capacity is not known)");
  }
  byId("total").textContent = parts.join(" ") + "." +
    (Number.isFinite(board.loudnessLufs)
      ? ` Made for ${inWords(board.loudnessLufs, 1, "LUFS")}.` : "") +
    (failed ? ` ${failed} failed and cannot be played.` : "") +
    (unheard ? ` ${unheard} are listed but not in this page.` : "");
  byId("capacity").hidden = !board.capacityBytes;
  byId("capacity").max = board.capacityBytes || 1;
  byId("capacity").value = bytes;
}

/** Say where a table goes on beyond the screen. */
function showHints() {
  for (const box of document.querySelectorAll(".scroll")) {
    box.previousElementSibling.hidden = box.scrollWidth <= box.clientWidth + 1;
  }
}

/** The sound that is shown first: one that repeats, or else any heard. */
function firstOf(sounds) {
  const heard = sounds.filter((sound) => sound.heard);
  return heard.find(repeats) ?? heard.find((sound) => sound.told.rapid) ??
    heard[0] ?? sounds[0];
}

// More entries than that are made when they are printed.
const SHEET_AT_ONCE = 200;

/** All that depends on the board shown. */
class Shelf {
  constructor(data, bench) {
    this.data = data;
    this.bench = bench;
    this.table = new Table((sound) => {
      this.choose(sound);
      byId("bench").scrollIntoView();
    });
    const select = byId("board");
    data.boards.forEach((board, i) => select.append(
      element("option", board.name ?? "no board", {value: i})));
    byId("boards").hidden = data.boards.length < 2;
    select.addEventListener("change", () => this.show(Number(select.value)));
    addEventListener("beforeprint", () => this.fill());
    byId("print").addEventListener("click", () => print());
  }

  show(index) {
    const board = this.data.boards[index];
    this.board = board;
    this.sounds = this.data.sounds.filter((sound) => sound.board === index);
    this.filled = false;
    byId("board-error").hidden = !board.error;
    byId("board-error").textContent = board.error ?? "";
    showTotal(board, this.sounds);
    this.table.show(this.sounds);
    showHints();
    byId("bench").hidden = !this.sounds.length;
    if (this.sounds.length) {
      this.choose(firstOf(this.sounds));
    }
    if (this.sounds.length <= SHEET_AT_ONCE) {
      setTimeout(() => this.fill(), 0);
    } else {
      byId("sheet-entries").replaceChildren(
        element("p", "It is made when the page is printed."));
    }
  }

  choose(sound) {
    this.bench.choose(sound);
    this.table.choose(sound);
  }

  fill() {
    if (!this.filled) {
      fillSheet(this.data, this.sounds, this.board);
      this.filled = true;
      showHints();
    }
  }
}

function start() {
  const data = readData();
  const player = new Player((waiting) => {
    byId("permission").textContent = waiting
      ? "The browser still holds the sound back: allow this page to play it."
      : "";
    byId("permission").hidden = !waiting;
  });
  const bench = new Bench(data, player);
  const shelf = new Shelf(data, bench);
  byId("about").replaceChildren(
    ...(data.title ? [nameElement(data.title), ". "] : []),
    `Made by volleyweave ${data.version}.`);
  byId("lamp-caution").textContent = data.screenCaution;
  byId("cautions").append(...data.sheetCautions.map((text) =>
    element("li", text)));
  document.title = ["Try-out page", data.title].filter(Boolean).join(": ");
  const made = data.boards.findIndex((board) => !board.error);
  byId("board").value = String(Math.max(made, 0));
  shelf.show(Math.max(made, 0));
  addEventListener("resize", () => {
    bench.picture.redraw();
    showHints();
  });
  showReadings(bench, data.flashesMostPerS);
  return bench;
}

const bench = start();
