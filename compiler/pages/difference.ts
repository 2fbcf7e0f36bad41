// A difference of two plans as `cairn diff --json` gives it (docs/difference-format.md), and its page.

import { cell, Child, element, heading, section, table } from "./element";
import { overlays } from "./overlay";
import type { Place, Plan, Verdict } from "./plan";
import { lengthOfTime, number, octets, place, plural, readable, shortLengthOfTime, verdictMark } from "./words";

export interface ChangedCommand {
  changes: string[];
  old: Side | null;
  new: Side | null;
  shift?: number;
}

interface Side {
  number: number;
  time: string;
  command: string;
  command_number: number;
  class: string;
  arguments: string;
  immediate?: boolean;
  block: string;
  source: Place | null;
  window: string | null;
}

interface CheckSide {
  verdict: Verdict;
  assurance: string;
  margin: number | null;
  value: number | null;
  limit: number | null;
  unit: string;
  time: string;
  limit_source: Place | null;
}

interface WindowSide {
  closes: string;
  file: string | null;
  bytes: number;
  commands: number;
}

interface Value {
  what: string;
  old: string | null;
  new: string | null;
  source?: Place;
}

interface PlanHead {
  sha256: string;
  load: string;
  station: string;
  begin: string;
  end: string;
  verdict: Verdict;
  commands: number;
}

export interface Difference {
  format: string;
  version: number;
  matters: boolean;
  old: PlanHead;
  new: PlanHead;
  head: Value[];
  commands: ChangedCommand[];
  same: number;
  renumbered: number;
  renamed_blocks: { old: string; new: string }[];
  checks: { code: string; subject: string; detail: string; old: CheckSide | null; new: CheckSide | null }[];
  table: Value[];
  windows: { antenna: string; opens: string; old: WindowSide | null; new: WindowSide | null; left: number[]; joined: number[] }[];
  end_state: Value[];
  marks: Value[];
  waivers: Value[];
  rules: Value[];
  inputs: {
    name: string;
    old: string | null;
    new: string | null;
    lines: { old_line: number; new_line: number; old: string[]; new: string[]; within: string }[] | null;
  }[];
}

export interface DifferencePage {
  difference: Difference;
  old: Plan;
  new: Plan;
}

// A sign of its own for each kind of change, and the word beside it: never colour alone.
const signs: Record<string, string> = {
  added: "+", removed: "\u2212", moved: "\u2192", "re-argued": "~", redefined: "#", restaged: "\u2191", renoted: "\u00b6",
};

function changeMark(change: string): HTMLElement {
  return element("span", { class: `change ${change}` },
    element("span", { class: "sign", "aria-hidden": "true" }, signs[change] ?? "~"), change);
}

function fromTo(before: Child, after: Child): Child[] {
  if (before === null) return [after];
  if (after === null) return [element("del", {}, before)];
  return [element("del", {}, before), " ", element("span", { "aria-label": "now" }, "\u2192"), " ", element("ins", {}, after)];
}

function changed(before: string | null, after: string | null): Child[] {
  return before === after ? [after] : fromTo(before, after);
}

function call(side: Side | null): string | null {
  if (!side) return null;
  const name = side.immediate ? `now ${side.command}` : side.command;
  return side.arguments === "" ? name : `${name} ${side.arguments}`;
}

function commandRow(change: ChangedCommand): HTMLTableRowElement {
  const shift = change.shift === undefined ? null
    : element("div", { class: "aside" }, `${change.shift > 0 ? "+" : ""}${lengthOfTime(change.shift)}`);
  const side = change.new ?? change.old;
  const kinds = change.changes.flatMap((kind) => [changeMark(kind), " "]);
  return element("tr", {},
    heading("text", ...kinds),
    cell("number", ...changed(change.old ? String(change.old.number) : null, change.new ? String(change.new.number) : null)),
    cell("name", ...changed(change.old ? readable(change.old.time) : null, change.new ? readable(change.new.time) : null), shift),
    cell("text", element("span", { class: "call" }, ...changed(call(change.old), call(change.new)))),
    cell("text", ...changed(change.old?.class ?? null, change.new?.class ?? null)),
    cell("text", ...changed(change.old?.window ?? null, change.new?.window ?? null)),
    cell("text", side?.block ?? ""),
    cell("name", place(side?.source ?? null)));
}

