// The course of the load: every lane over one time axis, with one cursor through all of them.

import { MarkAt, marksOf } from "./bands";
import { nights } from "./curves";
import { element, section } from "./element";
import type { Group } from "./lane";
import { groups } from "./lanes";
import type { Plan } from "./plan";
import { Pointer } from "./pointer";
import { Backdrop, Row } from "./row";
import type { View } from "./view";
import { clock, lengthOfTime, utcText } from "./words";

// Below this much time in sight the cursor's seconds are worth reading.
const fineRange = 6 * 3600;

class Course {
  private readonly rows: Row[] = [];
  private readonly backdrop: Backdrop;
  private readonly marks: MarkAt[];
  private readonly body = element("div", { class: "lanes" });
  private readonly time = element("output", { class: "cursor-time" });
  private readonly slider = element("input", { type: "range", id: "cursor", "aria-label": "Time of the cursor" });
  private waiting = false;
  private printing = false;

  constructor(private readonly plan: Plan, private readonly view: View) {
    const clockOffset = (utc: string) => (clock(utc) - view.begin) / 1000;
    this.marks = marksOf(plan, clockOffset);
    this.backdrop = { nights: nights(plan.sun.points), marks: this.marks };
    for (const group of groups(plan, this.marks, clockOffset)) this.add(group);
    this.body.append(this.row(new Row(null)));
    new Pointer(this.body, view, (clientX, clamp) => this.rows[0].offsetAt(clientX, view, clamp));
    this.listen();
  }

  section(): HTMLElement {
    const made = section("course", "Course",
      element("p", { class: "aside screen-only" },
        "Move over a lane to read its values; click to hold the cursor, drag to look closer. The slider does the same "
        + "by keyboard. Shaded: Sun below the level horizon. Dotted through all lanes: marks."),
      this.tools(), this.body);
    this.view.onShow(() => {
      made.scrollIntoView({ block: "start" });
      this.slider.focus({ preventScroll: true });
    });
    return made;
  }

  private add(group: Group): void {
    this.body.append(element("h3", {}, group.title), ...group.lanes.map((lane) => this.row(new Row(lane))));
    if (group.aside !== "") this.body.append(element("p", { class: "aside" }, group.aside));
  }

  private row(row: Row): HTMLElement {
    this.rows.push(row);
    return row.element;
  }

  private tools(): HTMLElement {
    const view = this.view;
    return element("div", { class: "course-tools" },
      element("div", { class: "tools" },
        button("\u2212", "Show more time", () => view.zoom(2)), button("+", "Show less time", () => view.zoom(0.5)),
        button("\u2190", "Earlier", () => view.pan(-0.5)), button("\u2192", "Later", () => view.pan(0.5)),
        button("Span", "Show the load's span", () => view.showSpan()),
        view.first < 0 ? button("Uplink and span", "Show the span and every window before it that carries commands",
          () => view.setRange(view.first, view.last)) : null,
        button("\u2039 command", "Cursor to the command before", () => this.step(-1)),
        button("command \u203a", "Cursor to the next command", () => this.step(1)),
        button("Free cursor", "Let go of the cursor", () => view.setCursor(null, false)), this.slider, this.time),
      this.row(new Row(null)));
  }

  // From one command's time to the next one's; from the load's ends when there is no cursor yet.
  private step(direction: 1 | -1): void {
    const from = this.view.cursor ?? (direction > 0 ? -Infinity : Infinity);
    const offsets = this.plan.commands.map((command) => command.offset);
    const ahead = offsets.filter((offset) => (offset - from) * direction > 1e-3);
    if (ahead.length > 0) this.view.reach(direction > 0 ? Math.min(...ahead) : Math.max(...ahead));
  }

  private listen(): void {
    // Only the window's own size counts: on paper the drawings shrink as they are.
    addEventListener("beforeprint", () => (this.printing = true));
    addEventListener("afterprint", () => (this.printing = false));
    addEventListener("resize", () => {
      if (!this.printing) this.redrawSoon();
    });
    this.view.onRange(() => this.redrawSoon());
    this.view.onCursor(() => this.place());
    this.slider.addEventListener("input", () => this.view.setCursor(Number(this.slider.value), true));
  }

  private redrawSoon(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.redraw();
    });
  }

  private redraw(): void {
    const { from, to } = this.view;
    this.slider.min = String(from);
    this.slider.max = String(to);
    this.slider.step = String((to - from) / 500);
    for (const row of this.rows) row.draw(this.view, this.backdrop);
    this.place();
  }

  private place(): void {
    const { cursor, from, to } = this.view;
    for (const row of this.rows) row.place(this.view);
    const text = cursor === null ? this.rangeText() : this.cursorText(cursor);
    this.time.textContent = text;
    this.slider.value = String(cursor ?? (from + to) / 2);
    this.slider.setAttribute("aria-valuetext", cursor === null ? "no cursor" : text);
  }

  private rangeText(): string {
    const { begin, from, to } = this.view;
    return `${utcText(begin + from * 1000, false)} to ${utcText(begin + to * 1000, false)}`;
  }

  private cursorText(at: number): string {
    const fine = this.view.to - this.view.from < fineRange;
    const sinceBegin = Math.abs(fine ? Math.round(at) : Math.round(at / 60) * 60);
    return `${utcText(this.view.begin + at * 1000, fine)}  T${at < 0 ? "\u2212" : "+"}${lengthOfTime(sinceBegin)}`
      + (this.view.pinned ? "  (held)" : "");
  }
}

function button(text: string, title: string, act: () => void): HTMLButtonElement {
  const made = element("button", { type: "button", title, "aria-label": title }, text);
  made.addEventListener("click", act);
  return made;
}

export function course(plan: Plan, view: View): HTMLElement {
  return new Course(plan, view).section();
}
