/**
 * The case that the page is about, and the same as text: what stands after `#` in the address. Every
 * part is checked when it is read; what is not understood is left aside.
 *
 * @typedef {Object} Case
 * @property {[number, number, number]} contact_m the ball at the opponent's contact
 * @property {number} player of `facts.people`
 * @property {string} hand
 * @property {number | null} opponent of `facts.people`; null: like the player
 * @property {string} opponent_hand
 * @property {string} hitter
 * @property {string} surface
 * @property {number | null} depth_m null: the usual one
 * @property {number | null} speed_m_s top speed; null: the player's
 * @property {number} pace how hard the opponent hits, over the usual speed
 * @property {[number, number] | null} own spot
 * @property {number} balls
 * @property {string} seed
 */

export const PACES = [0.7, 1.3];
const FEWEST_BALLS = 100;
const LONGEST = 2000; // letters of an address that are looked at
const PLAIN = /^-?\d+(\.\d+)?$/;
const WHOLE = /^\d{1,19}$/;

/** What holds where nothing is said. @param {any} facts @returns {Case} */
export function usualCase({ usual, first, people }) {
  return {
    contact_m: usual.contact_m,
    player: first,
    hand: people[first].hands[0],
    opponent: null,
    opponent_hand: "right",
    hitter: usual.hitter,
    surface: usual.surface,
    depth_m: null,
    speed_m_s: null,
    pace: 1,
    own: null,
    balls: usual.balls,
    seed: String(usual.seed),
  };
}

/** A number in a range, or undefined. @param {string} text @param {number[]} range */
function numberIn(text, [low, high]) {
  const value = PLAIN.test(text) ? Number(text) : NaN;
  return value >= low && value <= high ? value : undefined;
}

/** Numbers in ranges with commas, or undefined. @param {string} text @param {number[][]} ranges */
function numbersIn(text, ranges) {
  const values = text.split(",").map((part, i) => numberIn(part, ranges[i] ?? [1, 0]));
  return values.length === ranges.length && !values.includes(undefined) ? /** @type {any} */ (values) : undefined;
}

/** @param {string} text @param {string[]} allowed */
const oneOf = (text, allowed) => (allowed.includes(text) ? text : undefined);

/** @param {string} text @param {any} facts */
function personOf(text, { people }) {
  const found = people.findIndex((/** @type {any} */ person) => person.name === text);
  return found >= 0 ? found : undefined;
}

/** How each part of the address is read: its value, or undefined. @type {Record<string, (text: string, facts: any) => any>} */
const READ = {
  at: (text, f) => numbersIn(text, [...placeRanges(f), f.height_m]),
  who: personOf,
  hand: (text) => oneOf(text, ["right", "left"]),
  against: personOf,
  "their-hand": (text) => oneOf(text, ["right", "left"]),
  hits: (text, f) => oneOf(text, Object.keys(f.hitters)),
  on: (text, f) => oneOf(text, f.surfaces),
  depth: (text, f) => numberIn(text, f.depth_m),
  speed: (text, f) => numberIn(text, f.top_speed_m_s),
  pace: (text) => numberIn(text, PACES),
  own: (text, f) => numbersIn(text, ownRanges(f)),
  balls: (text, f) => (WHOLE.test(text) ? numberIn(text, [FEWEST_BALLS, f.most_balls]) : undefined),
  seed: (text, f) => (WHOLE.test(text) && BigInt(text) <= BigInt(f.largest_seed) ? text : undefined),
};
/** The property of a case that each part fills. @type {Record<string, keyof Case>} */
const FILLS = {
  at: "contact_m", who: "player", hand: "hand", against: "opponent", "their-hand": "opponent_hand",
  hits: "hitter", on: "surface", depth: "depth_m", speed: "speed_m_s", pace: "pace", own: "own",
  balls: "balls", seed: "seed",
};

/** Where an opponent can strike, x and y. @param {any} facts @returns {number[][]} */
export function placeRanges({ chart }) {
  return ["contact_x", "contact_y"].map((name) => {
    const { low, high } = chart.quantities.find((/** @type {any} */ q) => q.name === name);
    return [low, high];
  });
}

/** Where an own spot can be, x and y. @param {any} facts @returns {number[][]} */
export function ownRanges({ court, depth_m }) {
  const n = court.half_length_m;
  return [[-court.doubles_half_width_m, court.doubles_half_width_m], [-n - depth_m[1], -court.service_line_m]];
}

/** The hands that somebody can play with; a level, and one like the player, with either.
 * @param {number | null} person of `facts.people` @param {any} facts @returns {string[]} */
export function handsOf(person, facts) {
  return person === null ? ["right", "left"] : facts.people[person].hands;
}

/** The case in an address and the parts that were not understood.
 * @param {string} hash @param {any} facts @returns {{case: Case, ignored: string[]}} */
export function caseOf(hash, facts) {
  const out = usualCase(facts);
  /** @type {string[]} */
  const ignored = [];
  for (const part of hash.slice(0, LONGEST).replace(/^#/, "").split("&")) {
    if (part === "") continue;
    const [key, text] = partsOf(part);
    const value = Object.hasOwn(READ, key) ? READ[key](text, facts) : undefined;
    if (value === undefined) ignored.push(part);
    else /** @type {any} */ (out)[FILLS[key]] = value;
  }
  const [mine, theirs] = [handsOf(out.player, facts), handsOf(out.opponent, facts)];
  if (!mine.includes(out.hand)) out.hand = mine[0];
  if (!theirs.includes(out.opponent_hand)) out.opponent_hand = theirs[0];
  return { case: out, ignored };
}

/** @param {string} part @returns {[string, string]} its name and what it says */
function partsOf(part) {
  const at = part.indexOf("=");
  try {
    return [part.slice(0, Math.max(at, 0)), decodeURIComponent(part.slice(at + 1))];
  } catch {
    return ["", ""]; // a percent sign that stands for nothing
  }
}

/** A case as the end of an address: what is not usual. @param {Case} asked @param {any} facts @returns {string} */
export function addressOf(asked, facts) {
  const usual = usualCase(facts);
  usual.hand = facts.people[asked.player].hands[0];
  const parts = Object.entries(FILLS).flatMap(([key, property]) => {
    const value = asked[property];
    if (value === null || String(value) === String(usual[property])) return [];
    const isPerson = property === "player" || property === "opponent";
    const text = isPerson ? facts.people[/** @type {number} */ (value)].name : String(value);
    return [`${key}=${encodeURIComponent(text).replaceAll("%2C", ",")}`];
  });
  return parts.length ? `#${parts.join("&")}` : "";
}

/** What the worker is asked about a case. @param {Case} asked @param {any} facts @param {any} strokes of the chart */
export function sceneOf(asked, facts, strokes) {
  const { own, speed_m_s: speed, pace, ...scene } = asked;
  const them = facts.people[asked.opponent ?? asked.player];
  const wings = ["forehand_speed_m_s", "backhand_speed_m_s"];
  return {
    ...scene,
    ...(speed === null ? {} : { legs: { top_speed_m_s: speed } }),
    ...(pace === 1 ? {} : { strokes: Object.fromEntries(wings.map((wing) => [wing, them[wing] * pace])) }),
    ...(asked.hitter === "charted" ? { chart: { hand: asked.opponent_hand, strokes } } : {}),
  };
}

/** y of the line where one waits. @param {Case} asked @param {any} facts */
export function waitsAt(asked, facts) {
  const depth = asked.depth_m ?? facts.people[asked.player].waits_behind_m[asked.surface];
  return -facts.court.half_length_m - depth;
}
