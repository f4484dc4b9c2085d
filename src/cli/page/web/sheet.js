// The bench sheet: what one wants to know with the prop open, on one page.

/** A cell of a table. */
function cellOf(text, name = "td", attributes = {}) {
  const cell = element(name, "", attributes);
  cell.append(nameElement(unparted(text)));
  return cell;
}

function headOf(titles) {
  const head = element("thead", "");
  const row = element("tr", "");
  row.append(...titles.map((title) =>
    element("th", title, {scope: "col"})));
  head.append(row);
  return head;
}

/* Sounds */

const sheetTitles = ["Slot", "Sound", "Level", "Tap", "Hold", "Release",
  "Overrun", "Fire rate heard", "Lamp on", "Made with"];

/** The options of a command that are a sound's own, and its take. */
function settingsOf(madeBy) {
  const word = "(?:'[^']*'|\\\\.|[^\\s'])+";
  const common = ["board", "slot", "name", "sample-rate", "part"].join("|");
  return madeBy.split(" && ")[0]
    .replace(/^volleyweave /, "")
    .replaceAll(new RegExp(` --(?:${common})[ =]${word}`, "g"), "")
    .replace(" -- ", " ");
}

function sheetCells(sound, board) {
  const {single, rapid} = sound.told;
  const trigger = rapid ?? single;
  const seconds = overrunS(trigger, board);
  const level = element("td", "");
  level.append(outlineOf(trigger.outline));
  const made = element("td", "", {class: "settings"});
  made.append(...commandElements(
    sound.madeWith ?? settingsOf(sound.madeBy ?? "")));
  return [
    level,
    cellOf(tapOf(trigger, board)),
    cellOf(holdOf(trigger)),
    cellOf(releaseOf(trigger, board)),
    cellOf(seconds ? inWords(seconds, 2, "s") : "none"),
    cellOf(rapid ? inWords(pulseOf(rapid, board), 2, "per\u00a0s") : ""),
    cellOf([trigger.loneFlash, trigger.lampOnS &&
      inWords(1000 * trigger.lampOnS, 0, "ms")].filter(Boolean).join(", ")),
    made,
  ];
}

function sheetRow(sound, board) {
  const row = element("tr", "", {class: "entry"});
  row.append(
    element("td", sound.slot ? String(sound.slot) : ""),
    cellOf(sound.name, "th", {scope: "row"}));
  if (sound.error) {
    const reason = element("td", "Failed: ",
      {class: "failed", colspan: sheetTitles.length - 2});
    reason.append(nameElement(sound.error));
    row.append(reason);
  } else {
    row.append(...sheetCells(sound, board));
  }
  return row;
}

/* Lamps */

const lampTitles = ["For", "C", "RA", "RB", "P set to", "R of the LED",
  "Makes", "On"];

function lampCells(parts) {
  const trimmed = `${parts.fixed} + P ${parts.trimmer}`;
  return [
    parts.c,
    parts.trimsRa ? trimmed : parts.plain,
    parts.trimsRa ? parts.plain : trimmed,
    parts.set,
    (parts.led ?? NONE) + (parts.base ? `, T behind ${parts.base}` : ""),
    inWords(parts.ratePerS, 2, "per\u00a0s"),
    inWords(parts.onMs, 1, "ms") +
      (parts.diode ? "" : ", two resistors") +
      (parts.litWhileLow ? ", LED to +Vcc" : ""),
  ];
}

/** How a loop's flashes follow where its gap is heard; "" where evenly. */
function unevenOf({name, told}, board) {
  const {repeat, rateHz, files} = told?.rapid ?? {};
  const {shots, nFrames} = files?.main ?? {shots: []};
  if (repeat !== "whole-file" || shots.length < 2) {
    return "";
  }
  const [first, second] = shots;
  const lastMs = 1000 * (nFrames - shots.at(-1) + first) / rateHz +
    board.gapMs;
  const intervalMs = 1000 * (second - first) / rateHz;
  return lastMs - intervalMs < 1
    ? ""
    : `${name}: ${shots.length} flashes ${inWords(intervalMs, 1, "ms")} apart, ` +
      `then ${inWords(lastMs, 1, "ms")} to the next: only a microcontroller or ` +
      "the lamp track follow.";
}

/** Every circuit once, with the sounds that it is for. */
function circuitsOf(sounds, board) {
  const circuits = new Map();
  for (const sound of sounds) {
    const parts = sound.told?.rapid?.lampParts;
    if (parts && !unevenOf(sound, board)) {
      const cells = lampCells(parts);
      const key = cells.join("|");
      const one = circuits.get(key) ?? {parts, cells, names: []};
      one.names.push(sound.slot ? String(sound.slot) : sound.name);
      circuits.set(key, one);
    }
  }
  return [...circuits.values()];
}

function circuitTable(circuits) {
  const table = element("table", "");
  const body = element("tbody", "");
  for (const {cells, names} of circuits) {
    const row = element("tr", "");
    row.append(cellOf(names.join(", "), "th", {scope: "row"}),
      ...cells.map((text) => cellOf(text)));
    body.append(row);
  }
  table.append(headOf(lampTitles), body);
  return table;
}

/** How late the board is, and which lamp can be as late. */
function holdBackOf(board) {
  const delay = inWords(board.delayMs, 0, "ms");
  return board.delayMs
    ? `Hold back: ${delay}, so late the board is after the trigger. Only a ` +
      "microcontroller or the lamp track can; with the timer the lamp leads " +
      `by ${delay}.`
    : "";
}

function lampBox(sounds, board) {
  const circuits = circuitsOf(sounds, board);
  const tracks = sounds.filter((sound) => sound.track && sound.told.rapid);
  const texts = tracks.length
    ? ["Lamp track: the second channel switches the lamp, nothing is set."]
    : [];
  if (circuits.length) {
    const {parts} = circuits[0];
    texts.push(`Timer 555 at ${parts.supply}` +
      `${parts.diode ? ", a diode across RB with P" : ""}; drawn by ` +
      "`volleyweave lamp`. P, the trimmer: with an ohmmeter between its " +
      "middle leg and the outer one not joined to it, before soldering; then " +
      "count the flashes of 10 s in a film, or read the Hz at pin 3. LED: " +
      "long leg +. Diode: ring to pins 2 and 6.");
    texts.push(holdBackOf(board));
  }
  texts.push(...sounds.map((sound) => unevenOf(sound, board)));
  return [
    ...(circuits.length ? [circuitTable(circuits)] : []),
    ...texts.filter(Boolean).map((text) => element("p", unparted(text))),
  ];
}

/* All */

function sheetHead(board) {
  const known = board.name
    ? `For the board ${board.name}.`
    : "No board was named.";
  return known + (board.pressMinMs
    ? ` Presses below ${inWords(board.pressMinMs, 0, "ms")} do nothing.`
    : "");
}

/** Fill the bench sheet, which is asked for when it is printed. */
function fillSheet(data, sounds, board) {
  const body = element("tbody", "");
  const table = element("table", "");
  byId("sheet-board").textContent = sheetHead(board);
  body.append(...sounds.map((sound) => sheetRow(sound, board)));
  table.append(headOf(sheetTitles), body);
  byId("sheet-entries").replaceChildren(table);
  const lamps = lampBox(sounds, board);
  byId("sheet-lamps").hidden = !lamps.length;
  byId("sheet-circuits").replaceChildren(...lamps);
  byId("sheet-again").hidden = !data.madeBy;
  byId("sheet-command").replaceChildren(...commandElements(data.madeBy ?? ""));
}
