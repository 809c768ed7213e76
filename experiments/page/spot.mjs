/**
 * Where to stand while the opponent strikes from one place: the page's question, and its answer.
 *
 * How a page asks. `script.py` makes one text of these modules and of what they need; it stands in
 * the page as data and is started as a worker:
 *
 *     const text = document.getElementById("computing").textContent;
 *     const worker = new Worker(URL.createObjectURL(new Blob([text], { type: "text/javascript" })));
 *     worker.onmessage = ({ data }) => ...;
 *     worker.postMessage({ id: 1, ask: "spot", scene: { player: 0, hitter: "habit", seed: 1 } });
 *
 * The content policy has to allow `worker-src blob:` and `script-src 'wasm-unsafe-eval'`. Messages:
 *
 *     {id, ask: "who"}                   what can be chosen: people, hitters, surfaces, balls,
 *                                        policies, and the engine's constants (`numbers`)
 *     {id, ask: "spot", scene, places?, policies?}
 *                                        a scene as `Asked` of scene.mjs; own spots [[x, y], ...],
 *                                        which are told as "own 1", ...; names of policies, else all
 *     {id, ask: "met", scene, place, first?, shown?}
 *                                        balls met from a place [x, y] as points have it, the first
 *                                        `shown` told one by one for a moving picture (met.mjs)
 *     {id, ask: "stop"}                  nothing more is wanted
 *
 * A newer message ends the work on the one before. Answers carry the message's `id`: {id, who},
 * {id, spot, done}, {id, met, done}, or {id, error}, a text in English; {error} alone says that the
 * kernels do not start in this browser. Answers to "spot" are rough at
 * first and then rest on more and more balls; with `done` they rest on all of `scene.balls` and are
 * the numbers of the command `spot --json` before rounding, by the same names, but for what the page
 * asked itself. To these come `extremes[k].path` (time, x, y, height), empty where that drive does not
 * land in, `best_missed_per_100` at the top, and for a charted hitter `leans_on_habit`, from 0 (the
 * chart alone) to 1. An own spot is never the best place: it does not move what is compared with it.
 * Spots that are worked out from losses (best-for-belief, safest, guard) are in `policies` of
 * the last answer only. Lengths in m, times in s, shares from 0 to 1, x to the right of the player who
 * waits, y < 0 on that player's side.
 */
import { extremeDrive, leavesCourtM } from "./angle.mjs";
import { aroundX, bestOf, joinedBest, lineX, topOf, withoutRepeats } from "./best.mjs";
import { leanOf } from "./charted.mjs";
import { Column, meetFrom } from "./columns.mjs";
import { binomialShare, complement, scaled } from "./intervals.mjs";
import { Scene } from "./scene.mjs";
import { bisectorX, extremesOf, spotOf } from "./spots.mjs";
import { sharesOf, strikerOf } from "./strike.mjs";
import { byHalves, inOrder, toEven } from "./sums.mjs";

/** @typedef {import("./memory.mjs").Memory} Memory */
/** @typedef {import("./scene.mjs").Asked} Asked */
/** @typedef {import("./best.mjs").Best} Best */

const STAGES = [100, 400, 1600]; // balls of the rough answers
const FEWEST = 25; // of the first one where each place needs balls of its own
const OWN = "own"; // before the number of an own spot, as its name

/**
 * The answers to a question, from rough to whole. Yields undefined wherever it can be left alone.
 * @param {Memory} memory @param {Asked} asked @param {[number, number][]} places own spots
 * @param {string[]} [only] names of the policies that are asked about; all of them if not given
 * @returns {Generator<any, void>}
 */