const commandColumns = [{ title: "Change" }, { title: "No.", kind: "number" as const }, { title: "Executes (UTC)", kind: "name" as const },
  { title: "Command" }, { title: "Class" }, { title: "Window" }, { title: "Block" }, { title: "Source", kind: "name" as const }];

// Words that must all stand in a row for it to be shown.
export function matches(text: string, wanted: string): boolean {
  const low = text.toLowerCase();
  return wanted.toLowerCase().split(/\s+/).every((word) => low.includes(word));
}

function commands(difference: Difference): HTMLElement {
  const rows = difference.commands.map(commandRow);
  const counts = new Map<string, number>();
  for (const change of difference.commands) {
    for (const kind of change.changes) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  }
  const said = [...counts].map(([kind, count]) => `${count} ${kind}`);
  said.push(`${difference.renumbered} renumbered only`, `${difference.same} the same`);
  const search = element("input", { type: "search", id: "wanted", autocomplete: "off" });
  const shown = element("output", { for: "wanted" });
  const show = () => {
    let count = 0;
    for (const row of rows) {
      row.hidden = !matches(row.textContent ?? "", search.value);
      if (!row.hidden) count += 1;
    }
    shown.textContent = search.value === "" ? "" : `${count} of ${plural(rows.length, "command")}`;
  };
  search.addEventListener("input", show);
  return section("commands", "Commands", element("p", {}, said.join(", ")),
    rows.length === 0 ? null : element("div", { class: "tools" },
      element("label", { for: "wanted" }, "Find in these"), search, shown),
    rows.length === 0 ? null : table("Commands that are different", commandColumns, rows),
    ...difference.renamed_blocks.map((block) => element("p", {}, `Block \u201c${block.old}\u201d is now \u201c${block.new}\u201d.`)));
}

function amount(value: number | null | undefined, unit: string): string | null {
  if (value === null || value === undefined) return null;
  if (unit === "s") return shortLengthOfTime(value);
  return unit === "" ? number(value, 6) : `${number(value, 6)} ${unit}`;
}

function checks(difference: Difference): HTMLElement | null {
  if (difference.checks.length === 0) return null;
  const rows = difference.checks.map((check) => {
    const unit = (check.new ?? check.old)?.unit ?? "";
    const by = check.old && check.new && check.old.margin !== null && check.new.margin !== null
      ? check.new.margin - check.old.margin : null;
    const verdicts = check.old && check.new && check.old.verdict === check.new.verdict
      ? [verdictMark(check.new.verdict)]
      : fromTo(check.old ? verdictMark(check.old.verdict) : null, check.new ? verdictMark(check.new.verdict) : null);
    return element("tr", {},
      heading("text", ...verdicts),
      cell("name", check.code),
      cell("text", check.subject, check.detail === "" ? null : ` (${check.detail})`),
      cell("number", ...changed(amount(check.old?.margin, unit), amount(check.new?.margin, unit))),
      cell("number", by === null || by === 0 ? "" : `${by > 0 ? "+" : ""}${amount(by, unit) ?? ""}`),
      cell("number", ...changed(amount(check.old?.limit, unit), amount(check.new?.limit, unit))),
      cell("name", check.new ? readable(check.new.time) : ""),
      cell("name", place(check.new?.limit_source ?? null)));
  });
  return section("checks", "Verdicts", table("Checks that are different", [{ title: "Verdict" }, { title: "Check", kind: "name" },
    { title: "Of" }, { title: "Margin", kind: "number" }, { title: "Difference", kind: "number" }, { title: "Limit", kind: "number" },
    { title: "When (UTC)", kind: "name" }, { title: "Limit is set in", kind: "name" }], rows));
}

