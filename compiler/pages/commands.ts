// The numbered command list, with search. What is searched is what is shown.

import { cell, Child, element, heading, section, table } from "./element";
import type { Command, CommandClass, Plan } from "./plan";
import type { View } from "./view";
import { call, lengthOfTime, octets, place, plural, readable } from "./words";

export const classSigns: Record<CommandClass, string> = {
  routine: "", caution: "\u25b3", hazardous: "\u25c6", irreversible: "\u25a0",
};

const classes: CommandClass[] = ["routine", "caution", "hazardous", "irreversible"];

// A list up to this long is shown whole; of a longer one some at a time, for laying out a row costs more than finding it.
// The rest follow on demand, and before printing.
const shownWhole = 1000;
const shownOfMore = 250;

const columns = [
  { title: "No.", kind: "number" as const }, { title: "Executes (UTC)", kind: "name" as const }, { title: "Command" },
  { title: "Number", kind: "number" as const }, { title: "Class" }, { title: "Window", kind: "name" as const },
  { title: "Block" }, { title: "Source", kind: "name" as const },
];

function aside(text: string): HTMLElement {
  return element("div", { class: "aside" }, text);
}

function row(command: Command, plan: Plan, view: View): HTMLTableRowElement {
  return element("tr", { id: `command-${command.number}`, tabindex: -1 },
    heading("number", String(command.number)),
    cell("name", ...when(command, view)),
    cell("text", ...what(command)),
    cell("number", String(command.command_number)),
    cell("text", classWord(command.class)),
    carrier(command, plan),
    cell("text", command.block, command.by === "bring" ? aside("by bring") : null),
    cell("name", ...origin(command)));
}

function when(command: Command, view: View): Child[] {
  const show = element("button", { type: "button", class: "link", title: "Show this time in the course" },
    readable(command.time));
  show.addEventListener("click", () => view.show(command.offset));
  return [show, aside(`T+${lengthOfTime(command.offset)}`)];
}

function what(command: Command): Child[] {
  const words = element("span", { class: "call" },
    command.immediate ? "now " : null, element("b", {}, `${command.unit}.${command.name}`),
    ...command.arguments.map((argument) => ` ${argument.name}=${argument.value}`));
  const expected = command.expects.map((one) => `expect ${one.condition} by ${readable(one.until)}`);
  return [words, command.notes.length > 0 ? aside(command.notes.join(" \u00b7 ")) : null,
    expected.length > 0 ? aside(expected.join(" \u00b7 ")) : null, sent(command)];
}

function classWord(kind: CommandClass): HTMLElement {
  const sign = classSigns[kind] ?? "";
  return element("span", { class: `class ${kind}` }, sign === "" ? "" : `${sign}\u00a0`, kind);
}

function carrier(command: Command, plan: Plan): HTMLTableCellElement {
  const window = command.window === null ? null : plan.windows[command.window - 1];
  const carried = window ? cell("name", window.name) : cell("text", element("b", {}, "\u2715 no window"));
  if (command.immediate) carried.append(aside("runs when received"));
  else if (command.aboard !== null) carried.append(aside(`aboard ${readable(command.aboard)}`));
  return carried;
}

function origin(command: Command): Child[] {
  const calls = command.calls.filter((at) => at !== null).map(place);
  return [place(command.source), calls.length > 0 ? aside(`called from ${calls.join(", ")}`) : null];
}

// What goes over the link for one command; made when it is opened, for a long list would be mostly bytes.
function sent(command: Command): HTMLElement {
  const details = element("details", { class: "sent" }, element("summary", {}, "what is sent"));
  details.addEventListener("toggle", () => {
    if (details.open && details.childElementCount === 1) details.append(sentFacts(command));
  });
  return details;
}

function sentFacts(command: Command): HTMLElement {
  const raw = command.arguments.map((argument) => `${argument.name} ${argument.raw}`).join(", ");
  const facts: [string, string][] = [
    ["exact time", command.time],
    ["raw values", raw === "" ? "none" : raw],
    ["clock ticks", command.ticks],
    ["sequence count", String(command.sequence_count)],
    ["table entry", command.immediate ? "none" : octets(command.entry_bytes)],
    ["packet", command.packet.replace(/(.{4})(?=.)/g, "$1 ")],
  ];
  return element("dl", {}, ...facts.flatMap(([name, value]) => [element("dt", {}, name), element("dd", {}, value)]));
}

function words(command: Command, plan: Plan): string {
  const window = command.window === null ? "no window" : plan.windows[command.window - 1]?.name ?? "";
  return [command.number, command.time, call(command), command.command_number, command.class, command.by, window,
    command.block, place(command.source), ...command.notes].join(" ").toLowerCase();
}

