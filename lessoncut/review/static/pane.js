// The sound of all rows in sight, on a few canvases over them, with the playhead. For a browser every canvas is a layer of
// its own, with another one for what lies between it and the next: one for each strip would be slow. So the canvases are
// tiles of one pane: what is scrolled into sight gets its tile, and the rest stays as it is.

/** @import {LaneBars} from "./scaled.js" */
/** @import {Scale} from "./logic.js" */
import { h, style } from "./dom.js";
import { widthOf } from "./scaled.js";
import { colourOf, pictureOf, resize, surface } from "./wave.js";

/** How high the sound is drawn, inside the borders of a strip, in pixels; as in review.css. */
const HIGH = 32;
const LOW = 22;
const BORDER = 1;
/** How high a tile is, and how far beyond what is seen there are tiles. */
const TILE = 128;
const AHEAD = 64;

/** @typedef {{canvas: HTMLCanvasElement, surface: CanvasRenderingContext2D, top: number}} Tile */

export class Pane {
  /** @param {HTMLElement} place  what scrolls @param {HTMLElement} stage  what the rows stand in */
  constructor(place, stage) {
    this.place = place;
    this.stage = stage;
    /** By their number from the top. @type {Map<number, Tile>} */
    this.tiles = new Map();
    /** @type {HTMLElement[]} */
    this.heads = [];
    /** @type {{[kind: string]: number}} */
    this.colours = {};
  }

  /** Lays tiles over what is seen now, and takes them away elsewhere; those that are new, and empty. @returns {Tile[]} */
  cover() {
    const { scrollTop, clientHeight } = this.place;
    const first = Math.max(0, Math.floor((scrollTop - AHEAD) / TILE));
    const last = Math.floor((scrollTop + clientHeight + AHEAD) / TILE);
    const free = [...this.tiles.keys()].filter((at) => at < first || at > last);
    const fresh = [];
    for (let at = first; at <= last; at += 1) {
      if (this.tiles.has(at)) continue;
      const from = free.pop();
      const tile = from === undefined ? this.newTile() : /** @type {Tile} */ (this.tiles.get(from));
      if (from !== undefined) this.tiles.delete(from);
      this.tiles.set(at, Object.assign(tile, { top: at * TILE }));
      style(tile.canvas, { top: `${tile.top}px` });
      fresh.push(tile);
    }
    for (const at of free) {
      this.tiles.get(at)?.canvas.remove();
      this.tiles.delete(at);
    }
    this.wipe(fresh);
    return fresh;
  }

  /** @returns {Tile} */
  newTile() {
    const canvas = h("canvas", { class: "tile", "aria-hidden": "true" });
    this.stage.append(canvas);
    return { canvas, surface: surface(canvas), top: 0 };
  }

  /** Empties the tiles; they are as wide and as fine as the sheet is now. @param {Tile[]} tiles */
  wipe(tiles) {
    const width = this.place.clientWidth;
    for (const { canvas, surface } of tiles) {
      if (!resize(canvas, width, TILE)) surface.clearRect(0, 0, canvas.width, canvas.height);
      style(canvas, { width: `${width}px`, height: `${TILE}px` });
    }
  }

  /** The rows that lie under the tiles. @template {{element: HTMLElement}} Row @param {Tile[]} tiles @param {Row[]} rows  in order @returns {Row[]} */
  under(tiles, rows) {
    const tops = tiles.map((tile) => tile.top);
    const origin = this.stage.getBoundingClientRect().top;
    const top = origin + Math.min(...tops);
    const bottom = origin + Math.max(...tops) + TILE;
    let [first, last] = [0, rows.length];
    while (first < last) {
      const middle = (first + last) >> 1;
      if (rows[middle].element.getBoundingClientRect().bottom <= top) first = middle + 1;
      else last = middle;
    }
    let end = first;
    while (end < rows.length && rows[end].element.getBoundingClientRect().top < bottom) end += 1;
    return rows.slice(first, end);
  }

  /** Where the lanes stand, from the stage's corner. @param {LaneBars[]} lanes */
  placesOf(lanes) {
    const origin = this.stage.getBoundingClientRect();
    return lanes.map((lane) => {
      const box = lane.element.getBoundingClientRect();
      return { x: box.left - origin.left, y: box.top - origin.top };
    });
  }

  /** Draws the sound of a lane on those of the tiles that lie over it. @param {Tile[]} tiles @param {LaneBars} lane @param {{x: number, y: number}} at @param {Scale} scale */
  draw(tiles, lane, at, scale) {
    const top = at.y + BORDER;
    const height = lane.kind === "plays" || lane.kind === "lent" ? HIGH : LOW;
    const over = tiles.filter((tile) => tile.top < top + height && tile.top + TILE > top);
    const picture = over.length ? pictureOf(widthOf(lane, scale), height, 1 / scale.perMs, lane.parts, this.colour(lane)) : null;
    if (!picture) return;
    const fine = devicePixelRatio;
    const [x, y] = [Math.round(at.x * fine), Math.round(top * fine)];
    for (const tile of over) tile.surface.putImageData(picture, x, y - Math.round(tile.top * fine));
  }

  /** Of all the sound in a lane. @param {LaneBars} lane */
  colour(lane) {
    return (this.colours[lane.kind] ??= colourOf(lane.bars[0].element));
  }

  /** Shows where the sound is. @param {{x: number, y: number}[]} places */
  light(places) {
    while (this.heads.length < places.length) {
      const head = h("i", { class: "head" });
      this.heads.push(head);
      this.stage.append(head);
    }
    this.heads.forEach((head, at) => {
      head.hidden = !places[at];
      if (places[at]) style(head, { translate: `${places[at].x}px ${places[at].y}px` });
    });
  }
}
