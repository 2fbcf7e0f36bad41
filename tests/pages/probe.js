// Uses the page as a reader would, and writes down what was not as it should be.
"use strict";

const wrong = [];

function expect(condition, sentence) {
  if (!condition) wrong.push(sentence);
}

function all(selector) {
  return [...document.querySelectorAll(selector)];
}

function pause() {
  return new Promise((resolve) => setTimeout(resolve, 100));
}

const plan = JSON.parse(document.getElementById("plan").textContent);

function isShown(element) {
  return element !== null && element.getClientRects().length > 0;
}

function seesEverything() {
  expect(document.querySelector("h1").textContent === plan.load.name, "the head does not name the load");
  expect(document.querySelector(".overall").textContent.includes(plan.verdict), "the verdict has no word");
  for (const caution of plan.cautions) {
    expect(document.body.innerText.includes(caution), `missing caution: ${caution}`);
  }
  for (const command of plan.commands) {
    const row = document.getElementById(`command-${command.number}`);
    expect(isShown(row), `command ${command.number} is not in the list`);
    expect(row !== null && row.textContent.includes(`${command.unit}.${command.name}`),
      `command ${command.number} has no name`);
  }
  for (const check of plan.checks) {
    expect(all("#verdicts tbody tr").some((row) => row.textContent.includes(check.code)
      && row.textContent.includes(check.subject) && row.textContent.includes(check.verdict)),
      `check ${check.code} of ${check.subject} is not in the table`);
  }
  for (const { sha256 } of [...plan.inputs, plan.backout]) {
    expect(document.getElementById("page").textContent.includes(sha256), `digest ${sha256} is missing`);
  }
  expect(all("#page script, #page b script, #page iframe, #page img").length === 0, "text of the plan became markup");
}

function isLabelled() {
  for (const control of all("#page button, #page input, #page select")) {
    const named = control.getAttribute("aria-label") || control.textContent.trim()
      || (control.labels !== null && control.labels.length > 0);
    expect(named, `a ${control.tagName} has no name`);
  }
  for (const heading of all("#page thead th")) {
    expect(heading.getAttribute("scope") === "col", `the table heading ${heading.textContent} has no scope`);
  }
  for (const row of all("#page tbody tr")) {
    expect(row.querySelector('th[scope="row"], th[scope="rowgroup"]') !== null,
      `a table row has no heading: ${row.textContent.slice(0, 40)}`);
  }
  for (const id of all("[id]").map((element) => element.id)) {
    expect(all(`[id="${id}"]`).length === 1, `the id ${id} stands twice`);
  }
}

async function searches() {
  const search = document.getElementById("search");
  const wanted = plan.commands.filter((command) => command.class === "irreversible").length;
  search.value = "irreversible";
  search.dispatchEvent(new Event("input"));
  await pause();
  const shown = all('#commands tr[id^="command-"]').filter(isShown);
  expect(shown.length === wanted, `a search for irreversible shows ${shown.length} commands, not ${wanted}`);
  const hidden = plan.commands.find((command) => command.class === "routine");
  location.hash = `#command-${hidden.number}`;
  await pause();
  const row = document.getElementById(`command-${hidden.number}`);
  expect(isShown(row), "a link does not lead to a command that the search hides");
  expect(document.activeElement === row, "a link to a command does not move the focus there");
}

async function movesTheCursor() {
  const cursor = document.getElementById("cursor");
  const before = document.getElementById("course").textContent;
  cursor.value = String((Number(cursor.min) + Number(cursor.max)) / 3);
  cursor.dispatchEvent(new Event("input"));
  await pause();
  expect(document.getElementById("course").textContent !== before, "the cursor moves and no reading changes");
  const lines = all("#course svg .cursor:not(.off)");
  expect(lines.length > 5, "the cursor does not go through every lane");
  expect(new Set(lines.map((line) => line.getAttribute("x1"))).size === 1, "the cursor is not one line");
}

async function stepsThroughTheCommands() {
  const [free] = all("#course button").filter((button) => button.getAttribute("aria-label").includes("Let go"));
  const [next] = all("#course button").filter((button) => button.getAttribute("aria-label").includes("next command"));
  free.click();
  for (const command of plan.commands.slice(0, 3)) {
    next.click();
    await pause();
    expect(document.getElementById("course").textContent.includes(`last: ${command.number} ${command.unit}`),
      `stepping does not reach command ${command.number}`);
  }
}

function namesWhatItDraws() {
  const course = document.getElementById("course").textContent;
  for (const mark of plan.marks) expect(course.includes(mark.name), `the mark ${mark.name} is not in the course`);
  for (const word of ["source", "load", "reserve", "floor", "horizon", "survival", "operating", "cap"]) {
    expect(all("#course svg text").some((text) => text.textContent === word), `no line's end says ${word}`);
  }
  expect(all("#course svg path").every((path) => !/NaN|Infinity/.test(path.getAttribute("d"))),
    "a line goes nowhere");
}

async function probe() {
  seesEverything();
  isLabelled();
  await searches();
  namesWhatItDraws();
  await movesTheCursor();
  await stepsThroughTheCommands();
}

addEventListener("error", (event) => wrong.push(event.message));
probe()
  .catch((error) => wrong.push(String(error)))
  .finally(() => {
    const seen = document.createElement("pre");
    seen.id = "seen";
    seen.textContent = wrong.length === 0 ? "everything as expected" : wrong.join("\n");
    document.body.append(seen);
  });
