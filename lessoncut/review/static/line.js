// The line in hand: its reading, where it is cut, its gap, its caption, and whether a chapter begins there.

/** @import {App} from "./app.js" */
/** @import {AsideRow, Cell, LineRow, Reading} from "./types.js" */
import { button, h, style } from "./dom.js";
import { asideText, clock, lanes, seconds, within } from "./logic.js";
import { pickUpTool } from "./pickup.js";
import { waveform } from "./wave.js";

const AROUND = 600;

/** @param {App} app @returns {Node[]} */
export function lineView(app) {
  const here = app.inHand();
  if (!here) return [h("p", { class: "empty" }, "No line is in hand.")];
  if (!here.cell) return asideView(app, here.row);
  const { row, cell, reading } = here;
  const pass = app.state.passes.find((one) => one.id === cell.pass);
  return [
    h("div", { class: "over" }, h("span", {}, `Line ${row.id.replace(/^L0*/, "")}`), h("span", {}, pass?.name ?? app.state.sections[row.section].title)),
    h("h2", { class: "words", dir: "auto" }, row.text),
    h("p", { class: "quiet" }, told(cell, reading)),
    ...(reading ? readingTools(app, row, cell, reading) : borrowing(app, cell)),
    ...gapTool(app, row, cell),
    ...(reading ? [captionTool(app, row, cell, reading)] : []),
    chapterTool(app, row, cell),
    pickUpTool(app),
  ];
}

/** @param {Cell} cell @param {Reading | null} reading */
function told(cell, reading) {
  if (!reading) return "It is not read here.";
  const all = lanes(cell);
  const at = all.findIndex((lane) => lane.reading.id === reading.id);
  const says = { plays: reading.picked_up ? "kept, picked up" : "kept", lent: reading.picked_up ? "picked up" : "borrowed from another pass", unused: "not used", broken: "broken off, not used" }[all[at]?.mark ?? "unused"];
  return `Reading ${at + 1} of ${all.length}: ${says}. From ${clock(reading.span[0])}, ${seconds(reading.span[1] - reading.span[0])} long.`;
}

/** @param {App} app @param {LineRow} row @param {Cell} cell @param {Reading} reading */
function readingTools(app, row, cell, reading) {
  const slot = { kind: "slot", line: row.id, pass: cell.pass };
  return [
    h(
      "div",
      { class: "buttons" },
      button("Play", () => app.act("play"), { "data-name": "play" }, "space"),
      button("Pause after it", () => app.act("play-pause"), { "data-name": "pause" }, "p"),
      button("Cut as it will sound", () => app.act("play-cut"), { "data-name": "cut" }, "c"),
      button("With its gap", () => app.act("play-gap"), { "data-name": "with-gap" }, "w"),
      button("Lesson from here", () => app.act("play-lesson"), { "data-name": "lesson" }, "l"),
    ),
    h(
      "div",
      { class: "buttons" },
      reading.plays ? null : button("Keep this reading", () => app.act("keep"), { "data-name": "keep" }, "k"),
      cell.borrowable.length && !cell.lent.length ? button("Borrow from the other pass", () => app.act("borrow"), { "data-name": "borrow" }, "b") : null,
      cell.silent ? null : button("Leave the line out here", () => app.decide({ about: slot, choice: "leave_out" }), { "data-name": "leave-out" }, "o"),
    ),
    edges(app, reading),
  ];
}

/** @param {App} app @param {Cell} cell */
function borrowing(app, cell) {
  return [h(
    "div",
    { class: "buttons" },
    cell.borrowable.length ? button("Borrow from the other pass", () => app.act("borrow"), { "data-name": "borrow" }, "b") : null,
    ...cell.findings.map((id) => button(`See finding ${id}`, () => app.hold(id), { "data-name": id })),
  )];
}

/** The two edges of a reading, to be moved by arrow keys or dragging. @param {App} app @param {Reading} reading */
function edges(app, reading) {
  const window_ = [Math.max(0, reading.cut[0] - AROUND), Math.min(app.state.take.duration_ms, reading.cut[1] + AROUND)];
  const wide = window_[1] - window_[0];
  const scene = h("div", { class: "scene edges", "data-from": "take", "data-start": window_[0], "data-end": window_[1] });
  const kept = h("div", { class: "kept" });
  const cut = [...reading.cut];
  const place = () => style(kept, { left: `${(100 * (cut[0] - window_[0])) / wide}%`, width: `${(100 * (cut[1] - cut[0])) / wide}%` });
  const handles = /** @type {const} */ (["start", "end"]).map((edge, at) => {
    const handle = h("div", { class: `edge ${edge}`, role: "slider", tabindex: 0, "data-name": `edge-${edge}`, "aria-label": edge === "start" ? "Beginning of the reading" : "End of the reading", "aria-valuemin": window_[0], "aria-valuemax": window_[1] });
    const show = () => {
      handle.setAttribute("aria-valuenow", String(cut[at]));
      handle.setAttribute("aria-valuetext", `${(cut[at] / 1000).toFixed(2)} seconds`);
      style(handle, { left: `${(100 * (cut[at] - window_[0])) / wide}%` });
      place();
    };
    /** @param {boolean} snap */
    const send = (snap) => app.decide({ about: { kind: "edge", reading: reading.id, edge }, choice: "move", value: Math.round(cut[at]), snap });
    let waiting = 0;
    handle.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: -10, ArrowDown: -10, ArrowRight: 10, ArrowUp: 10 }[event.key];
      if (way) {
        cut[at] = within(cut[at] + way * (event.shiftKey ? 10 : 1), window_[0], window_[1]);
        show();
        clearTimeout(waiting);
        waiting = setTimeout(() => send(false), 350);
      } else if (event.key === "q") {
        clearTimeout(waiting);
        send(true);
      } else return;
      event.preventDefault();
      event.stopPropagation();
    });
    handle.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      handle.focus();
      handle.setPointerCapture(event.pointerId);
      const box = scene.getBoundingClientRect();
      /** @param {PointerEvent} moved */
      const move = (moved) => {
        cut[at] = within(window_[0] + ((moved.clientX - box.left) / box.width) * wide, window_[0], window_[1]);
        show();
      };
      handle.addEventListener("pointermove", move);
      handle.addEventListener("pointerup", () => {
        handle.removeEventListener("pointermove", move);
        if (Math.round(cut[at]) !== reading.cut[at]) send(true);
      }, { once: true });
    });
    show();
    return handle;
  });
  scene.append(kept, waveform(window_[0], window_[1]), ...handles);
  const about = { kind: "edge", reading: reading.id };
  const back = async () => {
    await app.decide({ about: { ...about, edge: "start" }, choice: "reset" });
    await app.decide({ about: { ...about, edge: "end" }, choice: "reset" });
  };
  return h(
    "section",
    { class: "tool" },
    h("h3", {}, "Where it is cut"),
    scene,
    h("p", { class: "quiet" }, h("kbd", {}, "["), " ", h("kbd", {}, "]"), " then arrow keys: 10 ms a step, with shift 100 ms; ", h("kbd", {}, "q"), ": to the quietest place near. Dragging finds it by itself."),
    reading.moved ? button("Back to where it was", back, { class: "small", "data-name": "edges-back" }) : null,
  );
}

