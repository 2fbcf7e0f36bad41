// The tables beside verdicts and commands: windows and batches, marks, energy, end state, inputs.

import { cell, element, heading, section, table } from "./element";
import type { Plan } from "./plan";
import { commandLink, degrees, fixed, lengthOfTime, octets, place, plural, readable } from "./words";

// Runs of numbers that follow one another, as first and last: 1, 2, 3, 7 is 1 to 3 and 7 to 7.
export function runs(numbers: number[]): [number, number][] {
  const found: [number, number][] = [];
  for (const value of [...numbers].sort((a, b) => a - b)) {
    const last = found[found.length - 1];
    if (last && value === last[1] + 1) last[1] = value;
    else found.push([value, value]);
  }
  return found;
}

// "1 to 3, 7", each number leading to its command.
function commandLinks(numbers: number[]): HTMLElement {
  const links = element("span", { class: "command-links" });
  runs(numbers).forEach(([first, last], index) => {
    if (index > 0) links.append(", ");
    links.append(commandLink(first));
    if (last > first) links.append(last > first + 1 ? " to " : ", ", commandLink(last));
  });
  return links;
}

// What this load takes out of the table, entry by entry.
function withdrawals(plan: Plan): (HTMLElement | null)[] {
  const withdrawn = plan.withdrawn ?? [];
  if (withdrawn.length === 0) return [];
  const rows = withdrawn.map((one) => element("tr", {},
    cell("number", String(one.number)), heading("name", one.entry.command), cell("name", readable(one.entry.time)),
    cell("name", one.window === null ? element("b", {}, "\u2715 no window") : plan.windows[one.window - 1].name),
    cell("name", one.received === null ? "never" : readable(one.received)), cell("name", place(one.source))));
  return [element("h3", {}, "Withdrawn from earlier loads"),
    table("Withdrawn from earlier loads",
      [{ title: "No.", kind: "number" }, { title: "Command", kind: "name" },
        { title: "Would run (UTC)", kind: "name" }, { title: "Window", kind: "name" },
        { title: "Out of the table (UTC)", kind: "name" }, { title: "Source", kind: "name" }], rows)];
}

export function windows(plan: Plan): HTMLElement {
  const rows: HTMLTableRowElement[] = [];
  for (const { name, opens, closes, batch } of plan.windows) {
    if (!batch) continue;
    rows.push(element("tr", {}, heading("name", name), cell("name", opens), cell("name", closes),
      cell("name", element("div", {}, readable(batch.begin)), element("div", {}, readable(batch.end)),
        batch.immediate ? element("div", { class: "aside" }, `from exactly ${batch.begin}`) : null),
      cell("number", String(batch.commands.length)),
      cell("text", batch.withdrawals
        ? plural(batch.withdrawals.length, "withdrawal") : commandLinks(batch.commands)),
      cell("number", octets(batch.bytes)),
      cell("name", element("div", {}, batch.file), element("div", { class: "digest" }, batch.sha256))));
  }
  const spare = plan.windows.filter((window) => !window.batch);
  const lost = plan.commands.filter((command) => command.window === null).map((command) => command.number);
  return section("windows", "Windows and batches",
    table("Windows and batches",
      [{ title: "Window", kind: "name" }, { title: "Opens", kind: "name" }, { title: "Closes", kind: "name" },
        { title: "Transmission", kind: "name" }, { title: "Commands", kind: "number" }, { title: "Numbers" },
        { title: "Size", kind: "number" }, { title: "File, SHA-256", kind: "name" }], rows),
    ...withdrawals(plan),
    spare.length === 0 ? null : element("details", {},
      element("summary", {}, `${plural(spare.length, "window")} not used`),
      element("ul", { class: "name-list" }, ...spare.map((window) =>
        element("li", {}, `${window.name}: ${window.opens} to ${window.closes}`)))),
    plan.carried.length === 0 ? null : element("details", {},
      element("summary", {}, `${plural(plan.carried.length, "command")} of earlier loads may still be in the table`),
      element("ul", { class: "name-list" }, ...plan.carried.map((entry) =>
        element("li", {}, `${entry.command}: ${readable(entry.time)}, ${octets(entry.bytes)}`)))),
    lost.length > 0
      ? element("p", { class: "problem" }, `No window carries ${plural(lost.length, "command")}: `, commandLinks(lost))
      : null,
    element("p", {}, `The backout, ${plan.backout.file} (${octets(plan.backout.bytes)}), withdraws the whole load`
      + `${(plan.withdrawn ?? []).length > 0 ? " and puts back what it withdraws" : ""}. `,
      element("span", { class: "digest" }, plan.backout.sha256)));
}

