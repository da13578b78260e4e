// The line sheet: rows are the script's lines, columns are the passes, all on one scale of time.

/** @import {App} from "./main.js" */
/** @import {Lane, Stop} from "./logic.js" */
/** @import {AsideRow, Cell, LineRow, Played} from "./types.js" */
import { button, byId, h, style } from "./dom.js";
import { clock, columnWidth, gapLength, lanes, longest, longestAcross, scale, seconds } from "./logic.js";
import { sweep, waveform } from "./wave.js";

/** Beside the strips of a column, in pixels. */
const PADDING = 30;
const MARKS = {
  plays: ["\u2713", "kept"],
  lent: ["\u21b3", "borrowed"],
  unused: ["\u25cb", "not used"],
  broken: ["\u25d1", "broken off"],
};
const SOURCES = { take: "", borrowed: "borrowed", picked_up: "picked up", built: "from the model reading" };

export class Sheet {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.place = byId("sheet", HTMLElement);
    /** @type {Map<string, {key: string, element: HTMLTableRowElement}>} */
    this.rows = new Map();
    /** @type {{element: HTMLElement, start: number, end: number, from: "take" | "lesson"}[]} */
    this.strips = [];
    /** @type {Set<HTMLElement>} */
    this.lit = new Set();
    this.perMs = 0.05;
    new ResizeObserver(() => this.render()).observe(this.place);
    this.place.addEventListener("focusin", (event) => this.follow(event));
  }

  render() {
    const { state, zoom } = this.app;
    const columns = Math.max(1, state.passes.length);
    const most = longest(state.rows, columns);
    const room = Math.max(240, this.place.clientWidth - this.textWidth() - columns * PADDING);
    this.perMs = scale(most, longestAcross(state.rows), room, zoom);
    const body = h("tbody");
    let section = -1;
    const fresh = new Map();
    state.rows.forEach((row, at) => {
      if (row.kind === "line" && row.section !== section) {
        section = row.section;
        body.append(this.heading(section, columns));
      }
      const ids = row.kind === "aside" ? row.findings : row.cells.flatMap((cell) => cell.findings);
      const decided = ids.map((id) => state.findings.find((finding) => finding.id === id)?.decided);
      const key = JSON.stringify([row, decided, at, this.perMs, columns]);
      const before = this.rows.get(row.id);
      const element = before?.key === key ? before.element : row.kind === "line" ? this.line(row, at, columns) : this.aside(row, at, columns);
      fresh.set(row.id, { key, element });
      body.append(element);
    });
    this.rows = fresh;
    const focused = this.place.contains(document.activeElement);
    const table = h("table", {}, this.head(), body);
    const widths = most.map((one) => columnWidth(one, this.perMs) + PADDING);
    widths.forEach((width, at) => table.style.setProperty(`--column-${at}`, `${width}px`));
    table.style.setProperty("min-width", `${this.textWidth() + widths.reduce((sum, width) => sum + width, 0)}px`);
    this.place.replaceChildren(table);
    this.strips = [...table.querySelectorAll("[data-from]")].map((element) => {
      const { start, end, from } = /** @type {HTMLElement} */ (element).dataset;
      return { element: /** @type {HTMLElement} */ (element), start: Number(start), end: Number(end), from: from === "lesson" ? "lesson" : "take" };
    });
    sweep();
    this.select(this.app.stop, focused);
  }

  textWidth() {
    return this.place.clientWidth < 620 ? 150 : 230;
  }

  head() {
    const names = this.app.state.passes.map((pass, at) => style(
      h("th", { scope: "col" }, pass.name, pass.built ? h("small", {}, " made from the model reading") : null),
      at + 1 < this.app.state.passes.length ? { width: `var(--column-${at})` } : {},
    ));
    return h("thead", {}, h("tr", {}, h("th", { scope: "col", class: "text" }, "Line"), ...(names.length ? names : [h("th", { scope: "col" }, "Reading")])));
  }

  /** @param {number} section @param {number} columns */
  heading(section, columns) {
    const { title, passage } = this.app.state.sections[section];
    return h("tr", { class: "section" }, h("th", { scope: "rowgroup", colspan: columns + 1 }, h("span", { dir: "auto" }, title), h("small", {}, passage ? "the passage" : "read once")));
  }

  /** @param {LineRow} row @param {number} at @param {number} columns */
  line(row, at, columns) {
    const cells = row.cells.map((cell, column) => h(
      "td",
      { colspan: row.cells.length === 1 && columns > 1 ? columns : null },
      this.cell(row, cell, { row: at, cell: column, lane: 0 }),
    ));
    return h("tr", { class: "line", "data-row": row.id }, h("th", { scope: "row", class: "text" }, h("span", { class: "number" }, row.id.replace(/^L0*/, "")), h("span", { class: "words", dir: "auto" }, row.text)), ...cells);
  }

  /** @param {AsideRow} row @param {number} at @param {number} columns */
  aside(row, at, columns) {
    const [sign, word] = row.plays ? MARKS.plays : ["\u25cb", "left out"];
    const says = row.words || "Speech that nobody could read";
    const strip = this.strip(
      { row: at, cell: 0, lane: 0 },
      row.span,
      `Talk outside the script, ${word}, at ${clock(row.span[0])}: ${says}`,
      row.plays ? "plays" : "unused",
    );
    return h(
      "tr",
      { class: "aside", "data-row": row.id },
      h("th", { scope: "row", class: "text" }, h("span", { class: "words", dir: "auto" }, `\u201c${says}\u201d`), h("small", {}, "not in the script")),
      h("td", { colspan: columns }, h("div", { class: "lane" }, h("div", { class: "piece" }, strip)), this.mark(sign, word, row.span, row.findings)),
    );
  }

  /** @param {LineRow} row @param {Cell} cell @param {Stop} stop */
  cell(row, cell, stop) {
    const all = lanes(cell);
    const out = h("div", { class: "cell" });
    all.forEach((lane, number) => out.append(...this.lane(row, cell, lane, { ...stop, lane: number }, all.length)));
    if (!cell.silent && all.length) return out;
    if (all.some((lane) => lane.reading.kind === "full")) {
      out.append(h("p", { class: "silent" }, "\u2205 left out of the lesson"));
      return out;
    }
    const where = this.app.state.passes.find((pass) => pass.id === cell.pass)?.name.toLowerCase();
    out.append(h(
      "button",
      { type: "button", class: "slot", tabindex: -1, "data-stop": all.length ? null : name({ ...stop, lane: -1 }), onclick: () => this.app.choose({ ...stop, lane: all.length ? 0 : -1 }, true) },
      h("strong", {}, where ? `Not read in the ${where}` : "Not read"),
      h("span", {}, cell.findings.length ? "press to choose: borrow, record later, leave out" : "left out of the lesson"),
    ));
    return out;
  }

  /** @param {LineRow} row @param {Cell} cell @param {Lane} lane @param {Stop} stop @param {number} count */
  lane(row, cell, lane, stop, count) {
    const { reading } = lane;
    const [sign, plain] = MARKS[lane.mark];
    const word = lane.mark === "lent" || (lane.mark === "plays" && cell.source !== "take") ? SOURCES[cell.source] || plain : plain;
    const pass = this.app.state.passes.find((one) => one.id === cell.pass)?.name ?? "Reading";
    const label = `${row.text.slice(0, 120)} \u2013 ${pass}, reading ${stop.lane + 1} of ${count}, ${word}, ${seconds(reading.span[1] - reading.span[0])}, at ${clock(reading.span[0])}`;
    const line = h("div", { class: "lane" });
    lane.pieces.forEach((piece, number) => {
      line.append(h("div", { class: "piece" }, this.strip(stop, piece.speech, label, lane.mark, number > 0)));
      if (piece.played?.gap.kind === "repeat") line.append(this.gap(row, piece.played));
    });
    return [line, this.mark(sign, word, reading.span, this.about(cell, lane), reading.moved)];
  }

  /** The findings about this reading; one that is about none of them stands where the line plays. @param {Cell} cell @param {Lane} lane */
  about(cell, lane) {
    const here = new Set(cell.readings.map((reading) => reading.id));
    return cell.findings.filter((id) => {
      const reading = this.app.state.findings.find((one) => one.id === id)?.reading;
      return reading && here.has(reading) ? reading === lane.reading.id : lane.mark === "plays" || lane.mark === "lent";
    });
  }

  /** @param {string} sign @param {string} word @param {[number, number]} span @param {string[]} findings @param {boolean} [moved] */
  mark(sign, word, span, findings, moved = false) {
    const open = findings.filter((id) => this.app.state.findings.some((one) => one.id === id && !one.decided));
    return h(
      "p",
      { class: "mark" },
      h("span", { class: "sign", "aria-hidden": "true" }, sign),
      ` ${word} \u00b7 ${seconds(span[1] - span[0])}`,
      moved ? " \u00b7 edge moved" : null,
      ...open.map((id) => button(`${id} open`, () => this.app.hold(id), { class: "flag", tabindex: -1 })),
    );
  }

  /** @param {Stop} stop @param {[number, number]} span @param {string} label @param {string} mark @param {boolean} [later] */
  strip(stop, span, label, mark, later = false) {
    const element = h(
      "button",
      {
        type: "button",
        class: `strip ${mark}`,
        tabindex: -1,
        "aria-label": label,
        "data-stop": later ? null : name(stop),
        "data-part-of": name(stop),
        "data-from": "take",
        "data-start": span[0],
        "data-end": span[1],
        onclick: () => this.app.press(stop),
      },
      waveform(span[0], span[1]),
    );
    return style(element, { width: `${Math.max(4, (span[1] - span[0]) * this.perMs)}px` });
  }

  /** The learner's time, to scale: what was recorded over what is wanted. @param {LineRow} row @param {Played} played */
  gap(row, played) {
    const { gap } = played;
    const wanted = h("div", { class: "wanted" }, h("span", {}, `gap ${seconds(gap.gap_ms)}${gap.own ? " \u270e" : gap.clamped ? " at most" : ""}`), this.grip(row, played));
    const recorded = gap.recorded_ms === null
      ? h("div", { class: "recorded none" }, h("span", {}, "no pause here"))
      : h("div", { class: "recorded" }, h("span", {}, `pause ${seconds(gap.recorded_ms)}`));
    style(wanted, { width: `${gap.gap_ms * this.perMs}px` });
    if (gap.recorded_ms !== null) style(recorded, { width: `${Math.max(1, gap.recorded_ms * this.perMs)}px` });
    const out = h("div", { class: "gap", "data-from": "lesson", "data-start": played.lesson[1], "data-end": played.lesson[1] + gap.gap_ms }, recorded, wanted);
    return style(out, { width: `${gapLength(played) * this.perMs}px` });
  }

  /** The end of a gap, to be dragged. By keyboard its length is typed. @param {LineRow} row @param {Played} played */
  grip(row, played) {
    const grip = h("span", { class: "grip", title: "Drag to change this line's gap" });
    grip.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      grip.setPointerCapture(event.pointerId);
      const bar = /** @type {HTMLElement} */ (grip.parentElement);
      const text = /** @type {HTMLElement} */ (bar.firstElementChild);
      let ms = played.gap.gap_ms;
      /** @param {PointerEvent} moved */
      const move = (moved) => {
        ms = Math.min(60000, Math.max(0, Math.round((played.gap.gap_ms + (moved.clientX - event.clientX) / this.perMs) / 100) * 100));
        bar.style.setProperty("width", `${ms * this.perMs}px`);
        text.textContent = `gap ${seconds(ms)}`;
      };
      const end = () => {
        grip.removeEventListener("pointermove", move);
        if (ms !== played.gap.gap_ms) this.app.decide({ about: { kind: "gap", line: row.id }, choice: "set", value: ms });
      };
      grip.addEventListener("pointermove", move);
      grip.addEventListener("pointerup", end, { once: true });
    });
    return grip;
  }

  /** Marks the place in hand. @param {Stop | null} stop @param {boolean} focus */
  select(stop, focus) {
    for (const one of this.place.querySelectorAll(".in-hand")) one.classList.remove("in-hand");
    for (const one of this.place.querySelectorAll("[data-stop][tabindex='0']")) one.setAttribute("tabindex", "-1");
    const element = stop && this.place.querySelector(`[data-stop="${name(stop)}"]`);
    if (!stop || !(element instanceof HTMLElement)) return;
    for (const one of this.place.querySelectorAll(`[data-part-of="${name(stop)}"]`)) one.classList.add("in-hand");
    element.classList.add("in-hand");
    element.closest("tr")?.classList.add("in-hand");
    element.tabIndex = 0;
    if (focus) element.focus({ preventScroll: true });
    const row = element.closest("tr");
    const box = row?.getBoundingClientRect();
    const view = this.place.getBoundingClientRect();
    if (row && box && (box.top < view.top + 40 || box.bottom > view.bottom)) row.scrollIntoView({ block: "center" });
  }

  /** What the keyboard comes to is in hand. @param {FocusEvent} event */
  follow(event) {
    const named = event.target instanceof HTMLElement ? event.target.dataset.stop : undefined;
    if (!named || (this.app.stop && named === name(this.app.stop))) return;
    const [row, cell, lane] = named.split(" ").map(Number);
    this.app.stop = { row, cell, lane };
    this.select(this.app.stop, false);
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

/** @param {Stop} stop */
function name(stop) {
  return `${stop.row} ${stop.cell} ${stop.lane}`;
}
