// One row of the course on the page: the lane's words at the left, its drawing at the right, and the cursor's line
// through the drawing. The time axis is a row without a lane.

import { bar, left, Plot, plot, rightOf, timeTicks } from "./chart";
import { drawing, element, setAttributes } from "./element";
import type { Key, Lane } from "./lane";
import type { View } from "./view";
import { verdictMark } from "./words";

// What stands behind every lane.
export interface Backdrop {
  nights: [number, number][];
  marks: { offset: number }[];
}

const axisHeight = 22;

export class Row {
  readonly element: HTMLElement;
  private readonly frame: HTMLElement;
  private readonly cursor = drawing("line", { class: "cursor" });
  private readonly readouts: { key: Key; output: HTMLElement }[];
  private shown: Plot | null = null;

  constructor(private readonly lane: Lane | null) {
    this.readouts = (lane?.keys ?? []).map((key) => ({ key, output: element("span", { class: "readout" }) }));
    const label = lane && `${lane.title}: ${lane.summary}`;
    this.frame = element("div", { class: "lane-plot", role: label === null ? null : "img", "aria-label": label });
    const kind = lane === null ? "lane axis-lane" : lane.compact ? "lane compact" : "lane";
    this.element = element("div", { class: kind }, this.head(), this.frame);
  }

  draw(view: View, backdrop: Backdrop): void {
    const width = this.frame.clientWidth;
    if (width === 0) return;
    const shown = plot(width, this.lane?.height ?? axisHeight, view.from, view.to);
    if (this.lane) {
      drawBackdrop(shown, view, backdrop);
      this.lane.draw(shown);
    } else {
      drawTimeAxis(shown, view);
    }
    shown.svg.append(this.cursor);
    this.shown = shown;
    this.frame.replaceChildren(shown.svg);
  }

  // Words and line of the cursor; without one the words tell of the whole load.
  place(view: View): void {
    const at = view.cursor;
    for (const { key, output } of this.readouts) output.textContent = key.at(at);
    const inside = at !== null && this.shown !== null && at >= view.from && at <= view.to;
    this.cursor.classList.toggle("off", !inside);
    if (!inside || this.shown === null) return;
    const x = this.shown.x(at).toFixed(1);
    setAttributes(this.cursor, { x1: x, x2: x, y1: 0, y2: this.shown.height });
  }

  // The instant under a place on the screen; null beside the drawing.
  offsetAt(clientX: number, view: View, clamp: boolean): number | null {
    const frame = this.frame.getBoundingClientRect();
    const share = (clientX - frame.left - left) / (frame.width - left - rightOf(frame.width));
    if (!clamp && (share < 0 || share > 1)) return null;
    return view.from + Math.min(Math.max(share, 0), 1) * (view.to - view.from);
  }

  private head(): HTMLElement {
    if (this.lane === null) return element("div", { class: "lane-head aside" }, "UTC");
    const title = element("div", { class: "lane-title" }, this.lane.title);
    if (this.lane.verdict !== null) title.append(" ", verdictMark(this.lane.verdict));
    if (this.lane.compact) {
      title.append(" ", ...this.readouts.map(({ output }) => output));
      return element("div", { class: "lane-head" }, title);
    }
    const keys = this.readouts.map(({ key, output }) =>
      element("div", { class: "key" }, key.sample === "" ? null : sample(key.sample),
        element("span", { class: "key-name" }, key.name), output));
    return element("div", { class: "lane-head" }, title, ...keys);
  }
}

function sample(kind: string): SVGSVGElement {
  return drawing("svg", { class: "sample", width: 22, height: 10, viewBox: "0 0 22 10", "aria-hidden": "true" },
    drawing("path", { class: kind, d: kind === "band" ? "M1 1H21V9H1Z" : "M1 5H21" }));
}

function drawBackdrop(shown: Plot, view: View, backdrop: Backdrop): void {
  for (const [from, to] of backdrop.nights) {
    if (to > shown.from && from < shown.to) shown.body.append(bar(shown, from, to, 0, shown.height, "night"));
  }
  for (const tick of timeTicks(view.begin, shown.from, shown.to, shown.width)) upright(shown, tick.offset, "grid");
  if (view.first < 0) upright(shown, 0, "begin");
  for (const mark of backdrop.marks) {
    if (mark.offset >= shown.from && mark.offset <= shown.to) upright(shown, mark.offset, "mark");
  }
}

function upright(shown: Plot, offset: number, kind: string): void {
  const x = shown.x(offset).toFixed(1);
  shown.body.append(drawing("line", { class: kind, x1: x, x2: x, y1: 0, y2: shown.height }));
}

function drawTimeAxis(shown: Plot, view: View): void {
  for (const tick of timeTicks(view.begin, shown.from, shown.to, shown.width)) {
    const x = shown.x(tick.offset);
    shown.svg.append(
      drawing("line", { class: "axis", x1: x, x2: x, y1: shown.height - 5, y2: shown.height }),
      drawing("text", { class: tick.strong ? "tick strong" : "tick", x, y: shown.height - 8, "text-anchor": "middle" },
        tick.text));
  }
}
