// Uses the pages as a reader would: what they show against their own JSON, by keyboard, in the light and in the dark,
// without colours, on paper; and judges them with axe-core (rules after WCAG 2.2, level AA).
//
// usage: node use_pages.mjs BROWSER FOLDER; FOLDER holds lunation.html, sample.html, difference.html, many.html, and gets the pictures

import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [executablePath, folder] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const wrong = [];

function expect(condition, sentence) {
  if (!condition) wrong.push(sentence);
}

const browser = await chromium.launch({ executablePath, args: ["--no-sandbox", "--disable-gpu"] });

// A page with everything noted that it says to the console or asks of the world.
async function open(name, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 1000 }, bypassCSP: true, ...options });
  const page = await context.newPage();
  // A busy machine is slow, not wrong: only what never comes is a fault.
  page.setDefaultTimeout(240000);
  const own = pathToFileURL(`${folder}/${name}.html`).href;
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) wrong.push(`${name}: the console says ${message.text()}`);
  });
  page.on("pageerror", (error) => wrong.push(`${name}: ${error.message}`));
  page.on("request", (request) => {
    const url = request.url();
    if (url !== own && !url.startsWith("data:")) wrong.push(`${name}: asks for ${url}`);
  });
  await page.goto(own);
  await page.waitForSelector("h1");
  return page;
}

async function judge(page, name) {
  await page.evaluate(axe);
  const answer = await page.evaluate(() => globalThis.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    // Of what passes, the names of the rules will do: to describe each element that does takes seconds.
    resultTypes: ["violations"],
  }));
  for (const violation of answer.violations) {
    const places = violation.nodes.slice(0, 3).map((node) => `${node.target.join(" ")}: ${node.failureSummary}`).join(" | ");
    wrong.push(`${name}: axe ${violation.id} at ${violation.nodes.length} places: ${places}`);
  }
  expect(answer.passes.length > 15, `${name}: axe looked at too little`);
}

async function planShowsItsJson(name) {
  const page = await open(name);
  const seen = await page.evaluate(() => {
    const rows = (selector) => [...document.querySelectorAll(selector)].map((row) => row.textContent);
    return {
      plan: JSON.parse(document.getElementById("plan").textContent),
      commands: rows('#commands tbody tr[id^="command-"]'),
      checks: rows("#verdicts tbody tr"),
      windows: rows("#windows tbody tr"),
      text: document.getElementById("page").textContent,
    };
  });
  const { plan } = seen;
  expect(seen.commands.length === plan.commands.length, `${name}: ${seen.commands.length} command rows`);
  plan.commands.slice(0, seen.commands.length).forEach((command, index) => {
    const row = seen.commands[index];
    const called = `${command.unit}.${command.name}${command.arguments.map((one) => ` ${one.name}=${one.value}`).join("")}`;
    expect(row.startsWith(String(command.number)) && row.includes(called) && row.includes(command.class)
      && (command.source === null || row.includes(`${command.source.file}:${command.source.line}`)),
      `${name}: row ${index + 1} does not show command ${command.number}, ${called}: ${row}`);
  });
  expect(seen.checks.length === plan.checks.length, `${name}: ${seen.checks.length} verdict rows`);
  for (const check of plan.checks) {
    expect(seen.checks.some((row) => row.includes(check.code) && row.includes(check.subject) && row.includes(check.verdict)),
      `${name}: no row for ${check.code} of ${check.subject}`);
  }
  for (const { sha256 } of [...plan.inputs, plan.backout]) expect(seen.text.includes(sha256), `${name}: no digest ${sha256}`);
  await page.context().close();
  return plan;
}

