// The lanes of the course, made from the plan: what each draws, says under the cursor, and says to who cannot see.

import { bar, lastBefore, line, Plot, Points, timeTicks, valueAt, valueTicks } from "./chart";
import { drawing } from "./element";
import type { Command, CommandClass, PartStates, Plan, Verdict } from "./plan";
import type { View } from "./view";
import { call, degrees, fixed, lengthOfTime, number, roughLengthOfTime } from "./words";

export interface Key {
  name: string;
  sample: string;  // class of its line; "" for none
  at: (offset: number | null) => string;
}

export interface Lane {
  title: string;
  height: number;
  keys: Key[];
  verdict: Verdict | null;
  summary: string;
  compact: boolean;
  draw: (plot: Plot) => void;
}

export interface Group {
  title: string;
  lanes: Lane[];
  aside: string;
}

interface Series {
  name: string;
  sample: string;
  points: Points;
  column: number;
  steps: boolean;
}

interface Level {
  value: number;
  kind: string;
  band: number;  // the alert band towards the inside; 0: none
  spans: [number, number][];
}

interface Numeric {
  title: string;
  height: number;
  series: Series[];
  levels: Level[];
  text: (value: number) => string;
  tick: (value: number) => string;
  shift: number;  // subtracted before ticks are chosen: kelvin to degrees
  include: number[];
  verdict: Verdict | null;
  extra: Key[];
}

function extent(series: Series): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (const point of series.points) {
    low = Math.min(low, point[series.column]);
    high = Math.max(high, point[series.column]);
  }
  return [low, high];
}

function numericLane(of: Numeric): Lane {
  const extents = of.series.map(extent);
  const bounds = [...extents.flat(), ...of.include].filter(Number.isFinite);
  let low = Math.min(...bounds);
  let high = Math.max(...bounds);
  if (!Number.isFinite(low)) [low, high] = [0, 1];
  if (high - low < 1e-6) [low, high] = [low - 1, high + 1];
  const room = (high - low) * 0.07;
  low -= room;
  high += room;
  const range = (index: number) => extents[index][0] === extents[index][1]
    ? of.text(extents[index][0]) : `${of.text(extents[index][0])} to ${of.text(extents[index][1])}`;
  return {
    title: of.title,
    height: of.height,
    verdict: of.verdict,
    compact: false,
    keys: [...of.series.map((series, index) => ({
      name: series.name,
      sample: series.sample,
      at: (offset: number | null) => {
        if (series.points.length === 0) return "";
        if (offset === null) return range(index);
        const value = valueAt(series.points, series.column, offset, series.steps);
        return value === null ? "" : of.text(value);
      },
    })), ...of.extra],
    summary: of.series.filter((series) => series.points.length > 0)
      .map((series) => `${series.name} ${range(of.series.indexOf(series))}`).join(", "),
    draw: (shown) => {
      const y = (value: number) => shown.height - 4 - (value - low) / (high - low) * (shown.height - 8);
      const count = Math.max(Math.floor(shown.height / 22), 1);
      for (const value of valueTicks(low - of.shift, high - of.shift, count)) {
        const level = y(value + of.shift).toFixed(1);
        shown.body.append(drawing("line", { class: "grid", x1: 0, x2: shown.width, y1: level, y2: level }));
        shown.svg.append(drawing("text", { class: "tick", x: 50, y: Number(level) + 3.5, "text-anchor": "end" },
          of.tick(value)));
      }
      for (const level of of.levels) {
        const at = y(level.value);
        for (const [from, to] of level.spans) {
          if (to < shown.from || from > shown.to) continue;
          if (level.band !== 0) {
            const inner = y(level.value + level.band);
            shown.body.append(bar(shown, from, to, Math.min(at, inner), Math.abs(inner - at), "alert-band"));
          }
          shown.body.append(drawing("line", {
            class: level.kind, x1: shown.x(Math.max(from, shown.from)).toFixed(1),
            x2: shown.x(Math.min(to, shown.to)).toFixed(1), y1: at.toFixed(1), y2: at.toFixed(1),
          }));
        }
      }
      for (const series of of.series) {
        shown.body.append(drawing("path", {
          class: series.sample, d: line(series.points, series.column, shown, y, series.steps),
        }));
      }
    },
  };
}

