/** The extreme drives as numbers, and where crosscourt drives leave the court: `experiments.balls.angle`. */
import { PATH_COLUMNS } from "./memory.mjs";

/** @typedef {import("./memory.mjs").Placed} Placed */
/** @typedef {import("./scene.mjs").Scene} Scene */
/** @typedef {[number, number, number, number]} Point time, x, y, height */

const BEFORE = ["x_m", "y_m", "z_m", "vx_m_s", "vy_m_s", "vz_m_s", "spin_x_rad_s", "spin_y_rad_s", "spin_z_rad_s"];
const END = ["second_bounce_time_s", "second_bounce_x_m", "second_bounce_y_m"];

/** An extreme drive as numbers; `path` is empty where it does not land in.
 * @param {Scene} scene @param {Placed} extremes EXTREME records (1, 2) @param {number} side 0 left, 1 right */
export function extremeDrive(scene, extremes, side) {
  const { memory } = scene;
  const drive = memory.one({ ...extremes, shape: [2] }, side);
  const get = (/** @type {string} */ name) => memory.get(drive, name);
  const { outcome, path } = wholePath(scene, drive);
  return {
    target_m: [get("target_x_m"), get("target_y_m")],
    speed_m_s: get("speed_m_s"),
    topspin_rpm: get("topspin_rad_s") / memory.n.RPM,
    speed_over_usual: get("speed_m_s") / usual(scene, "speed_m_s"),
    chance_in: get("chance_in"),
    path: outcome === memory.n.IN ? path : [],
  };
}

/** The opponent's usual speed or topspin with the wing of the contact. @param {Scene} scene @param {string} what */
function usual(scene, what) {
  const wing = scene.wing === scene.n.FOREHAND ? "forehand" : "backhand";
  return scene.memory.get(scene.ability, `${wing}_${what}`);
}

/** One drive without error from contact to second bounce. @param {Scene} scene @param {Placed} drive
 * @returns {{outcome: number, path: Point[]}} */
function wholePath(scene, drive) {
  const { memory, n } = scene;
  const mark = memory.mark();
  const ball = memory.records("BALL");
  const after = memory.room(1, n.PATH_POINTS, PATH_COLUMNS);
  memory.call("sim.stroke:fly_exactly", scene.faced, drive, ...scene.flight, ball, after);
  const found = { outcome: memory.get(ball, "outcome"), path: flightOf(scene, ball, after) };
  memory.release(mark);
  return found;
}

/** The whole flight of a BALL record and its path: from the strike over the first bounce to the second.
 * @param {Scene} scene @param {Placed} ball @param {Placed} after @returns {Point[]} */
export function flightOf({ memory, n, world }, ball, after) {
  const mark = memory.mark();
  const before = memory.room(n.PATH_POINTS, PATH_COLUMNS);
  const start = BEFORE.map((name) => memory.get(ball, name));
  const [count] = memory.call("sim.flight:trace", 0, ...start, world, before);
  const rows = (/** @type {Placed} */ placed, /** @type {number} */ many) => {
    const all = memory.floats(placed);
    return Array.from({ length: many }, (_, i) => {
      return /** @type {Point} */ ([n.T, n.X, n.Y, n.Z].map((column) => all[i * PATH_COLUMNS + column]));
    });
  };
  const [t, x, y] = END.map((name) => memory.get(ball, name));
  const path = [...rows(before, Number(count)), ...rows(after, memory.get(ball, "points"))];
  path.push([t, x, y, memory.get(world, "radius_m")]);
  memory.release(mark);
  return path;
}

/** Whether the ball of a path is outside a singles sideline before the waiting line. @param {Scene} scene @param {Point[]} path */
function leavesSinglesCourt({ n, line_m: line }, path) {
  const before = path.filter(([, , y]) => y >= -line);
  const outside = Math.max(...before.map(([, x]) => Math.abs(x))) > n.HALF_WIDTH_M;
  if (outside || before.length === path.length) return outside;
  const [a, b] = [path[before.length - 1], path[before.length]];
  const share = (-line - a[2]) / (b[2] - a[2]);
  return Math.abs(a[1] + share * (b[1] - a[1])) > n.HALF_WIDTH_M;
}

/** Bounce depth from the net short of which a usual crosscourt drive leaves the singles court before
 * the waiting line; null where none does, the baseline's depth where every one does. @param {Scene} scene */
export function leavesCourtM(scene) {
  const { memory, n } = scene;
  const mark = memory.mark();
  const target = (scene.x_m > 0 ? -1 : 1) * (n.HALF_WIDTH_M - n.LINE_MARGIN_M);
  const drive = memory.records("EXTREME");
  memory.set(drive, "target_x_m", target);
  memory.set(drive, "speed_m_s", usual(scene, "speed_m_s"));
  const spin = memory.room(1);
  const wished = [[usual(scene, "topspin_rad_s")], [scene.z_m]].map((value) => memory.numbers(value));
  memory.call("sim.hitter:fill_usable", ...wished, scene.ability, spin);
  memory.set(drive, "topspin_rad_s", memory.floats(spin)[0]);
  const leaves = (/** @type {number} */ bounce) => {
    memory.set(drive, "target_y_m", -bounce);
    return leavesSinglesCourt(scene, wholePath(scene, drive).path);
  };
  let [short, deep] = [n.NEAREST_BOUNCE_M, n.HALF_LENGTH_M];
  /** @type {number | null} */
  let found = null;
  if (leaves(deep)) found = deep;
  else if (leaves(short)) {
    while (deep - short > n.CLOSE_M) {
      const middle = 0.5 * (short + deep);
      if (leaves(middle)) short = middle;
      else deep = middle;
    }
    found = 0.5 * (short + deep);
  }
  memory.release(mark);
  return found;
}
