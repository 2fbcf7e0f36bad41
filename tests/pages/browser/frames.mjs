// How long frames take while a reader moves the cursor, zooms, scrolls and searches: a plan of 20,000 commands beside the
// lunation's, in one run. Prints milliseconds (median, and the longest of a hundred) and their ratios.
//
// usage: node frames.mjs BROWSER FOLDER; FOLDER holds lunation.html and many.html

import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [executablePath, folder] = process.argv.slice(2);
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox", "--disable-gpu"] });

async function measure(name) {
  const page = await browser.newPage({ viewport: { width: 1400, height: 1000 } });
  await page.goto(pathToFileURL(`${folder}/${name}.html`).href);
  await page.waitForSelector("#course svg");
  const times = await page.evaluate(async () => {
    const cursor = document.getElementById("cursor");
    const search = document.getElementById("search");
    const begin = Number(cursor.min);
    const width = Number(cursor.max) - begin;
    const frame = () => new Promise((done) => requestAnimationFrame(done));
    async function series(count, step) {
      const seen = [];
      await frame();
      for (let i = 0; i < count; ++i) {
        const before = performance.now();
        step(i);
        document.body.getBoundingClientRect();  // layout belongs to the frame
        seen.push(performance.now() - before);
        await frame();
      }
      return seen.sort((a, b) => a - b);
    }
    const moved = await series(100, (i) => {
      cursor.value = String(begin + (width * i) / 100);
      cursor.dispatchEvent(new Event("input"));
    });
    const zoom = [...document.querySelectorAll("#course button")].find((one) => /closer|in/i.test(one.title));
    const zoomed = await series(20, () => zoom?.click());
    const scrolled = await series(100, (i) => window.scrollTo(0, (document.body.scrollHeight * i) / 100));
    const words = ["probe", "camera", "1", ""];
    const searched = await series(20, (i) => {
      search.value = words[i % words.length];
      search.dispatchEvent(new Event("input"));
    });
    return { moved, zoomed, scrolled, searched };
  });
  await page.close();
  return times;
}

const few = await measure("lunation");
const many = await measure("many");
await browser.close();
const median = (times) => times[Math.floor(times.length / 2)];
console.log("a frame, ms   lunation median  longest   20,000 median  longest   ratio of medians");
for (const [name, times] of Object.entries(many)) {
  const small = few[name];
  console.log(`${name.padEnd(12)} ${median(small).toFixed(1).padStart(17)} ${small.at(-1).toFixed(1).padStart(8)} `
    + `${median(times).toFixed(1).padStart(15)} ${times.at(-1).toFixed(1).padStart(8)} `
    + `${(median(times) / Math.max(median(small), 0.05)).toFixed(1).padStart(18)}`);
}
