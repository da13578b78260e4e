// Elements from code. Text is only ever put in as text, so a script line may hold whatever it likes.

/** @typedef {Node | string | number | null | undefined | false} Child */

/**
 * An element with its properties and children. `on*` are listeners, `class` and `aria-*`, `data-*`, `role`... attributes.
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag @param {Record<string, unknown>} [with_] @param {...Child} children
 * @returns {HTMLElementTagNameMap[Tag]}
 */
export function h(tag, with_ = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(with_)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== undefined && child !== false).map(
    (child) => (typeof child === "number" ? String(child) : /** @type {Node | string} */ (child)),
  ));
  return element;
}

/** A sentence in which what is quoted keeps its own direction of writing to itself. @param {string} text @returns {Child[]} */
export function sentence(text) {
  return text.split(/(?<=\u201c)([^\u201c\u201d]*)(?=\u201d)/).map((piece, at) => (at % 2 ? h("bdi", {}, piece) : piece));
}

/** The element of that id, which the page is sure to have. @template {HTMLElement} Kind @param {string} id @param {new () => Kind} kind @returns {Kind} */
export function byId(id, kind) {
  const element = document.getElementById(id);
  if (!(element instanceof kind)) throw new Error(`the page has no ${id}`);
  return element;
}

/** A button. @param {string} text @param {() => void} press @param {Record<string, unknown>} [with_] @param {string} [key] */
export function button(text, press, with_ = {}, key = "") {
  return h("button", { type: "button", onclick: press, ...with_ }, text, key ? h("kbd", {}, key) : null);
}

/** @template {HTMLElement} Kind @param {Kind} element @param {Record<string, string>} values  CSS properties, custom ones as well */
export function style(element, values) {
  for (const [name, value] of Object.entries(values)) element.style.setProperty(name, value);
  return element;
}

/** Says something to those who listen to the page instead of looking at it. @param {string} text */
export function say(text) {
  byId("said", HTMLElement).textContent = text;
}
