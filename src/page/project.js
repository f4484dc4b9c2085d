// What the page works on: the recordings, and what is set for each. Every
// change can be taken back.

// Changes of one field that follow each other so soon are one step back.
const ONE_STEP_MS = 1000;
const STEPS_MOST = 200;

class Project {
  constructor(engine) {
    // Files of speakers are held by their paths.
    Object.assign(this, {engine, sounds: [], takes: new Set(), boards: [],
      board: "", speakers: [], steps: [], last: {}, listeners: []});
    this.prop = {name: "", boards: [], options: {}, rest: []};
    // What is set on the screens that show no sound.
    this.settings = {lamp: {}, rehearse: {}, check: {}, gauge: {what: "board"}};
  }

  onChange(listener) {
    this.listeners.push(listener);
  }

  tell() {
    this.listeners.forEach((listener) => listener());
  }

  /** Remember how all is, before a field of something changes. */
  remember(of = null, field = null) {
    const {last, board, prop, sounds, settings} = this;
    const ms = performance.now();
    this.last = {of, field, ms};
    if (!of || of !== last.of || field !== last.field ||
        ms - last.ms > ONE_STEP_MS) {
      this.steps.push(JSON.stringify({board, prop, sounds, settings}));
      this.steps = this.steps.slice(-STEPS_MOST);
      this.tidy();
    }
  }

  /** Let something change in a way that can be taken back. */
  change(act, of = null, field = null) {
    this.remember(of, field);
    act();
    this.tell();
  }

  undo() {
    if (this.steps.length) {
      Object.assign(this, JSON.parse(this.steps.pop()), {last: {}});
      this.tidy();
      this.tell();
    }
  }

  find(name) {
    return this.sounds.find((sound) => sound.name === name);
  }

  /** A file name that none has, and that a command line can hold. */
  freeName(name) {
    const clean = name.replaceAll(/[\\/\p{Cc}]/gu, "_")
      .replace(/^[-.]+/, "") || "recording";
    const [, stem, ending = ""] =
      /^(.+?)((\.board|\.speaker)?\.[^.]*)?$/.exec(clean);
    let free = clean;
    for (let n = 2; this.engine.inputs.has(free); ++n) {
      free = `${stem}-${n}${ending}`;
    }
    return free;
  }

  add(name, bytes) {
    this.remember();
    const speaker = this.speakers.at(-1);
    const sound = {make: "loop", settings: speaker ? {speaker} : {}};
    this.put(sound, name, bytes);
    this.sounds.push(sound);
    return sound;
  }

  /** Give a sound its recording, under a name like this. */
  put(sound, name, bytes) {
    sound.name = this.freeName(name);
    this.engine.put(sound.name, bytes);
    this.takes.add(sound.name);
  }

  /** Let go of the recordings that no step can bring back. */
  tidy() {
    const isHeld = (name) => this.find(name) ||
      this.steps.some((step) => step.includes(JSON.stringify(name)));
    for (const name of [...this.takes].filter((one) => !isHeld(one))) {
      this.engine.forget(name);
      this.takes.delete(name);
    }
  }

  /** Let a sound that was just added be as if it never was. */
  refuse(sound) {
    this.steps.pop();
    this.sounds = this.sounds.filter((one) => one !== sound);
    this.tidy();
  }

  remove(sound) {
    this.change(() => {
      this.sounds = this.sounds.filter((one) => one !== sound);
    });
  }

  /** Set one of some settings, or its default again with null. */
  set(settings, name, value) {
    this.change(() => {
      settings[name] = value;
      if (value === null) {
        delete settings[name];
      }
    }, settings, name);
  }

  /** The words that make a sound; `options` in place of what is set. */
  wordsOf(sound, options = sound.settings) {
    const board = this.board ? [`--board=${this.board}`] : [];
    return [sound.make, ...board, ...wordsOf(options), sound.name];
  }

  /** The files of boards and speakers, which any command may take. */
  get described() {
    return [...this.boards.map(({path}) => path), ...this.speakers];
  }

  /** The files that such a command takes. */
  pathsOf(sound) {
    return [sound.name, ...this.described,
      ...Object.values(sound.settings).filter((name) => this.takes.has(name))];
  }
}
