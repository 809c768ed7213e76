/** The fields that make a case: who, against whom, where; each says its value and goes back to usual. */
import { handsOf, PACES, usualCase } from "./case.mjs";
import { byId, write } from "./elements.mjs";

/** @typedef {import("./case.mjs").Case} Case */
/** @typedef {import("./words.mjs").Words} Words */

export class Controls {
  /** @param {any} facts @param {Words} words @param {(changes: Partial<Case>, hurried: boolean) => void} changed */
  constructor(facts, words, changed) {
    this.facts = facts;
    this.words = words;
    this.changed = changed;
    /** What the fields show. */
    this.shown = usualCase(facts);
    this.range("speed", facts.top_speed_m_s, (value) => ({ speed_m_s: value }));
    this.range("pace", PACES, (value) => ({ pace: value }));
    this.range("height", facts.height_m, (value) => ({ contact_m: [...this.shown.contact_m.slice(0, 2), value] }));
    this.range("depth", facts.depth_m, (value) => ({ depth_m: value }));
    this.choice("player", (value) => this.otherPlayer(Number(value)));
    this.choice("hand", (value) => ({ hand: value }));
    this.choice("opponent", (value) => this.otherOpponent(value === "" ? null : Number(value)));
    this.choice("opponent-hand", (value) => ({ opponent_hand: value }));
    this.choice("hitter", (value) => ({ hitter: value }));
    this.choice("surface", (value) => ({ surface: value }));
    /** @type {[string, Partial<Case>][]} */
    const usual = [["speed", { speed_m_s: null }], ["pace", { pace: 1 }], ["depth", { depth_m: null }]];
    for (const [id, changes] of usual) byId(`${id}-usual`).addEventListener("click", () => changed(changes, false));
  }

  /** @param {string} id @param {number[]} ends @param {(value: number) => any} changes */
  range(id, [low, high], changes) {
    const slider = byId(id);
    [slider.min, slider.max] = [String(low), String(high)];
    slider.addEventListener("input", () => this.changed(changes(Number(slider.value)), true));
    slider.addEventListener("change", () => this.changed(changes(Number(slider.value)), false));
  }

  /** @param {string} id @param {(value: string) => any} changes */
  choice(id, changes) {
    const field = byId(id);
    field.addEventListener("change", () => this.changed(changes(field.value), false));
  }

  /** @param {number} player @returns {Partial<Case>} */
  otherPlayer(player) {
    const hands = handsOf(player, this.facts);
    const hand = hands.includes(this.shown.hand) ? this.shown.hand : hands[0];
    return { player, hand, speed_m_s: null, depth_m: null };
  }

  /** @param {number | null} opponent @returns {Partial<Case>} */
  otherOpponent(opponent) {
    const hands = handsOf(opponent, this.facts);
    const hand = hands.includes(this.shown.opponent_hand) ? this.shown.opponent_hand : hands[0];
    return { opponent, opponent_hand: hand, pace: 1 };
  }

  /** @param {Case} asked */
  show(asked) {
    this.shown = asked;
    const { facts, words } = this;
    const me = facts.people[asked.player];
    const them = facts.people[asked.opponent ?? asked.player];
    const speed = asked.speed_m_s ?? me.top_speed_m_s;
    const depth = asked.depth_m ?? me.waits_behind_m[asked.surface];
    const metres = (/** @type {number} */ value, digits = 1) => words.say("metres", { metres: words.number(value, digits) });
    this.slide("speed", speed, words.say("ms", { speed: words.number(speed, 2) }));
    const forehand = words.kmh(them.forehand_speed_m_s * asked.pace);
    const share = words.number(100 * asked.pace, 0);
    this.slide("pace", asked.pace, words.say("whom.pace_value", { share, speed: forehand }));
    this.slide("height", asked.contact_m[2], metres(asked.contact_m[2], 2));
    this.slide("depth", depth, metres(depth));
    byId("speed-usual").disabled = asked.speed_m_s === null;
    byId("pace-usual").disabled = asked.pace === 1;
    byId("depth-usual").disabled = asked.depth_m === null;
    const chosen = {
      player: asked.player, hand: asked.hand, opponent: asked.opponent ?? "", "opponent-hand": asked.opponent_hand,
      hitter: asked.hitter, surface: asked.surface,
    };
    for (const [id, value] of Object.entries(chosen)) byId(id).value = String(value);
    this.allow("hand", handsOf(asked.player, facts));
    this.allow("opponent-hand", handsOf(asked.opponent, facts));
  }

  /** @param {string} id @param {string[]} hands */
  allow(id, hands) {
    for (const option of byId(id).options) option.disabled = !hands.includes(option.value);
  }

  /** @param {string} id @param {number} value @param {string} told */
  slide(id, value, told) {
    const slider = byId(id);
    if (Number(slider.value) !== value) slider.value = String(value);
    slider.setAttribute("aria-valuetext", told);
    write(`${id}-value`, told);
  }
}
