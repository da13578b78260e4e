// The line sheet: rows are the script's lines, columns are the passes, all on one scale of time.
//
// A row is made anew only when what it says has changed; rows out of sight are neither laid out nor painted
// (`content-visibility`), and their sound is not drawn (`pane.js`). Columns are as wide as the window has room, at every scale: a larger one
// shows less of each line, and scrolling to the side goes along all of them. So a new scale touches what is in sight,
// and nothing else; a long lesson scrolls and zooms like a short one.

/** @import {App} from "./app.js" */
/** @import {Scale, Stop} from "./logic.js" */
/** @import {Tile} from "./pane.js" */
/** @import {LaneBars} from "./scaled.js" */
/** @import {Row} from "./types.js" */
import { asideRow, headingRow, lineRow, nameOf } from "./cells.js";
import { byId, h, style } from "./dom.js";
import { onceAFrame, thisFrame } from "./frames.js";
import { beyond, fitting, legend, longest, longestAcross, within } from "./logic.js";
import { Pane } from "./pane.js";
import { fit, lanesIn, soundAt, widthOf } from "./scaled.js";

/** Beside the lanes of a column, in pixels; as in review.css. */
const PADDING = 23;
const TEXT = 230;
/** What is sought is shown so far from the left edge. */
const BEFORE = 30;
/** Where the sheet is no wider than this, a line's text stands above its lanes. */
const NARROW = 620;

/** @typedef {{key: string, element: HTMLTableRowElement, lanes: LaneBars[], scaled: Scale | null}} Made */

