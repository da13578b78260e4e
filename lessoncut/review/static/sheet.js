// The line sheet: rows are the script's lines, columns are the passes, all on one scale of time.
//
// A row is made anew only when what it says has changed; rows out of sight are neither laid out nor painted
// (`content-visibility`); a new scale sets the lengths of what is drawn to scale (`data-ms`) and of nothing else, in rows
// in sight first. So a long lesson scrolls and zooms like a short one.

/** @import {App} from "./app.js" */
/** @import {Stop} from "./logic.js" */
/** @import {Row} from "./types.js" */
import { asideRow, headingRow, lineRow, nameOf } from "./cells.js";
import { byId, h, style } from "./dom.js";
import { frame, thisFrame } from "./frames.js";
import { columnWidth, longest, longestAcross, scale } from "./logic.js";
import { drawWaves } from "./wave.js";

/** Beside the strips of a column, in pixels. */
const PADDING = 30;
const TEXT = 230;
const NARROW_TEXT = 150;
/** So many rows out of sight get a new scale in one frame. */
const ROWS_A_FRAME = 8;

/** @typedef {{key: string, element: HTMLTableRowElement, bars: HTMLElement[], scaled: Scale | null}} Made */
/** @typedef {{perMs: number, columns: string}} Scale  pixels a millisecond, and the columns as the style sheet has them */

