// The outline of the sound: drawn once, when its place comes into sight, as a shape that stretches with its place. So
// nothing is drawn again when the scale, the window or the colours change.

/** @import {Peaks} from "./peaks.js" */
import { h } from "./dom.js";
import { HEIGHT, outline } from "./peaks.js";

const SVG = "http://www.w3.org/2000/svg";
/** What drawing may take of a frame. */
const BUDGET_MS = 3;

/** @type {Peaks | null} */
let peaks = null;
/** What every place shows, in ms of the take. @type {WeakMap<Element, [number, number]>} */
const stretches = new WeakMap();
/** @type {Set<Element>} */
const waiting = new Set();
let asked = false;

/** A place for that stretch of the take, to be drawn by `drawWaves`. @param {number} start @param {number} end */
export function waveform(start, end) {
  const place = h("div", { class: "wave", "aria-hidden": "true" });
  stretches.set(place, [start, end]);
  return place;
}

/** Draws what is not drawn yet in there, a few milliseconds' worth a frame. @param {Element} root */
export function drawWaves(root) {
  for (const place of root.querySelectorAll(".wave:empty")) waiting.add(place);
  drawSoon();
}

/** @param {Peaks} fresh */
export function setPeaks(fresh) {
  peaks = fresh;
  for (const place of document.querySelectorAll(".wave:not(:empty)")) {
    place.replaceChildren();
    waiting.add(place);
  }
  drawSoon();
}

function drawSoon() {
  if (asked || !peaks || !waiting.size) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    const until = performance.now() + BUDGET_MS;
    for (const place of waiting) {
      waiting.delete(place);
      if (place.isConnected) draw(place);
      if (performance.now() > until) break;
    }
    drawSoon();
  });
}

/** @param {Element} place */
function draw(place) {
  const stretch = stretches.get(place);
  if (!peaks || !stretch) return;
  const { shape, width } = outline(peaks, ...stretch);
  const picture = document.createElementNS(SVG, "svg");
  picture.setAttribute("viewBox", `0 0 ${width} ${HEIGHT}`);
  picture.setAttribute("preserveAspectRatio", "none");
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("d", shape);
  picture.append(path);
  place.replaceChildren(picture);
}
