// One sound: what is found in it, what is made of it, to hear, adjust and save.

const benchGroups = {
  "Rapid fire": ["fire-rate", "valley", "tail", "tightening", "shots",
    "variants", "kick", "detune", "level-spread", "cycle", "cycle-max"],
  "Which shot": ["as", "pick", "start", "from", "to"],
  "Level": ["loudness", "loud-as", "limiting-max", "ceiling", "speaker"],
  "Board and file": ["form", "gap", "buffer", "overrun-max", "run-in-max",
    "sample-rate", "bits", "channels"],
  "Lamp": ["on-time", "lamp-track", "track-frequency"],
};

// What is told of each part of a report, in the order of the work.
const benchFacts = {
  shot: "kind length_ms fastest_fire_rate_per_s",
  loop: "fire_rate_per_s valley_db tightening_db join_residual_db",
  level: "shot_loudness_lufs burst_loudness_lufs true_peak_dbtp limiting_db",
  lamp: "pulse_hz on_ms",
};

/** Sound as it stands in a file, but for the lamp's; null if the browser cannot
 * play it. */
async function readSound(bytes, rateHz, track) {
  const buffer = await decoded(bytes, rateHz);
  return buffer && {rateHz, nFrames: buffer.length, channels: Array.from(
    {length: buffer.numberOfChannels}, (_, c) => buffer.getChannelData(c))
    .filter((_, c) => c + 1 !== track?.channel)};
}

/** What a trigger plays once, to its end; `more` of it is otherwise. */
function onceOf(sound, more) {
  return {first: pieceOf(sound), cycle: null, end: null, gap: 0, delay: 0,
    notice: 0, stops: false, rateHz: sound.rateHz, shotsPerS: 0, ...more};
}

/** What the rapid trigger plays, from the files of a report; or null. */
async function playingOf({loop, board, lamp}, files) {
  const wavs = Object.fromEntries(await Promise.all(files.map(
    async ({part, bytes, sample_rate_hz: rateHz}) =>
      [part, await readSound(bytes, rateHz, lamp?.track)])));
  const main = wavs.loop ?? wavs.burst ?? wavs.shot ?? Object.values(wavs)[0];
  if (!main) {
    return null;
  }
  const frames = (ms) => Math.floor((ms ?? 0) / 1000 * main.rateHz + 0.5);
  const notice = frames(board?.press_min_ms);
  const onBoard = {notice, delay: Math.max(frames(board?.delay_ms), notice),
    stops: board?.release === "stops"};
  const {loop_start_frame: from, loop_end_frame: to} =
    files.find(({part}) => part === "loop") ?? {};
  const rest = to && to < main.nFrames ? pieceOf(main, to) : null;
  return onceOf(main, {
    ...onBoard,
    ...wavs.loop && {
      first: wavs.runin ? pieceOf(wavs.runin) : pieceOf(main, 0, to),
      cycle: pieceOf(main, from, to),
      end: wavs.ringout ? pieceOf(wavs.ringout) : rest,
      overlaps: Boolean(wavs.ringout),
      stops: onBoard.stops && !wavs.ringout, gap: frames(loop?.gap_ms),
      shotsPerS: loop?.fire_rate_per_s ?? 0,
    },
    onS: (lamp?.on_ms ?? 30) / 1000,
    single: wavs.shot && onceOf(wavs.shot, onBoard),
  });
}

/** How far a burst is turned down to be as loud as another that is softer. */
function gainOver({level}, other) {
  const over = level?.burst_loudness_lufs - other?.level?.burst_loudness_lufs;
  return over > 0 ? 10 ** (-over / 20) : 1;
}

