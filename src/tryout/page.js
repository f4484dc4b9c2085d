// The page as a whole.

/** Show the lamp and the readings, as often as the screen is drawn. */
function showReadings(bench) {
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const disc = byId("disc");
  const draw = () => {
    const {player} = bench;
    const atS = player.heardS();
    const flashes = player.context ? bench.flashes() : [];
    const shown = calm.matches ? calmFlashes(flashes) : flashes;
    const lit = byId("use-lamp").checked && isLit(shown, atS);
    if (disc.dataset.on !== String(lit)) {
      disc.dataset.on = String(lit);
    }
    showNumbers(bench, flashes, atS);
    requestAnimationFrame(draw);
  };
  byId("use-lamp").addEventListener("change", (event) => {
    disc.setAttribute("aria-label", event.target.checked
      ? "Lamp, flashing with the shots"
      : "Lamp, off");
  });
  requestAnimationFrame(draw);
}

/** Put a text into an element where it is not there yet. */
function show(id, text) {
  if (byId(id).textContent !== text) {
    byId(id).textContent = text;
  }
}

function showNumbers(bench, flashes, atS) {
  const held = Object.values(bench.triggers).some((trigger) => trigger.held);
  const heard = flashes.filter(({onS}) => onS <= atS).length;
  if (held || flashes.some(({offS}) => offS > atS)) {
    show("rate-heard", inWords(rateHeard(flashes, atS), 2, "per\u00a0s"));
    show("shots-heard", flashes.length ? String(heard) : NONE);
  }
  if (held) {
    show("held-for",
      inWords((performance.now() - bench.heldSinceMs) / 1000, 1, "s"));
  }
}

function showTotal(data, sounds) {
  const {capacityBytes, clusterBytes} = data.board;
  const bytes = sounds.reduce((sum, sound) => sum +
    Math.ceil(sound.bytes / clusterBytes) * clusterBytes, 0);
  const failed = sounds.filter((sound) => sound.error).length;
  const parts = [sounds.length, sounds.length === 1 ? "sound," : "sounds,",
    bytesInWords(bytes)];
  if (capacityBytes) {
    const share = 100 * bytes / capacityBytes;
    parts.push(`of ${bytesInWords(capacityBytes)} (${inWords(share, 0, "%")})`);
  }
  byId("total").textContent = parts.join(" ") +
    (failed ? `. ${failed} failed and cannot be played.` : ".");
}

function start() {
  const data = readData();
  const sounds = data.sounds.map(soundOf);
  const player = new Player((waiting) => {
    byId("permission").textContent = waiting
      ? "The browser still holds the sound back: allow this page to play it."
      : "";
    byId("permission").hidden = !waiting;
  });
  const bench = new Bench(data, player);
  const choose = (sound) => {
    bench.choose(sound);
    table.choose(sound);
  };
  const table = new Table(sounds, (sound) => {
    choose(sound);
    byId("bench").scrollIntoView();
  });
  byId("about").replaceChildren(
    ...(data.title ? [nameElement(data.title), ". "] : []),
    `Made by volleyweave ${data.version}.`);
  document.title = ["Try-out sheet", data.title].filter(Boolean).join(": ");
  showTotal(data, sounds);
  choose(sounds.find((sound) => !sound.error) ?? sounds[0]);
  const fill = once(() => fillSheet(sounds, data.board));
  addEventListener("beforeprint", fill);
  byId("print").addEventListener("click", () => print());
  setTimeout(fill, 0);
  showReadings(bench);
  return bench;
}

const bench = start();
