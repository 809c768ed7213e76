/**
 * A scene in the memory of the kernels: who, where, on what, as the engine hands it to them.
 *
 * @typedef {import("./memory.mjs").Memory} Memory
 * @typedef {import("./memory.mjs").Placed} Placed
 *
 * What is asked. People are numbers in `state.people`; a hand, a ball, an opponent or a depth that is
 * null or left out is the usual one, as in the commands.
 * @typedef {Object} Asked
 * @property {number} [player]
 * @property {string | null} [hand] "right" or "left"
 * @property {number | null} [opponent]
 * @property {string | null} [opponent_hand]
 * @property {string} [hitter] a key of `state.hitters`
 * @property {string} [surface]
 * @property {string | null} [ball]
 * @property {[number, number, number]} [contact_m] the ball at the opponent's contact: x, y, z
 * @property {number | null} [depth_m] metres behind the baseline
 * @property {number | string} [seed] a whole number from 0 to 2^63 - 1
 * @property {number} [balls]
 * @property {{hand: string, strokes: import("./charted.mjs").ChartedStroke[]} | null} [chart] of the
 *   opponent's strokes, for the hitter "charted"; the one that comes with the package if not given
 * @property {Record<string, number>} [legs] other values of fields of the player's LEGS record
 * @property {Record<string, number>} [strokes] other values of fields of the opponent's HITTER record
 */

/** @param {string} hand */
const signOf = (hand) => (hand === "right" ? 1 : -1);

export class Scene {
  /** @param {Memory} memory @param {Asked} asked */
  constructor(memory, asked) {
    const { state, n } = memory;
    const usual = n.DEFAULTS;
    this.memory = memory;
    this.n = n;
    requireNumbers(n, asked);
    const me = state.people[asked.player ?? 0];
    const other = asked.opponent ?? null;
    /** The numbers in `state.players` of the two. */
    this.me = named(me.player, asked.hand ?? me.hand, "hand");
    this.them = named(
      other === null ? me.opponent : state.people[other].player,
      asked.opponent_hand ?? (other === null ? "right" : state.people[other].hand),
      "opponent_hand",
    );
    const player = state.players[this.me];
    const opponent = state.players[this.them];
    const surface = asked.surface ?? usual.surface;
    const kind = asked.ball ?? player.ball;
    this.hitter = named(state.hitters, asked.hitter ?? usual.hitter, "hitter");
    this.depth_m = asked.depth_m ?? player.waits_behind_m[surface];
    this.line_m = n.HALF_LENGTH_M + this.depth_m;
    this.seed = BigInt(asked.seed ?? 0);
    this.balls = asked.balls ?? usual.balls;
    const [x, y, z] = asked.contact_m ?? [...usual.corner_m, usual.contact_height_m];
    /** The ball at the opponent's contact. */
    this.x_m = x;
    this.y_m = y;
    this.z_m = z;
    this.hand = signOf(opponent.hand);

    this.world = memory.pooled(named(named(state.worlds, surface, "surface"), kind, "ball"), "WORLD");
    this.table = flightTable(memory, this.world);
    this.sheet = memory.records("ROOM");
    memory.set(this.sheet, "topspin_rad_s", NaN);
    this.changedStrokes = asked.strokes ?? {};
    this.ability = memory.pooled(opponent.hitter, "HITTER");
    for (const [name, value] of Object.entries(this.changedStrokes)) memory.set(this.ability, name, value);
    this.choices = memory.pooledNumbers(opponent.choices, 1);
    this.legs = legsOf(memory, this.me, asked.legs);
    this.times = runningTimes(memory, this.me, this.legs);
    this.changedLegs = asked.legs ?? {};
    this.chart = asked.chart ?? null;
    this.wing = -this.x_m * this.hand >= 0 ? n.FOREHAND : -n.FOREHAND;
    /** The opponent's contact, seen by the opponent, and by the player. */
    this.contact = memory.records("CONTACT");
    const ball = { x_m: -this.x_m, y_m: -this.y_m, z_m: this.z_m, quality: 1, wing: this.wing };
    for (const [field, value] of Object.entries(ball)) memory.set(this.contact, field, value);
    this.faced = memory.records("CONTACT");
    memory.call("sim.handover:turn_contacts", this.contact, this.faced);
  }

  /** The sheets of flight, as kernels take them beside the world. */
  get flight() {
    return [this.world, this.table, this.sheet];
  }

