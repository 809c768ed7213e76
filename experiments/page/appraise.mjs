/** How balls are met from places at rest: `sim.meeting.appraisals`. */

/** @typedef {import("./memory.mjs").Memory} Memory */
/** @typedef {import("./memory.mjs").Placed} Placed */

/** Room to appraise up to `count` balls from up to `places` places. */
export class Appraiser {
  /** @param {Memory} memory @param {number} count @param {number} places */
  constructor(memory, count, places) {
    this.memory = memory;
    this.work = appraisalRoom(memory, places);
    this.spare = memory.room(count, places);
    this.grade = memory.room(count, places);
  }

  /** @param {Placed} balls @param {Placed} paths @param {Placed} x @param {Placed} y @param {Placed} legs @param {Placed} times */
  appraise(balls, paths, x, y, legs, times) {
    const shape = [balls.shape[0], x.shape[1]];
    const spare = { ...this.spare, shape };
    const grade = { ...this.grade, shape };
    this.memory.call("sim.meeting:appraise_all", balls, paths, x, y, legs, times, ...this.work, spare, grade);
    return { spare, grade };
  }
}

/** Room to work in for kernels that appraise from so many places: `sim.meeting.appraisal_room`.
 * @param {Memory} memory @param {number} places @returns {Placed[]} */
export function appraisalRoom(memory, places) {
  const parts = memory.records("PART", 4);
  const points = memory.state.layouts.PART.fields.kept[2];
  for (let i = 0; i < 4; i++) for (let k = 0; k < points; k++) memory.set(parts, "kept", 1, i, k);
  return [parts, memory.records("CLIMB", 2 * places), memory.records("CHASER"), memory.room(memory.n.PATH_POINTS)];
}
