// Draws the outline of the sound. A canvas is drawn when it comes into sight.

/** @import {Peaks} from "./logic.js" */
import { columns } from "./logic.js";

/** @type {Peaks | null} */
let peaks = null;
/** @type {Map<HTMLCanvasElement, {start: number, end: number}>} */
const drawn = new Map();
const watcher = new IntersectionObserver(
  (entries) => {
    for (const entry of entries) {
      if (entry.isIntersecting && entry.target instanceof HTMLCanvasElement) draw(entry.target);
    }
  },
  { rootMargin: "200px" },
);

/** @param {Peaks} fresh */
export function setPeaks(fresh) {
  peaks = fresh;
  redraw();
}

/** Draws everything again, as after a change of light and dark. */
export function redraw() {
  for (const canvas of drawn.keys()) {
    if (!canvas.isConnected) drawn.delete(canvas);
    watcher.unobserve(canvas);
    if (canvas.isConnected) watcher.observe(canvas);
  }
}

/** A canvas with that stretch of the take; its colour is the element's own. @param {number} start @param {number} end */
export function waveform(start, end) {
  const canvas = document.createElement("canvas");
  canvas.className = "wave";
  canvas.setAttribute("aria-hidden", "true");
  drawn.set(canvas, { start, end });
  watcher.observe(canvas);
  return canvas;
}

/** @param {HTMLCanvasElement} canvas */
function draw(canvas) {
  const stretch = drawn.get(canvas);
  const box = canvas.getBoundingClientRect();
  if (!peaks || !stretch || !box.width) return;
  const sharp = window.devicePixelRatio || 1;
  const width = Math.max(1, Math.round(box.width * sharp));
  const height = Math.max(1, Math.round(box.height * sharp));
  if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
  const pen = canvas.getContext("2d");
  if (!pen) return;
  pen.clearRect(0, 0, width, height);
  pen.fillStyle = getComputedStyle(canvas).color;
  const values = columns(peaks, stretch.start, stretch.end, width);
  const middle = height / 2;
  for (let x = 0; x < width; x += 1) {
    const high = Math.sqrt(Math.max(0, values[2 * x + 1])) * (middle - 1);
    const low = Math.sqrt(Math.max(0, -values[2 * x])) * (middle - 1);
    pen.fillRect(x, middle - Math.max(high, 0.5 * sharp), 1, Math.max(high, 0.5 * sharp) + Math.max(low, 0.5 * sharp));
  }
}

/** Forgets canvases that are no longer on the page. */
export function sweep() {
  for (const canvas of drawn.keys()) {
    if (!canvas.isConnected) {
      watcher.unobserve(canvas);
      drawn.delete(canvas);
    }
  }
}