  /** BODY records at rest at a place. @param {number} count @param {number} x @param {number} y @returns {Placed} */
  bodies(count, x, y) {
    const out = this.memory.records("BODY", count);
    this.memory.fill(out, "x_m", x);
    this.memory.fill(out, "y_m", y);
    return out;
  }
}

/** What has a name in a table. @template T @param {Record<string, T>} table @param {string} name @param {string} what @returns {T} */
function named(table, name, what) {
  if (!Object.hasOwn(table, name)) {
    throw new RangeError(`${what} is ${JSON.stringify(name)}; allowed: ${Object.keys(table).join(", ")}`);
  }
  return table[name];
}

/** Refuse numbers that kernels cannot be asked about. @param {any} n @param {Asked} asked */
function requireNumbers(n, asked) {
  const { contact_m = [], depth_m, legs = {}, strokes = {}, balls = n.FEWEST_BALLS, seed = 0 } = asked;
  for (const value of [...contact_m, depth_m ?? 0, ...Object.values(legs), ...Object.values(strokes)]) {
    if (!Number.isFinite(value)) throw new RangeError(`${value} is no number of metres, or of what people do`);
  }
  const whole = Number.isInteger(balls) && balls >= n.FEWEST_BALLS && balls <= n.MOST_BALLS;
  if (!whole) throw new RangeError(`balls is ${balls}; allowed: ${n.FEWEST_BALLS} to ${n.MOST_BALLS}`);
  if (BigInt(seed) < 0n || BigInt(seed) > BigInt(n.LARGEST_SEED)) {
    throw new RangeError(`seed is ${seed}; it must be a whole number from 0 to ${n.LARGEST_SEED}`);
  }
}

/** The table of flights in a world. It depends on a few of the world's numbers alone.
 * @param {Memory} memory @param {Placed} world @returns {Placed} */
function flightTable(memory, world) {
  const inputs = memory.n.TABLE_INPUTS.map((/** @type {string} */ name) => memory.get(world, name));
  return memory.once(`flight ${inputs}`, () => {
    const table = memory.records("TABLE");
    const plain = memory.records("WORLD");
    memory.n.TABLE_INPUTS.forEach((/** @type {string} */ name, /** @type {number} */ i) => memory.set(plain, name, inputs[i]));
    memory.call("sim.flight_table:fill_table", plain, { address: table.address, shape: [memory.n.TABLE_SIZE] });
    return table;
  });
}

/** A player's LEGS records: for a ball after its bounce, for a volley.
 * @param {Memory} memory @param {number} number @param {Record<string, number>} changed @returns {Placed} */
export function legsOf(memory, number, changed = {}) {
  const legs = memory.pooled(memory.state.players[number].legs, "LEGS");
  for (const [name, value] of Object.entries(changed)) {
    for (let i = 0; i < legs.shape[0]; i++) memory.set(legs, name, value, i);
  }
  return legs;
}

/** Running times from rest to a ball: `Legs.times`.
 * @param {Memory} memory @param {number} number @param {Placed} legs @returns {Placed} */
export function runningTimes(memory, number, legs) {
  const settled = memory.state.players[number].settled_speed_m_s;
  const get = (/** @type {string} */ name) => memory.get(legs, name);
  const sprint = ["top_speed_m_s", "tau_s", "braking_m_s2"].map(get);
  const comfortable = get("comfortable_reach_m");
  const rows = [
    { slowedTo: Infinity, reaches: [get("forehand_reach_m"), get("backhand_reach_m")] },
    { slowedTo: settled, reaches: [comfortable, comfortable] },
  ];
  const slow = get("backhand_side_speed") !== 1 || get("backward_speed") !== 1;
  const nodes = memory.n.TABLE_NODES;
  return memory.once(`times ${slow} ${sprint} ${JSON.stringify(rows)} ${settled}`, () => {
    const out = memory.records("TIMES", rows.length);
    rows.forEach(({ slowedTo, reaches }, row) => {
      memory.set(out, "slow", Number(slow), row);
      reaches.forEach((reach, side) => {
        memory.set(out, "reach_m", reach, row, side);
        const [address] = memory.where(out, "time_s", row, side * nodes);
        const times = { address, shape: [nodes] };
        memory.call("sim.running_times:fill_times", reach, memory.n.TABLE_STEP_M, ...sprint, slowedTo, times);
      });
    });
    return out;
  });
}