class Bench {
  constructor(project, player) {
    Object.assign(this, {project, player, sound: null, made: null, turn: 0,
      shown: 0});
    this.form = new Form(project, {id: "set", root: "fields",
      commands: ["loop"], groups: benchGroups,
      settings: () => this.sound.settings});
    byId("lamp").after(byId("set-fire-rate").closest(".field"));
    this.single = new Trigger(byId("trigger-single"),
      (held) => this.pull(held, this.made?.playing?.single, "single"));
    this.rapid = new Trigger(byId("trigger-rapid"),
      (held) => this.pull(held, this.made?.playing, "rapid"));
    holdBySpace(this.rapid, this.single);
    on("compare", "change", () => {
      this.isCompared = true;
      this.update();
    });
    on("save-all", "click", () => saveZip(
      `${this.sound.name.replace(/\.[^.]*$/, "")}.zip`, this.made.files));
    on("copy-command", "click", () =>
      navigator.clipboard?.writeText(byId("command").textContent).then(
        () => say("The command is copied."),
        () => say("The browser refuses it: mark the command and copy it.")));
    on("make", "change", ({target}) =>
      project.set(this.sound, "make", target.value));
    on("report", "toggle", () => this.showReport());
    on("shown", "change", () => this.showPicture());
    this.picture = new TakePicture((fromS, toS) => project.change(() =>
      Object.assign(this.sound.settings,
        {from: `${fromS.toFixed(3)}s`, to: `${toS.toFixed(3)}s`})));
  }

  pull(held, playing, by) {
    this.player.pull(held, playing, by, this.made?.gain);
  }

  /** Show a sound; its result follows. */
  choose(sound) {
    byId("bench").hidden = !sound;
    if (sound?.name !== this.sound?.name) {
      this.asked = null;
      this.isCompared = byId("compare").checked;
      this.fail("");
    }
    this.sound = sound;
    if (sound) {
      byId("bench-name").textContent = sound.name;
      byId("bench-remark").replaceChildren(...withCommands(sound.remark ?? ""));
      this.update();
    }
  }

  /** The words of what is heard: as set, or the burst as it was recorded. */
  wordsOf(sound, isAsRecorded = byId("compare").checked) {
    return this.project.wordsOf(sound, isAsRecorded
      ? {...sound.settings, valley: "none"} : sound.settings);
  }

  /** Run a command of a sound, with more options. */
  run(sound, [command, ...words], key, ...more) {
    return this.project.engine.run([command, ...more, ...words],
      this.project.pathsOf(sound), key);
  }

  /** Make it again if a setting changed, and show the result. */
  async update() {
    const {sound} = this;
    const words = sound && this.wordsOf(sound);
    const asked = JSON.stringify([words, this.isCompared]);
    if (!sound || asked === this.asked) {
      return;
    }
    this.asked = asked;
    const turn = ++this.turn;
    byId("make").value = sound.make;
    this.form.show();
    byId("command").textContent = commandOf(words);
    byId("bench").setAttribute("aria-busy", "true");
    const plot = sound.make === "split" ? [] : ["--plot=picture.svg"];
    const [result, other] = await Promise.all([
      this.run(sound, words, "bench", "--json", "--force", ...plot),
      this.isCompared ? this.run(sound, this.wordsOf(sound,
        !byId("compare").checked), "other", "--json", "--dry-run") : null]);
    const isDone = result && (other || !this.isCompared);
    if (isDone && sound.name === this.sound?.name) {
      await this.show(turn, result, other);
    } else if (asked === this.asked) {
      this.asked = null;
      this.fail("Stopped. Change a setting to make it again.");
    } else {
      return;
    }
    document.dispatchEvent(new CustomEvent("made"));
    if (this.made) {
      await this.showPicture();
    }
    if ([asked, null].includes(this.asked)) {
      byId("bench").setAttribute("aria-busy", "false");
      this.showReport();
    }
  }

