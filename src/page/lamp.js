// A lamp that flashes with the shots: what to build, and what to program.

const lampGroups = {
  "Rate, supply and light": ["fire-rate", "supply", "led", "leds",
    "led-current", "led-forward", "on-time"],
  "Timer chip and parts": ["chip", "wiring", "capacitors",
    "capacitor-tolerance", "e-series", "diode", "diode-drop"],
  "Microcontroller": ["clock", "timer-bits", "prescalers", "brightness-steps",
    "brightness-gamma"],
};

// As wide as the program prints, and where its labels end.
const COLUMNS = 80;
const LABEL_COLUMNS = 15;

/** Tables of what the program prints: sections of rows of label and text. */
function tablesIn(text, leftOut = null) {
  const sections = [];
  let before = "";
  for (const line of text.split("\n").filter(Boolean)) {
    const label = line.slice(0, LABEL_COLUMNS).trim();
    const words = line.slice(LABEL_COLUMNS);
    const rows = sections.at(-1)?.rows;
    if (!line.startsWith(" ")) {
      sections.push({title: line, rows: []});
    } else if (/^[\d\s]+$/.test(line)) {
      rows.push(["", line.trim()]);
    } else if (label) {
      rows.push([label, words]);
    } else {
      // A line that ended before it was full was meant to end there.
      const isWrapped = `${before} ${words.split(" ")[0]}`.length > COLUMNS;
      rows.at(-1)[1] += (isWrapped ? " " : "\n") + words;
    }
    before = line;
  }
  return sections.filter(({rows}) => rows[0]).map(({title, rows}) => element(
    "table", {}, element("caption", {}, title),
    element("tbody", {}, ...rows.filter(([label]) => label !== leftOut)
      .map(([label, words]) => element("tr", {},
        element("th", {scope: "row"}, label), element("td", {}, words))))));
}

class LampScreen {
  constructor(project, bench) {
    Object.assign(this, {project, bench});
    this.form = new Form(project, {id: "circuit", root: "circuit-fields",
      commands: ["lamp", "loop"], groups: lampGroups,
      settings: () => project.settings.lamp});
    on("lamp-screen", "shown", () => this.update());
    project.onChange(() => this.update());
    document.addEventListener("made", () => this.update());
  }

  /** What gives the fire rate: typed, or the loop's file; or null. */
  subject() {
    const {made} = this.bench;
    return this.project.settings.lamp["fire-rate"] ?? (made && pathHeld(made));
  }

  words(...more) {
    const {board, settings} = this.project;
    return ["lamp", ...more, ...board ? [`--board=${board}`] : [],
      ...wordsOf({...settings.lamp, "fire-rate": null}), this.subject()];
  }

  /** Work it out again, if it is looked at. */
  async update() {
    if (byId("lamp-screen").hidden) {
      return;
    }
    this.form.show();
    const {project, bench, bench: {made}} = this;
    const subject = this.subject();
    const words = this.words("--plot=lamp.svg", "--header=lamp.h");
    byId("circuit-command").textContent = subject ? commandOf(words) : "";
    if (!subject) {
      this.fail("Type a fire rate, or open a recording on the screen Sounds.");
      return;
    }
    const paths = [...made ? [...bench.putMade(), bench.sound.name] : [],
      ...project.boards.map(({path}) => path)];
    const [result, printed] = await Promise.all([
      project.engine.run([...words, "--json"], paths, "lamp"),
      project.engine.run(this.words("--verbose"), paths, "lamp-words")]);
    if (result && printed && made === bench.made) {
      this.show(result, printed);
    }
  }

  fail(message) {
    byId("circuit-found").hidden = true;
    byId("circuit-error").textContent = message;
  }

  show(result, printed) {
    const {reports: [report], fault} = result;
    if (fault) {
      this.fail(fault.replace(/^lamp\.svg: /, ""));
      return;
    }
    byId("circuit-error").textContent = "";
    byId("circuit-found").hidden = false;
    for (const caution of ["flash", "wiring"]) {
      byId(`circuit-${caution}`).textContent =
        sentence(report.cautions[caution]);
      byId(`circuit-${caution}`).parentNode.hidden = false;
    }
    byId("circuit").replaceChildren(...picturesOf(bytesAt(result, "lamp.svg"),
      "Circuit of the lamp: its parts are below"));
    byId("circuit-tables").replaceChildren(...tablesIn(printed.out, "CAUTION"));
    byId("circuit-files").replaceChildren(...result.files
      .filter(({path}) => /^lamp\.(svg|h)$/.test(path))
      .map(({path, bytes}) => saveButton(path, bytes)));
    document.dispatchEvent(new CustomEvent("lamp-made"));
  }
}
