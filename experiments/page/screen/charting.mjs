/** Charting an opponent by tapping: two taps a stroke, kept on this device. */
import { Court, wholeView } from "./court.mjs";
import { chartOf, csvOf, metresOut, problemsText } from "./csv.mjs";
import { byId, handOut, write } from "./elements.mjs";
import { Handle } from "./handle.mjs";
import { Store } from "./store.mjs";

/** @typedef {import("./words.mjs").Words} Words */
/** @typedef {import("./csv.mjs").Stroke} Stroke */

const START = { contact: [0, 12], bounce: [0, -9] };
const FEW = 60; // strokes that are drawn
const NEAREST_NET_M = 0.5;

export class Charting {
  /** @param {any} facts @param {Words} words @param {() => void} changed what to do when there are other strokes */
  constructor(facts, words, changed) {
    this.facts = facts;
    this.chart = { ...facts.chart, court: facts.court };
    this.words = words;
    this.changed = changed;
    this.store = new Store(facts.chart);
    const { hand, strokes } = this.store.read();
    this.hand = hand;
    /** @type {Stroke[]} */
    this.strokes = strokes;
    /** @type {[number, number] | null} where the ball was met, before its bounce is tapped */
    this.contact = null;
    this.court = new Court(byId("chart-court"), facts, wholeView(facts, 0));
    this.struck = this.court.mark("contact");
    this.pointer = this.makePointer();
    this.listen();
    if (this.store.older) this.tell(words.say("chart.older", { count: this.store.older }));
    this.show();
  }

  makePointer() {
    const { left, right, bottom, top } = this.court.view;
    const pointer = new Handle(this.court, "cross", {
      label: this.words.say("chart.pointer"),
      hint: this.words.say("court.keys"),
      x: [left, right],
      y: [bottom, top],
      told: (x, y) => this.words.place(x, y),
      moved: () => undefined,
    });
    pointer.put(START.contact[0], START.contact[1]);
    return pointer;
  }

  listen() {
    const on = (/** @type {string} */ id, /** @type {() => void} */ action) => byId(`chart-${id}`).addEventListener("click", action);
    this.court.svg.addEventListener("click", (/** @type {MouseEvent} */ event) => {
      if (this.pointer.wasDragged) {
        this.pointer.wasDragged = false; // the end of a drag is no tap
        return;
      }
      const [x, y] = this.court.at(event);
      this.pointer.put(...inView(this.court.view, x, y));
      this.mark();
    });
    this.pointer.mark.addEventListener("keydown", (/** @type {any} */ event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      this.mark();
    });
    on("set", () => this.mark());
    on("net", () => this.finish({ outcome: this.chart.net }));
    on("out", () => this.callOut());
    on("undo", () => this.undo());
    on("export", () => this.export());
    on("clear", () => this.clear());
    on("aside-save", () => handOut("where-to-wait-set-aside.txt", new Blob([this.store.aside])));
    byId("chart-import").addEventListener("change", () => this.import());
  }

  /** Take the pointer's place for what is asked: a contact, then a bounce. */
  mark() {
    const { x, y } = this.pointer;
    this.tell("");
    const wrong = this.contact === null ? y < NEAREST_NET_M : y > 0;
    if (wrong) return this.tell(this.words.say("chart.wrong_half"));
    if (this.contact === null) {
      if (this.strokes.length >= this.chart.most_strokes) {
        return this.tell(this.words.say("chart.at_most", { count: this.chart.most_strokes }));
      }
      this.contact = [tidy(x), tidy(y)];
      this.pointer.put(START.bounce[0], START.bounce[1]);
      this.show();
    } else this.finish({ bounce_x_m: tidy(x), bounce_y_m: tidy(y) });
  }

  /** @param {Stroke} end how the stroke ended */
  finish(end) {
    if (this.contact === null) return;
    const [x, y] = this.contact;
    /** @type {Stroke} */
    const stroke = { contact_x_m: x, contact_y_m: y, ...end };
    if (end.outcome === undefined) stroke.outcome = metresOut(this.facts.court, this.chart, stroke) > 0 ? this.chart.out : this.chart.in;
    this.contact = null;
    this.strokes.push(stroke);
    this.pointer.put(START.contact[0], START.contact[1]);
    this.save();
  }

