/**
 * What the page's script answers: `node page_answers.mjs SCRIPT < messages`.
 *
 * Runs the script as a worker would be, posts each message (a line of JSON on standard input) once the
 * one before is done, and prints a line of JSON for each: the last answer, with the milliseconds that
 * the first and the last took. After a message with `hurried` the next is posted at once.
 */
import { readFileSync } from "node:fs";
import { createContext, runInContext } from "node:vm";

const lines = readFileSync(0, "utf8").split("\n").filter((line) => line !== "");
const questions = lines.map((line) => JSON.parse(line));
let [asked, began, first] = [-1, 0, 0];

const self = {
  onmessage: null,
  postMessage(answer) {
    first ||= performance.now() - began;
    if (!(answer.done || answer.error)) return;
    const told = { ...answer, first_ms: first, ms: performance.now() - began };
    process.stdout.write(`${JSON.stringify(told)}\n`);
    setTimeout(ask);
  },
};

function ask() {
  asked++;
  if (asked === questions.length) return process.stdout.write("", () => process.exit(0));
  [began, first] = [performance.now(), 0];
  const question = questions[asked];
  self.onmessage({ data: { id: asked, ...question } });
  if (question.hurried) setTimeout(ask, 20);
}

const scope = { self, performance, atob, WebAssembly, MessageChannel };
runInContext(readFileSync(process.argv[2], "utf8"), createContext(scope));
ask();
