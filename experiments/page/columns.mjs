/** Balls met from places, added up place by place as more are struck: `experiments.balls.struck`. */
import { SLICE } from "./strike.mjs";
import { inOrder } from "./sums.mjs";

/** @typedef {import("./scene.mjs").Scene} Scene */
/** @typedef {import("./strike.mjs").Striker} Striker */

/** What is known of one place: of the balls that landed in, how many were missed and set. */
export class Column {
  /** @param {number} x @param {number} y @param {boolean} timed whether seconds to spare are kept */
  constructor(x, y, timed = false) {
    this.x = x;
    this.y = y;
    this.timed = timed;
    /** Balls struck so far. */
    this.balls = 0;
    this.landed = 0;
    this.missed = 0;
    this.set = 0;
    /** @type {number[][]} seconds to spare by chunk of balls, 0 for those that did not land in */
    this.spare = [];
  }

  get inTime() {
    return (this.landed - this.missed) / this.landed;
  }

  get shareSet() {
    return this.set / this.landed;
  }

  /** Mean seconds to spare, a chunk added up by `sum`. @param {(values: number[], count: number) => number} sum */
  meanSpare(sum) {
    const chunks = this.spare.map((values) => sum(values, values.length));
    return inOrder(chunks, chunks.length) / this.landed;
  }

  /** @param {number} chunk balls in one @returns {number[]} where the next seconds to spare go */
  open(chunk) {
    const at = Math.floor(this.balls / chunk);
    return (this.spare[at] ??= []);
  }
}

/**
 * Strike balls and meet them from the places of columns until each has met `balls`; hands over after
 * each slice. All places meet the same balls, but against a hitter who looks each its own.
 * @param {Striker} striker @param {Column[]} columns @param {number} balls @returns {Generator<undefined, void>}
 */
export function* meetFrom(striker, columns, balls) {
  const { hitter, n } = striker.scene;
  const waiting = columns.filter((column) => column.balls < balls);
  const groups = hitter.looks ? waiting.map((column) => [column]) : [...alike(waiting)];
  for (const group of groups) {
    while (group[0].balls < balls) {
      const at = group[0].balls;
      count(striker, group, Math.min(SLICE, balls - at, n.CHUNK - (at % n.CHUNK)));
      yield;
    }
  }
}

/** Columns that have met as many balls. @param {Column[]} columns */
function alike(columns) {
  /** @type {Map<number, Column[]>} */
  const groups = new Map();
  for (const column of columns) groups.set(column.balls, [...(groups.get(column.balls) ?? []), column]);
  return groups.values();
}

/** Strike the next `balls` of a group and count them. @param {Striker} striker @param {Column[]} group @param {number} balls */
function count(striker, group, balls) {
  const { memory, n } = striker.scene;
  const mark = memory.mark();
  striker.strike(group[0].balls, balls, group[0].x, group[0].y);
  const k = group.length;
  const x = memory.numbers(group.map((column) => column.x), 1, k);
  const y = memory.numbers(group.map((column) => column.y), 1, k);
  const { spare, grade } = striker.appraise(balls, x, y);
  const [grades, times] = [memory.counts(grade), memory.floats(spare)];
  const outcomes = memory.column(memory.first(striker.balls, balls), "outcome");
  group.forEach((column, j) => {
    const seconds = column.timed ? column.open(n.CHUNK) : null;
    for (let i = 0; i < balls; i++) {
      const at = i * k + j;
      const isIn = outcomes[i] === n.IN;
      if (isIn) {
        column.landed++;
        if (grades[at] === n.MISSED) column.missed++;
        else if (grades[at] === n.SET) column.set++;
      }
      seconds?.push(isIn ? Math.max(times[at], -n.SETTLED_OFF_S) : 0);
    }
    column.balls += balls;
  });
  memory.release(mark);
}
