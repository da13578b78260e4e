// The outline of the take's sound, as the server writes it, and as many columns of it as are drawn.

/** @typedef {{hop: number, levels: Int8Array[]}} Peaks  each level: lowest, highest, lowest, highest... */

/** Reads the bytes that `take/peaks.py` describes. @param {ArrayBuffer} bytes @returns {Peaks} */
export function readPeaks(bytes) {
  const head = new DataView(bytes);
  const magic = String.fromCharCode(...new Uint8Array(bytes, 0, 8));
  if (magic !== "lcpeaks1") throw new Error("these are no peaks");
  const hop = head.getUint32(8, true);
  const count = head.getUint32(12, true);
  let at = 16 + 4 * count;
  const levels = [];
  for (let n = 0; n < count; n += 1) {
    const pairs = head.getUint32(16 + 4 * n, true);
    levels.push(new Int8Array(bytes, at, 2 * pairs));
    at += 2 * pairs;
  }
  return { hop, levels };
}

/**
 * Lowest and highest value under every pixel, -1 to 1. @param {Peaks} peaks @param {number} start @param {number} end @param {number} pixels
 */
export function columns(peaks, start, end, pixels) {
  const perPixel = (end - start) / Math.max(1, pixels);
  let level = 0;
  while (level + 1 < peaks.levels.length && peaks.hop * 4 ** (level + 1) <= perPixel) level += 1;
  const hop = peaks.hop * 4 ** level;
  const pairs = peaks.levels[level] ?? new Int8Array(0);
  const out = new Float32Array(2 * pixels);
  for (let x = 0; x < pixels; x += 1) {
    const first = Math.max(0, Math.floor((start + x * perPixel) / hop));
    const last = Math.max(first + 1, Math.ceil((start + (x + 1) * perPixel) / hop));
    let low = 127;
    let high = -128;
    for (let n = first; n < last && 2 * n + 1 < pairs.length; n += 1) {
      if (pairs[2 * n] < low) low = pairs[2 * n];
      if (pairs[2 * n + 1] > high) high = pairs[2 * n + 1];
    }
    out[2 * x] = high < low ? 0 : low / 128;
    out[2 * x + 1] = high < low ? 0 : high / 127;
  }
  return out;
}

/** How high an outline is, in its own units; silence is a line in the middle. */
export const HEIGHT = 200;
const LEAST = 3;
/** More would not be seen: a strip as wide as a large screen. */
const MOST_COLUMNS = 1600;

/**
 * The outline of a stretch as the shape of an SVG path, in units of a column across and `HEIGHT` down. Quiet sounds are
 * drawn larger than they are, by the square root.
 * @param {Peaks} peaks @param {number} start @param {number} end @returns {{shape: string, width: number}}
 */
export function outline(peaks, start, end) {
  const width = Math.min(MOST_COLUMNS, Math.max(1, Math.ceil((end - start) / peaks.hop)));
  const values = columns(peaks, start, end, width);
  const middle = HEIGHT / 2;
  const above = [];
  const below = [];
  for (let x = 0; x < width; x += 1) {
    const high = Math.max(LEAST, Math.sqrt(Math.max(0, values[2 * x + 1])) * middle);
    const low = Math.max(LEAST, Math.sqrt(Math.max(0, -values[2 * x])) * middle);
    above.push(`${x + 0.5} ${Math.round(middle - high)}`);
    below.push(`${x + 0.5} ${Math.round(middle + low)}`);
  }
  return { shape: `M${above.join("L")}L${below.reverse().join("L")}Z`, width };
}
