// The whole take in one narrow strip: sections of speech, the passes, the findings, and where the sound is.

/** @import {App} from "./app.js" */
import { byId, h, style } from "./dom.js";
import { clock, lanes, minutes, nearest } from "./logic.js";
import { waveform } from "./wave.js";

export class Overview {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.place = byId("overview", HTMLElement);
    this.head = h("div", { class: "playhead", hidden: true });
    this.findings = h("div", { class: "pins" });
    this.wave = waveform(0, 0);
    this.length = 0;
    this.place.addEventListener("click", (event) => this.go(event));
  }

  render() {
    const { state } = this.app;
    const whole = state.take.duration_ms;
    /** @param {HTMLElement} element @param {number} start @param {number} end */
    const put = (element, start, end) => style(element, { left: `${(100 * start) / whole}%`, width: `${(100 * (end - start)) / whole}%` });
    const passes = state.passes.filter((pass) => pass.span).map((pass) => {
      const span = /** @type {[number, number]} */ (pass.span);
      return put(h("div", { class: `pass ${pass.kind}` }, h("span", {}, pass.name)), span[0], span[1]);
    });
    const sections = this.sections().map(([title, start, end]) => put(h("div", { class: "part", title }, h("span", { dir: "auto" }, title)), start, end));
    if (whole !== this.length) {
      this.wave = waveform(0, whole);
      this.length = whole;
    }
    this.pins();
    this.place.replaceChildren(h("div", { class: "parts" }, ...sections, ...passes), this.wave, this.findings, this.head, h("span", { class: "length" }, minutes(whole)));
  }

  /** The findings, each where it stands in the take. */
  pins() {
    const { state, finding: inHand } = this.app;
    this.findings.replaceChildren(...state.findings.map((finding) => style(
      h("button", {
        type: "button",
        tabindex: -1,
        class: `pin ${finding.decided ? "decided" : "open"}${finding.id === inHand ? " in-hand" : ""}`,
        "aria-label": `${finding.id}, ${finding.kind_name}, ${finding.decided ? "decided" : "open"}, at ${clock(finding.span[0])}`,
        onclick: () => this.app.hold(finding.id),
      }),
      { left: `${(50 * (finding.span[0] + finding.span[1])) / state.take.duration_ms}%` },
    )));
  }

  /** Where the lines of each section outside the passage stand in the take, and the pick-ups after it. @returns {[string, number, number][]} */
  sections() {
    /** @type {Map<number, [string, number, number]>} */
    const found = new Map();
    for (const row of this.app.state.rows) {
      if (row.kind !== "line" || row.in_passage) continue;
      for (const { reading } of lanes(row.cells[0])) {
        const before = found.get(row.section);
        found.set(row.section, [
          this.app.state.sections[row.section].title,
          Math.min(before?.[1] ?? Infinity, reading.span[0]),
          Math.max(before?.[2] ?? 0, reading.span[1]),
        ]);
      }
    }
    const pickUps = this.app.state.pick_ups.flatMap(({ name, span }) => (span ? [/** @type {[string, number, number]} */ ([`pick-up: ${name}`, ...span])] : []));
    return [...found.values(), ...pickUps];
  }

  /** @param {MouseEvent} event */
  go(event) {
    if (event.target instanceof HTMLButtonElement) return;
    const box = this.place.getBoundingClientRect();
    const ms = ((event.clientX - box.left) / box.width) * this.app.state.take.duration_ms;
    const stop = nearest(this.app.state.rows, ms);
    if (stop) this.app.choose(stop, false);
  }

  /** @param {number | null} takeMs */
  light(takeMs) {
    this.head.hidden = takeMs === null;
    if (takeMs !== null) this.head.style.setProperty("left", `${(100 * takeMs) / this.app.state.take.duration_ms}%`);
  }
}
