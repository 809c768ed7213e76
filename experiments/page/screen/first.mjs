/** The first screen: the opponent's contact to drag, the cone, and what is said of it. */
import { placeRanges } from "./case.mjs";
import { Court, wholeView } from "./court.mjs";
import { byId, write } from "./elements.mjs";
import { Handle } from "./handle.mjs";

/** @typedef {import("./case.mjs").Case} Case */
/** @typedef {import("./words.mjs").Words} Words */

const EDGE_M = 0.6; // between a handle and the edge of the picture

export class FirstScreen {
  /** @param {any} facts @param {Words} words @param {(x: number, y: number, hurried: boolean) => void} moved */
  constructor(facts, words, moved) {
    this.facts = facts;
    this.words = words;
    const view = wholeView(facts, 0);
    this.court = new Court(byId("court"), facts, view);
    this.middle = this.court.mark("middle");
    this.cone = this.court.mark("cone");
    const [x, y] = placeRanges(facts);
    this.contact = new Handle(this.court, "contact", {
      label: words.say("court.contact"),
      hint: words.say("court.keys"),
      x: [Math.max(x[0], view.left + EDGE_M), Math.min(x[1], view.right - EDGE_M)],
      y: [y[0], Math.min(y[1], view.top - EDGE_M)],
      told: (across, along) => words.place(across, along),
      moved,
    });
  }

  /** @param {Case} asked @param {number} waits y of the waiting line */
  ask(asked, waits) {
    const [x, y] = asked.contact_m;
    const view = wholeView(this.facts, waits);
    const half = Math.max(view.right, Math.abs(x) + EDGE_M);
    this.court.show({ ...view, left: -half, right: half, top: Math.max(view.top, y + EDGE_M) });
    if (x !== this.contact.x || y !== this.contact.y) this.contact.put(x, y);
  }

  /** @param {any} spot an answer @param {Case} asked @param {number} waits */
  show(spot, asked, waits) {
    const { words, facts, court } = this;
    court.clear();
    court.waiting(waits, spot.best);
    court.put(this.middle, 0, waits);
    court.put(this.cone, spot.best.x_m, waits);
    const { name, level } = facts.people[asked.player];
    const said = words.advice(spot.best.x_m, waits);
    const advice = level ? said : words.say("answer.to", { name: words.name(name), advice: said });
    write("advice", advice);
    write("sure", words.sure(spot));
    if (spot.policies.middle) write("costs", words.costs(spot));
    const basis = words.say("answer.basis", {
      step: words.number(facts.step_m, 2),
      balls: spot.balls,
      who: words.name(name),
      hitter: hitterWords(asked, facts, words),
      surface: words.name(asked.surface),
    });
    write("basis", spot.done ? basis : `${basis} ${words.say("answer.more_balls")}`);
    write("again", words.shortAdvice(spot.best.x_m));
    if (spot.done) write("spoken", [advice, words.sure(spot), words.costs(spot)].join(" "));
  }

  /** There is no answer. @param {string} text */
  fail(text) {
    this.court.clear();
    this.court.hide(this.cone);
    for (const id of ["sure", "costs", "basis"]) write(id, "");
    for (const id of ["advice", "again", "spoken"]) write(id, text);
  }
}

/** @param {Case} asked @param {any} facts @param {Words} words */
function hitterWords(asked, facts, words) {
  const them = words.name(facts.people[asked.opponent ?? asked.player].name);
  return `${them} ${words.name(asked.hitter)}`;
}
