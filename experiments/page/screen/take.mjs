/** What can be taken along: a printed page, a picture, the case as text. */
import { byId, drawn, handOut, write } from "./elements.mjs";

/** @typedef {import("./words.mjs").Words} Words */

const LOOKS = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "opacity", "vector-effect", "visibility"];
const [WIDE, TALL, MARGIN, LINE] = [1080, 1500, 48, 44]; // pixels of a picture
const LEFT_OUT = ".touch, .halo";

export class Take {
  /** @param {Words} words @param {() => void} fresh what to do to begin anew */
  constructor(words, fresh) {
    this.words = words;
    byId("take-print").addEventListener("click", () => print());
    byId("take-fresh").addEventListener("click", fresh);
    byId("take-picture").addEventListener("click", async () => handOut(this.name, await this.picture()));
    byId("take-share").addEventListener("click", () => this.share());
    byId("take-copy").addEventListener("click", () => this.copy());
    const probe = new File([], this.name, { type: "image/png" });
    byId("take-share").hidden = !navigator.canShare?.({ files: [probe] });
  }

  get name() {
    return `${this.words.say("take.name")}.png`;
  }

  /** @param {string} address the case as text */
  show(address) {
    byId("take-address").value = address || "#";
    write("take-copied", "");
  }

  async share() {
    const file = new File([await this.picture()], this.name, { type: "image/png" });
    await navigator.share({ files: [file] }).catch(() => undefined); // the reader thought better of it
  }

  async copy() {
    const field = byId("take-address");
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
    } catch {
      document.execCommand("copy");
    }
    write("take-copied", this.words.say("take.copied"));
  }

  /** The court and what is said of it, as a PNG. @returns {Promise<Blob>} */
  async picture() {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [WIDE, TALL];
    const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    const { backgroundColor, color, fontFamily } = getComputedStyle(document.body);
    pen.fillStyle = backgroundColor;
    pen.fillRect(0, 0, WIDE, TALL);
    pen.fillStyle = color;
    let y = TALL - MARGIN;
    for (const [id, size] of /** @type {[string, number][]} */ ([["small", 22], ["basis", 26], ["costs", 32], ["sure", 32], ["advice", 42]])) {
      pen.font = `${id === "advice" ? "bold " : ""}${size}px ${fontFamily}`;
      const lines = brokenInto(byId(id).textContent, (text) => pen.measureText(text).width <= WIDE - 2 * MARGIN);
      for (const line of lines.reverse()) {
        pen.fillText(line, MARGIN, y);
        y -= size * 1.3;
      }
      y -= LINE / 4;
    }
    const court = await imageOf(byId("court"), y - 2 * MARGIN);
    pen.drawImage(court, (WIDE - court.width) / 2, MARGIN);
    return new Promise((resolve) => canvas.toBlob((blob) => resolve(/** @type {Blob} */ (blob)), "image/png"));
  }
}

/** A text in lines that fit. @param {string} text @param {(line: string) => boolean} fits @returns {string[]} */
function brokenInto(text, fits) {
  return text.split(" ").reduce((/** @type {string[]} */ lines, word) => {
    const longer = lines.length ? `${lines[lines.length - 1]} ${word}` : word;
    if (lines.length && fits(longer)) return [...lines.slice(0, -1), longer];
    return [...lines, word];
  }, []);
}

/** An SVG element as an image of that height, with its looks written into it.
 * @param {any} svg @param {number} height @returns {Promise<HTMLImageElement>} */
async function imageOf(svg, height) {
  const copy = svg.cloneNode(true);
  const [all, mine] = [svg, copy].map((each) => [...each.querySelectorAll("*")]);
  all.forEach((element, i) => {
    const looks = getComputedStyle(element);
    for (const name of LOOKS) mine[i].setAttribute(name, looks.getPropertyValue(name));
  });
  for (const element of copy.querySelectorAll(LEFT_OUT)) element.remove();
  const [, , wide, tall] = svg.getAttribute("viewBox").split(" ").map(Number);
  const size = { width: Math.round((height * wide) / tall), height: Math.round(height) };
  const whole = drawn("svg", { xmlns: "http://www.w3.org/2000/svg", viewBox: svg.getAttribute("viewBox"), ...size });
  whole.append(...copy.childNodes);
  const text = new XMLSerializer().serializeToString(whole);
  const image = new Image(size.width, size.height);
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
  await image.decode();
  return image;
}
