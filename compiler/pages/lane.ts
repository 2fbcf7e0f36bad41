// What a lane of the course is: a title, what it says under the cursor, what it draws, and what it says to who
// cannot see.

import type { Plot } from "./chart";
import type { Verdict } from "./plan";

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
