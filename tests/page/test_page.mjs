// The page itself: lamp, names, table, contrast, print, and that it asks the
// network for nothing.

import {
  copyFileSync, mkdirSync, readdirSync, statSync, writeFileSync,
} from "node:fs";
import {join} from "node:path";
import {
  check, checkAxe, checkMost, finish, folder, open, run, take, tryToRun,
  writeBoard,
} from "./tools.mjs";

// Of the package bzflag-data.
const sounds = "/usr/share/games/bzflag";
const recordings = readdirSync(sounds).filter((name) => name.endsWith(".wav"))
  .map((name) => join(sounds, name));

// The take of a shot with names that are none.
const names = [
  "</script><script>alert(1)</script>", "\"quoted\" & 'so'",
  "\u0627\u0644\u0636\u0628\u0627\u0628", "-rf", "a\u202Eb",
];

/** Hold the mouse button for 2.5 s. */
async function holdMouse(page) {
  await page.mouse.down();
  await page.waitForTimeout(2500);
  await page.mouse.up();
}

/** Press and let go so quickly that every press begins anew. */
async function tapMouse(page) {
  for (let i = 0; i < 16; ++i) {
    await page.mouse.down();
    await page.waitForTimeout(70);
    await page.mouse.up();
    await page.waitForTimeout(80);
  }
}

/** Use the rapid trigger; when does the lamp on the screen change? */
async function watchLamp(options, switchedOn, act = holdMouse) {
  const page = await open("plain.html", options);
  await page.evaluate(() => {
    // So that a press that is over leaves nothing that sounds.
    bench.ownBoard = {...bench.ownBoard, release: "stops"};
    bench.showBoard(bench.ownBoard);
    globalThis.seen = [];
    new MutationObserver(() => globalThis.seen.push(
      {on: document.getElementById("disc").dataset.on === "true",
        atS: performance.now() / 1000}))
      .observe(document.getElementById("disc"), {attributes: true});
  });
  if (switchedOn) {
    await page.locator("#use-lamp").check();
  }
  await page.locator("#trigger-rapid").hover();
  await act(page);
  await page.waitForTimeout(300);
  const seen = await page.evaluate(() => globalThis.seen);
  await page.context().close();
  return seen.filter(({on}) => on).map(({atS}) => atS);
}

async function checkLamp() {
  const reduced = {reducedMotion: "reduce"};
  // Each page has a mouse of its own.
  const [unasked, all, tapped, ...calmly] = await Promise.all([
    watchLamp({}, false), watchLamp({}, true), watchLamp({}, true, tapMouse),
    watchLamp(reduced, true, holdMouse), watchLamp(reduced, true, tapMouse)]);
  check(unasked.length === 0, "flashes unasked");
  // Of some 22, a busy machine draws fewer, but more than a calm lamp has.
  check(all.length > 9, `${all.length} flashes in 2.5 s at 9 per s`);
  check(tapped.length > 8, `${tapped.length} flashes of 16 presses`);
  for (const [i, act] of [holdMouse, tapMouse].entries()) {
    const calm = calmly[i];
    check(calm.length > 3, `${calm.length} flashes where motion is reduced`);
    calm.forEach((atS, flash) => {
      const within = calm.filter((other) => other >= atS && other < atS + 1);
      check(within.length <= 3,
        `${act.name}: flash ${flash}: ${within.length} in a second`);
    });
  }
}

/** The readings count what is heard. */
async function checkReadings() {
  const page = await open("plain.html");
  const permission = page.locator("#permission");
  check((await permission.textContent()).includes("first touch"),
    "nothing is said of the permission");
  const facts = await page.locator("#facts dd").allTextContents();
  check(facts.length > 8, `${facts.length} facts`);
  check(!facts.includes("\u2013"), "a fact that is none");
  await page.locator("#trigger-rapid").focus();
  await page.keyboard.down("Enter");
  await page.waitForTimeout(1800);
  const rate = parseFloat(await page.locator("#rate-heard").textContent());
  checkMost(Math.abs(rate - 9), 0.02, "off the fire rate heard", "readings");
  await page.keyboard.up("Enter");
  check(!await permission.isVisible(), "the permission is still asked for");
  await page.context().close();
}

async function checkNames() {
  mkdirSync(join(folder, "odd"));
  const takes = names.map((name) => `odd/${name.replaceAll("/", "_")}.wav`);
  takes.forEach((path) => copyFileSync(take, join(folder, path)));
  writeFileSync(join(folder, "odd/broken.wav"), "no sound");
  const {status} = tryToRun("tryout", "-q", "-o", "odd.html", "--",
    ...takes, "odd/broken.wav");
  check(status === 1, `a broken take among others: status ${status}`);
  const page = await open("odd.html");
  const shown = await page.locator("#table tbody tr").allInnerTexts();
  check(shown.length === names.length + 1, `${shown.length} rows`);
  for (const name of names.map((one) => one.replaceAll("/", "_"))) {
    check(shown.some((text) => text.includes(name)), `not shown: ${name}`);
  }
  check(shown.at(-1).includes("failed"), "the failure is hidden");
  await page.locator("#table tbody tr").last().locator("button").click();
  check(await page.locator("#bench-error").isVisible(), "no reason is told");
  await checkAxe("odd.html", "light");
}

