// The plan that comes in, with its commands repeated to 20,000.
import { readFileSync, writeFileSync } from "node:fs";

const plan = JSON.parse(readFileSync(0, "utf8"));
const first = plan.commands;
const seconds = first.at(-1).offset;
plan.commands = Array.from({ length: 20000 }, (_, index) => {
  const offset = Math.round((seconds * index) / 20000);
  return { ...first[index % first.length], number: index + 1, offset,
    time: new Date(Date.parse(plan.load.begin) + offset * 1000).toISOString() };
});
writeFileSync(1, JSON.stringify(plan));