function values(id: string, title: string, list: Value[]): HTMLElement | null {
  if (list.length === 0) return null;
  return section(id, title, table(title, [{ title: "What" }, { title: "Difference" }],
    list.map((value) => element("tr", {}, heading("text", value.what), cell("text", ...changed(value.old, value.new),
      value.source ? element("div", { class: "aside" }, place(value.source)) : null)))));
}

function windows(difference: Difference): HTMLElement | null {
  if (difference.windows.length === 0) return null;
  const rows = difference.windows.map((window) => element("tr", {},
    heading("name", `${window.antenna} ${readable(window.opens)}`),
    cell("name", ...changed(window.old ? readable(window.old.closes) : null, window.new ? readable(window.new.closes) : null)),
    cell("number", ...changed(window.old ? String(window.old.commands) : null, window.new ? String(window.new.commands) : null)),
    cell("number", ...changed(window.old ? octets(window.old.bytes) : null, window.new ? octets(window.new.bytes) : null)),
    cell("text", window.left.join(", ")), cell("text", window.joined.join(", "))));
  return section("windows", "Windows and batches", table("Windows that are different", [{ title: "Opens", kind: "name" },
    { title: "Closes", kind: "name" }, { title: "Commands", kind: "number" }, { title: "Size", kind: "number" },
    { title: "Without old numbers" }, { title: "With new numbers" }], rows));
}

function inputs(difference: Difference): HTMLElement | null {
  if (difference.inputs.length === 0) return null;
  const files = difference.inputs.map((input) => {
    const runs = (input.lines ?? []).map((run) => element("div", { class: "run" },
      element("p", { class: "aside" }, `line ${run.new.length > 0 ? run.new_line : run.old_line}`
        + (run.within === "" ? "" : `, in ${run.within}`)),
      element("pre", {}, ...run.old.map((line) => element("del", {}, `\u2212 ${line}\n`)),
        ...run.new.map((line) => element("ins", {}, `+ ${line}\n`)))));
    const word = input.old === null ? "added" : input.new === null ? "removed" : null;
    return element("div", {}, element("h3", { class: "call" }, input.name), word === null ? null : changeMark(word),
      input.lines === null && word === null ? element("p", { class: "aside" }, "Its texts were not found.") : null, ...runs);
  });
  return section("inputs", "What went in", ...files);
}

function head(difference: Difference): HTMLElement {
  const side = (word: string, plan: PlanHead) => [
    element("dt", {}, word),
    element("dd", {}, `${plan.load}, ${readable(plan.begin)} to ${readable(plan.end)}, ${plural(plan.commands, "command")}, `,
      verdictMark(plan.verdict), element("div", { class: "digest" }, plan.sha256))];
  return element("header", {},
    element("p", { class: "kicker" }, `Difference of two plans \u00b7 ${difference.new.station}`),
    element("h1", {}, difference.new.load),
    element("p", { class: "overall" }, difference.matters ? "different" : "nothing that matters"),
    element("dl", {}, ...side("Old", difference.old), ...side("New", difference.new)));
}

export function show(data: DifferencePage, page: HTMLElement): void {
  const difference = data.difference;
  const sections = [values("head", "Head", difference.head), checks(difference),
    values("waivers", "Waivers", difference.waivers), values("rules", "Rules", difference.rules), commands(difference), overlays(data),
    values("table", "Command table", difference.table), windows(difference),
    values("end", "State at the end", difference.end_state), values("marks", "Marks", difference.marks), inputs(difference)]
    .filter((made): made is HTMLElement => made !== null);
  document.title = `${difference.new.load} \u00b7 difference`;
  const links = sections.map((made) => element("li", {},
    element("a", { href: `#${made.id}` }, made.querySelector("h2")?.textContent ?? "")));
  page.replaceChildren(head(difference),
    element("nav", { "aria-label": "Sections" }, element("ul", {}, ...links)), ...sections);
}
