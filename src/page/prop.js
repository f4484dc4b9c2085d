// A whole prop: every sound that is open, packed for its boards together, and
// the bench sheet of it.

const propTitles = ["In", "Sound", "Kind", "Made", "Fire rate", "Slot",
  "Loudness", "Bytes", "Files", "Warnings"];
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
  const {repeat, release} = board;
  if (repeat === "three-files") {
    return ["run-in and ring-out", `${sounds}; rings out when let go`];
  }
  if (release === "stops") {
    return ["as long as it is held", `${sounds}; silent when let go`];
  }
  return loop.shots
    ? [loop.shots > 1 ? `${loop.shots} shots` : "one shot",
      `${sounds}; the last round is finished`]
    : ["the sound", `${sounds}; finishes when let go`];
}

function lampOf({lamp}) {
  return lamp
    ? `${figure(lamp.on_ms, 0, "ms")} on, ` +
      `${figure(lamp.pulse_hz, 2, "per\u00a0s")}`
    : "";
}

/** One line of the table: a part of a sound as it is set, what came of it. */
class PropRow {
  constructor(project, row, id) {
    this.project = project;
    this.row = row;
    const input = (name, type, change) => element("input", {
      id: `prop-${name}-${id}`, type, autocomplete: "off", change});
    this.on = input("in", "checkbox", () =>
      this.setPart({off: !this.on.checked}));
    this.slot = input("slot", "text", () =>
      this.setPart({slot: this.slot.value.trim() || undefined}));
    this.rate = row.suffix === "-rapid" && input("rate", "text", () => project.set(
      this.row.sound.settings, "fire-rate", this.rate.value.trim() || null));
    this.make = row.isFirst && element("select", {
      id: `prop-make-${id}`,
      change: () => project.set(this.row.sound, "make", this.make.value),
    }, ...[...byId("make").options].map((one) => one.cloneNode(true)));
    this.name = element("th", {scope: "row"});
    this.cells = Object.fromEntries(propTitles.map((title) =>
      [title, element("td", {"data-title": title})]));
    const {cells} = this;
    cells.In.append(element("label", {}, this.on));
    cells.Slot.append(this.slot);
    cells.Made.append(this.make || "");
    cells.Loudness.className = "number";
    cells.Bytes.className = "number";
    this.heard = element("span");
    cells["Fire rate"].append(this.rate || "", " ", this.heard);
    this.root = element("tr", {}, ...propTitles.map((title) =>
      title === "Sound" ? this.name : cells[title]));
  }

  setPart(change) {
    this.project.setPart(this.row.sound, this.row.key, change);
  }

  show(row, report) {
    const {cells} = this;
    this.row = row;
    this.root.toggleAttribute("data-off", Boolean(row.off));
    this.name.textContent = row.name;
    this.on.checked = !row.off;
    this.slot.value = row.slot ?? "";
    this.slot.placeholder = report?.slot ?? "";
    const {kind, remark} = row.sound;
    cells.Kind.replaceChildren(
      ...withCommands(row.isFirst && remark || kind || NONE));
    if (this.make) {
      this.make.value = row.sound.make;
    } else {
      cells.Made.textContent = {loop: "rapid fire"}[row.makes] ?? row.makes;
    }
    if (this.rate) {
      this.rate.value = row.sound.settings["fire-rate"] ?? "";
    }
    const named = {In: this.on, Slot: this.slot, Made: this.make,
      "Fire rate": this.rate};
    for (const [title, field] of Object.entries(named)) {
      field && field.setAttribute("aria-label", `${title}: ${row.name}`);
    }
    this.showReport(report);
  }