export class Sheet {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.place = byId("sheet", HTMLElement);
    this.legend = h("span", { class: "legend", "aria-hidden": "true" });
    this.head = h("thead", { role: "rowgroup" });
    this.body = h("tbody", { role: "rowgroup" });
    this.table = h("table", { role: "table", "aria-label": "Lines and their readings" }, this.head, this.body);
    this.stage = h("div", { class: "stage" }, this.table);
    this.reach = h("div", { class: "reach" }, this.stage);
    this.place.replaceChildren(this.reach);
    this.pane = new Pane(this.place, this.stage);
    /** @type {Map<string, Made>} */
    this.rows = new Map();
    /** @type {HTMLElement[]} */
    this.marked = [];
    /** @type {number[]} */
    this.most = [];
    this.across = 0;
    this.width = 0;
    /** @type {Scale} */
    this.scale = { perMs: 0.05, from: 0, columns: [], across: 0 };
    this.zoom = onceAFrame("zoom", () => this.setScale());
    this.place.addEventListener("focusin", (event) => this.follow(event));
    this.place.addEventListener("scroll", () => this.scrolled(), { passive: true });
    new ResizeObserver(() => { if (this.place.clientWidth !== this.width) this.resize(); }).observe(this.place);
    new ResizeObserver(() => this.fitSeen()).observe(this.body);
  }

  render() {
    const { state } = this.app;
    const columns = Math.max(1, state.passes.length);
    const decided = new Set(state.findings.filter((finding) => finding.decided).map((finding) => finding.id));
    /** @type {Map<string, Made>} */
    const fresh = new Map();
    /** @param {string} id @param {string} key @param {() => HTMLTableRowElement} make */
    const put = (id, key, make) => {
      const before = this.rows.get(id);
      fresh.set(id, before?.key === key ? before : madeRow(key, make()));
    };
    let section = -1;
    state.rows.forEach((row, at) => {
      if (row.kind === "line" && row.section !== section) {
        section = row.section;
        put(`section ${section}`, JSON.stringify([state.sections[section], columns]), () => headingRow(this.app, section, columns));
      }
      put(row.id, keyOf(row, at, columns, decided), () => (row.kind === "line" ? lineRow(this.app, row, at, columns) : asideRow(this.app, row, at, columns)));
    });
    const focused = this.place.contains(document.activeElement);
    this.rows = fresh;
    inOrder(this.body, [...fresh.values()].map((one) => one.element));
    this.heads();
    this.most = longest(state.rows, columns);
    this.across = longestAcross(state.rows);
    this.resize();
    this.select(this.app.stop, focused);
  }

  heads() {
    const { passes } = this.app.state;
    const names = passes.length
      ? passes.map((pass) => h("th", { role: "columnheader" }, pass.name, pass.built ? h("small", {}, " made from the model reading") : null))
      : [h("th", { role: "columnheader" }, "Reading")];
    this.head.replaceChildren(h("tr", { role: "row" }, h("th", { role: "columnheader", class: "text" }, "Line", this.legend), ...names));
  }

  /** Fits the columns to the window; no row is made anew for it. */
  resize() {
    this.width = this.place.clientWidth;
    const stacked = this.width < NARROW;
    const count = this.most.length;
    const room = Math.max(0, this.width - (stacked ? 0 : TEXT) - count * PADDING);
    this.fitted = fitting(this.most, this.across, room);
    const widths = this.fitted.columns.map((width) => `${width + PADDING}px`);
    this.table.classList.toggle("stacked", stacked);
    style(this.table, { width: `${this.width}px`, "--columns": [...(stacked ? [] : [`${TEXT}px`]), ...widths].join(" ") });
    this.setScale();
  }

  /** Draws time as large as is asked for; what stands at the left stays there. */
  setScale() {
    if (!this.fitted) return;
    const { columns } = this.fitted;
    const across = columns.reduce((sum, one) => sum + one, PADDING * (columns.length - 1));
    const perMs = within(this.fitted.perMs * this.app.zoom, 0.01, 1);
    const whole = { perMs, from: 0, columns, across };
    const over = beyond(this.most, this.across, whole);
    this.scale = { ...whole, from: Math.min(this.scale.from, over / perMs) };
    this.fitSeen();
    const [length, says] = legend(perMs);
    style(this.legend, { width: `${length}px` });
    this.legend.textContent = says;
    style(this.reach, { width: `${this.width + over}px` });
    if (this.place.scrollLeft || this.scale.from) this.place.scrollLeft = this.scale.from * perMs;
  }

  /** Goes along the lines. @param {number} from  ms of each that are to lie before what is seen */
  goAlong(from) {
    this.place.scrollLeft = from * this.scale.perMs;
    this.along();
  }

  /** Goes on or back by half a column. @param {1 | -1} way */
  step(way) {
    this.goAlong(this.scale.from + (way * Math.min(...this.scale.columns)) / 2 / this.scale.perMs);
  }

  /** Takes over how far the sheet was scrolled to the side. */
  along() {
    const { perMs, from } = this.scale;
    if (Math.abs(this.place.scrollLeft - from * perMs) < 1) return;
    this.scale = { ...this.scale, from: this.place.scrollLeft / perMs };
    this.fitSeen();
  }

  scrolled() {
    thisFrame("scroll");
    this.along();
    this.draw(this.pane.cover());
  }

  /** Puts what is seen in its place at the scale of now, and draws its sound. */
  fitSeen() {
    this.pane.cover();
    const tiles = [...this.pane.tiles.values()];
    this.pane.wipe(tiles);
    this.draw(tiles);
  }

  /** The same, under those tiles. What the page must tell is asked before it is changed. @param {Tile[]} tiles */
  draw(tiles) {
    if (!tiles.length) return;
    const rows = this.pane.under(tiles, [...this.rows.values()]);
    const lanes = rows.flatMap((row) => row.lanes);
    const places = this.pane.placesOf(lanes);
    for (const row of rows) this.fitRow(row);
    lanes.forEach((lane, at) => this.pane.draw(tiles, lane, places[at], this.scale));
  }

  /** @param {Made} row */
  fitRow(row) {
    if (row.scaled === this.scale) return;
    row.scaled = this.scale;
    for (const lane of row.lanes) fit(lane, this.scale);
  }

  /** Draws everything that is seen again: the sound or the colours are others. */
  redraw() {
    this.pane.colours = {};
    this.fitSeen();
  }

  /** Marks the place in hand. @param {Stop | null} stop @param {boolean} focus @param {boolean} [reveal] */
  select(stop, focus, reveal = true) {
    for (const one of this.marked) {
      one.classList.remove("in-hand");
      if (one.tabIndex === 0) one.tabIndex = -1;
    }
    this.marked = [];
    const row = stop && this.app.state.rows[stop.row];
    const made = row && this.rows.get(row.id);
    const line = made?.element;
    const element = stop && line?.querySelector(`[data-stop="${nameOf(stop)}"]`);
    if (!stop || !line || !(element instanceof HTMLElement)) return;
    const parts = /** @type {NodeListOf<HTMLElement>} */ (line.querySelectorAll(`[data-part-of="${nameOf(stop)}"]`));
    this.marked = [line, element, ...parts];
    for (const one of this.marked) one.classList.add("in-hand");
    element.tabIndex = 0;
    if (made) this.fitRow(made);
    if (element.classList.contains("away")) this.goAlong(Number(element.dataset.at) - BEFORE / this.scale.perMs);
    if (reveal) this.reveal(line);
    if (focus) element.focus({ preventScroll: true });
  }

  /** Brings a row into sight; the sheet moves, the page around it does not. @param {HTMLElement} line */
  reveal(line) {
    const box = line.getBoundingClientRect();
    const view = this.place.getBoundingClientRect();
    const head = this.head.offsetHeight;
    const bottom = view.top + this.place.clientTop + this.place.clientHeight;
    if (box.top >= view.top + head && box.bottom <= bottom) return;
    this.place.scrollTop += box.top - view.top - head - Math.max(0, view.height - head - box.height) / 2;
  }

  /**
   * What the keyboard comes to is in hand, and in sight. What the mouse is pressed on stays under it, else it would not
   * be there any more when the button is let go. @param {FocusEvent} event
   */
  follow(event) {
    const named = event.target instanceof HTMLElement ? event.target.dataset.stop : undefined;
    if (!named || (this.app.stop && named === nameOf(this.app.stop))) return;
    const [row, cell, lane] = named.split(" ").map(Number);
    this.app.stop = { row, cell, lane };
    this.select(this.app.stop, false, /** @type {HTMLElement} */ (event.target).matches(":focus-visible"));
  }

  /** Shows where the sound is, and goes along with it. @param {number | null} takeMs @param {number | null} lessonMs */
  light(takeMs, lessonMs) {
    const found = takeMs === null && lessonMs === null ? [] : this.sounding(takeMs, lessonMs);
    const { perMs, from } = this.scale;
    const shown = found.filter(([lane, at]) => at >= from && (at - from) * perMs <= widthOf(lane, this.scale));
    if (found.length && !shown.length) this.goAlong(found[0][1] - BEFORE / perMs);
    const places = this.pane.placesOf(shown.map(([lane]) => lane));
    this.pane.light(places.map(({ x, y }, n) => ({ x: x + (shown[n][1] - from) * perMs, y })));
  }

  /** In which lanes the sound is, and how far in. @param {number | null} takeMs @param {number | null} lessonMs */
  sounding(takeMs, lessonMs) {
    /** @type {[LaneBars, number][]} */
    const found = [];
    for (const row of this.rows.values()) {
      if (row.scaled !== this.scale) continue;
      for (const lane of row.lanes) {
        for (const bar of lane.bars) {
          const ms = bar.clock === "take" ? takeMs : bar.clock === "lesson" ? lessonMs : null;
          const at = ms === null ? null : soundAt(bar, ms);
          if (at !== null) found.push([lane, at]);
        }
      }
    }
    return found;
  }
}

/** @param {string} key @param {HTMLTableRowElement} element @returns {Made} */
function madeRow(key, element) {
  return { key, element, lanes: lanesIn(element), scaled: null };
}

/** What a row is made from: while this is the same, so is the row. @param {Row} row @param {number} at @param {number} columns @param {Set<string>} decided */
function keyOf(row, at, columns, decided) {
  const ids = row.kind === "aside" ? row.findings : row.cells.flatMap((cell) => cell.findings);
  return JSON.stringify([row, ids.map((id) => decided.has(id)), at, columns]);
}

/** Puts the children into the place, and touches only those that are new there or stand elsewhere. @param {HTMLElement} place @param {HTMLElement[]} children */
function inOrder(place, children) {
  const stay = new Set(children);
  for (const child of [...place.children]) if (!stay.has(/** @type {HTMLElement} */ (child))) child.remove();
  children.forEach((child, at) => {
    if (place.children[at] !== child) place.insertBefore(child, place.children[at] ?? null);
  });
}
