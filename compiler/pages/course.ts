// The course of the load: every lane over one time axis, with one cursor through all of them.

import { bar, left, Plot, plot, right, timeTicks } from "./chart";
import { drawing, element, section } from "./element";
import { groups, Key, Lane, nights, timeAxis } from "./lanes";
import type { Plan } from "./plan";
import type { View } from "./view";
import { clock, lengthOfTime, utcText, verdictMark } from "./words";

interface Row {
  lane: Lane | null;  // null: the time axis
  frame: HTMLElement;
  shown: Plot | null;
  cursor: SVGLineElement;
  readouts: { key: Key; output: HTMLElement }[];
}

function sample(kind: string): SVGSVGElement {
  return drawing("svg", { class: "sample", width: 22, height: 10, viewBox: "0 0 22 10", "aria-hidden": "true" },
    drawing("path", { class: kind, d: "M1 5H21" }));
}

function laneHead(lane: Lane): { head: HTMLElement; readouts: Row["readouts"] } {
  const readouts = lane.keys.map((key) => ({ key, output: element("span", { class: "readout" }) }));
  const title = element("div", { class: "lane-title" }, lane.title);
  if (lane.verdict !== null) title.append(" ", verdictMark(lane.verdict));
  if (lane.compact) {
    title.append(" ", ...readouts.map(({ output }) => output));
    return { head: element("div", { class: "lane-head" }, title), readouts };
  }
  const keys = readouts.map(({ key, output }) =>
    element("div", { class: "key" }, key.sample === "" ? null : sample(key.sample),
      element("span", { class: "key-name" }, key.name), output));
  return { head: element("div", { class: "lane-head" }, title, ...keys), readouts };
}

function button(text: string, title: string, act: () => void): HTMLButtonElement {
  const made = element("button", { type: "button", title, "aria-label": title }, text);
  made.addEventListener("click", act);
  return made;
}

export function course(plan: Plan, view: View): HTMLElement {
  const dark = nights(plan.sun.points);
  const clockOffset = (utc: string) => (clock(utc) - view.begin) / 1000;
  const rows: Row[] = [];

  const axisRow = (): HTMLElement => {
    const frame = element("div", { class: "lane-plot" });
    rows.push({ lane: null, frame, shown: null, cursor: drawing("line", { class: "cursor" }), readouts: [] });
    return element("div", { class: "lane axis-lane" }, element("div", { class: "lane-head aside" }, "UTC"), frame);
  };
  const laneRow = (lane: Lane): HTMLElement => {
    const { head, readouts } = laneHead(lane);
    const frame = element("div", { class: "lane-plot", role: "img", "aria-label": `${lane.title}: ${lane.summary}` });
    rows.push({ lane, frame, shown: null, cursor: drawing("line", { class: "cursor" }), readouts });
    return element("div", { class: lane.compact ? "lane compact" : "lane" }, head, frame);
  };

  const draw = (row: Row): void => {
    const width = row.frame.clientWidth;
    if (width === 0) return;
    const shown = plot(width, row.lane ? row.lane.height : 22, view.from, view.to);
    if (row.lane) {
      for (const [from, to] of dark) {
        if (to > shown.from && from < shown.to) shown.body.append(bar(shown, from, to, 0, shown.height, "night"));
      }
      for (const tick of timeTicks(view.begin, shown.from, shown.to, shown.width)) {
        const x = shown.x(tick.offset).toFixed(1);
        shown.body.append(drawing("line", { class: "grid", x1: x, x2: x, y1: 0, y2: shown.height }));
      }
      if (view.first < 0) {
        const x = shown.x(0).toFixed(1);
        shown.body.append(drawing("line", { class: "begin", x1: x, x2: x, y1: 0, y2: shown.height }));
      }
      row.lane.draw(shown);
    } else {
      timeAxis(shown, view);
    }
    shown.svg.append(row.cursor);
    row.shown = shown;
    row.frame.replaceChildren(shown.svg);
  };

  const time = element("output", { class: "cursor-time" });
  const slider = element("input", { type: "range", id: "cursor", "aria-label": "Time of the cursor" });
  const place = (): void => {
    const at = view.cursor;
    for (const row of rows) {
      for (const { key, output } of row.readouts) output.textContent = key.at(at);
      const inside = at !== null && row.shown !== null && at >= view.from && at <= view.to;
      row.cursor.classList.toggle("off", !inside);
      if (inside && row.shown) {
        const x = row.shown.x(at).toFixed(1);
        for (const [name, value] of [["x1", x], ["x2", x], ["y1", "0"], ["y2", String(row.shown.height)]]) {
          row.cursor.setAttribute(name, value);
        }
      }
    }
    const fine = view.to - view.from < 6 * 3600;
    const text = at === null
      ? `${utcText(view.begin + view.from * 1000, false)} to ${utcText(view.begin + view.to * 1000, false)}`
      : `${utcText(view.begin + at * 1000, fine)}  T${at < 0 ? "\u2212" : "+"}${
        lengthOfTime(Math.abs(fine ? Math.round(at) : Math.round(at / 60) * 60))}${view.pinned ? "  (held)" : ""}`;
    time.textContent = text;
    slider.value = String(at ?? (view.from + view.to) / 2);
    slider.setAttribute("aria-valuetext", at === null ? "no cursor" : text);
  };
  const redraw = (): void => {
    slider.min = String(view.from);
    slider.max = String(view.to);
    slider.step = String((view.to - view.from) / 500);
    rows.forEach(draw);
    place();
  };

  slider.addEventListener("input", () => view.setCursor(Number(slider.value), true));
  const tools = element("div", { class: "course-tools" },
    element("div", { class: "tools" },
      button("\u2212", "Show more time", () => view.zoom(2)), button("+", "Show less time", () => view.zoom(0.5)),
      button("\u2190", "Earlier", () => view.pan(-0.5)), button("\u2192", "Later", () => view.pan(0.5)),
      button("Whole load", "Show the whole load", () => view.setRange(view.first, view.last)),
      button("Free cursor", "Let go of the cursor", () => view.setCursor(null, false)), slider, time),
    axisRow());

  const body = element("div", { class: "lanes" });
  for (const group of groups(plan, clockOffset)) {
    body.append(element("h3", {}, group.title), ...group.lanes.map(laneRow));
    if (group.aside !== "") body.append(element("p", { class: "aside" }, group.aside));
  }
  body.append(axisRow());

  followPointer(body, rows, view);
  let waiting = false;
  const later = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      redraw();
    });
  };
  // Only the window's own size counts: on paper the drawings shrink as they are.
  let printing = false;
  addEventListener("beforeprint", () => (printing = true));
  addEventListener("afterprint", () => (printing = false));
  addEventListener("resize", () => {
    if (!printing) later();
  });
  view.onRange(later);
  view.onCursor(place);
  const made = section("course", "Course",
    element("p", { class: "aside screen-only" },
      "Move over a lane to read its values; click to hold the cursor, drag to look closer. The slider does the same "
      + "by keyboard. Shaded: Sun below the level horizon."),
    tools, body);
  view.onShow(() => {
    made.scrollIntoView({ block: "start" });
    slider.focus({ preventScroll: true });
  });
  return made;
}