function constant(name: string, sample: string, text: string): Key {
  return { name, sample, at: () => text };
}

function sunLane(plan: Plan): Lane {
  const text = (value: number) => `${fixed(value, 1)}\u00b0`;
  return numericLane({
    title: "Sun elevation", height: 70, levels: [{ value: 0, kind: "zero", band: 0, spans: [[-1e9, 1e9]] }],
    series: [{ name: "centre of the disc", sample: "line-sun", points: plan.sun.points, column: 1, steps: false }],
    text, tick: (value) => `${number(value)}\u00b0`, shift: 0, include: [0], verdict: null, extra: [],
  });
}

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

const rowHeight = 18;

function windowLane(plan: Plan, antenna: string, clockOffset: (utc: string) => number): Lane {
  const windows = plan.windows.filter((window) => window.antenna === antenna);
  const carrying = windows.filter((window) => window.batch);
  return {
    title: antenna, height: rowHeight + 4, compact: true, verdict: null,
    summary: `${windows.length} windows, ${carrying.length} of them carry commands`,
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `${carrying.length} of ${windows.length} used`;
        const open = windows.find((window) => window.from <= offset && offset < window.to);
        return open ? `open, ${open.batch ? `${open.batch.commands.length} commands` : "not used"}` : "closed";
      },
    }],
    draw: (shown) => {
      for (const window of windows) {
        if (window.to < shown.from || window.from > shown.to) continue;
        shown.body.append(bar(shown, window.from, window.to, 4, rowHeight - 4, window.batch ? "window used" : "window"));
        if (window.batch) {
          shown.body.append(bar(shown, clockOffset(window.batch.begin), clockOffset(window.batch.end), 7,
            rowHeight - 10, "transmission"));
        }
      }
    },
  };
}

// A shape of its own for each class.
function commandSign(kind: CommandClass, x: number, y: number): SVGElement {
  const sign = {
    routine: `M${x} ${y - 5}V${y + 5}`,
    caution: `M${x} ${y - 6}L${x + 5} ${y + 4}H${x - 5}Z`,
    hazardous: `M${x} ${y - 6}L${x + 6} ${y}L${x} ${y + 6}L${x - 6} ${y}Z`,
    irreversible: `M${x - 5} ${y - 5}H${x + 5}V${y + 5}H${x - 5}Z`,
  }[kind] ?? `M${x} ${y - 5}V${y + 5}`;
  return drawing("path", { class: `command-sign ${kind}`, d: sign });
}

function commandLane(plan: Plan): Lane {
  const offsets = plan.commands.map((command) => [command.offset]);
  const name = (command: Command) => `${command.number} ${command.unit}.${command.name}`;
  return {
    title: "Commands", height: rowHeight + 4, compact: true, verdict: null,
    summary: `${plan.commands.length} commands`,
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `${plan.commands.length} in all`;
        const index = lastBefore(offsets, offset);
        return index < 0 ? "none yet" : `last: ${name(plan.commands[index])}`;
      },
    }],
    draw: (shown) => {
      let before = -Infinity;
      for (const command of plan.commands) {
        if (command.offset < shown.from || command.offset > shown.to) continue;
        const x = Number(shown.x(command.offset).toFixed(1));
        if (command.class === "routine" && x - before < 0.5) continue;
        before = x;
        const sign = commandSign(command.class, x, 11);
        sign.append(drawing("title", {}, `${command.number}  ${command.time}  ${call(command)}`));
        shown.body.append(sign);
      }
    },
  };
}

