// What stands in the sheet's rows: readings as strips of their sound, gaps to scale, empty slots.

/** @import {App} from "./app.js" */
/** @import {Lane, Stop} from "./logic.js" */
/** @import {AsideRow, Cell, LineRow, Played} from "./types.js" */
import { button, h, sentence, style } from "./dom.js";
import { asideText, clock, lanes, pieceLength, seconds } from "./logic.js";

const MARKS = {
  plays: ["\u2713", "kept"],
  lent: ["\u21b3", "borrowed"],
  unused: ["\u25cb", "not used"],
  broken: ["\u25d1", "broken off"],
};
const SOURCES = { take: "", borrowed: "borrowed", picked_up: "picked up", built: "from the model reading" };
const MOST_GAP_MS = 60_000;

/** The name by which a place is found on the page. @param {Stop} stop */
export function nameOf(stop) {
  return `${stop.row} ${stop.cell} ${stop.lane}`;
}

/** @param {App} app @param {number} section @param {number} columns */
export function headingRow(app, section, columns) {
  const { title, passage } = app.state.sections[section];
  return h("tr", { role: "row", class: "section" }, h("th", { role: "rowheader", "aria-colspan": columns + 1 }, h("span", { class: "title" }, h("span", { dir: "auto" }, title), h("small", {}, passage ? "the passage" : "read once"))));
}

/** @param {App} app @param {LineRow} row @param {number} at @param {number} columns */
export function lineRow(app, row, at, columns) {
  const across = row.cells.length === 1 && columns > 1;
  const cells = row.cells.map((cell, column) => h(
    "td",
    { role: "cell", class: across ? "across" : "", "aria-colspan": across ? columns : null },
    cellOf(app, row, cell, { row: at, cell: column, lane: 0 }),
  ));
  const most = Math.max(1, ...row.cells.map((cell) => lanes(cell).length));
  return style(
    h(
      "tr",
      { role: "row", class: "line", "data-row": row.id },
      h("th", { role: "rowheader", class: "text" }, h("span", { class: "number" }, row.id.replace(/^L0*/, "")), h("span", { class: "words", dir: "auto" }, row.text)),
      ...cells,
    ),
    { "--lanes": String(most) },
  );
}

/** @param {App} app @param {AsideRow} row @param {number} at @param {number} columns */
export function asideRow(app, row, at, columns) {
  const [sign, word] = row.plays ? MARKS.plays : ["\u25cb", "left out"];
  const says = asideText(row);
  const label = `Talk outside the script, ${word}, at ${clock(row.span[0])}: ${says}`;
  const kind = row.plays ? "plays" : "unused";
  const sound = strip(app, { row: at, cell: 0, lane: 0 }, 0, row.span, label, kind);
  return h(
    "tr",
    { role: "row", class: "aside", "data-row": row.id },
    h("th", { role: "rowheader", class: "text" }, h("span", { class: "words", dir: "auto" }, ...sentence(row.words ? `\u201c${says}\u201d` : says)), h("small", {}, "not in the script")),
    h("td", { role: "cell", class: "across", "aria-colspan": columns }, laneWith(-1, kind, [sound]), mark(app, sign, word, row.span, row.findings)),
  );
}

/** @param {App} app @param {LineRow} row @param {Cell} cell @param {Stop} stop */
function cellOf(app, row, cell, stop) {
  const all = lanes(cell);
  const out = h("div", { class: "cell" });
  all.forEach((lane, number) => out.append(...laneOf(app, row, cell, lane, { ...stop, lane: number }, all.length)));
  if (!cell.silent && all.length) return out;
  if (all.some((lane) => lane.reading.kind === "full")) {
    out.append(h("p", { class: "silent" }, "\u2205 left out of the lesson"));
    return out;
  }
  const where = app.state.passes.find((pass) => pass.id === cell.pass)?.name.toLowerCase();
  out.append(h(
    "button",
    { type: "button", class: "slot", tabindex: -1, "data-stop": all.length ? null : nameOf({ ...stop, lane: -1 }), onclick: () => app.choose({ ...stop, lane: all.length ? 0 : -1 }, true) },
    h("strong", {}, where ? `Not read in the ${where}` : "Not read"),
    h("span", {}, cell.findings.length ? "press to choose: borrow, add a pick-up, leave out" : "left out of the lesson; press to add a pick-up"),
  ));
  return out;
}

/** @param {App} app @param {LineRow} row @param {Cell} cell @param {Lane} lane @param {Stop} stop @param {number} count */
function laneOf(app, row, cell, lane, stop, count) {
  const { reading } = lane;
  const [sign, plain] = MARKS[lane.mark];
  const source = lane.mark === "lent" || lane.mark === "plays" ? SOURCES[reading.picked_up ? "picked_up" : cell.source] : "";
  const word = source || plain;
  const pass = app.state.passes.find((one) => one.id === cell.pass)?.name ?? "Reading";
  const label = `${row.text.slice(0, 120)} \u2013 ${pass}, reading ${stop.lane + 1} of ${count}, ${word}, ${seconds(reading.span[1] - reading.span[0])}, at ${clock(reading.span[0])}`;
  /** @type {HTMLElement[]} */
  const bars = [];
  let at = 0;
  lane.pieces.forEach((piece, number) => {
    const speech = piece.speech[1] - piece.speech[0];
    bars.push(strip(app, stop, at, piece.speech, label, lane.mark, number > 0));
    if (piece.played?.gap.kind === "repeat") bars.push(...gapOf(app, row, piece.played, at + speech));
    at += pieceLength(piece);
  });
  const column = row.cells.length === 1 ? -1 : stop.cell;
  const changed = [reading.moved ? "edge moved" : null, reading.caption === null ? null : "caption changed"];
  return [laneWith(column, lane.mark, bars), mark(app, sign, word, reading.span, about(app, cell, lane), changed)];
}

