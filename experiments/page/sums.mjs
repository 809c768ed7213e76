/** Sums of numbers in the order in which the engine's library (NumPy) takes them. */

const FEW = 8;
const BLOCK = 128;

/** One after another: the sum along the rows of several columns. @param {ArrayLike<number>} values @param {number} count */
export function inOrder(values, count) {
  let total = 0;
  for (let i = 0; i < count; i++) total += values[i];
  return total;
}

/** By halves, eight sums at a time: the sum of a single column.
 * @param {ArrayLike<number>} values @param {number} count @param {number} from @returns {number} */
export function byHalves(values, count, from = 0) {
  if (count < FEW) {
    let total = -0;
    for (let i = 0; i < count; i++) total += values[from + i];
    return total;
  }
  if (count > BLOCK) {
    const half = Math.floor(count / 2);
    const left = half - (half % FEW);
    return byHalves(values, left, from) + byHalves(values, count - left, from + left);
  }
  const r = Array.from({ length: FEW }, (_, k) => values[from + k]);
  const whole = count - (count % FEW);
  for (let i = FEW; i < whole; i += FEW) for (let k = 0; k < FEW; k++) r[k] += values[from + i + k];
  let total = r[0] + r[1] + (r[2] + r[3]) + (r[4] + r[5] + (r[6] + r[7]));
  for (let i = whole; i < count; i++) total += values[from + i];
  return total;
}

/** The nearest whole number, of two the even one. @param {number} x */
export function toEven(x) {
  const below = Math.floor(x);
  if (x - below !== 0.5) return Math.round(x);
  return below % 2 === 0 ? below : below + 1;
}
