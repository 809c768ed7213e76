/**
 * Records and numbers in the memory of the kernels, by the layouts of the engine.
 *
 * Room is taken one piece after another and given up all at once (`mark`, `release`). Views are made
 * anew at each use: taking more room moves what they look at.
 *
 * @typedef {{address: number, shape: number[], type?: string}} Placed
 * @typedef {{size: number, fields: Record<string, [number, string, number]>}} Layout
 * @typedef {number | bigint | boolean} Value
 * @typedef {import("./state.d.ts").State} State
 */
import { Kernels } from "../../sim/native/kernels.mjs";

const BYTES = 8;
export const PATH_COLUMNS = 5; // of a path: time, place, height, speed upward

/** @param {number[]} shape */
const sizeOf = (shape) => shape.reduce((a, b) => a * b, 1);

/** @param {string} text Base64 @returns {Uint8Array} */
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

  /** @param {number[]} values @returns {Placed} */
  integers(values) {
    const out = this.room(values.length);
    this.words(out).set(values.map(BigInt));
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

  /** What `make` fills, made once for a key and then copied. @param {string} key @param {() => Placed} make @returns {Placed} */
  once(key, make) {
    let found = this.kept.get(key);
    if (found === undefined) {
      const mark = this.mark();
      const { address, shape, type } = make();
      const size = type ? this.state.layouts[type].size * shape[0] : BYTES * sizeOf(shape);
      found = { content: this.kernels.content(address, size).slice(), shape, type };
      this.kept.set(key, found);
      this.release(mark);
    }
    return { ...found, address: this.kernels.place(found.content) };
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
    const halves = new Int32Array(this.kernels.memory.buffer, address, 2 * sizeOf(shape));
    return Int32Array.from({ length: sizeOf(shape) }, (_, i) => halves[2 * i]);
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
    const { size, fields } = this.state.layouts[/** @type {string} */ (records.type)];
    const [offset, kind] = fields[field];
    return [records.address + i * size + offset + BYTES * at, kind];
  }

  /** The first records of some. @param {Placed} placed @param {number} count @returns {Placed} */
  first(placed, count) {
    return { ...placed, shape: [count, ...placed.shape.slice(1)] };
  }

  /** One of some records. @param {Placed} placed @param {number} i @returns {Placed} */
  one(placed, i) {
    const size = this.state.layouts[/** @type {string} */ (placed.type)].size;
    return { ...placed, address: placed.address + i * size, shape: [1] };
  }

  /** Call a kernel by its path; arguments of None are left out, tuples opened.
   * @param {string} kernel @param {(Value | Placed)[]} values @returns {any[]} */
  call(kernel, ...values) {
    const [takes] = Object.keys(this.state.kernels.entries[kernel]);
    return this.kernels.call(kernel, takes, values);
  }
}
