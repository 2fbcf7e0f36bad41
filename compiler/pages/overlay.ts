// Before and after in one drawing: the old course dashed and thin, the new one whole and bold, on the new plan's time.

import type { DifferencePage } from "./difference";
import { drawing, element, section } from "./element";
import type { Plan } from "./plan";
import { clock, degrees, number, utcText } from "./words";

type Points = [number, number][];

const width = 1000;
const height = 120;
const left = 60;
const bottom = 18;

// At most two points a column: the least and the greatest, so that no peak is lost.
export function thinned(points: Points, columns: number): Points {
  if (points.length <= columns * 2) return points;
  const size = Math.ceil(points.length / columns);
  const out: Points = [];
  for (let i = 0; i < points.length; i += size) {
    const part = points.slice(i, i + size);
    let low = part[0];
    let high = part[0];
    for (const point of part) {
      if (point[1] < low[1]) low = point;
      if (point[1] > high[1]) high = point;
    }
    out.push(...(low[0] <= high[0] ? [low, high] : [high, low]).filter((point, k, both) => k === 0 || point !== both[0]));
  }
  return out;
}

interface Course {
  title: string;
  unit: (value: number) => string;
  old: Points;
  new: Points;
  steps: boolean;
}

function same(a: Points, b: Points): boolean {
  return a.length === b.length && a.every((point, i) => point[0] === b[i][0] && point[1] === b[i][1]);
}

function courses(data: DifferencePage, shift: number): Course[] {
  const moved = (points: Points): Points => points.map(([offset, value]) => [offset + shift, value]);
  const reserve = (plan: Plan): Points => plan.power.points.map((point) => [point[0], point[3]]);
  const entries = (plan: Plan): Points => plan.table.points.map((point) => [point[0], point[1]]);
  const list: Course[] = [
    { title: "Power reserve", unit: (value) => `${number(value)} W`, old: moved(reserve(data.old)), new: reserve(data.new), steps: true },
    { title: "Command table", unit: (value) => number(value), old: moved(entries(data.old)), new: entries(data.new), steps: true },
  ];
  for (const node of data.new.temperatures.nodes) {
    const before = data.old.temperatures.nodes.find((other) => other.name === node.name);
    if (before) list.push({ title: node.name, unit: degrees, old: moved(before.points), new: node.points, steps: false });
  }
  return list.filter((course) => course.new.length > 0 && course.old.length > 0 && !same(course.old, course.new));
}

function lane(course: Course, begin: number, span: [number, number]): HTMLElement {
  const old = thinned(course.old, width);
  const now = thinned(course.new, width);
  const all = [...old, ...now].map((point) => point[1]);
  const low = Math.min(...all);
  const high = Math.max(...all, low + 1e-6);
  const x = (offset: number) => left + (offset - span[0]) / (span[1] - span[0]) * (width - left);
  const y = (value: number) => 6 + (high - value) / (high - low) * (height - bottom - 6);
  const path = (points: Points) => points.map(([offset, value], i) => {
    const to = `${x(offset).toFixed(1)} ${y(value).toFixed(1)}`;
    return i === 0 ? `M${to}` : course.steps ? `H${x(offset).toFixed(1)}V${y(value).toFixed(1)}` : `L${to}`;
  }).join("");
  const label = (at: number, text: string) => drawing("text", { x: left - 6, y: at, "text-anchor": "end" }, text);
  const said = `${course.title}: before from ${course.unit(Math.min(...old.map((point) => point[1])))} to `
    + `${course.unit(Math.max(...old.map((point) => point[1])))}, now from ${course.unit(Math.min(...now.map((point) => point[1])))} to `
    + `${course.unit(Math.max(...now.map((point) => point[1])))}`;
  return element("figure", { class: "overlay" },
    element("figcaption", {}, said),
    drawing("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": said },
      drawing("rect", { class: "field", x: left, y: 0, width: width - left, height: height - bottom }),
      label(14, course.unit(high)), label(height - bottom, course.unit(low)),
      drawing("path", { class: "line-old", d: path(old) }),
      drawing("path", { class: "line-new", d: path(now) }),
      drawing("text", { x: left, y: height - 4 }, utcText(begin + span[0] * 1000, false)),
      drawing("text", { x: width, y: height - 4, "text-anchor": "end" }, utcText(begin + span[1] * 1000, false))));
}

export function overlays(data: DifferencePage): HTMLElement | null {
  const begin = clock(data.new.load.begin);
  const shift = (clock(data.old.load.begin) - begin) / 1000;
  const list = courses(data, shift);
  if (list.length === 0) return null;
  const offsets = list.flatMap((course) => [course.old[0][0], course.new[0][0],
    course.old[course.old.length - 1][0], course.new[course.new.length - 1][0]]);
  const span: [number, number] = [Math.min(...offsets), Math.max(...offsets)];
  return section("course", "Course",
    element("p", { class: "overlay-key" },
      drawing("svg", { viewBox: "0 0 40 10", width: 40, height: 10, "aria-hidden": "true" },
        drawing("path", { class: "line-old", d: "M0 5H40" })), " before, dashed \u00a0 ",
      drawing("svg", { viewBox: "0 0 40 10", width: 40, height: 10, "aria-hidden": "true" },
        drawing("path", { class: "line-new", d: "M0 5H40" })), " now, whole"),
    ...list.map((course) => lane(course, begin, span)));
}
