// A lane of lines over a scale of values, with the levels they are held against.

import { area, bar, EndLabel, endLabels, left, line, Plot, Points, valueAt, valueTicks } from "./chart";
import { drawing } from "./element";
import type { Key, Lane } from "./lane";
import type { Verdict } from "./plan";

export interface Series {
  name: string;
  end: string;  // at the line's end; "" for none
  sample: string;
  points: Points;
  column: number;
  steps: boolean;
}

// What lies between two columns, drawn behind the lines: where a quantity is guaranteed to stay.
export interface Band {
  name: string;
  sample: string;
  points: Points;
  low: number;
  high: number;
}

export interface Level {
  end: string;
  value: number;
  kind: string;
  band: number;  // the alert band towards the inside; 0: none
  spans: [number, number][];
}

export interface Numeric {
  title: string;
  height: number;
  series: Series[];
  bands: Band[];
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

// The range of values that the lane's height stands for.
function scale(of: Numeric): [number, number] {
  let least = Infinity;
  let greatest = -Infinity;
  for (const band of of.bands) {
    for (const point of band.points) {
      least = Math.min(least, point[band.low]);
      greatest = Math.max(greatest, point[band.high]);
    }
  }
  const bounds = [...of.series.flatMap(extent), ...of.include, least, greatest].filter(Number.isFinite);
  if (bounds.length === 0) return [0, 1];
  const low = Math.min(...bounds);
  const high = Math.max(...bounds);
  if (high - low < 1e-6) return [low - 1, high + 1];
  const room = (high - low) * 0.07;
  return [low - room, high + room];
}

function rangeText(of: Numeric, series: Series): string {
  const [least, greatest] = extent(series);
  return least === greatest ? of.text(least) : `${of.text(least)} to ${of.text(greatest)}`;
}

function seriesKey(of: Numeric, series: Series): Key {
  const whole = series.points.length === 0 ? "" : rangeText(of, series);
  return {
    name: series.name,
    sample: series.sample,
    at: (offset) => {
      if (offset === null) return whole;
      const value = valueAt(series.points, series.column, offset, series.steps);
      return value === null ? "" : of.text(value);
    },
  };
}

function bandKey(of: Numeric, band: Band): Key {
  return {
    name: band.name,
    sample: band.sample,
    at: (offset) => {
      if (offset === null) return "";
      const low = valueAt(band.points, band.low, offset, false);
      const high = valueAt(band.points, band.high, offset, false);
      return low === null || high === null ? "" : `${of.text(low)} to ${of.text(high)}`;
    },
  };
}

export function numericLane(of: Numeric): Lane {
  const [low, high] = scale(of);
  const known = of.series.filter((series) => series.points.length > 0);
  return {
    title: of.title,
    height: of.height,
    verdict: of.verdict,
    compact: false,
    keys: [...of.series.map((series) => seriesKey(of, series)), ...of.bands.map((band) => bandKey(of, band)), ...of.extra],
    summary: known.map((series) => `${series.name} ${rangeText(of, series)}`).join(", "),
    draw: (shown) => {
      const y = (value: number) => shown.height - 4 - (value - low) / (high - low) * (shown.height - 8);
      drawScale(of, shown, low, high, y);
      for (const band of of.bands) {
        const d = area(band.points, band.low, band.high, shown, y);
        if (d !== "") shown.body.append(drawing("path", { class: band.sample, d }));
      }
      for (const level of of.levels) drawLevel(level, shown, y);
      for (const series of of.series) {
        const path = line(series.points, series.column, shown, y, series.steps);
        shown.body.append(drawing("path", { class: series.sample, d: path }));
      }
      endLabels(shown, namesAtTheEnd(of, shown, y));
    },
  };
}

type Height = (value: number) => number;

function drawScale(of: Numeric, shown: Plot, low: number, high: number, y: Height): void {
  const count = Math.max(Math.floor(shown.height / 22), 1);
  for (const value of valueTicks(low - of.shift, high - of.shift, count)) {
    const level = y(value + of.shift).toFixed(1);
    shown.body.append(drawing("line", { class: "grid", x1: 0, x2: shown.width, y1: level, y2: level }));
    shown.svg.append(drawing("text", { class: "tick", x: left - 6, y: Number(level) + 3.5, "text-anchor": "end" },
      of.tick(value)));
  }
}

// Clipped by hand: on paper every dash of a far longer line would be made.
function drawLevel(level: Level, shown: Plot, y: Height): void {
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

// Of what reaches the right edge of the drawing.
function namesAtTheEnd(of: Numeric, shown: Plot, y: Height): EndLabel[] {
  const labels: EndLabel[] = [];
  for (const level of of.levels) {
    if (level.end !== "" && level.spans.some(([from, to]) => from <= shown.to && to >= shown.to)) {
      labels.push({ text: level.end, y: y(level.value) });
    }
  }
  for (const series of of.series) {
    const value = series.end === "" ? null : valueAt(series.points, series.column, shown.to, series.steps);
    if (value !== null) labels.push({ text: series.end, y: y(value) });
  }
  return labels;
}