export function* spotAnswers(memory, asked, places = [], only = undefined) {
  const start = memory.mark();
  try {
    const scene = new Scene(memory, asked);
    const slowest = extremesOf(scene, false);
    const seen = whatIsSeen(scene, slowest);
    const policies = memory.state.policies.filter((p) => !only || only.includes(p.name));
    const { looks } = scene.hitter;
    const most = lineX(memory.n, false).length + policies.length + places.length;
    const striker = yield* strikerOf(scene, looks ? 1 : most);
    const found = looks ? new LookedAt(striker) : new MetByAll(striker);
    const own = places.map((place, k) => ({ name: `${OWN} ${k + 1}`, place }));
    for (const { name, place } of own) found.add(name, place);
    for (const policy of policies.filter(isQuick)) found.add(policy.name, yield* spotOf(scene, policy, slowest));
    const order = [...policies.map((policy) => policy.name), ...own.map(({ name }) => name)];
    const stages = looks ? [FEWEST, ...STAGES] : STAGES;
    for (const balls of [...stages.filter((stage) => stage < scene.balls), scene.balls]) {
      const done = balls === scene.balls;
      for (const policy of done ? policies.filter((p) => !isQuick(p)) : []) {
        found.add(policy.name, yield* spotOf(scene, policy, slowest));
      }
      yield* found.upTo(balls);
      if (found.isEmpty) {
        if (done) throw new RangeError(memory.n.NOTHING_TO_REACH);
        continue;
      }
      yield { ...seen, ...found.said(order), balls, done };
    }
  } finally {
    memory.release(start);
  }
}

/** Whether a policy's spot is there at once. @param {{rule: string}} policy */
const isQuick = (policy) => policy.rule !== "losses";

/** What is said before any ball is struck. @param {Scene} scene @param {import("./memory.mjs").Placed} slowest */
function whatIsSeen(scene, slowest) {
  const fastest = extremesOf(scene, true);
  return {
    depth_m: scene.depth_m,
    seed: String(scene.seed),
    extremes: [0, 1].map((side) => extremeDrive(scene, fastest, side)),
    bisector_x_m: bisectorX(scene, slowest),
    crosscourt_leaves_court_below_m: leavesCourtM(scene),
    leans_on_habit: scene.hitter.blank === undefined ? null : leanOf(scene, sharesOf(scene)),
  };
}

/** The waiting line and the spots, and what the balls struck so far say of them. */
class Found {
  /** @param {import("./strike.mjs").Striker} striker */
  constructor(striker) {
    this.striker = striker;
    this.scene = striker.scene;
    this.n = this.scene.n;
    /** @type {Map<string, Column>} */
    this.spots = new Map();
    /** @type {Column[]} the places that were looked at along the line, ascending */
    this.line = [];
  }

  /** @param {string} name @param {[number, number]} place */
  add(name, [x, y]) {
    this.spots.set(name, new Column(x, y, true));
  }

  /** A new column on the waiting line. @param {number} x */
  onTheLine(x) {
    return new Column(x, -this.scene.line_m);
  }

  get isEmpty() {
    return [...this.line, ...this.spots.values()].some((column) => column.landed === 0);
  }

  /** The spots of policies that lie on the waiting line. */
  get spotsOnTheLine() {
    const policies = [...this.spots].filter(([name]) => !name.startsWith(`${OWN} `)).map(([, column]) => column);
    return policies.filter(({ y }) => Math.abs(y + this.scene.line_m) < this.n.SAME_PLACE_M);
  }

  /** The best place, as balls are met. @returns {Best} */
  get best() {
    throw new TypeError("a line is met by all balls, or looked at");
  }

  /** How the library adds up the seconds to spare of a chunk: a single column by halves. */
  get sum() {
    return this.scene.hitter.looks || this.spots.size === 1 ? byHalves : inOrder;
  }

  /** All that is known, as `spot --json` names it. @param {string[]} order names of the spots */
  said(order) {
    const spots = order.filter((name) => this.spots.has(name));
    const counted = spots.length ? [...this.spots.values()] : this.line;
    const landed = counted.reduce((total, column) => total + column.landed, 0) / counted.length;
    const { share, ...best } = this.best;
    return {
      balls_landed_in: toEven(landed),
      policies: Object.fromEntries(spots.map((name) => [name, this.saidOf(name)])),
      best: { ...best, share_in_time: share },
      best_missed_per_100: this.missed(share, landed),
      curve: this.line.map((column) => [column.x, column.inTime]),
      curve_share_set: this.line.map((column) => [column.x, column.shareSet]),
      curve_balls_a_place: this.line[0].balls,
    };
  }

