// The page as a whole: opening recordings, the list of them, the lamp, undo.

/** Say something where a screen reader hears it, too. */
function say(text) {
  byId("status").textContent = text;
}

/** Take files one by one: boards become known, others are handed to `act`.
 * Returns why some cannot be used, with their names at the head. */
async function takeFiles(project, dropped, act) {
  const {files, refused} = await withUnzipped(dropped);
  const {nStops} = project.engine;
  for (const [i, file] of files.entries()) {
    if (project.engine.nStops > nStops) {
      break;
    }
    const {name} = file;
    say(`Opening ${i + 1} of ${files.length}: ${name}`);
    try {
      const bytes = await bytesOf(file);
      await (/\.board\.ini$/i.test(name) ? addBoard(project, name, bytes)
        : /\.speaker\.ini$/i.test(name) ? addSpeaker(project, name, bytes)
          : act(file, bytes));
    } catch ({message}) {
      refused.push(
        message.startsWith(`${name}:`) ? message : `${name}: ${message}`);
    }
  }
  return refused;
}

/** Open files: recordings become sounds, sound lists set what is made. */
async function openAll(project, dropped, told = []) {
  const added = [];
  const props = [];
  const refused = await takeFiles(project, dropped, async (file, bytes) => {
    if (/\.ini$/i.test(file.name)) {
      props.push([file.name, new TextDecoder().decode(bytes)]);
    } else if (!file.name.startsWith(".")) {
      added.push(await openOne(project, file, bytes));
    }
  });
  refused.push(...told, ...props.flatMap(([name, text]) =>
    openProp(project, text, added).map((reason) => `${name}: ${reason}`)));
  byId("refused").replaceChildren(...itemsOf(refused));
  byId("refused-box").hidden = !refused.length;
  const nAll = Math.max(dropped.length, added.length + refused.length);
  say(`${added.length} of ${nAll} opened.`);
  return added;
}

/** Open a recording; throws why it cannot be used. */
async function openOne(project, {name}, bytes) {
  const {engine} = project;
  const sound = project.add(name, bytes);
  const inspect = () =>
    engine.run(["inspect", "--json", sound.name], [sound.name]);
  let found = await inspect();
  const buffer = found?.fault && !found.ended
    ? await decoded(bytes, rateNamedIn(bytes)) : null;
  if (buffer) {
    project.put(sound, `${sound.name}.wav`, wavOf(buffer));
    sound.remark = "the browser decoded this file: its first and last " +
      "milliseconds may differ from the recording";
    found = await inspect();
  }
  if (!found || found.fault) {
    project.refuse(sound);
    throw new Error(found ? found.fault : "it was stopped");
  }
  const {kind = null, shots_in_take: shots = 0} = found.reports[0].shot ?? {};
  Object.assign(sound, {kind, shots, dropped: name});
  if (kind !== "shot") {
    await guess(project, sound);
  }
  return sound;
}