  showReport(report) {
    const {cells} = this;
    const files = report?.files ?? [];
    const {burst_loudness_lufs: burst, shot_loudness_lufs: shot} =
      report?.level ?? {};
    this.heard.textContent = report?.loop ?
      figure(report.loop.fire_rate_per_s, 2, "per\u00a0s") : "";
    cells.Loudness.textContent = figure(burst ?? shot, 1, "LUFS");
    cells.Bytes.textContent =
      files.reduce((sum, {bytes}) => sum + bytes, 0) || NONE;
    const listOf = (texts) => texts.length
      ? element("ul", {}, ...texts.map((text) => element("li", {}, text)))
      : NONE;
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
  constructor(project) {
    this.project = project;
    this.rows = [];
    this.made = null;
    this.said = null;
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
    on("prop-save", "click", () => this.save());
    on("prop-print", "click", () => print());
    project.onChange(() => this.show());
  }

  fileName() {
    return sectionName(this.project.prop.name || "prop")
      .replaceAll(/[\\/:*?<>|]/g, "_");
  }

  /** The prop file with the takes, to be opened again. */
  save() {
    const {engine, sounds, boards} = this.project;
    const bytesOf = (path) => ({path, bytes: engine.inputs.get(path)});
    saveZip(`${this.fileName()}.prop.zip`, [
      {path: "prop.ini",
        bytes: new TextEncoder().encode(propText(this.project))},
      ...sounds.map(({name}) => bytesOf(name)),
      ...boards.map(({path}) => bytesOf(path))]);
  }

  async make() {
    const {project} = this;
    const {engine, prop, sounds, boards} = project;
    if (!boardsOf(project).length) {
      this.say("Choose the board that is to play it.");
      return;
    }
    const text = propText(project);
    const flags = Object.entries(prop.options)
      .filter(([, value]) => value === true).map(([name]) => `--${name}`);
    engine.put("prop.ini", new TextEncoder().encode(text));
    this.say("");
    byId("prop-make").disabled = true;
    say("Making the pack.");
    this.take(await engine.run(
      ["pack", "--json", ...flags, "prop.ini"],
      ["prop.ini", ...sounds.map(({name}) => name),
        ...boards.map(({path}) => path)], "pack"), text);
    byId("prop-make").disabled = false;
    this.show();
  }

  take(result, text) {
    if (!result) {
      say("Stopped.");
      return;
    }
    const {reports, files, complaint} = result;
    const sums = reports.filter(({sound}) => !sound);
    this.made = sums.length ? {text, reports, sums, files} : null;
    this.say(complaint.replaceAll("\n", "; "));
    say(files.length ? "The pack is made." : "No pack is written.");
    byId("prop-shown").replaceChildren(...sums.map(({board}) =>
      element("option", {}, board.name)));
  }

  /** Say something of the prop as it is now. */
  say(message) {
    this.said = {text: propText(this.project), message};
    byId("prop-error").textContent = message;
  }

  show() {
    const {project} = this;
    const isThere = project.sounds.length > 0;
    byId("prop-none").hidden = isThere;
    byId("prop").hidden = !isThere;
    byId("prop-name").value = project.prop.name;
    this.form.show();
    this.showBoards(byId("prop-boards"));
    this.text = propText(project);
    byId("prop-text").textContent = this.text;
    if (this.made?.text !== this.text) {
      this.made = null;
    }
    if (this.said?.text !== this.text) {
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
      this.rows = this.parts.map((row, i) => new PropRow(this.project, row, i));
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
    this.parts.forEach((row, i) =>
      this.rows[i].show(row, row.off ? undefined : reports.get(row.name)));
    byId("prop-result").hidden = !sums;
    byId("prop-save-pack").disabled = !made?.files.length;
    byId("prop-print").disabled = !sums;
    listFacts(byId("prop-sums"), sums ? this.factsOf(sums) : []);
    byId("sheet-title").textContent =
      `Bench sheet: ${project.prop.name || "prop"}`;
    byId("sheet-board").textContent = `For the board ${name}.`;
    byId("sheet-table").replaceChildren(headOf(sheetTitles), element("tbody",
      {}, ...[...reports.values()].map((report) => this.sheetRow(report))));
    byId("sheet-cautions").replaceChildren(
      ...Object.values(sums?.cautions ?? {}).map((text) =>
        element("li", {}, text)));
  }

  factsOf(sums) {
    return [
      ["Sounds", `${sums.sounds_total - sums.sounds_failed} of ` +
        `${sums.sounds_total} made`],
      ...factsIn(sums, "files_total bytes_on_card capacity_bytes bytes_over " +
        "loudness_lufs all_reach_lufs"),
      ["Softer than the pack", `${sums.families_softer} of ${sums.families} recordings`],
    ];
  }

  sheetRow(report) {
    const {slot, sound, loop, error} = report;
    const texts = error
      ? ["failed", "", "", ""]
      : [...tapAndHold(report), loop?.fire_rate_per_s
        ? figure(loop.fire_rate_per_s, 2, "per\u00a0s") : "", lampOf(report)];
    return element("tr", {}, element("td", {}, String(slot ?? "")),
      element("th", {scope: "row"}, sound),
      ...texts.map((text) => element("td", {}, text)), element("td"));
  }
}
