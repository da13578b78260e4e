// The outline of the take's sound: as the server writes it, at a scale, and as pixels. No page in here.

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

/** Silence is a thin line: so much of the height above and below the middle. */
const LEAST = 0.015;

/**
 * How far the sound reaches up and down from the middle under every pixel, 0 to 1: up, down, up, down... Quiet sounds
 * are drawn larger than they are, by the square root. Where a pixel is less than a pair, the way from pair to pair is
 * straight; no loud sample is lost at any scale.
 * @param {Peaks} peaks @param {number} start ms @param {number} perPixel ms @param {number} pixels
 */
export function outline(peaks, start, perPixel, pixels) {
  let level = 0;
  while (level + 1 < peaks.levels.length && peaks.hop * 4 ** (level + 1) <= perPixel) level += 1;
  const hop = peaks.hop * 4 ** level;
  const pairs = peaks.levels[level] ?? new Int8Array(0);
  const out = new Float32Array(2 * pixels);
  const reach = perPixel < hop ? straight : widest;
  for (let x = 0; x < pixels; x += 1) {
    const from = (start + x * perPixel) / hop;
    const to = (start + (x + 1) * perPixel) / hop;
    out[2 * x] = drawn(reach(pairs, 1, from, to) / 127);
    out[2 * x + 1] = drawn(reach(pairs, 0, from, to) / -128);
  }
  return out;
}

/** @param {number} loud */
function drawn(loud) {
  return Math.max(LEAST, Math.sqrt(Math.max(0, loud)));
}

/** The furthest of the pairs that are touched. @param {Int8Array} pairs @param {0 | 1} side @param {number} from @param {number} to  both in pairs */
function widest(pairs, side, from, to) {
  const end = Math.min(pairs.length / 2, Math.ceil(to));
  let most = 0;
  for (let n = Math.max(0, Math.floor(from)); n < end; n += 1) {
    const value = pairs[2 * n + side];
    if (side ? value > most : value < most) most = value;
  }
  return most;
}

/** The furthest of the straight way from middle to middle. @param {Int8Array} pairs @param {0 | 1} side @param {number} from @param {number} to */
function straight(pairs, side, from, to) {
  const middle = Math.floor(from) + 0.5;
  const all = [between(pairs, side, from), between(pairs, side, to), middle >= from && middle < to ? between(pairs, side, middle) : 0];
  return side ? Math.max(...all) : Math.min(...all);
}

/** @param {Int8Array} pairs @param {0 | 1} side @param {number} at */
function between(pairs, side, at) {
  const n = Math.floor(at - 0.5);
  const part = at - 0.5 - n;
  return (pairs[2 * n + side] ?? 0) * (1 - part) + (pairs[2 * n + 2 + side] ?? 0) * part;
}

/**
 * Paints an outline into the pixels of a picture, from its column `x` on; an edge that covers a part of a pixel is as
 * much of the colour.
 * @param {Uint32Array} pixels  row by row @param {number} width  of the picture @param {number} height
 * @param {number} x @param {Float32Array} reach  of `outline` @param {number} colour  its red in the lowest byte, no opacity
 */
export function paint(pixels, width, height, x, reach, colour) {
  const middle = height / 2;
  const end = Math.min(width - x, reach.length / 2);
  for (let column = 0; column < end; column += 1) {
    const top = middle - reach[2 * column] * middle;
    const bottom = middle + reach[2 * column + 1] * middle;
    for (let y = Math.floor(top); y < bottom; y += 1) {
      const covered = Math.min(1, y + 1 - top) - Math.max(0, y + 1 - bottom);
      pixels[y * width + x + column] = colour | (Math.round(covered * 255) << 24);
    }
  }
}
