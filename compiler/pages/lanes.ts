// The lanes of the course in their order.

import { commandLane, heaterLane, MarkAt, markLane, stateLane, windowLane } from "./bands";
import { powerLane, storageLanes, sunLane, tableLanes, temperatureLane } from "./curves";
import type { Group } from "./lane";
import type { Plan } from "./plan";

function traffic(plan: Plan, marks: MarkAt[], clockOffset: (utc: string) => number): Group {
  const antennas = [...new Set(plan.windows.map((window) => window.antenna))];
  return {
    title: "Sun, marks, windows, commands", aside: "",
    lanes: [sunLane(plan), ...(marks.length > 0 ? [markLane(marks)] : []),
      ...antennas.map((antenna) => windowLane(plan, antenna, clockOffset)), commandLane(plan)],
  };
}

function states(plan: Plan): Group {
  const still = plan.states.filter((part) => part.rows.length === 1)
    .map((part) => `${part.part}: ${part.rows[0][2] ?? "unknown"}`);
  return {
    title: "States",
    lanes: plan.states.filter((part) => part.rows.length > 1).map(stateLane),
    aside: still.length > 0 ? `Unchanged: ${still.join(", ")}.` : "",
  };
}

function heaters(plan: Plan): Group {
  const idle = plan.temperatures.heaters.filter((heater) => heater.on.length === 0).map((heater) => heater.name);
  return {
    title: "Heaters",
    lanes: plan.temperatures.heaters.filter((heater) => heater.on.length > 0)
      .map((heater) => heaterLane(heater.name, heater.on, heater.may_be_on, heater.duty)),
    aside: idle.length > 0 ? `Never on: ${idle.join(", ")}` : "",
  };
}

export function groups(plan: Plan, marks: MarkAt[], clockOffset: (utc: string) => number): Group[] {
  const temperatures = plan.temperatures.nodes.map((node) => temperatureLane(plan, node));
  return [
    traffic(plan, marks, clockOffset),
    states(plan),
    { title: "Power", aside: "", lanes: [powerLane(plan), ...storageLanes(plan)] },
    { title: "Temperatures", aside: "", lanes: temperatures },
    heaters(plan),
    { title: "Command table", aside: "", lanes: tableLanes(plan) },
  ].filter((group) => group.lanes.length > 0 || group.aside !== "");
}
