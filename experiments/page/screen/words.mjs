/** The page's texts with their fields filled in, and what is said of places and numbers. */

/** @typedef {{estimate: number, low: number, high: number}} Interval */

const FIELD = /\{\{|\}\}|\{(\w+)\}/g;
const UNIT = /(\d) (?=(?:km\/h|m|s|%)(?:\W|$))/g; // a number and its unit share a line
const KM_H = 3.6;

/** A number that lies halfway between two of so many decimals as the even one, as Python says it; any
 * other as it is. @param {number} value @param {number} digits */
function evened(value, digits) {
  const halves = value * 2 ** (digits + 1);
  if (!Number.isInteger(halves) || halves % 2 === 0) return value;
  const down = Math.floor(value * 10 ** digits);
  return (down % 2 === 0 ? down : down + 1) / 10 ** digits;
}

export class Words {
  /** @param {Record<string, string>} texts by key @param {any} facts */
  constructor(texts, facts) {
    this.texts = texts;
    this.facts = facts;
  }

  /** The text of a key with its fields filled in; a doubled brace is one.
   * @param {string} key @param {Record<string, string | number>} [fields] */
  say(key, fields = {}) {
    const filled = this.texts[key].replace(FIELD, (found, name) => (name ? String(fields[name]) : found[0]));
    return filled.replace(UNIT, "$1\u00a0");
  }

  /** A number with the mark and the minus of the language. @param {number} value @param {number} [digits] */
  number(value, digits = 1) {
    const rounded = Number(evened(value, digits).toFixed(digits)) + 0; // no -0
    return rounded.toFixed(digits).replace("-", this.texts.minus).replace(".", this.texts.decimal);
  }

  /** What a level, hitter, surface or policy is called. @param {string} name */
  name(name) {
    const key = `names.${name}`;
    return Object.hasOwn(this.texts, key) ? this.texts[key] : name.replaceAll("-", " ");
  }

  /** A place across the court. @param {number} x in metres, to the right of the player who waits */
  across(x) {
    if (Math.abs(x) < this.facts.near_middle_m) return this.say("side.middle");
    return this.say(x < 0 ? "side.left" : "side.right", { metres: this.number(Math.abs(x)) });
  }

  /** A range across the court. @param {number} low @param {number} high */
  range(low, high) {
    const near = this.facts.near_middle_m;
    const sided = high <= -near || low >= near;
    if (!sided) return this.say("side.range", { from: this.across(low), to: this.across(high) });
    const [from, to] = [low, high].map((x) => this.number(Math.abs(x)));
    return this.say(low < 0 ? "side.range_left" : "side.range_right", { from, to });
  }

  /** A place along the court, on either side of the net. @param {number} y @param {"deep" | "near"} whose */
  along(y, whose) {
    const behind = Math.abs(y) - this.facts.court.half_length_m;
    if (Math.abs(behind) < this.facts.near_middle_m) return this.say(`${whose}.at`);
    const metres = this.number(Math.abs(behind));
    return this.say(behind > 0 ? `${whose}.behind` : `${whose}.inside`, { metres });
  }

  /** A place on the court. @param {number} x @param {number} y */
  place(x, y) {
    return this.say("court.place", { across: this.across(x), along: this.along(y, y > 0 ? "deep" : "near") });
  }

  /** A distance across in steps. @param {number} x */
  steps(x) {
    if (Math.abs(x) < this.facts.near_middle_m) return this.say("no_step");
    const count = this.number(Math.abs(x) / this.facts.step_m);
    return this.say(count === this.number(1) ? "one_step" : "steps", { count });
  }

  /** @param {Interval} interval */
  interval({ estimate, low, high }) {
    const [value, least, most] = [estimate, low, high].map((each) => this.number(each));
    return this.say("interval", { value, low: least, high: most });
  }

  /** A speed in the words of the court. @param {number} speed in m/s */
  kmh(speed) {
    return this.say("kmh", { speed: this.number(speed * KM_H, 0) });
  }

  /** Where to wait, in one sentence. @param {number} x @param {number} y */
  advice(x, y) {
    return this.toWait(x, "answer.", { depth: this.along(y, "near") });
  }

  /** The same in a few words. @param {number} x */
  shortAdvice(x) {
    return this.toWait(x, "answer.short_", {});
  }

  /** @param {number} x @param {string} keys what the texts begin with @param {Record<string, string>} fields */
  toWait(x, keys, fields) {
    if (Math.abs(x) < this.facts.near_middle_m) return this.say(`${keys}middle`, fields);
    const where = { ...fields, steps: this.steps(x), metres: this.number(Math.abs(x)) };
    return this.say(`${keys}${x < 0 ? "left" : "right"}`, where);
  }

  /** How sure it is. @param {any} spot */
  sure({ best, best_missed_per_100: missed }) {
    return this.say("answer.sure", { range: this.range(best.low_m, best.high_m), missed: this.interval(missed) });
  }

  /** What the middle costs. @param {any} spot @returns {string} nothing where it was not asked about */
  costs({ best, policies }) {
    const { middle } = policies;
    if (!middle) return "";
    const fewer = 100 * (best.share_in_time - middle.share_in_time);
    const missed = this.interval(middle.missed_per_100);
    if (fewer <= this.facts.as_good_per_100) return this.say("answer.costs_nothing", { missed });
    return this.say("answer.costs", { fewer: this.number(fewer), missed });
  }
}
