// The page that holds the whole program, as a person works it.

import {existsSync, readFileSync} from "node:fs";
import {resolve} from "node:path";
import {unzipSync} from "fflate";
import {open} from "./tools.mjs";

/** The page, as tools/build-page makes it. */
export const pageFile = resolve(process.argv[4]);
if (!existsSync(pageFile)) {
  console.log(`Skipped: no ${pageFile}; tools/build-page makes it.`);
  process.exit(77);
}

/** Open it, and wait until it can be used. */
export async function openWorkbench(options = {}, before = null) {
  const page = await open(pageFile, options, before);
  await page.locator("#ready").waitFor();
  return page;
}

/** Wait until what is set is made. */
export async function settle(page) {
  await page.locator("#bench[aria-busy='false']").waitFor();
}

/** Open recordings, and wait for what is made of the first. */
export async function openSounds(page, ...files) {
  await opened(page,
    () => page.locator("#open-files").setInputFiles(files));
  await settle(page);
}

/** Open the take that is in the page. */
export async function openDemo(page) {
  await opened(page, () => page.locator("#demo").click());
  await settle(page);
}

/** Open something; wait until the page says of how many it could. */
export async function opened(page, act) {
  const status = page.locator("#status");
  await status.evaluate((one) => one.replaceChildren());
  await act();
  await status.filter({hasText: /\d+ of \d+ opened/}).waitFor(
    {timeout: 120_000});
  return status.textContent();
}

/** Set options of the sound that is open, by the fields of their names. */
export async function set(page, values) {
  await page.evaluate((asked) => {
    for (const [id, value] of Object.entries(asked)) {
      const input = document.getElementById(id);
      input.value = value;
      input.dispatchEvent(new Event("change"));
    }
  }, values);
  await settle(page);
}

export const command = (page) => page.locator("#command").textContent();

/** The bytes that a click lets the page save. */
export async function saved(page, act) {
  const [download] = await Promise.all([page.waitForEvent("download"), act()]);
  return readFileSync(await download.path());
}

/** All files of the sound that is open, by their names. */
export async function saveAll(page) {
  return unzipSync(
    await saved(page, () => page.locator("#save-all").click()));
}

/** Wait until something holds in the page, whose policy forbids to wait there. */
export async function until(page, holds) {
  for (let i = 0; i < 1000 && !await page.evaluate(holds); ++i) {
    await page.waitForTimeout(10);
  }
}
