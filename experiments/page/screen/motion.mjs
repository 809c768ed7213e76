/**
 * The moving picture: balls met twice, from the middle and from the cone, side by side. Flights, and
 * where and when each ball is met, are the worker's (`met`); the run there is drawn straight.
 */
import { Court, wholeView } from "./court.mjs";
import { byId, wantsStillness, write } from "./elements.mjs";

/** @typedef {import("./words.mjs").Words} Words */

export const SHOWN = 30; // balls that are told one by one
const SLOW = 0.25;
const STEP_S = 0.1;
const REST_S = 0.5; // between balls
const LONGEST_FRAME_S = 0.1;
const BEHIND_M = 2.5; // room for balls that are met behind the waiting line
const UP_PER_M = 0.25; // how much larger a ball is drawn, a metre above the ground

/** One of the two courts. */
class Side {
  /** @param {string} name @param {any} facts */
  constructor(name, facts) {
    this.name = name;
    this.facts = facts;
    this.court = new Court(byId(`see-${name}`), facts, wholeView(facts, 0));
    this.contact = this.court.mark("contact");
    this.spot = this.court.mark(name === "cone" ? "cone" : "middle");
    this.runner = this.court.mark("runner");
    this.missedMark = this.court.mark("missed");
    this.reachedMark = this.court.mark("reached");
    this.ball = this.court.mark("ball");
    /** @type {any[]} balls that landed in */
    this.balls = [];
    /** @type {[number, number]} */
    this.place = [0, 0];
  }

  /** @param {any} met @param {[number, number]} place */
  take(met, place) {
    this.balls = met.shown.filter((/** @type {any} */ ball) => ball.landed_in);
    this.place = place;
    this.court.show(wholeView(this.facts, place[1] - BEHIND_M));
  }

  /** How long a ball is shown. @param {number} k */
  lasts(k) {
    const { path, meeting, grade } = this.balls[k];
    return grade === this.facts.missed ? path.at(-1)[0] : Math.min(meeting.time_s, path.at(-1)[0]);
  }

  /** Draw ball k so long after its strike. @param {number} k @param {number} time @param {number} reaction */
  draw(k, time, reaction) {
    const { path, meeting, grade } = this.balls[k];
    const end = this.lasts(k);
    const at = Math.min(time, end);
    const [x, y, z] = placeAt(path, at);
    this.court.put(this.contact, path[0][1], path[0][2]);
    this.court.put(this.spot, ...this.place);
    this.court.put(this.ball, x, y, 1 + UP_PER_M * Math.max(z, 0));
    const run = Math.max(meeting.time_s - reaction, 0.01);
    const share = Math.min(Math.max((at - reaction) / run, 0), 1);
    const body = [meeting.body_x_m, meeting.body_y_m].map((to, i) => this.place[i] + share * (to - this.place[i]));
    this.court.put(this.runner, body[0], body[1]);
    const isOver = time >= end;
    for (const [mark, shown] of /** @type {[Element, boolean][]} */ ([[this.missedMark, grade === this.facts.missed], [this.reachedMark, grade !== this.facts.missed]])) {
      if (isOver && shown) this.court.put(mark, x, y);
      else this.court.hide(mark);
    }
    return isOver;
  }

  /** Balls reached of the first so many. @param {number} count */
  reached(count) {
    return this.balls.slice(0, count).filter(({ grade }) => grade !== this.facts.missed).length;
  }
}

/** @param {number[][]} path time, x, y, height each @param {number} time @returns {number[]} */
function placeAt(path, time) {
  const after = path.findIndex(([t]) => t >= time);
  if (after < 0) return path[path.length - 1].slice(1);
  if (after === 0) return path[0].slice(1);
  const [a, b] = [path[after - 1], path[after]];
  const share = (time - a[0]) / Math.max(b[0] - a[0], 1e-9);
  return [1, 2, 3].map((i) => a[i] + share * (b[i] - a[i]));
}

