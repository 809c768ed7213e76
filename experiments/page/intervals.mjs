/** Intervals of shares, as `experiments.statistics.estimates` has them. */

/** @typedef {import("./memory.mjs").Memory} Memory */
/** @typedef {{value: number, low: number, high: number}} Estimate */

/**
 * @param {Memory} memory @param {number} units independent replicates @returns {number} the two-sided
 * quantile of Student's t for their mean; of the normal distribution where they are infinite
 */
export function quantile(memory, units) {
  const level = memory.n.LEVEL;
  if (units === Infinity) return memory.call("sim.distributions:normal_quantile", level)[0];
  return memory.call("sim.distributions:student_quantile", Math.max(units - 1, 1), level)[0];
}

/** A share of `n` balls worth at least `units` independent ones, with its standard error.
 * @param {Memory} memory @param {number} value @param {number} se @param {number} n @param {number} units @returns {Estimate} */
export function shareOf(memory, value, se, n, units) {
  if (n === 0 || !Number.isFinite(value)) return { value: NaN, low: NaN, high: NaN };
  let size = Math.min(n, units);
  if (se > 0 && value > 0 && value < 1) {
    const known = quantile(memory, Infinity) / quantile(memory, units);
    size = Math.min(n, (value * (1 - value)) / (se * se)) * (known * known);
  }
  const hits = value * size;
  const tail = 0.5 - memory.n.LEVEL / 2;
  const beta = (/** @type {number[]} */ ...values) => memory.call("sim.distributions:beta_quantile", ...values)[0];
  const low = hits <= 0 ? 0 : beta(hits, size - hits + 1, tail);
  const high = hits >= size ? 1 : beta(hits + 1, size - hits, 1 - tail);
  return { value, low: Math.min(low, value), high: Math.max(high, value) };
}

/** A share of `n` independent balls. @param {Memory} memory @param {number} value @param {number} n */
export function binomialShare(memory, value, n) {
  return shareOf(memory, value, Math.sqrt((value * (1 - value)) / Math.max(n, 1)), n, Infinity);
}

/** The share of all others. @param {Estimate} e @returns {Estimate} */
export function complement(e) {
  return { value: 1 - e.value, low: 1 - e.high, high: 1 - e.low };
}

/** @param {Estimate} e @param {number} factor above 0 @returns {Estimate} */
export function scaled(e, factor) {
  return { value: factor * e.value, low: factor * e.low, high: factor * e.high };
}
