// The numbered command list, with search. What is searched is what is shown.

import { cell, element, section, table } from "./element";
import type { Command, CommandClass, Plan } from "./plan";
import type { View } from "./view";
import { call, lengthOfTime, place, plural } from "./words";

export const classSigns: Record<CommandClass, string> = {
  routine: "", caution: "\u25b3", hazardous: "\u25c6", irreversible: "\u25a0",
};

const classes: CommandClass[] = ["routine", "caution", "hazardous", "irreversible"];

// So many rows at once; the rest follow on demand, and before printing.
const rowsAtOnce = 1000;

function row(command: Command, plan: Plan, view: View): HTMLTableRowElement {
  const when = element("button", { type: "button", class: "link", title: "Show this time in the course" },
    command.time);
  when.addEventListener("click", () => view.show(command.offset));
  const what = cell("text", element("span", { class: "call" },
    element("b", {}, `${command.unit}.${command.name}`),
    ...command.arguments.map((argument) =>
      element("span", { title: `raw ${argument.raw}` }, ` ${argument.name}=${argument.value}`))));
  if (command.notes.length > 0) what.append(element("div", { class: "aside" }, command.notes.join(" \u00b7 ")));
  const window = command.window === null ? null : plan.windows[command.window - 1];
  const carried = window ? cell("name", window.name) : cell("text", element("b", {}, "\u2715 no window"));
  if (command.aboard !== null) carried.append(element("div", { class: "aside" }, `aboard ${command.aboard}`));
  const from = cell("name", place(command.source));
  const calls = command.calls.filter((at) => at !== null).map(place);
  if (calls.length > 0) from.append(element("div", { class: "aside" }, `called from ${calls.join(", ")}`));
  const sign = classSigns[command.class] ?? "";
  return element("tr", { id: `command-${command.number}`, tabindex: -1 },
    cell("number", String(command.number)),
    cell("name", when, element("div", { class: "aside" }, `T+${lengthOfTime(command.offset)}`)),
    what,
    cell("number", String(command.command_number)),
    cell("text", element("span", { class: `class ${command.class}` }, sign === "" ? "" : `${sign} `, command.class)),
    carried,
    cell("text", command.block, command.by === "bring" ? element("div", { class: "aside" }, "by bring") : null),
    from);
}

function words(command: Command, plan: Plan): string {
  const window = command.window === null ? "no window" : plan.windows[command.window - 1]?.name ?? "";
  return [command.number, command.time, call(command), command.command_number, command.class, window, command.block,
    place(command.source), ...command.notes].join(" ").toLowerCase();
}

export function commands(plan: Plan, view: View): HTMLElement {
  const searched = plan.commands.map((command) => words(command, plan));
  const made = new Map<number, HTMLTableRowElement>();
  const search = element("input", { type: "search", id: "search", autocomplete: "off", spellcheck: "false" });
  const kind = element("select", { id: "class-filter" }, element("option", { value: "" }, "every class"),
    ...classes.map((word) => element("option", { value: word },
      `${word} (${plan.commands.filter((command) => command.class === word).length})`)));
  const count = element("output", { for: "search class-filter", "aria-live": "polite" });
  const more = element("button", { type: "button" });
  const list = table("Command list",
    [{ title: "No.", kind: "number" }, { title: "Executes (UTC)", kind: "name" }, { title: "Command" },
      { title: "Number", kind: "number" }, { title: "Class" }, { title: "Window", kind: "name" },
      { title: "Block" }, { title: "Source", kind: "name" }], []);
  const body = list.querySelector("tbody")!;
  let shown = rowsAtOnce;

  const draw = () => {
    const wanted = search.value.toLowerCase().split(/\s+/).filter((word) => word !== "");
    const found: number[] = [];
    plan.commands.forEach((command, index) => {
      if (kind.value !== "" && command.class !== kind.value) return;
      if (wanted.every((word) => searched[index].includes(word))) found.push(index);
    });
    body.replaceChildren(...found.slice(0, shown).map((index) => {
      let ready = made.get(index);
      if (!ready) made.set(index, ready = row(plan.commands[index], plan, view));
      return ready;
    }));
    count.textContent = found.length === plan.commands.length
      ? plural(found.length, "command") : `${found.length} of ${plural(plan.commands.length, "command")}`;
    more.hidden = found.length <= shown;
    more.textContent = `Show the next ${Math.min(rowsAtOnce, found.length - shown)}`;
  };
  const restart = () => {
    shown = rowsAtOnce;
    draw();
  };
  search.addEventListener("input", restart);
  kind.addEventListener("change", restart);
  more.addEventListener("click", () => {
    shown += rowsAtOnce;
    draw();
  });
  addEventListener("beforeprint", () => {
    shown = Infinity;
    draw();
  });
  // A link to a command leads there even when the search hides it.
  const lead = () => {
    const match = /^#command-(\d+)$/.exec(location.hash);
    if (!match) return;
    const index = plan.commands.findIndex((command) => command.number === Number(match[1]));
    if (index < 0) return;
    if (!made.get(index)?.isConnected) {
      search.value = "";
      kind.value = "";
      shown = Math.max(shown, index + 1);
      draw();
    }
    const target = made.get(index)!;
    target.scrollIntoView({ block: "center" });
    target.focus({ preventScroll: true });
  };
  addEventListener("hashchange", lead);
  queueMicrotask(lead);
  draw();
  return section("commands", "Commands",
    element("div", { class: "tools" },
      element("label", { for: "search" }, "Search"), search,
      element("label", { for: "class-filter" }, "Class"), kind, count),
    list, more);
}
