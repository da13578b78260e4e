// Draws the outline of the sound: what is in sight, a few milliseconds' worth a frame.

/** @import {Peaks} from "./peaks.js" */
import { h } from "./dom.js";
import { columns } from "./peaks.js";

const BUDGET_MS = 3;
/** While the scale is changing, what was drawn is stretched; it is drawn anew when nothing has changed for so long. */
const REST_MS = 120;

/** @typedef {{start: number, end: number, ink: "kept" | "unused"}} Stretch */
/** @typedef {{canvas: HTMLCanvasElement, width: number, height: number}} Seen  with its size on the page */

/** @type {Peaks | null} */
let peaks = null;
/** What every place shows. @type {WeakMap<Element, Stretch>} */
const stretches = new WeakMap();
/** The places in sight. @type {Map<Element, Seen>} */
const inSight = new Map();
/** @type {Set<Element>} */
const waiting = new Set();
/** Canvases that lie idle: every one on the page is a layer to be put together in every frame. @type {HTMLCanvasElement[]} */
const spare = [];
/** @type {Map<string, string>} */
const inks = new Map();
let asked = false;
let resting = 0;

const sizes = new ResizeObserver((entries) => {
  let stretched = false;
  for (const { target, contentRect } of entries) {
    const seen = inSight.get(target);
    if (!seen) continue;
    stretched ||= seen.width > 0;
    [seen.width, seen.height] = [contentRect.width, contentRect.height];
    waiting.add(target);
  }
  clearTimeout(resting);
  if (stretched) resting = setTimeout(drawSoon, REST_MS);
  else drawSoon();
});
const sight = new IntersectionObserver(
  (entries) => {
    for (const { target, isIntersecting } of entries) {
      if (isIntersecting) enter(target);
      else leave(target);
    }
  },
  { rootMargin: "80px" },
);

/** @param {Element} place */
function enter(place) {
  if (inSight.has(place)) return;
  const canvas = spare.pop() ?? document.createElement("canvas");
  canvas.width = 0;
  place.append(canvas);
  inSight.set(place, { canvas, width: 0, height: 0 });
  sizes.observe(place);
}

/** @param {Element} place */
function leave(place) {
  const seen = inSight.get(place);
  if (seen) {
    seen.canvas.remove();
    spare.push(seen.canvas);
    sizes.unobserve(place);
    inSight.delete(place);
    waiting.delete(place);
  }
  if (!place.isConnected) sight.unobserve(place);
}

/** @param {Peaks} fresh */
export function setPeaks(fresh) {
  peaks = fresh;
  redraw();
}

/** Draws everything again, as after a change of light and dark. */
export function redraw() {
  inks.clear();
  for (const place of inSight.keys()) waiting.add(place);
  drawSoon();
}

/**
 * A place that shows that stretch of the take.
 * @param {number} start @param {number} end @param {Stretch["ink"]} [ink]  whose colour the style sheet knows
 */
export function waveform(start, end, ink = "kept") {
  const place = h("div", { class: "wave", "aria-hidden": "true" });
  stretches.set(place, { start, end, ink });
  sight.observe(place);
  return place;
}

function drawSoon() {
  if (asked || !waiting.size) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    const until = performance.now() + BUDGET_MS;
    for (const place of waiting) {
      waiting.delete(place);
      draw(place);
      if (performance.now() > until) break;
    }
    drawSoon();
  });
}

/** @param {string} name */
function inkOf(name) {
  const known = inks.get(name);
  if (known) return known;
  const fresh = getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
  inks.set(name, fresh);
  return fresh;
}

/** @param {Element} place */
function draw(place) {
  const stretch = stretches.get(place);
  const seen = inSight.get(place);
  if (!peaks || !stretch || !seen?.width) return;
  const { canvas } = seen;
  const sharp = window.devicePixelRatio || 1;
  const width = Math.max(1, Math.round(seen.width * sharp));
  const height = Math.max(1, Math.round(seen.height * sharp));
  if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
  const pen = canvas.getContext("2d");
  if (!pen) return;
  pen.clearRect(0, 0, width, height);
  pen.fillStyle = inkOf(stretch.ink);
  const values = columns(peaks, stretch.start, stretch.end, width);
  const middle = height / 2;
  const least = 0.5 * sharp;
  pen.beginPath();
  for (let x = 0; x < width; x += 1) {
    const high = Math.max(least, Math.sqrt(Math.max(0, values[2 * x + 1])) * (middle - 1));
    const low = Math.max(least, Math.sqrt(Math.max(0, -values[2 * x])) * (middle - 1));
    pen.rect(x, middle - high, 1, high + low);
  }
  pen.fill();
}
