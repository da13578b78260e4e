// What is drawn to scale in a row: where strips and gaps stand in their lanes, and which sound is in the strips.

/** @import {Part} from "./wave.js" */
/** @import {Scale} from "./logic.js" */
import { style } from "./dom.js";
import { placed } from "./logic.js";

/**
 * @typedef {object} Bar  A strip, or a part of a gap.
 * @property {HTMLElement} element
 * @property {number} at  ms after the lane's beginning
 * @property {number} ms  its length
 * @property {"take" | "lesson" | null} clock  on which it sounds
 * @property {number} start  on that clock
 */

/** @typedef {{element: HTMLElement, column: number, kind: string, bars: Bar[], parts: Part[]}} LaneBars  column -1: across all */

/** What is to scale in a row. @param {HTMLElement} row @returns {LaneBars[]} */
export function lanesIn(row) {
  return [.../** @type {NodeListOf<HTMLElement>} */ (row.querySelectorAll(".lane"))].map((element) => ({
    element,
    column: Number(element.dataset.column),
    kind: element.dataset.kind ?? "",
    bars: [.../** @type {NodeListOf<HTMLElement>} */ (element.querySelectorAll("[data-ms]"))].map(barOf),
    parts: [],
  }));
}

/** @param {HTMLElement} element @returns {Bar} */
function barOf(element) {
  const { at, ms, from, start } = element.dataset;
  const clock = from === "take" || from === "lesson" ? from : null;
  return { element, at: Number(at), ms: Number(ms), clock, start: Number(start ?? 0) };
}

/** @param {LaneBars} lane @param {Scale} scale */
export function widthOf(lane, scale) {
  return scale.columns[lane.column] ?? scale.across;
}

/** Puts everything where that scale has it, without asking the page anything. @param {LaneBars} lane @param {Scale} scale */
export function fit(lane, scale) {
  lane.parts = [];
  for (const bar of lane.bars) {
    const place = placed(bar.at, bar.ms, scale, widthOf(lane, scale));
    style(bar.element, { left: `${place.left}px`, width: `${place.width}px` });
    bar.element.classList.toggle("from-before", place.before);
    bar.element.classList.toggle("goes-on", place.after);
    bar.element.classList.toggle("away", place.away);
    if (bar.clock === "take" && !place.away) lane.parts.push({ x: place.left, width: place.width, start: bar.start + Math.max(0, scale.from - bar.at) });
  }
}

/** How long after the lane's beginning the sound is, in ms; null while it sounds elsewhere. @param {Bar} bar @param {number} ms  on the bar's clock */
export function soundAt(bar, ms) {
  const after = ms - bar.start;
  return after < 0 || after >= bar.ms ? null : bar.at + after;
}