export class Sheet {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.place = byId("sheet", HTMLElement);
    this.head = h("thead", { role: "rowgroup" });
    this.body = h("tbody", { role: "rowgroup" });
    this.table = h("table", { role: "table", "aria-label": "Lines and their readings" }, this.head, this.body);
    this.place.replaceChildren(this.table);
    /** @type {Map<string, Made>} */
    this.rows = new Map();
    /** @type {WeakSet<Element>} */
    this.inSight = new WeakSet();
    this.sight = new IntersectionObserver((entries) => this.see(entries), { root: this.place });
    /** @type {{element: HTMLElement, start: number, end: number, from: "take" | "lesson"}[]} */
    this.strips = [];
    /** @type {Set<HTMLElement>} */
    this.lit = new Set();
    /** @type {HTMLElement[]} */
    this.marked = [];
    /** @type {number[]} */
    this.most = [];
    this.across = 0;
    this.width = 0;
    this.perMs = 0.05;
    /** @type {Scale} */
    this.scaled = { perMs: this.perMs, columns: "" };
    this.later = 0;
    new ResizeObserver(() => { if (this.place.clientWidth !== this.width) this.rescale(); }).observe(this.place);
    this.place.addEventListener("focusin", (event) => this.follow(event));
    this.place.addEventListener("scroll", () => thisFrame("scroll"), { passive: true });
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
      if (before?.key === key) {
        fresh.set(id, before);
        return;
      }
      if (before) this.sight.unobserve(before.element);
      const element = make();
      this.sight.observe(element);
      fresh.set(id, { key, element, bars: [...element.querySelectorAll("[data-ms]")].filter((bar) => bar instanceof HTMLElement), scaled: null });
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
    this.strips = [...this.body.querySelectorAll("[data-from]")].map((element) => {
      const { start, end, from } = /** @type {HTMLElement} */ (element).dataset;
      return { element: /** @type {HTMLElement} */ (element), start: Number(start), end: Number(end), from: from === "lesson" ? "lesson" : "take" };
    });
    this.most = longest(state.rows, columns);
    this.across = longestAcross(state.rows);
    this.rescale();
    this.select(this.app.stop, focused);
  }

  heads() {
    const { passes } = this.app.state;
    const names = passes.length
      ? passes.map((pass) => h("th", { role: "columnheader" }, pass.name, pass.built ? h("small", {}, " made from the model reading") : null))
      : [h("th", { role: "columnheader" }, "Reading")];
    this.head.replaceChildren(h("tr", { role: "row" }, h("th", { role: "columnheader", class: "text" }, "Line"), ...names));
  }

  /** Fits the scale of time to the window and the zoom; no row is made anew for it. */
  rescale() {
    this.width = this.place.clientWidth;
    const text = this.width < 620 ? NARROW_TEXT : TEXT;
    const room = Math.max(240, this.width - text - this.most.length * PADDING);
    this.perMs = scale(this.most, this.across, room, this.app.zoom);
    const widths = this.most.map((one) => columnWidth(one, this.perMs) + PADDING);
    const sum = widths.reduce((all, width) => all + width, 0);
    const columns = [text, ...widths].map((width) => `${width}px`);
    this.scaled = { perMs: this.perMs, columns: [...columns.slice(0, -1), `minmax(${columns.at(-1)}, 1fr)`].join(" ") };
    style(this.table, { "min-width": `${text + sum}px` });
    this.table.classList.toggle("wide", text + sum > this.width);
    if (this.head.firstElementChild instanceof HTMLElement) style(this.head.firstElementChild, { "grid-template-columns": this.scaled.columns });
    const all = [...this.rows.values()];
    const seen = all.filter((row) => this.inSight.has(row.element));
    this.scaleRows(seen.length ? seen : all, Infinity);
    this.scaleLater();
  }

  /** @param {Made[]} rows @param {number} most  so many at once @returns {boolean} whether that were all */
  scaleRows(rows, most) {
    const stale = rows.filter((row) => row.scaled !== this.scaled);
    for (const row of stale.slice(0, most)) {
      style(row.element, { "grid-template-columns": this.scaled.columns });
      for (const bar of row.bars) style(bar, { width: `${Number(bar.dataset.ms) * this.scaled.perMs}px` });
      row.scaled = this.scaled;
    }
    return stale.length <= most;
  }

  scaleLater() {
    cancelAnimationFrame(this.later);
    this.later = requestAnimationFrame(() => {
      if (!this.scaleRows([...this.rows.values()], ROWS_A_FRAME)) this.scaleLater();
    });
  }

  /** @param {IntersectionObserverEntry[]} entries */
  see(entries) {
    for (const { target, isIntersecting } of entries) {
      if (isIntersecting) {
        this.inSight.add(target);
        drawWaves(target);
      } else this.inSight.delete(target);
    }
  }

  /** Draws time larger or smaller; what is in hand stays in sight where it was. */
  zoom() {
    frame("zoom", () => {
      this.rescale();
      const [line, element] = this.marked;
      if (line && this.inSight.has(line)) element.scrollIntoView({ block: "nearest", inline: "nearest" });
    });
  }

  /** Marks the place in hand. @param {Stop | null} stop @param {boolean} focus @param {boolean} [reveal] */
  select(stop, focus, reveal = true) {
    for (const one of this.marked) {
      one.classList.remove("in-hand");
      if (one.tabIndex === 0) one.tabIndex = -1;
    }
    this.marked = [];
    const row = stop && this.app.state.rows[stop.row];
    const line = row && this.rows.get(row.id)?.element;
    const element = stop && line?.querySelector(`[data-stop="${nameOf(stop)}"]`);
    if (!stop || !line || !(element instanceof HTMLElement)) return;
    const parts = /** @type {NodeListOf<HTMLElement>} */ (line.querySelectorAll(`[data-part-of="${nameOf(stop)}"]`));
    this.marked = [line, element, ...parts];
    for (const one of this.marked) one.classList.add("in-hand");
    element.tabIndex = 0;
    if (reveal) this.reveal(line);
    if (focus) element.focus({ preventScroll: true });
  }

  /** Brings a row into sight; the sheet moves, the page around it does not. @param {HTMLElement} line */
  reveal(line) {
    const box = line.getBoundingClientRect();
    const view = this.place.getBoundingClientRect();
    const head = this.head.offsetHeight;
    if (box.top >= view.top + head && box.bottom <= view.bottom) return;
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

  /** Shows where the sound is. @param {number | null} takeMs @param {number | null} lessonMs */
  light(takeMs, lessonMs) {
    for (const element of this.lit) element.classList.remove("sounding");
    this.lit.clear();
    for (const { element, start, end, from } of this.strips) {
      const ms = from === "take" ? takeMs : lessonMs;
      if (ms === null || ms < start || ms >= end) continue;
      element.classList.add("sounding");
      element.style.setProperty("--at", String((ms - start) / (end - start)));
      this.lit.add(element);
    }
  }
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