/** Let a sound be made as `pack` would make it, and tell why. */
async function guess(project, sound) {
  const path = "guess.ini";
  const result = await project.engine.run(
    ["pack", `--write-list=${path}`, "--output=/none", "."], [sound.name]);
  const bytes = result && bytesAt(result, path);
  const text = bytes ? new TextDecoder().decode(bytes) : "";
  const section = sectionsIn(text).findLast(isSound);
  if (section) {
    const {make, settings, own: {more}} = wishOf(project, section);
    Object.assign(sound, {make, settings, parts: {[make]: {more}}});
    sound.remark = [/^# (.*)\n\[sound/m.exec(text)?.[1], sound.remark]
      .filter(Boolean).map(sentence).join(" ");
  }
}

async function addBoard(project, name, bytes) {
  // What a name in the list of boards in a sound list cannot hold.
  const path = project.freeName(name.replaceAll(/[\s,;"#]/g, "_"));
  project.engine.put(path, bytes);
  const result = await project.engine.run(["boards", "--json", path], [path]);
  if (result.status !== 0) {
    project.engine.forget(path);
    throw new Error(result.complaint.replaceAll(path, name));
  }
  project.remember();
  project.boards.push({path, name});
  project.board = path;
  byId("board").append(element("option", {value: path}, name));
  project.tell();
}

/** Keep the file of a speaker; all sounds are made for it. */
function addSpeaker(project, name, bytes) {
  const path = project.speakers.includes(name) ? name : project.freeName(name);
  project.engine.put(path, bytes);
  project.change(() => {
    project.speakers = [...new Set([...project.speakers, path])];
    for (const {settings} of project.sounds) {
      settings.speaker = path;
    }
  });
}

/** What the program wrote into the page: files, and what is set for them. */
function readWritten() {
  const found = {files: [], told: []};
  for (const block of document.querySelectorAll(".written")) {
    try {
      const {name, bytes, left_out: left, ...more} =
        JSON.parse(block.textContent);
      found.files.push(...name ? [new File([bytesIn(bytes)], name)] : []);
      found.told.push(...(left ?? []).map((one) =>
        `${one}: it had no room in this page: drop it here`));
      Object.assign(found, more);
    } catch {
      found.told.push(
        "Something written into this page is damaged: make it again");
    }
    block.remove();
  }
  return found;
}

/** The list of sounds; one is chosen. */
class SoundList {
  constructor(project, onChoose) {
    Object.assign(this, {project, onChoose, chosen: null});
    project.onChange(() =>
      this.choose(project.find(this.chosen) ?? project.sounds[0]));
    on("chosen", "change", ({target}) =>
      this.choose(project.find(target.value)));
  }

  choose(sound) {
    this.chosen = sound?.name ?? null;
    this.show();
    this.onChoose(sound ?? null);
  }

  show() {
    const {project} = this;
    const list = byId("list");
    const focused = [...list.querySelectorAll("button")]
      .indexOf(document.activeElement);
    list.replaceChildren(...project.sounds.map((sound) => {
      const button = buttonOf(sound.name, () => this.choose(sound),
        {"aria-current": sound.name === this.chosen ? "true" : null});
      return element("li", {}, button, element("span", {}, sound.kind ?? ""),
        buttonOf("Remove", () => project.remove(sound),
          {"aria-label": `Remove ${sound.name}`}));
    }));
    list.querySelectorAll("button")[focused]?.focus();
    byId("chosen").replaceChildren(...project.sounds.map(({name}) =>
      element("option", {selected: name === this.chosen}, name)));
    byId("sounds").hidden = !project.sounds.length;
    byId("undo").disabled = !project.steps.length;
    byId("board").value = project.board;
  }
}

/** One screen at a time, and a button for each. */
function makeScreens() {
  const screens = [...document.querySelectorAll("[data-screen]")];
  const {children} = byId("screens");
  const show = (shown) => {
    screens.forEach((screen, i) => {
      screen.hidden = screen !== shown;
      children[i].setAttribute("aria-current", screen === shown);
    });
    shown.dispatchEvent(new Event("shown"));
  };
  byId("screens").append(...screens.map((screen) =>
    buttonOf(screen.dataset.screen, () => show(screen))));
  show(screens[0]);
  return (name) => show(screens.find(({dataset}) => dataset.screen === name));
}

function listenToDrops(act) {
  const {body} = document;
  for (const name of ["dragover", "dragleave", "drop"]) {
    body.addEventListener(name, (event) => {
      event.preventDefault();
      body.toggleAttribute("data-dragged", name === "dragover");
    });
  }
  body.addEventListener("drop", async ({dataTransfer}) =>
    act(await filesDropped(dataTransfer)));
  onFiles(byId("opening"), act);
}

// Flashes per second under reduced motion (WCAG 2.2, 2.3.1).
const CALM_PER_S = 3;

/** Let the lamp on the screen flash, once its caution was read. */
function runLamp(bench) {
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const calmed = calmLamp(CALM_PER_S);
  const draw = () => {
    const asked = byId("use-lamp").checked;
    const lit = asked && bench.player.isLit(bench.player.playing?.onS ?? 0);
    const heard = bench.player.heard();
    byId("lamp").dataset.on = String(
      calm.matches ? calmed(lit, performance.now()) : lit);
    bench.picture.play(heard?.name === "cycle" && !calm.matches &&
      bench.player.playing === bench.made?.playing ? heard.intoS : null);
    requestAnimationFrame(draw);
  };
  draw();
}

async function start() {
  const parts = await unpackStream(byId("stream").textContent.trim());
  byId("stream").remove();
  const engine = new Engine(parts);
  showWork(engine);
  const project = new Project(engine);
  const [[help], boards] = await Promise.all(["help", "boards"].map(
    async (command) => (await engine.run([command, "--json"])).reports));
  project.help = help;
  for (const place of document.querySelectorAll("[data-caution]")) {
    place.textContent = sentence(help.cautions[place.dataset.caution]);
  }
  const bench = new Bench(project, new Player());
  const list = new SoundList(project, (sound) => bench.choose(sound));
  byId("board").append(...boards.map(({name}) =>
    element("option", {value: name}, name)));
  on("board", "change", ({target}) =>
    project.set(project, "board", target.value));
  on("undo", "click", () => project.undo());
  document.addEventListener("keydown", (event) => {
    const typing = event.target.matches("input[type=text]");
    if ((event.ctrlKey || event.metaKey) && event.key === "z" && !typing) {
      event.preventDefault();
      project.undo();
    }
  });
  const take = async (files, {told, board, settings} = {}) => {
    const added = await openAll(project, files, told);
    for (const one of settings ? added : []) {
      Object.assign(one, {make: "loop", remark: null, settings: {...settings}});
    }
    project.board = project.boards.find(({name}) => name === board)?.path ??
      (board || project.board);
    list.chosen = added[0]?.name ?? list.chosen;
    project.tell();
  };
  new LampScreen(project, bench);
  new Rehearsal(project, bench);
  const screens = [new CheckScreen(project), new GaugeScreen(project)];
  listenToDrops((files) =>
    (screens.find(({root}) => !root.hidden) ?? {take}).take(files));
  on("demo", "click", () => take([new File([parts.demo], "fog-knapper.wav")]));
  const prop = new Prop(project, bench.player);
  runLamp(bench);
  const showScreen = makeScreens();
  byId("starting").hidden = true;
  byId("ready").hidden = false;
  const written = readWritten();
  document.title = [written.title, document.title].filter(Boolean)
    .join(" \u2013 ");
  if (written.files.some(({name}) => name === "sounds.ini")) {
    await take(written.files, {...written, settings: null});
    showScreen("Prop");
    prop.make();
  } else if (written.files.length + written.told.length) {
    await take(written.files, written);
  }
}

start().catch((error) => {
  byId("starting").textContent =
    `This browser cannot run the program: ${error.message}. Try a newer one.`;
});
