// How times, lengths of time, temperatures and numbers are written, the same everywhere on the page.

import { element } from "./element";
import type { Command, Place, Verdict } from "./plan";

const second = 1000;

// Milliseconds on the UTC clock face; a leap second counts as the first second after it.
export function clock(utc: string): number {
  const parts = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2}):(\d{2})(\.\d+)?Z$/.exec(utc);
  if (!parts) return NaN;
  const [year, month, day, hour, minute, seconds] = parts.slice(1, 7).map(Number);
  return Date.UTC(year, month - 1, day, hour, minute, seconds) + Number(parts[7] ?? 0) * second;
}

export function utcText(milliseconds: number, withSeconds: boolean): string {
  if (!Number.isFinite(milliseconds)) return "";
  const text = new Date(Math.round(milliseconds)).toISOString();
  return withSeconds ? `${text.slice(0, 19)}Z` : `${text.slice(0, 16)}Z`;
}

// To the millisecond: the ticks of a clock leave tails that nobody reads. A leap second stays as it is written.
export function readable(utc: string): string {
  if (!/\.\d{4,}Z$/.test(utc) || utc.includes(":60.") || Number.isNaN(clock(utc))) return utc;
  return new Date(Math.round(clock(utc))).toISOString();
}

export function number(value: number, digits = 4): string {
  if (value === 0) return "0";
  const text = Number(value.toPrecision(digits)).toString();
  return text.replace("-", "\u2212");
}

export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", "\u2212");
}

// "1 d 4 h", "2 min 5 s", "1.25 s"; parts that are nothing are left out.
export function lengthOfTime(seconds: number): string {
  const sign = seconds < 0 ? "\u2212" : "";
  let rest = Math.round(Math.abs(seconds) * 1000) / 1000;
  if (rest === 0) return "0 s";
  const words: string[] = [];
  for (const [unit, size] of [["d", 86400], ["h", 3600], ["min", 60]] as const) {
    const count = Math.floor(rest / size);
    rest -= count * size;
    if (count > 0) words.push(`${count} ${unit}`);
  }
  rest = Math.round(rest * 1000) / 1000;
  if (rest > 0) words.push(`${rest} s`);
  return sign + words.join(" ");
}

// Its two largest parts, the rest cut off: a margin is never shown larger than it is.
export function shortLengthOfTime(seconds: number): string {
  const size = Math.abs(seconds);
  const least = [86400, 3600, 60].find((unit) => size >= unit);
  if (least === undefined) return lengthOfTime(seconds);
  const step = least === 86400 ? 3600 : least === 3600 ? 60 : 1;
  return lengthOfTime(Math.trunc(seconds / step) * step);
}

// To the minute, for places where seconds are noise.
export function roughLengthOfTime(seconds: number): string {
  return Math.abs(seconds) < 120 ? lengthOfTime(Math.round(seconds)) : lengthOfTime(Math.round(seconds / 60) * 60);
}

export function degrees(kelvin: number): string {
  return `${fixed(kelvin - 273.15, 1)} \u00b0C`;
}

export function octets(count: number): string {
  return `${count} ${count === 1 ? "byte" : "bytes"}`;
}

export function plural(count: number, word: string): string {
  return `${count} ${count === 1 ? word : `${word}s`}`;
}

export function place(of: Place | null): string {
  return of ? `${of.file}:${of.line}` : "";
}

export function call(command: Command): string {
  const values = command.arguments.map((argument) => ` ${argument.name}=${argument.value}`);
  return `${command.immediate ? "now " : ""}${command.unit}.${command.name}${values.join("")}`;
}

// A sign of its own shape for each verdict, and the word beside it: never colour alone.
const signs: Record<Verdict, string> = { holds: "\u2713", unproven: "?", fails: "\u2715" };

export function verdictMark(verdict: Verdict): HTMLElement {
  const known = verdict in signs ? verdict : "fails";
  return element("span", { class: `verdict ${known}` },
    element("span", { class: "sign", "aria-hidden": "true" }, signs[known]), String(verdict));
}

export function commandLink(value: number): HTMLElement {
  return element("a", { href: `#command-${value}`, class: "command-link" }, String(value));
}
