// A whole prop: every sound that is open, packed for its boards together, and
// the bench sheet of it.

const propTitles = ["In", "Sound", "Kind", "Made", "Fire rate", "Slot",
  "Hear", "Loudness", "Bytes", "Files", "Warnings"];
const sheetTitles = ["Slot", "Sound", "A tap", "Held", "Fire rate", "Lamp",
  "Wire"];

function headOf(titles) {
  return element("thead", {}, element("tr", {}, ...titles.map((title) =>
    element("th", {scope: "col"}, title))));
}

/** What a trigger does on a tap and as long as it is held. */
function tapAndHold({make, loop, board}) {
  if (make !== "loop") {
    const what = {shot: "one shot", burst: "the burst"}[make] ?? "the sound";
    return [what, what];
  }
  const sounds = loop.fire_rate_per_s ? "rapid fire" : "the sound, on and on";
  const round = !loop.shots ? ["the sound", "finishes when let go"]
    : [loop.shots > 1 ? `${loop.shots} shots` : "one shot",
      "the last round is finished"];
  const [tap, end] = {
    "three-files": ["run-in and ring-out", "rings out when let go"],
    "stops": ["as long as it is held", "silent when let go"],
  }[board.repeat === "three-files" ? board.repeat : board.release] ?? round;
  return [tap, `${sounds}; ${end}`];
}

/** One line of the table: a part of a sound as it is set, what came of it. */
class PropRow {
  constructor(project, player, row, id) {
    this.row = row;
    const setPart = (change) => project.change(() => {
      const {sound, key} = this.row;
      sound.parts = {...sound.parts, [key]: {...sound.parts?.[key], ...change}};
    }, this.row.sound, this.row.key);
    const input = (name, type, change) => element("input", {
      id: `prop-${name}-${id}`, type, autocomplete: "off", change});
    this.on = input("in", "checkbox", () => setPart({off: !this.on.checked}));
    this.slot = input("slot", "text", () =>
      setPart({slot: this.slot.value.trim() || undefined}));
    this.rate = input("rate", "text", () => project.set(
      this.row.sound.settings, "fire-rate", this.rate.value.trim() || null));
    this.make = element("select", {
      id: `prop-make-${id}`,
      change: () => project.set(this.row.sound, "make", this.make.value),
    }, ...optionsOf("make"));
    this.hear = element("button", {type: "button", class: "trigger"}, "Hear");
    new Trigger(this.hear, (held) => this.pull(player, held));
    this.cells = Object.fromEntries(propTitles.map((title) =>
      [title, title === "Sound" ? element("th", {scope: "row"})
        : element("td", {"data-title": title})]));
    this.heard = element("span");
    const shown = {In: element("label", {}, this.on), Hear: this.hear,
      Slot: this.slot, Made: row.isFirst ? this.make : "", "Fire rate":
      element("span", {}, row.suffix === "-rapid" ? this.rate : "", " ",
        this.heard)};
    Object.entries(shown).forEach(([title, one]) =>
      this.cells[title].append(one));
    this.root = element("tr", {}, ...Object.values(this.cells));
  }

  /** Play the files that were made; a release never comes before its press. */
  async pull(player, held) {
    this.playing ??= playingOf(this.report, filesOf([this.report], this.made));
    player.pull(held, await this.playing, this);
  }

