// The bench sheet: what one wants to know with the prop open.

function lampInWords(lamp, rapid) {
  if (!lamp) {
    return NONE;
  }
  return `${inWords(lamp.pulse_hz, 2, "per\u00a0s")}, ` +
    `on ${inWords(lamp.on_ms, 0, "ms")} of ` +
    inWords(lamp.period_ms, 0, "ms") +
    (rapid?.lampParts ? `; ${rapid.lampParts}` : "");
}

function pulseOf(rapid, board) {
  const {main} = rapid.files;
  const cycle = main.nFrames / rapid.rateHz + board.gapMs / 1000;
  return rapid.repeat === "whole-file"
    ? main.shots.length / cycle
    : rapid.fireRatePerS;
}

function sheetCells(sound, board) {
  if (sound.error) {
    return [sound.slot || NONE, sound.name, "failed", sound.error];
  }
  const single = sound.single();
  const rapid = sound.rapid();
  return [
    sound.slot || NONE,
    sound.name,
    single ? doesOf(single, board) : NONE,
    rapid ? doesOf(rapid, board) : NONE,
    rapid ? inWords(overrunS(rapid, board) || null, 2, "s") : NONE,
    rapid ? inWords(pulseOf(rapid, board), 2, "per\u00a0s") : NONE,
    lampInWords(reportOf(sound).lamp, rapid),
    sound.madeBy ?? NONE,
  ];
}

const sheetTitles = [
  "Slot", "Sound", "Tap", "Hold, release", "Overrun at most", "Rate heard",
  "Lamp", "To make it again"];

/** Fill the bench sheet, which is asked for when it is printed. */
function fillSheet(sounds, board) {
  const table = byId("sheet-table");
  table.tHead.rows[0].replaceChildren(...sheetTitles.map((title) =>
    element("th", title, {scope: "col"})));
  table.tBodies[0].replaceChildren(...sounds.map((sound) => {
    const row = document.createElement("tr");
    const cells = sheetCells(sound, board);
    cells.forEach((text, i) => {
      const cell = document.createElement("td");
      cell.append(nameElement(String(text)));
      if (sound.error && i === cells.length - 1) {
        cell.colSpan = sheetTitles.length - cells.length + 1;
      }
      row.append(cell);
    });
    return row;
  }));
}
