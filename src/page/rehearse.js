// What is heard when a board's trigger is held as one says, from the files
// just made.

class Rehearsal {
  constructor(project, help, bench) {
    this.project = project;
    this.bench = bench;
    const {options} = help.commands.find(({name}) => name === "rehearse");
    const optionOf = (wanted) => options.find(({name}) => name === wanted);
    this.settings = {};
    this.hold = optionOf("hold").example;
    for (const name of ["hold", "through-speaker"]) {
      const field = new Field(optionOf(name), "rehearse", (value) => {
        this.settings[name] = value;
        this.run();
      });
      field.input.placeholder = field.option.example ?? "";
      byId("rehearsal-fields").append(field.root);
    }
    on("rehearse", "click", () => this.run());
    on("rehearsal-stop", "click", () => bench.player.silence());
    document.addEventListener("made", () => this.clear());
  }

  clear(text = "") {
    byId("rehearsal-says").textContent = text;
    byId("rehearsal-files").replaceChildren();
  }

  async run() {
    const {project, bench} = this;
    const {made, sound} = bench;
    const path = made && pathHeld(made);
    if (!path || !project.board) {
      this.clear(path ? "Choose a board above: it decides what is heard."
        : "There is no sound to be held yet.");
      return;
    }
    const speaker = this.settings["through-speaker"]
      ? {speaker: sound.settings.speaker} : {};
    const hold = this.settings.hold ?? this.hold;
    const wav = `${path.split("/").at(-1).replace(/\.[^.]*$/, "")}.held.wav`;
    const result = await project.engine.run(
      ["rehearse", "--json", `--board=${project.board}`,
        ...wordsOf({...this.settings, ...speaker, hold}), `--output=${wav}`, path],
      [...bench.putMade(), ...project.pathsOf(sound)], "rehearse");
    if (result && made === bench.made) {
      this.show(result, wav);
    }
  }

  show(result, wav) {
    const fault = faultOf(result);
    const file = result.files.find(({path}) => path === wav);
    if (fault || !file) {
      this.clear(fault ?? result.err);
      return;
    }
    const [{lamp, frames, sample_rate_hz: rateHz}] = objectsOf(result);
    this.clear(`${figure(frames / rateHz, 2, "s")}, ` +
      `${lamp.length} flashes of the lamp.`);
    byId("rehearsal-files").append(
      ...result.files.map(({path, bytes}) => saveButton(path, bytes)));
    this.play(readWav(file.bytes), lamp);
  }

  async play(heard, lit) {
    const {player} = this.bench;
    await player.press({
      first: pieceOf(heard), cycle: null, end: null, gapS: 0, delayS: 0,
      stops: false, rateHz: heard.rateHz, shotsPerS: 0, lit});
    player.release();
  }
}

/** The file, of those made, that a held trigger plays; or undefined. */
function pathHeld({report}) {
  const pathOf = (wanted) =>
    report.files.find(({part}) => part === wanted)?.path;
  return pathOf("loop") ?? pathOf("burst") ?? report.files[0]?.path;
}
