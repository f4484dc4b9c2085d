// The table of all sounds; a heading sorts it.

function reportOf(sound) {
  return sound.report ?? {};
}

const columns = [
  {title: "Slot", key: (sound) => sound.slot || null},
  {title: "Sound", key: (sound) => sound.name},
  {title: "Group", key: (sound) => sound.group ?? null},
  {title: "Fire rate", unit: "per\u00a0s", decimals: 2,
    key: (sound) => reportOf(sound).loop?.fire_rate_per_s ?? null},
  {title: "Valley", unit: "dB", decimals: 1,
    key: (sound) => reportOf(sound).loop?.valley_db ?? null},
  {title: "Loudness", unit: "LUFS", decimals: 1,
    key: (sound) => reportOf(sound).level?.shot_loudness_lufs ?? null},
  {title: "Size", key: (sound) => sound.bytes, show: bytesInWords},
  {title: "Warnings",
    key: (sound) => sound.error ? Infinity : warningsOf(sound).length,
    show: (n) => n === Infinity ? "failed" : String(n)},
];

function warningsOf(sound) {
  return reportOf(sound).warnings ?? [];
}

/** Order of two keys: numbers by size, texts as people sort, none last. */
function compareKeys(a, b) {
  if (a === null || b === null) {
    return (a === null) - (b === null);
  }
  return typeof a === "number"
    ? a - b
    : a.localeCompare(b, undefined, {numeric: true});
}

class Table {
  constructor(sounds, onChoose) {
    this.sounds = sounds;
    this.onChoose = onChoose;
    this.sortedBy = null;
    this.descending = false;
    const head = byId("table").tHead.rows[0];
    this.heads = columns.map((column, i) => {
      const cell = element("th", "", {scope: "col", "aria-sort": "none"});
      const button = element("button", column.title, {type: "button"});
      button.addEventListener("click", () => this.sort(i));
      cell.append(button);
      head.append(cell);
      return cell;
    });
    this.rows = sounds.map((sound) => this.makeRow(sound));
    byId("table").tBodies[0].append(...this.rows);
  }

  makeRow(sound) {
    const row = document.createElement("tr");
    row.dataset.failed = String(Boolean(sound.error));
    for (const column of columns) {
      row.append(this.makeCell(sound, column));
    }
    return row;
  }

  makeCell(sound, column) {
    const cell = document.createElement("td");
    const key = column.key(sound);
    if (column.title === "Sound") {
      const button = element("button", "", {type: "button"});
      button.append(nameElement(sound.name));
      button.addEventListener("click", () => this.onChoose(sound));
      cell.append(button);
    } else if (key === null) {
      cell.textContent = NONE;
    } else if (column.show) {
      cell.textContent = column.show(key);
    } else if (column.unit) {
      cell.textContent = inWords(key, column.decimals, column.unit);
    } else {
      cell.append(nameElement(String(key)));
    }
    return cell;
  }

  sort(index) {
    this.descending = this.sortedBy === index && !this.descending;
    this.sortedBy = index;
    const sign = this.descending ? -1 : 1;
    const {key} = columns[index];
    const order = this.sounds.map((sound, i) => ({sound, row: this.rows[i]}));
    order.sort((a, b) => {
      const x = key(a.sound);
      const y = key(b.sound);
      return x === null || y === null
        ? compareKeys(x, y)
        : sign * compareKeys(x, y);
    });
    byId("table").tBodies[0].append(...order.map(({row}) => row));
    this.heads.forEach((cell, i) => cell.setAttribute("aria-sort",
      i !== index ? "none" : this.descending ? "descending" : "ascending"));
  }

  choose(sound) {
    this.rows.forEach((row, i) => {
      row.dataset.chosen = String(this.sounds[i] === sound);
    });
  }
}
