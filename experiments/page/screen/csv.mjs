/**
 * Charts as CSV, the one that `rally-recovery chart` reads (strategies.charts.reading): the columns,
 * units and words are the engine's, in `facts.chart`.
 *
 * @typedef {Record<string, number | string>} Stroke fields by name, in the first unit of each quantity,
 *   such as contact_x_m; what was not seen is left out
 * @typedef {{key: string, fields: Record<string, string | number>}} Problem a text of the page and its fields
 */

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;
const COMMA = /^([+-]?\d*),(\d+)$/;
const SLACK = 1e-9;
const PLACES = 3; // decimals of what is written
const MOST_TOLD = 8; // problems

/** The field of a stroke that a quantity fills. @param {any} quantity */
const fieldOf = ({ name, units }) => `${name}_${Object.keys(units)[0]}`;

/** A chart as CSV: all columns in which there is anything. @param {any} chart of the facts @param {string} hand @param {Stroke[]} strokes */
export function csvOf(chart, hand, strokes) {
  const fields = [...chart.quantities.map(fieldOf), ...chart.words.map((/** @type {any} */ w) => w.name)];
  const needed = chart.quantities.filter((/** @type {any} */ q) => q.needed).map(fieldOf);
  const columns = fields.filter((name) => name === "hand" || needed.includes(name) || strokes.some((stroke) => name in stroke));
  const rows = strokes.map((stroke) => {
    return columns.map((name) => (name === "hand" ? hand : cellOf(stroke[name]))).join(",");
  });
  return `${[columns.join(","), ...rows].join("\n")}\n`;
}

/** @param {number | string | undefined} value */
function cellOf(value) {
  return typeof value === "number" ? String(Number(value.toFixed(PLACES)) + 0) : (value ?? "");
}

/** The strokes in a CSV text, whose hand they are, and what is wrong with it.
 * @param {any} chart of the facts @param {string} text @returns {{hand: string, strokes: Stroke[], problems: Problem[]}} */
export function chartOf(chart, text) {
  const lines = text.replace(/^\ufeff/, "").split(/\r\n|\r|\n/).map((line, i) => ({ line: i + 1, text: line }));
  if (lines[0].text.toLowerCase().startsWith("sep=")) lines.shift();
  const separator = separatorOf(chart, lines[0]?.text ?? "");
  const header = cellsOf(lines[0]?.text ?? "", separator).map((name) => name.toLowerCase());
  const columns = columnsOf(chart);
  const problems = [...headerProblems(chart, columns, header)];
  if (problems.length) return { hand: "right", strokes: [], problems };
  /** @type {Stroke[]} */
  const strokes = [];
  const hands = new Map();
  for (const { line, text: row } of lines.slice(1)) {
    const cells = cellsOf(row, separator);
    if (cells.every((cell) => cell === "")) continue;
    const { hand = "right", ...stroke } = rowOf(chart, columns, header, cells, line, problems);
    if (!hands.has(hand)) hands.set(hand, line);
    strokes.push(stroke);
  }
  if (hands.size > 1) {
    const [hand, line] = [...hands][1];
    problems.push(problem(line, "hand", hand, "problem.one_hand"));
  }
  if (strokes.length === 0) problems.push(problem(2, "", "", "problem.no_rows"));
  if (strokes.length > chart.most_strokes) problems.push({ key: "chart.at_most", fields: { count: chart.most_strokes } });
  return { hand: String([...hands.keys()][0] ?? "right"), strokes, problems };
}

/** What is wrong, in words. @param {Problem[]} problems @param {import("./words.mjs").Words} words */
export function problemsText(problems, words) {
  const told = problems.slice(0, MOST_TOLD).map(({ key, fields }) => {
    if (!fields.line) return words.say(key, fields);
    const allowed = words.say(String(fields.allowed), fields);
    return words.say("problem.line", { ...fields, allowed });
  });
  const more = problems.length - told.length;
  if (more > 0) told.push(words.say("problem.more", { count: more }));
  return told.join("; ");
}

/** @param {number} line @param {string} column @param {string} value @param {string} allowed a text @param {Record<string, string | number>} [fields] @returns {Problem} */
const problem = (line, column, value, allowed, fields = {}) => ({
  key: "problem.line", fields: { line, column, value: value.slice(0, 40), allowed, ...fields },
});

/** @param {any} chart @param {string} header */
function separatorOf({ separators }, header) {
  const count = (/** @type {string} */ mark) => header.split(mark).length;
  return separators.reduce((/** @type {string} */ a, /** @type {string} */ b) => (count(b) > count(a) ? b : a));
}

/** The cells of a line; one in quotes may hold the separator. @param {string} line @param {string} separator */
function cellsOf(line, separator) {
  /** @type {string[]} */
  const cells = [""];
  let quoted = false;
  for (let i = 0; i < line.length; i++) {
    const letter = line[i];
    if (letter === '"' && quoted && line[i + 1] === '"') cells[cells.length - 1] += line[++i];
    else if (letter === '"') quoted = !quoted;
    else if (letter === separator && !quoted) cells.push("");
    else cells[cells.length - 1] += letter;
  }
  return cells.map((cell) => cell.trim());
}