/** The findings about this reading; one that is about none of them stands where the line plays. @param {App} app @param {Cell} cell @param {Lane} lane */
function about(app, cell, lane) {
  const here = new Set(cell.readings.map((reading) => reading.id));
  return cell.findings.filter((id) => {
    const reading = app.state.findings.find((one) => one.id === id)?.reading;
    return reading && here.has(reading) ? reading === lane.reading.id : lane.mark === "plays" || lane.mark === "lent";
  });
}

/** @param {App} app @param {string} sign @param {string} word @param {[number, number]} span @param {string[]} findings @param {(string | null)[]} [changed] */
function mark(app, sign, word, span, findings, changed = []) {
  const open = findings.filter((id) => app.state.findings.some((one) => one.id === id && !one.decided));
  return h(
    "p",
    { class: "mark" },
    h("span", { class: "sign", "aria-hidden": "true" }, sign),
    ` ${[word, seconds(span[1] - span[0]), ...changed.filter(Boolean)].join(" \u00b7 ")}`,
    ...open.map((id) => button(`${id} open`, () => app.hold(id), { class: "flag", tabindex: -1 })),
  );
}

/** Strips and gaps, which `scaled.js` puts in their places. @param {number} column  -1: all @param {string} kind @param {HTMLElement[]} bars */
function laneWith(column, kind, bars) {
  const low = kind === "unused" || kind === "broken" ? " low" : "";
  return h("div", { class: `lane${low}`, "data-column": column, "data-kind": kind }, ...bars);
}

/** @param {App} app @param {Stop} stop @param {number} at  ms after the lane's beginning @param {[number, number]} span @param {string} label @param {string} kind @param {boolean} [later] */
function strip(app, stop, at, span, label, kind, later = false) {
  return h("button", {
    type: "button",
    class: `strip ${kind}`,
    tabindex: -1,
    "aria-label": label,
    "data-stop": later ? null : nameOf(stop),
    "data-part-of": nameOf(stop),
    "data-from": "take",
    "data-start": span[0],
    "data-at": at,
    "data-ms": span[1] - span[0],
    onclick: () => app.press(stop),
  });
}

/** The learner's time, to scale: what was recorded over what is wanted. @param {App} app @param {LineRow} row @param {Played} played @param {number} at  ms after the lane's beginning */
function gapOf(app, row, played, at) {
  const { gap } = played;
  const recorded = gap.recorded_ms === null
    ? h("div", { class: "recorded none", "data-at": at, "data-ms": gap.gap_ms }, h("span", {}, "no pause here"))
    : h("div", { class: "recorded", "data-at": at, "data-ms": gap.recorded_ms }, h("span", {}, `pause ${seconds(gap.recorded_ms)}`));
  const wanted = h(
    "div",
    { class: "wanted", "data-at": at, "data-ms": gap.gap_ms, "data-from": "lesson", "data-start": played.lesson[1] },
    h("span", {}, `gap ${seconds(gap.gap_ms)}${gap.own ? " \u270e" : gap.clamped ? " at most" : ""}`),
    grip(app, row, played),
  );
  return [recorded, wanted];
}

/** The end of a gap, to be dragged. By keyboard its length is typed. @param {App} app @param {LineRow} row @param {Played} played */
function grip(app, row, played) {
  const handle = h("span", { class: "grip", title: "Drag to change this line's gap" });
  handle.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    handle.setPointerCapture(event.pointerId);
    const bar = /** @type {HTMLElement} */ (handle.parentElement);
    const text = /** @type {HTMLElement} */ (bar.firstElementChild);
    const { perMs } = app.sheet.scale;
    const wide = bar.offsetWidth;
    let ms = played.gap.gap_ms;
    /** @param {PointerEvent} moved */
    const move = (moved) => {
      ms = Math.min(MOST_GAP_MS, Math.max(0, Math.round((played.gap.gap_ms + (moved.clientX - event.clientX) / perMs) / 100) * 100));
      style(bar, { width: `${wide + (ms - played.gap.gap_ms) * perMs}px` });
      text.textContent = `gap ${seconds(ms)}`;
    };
    const end = () => {
      handle.removeEventListener("pointermove", move);
      if (ms !== played.gap.gap_ms) app.decide({ about: { kind: "gap", line: row.id }, choice: "set", value: ms });
    };
    handle.addEventListener("pointermove", move);
    handle.addEventListener("pointerup", end, { once: true });
  });
  return handle;
}