async function checkTable() {
  const page = await open("many.html");
  const titles = (await page.locator("#table th:visible").allInnerTexts())
    .map((title) => title.trim());
  const at = titles.indexOf("Fire rate");
  const column = () => page.locator(`#table tbody td:nth-child(${at + 1})`)
    .allInnerTexts();
  check(!titles.includes("Group"), `a column of nothing: ${titles}`);
  const head = page.locator("#table th:visible").nth(at);
  await head.locator("button").click();
  check(await head.getAttribute("aria-sort") === "ascending", "aria-sort");
  const arrows = await page.evaluate(() => Array.from(
    document.querySelectorAll("#table th:not([hidden]) button"),
    (button) => getComputedStyle(button, "::after").content));
  check(arrows.length > 4 && arrows.every((text) => /[\u2191\u2193\u2195]/
    .test(text)), `headings without arrows: ${arrows}`);
  const rates = (await column()).map(parseFloat).filter(Number.isFinite);
  check(rates.length > 10 && rates.every((x, i) => !i || x >= rates[i - 1]),
    `not sorted: ${rates}`);
  await head.locator("button").click();
  const down = (await column()).map(parseFloat).filter(Number.isFinite);
  check(down.every((x, i) => !i || x <= down[i - 1]), `not sorted: ${down}`);
  await page.context().close();
}

/** On paper nothing is cut off. */
async function checkPrint(file) {
  // A4 less its margins of 12 mm, at 96 to the inch.
  const page = await open(file, {viewport: {width: 703, height: 1032}});
  await page.emulateMedia({media: "print"});
  await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
  const {wide, rows, sheet, shown} = await page.evaluate(() => ({
    wide: Array.from(document.querySelectorAll("body, #sheet *"))
      .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 ||
        one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0)
      .map((one) => one.outerHTML.slice(0, 80)),
    rows: document.querySelectorAll("#sheet .entry").length,
    sheet: document.getElementById("sheet").innerText,
    shown: getComputedStyle(document.getElementById("bench")).display,
  }));
  check(wide.length === 0, `${file}: cut off on paper: ${wide}`);
  check(rows > 0, `${file}: an empty sheet`);
  for (const word of ["per\u00a0s", "trimmer", "volleyweave loop --board"]) {
    check(sheet.includes(word), `${file}: no ${word} on the sheet`);
  }
  check(shown === "none", `${file}: the bench is printed`);
  const pdf = await page.pdf({format: "A4"});
  check(pdf.length > 10000, `${file}: ${pdf.length} bytes of PDF`);
  await page.context().close();
}

/** The command as it was given, until a slider moves; facts that are known. */
async function checkCommand() {
  const page = await open("plain.html");
  const command = () => page.locator("#command").textContent();
  const says = () => page.locator("#command-says").textContent();
  const made = await command();
  check(made.startsWith("volleyweave loop --board held.board.ini --fire-rate 9")
    && !made.includes("--loudness"), `as it was made: ${made}`);
  check((await says()).includes("exactly"), await says());
  await page.locator("#valley").fill("20");
  check((await command()).includes("--valley 20") &&
    (await command()).includes("--loudness keep"), await command());
  check((await says()).includes("the take's own loudness"), await says());
  await page.locator("#as-made").click();
  check(await command() === made, `back: ${await command()}`);
  const facts = await page.locator("#facts").innerText();
  check(!facts.includes("\u2013") && !facts.includes("volleyweave-out/") &&
    facts.includes("Would be called"), facts);
  await page.context().close();
}

/** Where no two shots are alike the page says why it has no sliders. */
async function checkUnlaid() {
  run("tryout", "--fire-rate", "9", "--detune", "20", "-q", "-o", "other.html",
    take);
  const page = await open("other.html");
  check(await page.locator("#relay").isHidden(), "sliders of detuned shots");
  check((await page.locator("#unlaid").textContent()).includes("--detune"),
    "no reason is told");
  await page.context().close();
}

/** On a narrow screen nothing but tables reaches beyond it. */
async function checkNarrow(file) {
  const page = await open(file, {viewport: {width: 390, height: 800}});
  const {wide, full} = await page.evaluate(() => ({
    wide: Array.from(document.querySelectorAll("body *"))
      .filter((one) => !one.closest(".scroll") &&
        one.getBoundingClientRect().right > innerWidth + 1)
      .map((one) => one.outerHTML.slice(0, 80)),
    full: document.documentElement.scrollWidth,
  }));
  check(wide.length === 0 && full <= 390, `${file}: too wide: ${full} ${wide}`);
  const hints = await page.locator(".scroll-hint").evaluateAll((all) =>
    all.map((hint) => [hint.checkVisibility(),
      hint.nextElementSibling.scrollWidth >
        hint.nextElementSibling.clientWidth + 1]));
  check(hints.some(([shown]) => shown) && hints.every(([a, b]) => a === b),
    `${file}: hints of what scrolls: ${hints}`);
  await page.context().close();
}

const board = writeBoard("held", {"on-release": "finishes", gap: "20ms"});
run("tryout", "--board", board, "--fire-rate", "9", "-q", "-o", "plain.html",
  take);
tryToRun("tryout", "--board", "wav-22k-mono", "-q", "-o", "many.html", "--",
  ...recordings);
checkMost(statSync(join(folder, "many.html")).size / 1e6, 15, "MB of page",
  "recordings");
await checkAxe("plain.html", "light");
await checkAxe("plain.html", "dark");
await checkAxe("many.html", "light");
await checkNames();
await checkTable();
await checkUnlaid();
await checkCommand();
await checkNarrow("plain.html");
await checkNarrow("many.html");
await checkNarrow("odd.html");
await checkPrint("plain.html");
await checkPrint("many.html");
await checkReadings();
await checkLamp();
await finish();
