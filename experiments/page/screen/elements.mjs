/** Elements of the page: by their id, made anew, and files that the page hands out. */

const SVG = "http://www.w3.org/2000/svg";

/** @param {string} id @returns {any} the element of that id */
export function byId(id) {
  const found = document.getElementById(id);
  if (found === null) throw new TypeError(`the page has no ${id}`);
  return found;
}

/** Put a text where it is not there already. @param {string} id @param {string} text */
export function write(id, text) {
  const element = byId(id);
  if (element.textContent !== text) element.textContent = text;
}

/** A new element of a picture. @param {string} name @param {Record<string, string | number>} attributes @param {Element[]} [inside] @returns {any} */
export function drawn(name, attributes, inside = []) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  element.append(...inside);
  return element;
}

/** Whether the reader wants few movements. */
export function wantsStillness() {
  return matchMedia("(prefers-reduced-motion: reduce)").matches;
}

/** Let the reader keep a file. @param {string} name @param {Blob} content */
export function handOut(name, content) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(content);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
