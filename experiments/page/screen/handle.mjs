/** A place that is moved about a court by finger, mouse or arrow keys, and told to screen readers. */
import { drawn } from "./elements.mjs";

/** @typedef {import("./court.mjs").Court} Court */

const FAR_PX = 22; // half of what a finger needs
const STEP_M = 0.25;
const FINE_M = 0.05;
const GRID_M = 0.05;
const TURNS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1], PageUp: [0, 4], PageDown: [0, -4] };

/** @param {number} value @param {number[]} range */
export const within = (value, [low, high]) => Math.min(Math.max(value, low), high);

export class Handle {
  /**
   * @param {Court} court @param {string} kind of its mark
   * @param {{label: string, hint: string, x: number[], y: number[], told: (x: number, y: number) => string,
   *   moved: (x: number, y: number, hurried: boolean) => void}} what its label and ranges, how a place is
   *   told, and what to do when it has moved (`hurried`: it is still moving)
   */
  constructor(court, kind, what) {
    this.court = court;
    this.what = what;
    this.mark = court.mark(kind);
    this.x = 0;
    this.y = 0;
    this.wasDragged = false; // since it was last pressed
    this.mark.prepend(drawn("circle", { class: "touch", r: FAR_PX }), drawn("circle", { class: "halo", r: FAR_PX - 2 }));
    const roles = { class: "handle", role: "slider", tabindex: 0, "aria-label": what.label, "aria-description": what.hint };
    for (const [name, value] of Object.entries(roles)) this.mark.setAttribute(name, String(value));
    this.mark.setAttribute("aria-valuemin", String(what.x[0]));
    this.mark.setAttribute("aria-valuemax", String(what.x[1]));
    this.listen();
  }

  /** @param {number} x @param {number} y */
  put(x, y) {
    [this.x, this.y] = [x, y];
    this.court.put(this.mark, x, y);
    this.mark.setAttribute("aria-valuenow", x.toFixed(2));
    this.mark.setAttribute("aria-valuetext", this.what.told(x, y));
  }

  /** @param {number} x @param {number} y @param {boolean} hurried */
  move(x, y, hurried) {
    const [inX, inY] = [within(x, this.what.x), within(y, this.what.y)].map(onGrid);
    if (inX === this.x && inY === this.y && hurried) return;
    this.put(inX, inY);
    this.what.moved(inX, inY, hurried);
  }

  listen() {
    /** @type {any} */
    const mark = this.mark;
    /** @type {[number, number] | null} from the finger to the place, while it is dragged */
    let off = null;
    mark.addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      mark.focus({ preventScroll: true });
      mark.setPointerCapture(event.pointerId);
      this.court.hold(true);
      this.wasDragged = false;
      const [x, y] = this.court.at(event);
      off = [this.x - x, this.y - y];
    });
    mark.addEventListener("pointermove", (/** @type {PointerEvent} */ event) => {
      if (off === null) return;
      const [x, y] = this.court.at(event);
      const [fromX, fromY] = [this.x, this.y];
      this.move(x + off[0], y + off[1], true);
      this.wasDragged ||= fromX !== this.x || fromY !== this.y;
    });
    const letGo = () => {
      if (off === null) return;
      off = null;
      this.court.hold(false);
      this.move(this.x, this.y, false);
    };
    mark.addEventListener("pointerup", letGo);
    mark.addEventListener("pointercancel", letGo);
    mark.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Home") this.move(0, this.y, false);
      else if (Object.hasOwn(TURNS, event.key) && !event.altKey && !event.ctrlKey && !event.metaKey) {
        const [right, up] = TURNS[/** @type {keyof typeof TURNS} */ (event.key)];
        const step = event.shiftKey ? FINE_M : STEP_M;
        this.move(this.x + right * step, this.y + up * step, false);
      } else return;
      event.preventDefault();
    });
  }
}

/** @param {number} value */
const onGrid = (value) => Number((Math.round(value / GRID_M) * GRID_M).toFixed(2)) + 0;