  async show(turn, result, other) {
    const {reports, reports: [report], fault} = result;
    const files = filesOf(reports, result);
    const playing = fault ? null : await playingOf(report, files);
    // A newer one may have been ready sooner.
    if (turn < this.shown) {
      return;
    }
    this.shown = turn;
    if (fault) {
      this.fail(fault);
      return;
    }
    this.made = {report, files, all: result.files, playing,
      picture: bytesAt(result, "picture.svg"),
      gain: gainOver(report, other?.reports[0])};
    byId("bench-error").textContent = "";
    byId("made").hidden = false;
    listFacts(byId("facts"), Object.entries(benchFacts).flatMap(
      ([part, keys]) => factsIn(report[part], keys)));
    byId("compare-says").textContent = this.made.gain >= 1 ? ""
      : `Turned down by ${figure(-20 * Math.log10(this.made.gain), 1, "dB")}.`;
    byId("warnings").replaceChildren(...itemsOf(report.warnings ?? []));
    this.form.hint("fire-rate", report.loop?.fire_rate_per_s?.toFixed(2));
    byId("warnings-box").hidden = !report.warnings?.length;
    this.showTriggers(report.loop);
    this.showFiles(files);
  }

  /** Only what has shots is called rapid fire. */
  showTriggers(loop) {
    const {playing} = this.made;
    const {cycle, single} = playing ?? {};
    byId("trigger-single").hidden = !single;
    byId("trigger-rapid").hidden = !cycle && (!playing || Boolean(single));
    byId("rapid-name").textContent = loop?.fire_rate_per_s
      ? "Rapid fire" : "The sound";
    byId("rapid-held").textContent = cycle ? "while held" : "once";
  }

  /** Give what was just made to the program again; the paths. */
  putMade() {
    this.made.all.forEach(({path, bytes}) =>
      this.project.engine.put(path, bytes));
    return this.made.all.map(({path}) => path);
  }

  fail(message) {
    this.made = null;
    byId("made").hidden = true;
    byId("bench-error").textContent = message;
    byId("report-text").textContent = "";
    this.showFiles([]);
  }

  /** The picture that is asked for, and the shots to choose from. */
  async showPicture() {
    const {project, sound} = this;
    const ofTake = byId("shown").querySelector(":checked").value === "take";
    if (!ofTake) {
      this.picture.show(this.made?.picture, `What was made of ${sound.name}: ` +
        "waveform, level and shots", false);
    }
    const take = await this.inspect(sound);
    if (take && sound.name === this.sound?.name) {
      showPlaces(take.places, sound.settings.pick ?? null, (pick) =>
        project.set(sound.settings, "pick", pick));
      if (ofTake) {
        this.picture.show(take.picture,
          `The recording ${sound.name}: waveform, level and shots`, true);
        this.markStretch();
      }
    }
  }

  /** What is found in a take, asked once. */
  async inspect({name, settings: {as}}) {
    const key = `${name} ${as}`;
    if (this.take?.key !== key) {
      const result = await this.project.engine.run(
        ["inspect", "--json", "--plot=take.svg", ...wordsOf({as}), name],
        [name], "take");
      this.take = result && {key, places: result.reports[0]?.shot?.places,
        picture: bytesAt(result, "take.svg")};
    }
    return this.take;
  }

  markStretch() {
    const {from, to} = this.sound.settings;
    if (this.picture.axis && (from || to)) {
      const {fromS, toS} = this.picture.axis;
      const seconds = (text, usual) => Number.isFinite(parseFloat(text))
        ? parseFloat(text) / (/ms$/.test(text) ? 1000 : 1) : usual;
      this.picture.mark(seconds(from, fromS), seconds(to, toS));
    }
  }

  showFiles(files) {
    byId("save-all").disabled = !files.length;
    byId("files").replaceChildren(...files.map(({part, path, bytes, encoding,
      sample_rate_hz: rate}) =>
      element("li", {}, saveButton(path.split("/").at(-1), bytes),
        ` ${part}, ${bytes.length} bytes, ${rate} Hz, ${encoding}`)));
  }

  /** All that the program says of it, when it is wanted. */
  async showReport() {
    const {sound} = this;
    if (byId("report").open && sound) {
      const result = await this.run(sound, this.wordsOf(sound), "report",
        "--dry-run", "--verbose");
      byId("report-text").textContent = result?.out || result?.err || "";
    }
  }
}
