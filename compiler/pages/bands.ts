// The lanes of bars and signs: marks, windows, commands, states, heaters.

import { bar, lastBefore, rightOf } from "./chart";
import { drawing } from "./element";
import type { Lane } from "./lane";
import type { Command, CommandClass, PartStates, Plan, Window } from "./plan";
import { call, fixed, lengthOfTime, plural, roughLengthOfTime } from "./words";

const rowHeight = 18;

export interface MarkAt {
  name: string;
  offset: number;
}

export function marksOf(plan: Plan, clockOffset: (utc: string) => number): MarkAt[] {
  const marks = plan.marks.map((mark) => ({ name: mark.name, offset: clockOffset(mark.time) }));
  return marks.filter((mark) => Number.isFinite(mark.offset)).sort((a, b) => a.offset - b.offset);
}

export function markLane(marks: MarkAt[]): Lane {
  const offsets = marks.map((mark) => [mark.offset]);
  return {
    title: "Marks", height: rowHeight + 2, compact: true, verdict: null,
    summary: marks.map((mark) => mark.name).join(", "),
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `${marks.length} in all`;
        const index = lastBefore(offsets, offset);
        return index < 0 ? "none yet" : `last: ${marks[index].name}`;
      },
    }],
    draw: (shown) => {
      const edge = shown.width - rightOf(shown.width);
      let free = 0;  // where the next name may begin
      for (const { name, offset } of marks) {
        const x = shown.x(offset);
        if (offset < shown.from || offset > shown.to) continue;
        const width = name.length * 6.4;
        const begin = x + 4 + width <= edge ? x + 4 : x - 4 - width;
        if (begin < free) continue;
        free = begin + width + 8;
        shown.svg.append(drawing("text", { class: "mark-name", x: begin.toFixed(1), y: 13 }, name));
      }
    },
  };
}

// A window that carries several batches stands in the plan with each of them.
function opened(windows: Window[]): number {
  return new Set(windows.map((window) => window.from)).size;
}

export function windowLane(plan: Plan, antenna: string, clockOffset: (utc: string) => number): Lane {
  const windows = plan.windows.filter((window) => window.antenna === antenna);
  const carrying = windows.filter((window) => window.batch);
  return {
    title: antenna, height: rowHeight + 4, compact: true, verdict: null,
    summary: `${opened(windows)} windows, ${opened(carrying)} of them carry commands`,
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `${opened(carrying)} of ${opened(windows)} used`;
        const open = windows.filter((window) => window.from <= offset && offset < window.to);
        const carried = open.reduce((sum, window) => sum + (window.batch?.commands.length ?? 0), 0);
        if (open.length === 0) return "closed";
        const withdrawn = open.reduce((sum, window) => sum + (window.batch?.withdrawals?.length ?? 0), 0);
        const said = [carried > 0 ? `${carried} commands` : "", withdrawn > 0 ? plural(withdrawn, "withdrawal") : ""];
        return `open, ${said.filter((words) => words !== "").join(", ") || "not used"}`;
      },
    }],
    draw: (shown) => {
      for (const window of windows) {
        if (window.to < shown.from || window.from > shown.to) continue;
        const kind = window.batch ? "window used" : "window";
        shown.body.append(bar(shown, window.from, window.to, 4, rowHeight - 4, kind));
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

export function commandLane(plan: Plan): Lane {
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

export function stateLane(of: PartStates): Lane {
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
        const tone = `tone-${names.indexOf(row[2]) % 4}`;
        const kind = moving ? "state moving" : row[2] === null ? "state unknown" : `state ${tone}`;
        const box = bar(shown, row[0], row[1], 2, rowHeight - 3, kind);
        const lasts = lengthOfTime(row[1] - row[0]);
        box.append(drawing("title", {}, `${text(row)}, ${lasts}${row[4] === null ? "" : `, by command ${row[4]}`}`));
        shown.body.append(box);
        const width = Number(box.getAttribute("width"));
        const word = text(row);
        if (!moving && width > word.length * 6.6 + 8) {
          const x = Number(box.getAttribute("x")) + 5;
          shown.body.append(drawing("text", { class: "state-name", x, y: 14 }, word));
        }
      }
    },
  };
}

export function heaterLane(name: string, on: [number, number][], mayBeOn: [number, number][], duty: number): Lane {
  const total = on.reduce((sum, [from, to]) => sum + to - from, 0);
  return {
    title: name, height: rowHeight + 2, compact: true, verdict: null,
    summary: `on for ${roughLengthOfTime(total)}`,
    keys: [{
      name: "", sample: "", at: (offset) => {
        if (offset === null) return `duty ${fixed(duty * 100, 1)} %`;
        if (on.some(([from, to]) => from <= offset && offset < to)) return "on";
        return mayBeOn.some(([from, to]) => from <= offset && offset < to) ? "off, may be on" : "off";
      },
    }],
    draw: (shown) => {
      for (const [from, to] of mayBeOn) {
        if (to < shown.from || from > shown.to) continue;
        shown.body.append(bar(shown, from, to, 4, rowHeight - 7, "heater-may-be-on"));
      }
      for (const [from, to] of on) {
        if (to < shown.from || from > shown.to) continue;
        shown.body.append(bar(shown, from, to, 4, rowHeight - 7, "heater-on"));
      }
    },
  };
}
