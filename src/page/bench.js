// One sound: what is found in it, what is made of it, to hear, adjust and save.

const benchGroups = {
  "Rapid fire": ["fire-rate", "valley", "tail", "tightening", "shots",
    "variants", "detune", "level-spread", "cycle", "cycle-max"],
  "Which shot": ["as", "pick", "start", "from", "to"],
  "Level": ["loudness", "loud-as", "limiting-max", "ceiling", "speaker"],
  "Board and file": ["form", "gap", "buffer", "overrun-max", "run-in-max",
    "sample-rate", "bits", "channels"],
  "Lamp": ["on-time", "lamp-track", "track-frequency"],
};

const NONE = "\u2013";

/** A figure with its unit, or a dash. */
function figure(number, decimals, unit) {
  return typeof number === "number"
    ? `${number.toFixed(decimals)}\u00a0${unit}`
    : NONE;
}

/** Names and texts into a list; what is not there is left out. */
function listFacts(list, facts) {
  list.replaceChildren(...facts.filter(([, text]) => text && text !== NONE)
    .flatMap(([name, text]) =>
      [element("dt", {}, name), element("dd", {}, text)]));
}

/** What a report tells, in the order of the work. */
function factsOf(report) {
  const {shot, loop, level, lamp} = report;
  return [
    ["Kind", shot?.kind],
    ["Length", figure(shot?.length_ms, 0, "ms")],
    ["Fastest untouched", figure(shot?.fastest_fire_rate_per_s, 1, "per\u00a0s")],
    ["Fire rate", figure(loop?.fire_rate_per_s, 2, "per\u00a0s")],
    ["Valley between shots", figure(loop?.valley_db, 1, "dB")],
    ["Tails shortened by", figure(loop?.tightening_db, 1, "dB")],
    ["Seam", figure(loop?.join_residual_db, 0, "dB")],
    ["Loudness of the shot", figure(level?.shot_loudness_lufs, 1, "LUFS")],
    ["Loudness of the burst", figure(level?.burst_loudness_lufs, 1, "LUFS")],
    ["True peak", figure(level?.true_peak_dbtp, 1, "dBTP")],
    ["Limited by", figure(level?.limiting_db, 1, "dB")],
    ["Lamp", lamp ? `${figure(lamp.pulse_hz, 2, "flashes per\u00a0s")}, ` +
      `${figure(lamp.on_ms, 0, "ms")} on` : null],
  ];
}

/** What the rapid trigger plays, from the files of a report; or null. */
function playingOf(report, files) {
  const wavs = {};
  for (const {part, path} of report.files) {
    const file = files.find((one) => one.path === path);
    wavs[part] = file ? readWav(file.bytes) : null;
  }
  const main = wavs.loop ?? wavs.burst ?? wavs.shot ?? Object.values(wavs)[0];
  if (!main) {
    return null;
  }
  const {gap_ms: gapMs = 0, form, fire_rate_per_s: shotsPerS = 0} =
    report.loop ?? {};
  const {delay_ms: delayMs = 0, on_release: onRelease = "finishes"} =
    report.board ?? {};
  return {
    first: wavs.loop ? wavs.runin && pieceOf(wavs.runin) : pieceOf(main),
    cycle: wavs.loop ? pieceOf(wavs.loop) : null,
    end: wavs.ringout ? pieceOf(wavs.ringout) : null,
    gapS: (gapMs ?? 0) / 1000,
    delayS: delayMs / 1000,
    stops: onRelease === "stops" && form !== "pieces",
    rateHz: main.rateHz,
    shotsPerS: shotsPerS ?? 0,
    onS: (report.lamp?.on_ms ?? 30) / 1000,
    single: wavs.shot && {
      first: pieceOf(wavs.shot), cycle: null, end: null, gapS: 0,
      delayS: delayMs / 1000, stops: false, rateHz: main.rateHz, shotsPerS: 0},
  };
}

class Bench {
  constructor(project, help, player) {
    this.project = project;
    this.player = player;
    this.sound = null;
    this.made = null;
    this.loudness = null;
    this.fields = this.makeFields(help);
    this.single = new Trigger(byId("trigger-single"),
      (held) => this.pull(held, this.made?.playing?.single));
    this.rapid = new Trigger(byId("trigger-rapid"),
      (held) => this.pull(held, this.made?.playing));
    on("compare", "change", () => this.update());
    on("save-all", "click", () => saveZip(
      `${this.sound.name.replace(/\.[^.]*$/, "")}.zip`, this.made.files));
    on("copy-command", "click", () =>
      navigator.clipboard?.writeText(byId("command").textContent).then(
        () => say("The command is copied."),
        () => say("The browser does not let the page copy: mark the command.")));
    on("make", "change", ({target}) =>
      project.setMake(this.sound, target.value));
    on("report", "toggle", () => this.showReport());
    on("shown", "change", () => this.showPicture());
    this.picture = new TakePicture((fromS, toS) => {
      project.set(this.sound, "from", `${fromS.toFixed(3)}s`);
      project.set(this.sound, "to", `${toS.toFixed(3)}s`);
    });
  }