/** @param {App} app @param {LineRow} row @param {Cell} cell */
function gapTool(app, row, cell) {
  const played = cell.plays.findLast((one) => one.gap.kind === "repeat");
  if (!played) return [];
  const { gap } = played;
  const input = h("input", { type: "number", id: "own-gap", "data-name": "own-gap", min: 0, max: 60, step: 0.1, value: (gap.gap_ms / 1000).toFixed(1) });
  const set = () => {
    const ms = Math.round(Number(input.value) * 1000);
    if (input.value && ms !== gap.wanted_ms) app.decide({ about: { kind: "gap", line: row.id }, choice: "set", value: ms });
  };
  return [h(
    "form",
    { class: "tool", onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); set(); } },
    h("h3", {}, h("label", { for: "own-gap" }, "Gap after it, seconds")),
    h("div", { class: "buttons" }, input, h("button", { type: "submit" }, "Set"), gap.own ? button("As the level asks", () => app.decide({ about: { kind: "gap", line: row.id }, choice: "reset" }), { "data-name": "gap-back" }) : null),
    h("p", { class: "quiet" }, `${gap.own ? "Set by you. " : ""}${gap.recorded_ms === null ? "The take has no pause here." : `The take's pause: ${seconds(gap.recorded_ms)}.`}${gap.clamped ? " The level asks for more than the most." : ""}`),
  )];
}

/** @param {App} app @param {LineRow} row @param {Cell} cell @param {Reading} reading */
function captionTool(app, row, cell, reading) {
  const shown = cell.plays.filter((one) => one.reading === reading.id && one.part > 0).map((one) => one.text).join(" ") || row.text;
  const input = h("textarea", { id: "caption", "data-name": "caption", rows: 2, dir: "auto" });
  input.value = reading.caption ?? shown;
  const about = { kind: "caption", reading: reading.id };
  const set = () => { if (input.value.trim() && input.value !== shown) app.decide({ about, choice: "set", value: input.value.trim() }); };
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.shiftKey) { event.preventDefault(); set(); }
  });
  return h(
    "form",
    { class: "tool", onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); set(); } },
    h("h3", {}, h("label", { for: "caption" }, "Words of the caption")),
    input,
    h("div", { class: "buttons" }, h("button", { type: "submit" }, "Set"), reading.caption === null ? null : button("As in the script", () => app.decide({ about, choice: "reset" }), { "data-name": "caption-back" })),
  );
}

/** @param {App} app @param {LineRow} row @param {Cell} cell */
function chapterTool(app, row, cell) {
  const input = h("input", { type: "text", id: "new-chapter", "data-name": "new-chapter", placeholder: "its title", dir: "auto" });
  const add = () => {
    if (input.value.trim()) app.decide({ about: { kind: "chapter", line: row.id, pass: cell.pass }, choice: "add", value: input.value.trim() });
  };
  return h(
    "form",
    { class: "tool", onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); add(); } },
    h("h3", {}, h("label", { for: "new-chapter" }, "Begin a chapter with this line")),
    h("div", { class: "buttons" }, input, h("button", { type: "submit" }, "Add")),
  );
}

/** @param {App} app @param {AsideRow} row */
function asideView(app, row) {
  const about = { kind: "aside", start_ms: row.span[0] };
  return [
    h("div", { class: "over" }, h("span", {}, "Talk outside the script"), h("span", {}, row.plays ? "\u2713 kept" : "\u25cb left out")),
    h("h2", { class: "words", dir: "auto" }, asideText(row)),
    h("p", { class: "quiet" }, `From ${clock(row.span[0])}, ${seconds(row.span[1] - row.span[0])} long.`),
    h(
      "div",
      { class: "buttons" },
      button("Play", () => app.act("play"), { "data-name": "play" }, "space"),
      row.plays
        ? button("Leave it out", () => app.decide({ about, choice: "leave_out" }), { "data-name": "leave-out" }, "o")
        : button("Keep it", () => app.decide({ about, choice: "keep" }), { "data-name": "keep" }, "k"),
      ...row.findings.map((id) => button(`See finding ${id}`, () => app.hold(id), { "data-name": id })),
    ),
  ];
}
