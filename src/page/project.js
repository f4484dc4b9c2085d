// What the page works on: the recordings, and what is set for each. Every
// change can be taken back.

// Changes of one field that follow each other so soon are one step back.
const ONE_STEP_MS = 1000;
const STEPS_MOST = 200;

class Project {
  constructor(engine) {
    this.engine = engine;
    this.sounds = [];
    this.boards = [];
    this.board = "";
    this.prop = {name: "", boards: [], options: {}, rest: []};
    this.steps = [];
    this.lastField = null;
    this.lastMs = -Infinity;
    this.listeners = [];
  }

  onChange(listener) {
    this.listeners.push(listener);
  }

  tell() {
    this.listeners.forEach((listener) => listener());
  }

  /** Remember how all is, before something of it changes. */
  remember(field = null) {
    const nowMs = performance.now();
    const same = field && field === this.lastField &&
      nowMs - this.lastMs < ONE_STEP_MS;
    this.lastField = field;
    this.lastMs = nowMs;
    if (!same) {
      this.steps.push(JSON.stringify([this.board, this.prop, this.sounds]));
      this.steps = this.steps.slice(-STEPS_MOST);
    }
  }

  undo() {
    const step = this.steps.pop();
    if (step) {
      [this.board, this.prop, this.sounds] = JSON.parse(step);
      this.lastField = null;
      this.tell();
    }
  }

  find(name) {
    return this.sounds.find((sound) => sound.name === name);
  }

  /** A file name that no other sound has, and that a command line can hold. */
  freeName(name) {
    const clean = name.replaceAll(/[\\/\p{Cc}]/gu, "_")
      .replace(/^[-.]+/, "") || "recording";
    const [, stem, ending = ""] = /^(.+?)(\.[^.]*)?$/.exec(clean);
    let free = clean;
    for (let n = 2; this.find(free); ++n) {
      free = `${stem}-${n}${ending}`;
    }
    return free;
  }

  add(name, bytes, remark = null) {
    this.remember();
    const sound = {name: this.freeName(name), remark, make: "loop", settings: {}};
    this.engine.put(sound.name, bytes);
    this.sounds.push(sound);
    return sound;
  }

  /** Let a sound that was just added be as if it never was. */
  refuse(sound) {
    this.steps.pop();
    this.sounds = this.sounds.filter((one) => one !== sound);
    this.engine.forget(sound.name);
  }

  remove(sound) {
    this.remember();
    this.sounds = this.sounds.filter((one) => one !== sound);
    this.tell();
  }

  /** Set what is made of a sound. */
  setMake(sound, make) {
    this.remember();
    sound.make = make;
    this.tell();
  }

  /** Set an option of a sound, or its default again with null. */
  set(sound, option, value) {
    this.remember(`${sound.name} ${option}`);
    if (value === null) {
      delete sound.settings[option];
    } else {
      sound.settings[option] = value;
    }
    this.tell();
  }

  /** Change something of one part of a sound in the prop, its slot say. */
  setPart(sound, key, change) {
    this.remember(`${sound.name} part ${key}`);
    sound.parts = {...sound.parts, [key]: {...sound.parts?.[key], ...change}};
    this.tell();
  }

  /** The words that make a sound; `options` in place of what is set. */
  wordsOf(sound, options = sound.settings) {
    const board = this.board ? [`--board=${this.board}`] : [];
    return [sound.make, ...board, ...wordsOf(options), sound.name];
  }

  /** The files that such a command takes. */
  pathsOf(sound) {
    return [sound.name, ...this.boards.map(({path}) => path)];
  }
}