  show(row, report, made) {
    const {cells} = this;
    Object.assign(this, {row, report, made, playing: null});
    this.hear.hidden = !report?.files?.length;
    this.root.toggleAttribute("data-off", Boolean(row.off));
    cells.Sound.textContent = row.name;
    this.on.checked = !row.off;
    this.slot.value = row.slot ?? "";
    this.slot.placeholder = report?.slot ?? "";
    const {kind, remark} = row.sound;
    cells.Kind.replaceChildren(
      ...withCommands(row.isFirst && remark || kind || NONE));
    this.make.value = row.sound.make;
    if (!row.isFirst) {
      cells.Made.textContent = {loop: "rapid fire"}[row.makes] ?? row.makes;
    }
    this.rate.value = row.sound.settings["fire-rate"] ?? "";
    const named = {In: this.on, Hear: this.hear, Slot: this.slot,
      Made: this.make, "Fire rate": this.rate};
    for (const [title, field] of Object.entries(named)) {
      field.setAttribute("aria-label", `${title}: ${row.name}`);
    }
    const files = report?.files ?? [];
    const {burst_loudness_lufs: burst, shot_loudness_lufs: shot} =
      report?.level ?? {};
    this.heard.textContent = report?.loop ?
      figure(report.loop.fire_rate_per_s, 2, "per\u00a0s") : "";
    cells.Loudness.textContent = figure(burst ?? shot, 1, "LUFS");
    cells.Bytes.textContent =
      files.reduce((sum, {bytes}) => sum + bytes, 0) || NONE;
    const listOf = (texts) => texts.length
      ? element("ul", {}, ...itemsOf(texts)) : NONE;
    cells.Files.replaceChildren(listOf(files.map((file) =>
      `${file.path.split("/").at(-1)}, ${file.sample_rate_hz}\u00a0Hz`)));
    const warnings = report?.warnings ?? [];
    cells.Warnings.replaceChildren(report?.error
      ? element("strong", {}, `Failed: ${report.error.message}`)
      : warnings.length
        ? element("details", {},
          element("summary", {}, String(warnings.length)), listOf(warnings))
        : NONE);
  }
}

class Prop {
  constructor(project, player) {
    Object.assign(this, {project, player, made: null});
    this.form = new Form(project, {id: "prop", root: "prop-fields",
      commands: ["pack"], groups: {"": ["loudness", "loud-as", "limiting-max",
        "speaker", "all-reach", "fit"]},
      settings: () => project.prop.options});
    on("prop-name", "change", ({target}) =>
      project.set(project.prop, "name", target.value.trim()));
    on("prop-boards", "change", () => project.set(project.prop, "boards",
      [...byId("prop-boards").querySelectorAll(":checked")]
        .map(({value}) => value)));
    on("prop-make", "click", () => this.make());
    on("prop-shown", "change", () => this.showMade());
    on("prop-save-pack", "click", () =>
      saveZip(`${this.fileName()}.pack.zip`, this.made.files));
    on("prop-save", "click", () => saveZip(`${this.fileName()}.prop.zip`,
      this.putAll().map((path) =>
        ({path, bytes: project.engine.inputs.get(path)}))));
    on("prop-print", "click", () => print());
    project.onChange(() => this.show());
  }

  fileName() {
    return sectionName(this.project.prop.name || "prop")
      .replaceAll(/[\\/:*?<>|]/g, "_");
  }

  /** Give the program all that the pack is made from; the paths. */
  putAll() {
    const {engine, sounds, described} = this.project;
    engine.put("sounds.ini", new TextEncoder().encode(propText(this.project)));
    return ["sounds.ini", ...sounds.map(({name}) => name), ...described];
  }

  async make() {
    const {project, project: {engine, prop}} = this;
    if (!boardsOf(project).length) {
      byId("prop-error").textContent = "Choose the board that is to play it.";
      return;
    }
    const {text} = this;
    const flags = wordsOf(prop.options).filter((word) => !word.includes("="));
    byId("prop-error").textContent = "";
    byId("prop-make").disabled = true;
    say("Making the pack.");
    const result = await engine.run(
      ["pack", "--json", ...flags, "sounds.ini"], this.putAll(), "pack");
    if (result) {
      this.take(text === this.text ? result : {reports: [], files: [],
        complaint: "The prop was changed on the way: make the pack again."});
    }
    byId("prop-make").disabled = false;
    this.show();
  }

  take({reports, files, complaint}) {
    const sums = reports.filter(({sound}) => !sound);
    this.made = sums.length ? {reports, sums, files} : null;
    byId("prop-error").textContent = complaint.replaceAll("\n", "; ");
    say(files.length ? "The pack is made." : "No pack is written.");
    byId("prop-shown").replaceChildren(...sums.map(({board}) =>
      element("option", {}, board.name)));
  }

