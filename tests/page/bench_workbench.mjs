// How long the page takes from being opened until the demo take can be fired.
//
// Wanted on two cores that do nothing else: 1 s at most.

import {finish} from "./tools.mjs";
import {openWorkbench} from "./workbench.mjs";

const RUNS = 10;

/** Runs in a page before its script: open the demo take as soon as it can be. */
function hurrying() {
  const watcher = new MutationObserver(() => {
    if (document.querySelector("#ready:not([hidden])")) {
      watcher.disconnect();
      globalThis.readyMs = performance.now();
      document.querySelector("#demo").click();
    }
  });
  watcher.observe(
    document, {attributes: true, attributeFilter: ["hidden"], subtree: true});
  globalThis.made = new Promise((resolve) =>
    document.addEventListener("made", () => resolve(performance.now()),
      {once: true}));
}

const median = (all) =>
  Math.round(all.sort((a, b) => a - b)[Math.floor(all.length / 2)]);
const times = {ready: [], made: []};
for (let i = 0; i < RUNS; ++i) {
  const page = await openWorkbench({}, hurrying);
  times.made.push(await page.evaluate(() => globalThis.made));
  times.ready.push(await page.evaluate(() => globalThis.readyMs));
  await page.context().close();
}
console.log(`ready in ${median(times.ready)} ms, the demo take can be fired in ` +
  `${median(times.made)} ms: medians of ${RUNS}`);
await finish();