// What stands beside the lanes at the cursor, against the plan: the last command, and the reserve, which must lie between the
// plan's points around that time.
async function cursorReadsThePlan(name, plan) {
  const page = await open(name);
  const points = plan.power.points;
  expect(points.length > 2, `${name}: no power drawn`);
  for (const share of [0.1, 0.37, 0.8]) {
    const begin = Number(await page.locator("#cursor").getAttribute("min"));
    const end = Number(await page.locator("#cursor").getAttribute("max"));
    const at = Math.round(begin + (end - begin) * share);
    await page.locator("#cursor").evaluate((cursor, value) => {
      cursor.value = String(value);
      cursor.dispatchEvent(new Event("input"));
    }, at);
    const reached = Number(await page.locator("#cursor").inputValue());
    const text = await page.locator("#course").textContent();
    const last = plan.commands.filter((command) => command.offset <= reached).at(-1);
    if (last) {
      expect(text.includes(`last: ${last.number} `), `${name}: at ${reached} s the last command is not ${last.number}`);
    }
    const readout = await page.evaluate(() => [...document.querySelectorAll("#course .key")]
      .find((key) => key.querySelector(".key-name")?.textContent === "reserve")?.querySelector(".readout").textContent);
    const reserve = Number(readout?.replace("\u2212", "-").replace(" W", ""));
    const after = points.findIndex(([offset]) => offset > reached);
    const around = points.slice(Math.max(after - 2, 0), after < 0 ? undefined : after + 2).map((point) => point[3]);
    expect(reserve >= Math.min(...around) - 0.06 && reserve <= Math.max(...around) + 0.06,
      `${name}: at ${reached} s the reserve is shown as ${reserve} W, the plan has ${around}`);
  }
  await page.context().close();
}

async function keyboardIsEnough(name, plan) {
  const page = await open(name);
  const focus = () => page.evaluate(() => {
    const element = document.activeElement;
    const outline = getComputedStyle(element);
    return { tag: element.tagName, id: element.id, text: (element.textContent || "").slice(0, 40),
      seen: element.matches(":focus-visible") && outline.outlineStyle !== "none" && element.getClientRects().length > 0 };
  });
  // Forward through everything before the first command, each stop seen.
  const stops = [];
  for (let i = 0; i < 400; ++i) {
    await page.keyboard.press("Tab");
    const now = await focus();
    stops.push(now);
    if (now.tag === "BODY") break;
    expect(now.seen, `${name}: focus on ${now.tag} ${now.id} ${now.text} is not seen`);
    if (now.id === "search") break;
  }
  expect(stops.some((stop) => stop.tag === "A"), `${name}: no link is reached by Tab`);
  expect(stops.at(-1).id === "search", `${name}: the search is not reached by Tab (${stops.length} stops)`);
  expect(stops.some((stop) => stop.id === "cursor"), `${name}: the cursor is not reached by Tab`);
  // A time of a finding leads to that time.
  const cursor = page.locator("#cursor");
  const time = page.locator("#verdicts tbody button.link").first();
  await time.focus();
  await page.keyboard.press("Enter");
  const wanted = (Date.parse(await time.textContent()) - Date.parse(plan.load.begin)) / 1000;
  const reached = Number(await cursor.inputValue());
  const step = Number(await cursor.getAttribute("step"));
  expect(Math.abs(reached - wanted) <= step,
    `${name}: Enter on a finding's time leads to ${reached} s, not to ${wanted} s`);
  // A command of a finding leads to that command.
  const link = page.locator("#verdicts a.command-link").first();
  if (await link.count() > 0) {
    const number = await link.textContent();
    await link.focus();
    await page.keyboard.press("Enter");
    await page.waitForFunction((id) => document.activeElement.id === id, `command-${number}`, { timeout: 60000 })
      .catch(() => wrong.push(`${name}: a finding's command does not lead to command ${number}`));
  }
  // The cursor by the arrow keys.
  await cursor.focus();
  const held = Number(await cursor.inputValue());
  await page.keyboard.press("ArrowRight");
  expect(Number(await cursor.inputValue()) > held, `${name}: the arrow keys do not move the cursor`);
  // Typing searches.
  await page.locator("#search").focus();
  const word = plan.commands[0].unit;
  await page.keyboard.type(word);
  await page.waitForTimeout(150);
  const rows = await page.locator('#commands tbody tr[id^="command-"]').allTextContents();
  const without = rows.filter((row) => !row.toLowerCase().includes(word));
  const least = plan.commands.filter((command) => command.unit === word).length;
  expect(without.length === 0, `${name}: searching ${word} shows ${without[0]}`);
  expect(rows.length >= least && rows.length < plan.commands.length,
    `${name}: searching ${word} shows ${rows.length} rows, ${least} commands are of that unit`);
  await page.context().close();
}

