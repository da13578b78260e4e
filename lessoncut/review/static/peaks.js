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