/** What each header stands for: a quantity in a unit, or words. @param {any} chart @returns {Map<string, any>} */
function columnsOf({ quantities, words }) {
  const out = new Map();
  for (const quantity of quantities) {
    for (const [unit, factor] of Object.entries(quantity.units)) out.set(`${quantity.name}_${unit}`, { quantity, factor });
  }
  for (const each of words) out.set(each.name, { words: each });
  return out;
}

/** @param {any} chart @param {Map<string, any>} columns @param {string[]} header @returns {Generator<Problem>} */
function* headerProblems({ quantities }, columns, header) {
  for (const name of header) {
    if (!columns.has(name)) yield problem(1, "", name, "problem.columns", { columns: [...columns.keys()].join(", ") });
  }
  for (const quantity of quantities) {
    const names = Object.keys(quantity.units).map((unit) => `${quantity.name}_${unit}`);
    const given = header.filter((name) => names.includes(name));
    if (given.length > 1) yield problem(1, given[0], given.join(", "), "problem.twice");
    if (quantity.needed && given.length === 0) yield problem(1, names[0], "", "problem.missing");
  }
  for (const [name, { words }] of columns) {
    if (words && header.filter((each) => each === name).length > 1) yield problem(1, name, name, "problem.twice");
  }
}

/** The stroke in a row; what is wrong with it is added to `problems`.
 * @param {any} chart @param {Map<string, any>} columns @param {string[]} header @param {string[]} cells @param {number} line @param {Problem[]} problems @returns {Stroke} */
function rowOf(chart, columns, header, cells, line, problems) {
  if (cells.length !== header.length) {
    problems.push(problem(line, "", cells.join(","), "problem.cells", { count: header.length }));
    return {};
  }
  /** @type {Stroke} */
  const stroke = {};
  const before = problems.length;
  const isNet = cells[header.indexOf("outcome")]?.toLowerCase() === chart.net;
  header.forEach((name, i) => {
    const { quantity, factor, words } = columns.get(name);
    const text = cells[i];
    const isBounce = quantity?.name.startsWith("bounce");
    if (text === "") {
      if (quantity?.needed && !(isBounce && isNet)) problems.push(problem(line, name, text, "problem.needed"));
    } else if (isBounce && isNet) problems.push(problem(line, name, text, "problem.empty_for_net"));
    else if (words) {
      const word = wordOf(words, text);
      if (word === undefined) problems.push(problem(line, name, text, "problem.words", { words: words.words.join(", ") }));
      else stroke[name] = word;
    } else {
      const value = numberOf(text, (number) => isInside(quantity, number * factor));
      if (value === undefined || !isInside(quantity, value * factor)) {
        const [low, high] = [quantity.low, quantity.high].map((end) => String(Number((end / factor).toPrecision(4))));
        problems.push(problem(line, name, text, "problem.from_to", { low, high }));
      } else stroke[fieldOf(quantity)] = value * factor;
    }
  });
  if (problems.length === before) settle(chart, stroke, line, problems);
  return stroke;
}

/** @param {any} quantity @param {number} value */
function isInside({ low, high }, value) {
  const slack = SLACK * Math.abs(value);
  return value >= low - slack && value <= high + slack;
}

/** The number that a text says, with a point or a comma (sim.people_files.decimal).
 * @param {string} text @param {(value: number) => boolean} fits @returns {number | undefined} */
function numberOf(text, fits) {
  if (NUMBER.test(text)) return Number(text);
  const found = COMMA.exec(text);
  if (found === null) return undefined;
  const value = Number(`${found[1]}.${found[2]}`);
  if (found[2].length === 3 && found[1].replace(/^[+\-0]+/, "") !== "" && fits(value)) {
    return fits(Number(found[1] + found[2])) ? undefined : value;
  }
  return value;
}

/** @param {any} words @param {string} text @returns {string | undefined} */
function wordOf({ words, aliases }, text) {
  const plain = text.toLowerCase().replace(/[-_]/g, " ").split(/\s+/).filter(Boolean).join(" ");
  const word = Object.hasOwn(aliases, plain) ? aliases[plain] : plain;
  return words.includes(word) ? word : undefined;
}

/** How far a bounce is outside the lines; below 0 inside. @param {any} court @param {any} chart @param {Stroke} stroke */
export function metresOut(court, chart, stroke) {
  const deep = chart.serves.includes(stroke.kind) ? court.service_line_m : court.half_length_m;
  return Math.max(Math.abs(Number(stroke.bounce_x_m)) - court.half_width_m, Math.abs(Number(stroke.bounce_y_m)) - deep);
}

/** Give a stroke its outcome, or say that it contradicts the bounce. @param {any} chart @param {Stroke} stroke @param {number} line @param {Problem[]} problems */
function settle(chart, stroke, line, problems) {
  if (stroke.bounce_x_m === undefined || stroke.bounce_y_m === undefined) return;
  const over = metresOut(chart.court, chart, stroke);
  const outcome = over > 0 ? chart.out : chart.in;
  if (stroke.outcome !== undefined && stroke.outcome !== outcome && Math.abs(over) > chart.by_eye_m) {
    problems.push(problem(line, "outcome", String(stroke.outcome), "problem.by_bounce", { outcome }));
  }
  stroke.outcome ??= outcome;
}