// Hover moves the cursor, a click holds it, a drag zooms.
function followPointer(body: HTMLElement, rows: Row[], view: View): void {
  let pressed: number | null = null;
  const offsetAt = (event: PointerEvent, clamp: boolean): number | null => {
    const frame = rows.find((row) => row.lane !== null)?.frame.getBoundingClientRect();
    if (!frame) return null;
    const inner = frame.width - left - right;
    const share = (event.clientX - frame.left - left) / inner;
    if (!clamp && (share < 0 || share > 1)) return null;
    return view.from + Math.min(Math.max(share, 0), 1) * (view.to - view.from);
  };
  const selection = element("div", { class: "selection" });
  selection.hidden = true;
  body.append(selection);
  const far = (event: PointerEvent) => pressed !== null && Math.abs(event.clientX - pressed) > 6;
  let begun: number | null = null;
  body.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || event.pointerType === "touch") return;
    begun = offsetAt(event, false);
    if (begun !== null) pressed = event.clientX;
  });
  addEventListener("pointermove", (event) => {
    if (far(event) && pressed !== null) {
      const frame = body.getBoundingClientRect();
      selection.hidden = false;
      selection.style.left = `${Math.min(pressed, event.clientX) - frame.left}px`;
      selection.style.width = `${Math.abs(event.clientX - pressed)}px`;
    }
  });
  body.addEventListener("pointermove", (event) => {
    if (view.pinned || event.pointerType === "touch") return;
    view.setCursor(offsetAt(event, false));
  });
  body.addEventListener("pointerleave", () => {
    if (!view.pinned) view.setCursor(null);
  });
  addEventListener("pointerup", (event) => {
    const start = begun;
    const dragged = far(event);
    pressed = null;
    begun = null;
    selection.hidden = true;
    if (start === null) return;
    const end = offsetAt(event, true);
    if (end === null) return;
    if (dragged) view.setRange(Math.min(start, end), Math.max(start, end));
    else view.setCursor(end, !view.pinned);
  });
  body.addEventListener("click", (event) => {
    // Touch and pen have no hover: a tap places the cursor.
    if ((event as PointerEvent).pointerType === "touch") view.setCursor(offsetAt(event as PointerEvent, false), true);
  });
}
