// The table of verdicts: what does not hold first, then by how little is left.

import { cell, element, heading, section, table } from "./element";
import type { Check, Plan, Verdict } from "./plan";
import type { View } from "./view";
import { commandLink, degrees, lengthOfTime, number, place, plural, readable, shortLengthOfTime, verdictMark } from "./words";

function quantity(value: number | null, unit: string): string {
  if (value === null) return "";
  if (unit === "s") return shortLengthOfTime(value);
  return unit === "" ? number(value) : `${number(value)} ${unit}`;
}

function withSign(value: number | null, unit: string): string {
  const text = quantity(value, unit);
  return value !== null && value > 0 ? `+${text}` : text;
}

// Of heat, value and limit are readings.
function reading(value: number | null, unit: string): string {
  return value !== null && unit === "K" ? degrees(value) : quantity(value, unit);
}

function row(check: Check, plan: Plan, view: View): HTMLTableRowElement {
  const measured = check.margin !== null;
  const dated = measured || check.verdict !== "holds";
  let when: HTMLElement | string = "";
  if (dated) {
    const button = element("button", { type: "button", class: "link", title: "Show this time in the course" },
      readable(check.time));
    button.addEventListener("click", () => view.show(check.offset));
    when = button;
  }
  const subject = cell("text", check.subject);
  if (check.detail !== "") subject.append(element("div", { class: "aside" }, check.detail));
  if (check.cause.length > 0) {
    const cause = element("div", { class: "aside" }, check.cause.length === 1 ? "cause: command " : "cause: commands ");
    check.cause.forEach((value, index) => cause.append(index > 0 ? ", " : "", commandLink(value)));
    const sources = new Set(check.cause.flatMap((value) => {
      const source = plan.commands[value - 1]?.source;
      return source ? [place(source)] : [];
    }));
    if (sources.size > 0) cause.append(` (written in ${[...sources].join(", ")})`);
    subject.append(cause);
  }
  if (check.verdict === "fails" && check.interval[1] > check.interval[0]) {
    subject.append(element("div", { class: "aside" },
      `from the first to the last breach ${lengthOfTime(check.interval[1] - check.interval[0])}`));
  }
  if (check.waiver !== null) {
    subject.append(element("div", { class: "aside" }, `accepted by waiver ${check.waiver}`));
  }
  return element("tr", { class: `row-${check.verdict}` },
    cell("text", verdictMark(check.verdict)), heading("name", check.code), subject,
    cell("number", withSign(check.margin, check.unit)),
    cell("number", check.guaranteed ? withSign(check.guaranteed.margin, check.unit) : ""),
    cell("number", reading(check.value, check.unit)),
    cell("number", measured ? reading(check.limit, check.unit) : ""),
    cell("name", when),
    cell("text", element("span", { class: "aside" }, check.assurance)),
    cell("name", place(check.limit_source)));
}

const rank: Record<Verdict, number> = { fails: 0, unproven: 1, holds: 2 };

export function verdicts(plan: Plan, view: View): HTMLElement {
  const order = plan.checks.map((check, index) => ({ check, index }));
  order.sort((a, b) => rank[a.check.verdict] - rank[b.check.verdict] || a.index - b.index);
  const counts = (["fails", "unproven", "holds"] as Verdict[]).map((word) => {
    const count = plan.checks.filter((check) => check.verdict === word).length;
    return count > 0 || word === "holds" ? element("span", { class: "count" }, `${count} `, verdictMark(word)) : null;
  });
  return section("verdicts", "Verdicts",
    element("p", {}, `${plural(plan.checks.length, "check")}: `, ...counts),
    table("Verdicts of all checks",
      [{ title: "Verdict" }, { title: "Check", kind: "name" }, { title: "Of" }, { title: "Margin", kind: "number" },
        { title: "Guaranteed", kind: "number" },
        { title: "Found", kind: "number" }, { title: "Limit", kind: "number" },
        { title: "When (UTC)", kind: "name" }, { title: "Assurance" }, { title: "Limit is set in", kind: "name" }],
      order.map(({ check }) => row(check, plan, view))),
    element("p", { class: "aside" },
      "Margin: for nominal values. Guaranteed: the least margin for any values inside the stated bounds. Assurance "
      + "guaranteed: the verdict is for every value inside the bounds; nominal: for the nominal values only, read its margin "
      + "with care. Found is the nominal value where the margin is least."));
}

// What the load's author accepts; null when there is nothing.
export function waivers(plan: Plan): HTMLElement | null {
  if (plan.waivers.length === 0) return null;
  const rows = plan.waivers.map((waiver, index) => element("tr", {},
    cell("number", String(index + 1)), heading("name", waiver.check), cell("text", waiver.subject),
    cell("text", waiver.accepts ?? ""), cell("name", readable(waiver.from)), cell("name", readable(waiver.to)),
    cell("text", waiver.because), cell("text", waiver.reference), cell("name", readable(waiver.until)),
    cell("text", waiver.applies ? "yes" : "no"), cell("name", place(waiver.source))));
  return section("waivers", "Waivers",
    table("Failures that the load's author accepts",
      [{ title: "No.", kind: "number" }, { title: "Check", kind: "name" }, { title: "Of" }, { title: "Accepts" },
        { title: "From (UTC)", kind: "name" }, { title: "To (UTC)", kind: "name" }, { title: "Reason" },
        { title: "Reference" }, { title: "Expires (UTC)", kind: "name" }, { title: "Applies" },
        { title: "Source", kind: "name" }], rows));
}
