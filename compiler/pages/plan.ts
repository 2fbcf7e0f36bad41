// The plan as docs/plan-format.md describes it: only what the page shows.

export type Verdict = "holds" | "unproven" | "fails";
export type CommandClass = "routine" | "caution" | "hazardous" | "irreversible";

export interface Place {
  file: string;
  line: number;
}

export interface Command {
  number: number;
  time: string;
  offset: number;
  ticks: string;
  unit: string;
  name: string;
  command_number: number;
  class: CommandClass;
  arguments: { name: string; value: string; raw: number | string }[];
  block: string;
  source: Place | null;
  calls: (Place | null)[];
  notes: string[];
  by: "send" | "bring";
  immediate?: boolean;
  window: number | null;
  sent: string | null;
  aboard: string | null;
  expects: { condition: string; until: string; source: Place | null }[];
  sequence_count: number;
  entry_bytes: number;
  packet: string;
}

export interface Batch {
  file: string;
  begin: string;
  end: string;
  bytes: number;
  sha256: string;
  immediate?: boolean;
  withdrawals?: number[];
  commands: number[];
}

export interface Entry {
  command: string;
  time: string;
  bytes: number;
  sequence_count: number;
}

// Of an earlier load, taken out of the table by this one.
export interface Withdrawal {
  number: number;
  entry: Entry;
  source: Place | null;
  window: number | null;
  received: string | null;
}

export interface Window {
  name: string;
  antenna: string;
  opens: string;
  closes: string;
  from: number;
  to: number;
  batch: Batch | null;
}

export interface Check {
  code: string;
  check: string;
  subject: string;
  verdict: Verdict;
  assurance: "guaranteed" | "nominal";
  margin: number | null;
  value: number | null;
  limit: number | null;
  unit: string;
  guaranteed: { margin: number; value: number; limit: number; time: string; offset: number } | null;
  time: string;
  offset: number;
  interval: [number, number];
  cause: number[];
  detail: string;
  limit_source: Place | null;
  waiver: number | null;
}

export interface Waiver {
  check: string;
  subject: string;
  accepts: string | null;
  from: string;
  to: string;
  until: string;
  because: string;
  reference: string;
  applies: boolean;
  source: Place | null;
}

export interface Limit {
  kind: "survival" | "operating";
  low: number;
  high: number;
  alert: number;
  while: string | null;
}

export type StateRow = [number, number, string | null, string | null, number | null];

export interface PartStates {
  part: string;
  rows: StateRow[];
}

export interface Plan {
  format: string;
  version: number;
  tool: string;
  load: {
    name: string;
    station: string;
    title: string;
    address: number;
    begin: string;
    end: string;
    previous_plan: string | null;
    notes: string[];
  };
  cautions: string[];
  inputs: { name: string; sha256: string; bytes: number }[];
  leap_seconds: { expires: string | null; assumed_after_expiry: boolean };
  verdict: Verdict;
  marks: { name: string; time: string; source: Place | null }[];
  nothing_sent: { unit: string; state: string; time: string; source: Place | null }[];
  commands: Command[];
  carried: Entry[];
  withdrawn?: Withdrawal[];
  windows: Window[];
  backout: { file: string; bytes: number; sha256: string };
  checks: Check[];
  waivers: Waiver[];
  power: {
    floor: number;
    points: [number, number, number, number][];
    guaranteed: [number, number, number, number][];
    energy: { unit: string; day: number; wh: number }[];
    storage: { capacity: number; floor: number; points: [number, number][]; guaranteed: [number, number][] } | null;
    shed: { time: string; unit: string }[];
  };
  temperatures: {
    nodes: { name: string; limits: Limit[]; points: [number, number][]; band: [number, number, number][] }[];
    heaters: { name: string; on: [number, number][]; may_be_on: [number, number][]; duty: number }[];
  };
  table: { entries_cap: number; bytes_cap: number; points: [number, number, number][] };
  states: PartStates[];
  sun: { points: [number, number][] };
  end_state: {
    time: string;
    parts: Record<string, string | null>;
    temperatures: Record<string, number>;
    temperature_bounds: Record<string, [number, number]>;
    heaters_on: string[];
    heaters_unsure: string[];
    once_spent: string[];
    table: { command: string; time: string }[];
    sequence_count: number;
  };
}

// The plan in the page, or a sentence why there is none.
export function readPlan(text: string): Plan | string {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return "The data in this page are not JSON.";
  }
  const plan = value as Partial<Plan> | null;
  if (typeof plan !== "object" || plan === null || plan.format !== "cairn-plan") {
    return "The data in this page are not a plan.";
  }
  if (plan.version !== 1) return "The data in this page are a plan of a version that this page does not know.";
  return plan as Plan;
}
