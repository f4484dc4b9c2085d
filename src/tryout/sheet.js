// The bench sheet: what one wants to know with the prop open.

function lampInWords(sound, rapid) {
  const lamp = reportOf(sound).lamp;
  if (!lamp) {
    return NONE;
  }
  return `${inWords(lamp.pulse_hz, 2, "per\u00a0s")}, ` +
    `on ${inWords(lamp.on_ms, 0, "ms")} of ` +
    inWords(lamp.period_ms, 0, "ms") +
    (rapid?.lampParts ? `. ${rapid.lampParts}` : "");
}

/** What is done at the release, and for how long at most it goes on. */
function releaseInWords(trigger, board) {
  const seconds = overrunS(trigger, board);
  return seconds
    ? `plays on: overrun ${inWords(seconds, 2, "s")} at most`
    : "silent at once: no overrun";
}

function sheetFacts(sound, board) {
  const {single, rapid} = sound.told;
  const trigger = rapid ?? single;
  return [
    ["Tap", tapOf(trigger, board)],
    ["Hold", doesOf(trigger, board)],
    ["Release", releaseInWords(trigger, board)],
    ["Fire rate heard",
      rapid ? inWords(pulseOf(rapid, board), 2, "shots per\u00a0s") : NONE],
    ["Lamp", unparted(lampInWords(sound, rapid))],
  ].filter(([, text]) => text !== NONE);
}

function sheetEntry(sound, board) {
  const entry = element("article", "", {class: "entry"});
  const head = element("h3", "");
  if (sound.slot) {
    head.append(element("span", `Slot ${sound.slot}`, {class: "slot"}), " ");
  }
  head.append(nameElement(sound.name));
  entry.append(head);
  if (sound.error) {
    const reason = element("p", "Failed: ", {class: "failed"});
    reason.append(nameElement(sound.error));
    entry.append(reason);
    return entry;
  }
  entry.append(outlineOf((sound.told.rapid ?? sound.told.single).outline));
  const list = element("dl", "", {class: "facts"});
  for (const [term, text] of sheetFacts(sound, board)) {
    const told = element("dd", "");
    told.append(nameElement(text));
    list.append(element("dt", term), told);
  }
  if (sound.madeBy) {
    const command = element("dd", "");
    command.append(...commandElements(sound.madeBy));
    list.append(element("dt", "Make again"), command);
  }
  entry.append(list);
  return entry;
}

/** Fill the bench sheet, which is asked for when it is printed. */
function fillSheet(sounds, board) {
  byId("sheet-board").textContent = board.name
    ? `For the board ${board.name}.`
    : "No board was named.";
  byId("sheet-entries").replaceChildren(
    ...sounds.map((sound) => sheetEntry(sound, board)));
}