  /** @param {string} name of a spot */
  saidOf(name) {
    const column = /** @type {Column} */ (this.spots.get(name));
    const across = this.scene.x_m;
    return {
      x_m: column.x,
      y_m: column.y,
      share_in_time: column.inTime,
      share_set: column.shareSet,
      time_to_spare_s: column.meanSpare(this.sum),
      shade_m_per_m: across ? -column.x / across + 0 : null,
      missed_per_100: this.missed(column.inTime, column.landed),
    };
  }

  /** Balls missed of 100, where a share of those that landed is kept. @param {number} inTime @param {number} landed */
  missed(inTime, landed) {
    const { value, low, high } = scaled(complement(binomialShare(this.scene.memory, inTime, landed)), 100);
    return { estimate: value, low, high };
  }
}

/** All places meet the very same balls. */
class MetByAll extends Found {
  /** @param {number} balls @returns {Generator<undefined, void>} */
  *upTo(balls) {
    if (!this.line.length) this.line = lineX(this.n, false).map((x) => this.onTheLine(x));
    yield* meetFrom(this.striker, [...this.line, ...this.spots.values()], balls);
  }

  get best() {
    const columns = [...this.line, ...this.spotsOnTheLine];
    const curve = withoutRepeats(columns.map(({ x }) => x), columns.map(({ inTime }) => inTime));
    return bestOf(this.n, curve.x, curve.kept);
  }
}

/** A hitter who looks plays other balls to each place: the line is looked at with few, coarse and then
 * finer near its best place; that one is judged among its neighbours and the spots on all of them. */
class LookedAt extends Found {
  /** @param {import("./strike.mjs").Striker} striker */
  constructor(striker) {
    super(striker);
    /** @type {Map<number, Column>} */
    this.tried = new Map();
    /** @type {Map<number, Column>} */
    this.near = new Map();
    /** @type {Column[]} */
    this.judged = [];
  }

  /** @param {number} balls @returns {Generator<undefined, void>} */
  *upTo(balls) {
    this.line = yield* this.refined(Math.min(this.n.LOOK_BALLS, balls));
    const top = bestOf(this.n, ...curveOf(this.line)).top_x_m;
    this.judged = aroundX(this.n, top).map((x) => this.kept(this.near, x));
    yield* meetFrom(this.striker, [...this.judged, ...this.spots.values()], balls);
  }

  /** The column of a place, a new one if there is none. @param {Map<number, Column>} columns @param {number} x */
  kept(columns, x) {
    const found = columns.get(x) ?? this.onTheLine(x);
    columns.set(x, found);
    return found;
  }

  /** The coarse line and finer places near its best one, ascending.
   * @param {number} balls @returns {Generator<undefined, Column[]>} */
  *refined(balls) {
    const coarse = lineX(this.n, true);
    /** @type {Map<number, Column>} */
    const found = new Map(coarse.map((x) => [x, this.kept(this.tried, x)]));
    yield* meetFrom(this.striker, [...found.values()], balls);
    const share = (/** @type {number} */ x) => /** @type {Column} */ (found.get(x)).inTime;
    let best = coarse[topOf(coarse, coarse.map(share))];
    let step = this.n.COARSE_STEP_X_M;
    while (step >= this.n.FINEST_X_M) {
      const beside = [best - step, best + step].filter((x) => Math.abs(x) <= this.n.FARTHEST_X_M);
      for (const x of beside) found.set(x, this.kept(this.tried, x));
      yield* meetFrom(this.striker, beside.map((x) => /** @type {Column} */ (found.get(x))), balls);
      const better = beside.reduce((a, b) => (share(b) > share(a) ? b : a));
      if (share(better) > share(best)) best = better;
      else step /= 2;
    }
    return [...found.values()].sort((a, b) => a.x - b.x);
  }

  get best() {
    const near = [...this.judged, ...this.spotsOnTheLine];
    return joinedBest(this.scene.memory, ...curveOf(this.line), ...curveOf(near));
  }
}

/** The places of columns and the share of balls that is kept there. @param {Column[]} columns @returns {[number[], number[]]} */
function curveOf(columns) {
  return [columns.map(({ x }) => x), columns.map(({ inTime }) => inTime)];
}
