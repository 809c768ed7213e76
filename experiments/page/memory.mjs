/**
 * Records and numbers in the memory of the kernels, by the layouts of the engine.
 *
 * Room is taken one piece after another and given up all at once (`mark`, `release`). Views are made
 * anew at each use: taking more room moves what they look at.
 *
 * @typedef {{address: number, shape: number[], type?: string}} Placed
 * @typedef {{size: number, fields: Record<string, [number, string, number]>}} Layout
 * @typedef {number | bigint | boolean} Value
 *
 * What `state.py` prepares. A number of a content in the pool stands for an array or record; a number
 * of a player for a row of `players`, where tables by player have one entry each.
 * @typedef {{name: string, hand: string, player: Record<string, number>, opponent: Record<string, number>}} Person
 * @typedef {{name: string, hand: string, mirrored: number, hitter: number, choices: number, legs: number,
 *   settled_speed_m_s: number, ball: string, waits_behind_m: Record<string, number>}} Player
 * @typedef {{name: string, draws: number, looks: boolean, rule: string} & Record<string, any>} Hitter
 * @typedef {{name: string, rule: string} & Record<string, any>} Policy
 * @typedef {Object} State
 * @property {import("../../sim/native/kernels.mjs").Listing} kernels
 * @property {Record<string, Layout>} layouts
 * @property {Record<string, any>} numbers constants of the engine by name
 * @property {Person[]} people who can be asked about
 * @property {Player[]} players the same with the racket in a hand, and their opponents
 * @property {Record<string, Record<string, number>>} worlds by surface and ball
 * @property {number} limits
 * @property {[number, number]} belief and the strokes that it rests on
 * @property {Record<string, Hitter>} hitters
 * @property {Policy[]} policies
 * @property {Record<string, any>} losses
 * @property {Record<string, any>} charts
 * @property {{lengths: number[], content: string}} pool
 */
import { Kernels } from "../../sim/native/kernels.mjs";

const BYTES = 8;
const HALF_BYTES = BYTES / 2;
const MOST_KEPT = 300; // of what was worked out, most of it some tens of kilobytes
export const PATH_COLUMNS = 5; // of a path: time, place, height, speed upward

/** @param {number[]} shape */
const sizeOf = (shape) => shape.reduce((a, b) => a * b, 1);

/** @param {string} text Base64 @returns {Uint8Array<ArrayBuffer>} */
export function bytesOf(text) {
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}

/** The kernels, what Python prepared, and room for what they work on. */
export class Memory {
  /** @param {Kernels} kernels @param {State} state */
  constructor(kernels, state) {
    this.kernels = kernels;
    this.state = state;
    this.n = state.numbers;
    const whole = bytesOf(state.pool.content);
    let at = 0;
    /** @type {Uint8Array[]} */
    this.pool = state.pool.lengths.map((/** @type {number} */ length) => {
      at += length;
      return whole.subarray(at - length, at);
    });
    /** @type {Map<string, {content: Uint8Array, shape: number[], type?: string}>} */
    this.kept = new Map();
  }

  /** @param {BufferSource} code content of web.wasm @param {State} state */
  static async open(code, state) {
    return new Memory(await Kernels.open(code, state.kernels), state);
  }

  mark() {
    return this.kernels.free;
  }

  /** Give up all room taken since a mark. @param {number} mark */
  release(mark) {
    this.kernels.free = mark;
  }

  /** Room for so many records of a type, all bytes 0. @param {string} type @param {number} count @returns {Placed} */
  records(type, count = 1) {
    const size = this.state.layouts[type].size * count;
    const address = this.kernels.room(size);
    this.kernels.content(address, size).fill(0);
    return { address, shape: [count], type };
  }

  /** Room for 64-bit numbers, all 0. @param {number[]} shape @returns {Placed} */
  room(...shape) {
    const address = this.kernels.room(BYTES * sizeOf(shape));
    this.kernels.content(address, BYTES * sizeOf(shape)).fill(0);
    return { address, shape };
  }

  /** @param {ArrayLike<number>} values @param {number[]} shape one dimension if not given @returns {Placed} */
  numbers(values, ...shape) {
    const out = this.room(...(shape.length ? shape : [values.length]));
    this.floats(out).set(values);
    return out;
  }

  /** Whole numbers of 64 bits. @param {number} count @param {(i: number) => number} value @returns {Placed} */
  integers(count, value) {
    const out = this.room(count);
    const words = this.words(out);
    for (let i = 0; i < count; i++) words[i] = BigInt(value(i));
    return out;
  }

  /** The records of a number in the pool. @param {number} number @param {string} type @returns {Placed} */
  pooled(number, type) {
    const content = this.pool[number];
    const count = content.length / this.state.layouts[type].size;
    return { address: this.kernels.place(content), shape: [count], type };
  }

  /** The numbers of a number in the pool. @param {number} number @param {number[]} shape @returns {Placed} */
  pooledNumbers(number, ...shape) {
    const content = this.pool[number];
    const address = this.kernels.place(content);
    return { address, shape: shape.length ? shape : [content.length / BYTES] };
  }