  show() {
    const {project} = this;
    byId("prop-none").hidden = project.sounds.length > 0;
    byId("prop").hidden = !project.sounds.length;
    byId("prop-name").value = project.prop.name;
    this.form.show();
    this.showBoards(byId("prop-boards"));
    const text = propText(project);
    if (text !== this.text) {
      Object.assign(this, {text, made: null});
      byId("prop-text").textContent = text;
      byId("prop-error").textContent = "";
    }
    this.makeRows();
    this.showMade();
  }

  /** A box to tick for each board there is. */
  showBoards(fieldset) {
    for (const {value, text} of byId("board").options) {
      if (value && !byId(`prop-board-${value}`)) {
        fieldset.append(element("label", {}, element("input",
          {type: "checkbox", value, id: `prop-board-${value}`}), ` ${text}`));
      }
    }
    const chosen = boardsOf(this.project);
    for (const box of fieldset.querySelectorAll("input")) {
      box.checked = chosen.includes(box.value);
    }
  }

  /** Make the rows of the table, unless they stand there already. */
  makeRows() {
    this.parts = rowsOf(this.project).map((row, i, all) =>
      ({...row, isFirst: row.sound !== all[i - 1]?.sound}));
    const key = JSON.stringify(this.parts.map(({sound, key: part, isFirst}) =>
      [sound.name, part, isFirst]));
    if (key !== this.key) {
      this.key = key;
      this.rows = this.parts.map((row, i) =>
        new PropRow(this.project, this.player, row, i));
      byId("prop-table").replaceChildren(headOf(propTitles),
        element("tbody", {}, ...this.rows.map(({root}) => root)));
    }
  }

  /** Show what was made for one of the boards. */
  showMade() {
    const {made, project} = this;
    const name = byId("prop-shown").value;
    const sums = made?.sums.find(({board}) => board.name === name);
    const reports = new Map(made?.reports
      .filter(({sound, board}) => sound && board.name === name)
      .map((report) => [report.sound, report]));
    this.parts.forEach((row, i) => this.rows[i].show(
      row, row.off ? undefined : reports.get(row.name), made));
    byId("prop-result").hidden = !sums;
    byId("prop-save-pack").disabled = !made?.files.length;
    byId("prop-print").disabled = !sums;
    listFacts(byId("prop-sums"), sums ? [
      ["Sounds",
        `${sums.sounds_total - sums.sounds_failed} of ${sums.sounds_total} made`],
      ...factsIn(sums, "files_total bytes_on_card capacity_bytes bytes_over " +
        "loudness_lufs all_reach_lufs"),
      ["Softer than the pack",
        `${sums.families_softer} of ${sums.families} recordings`]] : []);
    byId("sheet-title").textContent =
      `Bench sheet: ${project.prop.name || "prop"}`;
    byId("sheet-board").textContent = `For the board ${name}.`;
    byId("sheet-table").replaceChildren(headOf(sheetTitles), element("tbody",
      {}, ...[...reports.values()].map((report) => this.sheetRow(report))));
    byId("sheet-cautions").replaceChildren(
      ...itemsOf(Object.values(sums?.cautions ?? {})));
  }

  sheetRow(report) {
    const {slot, sound, loop, lamp, error} = report;
    const rate = loop?.fire_rate_per_s;
    const texts = error
      ? ["failed", "", "", ""]
      : [...tapAndHold(report), rate ? figure(rate, 2, "per\u00a0s") : "",
        lamp ? `${figure(lamp.on_ms, 0, "ms")} on, ` +
          figure(lamp.pulse_hz, 2, "per\u00a0s") : ""];
    return element("tr", {}, element("td", {}, String(slot ?? "")),
      element("th", {scope: "row"}, sound),
      ...texts.map((text) => element("td", {}, text)), element("td"));
  }
}
