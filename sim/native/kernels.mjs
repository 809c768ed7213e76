/**
 * Calling the kernels of web.wasm from JavaScript, by the list in kernels.json.
 *
 * An argument is a number (a BigInt where the notation says i8), or `{address, shape}` of what was
 * put into the module's memory by `place` or `room`: an array, or a record, whose shape is not read.
 * None is left out, tuples are opened. Numbers are 64 bits wide and little-endian.
 *
 * @typedef {{symbol: string, gives: string}} Entry
 * @typedef {{entries: Record<string, Record<string, Entry>>}} Listing
 * @typedef {{address: number, shape: number[]}} Placed
 * @typedef {number | bigint | boolean} Value
 */

const PAGE = 65536;
const WORD = 8;
const NONE = "none";

/** The kernels of one module, with its memory. */
export class Kernels {
  /**
   * @param {Record<string, any>} exported
   * @param {Listing} listing
   */
  constructor(exported, listing) {
    this.exported = exported;
    this.listing = listing;
    /** @type {WebAssembly.Memory} */
    this.memory = exported.memory;
    /** The first address that is free; what was placed after a moment is given up by resetting it. */
    this.free = Number(exported.__heap_base.value);
  }

  /**
   * @param {BufferSource} code content of web.wasm
   * @param {Listing} listing content of kernels.json
   */
  static async open(code, listing) {
    const { instance } = await WebAssembly.instantiate(code, {});
    return new Kernels(instance.exports, listing);
  }

  /** @param {number} size in bytes @returns {number} the address of so much room */
  room(size) {
    const address = Math.ceil(this.free / WORD) * WORD;
    this.free = address + size;
    const short = this.free - this.memory.buffer.byteLength;
    if (short > 0) this.memory.grow(Math.ceil(short / PAGE));
    return address;
  }

  /** @param {Uint8Array} content @returns {number} the address of a copy */
  place(content) {
    const address = this.room(content.length);
    this.content(address, content.length).set(content);
    return address;
  }

  /** What is at an address now: a view, good until more room is taken.
   * @param {number} address @param {number} size in bytes */
  content(address, size) {
    return new Uint8Array(this.memory.buffer, address, size);
  }

  /**
   * Call a kernel.
   * @param {string} kernel its path, `module:name`
   * @param {string} takes the notation of its arguments
   * @param {(Value | Placed)[]} values the arguments
   * @returns {Value[]} what it returns
   */
  call(kernel, takes, values) {
    const entry = this.listing.entries[kernel]?.[takes];
    if (!entry) throw new Error(`no kernel ${kernel} of ${takes}`);
    const run = this.exported[`${entry.symbol}__plain`];
    const given = values.flatMap(asTaken(opened(takes)));
    if (!entry.gives.includes(",")) {
      return entry.gives === NONE ? (run(...given), []) : [run(...given)];
    }
    const kinds = opened(entry.gives);
    const before = this.free;
    const out = this.room(WORD * kinds.length);
    run(...given, out);
    const found = new Float64Array(this.memory.buffer, out, kinds.length);
    this.free = before;
    return kinds.map((kind, i) => (kind === "i8" ? BigInt(found[i]) : found[i]));
  }
}

/** @param {string} takes @returns {string[]} the notations of what is passed, tuples opened */
export function opened(takes) {
  return takes.replace(/[()]/g, "").split(",").filter((text) => text !== "" && text !== NONE);
}

/** @param {string[]} texts @returns {(value: any, i: number) => any[]} as a module takes each */
function asTaken(texts) {
  return (value, i) => {
    if (typeof value !== "object") return [value];
    return texts[i].endsWith("]") ? [value.address, ...value.shape] : [value.address];
  };
}