  /** Call the last ball out, or in again: the eye may know better than the finger. */
  callOut() {
    const last = this.strokes.at(-1);
    if (last === undefined || last.outcome === this.chart.net) return;
    const other = last.outcome === this.chart.out ? this.chart.in : this.chart.out;
    const byBounce = metresOut(this.facts.court, this.chart, last);
    const agrees = byBounce > 0 === (other === this.chart.out);
    if (!agrees && Math.abs(byBounce) > this.chart.by_eye_m) return this.tell(this.words.say("chart.well_inside"));
    last.outcome = other;
    this.save();
  }

  undo() {
    this.tell("");
    if (this.contact !== null) {
      this.contact = null;
      this.pointer.put(START.contact[0], START.contact[1]);
      return this.show();
    }
    this.strokes.pop();
    this.save();
  }

  clear() {
    if (!confirm(this.words.say("chart.clear_sure", { count: this.strokes.length }))) return;
    [this.strokes, this.contact] = [[], null];
    this.save();
  }

  /** @param {string} hand of the opponent */
  setHand(hand) {
    if (hand === this.hand) return;
    this.hand = hand;
    if (this.strokes.length) this.store.write(this.saved);
  }

  get saved() {
    return { hand: this.hand, strokes: this.strokes };
  }

  save() {
    this.store.write(this.saved);
    this.show();
    this.changed();
  }

  export() {
    handOut("chart.csv", new Blob([csvOf(this.chart, this.hand, this.strokes)], { type: "text/csv" }));
  }

  async import() {
    const [file] = byId("chart-import").files;
    if (!file) return;
    const refused = (/** @type {string} */ problems) => this.tell(this.words.say("chart.not_imported", { file: file.name, problems }));
    if (file.size > this.chart.most_bytes) return refused(this.words.say("problem.too_big"));
    const { hand, strokes, problems } = chartOf(this.chart, textOf(await file.arrayBuffer()));
    byId("chart-import").value = "";
    if (problems.length) return refused(problemsText(problems, this.words));
    [this.hand, this.strokes, this.contact] = [hand, strokes, null];
    this.save();
    this.tell(this.words.say("chart.imported", { count: strokes.length, file: file.name }));
  }

  /** @param {string} text */
  tell(text) {
    write("chart-notice", text);
  }

  show() {
    const { words, strokes, contact } = this;
    const number = strokes.length + 1;
    write("chart-ask", words.say(contact === null ? "chart.contact" : "chart.bounce", { number }));
    const count = words.say(strokes.length === 1 ? "chart.one_stroke" : "chart.strokes", { count: strokes.length });
    write("chart-count", strokes.length ? count : words.say("chart.empty"));
    const { trouble } = this.store;
    write("chart-kept", trouble ? words.say("chart.not_kept", { error: trouble }) : words.say("chart.kept"));
    byId("chart-kept").className = trouble ? "notice" : "small";
    byId("chart-aside").hidden = this.store.aside === "";
    byId("chart-net").disabled = contact === null;
    byId("chart-undo").disabled = contact === null && strokes.length === 0;
    byId("chart-export").disabled = byId("chart-clear").disabled = strokes.length === 0;
    const last = strokes.at(-1);
    byId("chart-out").disabled = contact !== null || last === undefined || last.outcome === this.chart.net;
    write("chart-out", words.say(last?.outcome === this.chart.out ? "chart.in" : "chart.out"));
    this.draw();
  }

  draw() {
    this.court.clear();
    for (const stroke of this.strokes.slice(-FEW)) {
      const { contact_x_m: x, contact_y_m: y, bounce_x_m: toX = Number(x) * 0.9, bounce_y_m: toY = 0 } = stroke;
      const kind = stroke.outcome === this.chart.in ? "stroke" : "stroke bad";
      this.court.line(kind, [[Number(x), Number(y)], [Number(toX), Number(toY)]]);
    }
    if (this.contact === null) this.court.hide(this.struck);
    else this.court.put(this.struck, ...this.contact);
  }
}

/** A place of a finger is exact to centimetres at best. @param {number} value */
const tidy = (value) => Number(value.toFixed(2)) + 0;

/** @param {import("./court.mjs").View} view @param {number} x @param {number} y @returns {[number, number]} */
function inView({ left, right, bottom, top }, x, y) {
  return [Math.min(Math.max(x, left), right), Math.min(Math.max(y, bottom), top)];
}

/** A file's text: UTF-16 with its mark, else UTF-8. @param {ArrayBuffer} content */
function textOf(content) {
  const [a, b] = new Uint8Array(content);
  const coding = a === 0xff && b === 0xfe ? "utf-16le" : a === 0xfe && b === 0xff ? "utf-16be" : "utf-8";
  return new TextDecoder(coding).decode(content);
}
