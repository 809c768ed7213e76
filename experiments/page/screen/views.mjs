/** The folded answers: a spot of one's own, the fan, other ways of recovering. */
import { ownRanges } from "./case.mjs";
import { Court, endView, wholeView } from "./court.mjs";
import { byId, write } from "./elements.mjs";
import { Handle } from "./handle.mjs";

/** @typedef {import("./case.mjs").Case} Case */
/** @typedef {import("./words.mjs").Words} Words */

export const OWN_SPOT = "own 1"; // as the worker calls it

/** A hollow cone to drag, and its price. */
export class OwnSpot {
  /** @param {any} facts @param {Words} words @param {(own: [number, number] | null, hurried: boolean) => void} moved */
  constructor(facts, words, moved) {
    this.facts = facts;
    this.words = words;
    this.court = new Court(byId("own-court"), facts, endView(facts, 0));
    this.cone = this.court.mark("cone");
    const [x, y] = ownRanges(facts);
    this.handle = new Handle(this.court, "hollow", {
      label: words.say("court.own"),
      hint: words.say("court.keys"),
      x,
      y,
      told: (across, along) => words.place(across, along),
      moved: (across, along, hurried) => moved([across, along], hurried),
    });
    byId("own-back").addEventListener("click", () => moved(null, false));
  }

  /** @param {any} spot @param {Case} asked @param {number} waits */
  show(spot, asked, waits) {
    const { words, court } = this;
    const place = asked.own ?? [spot.best.x_m, waits];
    court.show(endView(this.facts, Math.min(waits, place[1])));
    court.clear();
    court.waiting(waits, spot.best);
    court.put(this.cone, spot.best.x_m, waits);
    if (place[0] !== this.handle.x || place[1] !== this.handle.y) this.handle.put(place[0], place[1]);
    const found = spot.policies[OWN_SPOT];
    byId("own-back").disabled = asked.own === null;
    if (!found) return write("own-price", asked.own === null ? "" : words.say("nothing_yet"));
    const more = 100 * (spot.best.share_in_time - found.share_in_time);
    const missed = words.interval(found.missed_per_100);
    const key = more <= this.facts.as_good_per_100 ? "own.as_good" : "own.price";
    const where = words.place(found.x_m, found.y_m);
    write("own-price", words.say(key, { place: where, missed, more: words.number(more) }));
  }
}

/** What the opponent can hit. */
export class Fan {
  /** @param {any} facts @param {Words} words */
  constructor(facts, words) {
    this.facts = facts;
    this.words = words;
    this.court = new Court(byId("fan-court"), facts, wholeView(facts, 0));
    this.contact = this.court.mark("contact");
    this.cone = this.court.mark("cone");
  }

  /** @param {any} spot @param {Case} asked @param {number} waits */
  show(spot, asked, waits) {
    const { words, court } = this;
    const [x, y] = asked.contact_m;
    const half = Math.max(wholeView(this.facts, waits).right, Math.abs(x) + 0.6);
    const view = wholeView(this.facts, waits);
    court.show({ ...view, left: -half, right: half, top: Math.max(view.top, y + 0.6) });
    court.clear();
    court.waiting(waits);
    const paths = spot.extremes.map((/** @type {any} */ drive) => uncut(drive.path, waits));
    if (paths.every((/** @type {any} */ path) => path.places.length > 1)) {
      const [left, right] = paths.map((/** @type {any} */ path) => path.places);
      court.area("wedge", [...left, ...right.reverse()]);
    }
    for (const { before, after, bounce } of paths) {
      if (!bounce) continue;
      court.line("flight", before);
      court.line("flight after", after);
    }
    court.line("half", [[x, y], [spot.bisector_x_m, waits]]);
    court.put(this.contact, x, y);
    court.put(this.cone, spot.best.x_m, waits);
    ["left", "right"].forEach((side, i) => {
      const { speed_m_s: speed, chance_in: chance, path } = spot.extremes[i];
      const fields = { speed: words.kmh(speed), in: words.number(100 * chance, 0) };
      write(`fan-${side}`, path.length ? words.say(`fan.${side}`, fields) : words.say("fan.none"));
    });
    write("fan-half", words.say("fan.bisector", { place: words.across(spot.bisector_x_m) }));
  }
}

/** A path from above in its parts, no farther than a little behind the waiting line.
 * @param {number[][]} path time, x, y, height each @param {number} waits */
function uncut(path, waits) {
  const seen = path.filter(([, , y]) => y >= waits - 1);
  const lowest = seen.reduce((low, point, i) => (point[2] < 0 && point[3] < seen[low][3] ? i : low), 0);
  const places = seen.map(([, x, y]) => [x, y]);
  return { places, before: places.slice(0, lowest + 1), after: places.slice(lowest), bounce: places[lowest] };
}

/** The learned rule of one level; nothing where there is none. @param {string | null} level */
export function showRule(level) {
  const section = byId("rule");
  section.hidden = level === null;
  for (const one of section.querySelectorAll("[data-level]")) {
    /** @type {HTMLElement} */ (one).hidden = /** @type {HTMLElement} */ (one).dataset.level !== level;
  }
}

/** Other ways of recovering, a row each, and all numbers. */
export class Ways {
  /** @param {any} facts @param {Words} words */
  constructor(facts, words) {
    this.facts = facts;
    this.words = words;
  }

  /** @param {any} spot */
  show(spot) {
    const { words } = this;
    const rows = this.facts.policies.flatMap((/** @type {string} */ name) => {
      const found = spot.policies[name];
      if (!found) return [];
      const cells = [
        words.name(name),
        words.interval(found.missed_per_100),
        words.across(found.x_m),
        words.steps(found.x_m),
        words.number(100 * found.share_set),
        words.say("seconds", { seconds: words.number(found.time_to_spare_s, 2) }),
      ];
      return [rowElement(name, cells)];
    });
    byId("ways-rows").replaceChildren(...rows);
    if (byId("numbers").open) write("numbers-text", spot.done ? JSON.stringify(spot, null, 1) : words.say("nothing_yet"));
  }
}

/** @param {string} name @param {string[]} cells */
function rowElement(name, cells) {
  const row = document.createElement("tr");
  row.dataset.name = name;
  row.append(
    ...cells.map((text, i) => {
      const cell = document.createElement(i ? "td" : "th");
      if (i === 0) /** @type {any} */ (cell).scope = "row";
      cell.textContent = text;
      return cell;
    }),
  );
  return row;
}
