/**
 * The page: a case, the worker that answers it, and all that shows the answer.
 *
 * A change of the case goes one way: into the address, the fields and the first screen, and as a
 * question to the worker; what the worker answers is shown wherever a section is open.
 */
import { Asker } from "./asker.mjs";
import { addressOf, caseOf, sceneOf, usualCase, waitsAt } from "./case.mjs";
import { Charting } from "./charting.mjs";
import { Controls } from "./controls.mjs";
import { byId, write } from "./elements.mjs";
import { FirstScreen } from "./first.mjs";
import { Motion, SHOWN } from "./motion.mjs";
import { Take } from "./take.mjs";
import { Fan, OwnSpot, showRule, Ways } from "./views.mjs";
import { Words } from "./words.mjs";

/** @typedef {import("./case.mjs").Case} Case */

const QUICK = ["middle"]; // policies that are asked about while something is still moving

class Page {
  constructor() {
    this.facts = JSON.parse(byId("facts").textContent);
    this.words = new Words(JSON.parse(byId("texts").textContent), this.facts);
    const { facts, words } = this;
    /** @type {any} the newest answer */
    this.spot = null;
    this.case = usualCase(facts);
    this.asker = new Asker(byId("computing").textContent, (error) => this.failed(words.say("broken", { error })));
    this.first = new FirstScreen(facts, words, (x, y, hurried) => this.change({ contact_m: [x, y, this.case.contact_m[2]] }, hurried));
    this.controls = new Controls(facts, words, (changes, hurried) => this.change(changes, hurried));
    this.own = new OwnSpot(facts, words, (own, hurried) => this.change({ own }, hurried));
    this.fan = new Fan(facts, words);
    this.ways = new Ways(facts, words);
    this.motion = new Motion(facts, words);
    this.motionFor = ""; // the question whose balls are shown
    this.charting = new Charting(facts, words, () => this.charted());
    this.take = new Take(words, () => this.change(usualCase(facts), false));
    byId("chart-use").addEventListener("click", () => this.charted());
    for (const id of ["own", "fan", "ways", "numbers", "see", "chart"]) byId(id).addEventListener("toggle", () => this.show());
    byId("down").addEventListener("click", (/** @type {MouseEvent} */ event) => {
      event.preventDefault(); // the address is the case
      byId("more").scrollIntoView();
      byId("more").focus({ preventScroll: true });
    });
    addEventListener("hashchange", () => this.readAddress());
    this.readAddress();
  }

  readAddress() {
    const { case: asked, ignored } = caseOf(location.hash, this.facts);
    write("notice", ignored.length ? this.words.say("take.ignored", { parts: ignored.join(", ").slice(0, 200) }) : "");
    this.case = asked;
    this.ask(false);
  }

  /** @param {Partial<Case>} changes @param {boolean} hurried whether more is about to change */
  change(changes, hurried) {
    this.case = { ...this.case, ...changes };
    write("notice", "");
    if (!hurried) this.writeAddress();
    this.ask(hurried);
  }

  writeAddress() {
    const address = addressOf(this.case, this.facts);
    try {
      history.replaceState(null, "", address || location.pathname + location.search);
    } catch {
      // where a page stands in a frame without an address, the case is still in "Take it along"
    }
  }

  /** Strokes were tapped or imported: the opponent is the charted one from now on. */
  charted() {
    this.change({ hitter: "charted", opponent_hand: this.charting.hand }, false);
  }

  get waits() {
    return waitsAt(this.case, this.facts);
  }

  get scene() {
    return sceneOf(this.case, this.facts, this.charting.strokes);
  }

  /** @param {boolean} hurried */
  ask(hurried) {
    const { case: asked, facts } = this;
    this.controls.show(asked);
    this.charting.setHand(asked.opponent_hand);
    showRule(facts.people[asked.player].rule);
    this.first.ask(asked, this.waits);
    this.take.show(addressOf(asked, facts));
    this.asker.forgetMet();
    this.motion.forget();
    this.motionFor = "";
    const message = { scene: this.scene, places: asked.own ? [asked.own] : [], ...(hurried ? { policies: QUICK } : {}) };
    this.asker.spot(
      message,
      (spot) => this.answered(spot, hurried),
      (error) => this.failed(this.words.say("error", { error })),
    );
    this.state = "asked";
  }

  /** How far the answer is: asked, rough, whole or none; the page's root tells it to style and tests.
   * @param {string} state */
  set state(state) {
    document.documentElement.dataset.answer = state;
  }

  /** @param {string} text */
  failed(text) {
    this.spot = null;
    this.first.fail(text);
    this.state = "none";
  }

  /** @param {any} spot @param {boolean} hurried */
  answered(spot, hurried) {
    this.spot = hurried ? { ...spot, done: false } : spot;
    this.show();
    this.state = this.spot.done ? "whole" : "rough";
  }

  show() {
    const { spot, case: asked, waits } = this;
    if (spot === null) return;
    this.first.show(spot, asked, waits);
    if (byId("own").open) this.own.show(spot, asked, waits);
    if (byId("fan").open) this.fan.show(spot, asked, waits);
    if (byId("ways").open) this.ways.show(spot);
    if (byId("chart").open) this.showChart();
    if (byId("see").open) this.see();
    else this.motion.play(false);
  }

  showChart() {
    const { spot, words } = this;
    const isCharted = this.case.hitter === "charted";
    const lean = spot.leans_on_habit;
    const share = words.number(100 * (lean ?? 0), 0);
    const rest = words.number(100 * (1 - (lean ?? 0)), 0);
    write("chart-lean", isCharted && lean !== null ? words.say("chart.lean", { share, rest }) : "");
    byId("chart-other").hidden = isCharted || this.charting.strokes.length === 0;
  }

  /** Ask for the balls of the moving picture, once the cone is sure. */
  see() {
    const { spot, facts } = this;
    byId("see-looks").hidden = !facts.hitters[this.case.hitter];
    const question = JSON.stringify(this.scene);
    if (!spot.done || this.motionFor === question) return;
    this.motionFor = question;
    /** @type {[number, number][]} */
    const places = [[0, this.waits], [spot.best.x_m, this.waits]];
    /** @type {any[]} */
    const found = [];
    const reaction = facts.people[this.case.player].reaction_s;
    places.forEach((place) => {
      const hear = (/** @type {any} */ met) => found.push(met) === places.length && this.motion.take(found, places, reaction);
      this.asker.met({ scene: this.scene, place, shown: SHOWN }, hear, (error) => write("see-whole", this.words.say("error", { error })));
    });
  }
}

/** Show the page. */
export function show() {
  new Page();
}