async function looks(name) {
  for (const colorScheme of ["light", "dark"]) {
    const page = await open(name, { colorScheme });
    await judge(page, `${name} in the ${colorScheme}`);
    await page.screenshot({ path: `${folder}/${name}-${colorScheme}.png` });
    const ground = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    const bright = ground.match(/\d+/g).slice(0, 3).reduce((sum, part) => sum + Number(part), 0) / 3;
    expect(colorScheme === "light" ? bright > 200 : bright < 60, `${name}: ${ground} in the ${colorScheme}`);
    await page.context().close();
  }
  // Narrow: nothing sticks out of the page.
  const narrow = await open(name, { viewport: { width: 380, height: 800 } });
  const width = await narrow.evaluate(() => document.documentElement.scrollWidth);
  expect(width <= 380, `${name}: ${width} px wide on a window of 380`);
  await narrow.screenshot({ path: `${folder}/${name}-narrow.png` });
  await narrow.context().close();
  // On paper: everything, dark reader or not, and nothing cut at the side.
  const paper = await open(name, { colorScheme: "dark" });
  await paper.emulateMedia({ media: "print" });
  const ground = await paper.evaluate(() => getComputedStyle(document.body).backgroundColor);
  expect(ground === "rgb(255, 255, 255)", `${name}: prints on ${ground}`);
  expect(await paper.locator("nav").first().isHidden(), `${name}: prints its links`);
  const pdf = await paper.pdf({ preferCSSPageSize: true });
  expect(pdf.length > 20000 && pdf.subarray(0, 4).toString() === "%PDF", `${name}: no paper comes out`);
  writeFileSync(`${folder}/${name}.pdf`, pdf);
  await paper.context().close();
}

// Meaning without colour: each verdict and class has its word, each line of a plot its name or dash.
async function needsNoColour(name) {
  const page = await open(name, { forcedColors: "active" });
  const bare = await page.evaluate(() => [...document.querySelectorAll(".verdict, .class, .change")]
    .filter((element) => element.textContent.trim().length < 4).length);
  expect(bare === 0, `${name}: ${bare} verdicts or classes have no word`);
  const lines = await page.evaluate(() => {
    const styles = new Map();
    for (const path of document.querySelectorAll("#course svg path[class*='line-'], .overlay svg path[class*='line-']")) {
      const style = getComputedStyle(path);
      const lane = path.closest("svg");
      const key = `${style.strokeDasharray}/${style.strokeWidth}`;
      if (!styles.has(lane)) styles.set(lane, new Map());
      const inLane = styles.get(lane);
      const kind = path.getAttribute("class");
      if (!inLane.has(kind)) inLane.set(kind, key);
    }
    return [...styles.values()].filter((kinds) => new Set(kinds.values()).size < kinds.size)
      .map((kinds) => [...kinds.entries()].join(" "));
  });
  expect(lines.length === 0, `${name}: lines that only colour tells apart: ${lines.slice(0, 3)}`);
  await page.context().close();
}

