/**
 * Questions to the worker, one at a time. A newer question about the spot takes the place of an older
 * one, but lets it give its first answer while a finger is still dragging; other questions wait until
 * that one is answered, and are asked again if it interrupts them.
 */

/** @typedef {{message: any, hear: (answer: any) => void, failed: (error: string) => void}} Question */

const PATIENCE_MS = 400; // of a newer question about the spot, with the one that is worked on

export class Asker {
  /** @param {string} script of the worker @param {(error: string) => void} broken */
  constructor(script, broken) {
    this.worker = new Worker(URL.createObjectURL(new Blob([script], { type: "text/javascript" })));
    this.broken = broken;
    this.number = 0;
    /** @type {Question | null} */
    this.current = null;
    /** @type {Question | null} */
    this.next = null;
    /** @type {Question[]} */
    this.later = [];
    this.silentSince = 0; // when the current question was asked, until it is first answered
    this.worker.onmessage = ({ data }) => this.heard(data);
    this.worker.onerror = (event) => broken(event.message);
  }

  /** Ask about the spot; what was asked before is forgotten. @param {any} message @param {(answer: any) => void} hear @param {(error: string) => void} failed */
  spot(message, hear, failed) {
    this.next = { message: { ...message, ask: "spot" }, hear, failed };
    const silent = this.current?.message.ask === "spot" && this.silentSince > 0;
    if (!silent) this.goOn();
    else setTimeout(() => performance.now() - this.silentSince >= PATIENCE_MS && this.goOn(), PATIENCE_MS);
  }

  /** Ask for balls met, once nothing else is asked. @param {any} message @param {(answer: any) => void} hear @param {(error: string) => void} failed */
  met(message, hear, failed) {
    this.later.push({ message: { ...message, ask: "met" }, hear, failed });
    if (this.current === null) this.goOn();
  }

  /** Forget questions that wait or are worked on, but those about the spot. */
  forgetMet() {
    this.later = [];
    if (this.current?.message.ask === "met") this.current = null;
  }

  goOn() {
    if (this.next !== null) {
      if (this.current?.message.ask === "met") this.later.unshift(this.current);
      [this.current, this.next] = [this.next, null];
    } else if (this.current === null) this.current = this.later.shift() ?? null;
    else return;
    if (this.current === null) return;
    this.number += 1;
    this.silentSince = performance.now();
    this.worker.postMessage({ ...this.current.message, id: this.number });
  }

  /** @param {any} data */
  heard({ id, error, ...answer }) {
    if (id === undefined) return this.broken(String(error));
    if (id !== this.number || this.current === null) return;
    this.silentSince = 0;
    const { message, hear, failed } = this.current;
    if (error !== undefined || answer.done) this.current = null;
    if (error !== undefined) failed(String(error));
    else hear(answer[message.ask]);
    if (this.next !== null || this.current === null) this.goOn();
  }
}