class CommandList {
  private readonly searched: string[];
  private readonly made = new Map<number, HTMLTableRowElement>();
  private readonly search = element("input",
    { type: "search", id: "search", autocomplete: "off", spellcheck: "false" });
  private readonly kind: HTMLSelectElement;
  private readonly count = element("output", { for: "search class-filter", "aria-live": "polite" });
  private readonly before = element("button", { type: "button" });
  private readonly after = element("button", { type: "button" });
  private readonly list = table("Command list", columns, []);
  private readonly body = this.list.querySelector("tbody")!;
  private found: number[] = [];
  private from = 0;
  private to = 0;
  private readonly rowsAtOnce: number;

  constructor(private readonly plan: Plan, private readonly view: View) {
    this.rowsAtOnce = plan.commands.length > shownWhole ? shownOfMore : shownWhole;
    this.searched = plan.commands.map((command) => words(command, plan));
    this.kind = classFilter(plan);
    this.search.addEventListener("input", () => this.searchAgain());
    this.kind.addEventListener("change", () => this.searchAgain());
    this.before.addEventListener("click", () => this.show(this.from - this.rowsAtOnce, this.to));
    this.after.addEventListener("click", () => this.show(this.from, this.to + this.rowsAtOnce));
    addEventListener("beforeprint", () => this.forgetSearch(0, Infinity));
    addEventListener("hashchange", () => this.follow());
    queueMicrotask(() => this.follow());
    this.searchAgain();
  }

  section(): HTMLElement {
    return section("commands", "Commands",
      element("div", { class: "tools", role: "search" },
        element("label", { for: "search" }, "Search"), this.search,
        element("label", { for: "class-filter" }, "Class"), this.kind, this.count),
      this.before, this.list, this.after);
  }

  private searchAgain(): void {
    const wanted = this.search.value.toLowerCase().split(/\s+/).filter((word) => word !== "");
    const kind = this.kind.value;
    const fits = (command: Command, index: number) => (kind === "" || command.class === kind)
      && wanted.every((word) => this.searched[index].includes(word));
    this.found = this.plan.commands.flatMap((command, index) => (fits(command, index) ? [index] : []));
    this.show(0, this.rowsAtOnce);
  }

  // Shows what was found from one place in it up to another.
  private show(from: number, to: number): void {
    this.from = Math.max(from, 0);
    this.to = Math.min(to, this.found.length);
    this.body.replaceChildren(...this.found.slice(this.from, this.to).map((index) => this.row(index)));
    const total = plural(this.plan.commands.length, "command");
    const all = this.found.length === this.plan.commands.length;
    const part = this.from > 0 || this.to < this.found.length ? `, shown: ${this.from + 1} to ${this.to}` : "";
    this.count.textContent = (all ? total : `${this.found.length} of ${total}`) + part;
    this.before.hidden = this.from === 0;
    this.before.textContent = `Show the ${Math.min(this.rowsAtOnce, this.from)} before`;
    this.after.hidden = this.to === this.found.length;
    this.after.textContent = `Show the next ${Math.min(this.rowsAtOnce, this.found.length - this.to)}`;
  }

  // Nothing is searched for any more. Paper, too, always holds the whole list.
  private forgetSearch(from: number, to: number): void {
    this.search.value = "";
    this.kind.value = "";
    this.searchAgain();
    this.show(from, to);
  }

  private row(index: number): HTMLTableRowElement {
    let ready = this.made.get(index);
    if (!ready) this.made.set(index, ready = row(this.plan.commands[index], this.plan, this.view));
    return ready;
  }

  // A link to a command leads there even when the search hides it, or it is far down in a long list.
  private follow(): void {
    const match = /^#command-(\d+)$/.exec(location.hash);
    const index = match ? this.plan.commands.findIndex((command) => command.number === Number(match[1])) : -1;
    if (index < 0) return;
    const target = this.row(index);
    if (!target.isConnected) {
      const from = index - (index % this.rowsAtOnce);
      this.forgetSearch(from, from + this.rowsAtOnce);
    }
    target.scrollIntoView({ block: "center" });
    target.focus({ preventScroll: true });
  }
}

function classFilter(plan: Plan): HTMLSelectElement {
  const amount = (kind: CommandClass) => plan.commands.filter((command) => command.class === kind).length;
  return element("select", { id: "class-filter" }, element("option", { value: "" }, "every class"),
    ...classes.map((kind) => element("option", { value: kind }, `${kind} (${amount(kind)})`)));
}

export function commands(plan: Plan, view: View): HTMLElement {
  return new CommandList(plan, view).section();
}
