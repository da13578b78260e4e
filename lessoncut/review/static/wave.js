// The outline of the sound on canvas, always at the scale at which it is seen, so that it is sharp on every screen.

/** @import {Peaks} from "./peaks.js" */
import { h } from "./dom.js";
import { outline, paint } from "./peaks.js";

/** What the system asks of the colours. */
const SCHEMES = ["(prefers-color-scheme: dark)", "(forced-colors: active)"];

/** @typedef {{x: number, width: number, start: number}} Part  pixels of the page; ms of the take */

/** @type {Peaks | null} */
let peaks = null;
/** What fills its place, whatever its width: ms of the take. @type {Map<HTMLCanvasElement, [number, number]>} */
const stretches = new Map();
const sizes = new ResizeObserver((entries) => {
  for (const { target } of entries) fill(/** @type {HTMLCanvasElement} */ (target));
});
/** @type {ImageData | null} */
let picture = null;

/** Another outline, or other colours: nothing that was drawn holds any more. @param {Peaks} [fresh] */
export function drawAnew(fresh) {
  peaks = fresh ?? peaks;
  for (const canvas of stretches.keys()) fill(canvas);
}

/** Tells whenever what was drawn is not as it should look: other colours, another screen. @param {() => void} tell */
export function onNewLook(tell) {
  for (const about of SCHEMES) matchMedia(about).addEventListener("change", tell);
  const onScreen = () => matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener("change", () => {
    onScreen();
    tell();
  }, { once: true });
  onScreen();
}

/** That stretch of the take, as wide as its place. @param {number} start @param {number} end */
export function waveform(start, end) {
  const canvas = h("canvas", { class: "wave", "aria-hidden": "true" });
  stretches.set(canvas, [start, end]);
  sizes.observe(canvas);
  return canvas;
}

/** @param {HTMLCanvasElement} canvas */
function fill(canvas) {
  const [start, end] = /** @type {[number, number]} */ (stretches.get(canvas));
  if (!canvas.isConnected) {
    stretches.delete(canvas);
    sizes.unobserve(canvas);
    return;
  }
  const { offsetWidth: width, offsetHeight: height } = canvas;
  if (!width) return;
  resize(canvas, width, height);
  const drawn = pictureOf(width, height, (end - start) / width, [{ x: 0, width, start }], colourOf(canvas));
  if (drawn) surface(canvas).putImageData(drawn, 0, 0);
}

/** The colour in which is written there. @param {Element} element */
export function colourOf(element) {
  const brush = /** @type {CanvasRenderingContext2D} */ (document.createElement("canvas").getContext("2d"));
  brush.fillStyle = getComputedStyle(element).color;
  const [, red, green, blue] = /** @type {RegExpExecArray} */ (/^#(..)(..)(..)/.exec(String(brush.fillStyle)));
  return Number.parseInt(blue + green + red, 16);
}

/**
 * The parts as a picture, and nothing beside them; null before the sound is there. It holds until the next is made.
 * @param {number} width  in pixels of the page, as all of these @param {number} height @param {number} perPixel  ms
 * @param {Part[]} parts @param {number} colour
 */
export function pictureOf(width, height, perPixel, parts, colour) {
  if (!peaks) return null;
  const fine = devicePixelRatio;
  const [wide, high] = [fineSize(width), fineSize(height)];
  if (picture?.width !== wide || picture.height !== high) picture = new ImageData(wide, high);
  const pixels = new Uint32Array(picture.data.buffer);
  pixels.fill(0);
  for (const part of parts) {
    const [from, to] = [Math.round(part.x * fine), Math.round((part.x + part.width) * fine)];
    if (to > from) paint(pixels, wide, high, from, outline(peaks, part.start, perPixel / fine, to - from), colour);
  }
  return picture;
}

/** Makes a canvas as fine as the screen; empty, where that is another size. @param {HTMLCanvasElement} canvas @param {number} width @param {number} height */
export function resize(canvas, width, height) {
  const [wide, high] = [fineSize(width), fineSize(height)];
  if (canvas.width === wide && canvas.height === high) return false;
  Object.assign(canvas, { width: wide, height: high });
  return true;
}

/** @param {number} size */
function fineSize(size) {
  return Math.max(1, Math.round(size * devicePixelRatio));
}

/** To put pictures on: they are made in memory, so the canvas is to stay there, too. @param {HTMLCanvasElement} canvas */
export function surface(canvas) {
  return /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { willReadFrequently: true }));
}