  makeFields(help) {
    const {options} = help.commands.find(({name}) => name === "loop");
    return makeGroups(byId("fields"), benchGroups, (name) =>
      new Field(options.find((one) => one.name === name), "set", (value) =>
        this.project.set(this.sound, name, value)));
  }

  pull(held, playing) {
    if (!held) {
      this.player.release();
    } else if (playing) {
      const quiet = byId("compare").checked ? this.made.comparedGain : 1;
      this.player.press(playing, quiet);
    }
  }

  /** Show a sound; its result follows. */
  choose(sound) {
    this.sound = sound;
    byId("bench").hidden = !sound;
    if (sound) {
      byId("bench-name").textContent = sound.name;
      byId("bench-remark").textContent = sound.remark ?? "";
      this.update();
    }
  }

  /** The settings that are heard: as set, or the burst as it was recorded. */
  heardSettings() {
    return byId("compare").checked
      ? {...this.sound.settings, valley: "none"}
      : this.sound.settings;
  }

  /** Make it anew as it is set now, and show what comes of it. */
  async update() {
    const {project, sound} = this;
    if (!sound) {
      return;
    }
    byId("make").value = sound.make;
    this.fields.forEach((field) =>
      field.show(sound.settings[field.option.name] ?? null));
    const words = project.wordsOf(sound, this.heardSettings());
    byId("command").textContent = commandOf(words);
    byId("bench").setAttribute("aria-busy", "true");
    this.asked = words;
    const plot = sound.make === "split" ? [] : ["--plot=picture.svg"];
    const result = await project.engine.run(
      [words[0], "--json", "--force", ...plot, ...words.slice(1)],
      project.pathsOf(sound), "bench");
    if (result && sound === this.sound) {
      await this.show(result);
    } else if (this.asked === words) {
      this.fail("Stopped. Change a setting to make it again.");
    }
    if (this.asked === words) {
      byId("bench").setAttribute("aria-busy", "false");
    }
  }

  async show(result) {
    const reports = objectsOf(result);
    const [report] = reports;
    const fault = faultOf(result);
    if (fault) {
      this.fail(fault);
      return;
    }
    const all = reports.flatMap(({files}) => files ?? []);
    const files = result.files.filter(({path}) =>
      all.some((one) => one.path === path));
    this.made = {
      report, files, all: result.files, playing: playingOf(report, files)};
    this.made.comparedGain = this.gainOver();
    byId("bench-error").textContent = "";
    byId("made").hidden = false;
    listFacts(byId("facts"), factsOf(report));
    byId("warnings").replaceChildren(...(report.warnings ?? []).map((text) =>
      element("li", {}, text)));
    hint(this.fields.find(({option}) => option.name === "fire-rate"),
      report.loop?.fire_rate_per_s);
    byId("warnings-box").hidden = !report.warnings?.length;
    byId("trigger-rapid").hidden = !this.made.playing;
    byId("trigger-single").hidden = !this.made.playing?.single;
    this.made.picture = bytesAt(result, "picture.svg");
    this.showFiles(all);
    this.showReport();
    document.dispatchEvent(new CustomEvent("made"));
    await this.showPicture();
  }

  /** By how much the recorded burst is turned to be as loud as the other. */
  gainOver() {
    const here = this.made.report.level?.burst_loudness_lufs ?? null;
    if (!byId("compare").checked) {
      this.loudness = here;
    }
    return here === null || this.loudness === null
      ? 1
      : Math.min(1, 10 ** ((this.loudness - here) / 20));
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
    if (take && sound === this.sound) {
      showPlaces(take.places, sound.settings.pick ?? null, (pick) =>
        project.set(sound, "pick", pick));
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
      this.take = result && {
        key,
        places: objectsOf(result)[0]?.shot?.places,
        picture: bytesAt(result, "take.svg"),
      };
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

  showFiles(all) {
    byId("files").replaceChildren(...all.map(({part, path, bytes, encoding,
      sample_rate_hz: rate}) => {
      const file = this.made.files.find((one) => one.path === path);
      const name = path.split("/").at(-1);
      return element("li", {}, saveButton(name, file.bytes),
        ` ${part}, ${bytes} bytes, ${rate} Hz, ${encoding}`);
    }));
  }

  /** All that the program says of it, when it is wanted. */
  async showReport() {
    if (byId("report").open && this.sound) {
      const {project, sound} = this;
      const result = await project.engine.run(
        [...project.wordsOf(sound, this.heardSettings()), "--dry-run"],
        project.pathsOf(sound), "report");
      byId("report-text").textContent = result ? result.out : "";
    }
  }
}