  /** Keep a copy of what was worked out. @param {string} key @param {Placed} placed */
  keep(key, placed) {
    const { address, shape, type } = placed;
    const size = type ? this.layoutOf(placed).size * shape[0] : BYTES * sizeOf(shape);
    if (this.kept.size >= MOST_KEPT) this.kept.delete(this.kept.keys().next().value ?? key);
    this.kept.set(key, { content: this.kernels.content(address, size).slice(), shape, type });
  }

  /** A copy of what was kept, if it still is; what is not asked for is given up first.
   * @param {string} key @returns {Placed | undefined} */
  recall(key) {
    const found = this.kept.get(key);
    if (found === undefined) return undefined;
    this.kept.delete(key);
    this.kept.set(key, found);
    return { shape: found.shape, type: found.type, address: this.kernels.place(found.content) };
  }

  /** What `make` fills, made once for a key. @param {string} key @param {() => Placed} make @returns {Placed} */
  once(key, make) {
    if (!this.kept.has(key)) {
      const mark = this.mark();
      this.keep(key, make());
      this.release(mark);
    }
    return /** @type {Placed} */ (this.recall(key));
  }

  /** @param {Placed} placed a view as 64-bit floats */
  floats({ address, shape }) {
    return new Float64Array(this.kernels.memory.buffer, address, sizeOf(shape));
  }

  /** @param {Placed} placed a view as 64-bit whole numbers */
  words({ address, shape }) {
    return new BigInt64Array(this.kernels.memory.buffer, address, sizeOf(shape));
  }

  /** The whole numbers of an array, each within 32 bits. @param {Placed} placed @returns {Int32Array} */
  counts({ address, shape }) {
    return this.lowHalves(address, sizeOf(shape), 2);
  }

  /** A field of whole numbers of all records, each within 32 bits. @param {Placed} records @param {string} field @returns {Int32Array} */
  column(records, field) {
    const { size } = this.layoutOf(records);
    return this.lowHalves(this.where(records, field, 0, 0)[0], records.shape[0], size / HALF_BYTES);
  }

  /** @param {number} address @param {number} count @param {number} step in halves of 64-bit words */
  lowHalves(address, count, step) {
    const halves = new Int32Array(this.kernels.memory.buffer, address);
    const out = new Int32Array(count);
    for (let i = 0; i < count; i++) out[i] = halves[i * step];
    return out;
  }

  /** Set a field of numbers in all records. @param {Placed} records @param {string} field @param {number} value */
  fill(records, field, value) {
    const { size } = this.layoutOf(records);
    const all = new Float64Array(this.kernels.memory.buffer, this.where(records, field, 0, 0)[0]);
    for (let i = 0; i < records.shape[0]; i++) all[(i * size) / BYTES] = value;
  }

  /** So many copies of a record. @param {Placed} record @param {number} count @returns {Placed} */
  copies(record, count) {
    const { size } = this.layoutOf(record);
    const content = this.kernels.content(record.address, size).slice();
    const out = this.records(/** @type {string} */ (record.type), count);
    const all = this.kernels.content(out.address, size * count);
    for (let i = 0; i < count; i++) all.set(content, i * size);
    return out;
  }

  /** @param {Placed} records @returns {Layout} */
  layoutOf({ type }) {
    return this.state.layouts[/** @type {string} */ (type)];
  }

  /** One field of a record; of several values the one at `at`.
   * @param {Placed} records @param {string} field @param {number} i @param {number} at @returns {number} */
  get(records, field, i = 0, at = 0) {
    const [address, kind] = this.where(records, field, i, at);
    const view = new DataView(this.kernels.memory.buffer);
    return kind === "f8" ? view.getFloat64(address, true) : view.getInt32(address, true);
  }

  /** @param {Placed} records @param {string} field @param {number} value @param {number} i @param {number} at */
  set(records, field, value, i = 0, at = 0) {
    const [address, kind] = this.where(records, field, i, at);
    const view = new DataView(this.kernels.memory.buffer);
    if (kind === "f8") view.setFloat64(address, value, true);
    else view.setBigInt64(address, BigInt(value), true);
  }

  /** @param {Placed} records @param {string} field @param {number} i @param {number} at @returns {[number, string]} */
  where(records, field, i, at) {
    const { size, fields } = this.layoutOf(records);
    const [offset, kind] = fields[field];
    return [records.address + i * size + offset + BYTES * at, kind];
  }

  /** The first records of some. @param {Placed} placed @param {number} count @returns {Placed} */
  first(placed, count) {
    return { ...placed, shape: [count, ...placed.shape.slice(1)] };
  }

  /** One of some records. @param {Placed} placed @param {number} i @returns {Placed} */
  one(placed, i) {
    return { ...placed, address: placed.address + i * this.layoutOf(placed).size, shape: [1] };
  }

  /** Call a kernel by its path; arguments of None are left out, tuples opened.
   * @param {string} kernel @param {(Value | Placed)[]} values @returns {any[]} */
  call(kernel, ...values) {
    const [takes] = Object.keys(this.state.kernels.entries[kernel]);
    return this.kernels.call(kernel, takes, values);
  }
}
