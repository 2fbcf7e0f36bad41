// Drawing of one lane of the course: scales, ticks, lines, steps, bars, names at the lines' ends.

import { drawing } from "./element";
import { utcText } from "./words";

export const left = 56;

// Room for the names at the lines' ends; a narrow drawing does without them.
export function rightOf(width: number): number {
  return width < 560 ? 20 : 72;
}

export interface Plot {
  svg: SVGSVGElement;
  // Everything that the frame clips goes here.
  body: SVGGElement;
  width: number;
  height: number;
  from: number;
  to: number;
  x: (offset: number) => number;
}

let clips = 0;

export function plot(width: number, height: number, from: number, to: number): Plot {
  const right = rightOf(width);
  const inner = Math.max(width - left - right, 50);
  const clip = `clip-${++clips}`;
  const body = drawing("g", { "clip-path": `url(#${clip})` });
  const svg = drawing("svg", { viewBox: `0 0 ${left + inner + right} ${height}`, "aria-hidden": "true" },
    drawing("clipPath", { id: clip }, drawing("rect", { x: left, y: 0, width: inner, height })),
    drawing("rect", { class: "field", x: left, y: 0, width: inner, height }), body);
  const x = (offset: number) => left + (offset - from) / (to - from) * inner;
  return { svg, body, width: left + inner + right, height, from, to, x };
}

const timeSteps = [1, 5, 10, 30, 60, 300, 600, 1800, 3600, 10800, 21600, 43200, 86400, 172800, 432000, 864000];

export interface Tick {
  offset: number;
  text: string;
  strong: boolean;
}

// Ticks on round UTC times, at least `apart` pixels from one another.
export function timeTicks(begin: number, from: number, to: number, pixels: number, apart = 78): Tick[] {
  const wanted = (to - from) * apart / Math.max(pixels, 1);
  const step = timeSteps.find((size) => size >= wanted) ?? timeSteps[timeSteps.length - 1];
  const ticks: Tick[] = [];
  const start = begin / 1000;
  for (let at = Math.ceil((start + from) / step) * step; at <= start + to; at += step) {
    const text = utcText(at * 1000, true);
    const midnight = text.slice(11, 19) === "00:00:00";
    ticks.push({
      offset: at - start,
      text: midnight ? text.slice(5, 10) : step < 60 ? text.slice(11, 19) : text.slice(11, 16),
      strong: midnight,
    });
  }
  return ticks;
}

// Round values between two bounds, about `count` of them.
export function valueTicks(low: number, high: number, count: number): number[] {
  const rough = (high - low) / Math.max(count, 1);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((size) => size * power).find((size) => size >= rough) ?? 10 * power;
  const ticks: number[] = [];
  for (let i = Math.ceil(low / step); i * step <= high + step * 1e-9; ++i) ticks.push(i * step);
  return ticks;
}

export type Points = readonly (readonly number[])[];

// Index of the last point at or before an instant; -1 when there is none.
export function lastBefore(points: Points, offset: number): number {
  let low = 0;
  let high = points.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (points[middle][0] <= offset) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

export function valueAt(points: Points, column: number, offset: number, steps: boolean): number | null {
  const index = lastBefore(points, offset);
  if (index < 0) return null;
  const here = points[index];
  const next = points[index + 1];
  if (steps || !next || next[0] === here[0]) return here[column];
  return here[column] + (next[column] - here[column]) * (offset - here[0]) / (next[0] - here[0]);
}

// Where there are many points to a pixel, each column of pixels keeps its first, least, greatest and last.
function thinned(points: Points, column: number, shown: Plot): number[][] {
  const begin = Math.max(lastBefore(points, shown.from), 0);
  const end = Math.min(lastBefore(points, shown.to) + 2, points.length);
  const out: number[][] = [];
  if (end - begin < 4 * shown.width) {
    for (let i = begin; i < end; ++i) out.push([points[i][0], points[i][column]]);
    return out;
  }
  for (let i = begin; i < end;) {
    const pixel = Math.floor(shown.x(points[i][0]));
    let least = i;
    let greatest = i;
    let last = i;
    const first = i;
    for (; i < end && Math.floor(shown.x(points[i][0])) === pixel; last = i++) {
      if (points[i][column] < points[least][column]) least = i;
      if (points[i][column] > points[greatest][column]) greatest = i;
    }
    for (const k of [...new Set([first, least, greatest, last])].sort((a, b) => a - b)) {
      out.push([points[k][0], points[k][column]]);
    }
  }
  return out;
}

export function line(points: Points, column: number, shown: Plot, y: (value: number) => number,
                     steps: boolean): string {
  let path = "";
  let before = 0;
  for (const [offset, value] of thinned(points, column, shown)) {
    const x = shown.x(offset).toFixed(1);
    const level = y(value).toFixed(1);
    if (path === "") path = `M${x} ${level}`;
    else path += steps && Number(level) !== before ? `H${x}V${level}` : `L${x} ${level}`;
    before = Number(level);
  }
  return path;
}

// The area between two columns.
export function area(points: Points, low: number, high: number, shown: Plot, y: (value: number) => number): string {
  const over = line(points, high, shown, y, false);
  if (over === "") return "";
  const edge = thinned(points, low, shown).reverse();
  return over + edge.map(([offset, value]) => `L${shown.x(offset).toFixed(1)} ${y(value).toFixed(1)}`).join("") + "Z";
}

export function bar(shown: Plot, from: number, to: number, y: number, height: number, kind: string): SVGRectElement {
  const x = shown.x(Math.max(from, shown.from));
  return drawing("rect", {
    class: kind, x: x.toFixed(1), y, height, width: Math.max(shown.x(Math.min(to, shown.to)) - x, 1).toFixed(1),
  });
}

export interface EndLabel {
  text: string;
  y: number;
}

const labelHeight = 11;

// Writes names beside the lines' ends, pushed apart where the ends are close.
export function endLabels(shown: Plot, labels: EndLabel[]): void {
  const right = rightOf(shown.width);
  if (right < 40) return;
  const sorted = [...labels].sort((a, b) => a.y - b.y);
  const lowest = shown.height - 3;
  let above = -Infinity;
  const places = sorted.map(({ y }) => (above = Math.max(y + 3.5, above + labelHeight, labelHeight - 2)));
  let below = lowest + labelHeight;
  for (let i = places.length - 1; i >= 0; --i) below = places[i] = Math.min(places[i], below - labelHeight);
  sorted.forEach(({ text }, index) => {
    const at = { x: shown.width - right + 5, y: places[index].toFixed(1) };
    shown.svg.append(drawing("text", { class: "end-label", ...at }, text));
  });
}