export class Motion {
  /** @param {any} facts @param {Words} words */
  constructor(facts, words) {
    this.words = words;
    this.scenes = ["middle", "cone"].map((name) => new Side(name, facts));
    this.ball = 0;
    this.time = 0; // since it was struck
    this.reaction = 0;
    this.isPlaying = false;
    this.isSlow = false;
    this.isReady = false;
    this.last = 0;
    const on = (/** @type {string} */ id, /** @type {() => void} */ action) => byId(`see-${id}`).addEventListener("click", action);
    on("play", () => this.play(!this.isPlaying));
    on("slow", () => this.slow());
    on("step", () => this.step());
    on("next", () => this.toBall(this.ball + 1));
    on("again", () => this.toBall(0));
    this.enable();
  }

  /** Begin with other balls. @param {any[]} met from the middle and from the cone @param {[number, number][]} places @param {number} reaction */
  take(met, places, reaction) {
    this.scenes.forEach((scene, i) => scene.take(met[i], places[i]));
    this.reaction = reaction;
    this.isReady = this.count > 0;
    this.enable();
    const [middle, cone] = met.map(({ missed_per_100: { value, low, high } }) => this.words.interval({ estimate: value, low, high }));
    write("see-whole", this.words.say("see.whole", { balls: met[0].balls, middle, cone }));
    this.toBall(0);
    this.play(!wantsStillness());
  }

  /** Other balls are on their way. */
  forget() {
    this.isReady = false;
    this.play(false);
    this.enable();
    write("see-whole", this.words.say("nothing_yet"));
  }

  enable() {
    for (const id of ["play", "slow", "step", "next", "again"]) byId(`see-${id}`).disabled = !this.isReady;
  }

  get count() {
    return Math.min(...this.scenes.map(({ balls }) => balls.length));
  }

  /** @param {boolean} wanted */
  play(wanted) {
    const starts = wanted && !this.isPlaying && this.isReady;
    if (starts && this.isAtEnd) this.toBall(0);
    this.isPlaying = wanted && this.isReady;
    write("see-play", this.words.say(this.isPlaying ? "see.pause" : "see.play"));
    if (!starts) return;
    this.last = performance.now();
    requestAnimationFrame((now) => this.frame(now));
  }

  slow() {
    this.isSlow = !this.isSlow;
    byId("see-slow").setAttribute("aria-pressed", String(this.isSlow));
  }

  step() {
    this.play(false);
    this.advance(STEP_S);
  }

  /** @param {number} now in ms */
  frame(now) {
    if (!this.isPlaying) return;
    const passed = Math.min(Math.max(now - this.last, 0) / 1000, LONGEST_FRAME_S);
    this.last = now;
    this.advance(passed * (this.isSlow ? SLOW : 1));
    if (this.isAtEnd) this.play(false);
    else requestAnimationFrame((next) => this.frame(next));
  }

  get lasts() {
    return Math.max(...this.scenes.map((scene) => scene.lasts(this.ball))) + REST_S;
  }

  get isAtEnd() {
    return this.ball === this.count - 1 && this.time >= this.lasts;
  }

  /** @param {number} seconds */
  advance(seconds) {
    if (!this.isReady) return;
    this.time += seconds;
    if (this.time >= this.lasts && this.ball < this.count - 1) return this.toBall(this.ball + 1);
    this.draw();
  }

  /** @param {number} ball */
  toBall(ball) {
    if (!this.isReady) return;
    [this.ball, this.time] = [Math.min(ball, this.count - 1), 0];
    this.draw();
  }

  draw() {
    for (const scene of this.scenes) {
      const isOver = scene.draw(this.ball, this.time, this.reaction);
      const balls = this.ball + Number(isOver);
      write(`see-${scene.name}-count`, this.words.say("see.count", { reached: scene.reached(balls), balls }));
    }
    write("see-ball", this.words.say("see.ball", { number: this.ball + 1, count: this.count }));
  }
}
