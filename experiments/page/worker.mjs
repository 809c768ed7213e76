/** Answering messages: one question at a time, the newest, a little at a time (see `spot.mjs`). */
import { bytesOf, Memory } from "./memory.mjs";
import { metAnswers } from "./met.mjs";
import { spotAnswers } from "./spot.mjs";

/** @typedef {import("./memory.mjs").State} State */

const AT_ONCE_MS = 12; // of work, before messages are looked at again

/** What a page may offer to choose from. @param {State} state */
function choices(state) {
  return {
    people: state.people.map(({ name, hand, player }) => ({ name, hand, hands: Object.keys(player) })),
    hitters: Object.fromEntries(Object.entries(state.hitters).map(([key, { name, looks }]) => [key, { name, looks }])),
    surfaces: Object.keys(state.worlds),
    balls: Object.keys(Object.values(state.worlds)[0]),
    policies: state.policies.map(({ name }) => name),
    numbers: state.numbers,
  };
}

/** The answers to a message, yielded one by one among pauses.
 * @param {Memory} memory @param {any} message @returns {Generator<any, void>} */
function* answersTo(memory, message) {
  if (message.ask === "who") yield { who: choices(memory.state), done: true };
  else if (message.ask === "spot") {
    for (const spot of spotAnswers(memory, message.scene, message.places, message.policies)) {
      yield spot && { spot, done: spot.done };
    }
  } else if (message.ask === "met") {
    for (const met of metAnswers(memory, message.scene, message.place, message.first, message.shown)) {
      yield met && { met, done: true };
    }
  } else if (message.ask !== "stop") throw new RangeError(`ask is ${JSON.stringify(message.ask)}; allowed: who, spot, met, stop`);
}

/**
 * Serve the messages of a worker's scope from now on.
 * @param {{onmessage: any, postMessage: (answer: any) => void}} scope @param {State} state @param {string} code web.wasm in Base64
 */
export function serve(scope, state, code) {
  const { port1: woken, port2: wake } = new MessageChannel();
  /** @type {Memory | null} */
  let memory = null;
  /** @type {any} */
  let message = null;
  /** @type {Generator<any, void> | null} */
  let work = null;

  const goOn = () => {
    if (memory === null || message === null) return;
    const end = performance.now() + AT_ONCE_MS;
    try {
      work ??= answersTo(memory, message);
      while (performance.now() < end) {
        const { value, done } = work.next();
        if (value) scope.postMessage({ id: message.id, ...value });
        if (done) {
          [work, message] = [null, null];
          return;
        }
      }
    } catch (error) {
      scope.postMessage({ id: message.id, error: String(/** @type {Error} */ (error).message) });
      [work, message] = [null, null];
      return;
    }
    wake.postMessage(null);
  };
  woken.onmessage = goOn;
  scope.onmessage = (/** @type {{data: any}} */ { data }) => {
    work?.return();
    [work, message] = [null, data];
    goOn();
  };
  Memory.open(bytesOf(code), state).then(
    (opened) => {
      memory = opened;
      goOn();
    },
    (error) => scope.postMessage({ error: String(error) }),
  );
}
