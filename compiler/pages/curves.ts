// The lanes of predicted quantities: Sun, power, temperatures, command table, each against its limits.

import type { Points } from "./chart";
import type { Key, Lane } from "./lane";
import { Level, numericLane, Series } from "./numeric_lane";
import type { PartStates, Plan, Verdict } from "./plan";
import { degrees, fixed, number } from "./words";

const always: [number, number][] = [[-1e9, 1e9]];

// Stretches with the Sun below the level horizon, shaded behind every lane.
export function nights(points: Points): [number, number][] {
  const out: [number, number][] = [];
  let begin: number | null = points.length > 0 && points[0][1] < 0 ? points[0][0] : null;
  for (let i = 1; i < points.length; ++i) {
    const [t0, e0] = points[i - 1];
    const [t1, e1] = points[i];
    if ((e0 < 0) === (e1 < 0)) continue;
    const crossing = t0 + (t1 - t0) * e0 / (e0 - e1);
    if (e1 < 0) begin = crossing;
    else if (begin !== null) out.push([begin, crossing]);
    if (e1 >= 0) begin = null;
  }
  if (begin !== null) out.push([begin, points[points.length - 1][0]]);
  return out;
}

// When "PART is [not] A or B" holds by the nominal states; everywhere when the part is not to be found.
export function whileHolds(condition: string, states: PartStates[]): [number, number][] {
  const match = /^(\S+) is (not )?(.+)$/.exec(condition);
  const part = match ? states.find((one) => one.part === match[1]) : undefined;
  if (!match || !part) return always;
  const names = match[3].split(" or ").map((name) => name.trim());
  const fits = (name: string | null) => name !== null && names.includes(name) !== Boolean(match[2]);
  return part.rows.filter((row) => fits(row[2]) || fits(row[3])).map((row) => [row[0], row[1]]);
}

function worst(plan: Plan, picks: (check: Plan["checks"][number]) => boolean): Verdict | null {
  const found = plan.checks.filter(picks).map((check) => check.verdict);
  if (found.length === 0) return null;
  return found.includes("fails") ? "fails" : found.includes("unproven") ? "unproven" : "holds";
}

function constant(name: string, sample: string, text: string): Key {
  return { name, sample, at: () => text };
}

export function sunLane(plan: Plan): Lane {
  const text = (value: number) => `${fixed(value, 1)}\u00b0`;
  return numericLane({
    title: "Sun elevation", height: 70,
    levels: [{ end: "horizon", value: 0, kind: "zero", band: 0, spans: always }],
    bands: [],
    series: [{ name: "centre of the disc", end: "Sun", sample: "line-sun", points: plan.sun.points, column: 1,
      steps: false }],
    text, tick: (value) => `${number(value)}\u00b0`, shift: 0, include: [0], verdict: null, extra: [],
  });
}

export function powerLane(plan: Plan): Lane {
  const series = (name: string, end: string, column: number): Series =>
    ({ name, end, sample: `line-${end}`, points: plan.power.points, column, steps: false });
  const text = (value: number) => `${fixed(value, 1)} W`;
  return numericLane({
    title: "Power", height: 168,
    bands: [],
    series: [series("source", "source", 1), series("load on the bus", "load", 2), series("reserve", "reserve", 3),
      ...(plan.power.guaranteed.length === 0 ? [] : [{ name: "reserve, guaranteed", end: "guaranteed",
        sample: "line-guaranteed", points: plan.power.guaranteed, column: 3, steps: false }])],
    levels: [{ end: "floor", value: plan.power.floor, kind: "limit-line", band: 0, spans: always }],
    text, tick: (value) => `${number(value)} W`, shift: 0, include: [0, plan.power.floor],
    verdict: worst(plan, (check) => check.code === "power/reserve"),
    extra: [constant("reserve floor", "limit-line", text(plan.power.floor))],
  });
}

export function storageLanes(plan: Plan): Lane[] {
  const storage = plan.power.storage;
  if (!storage) return [];
  const text = (value: number) => `${fixed(value, 2)} Wh`;
  return [numericLane({
    title: "Storage", height: 92, bands: [],
    series: [{ name: "charge", end: "charge", sample: "line-load", points: storage.points, column: 1, steps: false },
      ...(storage.guaranteed.length === 0 ? [] : [{ name: "charge, guaranteed", end: "guaranteed",
        sample: "line-guaranteed", points: storage.guaranteed, column: 1, steps: false }])],
    levels: [{ end: "floor", value: storage.floor, kind: "limit-line", band: 0, spans: always }],
    text, tick: (value) => `${number(value)} Wh`, shift: 0, include: [0, storage.floor, storage.capacity],
    verdict: worst(plan, (check) => check.code === "power/storage"),
    extra: [constant("floor", "limit-line", text(storage.floor))],
  })];
}

export function temperatureLane(plan: Plan, node: Plan["temperatures"]["nodes"][number]): Lane {
  const levels: Level[] = [];
  const extra: Key[] = [];
  const include: number[] = [];
  for (const limit of node.limits) {
    const spans: [number, number][] = limit.while === null ? always : whileHolds(limit.while, plan.states);
    const kind = limit.kind === "survival" ? "limit-line" : "operating-line";
    levels.push({ end: limit.kind, value: limit.low, kind, band: limit.alert, spans },
      { end: limit.kind, value: limit.high, kind, band: -limit.alert, spans });
    if (spans.length > 0) include.push(limit.low, limit.high);
    extra.push(constant(limit.while === null ? limit.kind : `${limit.kind}, while ${limit.while}`, kind,
      `${fixed(limit.low - 273.15, 0)} to ${fixed(limit.high - 273.15, 0)} \u00b0C`));
  }
  return numericLane({
    title: node.name, height: 92, levels, extra, include,
    bands: node.band.length === 0 ? []
      : [{ name: "guaranteed", sample: "band", points: node.band, low: 1, high: 2 }],
    series: [{ name: "temperature", end: "", sample: "line-temperature", points: node.points, column: 1,
      steps: false }],
    text: degrees, tick: (value) => `${number(value)}\u00b0`, shift: 273.15,
    verdict: worst(plan, (check) => check.check === "heat"
      && (check.subject === node.name || check.subject.startsWith(`${node.name} while `))),
  });
}

export function tableLanes(plan: Plan): Lane[] {
  const lane = (title: string, column: number, cap: number) => numericLane({
    title, height: 70, bands: [],
    series: [{ name: "in use", end: "in use", sample: "line-load", points: plan.table.points, column, steps: true }],
    levels: [{ end: "cap", value: cap, kind: "limit-line", band: 0, spans: always }],
    text: (value) => String(value), tick: (value) => number(value, 6), shift: 0, include: [0, cap],
    verdict: worst(plan, (check) => check.code === `table/${title}`),
    extra: [constant("cap", "limit-line", String(cap))],
  });
  const lanes = [lane("entries", 1, plan.table.entries_cap)];
  if (plan.table.bytes_cap > 0) lanes.push(lane("bytes", 2, plan.table.bytes_cap));
  return lanes;
}