export function marks(plan: Plan): HTMLElement | null {
  if (plan.marks.length === 0 && plan.nothing_sent.length === 0) return null;
  const rows = plan.marks.map((mark) => element("tr", {},
    heading("name", mark.name), cell("name", readable(mark.time)), cell("name", place(mark.source))));
  const idle = plan.nothing_sent.map((one) => element("tr", {},
    heading("name", `${one.unit} to ${one.state}`), cell("name", readable(one.time)), cell("name", place(one.source))));
  return section("marks", "Marks",
    rows.length > 0 ? table("Marks",
      [{ title: "Mark", kind: "name" }, { title: "Time (UTC)", kind: "name" }, { title: "Source", kind: "name" }],
      rows) : null,
    idle.length > 0 ? element("h3", {}, "Nothing sent, already there") : null,
    idle.length > 0 ? table("Nothing sent, already there",
      [{ title: "Bring", kind: "name" }, { title: "At (UTC)", kind: "name" }, { title: "Source", kind: "name" }],
      idle) : null);
}

export function energy(plan: Plan): HTMLElement | null {
  const byUnit = new Map<string, number[]>();
  for (const row of plan.power.energy) {
    const days = byUnit.get(row.unit) ?? [];
    days.push(row.wh);
    byUnit.set(row.unit, days);
  }
  if (byUnit.size === 0) return null;
  const total = (days: number[]) => days.reduce((sum, value) => sum + value, 0);
  const order = [...byUnit].sort((a, b) => total(b[1]) - total(a[1]) || (a[0] < b[0] ? -1 : 1));
  const rows = order.map(([unit, days]) => element("tr", {},
    heading("name", unit), cell("number", `${fixed(total(days), 1)} Wh`),
    cell("number", `${fixed(Math.min(...days), 1)} Wh`), cell("number", `${fixed(Math.max(...days), 1)} Wh`)));
  const shed = plan.power.shed;
  return section("energy", "Energy by unit",
    table("Energy by unit",
      [{ title: "Unit", kind: "name" }, { title: "Whole load", kind: "number" },
        { title: "Least day", kind: "number" }, { title: "Greatest day", kind: "number" }], rows),
    shed.length > 0 ? element("p", { class: "problem" },
      `The bus would shed ${shed.map((step) => `${step.unit} at ${step.time}`).join(", ")}.`) : null,
    element("p", { class: "aside" }, "Days are counted from the load's begin, 24 h each."));
}

export function endState(plan: Plan): HTMLElement {
  const end = plan.end_state;
  const pair = (name: string, value: string) => element("tr", {}, heading("name", name), cell("name", value));
  const list = (title: string, rows: HTMLTableRowElement[], columns: [string, string]) =>
    rows.length === 0 ? null : element("div", {}, element("h3", {}, title),
      table(title, columns.map((column) => ({ title: column, kind: "name" as const })), rows));
  return section("end-state", "State at the end",
    element("p", {}, `Predicted for ${end.time}; the next load starts from it. Next sequence count `
      + `${end.sequence_count}.`),
    element("div", { class: "beside" },
      list("Parts", Object.entries(end.parts).map(([name, state]) => pair(name, state ?? "unknown")),
        ["Part", "State"]),
      list("Temperatures", Object.entries(end.temperatures).map(([name, value]) => pair(name, degrees(value))),
        ["Node", "Temperature"]),
      list("Entries left in the table", end.table.map((entry) => pair(entry.command, readable(entry.time))),
        ["Command", "Executes (UTC)"])),
    element("p", {}, `Heaters on: ${end.heaters_on.join(", ") || "none"}. `
      + `One-shot commands spent: ${end.once_spent.join(", ") || "none"}.`));
}

export function inputs(plan: Plan): HTMLElement {
  const rows = plan.inputs.map((input) => element("tr", {},
    heading("name", input.name), cell("number", octets(input.bytes)),
    cell("name", element("span", { class: "digest" }, input.sha256))));
  const leap = plan.leap_seconds;
  return section("inputs", "What went in",
    table("Inputs",
      [{ title: "File", kind: "name" }, { title: "Size", kind: "number" }, { title: "SHA-256", kind: "name" }], rows),
    element("p", {}, plan.load.previous_plan === null
      ? "Starts from the initial state of the station file."
      : "Starts from the end of the plan with SHA-256 ",
      plan.load.previous_plan === null ? null : element("span", { class: "digest" }, plan.load.previous_plan)),
    element("p", {}, leap.assumed_after_expiry
      ? `The leap-second table is published up to ${leap.expires ?? "an unknown date"}; times after it assume that no `
        + "further leap second comes."
      : `The leap-second table is published up to ${leap.expires ?? "an unknown date"}.`));
}

export function spanText(plan: Plan, seconds: number): string {
  return `${plan.load.begin} to ${plan.load.end} (${lengthOfTime(Math.round(seconds))})`;
}
