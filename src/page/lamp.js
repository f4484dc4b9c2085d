// A lamp that flashes with the shots: what to build, and what to program.

const lampGroups = {
  "Supply and light":
    ["supply", "led", "leds", "led-current", "led-forward", "on-time"],
  "Timer chip and parts": ["chip", "wiring", "capacitors",
    "capacitor-tolerance", "e-series", "diode", "diode-drop"],
  "Microcontroller": ["clock", "timer-bits", "prescalers", "brightness-steps",
    "brightness-gamma"],
};

const PREFIXES = [["M", 1e6], ["k", 1e3], ["", 1], ["m", 1e-3], ["\u00b5", 1e-6],
  ["n", 1e-9], ["p", 0]];

/** A part's value as people write it: 4.7e-7 F is 470 nF. */
function partValue(value, unit) {
  if (typeof value !== "number") {
    return NONE;
  }
  const [prefix, size] = PREFIXES.find(([, least]) => value >= 0.9999 * least);
  return `${Number((value / (size || 1e-12)).toPrecision(3))}` +
    `\u00a0${prefix}${unit}`;
}

const percent = (share) => `\u00b1${figure(100 * share, 0, "%")}`;

function span({least, most}, unit) {
  return `${Number(least.toPrecision(3))} to ` +
    `${Number(most.toPrecision(3))}\u00a0${unit}`;
}

function ratingOf(watts) {
  return watts < 1 ? `1/${Math.round(1 / watts)}\u00a0W` : `${watts}\u00a0W`;
}

/** The parts, as [name, value], of a timer chip's circuit. */
function timerParts(timer, diode) {
  const resistor = (name) => name === timer.trimmed
    ? `${partValue(timer.fixed_ohm, "\u03a9")}, in series with P`
    : partValue(timer[`${name}_ohm`], "\u03a9");
  const {led} = timer;
  return [
    ["555 timer", `${timer.chip === "cmos" ? "CMOS" : timer.chip}, at ` +
      `${timer.supply_v}\u00a0V`],
    ["C", `${partValue(timer.c_farad, "F")}, ` +
      percent(timer.capacitor_tolerance)],
    ["RA", `${resistor("ra")}, ${percent(timer.resistor_tolerance)}`],
    ["RB", `${resistor("rb")}, ${percent(timer.resistor_tolerance)}`],
    ["P, a trimmer", `${partValue(timer.trimmer_ohm, "\u03a9")}, set to ` +
      `${partValue(timer.set_ohm, "\u03a9")}`],
    ["D", diode],
    ["T, an NPN transistor", led?.transistor
      ? `with a gain of ${Math.ceil(led.gain_least)} or more, behind ` +
        partValue(led.base_ohm, "\u03a9") : null],
    ["R, of the LED", led && !led.error
      ? `${partValue(led.next_e24_ohm, "\u03a9")}, ${ratingOf(led.rating_w)}`
      : led?.error?.message],
  ];
}

/** What such a circuit makes. */
function ratesOf(timer) {
  const both = (rate, on) => `${span(rate, "per\u00a0s")}` +
    (on ? `, ${span(on, "ms")} on` : "");
  return [
    ["Once trimmed", `${figure(timer.rate_hz.middle, 2, "per\u00a0s")}, ` +
      `${figure(timer.on_ms.middle, 1, "ms")} on`],
    ["Not trimmed", both(timer.rate_hz, timer.on_ms)],
    ["Reached by the trimmer, whatever the tolerances",
      both(timer.rate_sure_hz)],
    ["At 0 to 40 \u00b0C", both(timer.rate_0_to_40_c_hz, timer.on_0_to_40_c_ms)],
  ];
}

/** What a microcontroller counts. */
function countsOf({microcontroller, brightness}) {
  const {period_us: periodUs, last_us: lastUs, on_us: onUs, counts, error} =
    microcontroller;
  return [
    ["Period", figure(periodUs, 0, "\u00b5s")],
    ["Last period", figure(lastUs, 0, "\u00b5s")],
    ["On-time", figure(onUs, 0, "\u00b5s")],
    ["Prescaler", counts && String(counts.prescaler)],
    ["Counts of the period", counts && String(counts.period_counts)],
    ["Counts of the on-time", counts && String(counts.on_counts)],
    ["Fire rate so made", counts &&
      `${figure(counts.rate_hz, 4, "per\u00a0s")}, off by ` +
      figure(counts.error_ppm, 1, "ppm")],
    ["Counts", error?.message],
    ["Brightness", brightness?.steps.join(", ")],
  ];
}

function tableOf(title, rows) {
  return element("table", {}, element("caption", {}, title),
    element("tbody", {}, ...rows.filter(([, text]) => text && text !== NONE)
      .map(([name, text]) => element("tr", {},
        element("th", {scope: "row"}, name), element("td", {}, text)))));
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
    this.diode = named(optionsOf("lamp"), "diode").default;
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
    byId("circuit-report").addEventListener("toggle", () => this.showReport());
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
      if (result) {
        this.show(result);
        this.showReport();
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

  show(result) {
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
    this.showTables(report);
    byId("circuit-files").replaceChildren(...result.files
      .filter(({path}) => /^lamp\.(svg|h)$/.test(path))
      .map(({path, bytes}) => saveButton(path, bytes)));
    document.dispatchEvent(new CustomEvent("lamp-made"));
  }

  showTables(report) {
    const {lamp} = report;
    const timer = report.timer_with_diode ?? report.timer_two_resistors;
    const diode = report.timer_with_diode &&
      (this.settings.diode ?? this.diode);
    byId("circuit-tables").replaceChildren(
      tableOf("Lamp", [
        ["Flashes", figure(lamp.pulse_hz, 2, "per\u00a0s")],
        ["On for", figure(lamp.on_ms, 1, "ms")],
      ]),
      ...timer && !timer.error
        ? [tableOf("Parts", timerParts(timer, diode)),
          tableOf("What the timer chip makes", ratesOf(timer))]
        : [element("p", {class: "note"}, timer?.error.message ?? "")],
      tableOf("Microcontroller", countsOf(report)));
  }

  /** The words of the program, pin by pin, when they are wanted. */
  async showReport() {
    if (byId("circuit-report").open && this.subject()) {
      const result = await this.run(this.words(), "lamp-report");
      byId("circuit-text").textContent = result ? result.out || result.err : "";
    }
  }
}
