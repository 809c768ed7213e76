/**
 * A court from above in an SVG element, in metres: the player who waits below, the opponent above.
 * Marks keep their size on the screen; `px` is what one pixel of the screen is in metres.
 */
import { drawn } from "./elements.mjs";

/** @typedef {{left: number, right: number, bottom: number, top: number}} View metres; y upward */

const HALF_VIEW_M = 6.2;
const [ABOVE_M, BELOW_M] = [2.8, 2]; // room behind the baselines
const CONE = "M0,-21 L10,-2 L-10,-2 Z"; // it stands on its place, which stays to be seen

export class Court {
  /** @param {any} svg @param {any} facts @param {View} view */
  constructor(svg, facts, view) {
    this.svg = svg;
    this.facts = facts;
    this.lines = drawn("g", {});
    /** What is drawn anew with each answer. */
    this.under = drawn("g", {});
    this.over = drawn("g", {});
    this.marks = drawn("g", {});
    this.px = 0.05;
    this.view = view;
    /** @type {Map<Element, [number, number]>} places of the marks */
    this.places = new Map();
    svg.append(this.lines, this.under, this.over, this.marks);
    this.drawLines();
    this.show(view);
    new ResizeObserver(() => this.measure()).observe(svg);
  }

  /** @param {View} view */
  show(view) {
    this.view = view;
    const { left, right, bottom, top } = view;
    this.svg.setAttribute("viewBox", `${left} ${-top} ${right - left} ${top - bottom}`);
    this.measure();
  }

  /** Keep the size while a finger moves something, whatever the words below it need. @param {boolean} held */
  hold(held) {
    const { style } = this.svg;
    const { height } = this.svg.getBoundingClientRect();
    [style.flex, style.height] = held ? ["none", `${height}px`] : ["", ""];
  }

  /** Keep marks at their size. */
  measure() {
    const { left, right, bottom, top } = this.view;
    const { width, height } = this.svg.getBoundingClientRect();
    if (width > 0 && height > 0) this.px = Math.max((right - left) / width, (top - bottom) / height);
    for (const [mark, [x, y]] of this.places) this.put(mark, x, y);
  }

  drawLines() {
    const { half_length_m: n, half_width_m: w, service_line_m: s, net_support_x_m: net, ...other } = this.facts.court;
    const [d, tick] = [other.doubles_half_width_m, 2 * other.centre_mark_m];
    this.lines.append(drawn("rect", { class: "land", x: -w, y: -n, width: 2 * w, height: 2 * n }));
    const alley = `M${-d},${-n} H${d} V${n} H${-d} Z`;
    const lines = `M${-w},${-n} H${w} V${n} H${-w} Z M${-w},${-s} H${w} M${-w},${s} H${w} M0,${-s} V${s} M0,${-n} V${-n + tick} M0,${n} V${n - tick}`;
    this.lines.append(drawn("path", { class: "line alley", d: alley }));
    this.lines.append(drawn("path", { class: "line", d: lines }));
    this.lines.append(drawn("path", { class: "line net", d: `M${-net},0 H${net}` }));
  }

  /** A mark of a kind, hidden until it is put somewhere. @param {string} kind @returns {Element} */
  mark(kind) {
    const shapes = {
      cone: () => drawn("path", { class: "cone", d: CONE }),
      hollow: () => drawn("path", { class: "hollow", d: CONE }),
      middle: () => drawn("rect", { class: "middle", x: -5, y: -5, width: 10, height: 10 }),
      contact: () => drawn("circle", { class: "contact", r: 9 }),
      ball: () => drawn("circle", { class: "ball", r: 5 }),
      runner: () => drawn("circle", { class: "runner", r: 8 }),
      reached: () => drawn("circle", { class: "reached", r: 12 }),
      missed: () => drawn("path", { class: "missed", d: "M-8,-8 L8,8 M-8,8 L8,-8" }),
      cross: () => drawn("path", { class: "cross", d: "M-14,0 H14 M0,-14 V14" }),
    };
    const mark = drawn("g", { visibility: "hidden" }, [shapes[/** @type {keyof typeof shapes} */ (kind)]()]);
    this.marks.append(mark);
    return mark;
  }

  /** @param {Element} mark @param {number} x @param {number} y @param {number} [size] times its own */
  put(mark, x, y, size = 1) {
    this.places.set(mark, [x, y]);
    mark.setAttribute("visibility", "visible");
    mark.setAttribute("transform", `translate(${x} ${-y}) scale(${this.px * size})`);
  }

  /** @param {Element} mark */
  hide(mark) {
    this.places.delete(mark);
    mark.setAttribute("visibility", "hidden");
  }

  /** Forget what the last answer drew. */
  clear() {
    this.under.replaceChildren();
    this.over.replaceChildren();
  }

  /** A line through places, below the marks. @param {string} kind @param {number[][]} places x and y each @returns {Element} */
  line(kind, places) {
    const d = places.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(3)},${(-y).toFixed(3)}`).join(" ");
    const line = drawn("path", { class: kind, d });
    this.over.append(line);
    return line;
  }

  /** An area below all lines of answers. @param {string} kind @param {number[][]} places */
  area(kind, places) {
    const points = places.map(([x, y]) => `${x.toFixed(3)},${(-y).toFixed(3)}`).join(" ");
    this.under.append(drawn("polygon", { class: kind, points }));
  }

  /** The waiting line and the range of it that is as good as the best place. @param {number} y @param {{low_m: number, high_m: number}} [best] */
  waiting(y, best = undefined) {
    const d = this.facts.court.doubles_half_width_m;
    this.line("line wait", [[-d, y], [d, y]]);
    if (best) this.line("band", [[best.low_m, y], [best.high_m + 0.001, y]]);
  }

  /** Where on the court the screen was touched. @param {{clientX: number, clientY: number}} event @returns {[number, number]} */
  at({ clientX, clientY }) {
    const { x, y } = new DOMPoint(clientX, clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [x, -y];
  }
}

/** The whole court, with room for who waits so deep. @param {any} facts @param {number} waits y of the waiting line @returns {View} */
export function wholeView(facts, waits) {
  const n = facts.court.half_length_m;
  return { left: -HALF_VIEW_M, right: HALF_VIEW_M, bottom: Math.min(-n - BELOW_M, waits - 1), top: n + ABOVE_M };
}

/** The end of the court where one waits. @param {any} facts @param {number} waits @returns {View} */
export function endView(facts, waits) {
  return { ...wholeView(facts, waits), top: -facts.court.service_line_m };
}
