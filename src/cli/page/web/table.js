// The table of all sounds; a heading sorts it.

function reportOf(sound) {
  return sound.report ?? {};
}

const columns = [
  {title: "Slot", key: (sound) => sound.slot || null},
  {title: "Sound", key: (sound) => sound.name},
  {title: "Level", plain: true, show: outlineOf,
    key: (sound) => (sound.told.rapid ?? sound.told.single)?.outline ?? null},
  {title: "Group", key: (sound) => sound.group ?? null},
  {title: "Fire rate", unit: "per\u00a0s", decimals: 2,
    key: (sound) => reportOf(sound).loop?.fire_rate_per_s ?? null},
  {title: "Valley", unit: "dB", decimals: 1,
    key: (sound) => reportOf(sound).loop?.valley_db ?? null},
  {title: "Loudness", unit: "LUFS", decimals: 1,
    key: (sound) => reportOf(sound).level?.shot_loudness_lufs ?? null},
  {title: "Size", key: (sound) => sound.error ? null : sound.bytes,
    show: bytesInWords},
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
  constructor(onChoose) {
    this.onChoose = onChoose;
    const head = byId("table").tHead.rows[0];
    this.heads = columns.map((column, i) => {
      const cell = element("th", "", {scope: "col"});
      if (column.plain) {
        cell.textContent = column.title;
      } else {
        const button = element("button", column.title, {type: "button"});
        button.addEventListener("click", () => this.sort(i));
        cell.append(button);
      }
      head.append(cell);
      return cell;
    });
  }

  /** Show these sounds, in their own order. */
  show(sounds) {
    this.sounds = sounds;
    this.sortedBy = null;
    this.descending = false;
    // What no sound has takes no room.
    this.columns = columns.map((column) =>
      sounds.some((sound) => column.key(sound) !== null));
    this.heads.forEach((cell, i) => {
      cell.hidden = !this.columns[i];
    });
    this.rows = sounds.map((sound) => this.makeRow(sound));
    byId("table").tBodies[0].replaceChildren(...this.rows);
    this.markSorted();
  }

  makeRow(sound) {
    const row = document.createElement("tr");
    row.dataset.failed = String(Boolean(sound.error));
    for (const column of columns.filter((_, i) => this.columns[i])) {
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
      cell.append(column.show(key));
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
    this.markSorted();
  }

  markSorted() {
    this.heads.forEach((cell, i) => {
      if (!columns[i].plain) {
        cell.setAttribute("aria-sort", i !== this.sortedBy
          ? "none"
          : this.descending ? "descending" : "ascending");
      }
    });
  }

  choose(sound) {
    this.sounds.forEach((one, i) => {
      this.rows[i].dataset.chosen = String(one === sound);
      this.rows[i].toggleAttribute("aria-current", one === sound);
    });
  }
}
