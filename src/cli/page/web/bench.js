// The bench: one sound, its triggers, and the sliders that lay its burst anew.

// A slider rests so long before the burst is laid anew, and a sound peaks so
// high at most: both chosen here.
const RELAY_AFTER_MS = 120;
const LOUD_PEAK = 0.9;

/** Why a sound is listed and cannot be heard. */
function unheardInWords(data) {
  return `Not in this page, which holds ${bytesInWords(data.heardMost)} of ` +
    "sound: the sounds before it take that. Hear it with `volleyweave " +
    "rehearse`, or make a page of fewer sounds.";
}

/** The command line that makes a burst. */
function commandFor(relayed, options) {
  const valley = options.valleyDb === null ? "none" : String(options.valleyDb);
  const shots = options.shots ? ` --shots ${options.shots}` : "";
  return `${relayed.command} --fire-rate ${options.fireRatePerS}/s ` +
    `--valley ${valley} --tail ${options.tail}${shots} --loudness keep ` +
    relayed.take;
}

/** A fact, broken between its words alone. */
function factElement(text) {
  const told = element("dd", "");
  told.append(...commandElements(text));
  return told;
}

/** Raise a burst to the level of the files, as far as it goes. */
function raise(sound, gainDb) {
  let peak = 0;
  for (const {channels} of Object.values(sound.files)) {
    for (const values of channels) {
      peak = values.reduce((most, x) => Math.max(most, Math.abs(x)), peak);
    }
  }
  const gain = Math.min(10 ** ((gainDb || 0) / 20), LOUD_PEAK / (peak || 1));
  for (const file of Object.values(sound.files)) {
    file.channels = file.channels.map((values) => values.map((x) => x * gain));
  }
  return sound;
}

class Bench {
  constructor(data, player) {
    this.data = data;
    this.player = player;
    this.picture = new Picture(byId("picture"));
    this.sound = null;
    this.relayed = null;
    this.pending = null;
    this.heldLast = "rapid";
    this.releasedMs = new Map();
    this.triggers = Object.fromEntries(["single", "rapid"].map((key) => [key,
      new Trigger(byId(`trigger-${key}`), (held) => this.change(key, held))]));
    this.listenToBoard();
    this.listenToSliders();
    this.listenToLeaving();
  }

  /* Triggers */

  /** What a trigger plays; null where there is nothing. */
  played(key) {
    return key === "rapid" && this.relayed
      ? this.relayed
      : this.sound.owner(key)?.[key]() ?? null;
  }

  line(key) {
    const speakerHz = byId("use-speaker").checked ? this.data.speakerHz : 0;
    return this.player.line(key, this.played(key), this.board, speakerHz);
  }

  /** A trigger was pressed or let go. */
  change(key, held) {
    if (held) {
      this.heldSinceMs = performance.now();
      this.heldLast = key;
    } else {
      this.releasedMs.set(key, performance.now());
    }
    if (!this.player.isAwake()) {
      this.wakeFor(key, held);
    } else if (held && this.sound && this.played(key)) {
      this.player.press(this.line(key));
    } else if (!held && this.player.lines.has(key)) {
      this.player.release(this.player.lines.get(key));
    }
  }

  /** The first press waits for the browser, and is then as long as it was. */
  async wakeFor(key, held) {
    if (!held) {
      return;
    }
    const sinceMs = performance.now();
    const trigger = this.triggers[key];
    await this.player.wake();
    if (!this.player.isAwake() || !this.sound || !this.played(key)) {
      return;
    }
    this.prepare();
    const line = this.line(key);
    this.player.press(line);
    if (!trigger.held) {
      setTimeout(
        () => this.player.release(line), this.releasedMs.get(key) - sinceMs);
    }
  }

  dropAll() {
    Object.values(this.triggers).forEach((trigger) => trigger.drop());
  }

