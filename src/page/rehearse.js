// What is heard when a board's trigger is held as one says, from the files
// just made.

class Rehearsal {
  constructor(project, bench) {
    Object.assign(this, {project, bench});
    this.form = new Form(project, {id: "rehearse", root: "rehearsal-fields",
      commands: ["rehearse"], groups: {"": ["hold", "through-speaker"]},
      settings: () => project.settings.rehearse});
    this.hold = this.form.fields[0].option.example;
    project.onChange(() => this.clear());
    on("rehearse", "click", () => this.run());
    on("rehearsal-stop", "click", () => bench.player.silence());
    document.addEventListener("made", () => this.clear());
  }

  clear(text = "") {
    this.form.show();
    this.form.hint("hold", this.hold);
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
    const settings = {hold: this.hold, ...project.settings.rehearse};
    settings.speaker = settings["through-speaker"] && sound.settings.speaker;
    const wav = `${path.split("/").at(-1).replace(/\.[^.]*$/, "")}.held.wav`;
    const result = await project.engine.run(
      ["rehearse", "--json", `--board=${project.board}`,
        ...wordsOf(settings), `--output=${wav}`, path],
      [...bench.putMade(), ...project.pathsOf(sound)], "rehearse");
    if (result && made === bench.made) {
      this.show(result, wav);
    }
  }

  async show(result, wav) {
    const {reports, fault} = result;
    const file = result.files.find(({path}) => path === wav);
    if (fault || !file) {
      this.clear(fault ?? result.complaint);
      return;
    }
    const [{lamp, frames, sample_rate_hz: rateHz}] = reports;
    this.clear(`${figure(frames / rateHz, 2, "s")}, ` +
      `${lamp.length} flashes of the lamp.`);
    byId("rehearsal-files").append(
      ...result.files.map(({path, bytes}) => saveButton(path, bytes)));
    await this.bench.player.press(
      onceOf(await readSound(file.bytes, rateHz), {lit: lamp}));
    this.bench.player.release();
  }
}

/** The file, of those made, that a held trigger plays; or undefined. */
function pathHeld({report}) {
  const pathOf = (wanted) =>
    report.files.find(({part}) => part === wanted)?.path;
  return pathOf("loop") ?? pathOf("burst") ?? report.files[0]?.path;
}
