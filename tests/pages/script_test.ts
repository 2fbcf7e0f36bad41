// The arithmetic of the page's script, without a page: run by node, fails by throwing.

import { timeTicks, valueAt, valueTicks } from "../../compiler/pages/chart";
import { nights, whileHolds } from "../../compiler/pages/curves";
import { runs } from "../../compiler/pages/facts";
import type { PartStates } from "../../compiler/pages/plan";
import { View } from "../../compiler/pages/view";
import { clock, degrees, fixed, lengthOfTime, number, readable, shortLengthOfTime, utcText } from "../../compiler/pages/words";

function same(found: unknown, expected: unknown, what: string): void {
  const [left, right] = [JSON.stringify(found), JSON.stringify(expected)];
  if (left !== right) throw new Error(`${what}: expected ${right}, found ${left}`);
}

function writesLengthsOfTime(): void {
  same(lengthOfTime(0), "0 s", "nothing");
  same(lengthOfTime(-0.25), "\u22120.25 s", "a negative part of a second");
  same(lengthOfTime(90061), "1 d 1 h 1 min 1 s", "one of each");
  same(lengthOfTime(7200), "2 h", "whole hours");
  same(shortLengthOfTime(90061), "1 d 1 h", "its two largest parts");
  same(shortLengthOfTime(-7259.9), "\u22122 h", "the rest cut off, not rounded");
  same(shortLengthOfTime(59.5), "59.5 s", "below a minute in full");
  same(lengthOfTime(59.9999), "1 min", "almost a minute, to the millisecond");
}

function writesNumbers(): void {
  same(number(0), "0", "nought");
  same(number(-12.3456), "\u221212.35", "four digits and a real minus");
  same(fixed(-0.04, 1), "0.0", "no minus before a rounded nought");
  same(degrees(273.15), "0.0 \u00b0C", "the ice point, 273.15 K by the definition of the degree Celsius");
  same(runs([7, 1, 2, 3]), [[1, 3], [7, 7]], "runs of numbers");
}

function readsTimes(): void {
  same(clock("2031-05-10T06:00:00Z"), Date.UTC(2031, 4, 10, 6), "a whole second");
  same(clock("2031-05-10T06:00:00.25Z"), Date.UTC(2031, 4, 10, 6) + 250, "a part of a second");
  same(clock("2016-12-31T23:59:60Z"), Date.UTC(2017, 0, 1), "the leap second at the end of 2016 (IERS Bulletin C 52)");
  same(readable("2031-05-10T20:59:14.947998047Z"), "2031-05-10T20:59:14.948Z", "to the millisecond");
  same(readable("2031-05-10T20:59:59.9999Z"), "2031-05-10T21:00:00.000Z", "carried over");
  same(readable("2031-05-10T20:59:14Z"), "2031-05-10T20:59:14Z", "nothing to cut");
  same(readable("2016-12-31T23:59:60.9999Z"), "2016-12-31T23:59:60.9999Z", "a leap second");
  same(Number.isNaN(clock("yesterday")), true, "no time");
  same(utcText(Date.UTC(2031, 4, 10, 6), false), "2031-05-10T06:00Z", "to the minute");
}

function findsValues(): void {
  const points = [[0, 10], [10, 20], [10, 5], [20, 5]];
  same(valueAt(points, 1, -1, false), null, "before the first point");
  same(valueAt(points, 1, 5, false), 15, "between two points");
  same(valueAt(points, 1, 10, false), 5, "on a step: what holds from then on");
  same(valueAt(points, 1, 5, true), 10, "between two points of a stair");
  same(valueAt(points, 1, 30, false), 5, "after the last point");
}

function findsTicks(): void {
  same(valueTicks(0, 10, 5), [0, 2, 4, 6, 8, 10], "round values");
  const ticks = timeTicks(Date.UTC(2031, 4, 10, 6), 0, 86400, 500, 100);
  same(ticks.map((tick) => tick.text), ["06:00", "12:00", "18:00", "05-11", "06:00"], "round times");
  same(ticks.map((tick) => tick.offset), [0, 21600, 43200, 64800, 86400], "where they are");
}

function findsNights(): void {
  same(nights([[0, 10], [10, -10], [20, -10], [30, 10]]), [[5, 25]], "from sunset to sunrise");
  same(nights([[0, -1], [10, -2]]), [[0, 10]], "night throughout");
  same(nights([[0, 1], [10, 2]]), [], "day throughout");
  same(nights([]), [], "no Sun known");
}

function findsWhenAConditionHolds(): void {
  const states: PartStates[] = [{ part: "camera", rows: [
    [0, 10, "off", null, null], [10, 12, "off", "imaging", 1], [12, 30, "imaging", null, 1], [30, 40, null, null, 2]] }];
  same(whileHolds("camera is imaging", states), [[10, 12], [12, 30]], "moving there counts");
  same(whileHolds("camera is off or imaging", states), [[0, 10], [10, 12], [12, 30]], "one of two");
  same(whileHolds("camera is not off", states), [[10, 12], [12, 30]], "not, and not while unknown");
  same(whileHolds("vane is recording", states).length, 1, "a part that is not in the plan: everywhere");
}

function movesTheView(): void {
  const view = new View(0, 0, 1000);
  view.setRange(900, 1200);
  same([view.from, view.to], [700, 1000], "a range stays inside the load");
  view.setRange(500, 501);
  same(view.to - view.from, 60, "a minute is the closest look");
  view.setCursor(2000);
  same(view.cursor, 1000, "the cursor stays inside the load");
  view.show(0);
  same([view.from, view.cursor], [0, 0], "showing a time brings it in sight");
}

writesLengthsOfTime();
writesNumbers();
readsTimes();
findsValues();
findsTicks();
findsNights();
findsWhenAConditionHolds();
movesTheView();
