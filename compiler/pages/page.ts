// The page: reads the plan that stands beside this script and shows it.

import { commands } from "./commands";
import { course } from "./course";
import { element, section } from "./element";
import { endState, energy, inputs, marks, spanText, windows } from "./facts";
import { Plan, readPlan } from "./plan";
import { verdicts, waivers } from "./verdicts";
import { View } from "./view";
import { clock, plural, readable, verdictMark } from "./words";

function head(plan: Plan, seconds: number): HTMLElement {
  const load = plan.load;
  const used = plan.windows.filter((window) => window.batch !== null);
  const first = used.length > 0 && used[0].batch ? readable(used[0].batch.begin) : "nothing is sent";
  const special = plan.commands.filter((command) => command.class === "hazardous" || command.class === "irreversible");
  const fact = (name: string, value: string) => [element("dt", {}, name), element("dd", {}, value)];
  return element("header", {},
    element("p", { class: "kicker" }, `Uplink plan \u00b7 ${load.title}`),
    element("h1", {}, load.name),
    element("p", { class: `overall ${plan.verdict}` }, verdictMark(plan.verdict)),
    element("dl", {},
      ...fact("Station", `${load.station}, address ${load.address}`),
      ...fact("Span", spanText(plan, seconds)),
      ...fact("Commands", plural(plan.commands.length, "command")
        + (special.length > 0 ? `, ${special.length} of them hazardous or irreversible` : "")),
      ...(plan.withdrawn ?? []).length > 0 ? fact("Withdraws", `${plural((plan.withdrawn ?? []).length, "command")} of earlier loads`) : [],
      ...fact("First transmission", first),
      ...fact("Windows used", `${used.length} of ${plan.windows.length}`),
      ...fact("Made by", plan.tool)),
    ...load.notes.map((note) => element("p", { class: "note" }, note)));
}

function cautions(plan: Plan): HTMLElement {
  return section("cautions", "Before anybody acts on this plan",
    element("ul", {}, ...plan.cautions.map((text) => element("li", {}, text))));
}

function show(plan: Plan, page: HTMLElement): void {
  const begin = clock(plan.load.begin);
  const seconds = (clock(plan.load.end) - begin) / 1000;
  // Windows before the load's begin that carry some of it belong to its course.
  const first = Math.min(0, ...plan.windows.filter((window) => window.batch).map((window) => window.from));
  const view = new View(begin, first, seconds);
  const sections = [cautions(plan), verdicts(plan, view), waivers(plan), course(plan, view), commands(plan, view), windows(plan),
    marks(plan), energy(plan), endState(plan), inputs(plan)].filter((made): made is HTMLElement => made !== null);
  const links = sections.map((made) => element("li", {},
    element("a", { href: `#${made.id}` },
      made.id === "cautions" ? "Cautions" : made.querySelector("h2")?.textContent ?? "")));
  document.title = `${plan.load.name} \u00b7 ${plan.load.station} \u00b7 ${plan.verdict}`;
  page.replaceChildren(head(plan, seconds),
    element("nav", { "aria-label": "Sections" }, element("ul", {}, ...links)), ...sections);
  view.showSpan();
}

const page = document.getElementById("page") as HTMLElement;
const read = readPlan(document.getElementById("plan")?.textContent ?? "");
if (typeof read === "string") {
  page.replaceChildren(element("p", { class: "problem", role: "alert" }, read));
} else {
  try {
    show(read, page);
  } catch (error) {
    page.replaceChildren(element("p", { class: "problem", role: "alert" },
      `The plan in this page cannot be shown: ${error instanceof Error ? error.message : String(error)}. `
      + "Read its text list instead."));
  }
}
