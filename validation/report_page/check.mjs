// Opens report pages in headless Chromium as a phone, a laptop and a printer would, in light and dark, and fails if anything is
// wider than its window, if a text of a figure is cut off, if the console complains, or if anything is asked of a network.
//
//     npm install --prefix /tmp/page puppeteer-core          (Chromium itself from the system: apt-get install chromium)
//     NODE_PATH=/tmp/page/node_modules node validation/report_page/check.mjs OUTPUT_FOLDER report.html...

import { createRequire } from "node:module";
import { mkdirSync, statSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const puppeteer = createRequire(`${process.env.NODE_PATH}/`)("puppeteer-core");
const [folder, ...pages] = process.argv.slice(2);
const WINDOWS = [["phone", 360, 740], ["laptop", 1280, 800]];
const faults = [];

mkdirSync(folder, { recursive: true });
const browser = await (puppeteer.default ?? puppeteer).launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu"],
});
for (const file of pages) {
  const name = basename(dirname(resolve(file)));
  for (const look of ["light", "dark"]) {
    for (const [window, width, height] of WINDOWS) {
      const page = await browser.newPage();
      const note = (what) => faults.push(`${name}, ${window}, ${look}: ${what}`);
      page.on("console", (message) => ["error", "warning"].includes(message.type()) && note(`console: ${message.text()}`));
      page.on("pageerror", (error) => note(`error: ${error.message}`));
      page.on("request", (request) => {
        const url = request.url();
        if (!url.startsWith("data:") && url !== pathToFileURL(resolve(file)).href) note(`asks for ${url}`);
      });
      await page.setViewport({ width, height });
      await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: look }]);
      await page.goto(pathToFileURL(resolve(file)).href, { waitUntil: "load" });
      const found = await page.evaluate(async () => {
        await document.fonts.ready;
        const cut = [];
        for (const drawing of document.querySelectorAll("figure svg")) {
          const frame = drawing.getBoundingClientRect();
          for (const text of drawing.querySelectorAll("text")) {
            const box = text.getBoundingClientRect();
            const inside = box.left >= frame.left - 1 && box.right <= frame.right + 1 && box.top >= frame.top - 1 && box.bottom <= frame.bottom + 1;
            // what a clip path cuts is meant to be cut
            if (!inside && !text.closest("[clip-path]")) cut.push(`${drawing.parentElement.id}: "${text.textContent}"`);
          }
        }
        const root = document.documentElement;
        return {
          wide: root.scrollWidth - root.clientWidth,
          cut,
          figures: document.querySelectorAll("figure svg").length,
          lettering: [...document.fonts].filter((font) => font.status === "loaded").length,
          ink: getComputedStyle(document.body).color,
          paper: getComputedStyle(document.body).backgroundColor,
          height: root.scrollHeight,
        };
      });
      if (found.wide > 0) note(`${found.wide} pixels wider than the window`);
      if (found.figures < 5) note(`only ${found.figures} figures`);
      if (found.lettering < 2) note(`only ${found.lettering} of 2 weights of the lettering are used`);
      found.cut.forEach((text) => note(`cut off: ${text}`));
      console.log(`${name}, ${window} (${width} px), ${look}: ${found.figures} figures, ${found.height} px high, ink ${found.ink} on ${found.paper}`);
      await page.screenshot({ path: join(folder, `${name}_${window}_${look}.png`), fullPage: true });
      await page.close();
    }
  }
  const page = await browser.newPage();
  await page.goto(pathToFileURL(resolve(file)).href, { waitUntil: "load" });
  const pdf = join(folder, `${name}.pdf`);
  await page.pdf({ path: pdf, format: "A4", preferCSSPageSize: true, printBackground: true });
  console.log(`${name}, printed: ${statSync(pdf).size} bytes`);
  await page.close();
}
await browser.close();
faults.forEach((fault) => console.error(fault));
process.exit(faults.length ? 1 : 0);
