// Files that others made, or that were made here: what is wrong with them, and
// loops mended.

/** Words of the program, with its commands set apart. */
function withCommands(text) {
  return text.split("`").map((part, i) =>
    i % 2 ? element("code", {}, part) : part);
}

/** Where a fault is: its file, if it has one of its own, and its time. */
function placeOf(fault, report) {
  const rateHz = report.loop?.sample_rate_hz;
  const file = fault.path && fault.path !== report.path
    ? [fault.path.split("/").slice(1).join("/")] : [];
  const time = rateHz && fault.from_frame !== null
    ? [`${figure(1000 * fault.from_frame / rateHz, 1, "ms")} to ` +
      figure(1000 * fault.to_frame / rateHz, 1, "ms")] : [];
  return [...file, ...time].map((text) => `${text}: `).join("");
}

function faultList(title, faults, report) {
  return faults.length
    ? [element("h4", {}, title), element("ul", {}, ...faults.map((fault) =>
      element("li", {}, placeOf(fault, report), ...withCommands(fault.fault),
        element("span", {class: "remedy"}, ...withCommands(fault.remedy)))))]
    : [];
}

class CheckScreen extends DropScreen {
  constructor(project) {
    super(project, "check", ["board", "as", "gap"]);
  }

  take(dropped) {
    this.packs = [];
    return super.take(dropped);
  }

  /** Keep a file; the list of a pack tells its board. */
  put(path, bytes) {
    super.put(path, bytes);
    const [, folder] = /(.*)\/\.volleyweave\.list$/.exec(path) ?? [];
    const board = folder && [...byId("board").options].find(({value}) =>
      new TextDecoder().decode(bytes).includes(`\npack board ${value}\n`));
    if (board) {
      this.packs.push(folder);
      this.settings.board ??= board.value;
    }
  }

  /** What is checked by one command each: for a board, packs and folders. */
  subjects() {
    const shown = this.paths.filter((path) => !/\/\.[^/]*$/.test(path));
    const topOf = (path) => path.split("/").slice(0, 2).join("/");
    return this.settings.board
      ? [...new Set([...this.packs, ...shown.map(topOf).filter((top) =>
        !this.packs.some((pack) => topOf(pack) === top))])]
      : shown;
  }

  async run() {
    const turn = {};
    this.turn = turn;
    const subjects = this.subjects();
    byId("checked").replaceChildren(...notesOf(this.refused));
    for (const [i, path] of subjects.entries()) {
      say(`Checking ${i + 1} of ${subjects.length}`);
      const result = await this.check(path, this.paths);
      if (turn !== this.turn || !result) {
        return;
      }
      byId("checked").append(this.sectionOf(path, result));
    }
    say(subjects.length ? `${subjects.length} checked.` : "");
    document.dispatchEvent(new CustomEvent("checked"));
  }

  check(path, paths, {board, ...others} = this.settings) {
    const plot = paths.includes(path) ? ["--plot=check.svg"] : [];
    const boards = this.project.boards.map((one) => one.path);
    // A board's files are what they are for the board.
    const words = wordsOf(board ? {board, gap: others.gap} : others);
    return this.project.engine.run(
      ["check", "--json", ...plot, ...words, path], [...paths, ...boards]);
  }

  /** What is shown of one. */
  sectionOf(path, result) {
    const name = path.split("/").slice(1).join("/");
    const section = element("section", {class: "checked"},
      element("h3", {}, name));
    const {reports: [report], fault} = result;
    section.append(...fault
      ? notesOf([fault.replaceAll(`${path.split("/")[0]}/`, "")])
      : this.partsOf(name, report, result));
    const {faults = [], warnings = []} = report ?? {};
    if ([...faults, ...warnings].some(({remedy}) => /`.* mend`/.test(remedy))) {
      const button = buttonOf("Mend it", () =>
        this.mend(path, section, button));
      section.append(element("p", {}, button));
    }
    return section;
  }

  /** Verdict, faults, figures and picture. */
  partsOf(name, report, result) {
    const {faults, warnings} = report;
    const facts = element("dl", {class: "facts"});
    listFacts(facts, [
      ...factsIn(report.loop, "kind length_ms sample_rate_hz channels shots " +
        "fire_rate_per_s seam_step_times seam_slope_times " +
        "seam_residual_times silence_ms loudness_lufs true_peak_dbtp"),
      ...factsIn(report.loop ? null : report,
        "files_total bytes bytes_on_card capacity_bytes")]);
    return [
      ...faults.length ? [] : [element("p", {},
        warnings.length ? "No fault, but a warning." : "No fault found.")],
      ...faultList("Faults", faults, report),
      ...faultList("Warnings", warnings, report),
      facts,
      ...picturesOf(bytesAt(result, "check.svg"),
        `Picture of ${name}, with its faults marked`)];
  }

  /** Mend a loop, and check the copy. */
  async mend(path, section, button) {
    button.disabled = true;
    const {project: {engine}, settings} = this;
    const others = {...settings, board: null};
    const result = await engine.run(
      ["mend", "--json", ...wordsOf(others), path], [path]);
    if (!result) {
      return;
    }
    const {reports: [report], fault} = result;
    const file = result.files.find((one) =>
      one.path === report?.files?.[0]?.path);
    if (fault || !file) {
      section.append(element("p", {class: "note", role: "alert"},
        fault ?? "It cannot be mended."));
      return;
    }
    engine.put(file.path, file.bytes);
    const after = await this.check(file.path, [file.path], others);
    const name = file.path.split("/").at(-1);
    section.append(element("h4", {tabindex: -1}, `Mended: ${name}`),
      element("ul", {}, ...itemsOf(report.mended.map(({what}) => what))),
      element("p", {}, saveButton(name, file.bytes)),
      ...this.partsOf(name, after.reports[0], after));
    say(`${name} is mended.`);
    document.dispatchEvent(new CustomEvent("mended"));
  }
}
