// A board, its speaker or a lamp, measured by recordings.

// What can be measured, with the options for it.
const gaugeOptions = {
  board: ["board", "save"],
  speaker: ["board", "speaker", "save"],
  lamp: ["video-rate"],
};

// The name of what is found, if none is typed.
const NAME_USUAL = "gauged";

class GaugeScreen extends DropScreen {
  constructor(project) {
    super(project, "gauge", ["board", "speaker", "video-rate", "save"]);
    byId("gauge-what").append(...Object.keys(gaugeOptions).map((what) =>
      element("option", {}, what)));
    on("gauge-what", "change", ({target}) =>
      project.set(this.settings, "what", target.value));
    on("gauge-write", "click", () => this.run(true));
    on("gauge-record", "click", ({target}) => {
      target.disabled = true;
      say(`The microphone records for ${RECORDED_S} s.`);
      recorded().then((file) => this.take([file]),
        ({message}) => say(`The microphone cannot be used: ${message}.`))
        .finally(() => target.toggleAttribute("disabled", false));
    });
  }

  show() {
    const {what} = this.settings;
    byId("gauge-what").value = what;
    byId("gauge-write").hidden = what === "lamp";
    for (const {root, option: {name}} of this.form.fields) {
      root.hidden = !gaugeOptions[what].includes(name);
    }
    super.show();
    this.form.hint("save", NAME_USUAL);
  }

  /** The words that write the test sound, or measure. */
  words(isWriting) {
    const {what, save = NAME_USUAL, ...others} = this.settings;
    const all = {...others, ...isWriting ? {write: true}
      : {plot: "gauge.svg", save: `${save}.${what}.ini`}};
    const names = ["write", "plot", ...gaugeOptions[what]];
    return ["gauge", what, ...wordsOf(Object.fromEntries(
      names.map((name) => [name, all[name]]))), ...isWriting ? [] : this.paths];
  }

  async run(isWriting = false) {
    const {project, refused, settings: {what}} = this;
    const result = await project.engine.run(this.words(isWriting),
      [...this.paths, ...project.described], "gauge");
    if (!result) {
      return;
    }
    const bare = (text) => text.replaceAll(/\bgauge\d+\//g, "");
    const faults = bare(result.complaint).split("\n").filter(Boolean);
    byId("gauged").replaceChildren(...notesOf([...refused, ...faults]),
      ...tablesIn(`${inWords(what)}\n${bare(result.out)}`),
      ...picturesOf(bytesAt(result, "gauge.svg"), "What was measured"),
      ...result.files.filter(({path}) => /\.(ini|wav)$/.test(path))
        .map((file) => this.saverOf(file)));
    say(result.status ? "It failed." : "Done.");
    document.dispatchEvent(new CustomEvent("gauged"));
  }

  /** A button that saves a file; what it describes is used from then on. */
  saverOf({path, bytes}) {
    const name = path.split("/").at(-1);
    return element("p", {}, buttonOf(`Save ${name}`, () => {
      save(name, bytes);
      if (name.endsWith(".ini")) {
        takeFiles(this.project, [new File([bytes], name)])
          .then(() => say(`${name} is chosen on the other screens.`));
      }
    }));
  }
}

// Long enough to hold a trigger for 10 s and to press it some times more.
const RECORDED_S = 30;

/** What the microphone hears, as it is: a WAV file. */
async function recorded() {
  const stream = await navigator.mediaDevices.getUserMedia({audio: {
    autoGainControl: false, echoCancellation: false, noiseSuppression: false}});
  const context = new AudioContext();
  const {sampleRate, destination} = context;
  const buffer = context.createBuffer(1, RECORDED_S * sampleRate, sampleRate);
  // A worklet would need a script from elsewhere than the page.
  const node = context.createScriptProcessor(16384, 1, 1);
  context.createMediaStreamSource(stream).connect(node).connect(destination);
  let at = 0;
  await new Promise((resolve) => node.addEventListener("audioprocess",
    ({inputBuffer}) => {
      buffer.copyToChannel(inputBuffer.getChannelData(0), 0, at);
      at = Math.min(at + inputBuffer.length, buffer.length);
      return at < buffer.length || resolve();
    }));
  stream.getTracks().forEach((track) => track.stop());
  context.close();
  return new File([wavOf(buffer)], "microphone.wav");
}
