// Figures of the program's reports, by the names and units of their keys.

const NONE = "\u2013";

// How keys end, with the unit and the decimals that a person wants.
const unitsOfKeys = {
  per_s: ["per\u00a0s", 2], ms: ["ms", 1], hz: ["Hz", 2], bytes: ["bytes", 0],
  db: ["dB", 1], dbtp: ["dBTP", 1], lufs: ["LUFS", 1],
  times: ["times what is within", 2],
};

// What is said otherwise than the key.
const namesOfKeys = {
  fastest_fire_rate: "Fastest untouched",
  valley: "Valley between shots", tightening: "Tails shortened by",
  join_residual: "Seam", limiting: "Limited by", pulse: "Lamp flashes",
  on: "Lamp is on", files_total: "Files", capacity: "Room of the board",
};

/** A figure with its unit, or a dash. */
function figure(number, decimals, unit) {
  return typeof number === "number"
    ? `${number.toFixed(decimals)}\u00a0${unit}` : NONE;
}

/** Names and texts of some keys of a report, of those that there are. */
function factsIn(report, keys) {
  return keys.split(" ").map((key) => {
    const [, name, unit] = /^(.*?)(?:_(per_s|[a-z]+))?$/.exec(key);
    const [word, decimals] = unitsOfKeys[unit] ?? [];
    const stem = word ? name : key;
    const value = report?.[key];
    return [namesOfKeys[stem] ?? inWords(stem.replaceAll("_", "-")),
      word ? figure(value, Math.abs(value) < 1000 ? decimals : 0, word)
        : String(value ?? NONE)];
  });
}

/** Names and texts into a list; what is not there is left out. */
function listFacts(list, facts) {
  list.replaceChildren(...facts.filter(([, text]) => text && text !== NONE)
    .flatMap(([name, text]) =>
      [element("dt", {}, name), element("dd", {}, text)]));
}