  listenToLeaving() {
    addEventListener("blur", () => this.dropAll());
    addEventListener("pagehide", () => this.dropAll());
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) {
        this.dropAll();
      }
    });
  }

  /* Board */

  listenToBoard() {
    for (const id of ["use-gap", "use-delay", "release", "use-speaker"]) {
      byId(id).addEventListener("change", () => this.setBoard());
    }
  }

  /** Set the switches to what a board does. */
  showBoard(board) {
    const {speakerHz} = this.data;
    this.ownBoard = board;
    byId("board-name").replaceChildren(board.name
      ? nameElement(board.name)
      : "no board was named");
    byId("gap-text").textContent = board.gapMs
      ? `gap of ${inWords(board.gapMs, 0, "ms")} between repeats`
      : "no gap between repeats is known";
    byId("delay-text").textContent = board.delayMs || board.pressMinMs
      ? `delay of ${inWords(board.delayMs, 0, "ms")}, shortest press ` +
        inWords(board.pressMinMs, 0, "ms")
      : "no delay is known";
    byId("speaker-text").textContent =
      `as a small speaker plays it (from ${inWords(speakerHz, 0, "Hz")})`;
    byId("use-gap").disabled = !board.gapMs;
    byId("use-gap").checked = Boolean(board.gapMs);
    byId("use-delay").disabled = !board.delayMs && !board.pressMinMs;
    byId("use-delay").checked = !byId("use-delay").disabled;
    byId("release").value = board.release;
    this.takeBoard();
  }

  /** Take what the switches say. */
  takeBoard() {
    const board = this.ownBoard;
    const delays = byId("use-delay").checked;
    this.board = {
      ...board,
      gapMs: byId("use-gap").checked ? board.gapMs : 0,
      delayMs: delays ? board.delayMs : 0,
      pressMinMs: delays ? board.pressMinMs : 0,
      release: byId("release").value,
    };
  }

  setBoard() {
    this.takeBoard();
    this.describe();
    this.draw();
  }

  /** Draw what the rapid trigger plays, or else the single one. */
  draw() {
    this.picture.draw(this.played("rapid") ?? this.played("single"), this.board);
  }

  /* Sliders */

  listenToSliders() {
    byId("valley").min = this.data.valley.least;
    byId("valley").max = this.data.valley.most;
    for (const id of ["fire-rate", "valley", "shots", "tail", "valley-none"]) {
      byId(id).addEventListener("input", () => this.relaySoon());
    }
    byId("as-made").addEventListener("click", () => this.choose(this.sound));
    byId("copy").addEventListener("click", () => this.copy());
  }

  options() {
    return {
      fireRatePerS: Number(byId("fire-rate").value),
      valleyDb: byId("valley-none").checked
        ? null
        : Number(byId("valley").value),
      tail: byId("tail").value,
      shots: Number(byId("shots").value),
    };
  }

  setSliders(options) {
    byId("fire-rate").value = options.fireRatePerS;
    byId("valley").value = options.valleyDb ?? this.data.valley.usual;
    byId("valley-none").checked = options.valleyDb === null;
    byId("shots").value = options.shots;
    byId("tail").value = options.tail;
    this.showSliders();
  }

  showSliders() {
    const options = this.options();
    const shots = options.shots ? String(options.shots) : "as needed";
    byId("fire-rate-text").textContent =
      inWords(options.fireRatePerS, 1, "per\u00a0s");
    byId("valley-text").textContent = inWords(
      Number(byId("valley").value), 0, "dB");
    byId("shots-text").textContent = shots;
    byId("valley").disabled = options.valleyDb === null;
    this.showCommand(options);
  }

  /** The command that made the files, or what a slider asks for. */
  showCommand(options) {
    const line = this.moved || !this.sound.madeBy
      ? commandFor(this.sound.relay(), options)
      : this.sound.madeBy;
    byId("command-says").textContent = this.moved
      ? "This command makes this burst, at the take's own loudness; leave out " +
        "--loudness keep for that of the others:"
      : "This command makes exactly this burst:";
    byId("command").replaceChildren(...commandElements(line));
  }

  relaySoon() {
    this.moved = true;
    this.showSliders();
    clearTimeout(this.pending);
    this.pending = setTimeout(() => this.relayNow(), RELAY_AFTER_MS);
  }

  relayNow() {
    const made = relay(this.sound.relay(), this.options());
    const level = this.sound.report?.level;
    this.triggers.rapid.drop();
    this.relayed = made && {
      ...raise(made, level?.gain_db),
      lampOnS: Math.min(
        this.sound.rapid()?.lampOnS ?? 0.03, 0.5 / made.fireRatePerS),
    };
    byId("relay-result").textContent = made
      ? `Laid anew: ${inWords(made.fireRatePerS, 3, "per\u00a0s")}, valley ` +
        `${inWords(made.valleyDb, 1, "dB")}, ` +
        `${made.plan.shots} shots in the loop.` +
        (made.lateMs ? ` It starts ${inWords(made.lateMs, 0, "ms")} late.` : "")
      : "So many shots at that fire rate do not fit into the longest loop: " +
        "take fewer shots or a higher fire rate.";
    this.describe();
    this.draw();
  }

  async copy() {
    const said = byId("copied");
    try {
      await navigator.clipboard.writeText(byId("command").textContent);
      said.textContent = "Copied.";
    } catch {
      getSelection().selectAllChildren(byId("command"));
      said.textContent = "Selected: copy it with the keyboard.";
    }
  }

  /* One sound */

  choose(sound) {
    this.dropAll();
    this.sound = sound;
    this.relayed = null;
    this.moved = false;
    const board = this.data.boards[sound.board];
    if (this.ownBoard !== board) {
      this.showBoard(board);
    }
    clearTimeout(this.pending);
    const name = byId("bench-name");
    name.replaceChildren(nameElement(sound.name));
    const problem = sound.error ?? (sound.heard ? "" : unheardInWords(this.data));
    byId("bench-error").hidden = !problem;
    byId("bench-error").replaceChildren(nameElement(problem));
    byId("bench-body").hidden = Boolean(sound.error);
    byId("relay-result").textContent = "";
    byId("copied").textContent = "";
    byId("facts").replaceChildren(...factsOf(sound).flatMap(([term, text]) =>
      [element("dt", term), factElement(text)]));
    const warnings = warningsOf(sound);
    byId("warnings").replaceChildren(...(warnings.length ? warnings : ["none"])
      .map((text) => element("li", text)));
    byId("unlaid").hidden = !sound.unlaid;
    byId("unlaid").textContent = sound.unlaid ?? "";
    byId("relay").hidden = !sound.relay();
    if (sound.relay()) {
      this.setSliders(sound.relay().options);
    }
    if (!sound.error) {
      this.describe();
      this.draw();
    }
  }

  /** Have both triggers ready before they are touched. */
  prepare() {
    for (const key of ["single", "rapid"]) {
      if (this.player.isAwake() && this.played(key)) {
        this.line(key);
      }
    }
  }

  /** Say what the triggers do. */
  describe() {
    this.prepare();
    for (const key of ["single", "rapid"]) {
      const played = this.played(key);
      byId(`trigger-${key}`).disabled = !played;
      byId(`does-${key}`).replaceChildren(...this.whatPlays(key, played));
    }
    const rapid = this.played("rapid");
    const pulse = rapid && pulseOf(rapid, this.board);
    byId("lamp-text").textContent = pulse
      ? `${inWords(pulse, 2, "flashes per\u00a0s")} while held.`
      : "";
  }

  /** What a trigger does, and with which sound where that is another one. */
  whatPlays(key, played) {
    const owner = this.sound.owner(key);
    if (!played) {
      return [owner ? "not in this page" : "no such sound"];
    }
    return owner === this.sound
      ? [doesOf(played, this.board)]
      : [nameElement(owner.name), ": ", doesOf(played, this.board)];
  }

  /** Shots per second in what the trigger held last lets be heard, or null. */
  rateHeard(atS) {
    const line = this.player.lines.get(this.heldLast);
    return line ? rateInSound(line, atS) : null;
  }

  /** The flashes of all that sounds, by the device's time. */
  flashes() {
    const lists = [...this.player.lines.values()].map((line) =>
      line.flashes(line.sound.lampOnS ?? this.sound.rapid()?.lampOnS ?? 0.03));
    return lists.flat().sort((a, b) => a.onS - b.onS);
  }
}