// Two plans that differ in five seeded ways: a reader of the page sees all five, and nothing else.
async function differenceShowsWhatDiffers() {
  const page = await open("difference");
  const seen = await page.evaluate(() => {
    const texts = (selector) => [...document.querySelectorAll(selector)].map((one) => one.textContent.replace(/\s+/g, " "));
    return {
      difference: JSON.parse(document.getElementById("plan").textContent).difference,
      commands: texts("#commands tbody tr"),
      checks: texts("#checks tbody tr"),
      windows: texts("#windows tbody tr"),
      files: texts("#inputs h3"),
      lines: texts("#inputs del, #inputs ins"),
      others: ["head", "waivers", "rules", "marks"].filter((id) => document.getElementById(id) !== null),
    };
  });
  const { difference } = seen;
  expect(difference.matters === true, "difference: nothing differs");
  expect(seen.commands.length === difference.commands.length,
    `difference: ${seen.commands.length} rows for ${difference.commands.length} commands`);
  difference.commands.forEach((change, i) => {
    const row = seen.commands[i] ?? "";
    for (const side of [change.old, change.new]) {
      for (const word of side === null ? [] : [side.command, String(side.number), side.arguments, side.window ?? ""]) {
        expect(row.includes(word), `difference: row ${i + 1} does not show ${word}`);
      }
    }
    for (const kind of change.changes) expect(row.includes(kind), `difference: row ${i + 1} does not say ${kind}`);
  });
  expect(seen.checks.length === difference.checks.length, `difference: ${seen.checks.length} rows of checks`);
  difference.checks.forEach((check, i) => expect((seen.checks[i] ?? "").includes(check.code),
    `difference: row ${i + 1} of the checks does not show ${check.code}`));
  expect(seen.windows.length === difference.windows.length, `difference: ${seen.windows.length} rows of windows`);

  const only = (what, rows, wanted) => expect(rows.length === 1 && wanted.every((word) => rows[0].includes(word)),
    `difference: ${what} should be shown once, with ${wanted}; shown is: ${rows.join(" | ")}`);
  const having = (mark) => seen.commands.filter((row) => row.includes(mark));
  only("another argument", having("~re-argued"), ["camera.compression ratio=6", "camera.compression ratio=4"]);
  only("a command less", having("\u2212removed"), ["dump.report"]);
  only("a command more", having("+added"), ["keeper.time-report", "another"]);
  const moved = having("\u2192moved");
  expect(moved.length > 0 && moved.every((row) => row.includes("deeper") && row.includes("+1 h")),
    `difference: moved is not the block alone: ${moved.join(" | ")}`);
  only("another limit", seen.checks.filter((row) => row.includes("4 W") && row.includes("5 W")), ["power/reserve", "alder.yaml"]);
  const other = seen.commands.filter((row) => !/re-argued|removed|added|moved|restaged/.test(row));
  expect(other.length === 0, `difference: nobody seeded ${other.join(" | ")}`);
  expect(seen.others.length === 0, `difference: nobody seeded changes of ${seen.others}`);
  expect(seen.files.join() === "loads/alder-42-lunation.cairn,stations/alder.yaml", `difference: files ${seen.files}`);
  expect(seen.lines.some((line) => line.includes("reserve_floor")), "difference: the line of the limit is not shown");
  await page.context().close();
}

// 20,000 commands: the list answers, and nothing of it is lost.
async function manyStayThere() {
  const page = await open("many");
  const count = await page.evaluate(() => JSON.parse(document.getElementById("plan").textContent).commands.length);
  expect(count === 20000, `many: ${count} commands`);
  await page.locator("#search").fill("19999");
  await page.waitForFunction(() => document.getElementById("command-19999") !== null, null, { timeout: 120000 })
    .catch(() => wrong.push("many: a search does not find command 19999"));
  await page.locator("#search").fill("");
  await page.evaluate(() => { location.hash = "#command-15000"; });
  await page.waitForFunction(() => document.activeElement.id === "command-15000", null, { timeout: 120000 })
    .catch(() => wrong.push("many: a link does not lead to command 15000"));
  await page.context().close();
}

try {
  for (const name of ["lunation", "sample"]) {
    const plan = await planShowsItsJson(name);
    await cursorReadsThePlan(name, plan);
    await keyboardIsEnough(name, plan);
    await looks(name);
    await needsNoColour(name);
  }
  await differenceShowsWhatDiffers();
  await looks("difference");
  await needsNoColour("difference");
  await manyStayThere();
} catch (error) {
  wrong.push(String(error.stack ?? error));
} finally {
  await browser.close();
}
for (const sentence of wrong) console.log(sentence);
console.log(wrong.length === 0 ? "everything as expected" : `${wrong.length} things are not as expected`);
process.exit(wrong.length === 0 ? 0 : 1);
