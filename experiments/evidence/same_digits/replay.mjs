/**
 * Calls of a recording, made again by the WebAssembly module.
 *
 * `node replay.mjs FOLDER NAME OBJECTS` writes FOLDER/NAME.bin, laid out as recording.py has it;
 * OBJECTS is the folder of web.wasm, kernels.json and kernels.mjs.
 */
import { closeSync, openSync, readFileSync, readSync, writeSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [folder, name, objects] = process.argv.slice(2);
const { Kernels, opened } = await import(pathToFileURL(resolve(objects, "kernels.mjs")).href);
const listing = JSON.parse(readFileSync(join(objects, "kernels.json"), "utf8"));
const kernels = await Kernels.open(readFileSync(join(objects, "web.wasm")), listing);

const WORD = 8;
/** @param {number} size @returns {number} rounded up to whole words */
const whole = (size) => Math.ceil(size / WORD) * WORD;
/** @param {number[]} shape */
const product = (shape) => shape.reduce((a, b) => a * b, 1);

/** @param {string} base the notation of an element @returns {number} its size in bytes */
function sizeOf(base) {
  const fields = listing.types[base];
  if (!fields) return Number(base.slice(1));
  return fields
    .map((/** @type {[string, string, number[]?]} */ [, type, shape]) => {
      return Number(type.slice(2)) * product(shape ?? []);
    })
    .reduce((/** @type {number} */ a, /** @type {number} */ b) => a + b, 0);
}

const arrays = openSync(join(folder, "arrays.bin"), "r");
/** @param {number} at @param {number} size @returns {Buffer} that part of arrays.bin */
function read(at, size) {
  const content = Buffer.alloc(size);
  for (let done = 0; done < size; ) {
    const count = readSync(arrays, content, done, size - done, at + done);
    if (count === 0) throw new Error("arrays.bin is short");
    done += count;
  }
  return content;
}

/** @param {string} kind @param {any} value @returns {Buffer} one word */
function word(kind, value) {
  const out = Buffer.alloc(WORD);
  if (kind === "f8") out.writeDoubleLE(value);
  else out.writeBigInt64LE(BigInt(value));
  return out;
}

/** @param {{kernel: string, takes: string, given: number[][], changed: number[]}} call */
function again(call) {
  const before = kernels.free;
  const texts = opened(call.takes);
  /** @type {{address: number, content: Buffer}[]} */
  const placed = [];
  const values = call.given.map(([at, ...shape], i) => {
    if (texts[i] === "f8") return read(at, WORD).readDoubleLE();
    if (texts[i] === "i8") return read(at, WORD).readBigInt64LE();
    if (texts[i] === "b1") return Number(read(at, WORD).readBigInt64LE());
    const content = read(at, sizeOf(texts[i].replace(/\[.*/, "")) * product(shape));
    placed[i] = { address: kernels.place(content), content };
    return { address: placed[i].address, shape };
  });
  const kinds = opened(listing.entries[call.kernel][call.takes].gives);
  const returned = kernels.call(call.kernel, call.takes, values);
  const out = returned.map((/** @type {any} */ value, /** @type {number} */ i) => word(kinds[i], value));
  placed.forEach(({ address, content }, i) => {
    const now = kernels.content(address, content.length);
    if (call.changed.includes(i)) {
      out.push(Buffer.concat([now, Buffer.alloc(whole(now.length) - now.length)]));
    } else if (content.compare(now) !== 0) {
      throw new Error(`${call.kernel} changes argument ${i}`);
    }
  });
  kernels.free = before;
  return Buffer.concat(out);
}

const file = openSync(join(folder, `${name}.bin`), "w");
for (const line of readFileSync(join(folder, "calls.jsonl"), "utf8").split("\n")) {
  if (line === "") continue;
  const given = again(JSON.parse(line));
  for (let done = 0; done < given.length; ) done += writeSync(file, given, done);
}
closeSync(file);
