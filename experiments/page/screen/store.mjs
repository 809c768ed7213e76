/**
 * The chart on this device. What cannot be saved is told and kept in memory; what an older version of
 * the page saved is taken over, and what cannot be read is set aside, never overwritten.
 *
 * @typedef {import("./csv.mjs").Stroke} Stroke
 * @typedef {{hand: string, strokes: Stroke[]}} Saved
 */

const KEY = "where-to-wait chart";
const ASIDE = "where-to-wait set aside";
const VERSION = 2; // 1: a bare list of strokes, always of a right-hander

export class Store {
  /** @param {any} chart of the facts */
  constructor(chart) {
    this.chart = chart;
    /** Why nothing is saved; empty while it is. */
    this.trouble = "";
    /** How many strokes were taken over from an older version. */
    this.older = 0;
  }

  /** What was saved, or an empty chart. @returns {Saved} */
  read() {
    /** @type {Saved} */
    const none = { hand: "right", strokes: [] };
    const text = this.attempt(() => localStorage.getItem(KEY));
    if (!text) return none;
    const found = this.understood(text);
    if (found !== null) return found;
    this.attempt(() => {
      localStorage.setItem(this.freeKey(), text);
      localStorage.removeItem(KEY);
    });
    return none;
  }

  /** What was set aside, one text after another; empty if nothing. */
  get aside() {
    const keys = this.attempt(() => Object.keys(localStorage).filter((key) => key.startsWith(ASIDE))) ?? [];
    return keys.sort().map((key) => localStorage.getItem(key)).join("\n");
  }

  /** @param {Saved} saved */
  write(saved) {
    this.trouble = "";
    this.attempt(() => {
      if (saved.strokes.length === 0) localStorage.removeItem(KEY);
      else localStorage.setItem(KEY, JSON.stringify({ version: VERSION, ...saved }));
    });
  }

  freeKey() {
    let number = 1;
    while (localStorage.getItem(`${ASIDE} ${number}`) !== null) number++;
    return `${ASIDE} ${number}`;
  }

  /** @template T @param {() => T} action @returns {T | null} */
  attempt(action) {
    try {
      return action();
    } catch (error) {
      this.trouble = /** @type {Error} */ (error).name;
      return null;
    }
  }

  /** @param {string} text @returns {Saved | null} */
  understood(text) {
    /** @type {any} */
    let found = null;
    try {
      found = JSON.parse(text);
    } catch {
      return null;
    }
    if (Array.isArray(found)) found = { version: 1, hand: "right", strokes: found };
    const known = found !== null && (found.version === 1 || found.version === VERSION);
    if (!known || !["right", "left"].includes(found.hand) || !Array.isArray(found.strokes)) return null;
    if (!found.strokes.every((/** @type {any} */ stroke) => this.isStroke(stroke))) return null;
    if (found.version < VERSION) this.older = found.strokes.length;
    return { hand: found.hand, strokes: found.strokes };
  }

  /** Whether all fields of a stroke are known and in their ranges. @param {any} stroke */
  isStroke(stroke) {
    if (stroke === null || typeof stroke !== "object") return false;
    const { quantities, words, net } = this.chart;
    const ranges = new Map(quantities.map((/** @type {any} */ q) => [`${q.name}_${Object.keys(q.units)[0]}`, q]));
    const allowed = new Map(words.map((/** @type {any} */ w) => [w.name, w.words]));
    const isKnown = Object.entries(stroke).every(([name, value]) => {
      const range = /** @type {any} */ (ranges.get(name));
      if (range) return typeof value === "number" && value >= range.low && value <= range.high;
      return name !== "hand" && (allowed.get(name)?.includes(value) ?? false);
    });
    const needed = quantities.filter((/** @type {any} */ q) => q.needed && !(stroke.outcome === net && q.name.startsWith("bounce")));
    return isKnown && needed.every((/** @type {any} */ q) => `${q.name}_${Object.keys(q.units)[0]}` in stroke);
  }
}
