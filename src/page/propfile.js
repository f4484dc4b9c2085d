// The prop as a file: the text that `pack` takes, written from what is set, and
// read again.

// Options that say nothing of a sound, or stand for all sounds alone.
const notOfSounds = ["board", "output", "force", "dry-run", "json", "quiet",
  "help", "seconds-max", "jobs", "all-reach", "fit", "write-list",
  "overrun-max", "run-in-max"];

/** What is made of a sound in a pack: each a section of the sound list. */
function partsOf({make, kind, settings, shots, parts}) {
  if (make === "split") {
    return Array.from({length: shots ?? 1}, (_, i) => ({
      key: String(i + 1), command: "shot", makes: "shot", suffix: `-${i + 1}`,
      pick: i + 1}));
  }
  const hums = (settings.as ?? kind) === "sustained" && !parts?.shot;
  const single = {key: "shot", command: "shot", makes: "shot", suffix: ""};
  return make === "loop"
    ? [...(hums ? [] : [single]), {key: "loop", command: "loop", makes: "loop",
      suffix: hums ? "" : "-rapid"}]
    : [make === "shot" ? single
      : {key: make, command: make, makes: "whole", suffix: ""}];
}

/** A name that a section's head can hold. */
function sectionName(name) {
  const clean = name.replaceAll(/[[\]#;"=\p{Cc}]/gu, "_")
    .replaceAll(" on ", "-on-").trim();
  return [...clean].slice(0, 40).join("").trim() || "sound";
}

/** All that is made, with names that differ whatever their capital letters. */
function rowsOf({sounds}) {
  const taken = new Set();
  const freeOf = (name) => {
    let free = name;
    for (let n = 2; taken.has(free.toLowerCase()); ++n) {
      free = `${name}-${n}`;
    }
    taken.add(free.toLowerCase());
    return free;
  };
  const rows = sounds.flatMap((sound) => partsOf(sound).map((part) =>
    ({...part, ...sound.parts?.[part.key], sound})));
  // Those first that were given a name.
  for (const row of new Set([...rows.filter(({name}) => name), ...rows])) {
    row.name = freeOf(row.name ??
      sectionName(row.sound.name.replace(/\.[^.]*$/, "")) + row.suffix);
  }
  return rows;
}

function boardsOf({prop, board}) {
  return prop.boards.length ? prop.boards : [board].filter(Boolean);
}

/* Writing */

const oneLine = (text) => text.replaceAll(/\p{Cc}/gu, " ");

/** A line of a key, its value in quotes if it needs them. */
function keyLine(key, value) {
  const text = value === true ? "yes" : String(value);
  return /^[\p{L}\p{N}_.+/%:,-]+( [\p{L}\p{N}_.+/%:,-]+)*$/u.test(text)
    ? `${key} = ${text}`
    : `${key} = "${oneLine(text).replaceAll(/[\\"]/g, "\\$&")}"`;
}

/** What the page keeps though no key holds it: a remark. */
function remarkLine(name, value) {
  return `# ${oneLine(wordsOf({[name]: value})[0])}`;
}

// Keys of takes beside a sound's own; no option of `pack` stands for them.
const takesBeside = ["run-in-take", "ring-out-take"];

const nameIn = (path) => path.split(/[\\/]/).at(-1);

/** Whether an option of a sound can be a key of a sound list. */
function isKeyOf(project, command, name) {
  const knows = (of) => project.help.commands.find((one) => one.name === of)
    .options.some((option) => option.name === name);
  return !notOfSounds.includes(name) && knows(command) &&
    (knows("pack") || takesBeside.includes(name));
}

function sectionText(project, row) {
  const {sound} = row;
  const lines = [`[sound ${row.name}]`, keyLine("take", sound.name),
    `make = ${row.makes}`,
    ...["slot", "pick"].filter((key) => row[key])
      .map((key) => keyLine(key, row[key]))];
  for (const [name, value] of Object.entries(sound.settings)) {
    if (!isKeyOf(project, row.command, name)) {
      // Of two sections, that of the rapid fire holds it.
      lines.push(...(row.key === "shot" && sound.make === "loop"
        ? [] : [remarkLine(name, value)]));
    } else if (name !== "pick" || !row.pick) {
      lines.push(keyLine(name, value));
    }
  }
  return [...lines, ...(row.more ?? [])].join("\n");
}

function propText(project) {
  const {prop} = project;
  const head = ["[prop]", keyLine("name", prop.name || "prop"),
    `boards = ${boardsOf(project).join(", ")}`,
    ...Object.entries(prop.options).map(([name, value]) =>
      (value === true ? remarkLine : keyLine)(name, value))].join("\n");
  const rows = rowsOf(project).filter(({off}) => !off);
  // What differs on a board needs both the board and the sound.
  const holds = (text) => {
    const [, sound, on] = /^\[sound (.*) on (.*)\]/.exec(text) ?? [];
    return !sound || rows.some(({name}) => name === sound) &&
      boardsOf(project).some((board) =>
        board.replace(/\.board\.ini$/, "") === on);
  };
  return [head, ...rows.map((row) => sectionText(project, row)),
    ...prop.rest.filter(holds)].join("\n\n") + "\n";
}

/* Reading */

function valueIn(text) {
  const quoted = /^"((?:[^"\\]|\\.)*)"/.exec(text);
  return quoted
    ? quoted[1].replaceAll(/\\(?:x([\dA-Fa-f]{2})|(.))/g, (_, hex, letter) =>
      hex ? String.fromCharCode(Number.parseInt(hex, 16))
        : {n: "\n", t: "\t"}[letter] ?? letter)
    : text.replace(/\s;.*$/, "").trim();
}