function stateLane(of: PartStates): Lane {
  const starts = of.rows.map((row) => [row[0]]);
  const text = (row: PartStates["rows"][number]) =>
    row[3] !== null ? `${row[2] ?? "unknown"} \u2192 ${row[3]}` : row[2] ?? "unknown";
  return {
    title: of.part, height: rowHeight + 2, compact: true, verdict: null,
    summary: `${of.rows.length} states and moves`,
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `${of.rows.filter((row) => row[3] !== null).length} moves`;
        const index = lastBefore(starts, offset);
        return index < 0 ? "" : text(of.rows[index]);
      },
    }],
    draw: (shown) => {
      const names = [...new Set(of.rows.map((row) => row[2]))];
      for (const row of of.rows) {
        if (row[1] < shown.from || row[0] > shown.to) continue;
        const moving = row[3] !== null;
        const kind = moving ? "state moving" : row[2] === null ? "state unknown" : `state tone-${names.indexOf(row[2]) % 4}`;
        const box = bar(shown, row[0], row[1], 2, rowHeight - 3, kind);
        const lasts = lengthOfTime(row[1] - row[0]);
        box.append(drawing("title", {}, `${text(row)}, ${lasts}${row[4] === null ? "" : `, by command ${row[4]}`}`));
        shown.body.append(box);
        const width = Number(box.getAttribute("width"));
        const word = text(row);
        if (!moving && width > word.length * 6.6 + 8) {
          shown.body.append(drawing("text", { class: "state-name", x: Number(box.getAttribute("x")) + 5, y: 14 }, word));
        }
      }
    },
  };
}

function heaterLane(name: string, on: [number, number][], duty: number): Lane {
  const total = on.reduce((sum, [from, to]) => sum + to - from, 0);
  return {
    title: name, height: rowHeight + 2, compact: true, verdict: null,
    summary: `on for ${roughLengthOfTime(total)}`,
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `duty ${fixed(duty * 100, 1)} %`;
        return on.some(([from, to]) => from <= offset && offset < to) ? "on" : "off";
      },
    }],
    draw: (shown) => {
      for (const [from, to] of on) {
        if (to < shown.from || from > shown.to) continue;
        shown.body.append(bar(shown, from, to, 4, rowHeight - 7, "heater-on"));
      }
    },
  };
}

function powerLane(plan: Plan): Lane {
  const series = (name: string, sample: string, column: number): Series =>
    ({ name, sample, points: plan.power.points, column, steps: false });
  const text = (value: number) => `${fixed(value, 1)} W`;
  return numericLane({
    title: "Power", height: 168,
    series: [series("source", "line-source", 1), series("load on the bus", "line-load", 2),
      series("reserve", "line-reserve", 3)],
    levels: [{ value: plan.power.floor, kind: "limit-line", band: 0, spans: [[-1e9, 1e9]] }],
    text, tick: (value) => `${number(value)} W`, shift: 0, include: [0, plan.power.floor],
    verdict: worst(plan, (check) => check.check === "power"),
    extra: [constant("reserve floor", "limit-line", text(plan.power.floor))],
  });
}

function worst(plan: Plan, picks: (check: Plan["checks"][number]) => boolean): Verdict | null {
  const found = plan.checks.filter(picks).map((check) => check.verdict);
  if (found.length === 0) return null;
  return found.includes("fails") ? "fails" : found.includes("unproven") ? "unproven" : "holds";
}

// When "PART is [not] A or B" holds by the nominal states; everywhere when the part is not to be found.
export function whileHolds(condition: string, states: PartStates[]): [number, number][] {
  const match = /^(\S+) is (not )?(.+)$/.exec(condition);
  const part = match ? states.find((one) => one.part === match[1]) : undefined;
  if (!match || !part) return [[-1e9, 1e9]];
  const names = match[3].split(" or ").map((name) => name.trim());
  const fits = (name: string | null) => name !== null && names.includes(name) !== Boolean(match[2]);
  return part.rows.filter((row) => fits(row[2]) || fits(row[3])).map((row) => [row[0], row[1]]);
}

