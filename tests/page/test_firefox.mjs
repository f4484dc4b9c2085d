// The page that holds the whole program, in the other browser: it opens from
// disk, obeys the keyboard, asks for nothing, and saves the program's bytes.

import {copyFileSync, existsSync, readFileSync} from "node:fs";
import {join} from "node:path";
import puppeteer from "puppeteer-core";
import {unzipSync} from "fflate";
import {check, finish, folder, run, take} from "./tools.mjs";
import {pageFile} from "./workbench.mjs";

const browsers = ["/usr/bin/firefox-esr", "/snap/bin/firefox"];
const executablePath = process.env.FIREFOX ?? browsers.find(existsSync);
if (!executablePath) {
  console.log(`Skipped: no browser at ${browsers.join(" or ")}.`);
  process.exit(77);
}

const browser = await puppeteer.launch({browser: "firefox", executablePath});
const page = await browser.newPage();
page.on("pageerror", (error) => check(false, `an error: ${error.message}`));
page.on("console", (message) =>
  check(message.type() !== "error", `on the console: ${message.text()}`));
page.on("request", (request) =>
  check(/^(file|data|blob):/.test(request.url()), `asks for ${request.url()}`));

/** Wait until something holds in the page. */
async function until(holds, what) {
  for (let i = 0; i < 600; ++i) {
    if (await page.evaluate(holds)) {
      return;
    }
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  check(false, `it never came so far: ${what}`);
}

await page.goto(`file://${pageFile}`);
await until(() => !document.querySelector("#ready").hidden, "the start");
await page.evaluate(() => {
  const {createObjectURL} = URL;
  URL.createObjectURL = (blob) => {
    globalThis.blob = blob;
    return createObjectURL.call(URL, blob);
  };
});
await page.click("#demo");
await until(() => document.querySelector("#bench[aria-busy='false']") &&
  !document.querySelector("#bench").hidden, "the demo take");

// Whether it sounds is not asked: this browser plays nothing if the machine has
// no device for sound.
await page.focus("#trigger-rapid");
await page.keyboard.down(" ");
check(await page.$("#trigger-rapid[data-held='true']"), "it cannot be held");
await page.keyboard.up(" ");

const zip = await page.evaluate(async () => {
  document.querySelector("#save-all").click();
  const bytes = new Uint8Array(await globalThis.blob.arrayBuffer());
  return btoa(Array.from(bytes, (one) => String.fromCharCode(one)).join(""));
});
const got = unzipSync(new Uint8Array(Buffer.from(zip, "base64")));
copyFileSync(take, join(folder, "fog-knapper.wav"));
const shown = await page.$eval("#command", (one) => one.textContent);
run(...shown.split(" ").slice(1));
const names = Object.keys(got);
check(names.length === 4, `the files: ${names}`);
for (const name of names) {
  check(readFileSync(join(folder, name)).equals(Buffer.from(got[name])),
    `${name}: other bytes`);
}
await browser.close();
await finish();
