// A lamp that flashes with the shots: what to build, and what to program.

const lampGroups = {
  "Supply and light":
    ["supply", "led", "leds", "led-current", "led-forward", "on-time"],
  "Timer chip and parts": ["chip", "wiring", "capacitors",
    "capacitor-tolerance", "e-series", "diode", "diode-drop"],
  "Microcontroller": ["clock", "timer-bits", "prescalers", "brightness-steps",
    "brightness-gamma"],
};

// As wide as the program prints, and where its labels end.
const COLUMNS = 80;
const LABEL_COLUMNS = 15;

/** Tables of what the program prints: sections of rows of label and text. */
function tablesIn(text) {
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
  return sections.map(({title, rows}) => element("table", {},
    element("caption", {}, title),
    element("tbody", {}, ...rows.filter(([label]) => label !== "CAUTION")
      .map(([label, words]) => element("tr", {},
        element("th", {scope: "row"}, label), element("td", {}, words))))));
}

class LampScreen {
  constructor(project, help, bench) {
    this.project = project;
    this.bench = bench;
    this.settings = {};
    this.rate = null;
    const optionsOf = (command) =>
      help.commands.find(({name}) => name === command).options;
    const named = (options, wanted) =>
      options.find(({name}) => name === wanted);
    const rate = new Field(named(optionsOf("loop"), "fire-rate"), "circuit",
      (value) => {
        this.rate = value;
        this.update();
      });
    byId("circuit-fields").append(rate.root, element("p", {class: "quiet"},
      "Empty: that of the loop made on the screen Sounds."));
    this.fields = [rate];
    this.fields.push(...makeGroups(byId("circuit-fields"), lampGroups, (name) =>
      new Field(named(optionsOf("lamp"), name), "circuit", (value) => {
        this.settings[name] = value;
        this.update();
      })));
    byId("lamp-screen").addEventListener("shown", () => this.update());
    document.addEventListener("made", () => this.update());
  }

  /** What gives the fire rate: typed, or the loop's file; or null. */
  subject() {
    const {made} = this.bench;
    return this.rate ?? (made ? pathHeld(made) : null);
  }

  words(...more) {
    const {board} = this.project;
    return ["lamp", ...more, ...board ? [`--board=${board}`] : [],
      ...wordsOf(this.settings), this.subject()];
  }

  run(words, key) {
    const {project, bench, rate} = this;
    const made = rate ? [] : [...bench.putMade(), bench.sound.name];
    return project.engine.run(
      words, [...made, ...project.boards.map(({path}) => path)], key);
  }

  /** Work it out anew, if it is looked at. */
  async update() {
    if (byId("lamp-screen").hidden) {
      return;
    }
    this.fields.forEach((field) => field.show(
      this.settings[field.option.name] ??
        (field === this.fields[0] ? this.rate : null)));
    const subject = this.subject();
    byId("circuit-subject").textContent = this.rate || !subject ? ""
      : `For ${subject.split("/").at(-1)}`;
    byId("circuit-command").textContent =
      subject ? commandOf(this.words("--plot=lamp.svg", "--header=lamp.h")) : "";
    if (!subject) {
      this.fail("Type a fire rate, or open a recording on the screen Sounds.");
      return;
    }
    try {
      const result = await this.run(this.words(
        "--json", "--plot=lamp.svg", "--header=lamp.h"), "lamp");
      const printed = await this.run(this.words(), "lamp-words");
      if (result && printed) {
        this.show(result, printed);
      }
    } catch (error) {
      this.fail(`The program ended with a fault (${error.message}).`);
    }
  }

  fail(message) {
    byId("circuit-found").hidden = true;
    byId("circuit-error").hidden = false;
    byId("circuit-error").textContent = message;
  }

  show(result, printed) {
    const fault = faultOf(result);
    if (fault) {
      this.fail(fault.replace(/^lamp\.svg: /, ""));
      return;
    }
    const [report] = objectsOf(result);
    byId("circuit-error").hidden = true;
    byId("circuit-found").hidden = false;
    for (const caution of ["flash", "wiring"]) {
      byId(`circuit-${caution}`).textContent =
        sentence(report.cautions[caution]);
      byId(`circuit-${caution}`).parentNode.hidden = false;
    }
    const picture = result.files.find(({path}) => path === "lamp.svg");
    byId("circuit").replaceChildren(...picture
      ? [pictureOf(picture.bytes, "Circuit of the lamp: its parts are below")]
      : []);
    byId("circuit-tables").replaceChildren(...tablesIn(printed.out));
    byId("circuit-files").replaceChildren(...result.files
      .filter(({path}) => /^lamp\.(svg|h)$/.test(path))
      .map(({path, bytes}) => saveButton(path, bytes)));
    document.dispatchEvent(new CustomEvent("lamp-made"));
  }
}