/** The sections of a sound list: titles, keys and values, the lines of each. */
function sectionsIn(text) {
  const sections = [];
  for (const line of text.replace(/^\uFEFF/, "").split(/\r?\n/)) {
    const title = /^\s*\[(.*)\]\s*(?:[;#].*)?$/.exec(line)?.[1];
    const key = /^\s*([\w-]+)\s*=\s*(.*)$/.exec(line);
    const kept = /^# --([\w-]+)(?:=(.*))?$/.exec(line);
    if (title !== undefined) {
      sections.push({title: title.trim(), keys: [], kept: {}, lines: [line]});
    } else if (sections.length) {
      const section = sections.at(-1);
      if (key) {
        section.keys.push([key[1], valueIn(key[2]), line.trim()]);
      } else if (kept) {
        section.kept[kept[1]] = kept[2] ?? true;
      }
      section.lines.push(line);
    }
  }
  return sections;
}

/** What a section tells of a sound: its take, its part and its settings. */
function wishOf(project, {title, keys, kept}) {
  const wish = {take: null, make: "loop", own: {name: title.slice(6).trim(),
    more: []}, settings: {...kept}};
  for (const [key, value, line] of keys) {
    if (key === "take" && !wish.take) {
      wish.take = nameIn(value);
    } else if (key === "make") {
      wish.make = value === "whole" ? "convert" : value;
    } else if (key === "slot") {
      wish.own.slot = value;
    } else if (key === "lamp-track") {
      Object.assign(wish.settings, value === "yes" ? {[key]: true} : {});
    } else if (isKeyOf(project, "loop", key) ||
        isKeyOf(project, "convert", key)) {
      wish.settings[key] = takesBeside.includes(key) ? nameIn(value) : value;
    } else {
      wish.own.more.push(line);
    }
  }
  if (/^burst/.test(wish.make)) {
    wish.own.makes = wish.make;
    wish.make = "loop";
  }
  return wish;
}

/** Give a section to the sound of its take, or to another of the same take. */
function placeWish(project, wish, sound) {
  const {pick, ...others} = wish.settings;
  const [make, key, settings] = wish.isSplit
    ? ["split", pick, others] : [wish.make, wish.make, wish.settings];
  // A single shot and its rapid fire are one, if they are set alike.
  const shared = (of) => JSON.stringify(Object.entries(of)
    .filter(([name]) => isKeyOf(project, "shot", name)).sort());
  const together = (one) => !one.parts[key] &&
    shared(settings) === shared(one.settings) && (make === "split"
    ? one.make === make
    : /shot|loop/.test(make) && /shot|loop/.test(one.make));
  let home = project.sounds.find((one) => one.from === sound.from &&
    (!one.read || together(one)));
  if (!home) {
    const {name, kind, shots, from} = sound;
    home = Object.assign(
      project.add(name, project.engine.inputs.get(name)), {kind, shots, from});
  }
  if (!home.read || make === "loop") {
    Object.assign(home, {make, settings});
  }
  home.parts = {...(home.read ? home.parts : {}), [key]: wish.own};
  home.read = true;
}

const isSound = ({title}) => /^sound /.test(title) && !/ on /.test(title);

/** Take over what a sound list tells; says what of it cannot be. */
function openProp(project, text, opened) {
  const sections = sectionsIn(text);
  if (!sections.some(isSound)) {
    return ["it has no [sound NAME], as a sound list has"];
  }
  project.remember();
  const head = sections.find(({title}) => title === "prop");
  const known = (name) => [...byId("board").options].some(({value}) =>
    value === name);
  const {name = "", boards = "", ...options} = {
    ...Object.fromEntries(head?.keys ?? []), ...head?.kept};
  const named = boards.split(/[\s,]+/).filter(Boolean)
    .map((board) => board.split("/").at(-1));
  const refused = named.filter((board) => !known(board)).map((board) =>
    `the board ${board} is not here: drop its file beside it`);
  project.prop = {name, boards: named.filter(known), options,
    rest: sections.filter((one) => one !== head && !isSound(one))
      .map(({lines}) => lines.join("\n").trim())};
  opened.forEach((sound) => Object.assign(sound, {from: sound.name}));
  const wishes = sections.filter(isSound)
    .map((section) => wishOf(project, section));
  for (const wish of wishes) {
    wish.isSplit = wishes.filter(({take, make, settings}) =>
      take === wish.take && make === "shot" && settings.pick).length > 1 &&
      wish.make === "shot" && Boolean(wish.settings.pick);
    const sound = opened.find((one) => one.dropped === wish.take) ??
      project.find(wish.take);
    if (sound) {
      sound.from ??= sound.name;
      placeWish(project, wish, sound);
    } else {
      refused.push(`${wish.own.name}: its take ${wish.take} is not here: ` +
        "drop it beside the sound list");
    }
  }
  for (const sound of project.sounds) {
    if (sound.read || opened.includes(sound)) {
      const off = partsOf(sound).map(({key}) => [key, {off: true}]);
      sound.parts = {...Object.fromEntries(off), ...sound.read && sound.parts};
    }
    delete sound.read;
    delete sound.from;
  }
  return refused;
}

/** The files in a ZIP; throws a sentence if they cannot be had. */
function unzipped(bytes) {
  let total = 0;
  const files = fflate.unzipSync(bytes, {filter: ({name, originalSize}) => {
    const wanted = !/(^|\/)(\.(?!volley)|__MACOSX)|\/$/.test(name);
    total += wanted ? originalSize : 0;
    return wanted && total <= BYTES_MOST;
  }});
  if (total > BYTES_MOST) {
    throw new Error(`unpacked, it is larger than ${BYTES_MOST / 1e6} MB`);
  }
  return Object.entries(files).map(([path, data]) =>
    Object.assign(new File([data], path.split("/").at(-1)), {place: path}));
}

/** Files with those in ZIPs among them, and what is no ZIP. */
async function withUnzipped(dropped) {
  const files = [];
  const refused = [];
  for (const file of dropped) {
    const isZip = /\.zip$/i.test(file.name);
    try {
      files.push(...isZip ? unzipped(await bytesOf(file)) : [file]);
    } catch ({message}) {
      refused.push(`${file.name}: it cannot be unpacked: ${message}`);
    }
  }
  return {files, refused};
}