function temperatureLane(plan: Plan, node: Plan["temperatures"]["nodes"][number]): Lane {
  const levels: Level[] = [];
  const extra: Key[] = [];
  const include: number[] = [];
  for (const limit of node.limits) {
    const spans: [number, number][] = limit.while === null ? [[-1e9, 1e9]] : whileHolds(limit.while, plan.states);
    const kind = limit.kind === "survival" ? "limit-line" : "operating-line";
    levels.push({ value: limit.low, kind, band: limit.alert, spans }, { value: limit.high, kind, band: -limit.alert, spans });
    if (spans.length > 0) include.push(limit.low, limit.high);
    extra.push(constant(limit.while === null ? limit.kind : `${limit.kind}, while ${limit.while}`, kind,
      `${fixed(limit.low - 273.15, 0)} to ${fixed(limit.high - 273.15, 0)} \u00b0C`));
  }
  return numericLane({
    title: node.name, height: 92, levels, extra, include,
    series: [{ name: "temperature", sample: "line-temperature", points: node.points, column: 1, steps: false }],
    text: degrees, tick: (value) => `${number(value)}\u00b0`, shift: 273.15,
    verdict: worst(plan, (check) => check.check === "heat" && (check.subject === node.name || check.subject.startsWith(`${node.name} while `))),
  });
}

function tableLanes(plan: Plan): Lane[] {
  const lane = (title: string, column: number, cap: number) => numericLane({
    title, height: 70,
    series: [{ name: "in use", sample: "line-load", points: plan.table.points, column, steps: true }],
    levels: [{ value: cap, kind: "limit-line", band: 0, spans: [[-1e9, 1e9]] }],
    text: (value) => String(value), tick: (value) => number(value, 6), shift: 0, include: [0, cap],
    verdict: worst(plan, (check) => check.code === `table/${title}`),
    extra: [constant("cap", "limit-line", String(cap))],
  });
  const lanes = [lane("entries", 1, plan.table.entries_cap)];
  if (plan.table.bytes_cap > 0) lanes.push(lane("bytes", 2, plan.table.bytes_cap));
  return lanes;
}

export function groups(plan: Plan, clockOffset: (utc: string) => number): Group[] {
  const antennas = [...new Set(plan.windows.map((window) => window.antenna))];
  const changing = plan.states.filter((part) => part.rows.length > 1);
  const still = plan.states.filter((part) => part.rows.length === 1)
    .map((part) => `${part.part}: ${part.rows[0][2] ?? "unknown"}`);
  return [
    { title: "Sun, windows, commands", aside: "",
      lanes: [sunLane(plan), ...antennas.map((antenna) => windowLane(plan, antenna, clockOffset)), commandLane(plan)] },
    { title: "States", lanes: changing.map(stateLane),
      aside: still.length > 0 ? `Unchanged: ${still.join(", ")}.` : "" },
    { title: "Power", aside: "", lanes: [powerLane(plan)] },
    { title: "Temperatures", aside: "", lanes: plan.temperatures.nodes.map((node) => temperatureLane(plan, node)) },
    { title: "Heaters",
      aside: plan.temperatures.heaters.filter((one) => one.on.length === 0).map((one) => one.name)
        .reduce((text, name, index) => (index === 0 ? `Never on: ${name}` : `${text}, ${name}`), ""),
      lanes: plan.temperatures.heaters.filter((one) => one.on.length > 0)
        .map((one) => heaterLane(one.name, one.on, one.duty)) },
    { title: "Command table", aside: "", lanes: tableLanes(plan) },
  ].filter((group) => group.lanes.length > 0 || group.aside !== "");
}

export function timeAxis(shown: Plot, view: View): void {
  for (const tick of timeTicks(view.begin, shown.from, shown.to, shown.width)) {
    const x = shown.x(tick.offset);
    shown.svg.append(
      drawing("line", { class: "axis", x1: x, x2: x, y1: shown.height - 5, y2: shown.height }),
      drawing("text", { class: tick.strong ? "tick strong" : "tick", x, y: shown.height - 8, "text-anchor": "middle" },
        tick.text));
  }
}
