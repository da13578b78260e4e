// The page: holds what the server last said and what is in hand, and does what keys and buttons ask for.

/** @import {Stop} from "./logic.js" */
/** @import {Now} from "./player.js" */
/** @import {Tab} from "./panel.js" */
/** @import {Cell, Finding, LineRow, AsideRow, Pacing, Played, Pulse, Reading, State} from "./types.js" */
import { button, byId, h, say } from "./dom.js";
import { KEYS, actionOf, aroundJoin, clock, lanes, minutes, nextFinding, placeOf, readPeaks, seconds, step, stops, within } from "./logic.js";
import { Overview } from "./overview.js";
import { Panel } from "./panel.js";
import { Player } from "./player.js";
import * as server from "./server.js";
import { Sheet } from "./sheet.js";
import { redraw, setPeaks } from "./wave.js";

const PULSE_MS = 700;

/** @typedef {{row: LineRow, cell: Cell, reading: Reading | null} | {row: AsideRow, cell: null, reading: null}} InHand */

export class App {
  /** @param {State} state */
  constructor(state) {
    /** @type {State} */
    this.state = state;
    /** @type {Pulse | null} */
    this.pulse = null;
    /** @type {Stop | null} */
    this.stop = stops(state.rows)[0] ?? null;
    /** @type {string | null} */
    this.finding = null;
    /** @type {Tab} */
    this.tab = "finding";
    this.zoom = 1;
    this.single = localStorage.getItem("single-keys") !== "off";
    /** @type {Set<string>} */
    this.unwanted = new Set();
    this.lost = false;
    this.wrong = "";
    this.sheet = new Sheet(this);
    this.overview = new Overview(this);
    this.panel = new Panel(this);
    this.player = new Player(byId("take", HTMLVideoElement), byId("lesson", HTMLAudioElement), () => this.state, (now) => this.tick(now), (text) => this.tell(text));
    byId("undo", HTMLButtonElement).onclick = () => this.act("undo");
    byId("redo", HTMLButtonElement).onclick = () => this.act("redo");
    byId("show-keys", HTMLButtonElement).onclick = () => this.act("keys");
    document.addEventListener("keydown", (event) => this.key(event));
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
    const first = nextFinding(state.findings, null, 1, true) ?? state.findings[0];
    if (first) [this.finding, this.stop] = [first.id, placeOf(state.rows, first) ?? this.stop];
    this.render();
    this.tick(null);
  }

  // -- showing ------------------------------------------------------------------------------------------------

  render() {
    const { state } = this;
    document.title = `${state.title} \u2013 review`;
    byId("title", HTMLElement).textContent = state.title;
    byId("title", HTMLElement).dir = "auto";
    byId("picture", HTMLElement).hidden = !state.take.picture || !this.player.whole;
    this.totals();
    this.notes();
    /** @param {string} id @param {string} word @param {string | null} what */
    const tool = (id, word, what) => {
      const element = byId(id, HTMLButtonElement);
      element.disabled = what === null;
      element.title = what ?? `Nothing to ${word.toLowerCase()}`;
    };
    tool("undo", "Undo", state.undoes);
    tool("redo", "Redo", state.redoes);
    this.overview.render();
    this.sheet.render();
    this.panel.render();
    document.body.dataset.revision = state.revision;
  }

  totals() {
    const { totals } = this.state;
    const decided = totals.findings - totals.open;
    /** @type {[string, string][]} */
    const shown = [
      ["Lesson", minutes(totals.lesson_ms)],
      ["Repeat pass", minutes(totals.repeat_ms)],
      ["Learners' time", minutes(totals.learner_ms)],
      ["Decided", `${decided} of ${totals.findings}`],
    ];
    byId("totals", HTMLElement).replaceChildren(...shown.map(([name, value]) => h("div", {}, h("dt", {}, name), h("dd", {}, value))));
  }

  notes() {
    const lost = "The server has ended. Every decision you saw made is kept. Run lessoncut review again to go on.";
    const all = [...(this.lost ? [lost] : []), ...(this.wrong ? [this.wrong] : []), ...this.state.notes];
    const making = this.pulse?.preview?.find((one) => one.state === "running");
    if (making) all.push(`A copy of the take that this browser can play is being made: ${Math.round(making.done * 100)} %. Until then there is sound alone.`);
    const place = byId("notes", HTMLElement);
    const text = all.join("\n");
    if (place.dataset.text === text) return;
    place.dataset.text = text;
    place.replaceChildren(...all.map((note) => h("p", { class: note === lost || note === this.wrong ? "wrong" : "" }, note)));
  }

  /** Something that went wrong, until the next thing goes well. @param {string} text */
  tell(text) {
    this.wrong = text;
    this.notes();
  }

  /** Whether there is a take that the browser can play; without it, there is its sound. @param {boolean} whole */
  setSource(whole) {
    this.player.setSource(whole);
    byId("picture", HTMLElement).hidden = !this.state.take.picture || !whole;
  }

  /** @param {Tab} tab */
  show(tab) {
    this.tab = tab;
    this.panel.render();
  }

  /** @param {Now | null} now */
  tick(now) {
    this.sheet.light(now?.take_ms ?? null, now?.from === "lesson" ? now.ms : null);
    this.overview.light(now?.take_ms ?? null);
    this.panel.light(now?.take_ms ?? null);
    const place = byId("player", HTMLElement);
    if (!now) {
      place.replaceChildren(h("span", { class: "quiet" }, "Nothing plays."));
      return;
    }
    if (!place.querySelector("button")) {
      place.replaceChildren(button("Stop", () => this.player.stop(), { class: "small" }, "esc"), h("span", { class: "label" }), h("span", { class: "time" }), h("span", { class: "line", dir: "auto" }), h("span", { class: "turn" }));
    }
    const [label, time, line, turn] = ["label", "time", "line", "turn"].map((name) => /** @type {HTMLElement} */ (place.querySelector(`.${name}`)));
    label.textContent = now.label;
    time.textContent = `${clock(now.ms)} ${now.from === "lesson" ? "of the lesson" : "of the take"}`;
    line.textContent = now.text;
    turn.textContent = now.turn ? `Learners: ${seconds(now.turn.ms)} left` : "";
    turn.style.setProperty("--left", String(now.turn ? now.turn.ms / now.turn.of : 0));
    turn.hidden = !now.turn;
  }

  // -- in hand ------------------------------------------------------------------------------------------------

  /** @returns {InHand | null} */
  inHand() {
    const row = this.stop && this.state.rows[this.stop.row];
    if (!this.stop || !row) return null;
    if (row.kind === "aside") return { row, cell: null, reading: null };
    const cell = row.cells[Math.min(this.stop.cell, row.cells.length - 1)];
    return { row, cell, reading: lanes(cell)[this.stop.lane]?.reading ?? null };
  }

  /** Takes a place of the sheet in hand. @param {Stop} stop @param {boolean} withFinding */
  choose(stop, withFinding) {
    this.stop = stop;
    const row = this.state.rows[stop.row];
    const ids = row.kind === "aside" ? row.findings : row.cells[stop.cell]?.findings ?? [];
    const open = ids.find((id) => this.state.findings.some((one) => one.id === id && !one.decided)) ?? ids[0];
    if (withFinding && open) {
      this.finding = open;
      this.tab = "finding";
      this.overview.render();
    } else if (this.tab === "finding") this.tab = "line";
    this.sheet.select(stop, true);
    this.panel.render();
    const here = this.inHand();
    if (here) this.player.show(here.row.kind === "aside" ? here.row.span[0] : here.reading?.span[0] ?? this.player.take.currentTime * 1000);
  }

  /** A strip was pressed. @param {Stop} stop */
  press(stop) {
    const same = this.stop && stop.row === this.stop.row && stop.cell === this.stop.cell && stop.lane === this.stop.lane;
    this.choose(stop, false);
    if (same || !this.player.playing) this.act("play");
  }

  /** Takes a finding in hand. @param {string} id */
  hold(id) {
    const finding = this.state.findings.find((one) => one.id === id);
    if (!finding) return;
    this.finding = id;
    this.tab = "finding";
    this.stop = placeOf(this.state.rows, finding) ?? this.stop;
    this.overview.render();
    this.sheet.select(this.stop, false);
    this.panel.render();
    this.player.show(finding.span[0]);
    byId("view", HTMLElement).focus({ preventScroll: true });
    say(`${finding.kind_name}. ${finding.says} ${finding.choices.map((choice, at) => `${at + 1}: ${choice.says}`).join(" ")}`);
  }

  /** @param {1 | -1} way @param {boolean} open */
  walk(way, open) {
    const next = nextFinding(this.state.findings, this.finding, way, open);
    if (next) this.hold(next.id);
    else say("All findings are decided.");
  }

  // -- changing: the page shows only what the server has answered ---------------------------------------------------

  /** @param {() => Promise<State>} ask */
  async change(ask) {
    try {
      this.state = await ask();
      this.wrong = "";
      this.render();
      return true;
    } catch (error) {
      if (error instanceof server.Refused) this.tell(error.message);
      else if (error instanceof TypeError) this.tell("That was not stored: the server does not answer.");
      else throw error;
      return false;
    }
  }

  /** @param {object} body */
  decide(body) {
    return this.change(() => server.decide(body));
  }

  /** @param {Partial<Pacing>} change */
  setPacing(change) {
    return this.change(() => server.keepPacing(change));
  }

  /** @param {Finding} finding @param {number} at */
  async chooseFor(finding, at) {
    const choice = finding.choices[at];
    if (!choice) return;
    const body = { about: { kind: "finding", id: finding.id }, choice: choice.name, reading: choice.reading ?? undefined };
    if (!(await this.decide(body))) return;
    say(`Decided: ${choice.says} ${this.state.totals.open} findings are open.`);
    if (nextFinding(this.state.findings, this.finding, 1, true)) this.walk(1, true);
  }

  async export() {
    const names = this.state.outputs.map((output) => output.name).filter((name) => !this.unwanted.has(name));
    if (!names.length) return;
    try {
      const { export: steps } = await server.startExport(names);
      this.pulse = { revision: this.state.revision, preview: this.pulse?.preview ?? null, export: steps };
      this.panel.render();
    } catch (error) {
      if (!(error instanceof server.Refused)) throw error;
      this.tell(error.message);
    }
  }

  /** @param {string} name @param {boolean} wanted */
  want(name, wanted) {
    if (wanted) this.unwanted.delete(name);
    else this.unwanted.add(name);
  }

  // -- listening ----------------------------------------------------------------------------------------------

  /** @param {number} start @param {number} end @param {string} label */
  playTake(start, end, label) {
    return this.player.playTake(Math.max(0, start), end, label);
  }

  /** The part of the lesson that the place in hand plays. @returns {Played | null} */
  played() {
    const here = this.inHand();
    if (!here?.cell) return null;
    const mine = here.cell.plays.filter((one) => one.reading === here.reading?.id);
    return (mine.length ? mine : here.cell.plays).at(-1) ?? null;
  }

  /** @param {"play" | "play-pause" | "play-cut" | "play-gap" | "play-lesson"} what */
  listen(what) {
    const here = this.inHand();
    const played = this.played();
    if (what === "play") {
      if (this.player.playing) this.player.stop();
      else if (here?.reading) void this.playTake(here.reading.cut[0], here.reading.cut[1], "Reading");
      else if (here?.row.kind === "aside") void this.playTake(here.row.span[0], here.row.span[1], "Talk outside the script");
      return;
    }
    if (!here || !played) {
      say("The lesson does not play this.");
      return;
    }
    const whole = this.state.lesson.duration_ms;
    if (what === "play-pause") {
      const end = played.span[1];
      if (played.gap.recorded_ms === null) say("The take has no pause here.");
      else void this.playTake(end, end + played.gap.recorded_ms, "Pause in the take");
    } else if (what === "play-cut") {
      const [start, end] = aroundJoin(played, whole);
      void this.player.playLesson(start, end, "The cut as it will sound");
    } else if (what === "play-gap") {
      void this.player.playLesson(played.lesson[0], played.lesson[1] + played.gap.gap_ms, "The line with its gap");
    } else {
      void this.player.playLesson(played.lesson[0], null, "The lesson");
    }
  }

  /** @param {number} number */
  listenTo(number) {
    const strip = this.state.findings.find((one) => one.id === this.finding)?.strips[number];
    if (strip) void this.playTake(strip.span[0] - 150, strip.span[1] + 150, strip.title);
  }

  // -- keys ---------------------------------------------------------------------------------------------------

  /** @param {KeyboardEvent} event */
  key(event) {
    const at = event.target;
    const writing = at instanceof HTMLTextAreaElement || at instanceof HTMLSelectElement || (at instanceof HTMLInputElement && !["checkbox"].includes(at.type));
    if (event.key === "Escape" && at instanceof HTMLElement && writing) {
      this.sheet.select(this.stop, true);
      return;
    }
    if (writing || event.defaultPrevented || byId("keys", HTMLDialogElement).open && event.key !== "?") return;
    const strip = at instanceof HTMLElement && at.hasAttribute("data-stop");
    const does = actionOf(event, this.single || (strip && (event.key.startsWith("Arrow") || event.key === " ")));
    if (!does) return;
    const presses = at instanceof HTMLElement && at.closest("button, a, input, summary, [role=slider]");
    if (presses && (event.key === "Enter" || (event.key === " " && !strip))) return;
    event.preventDefault();
    this.act(does, event.key);
  }

  /** @param {string} does @param {string} [key] */
  act(does, key = "") {
    const finding = this.state.findings.find((one) => one.id === this.finding);
    const ways = /** @type {const} */ ({ up: "up", down: "down", left: "left", right: "right" });
    if (does in ways && this.stop) this.choose(step(this.state.rows, this.stop, ways[/** @type {keyof typeof ways} */ (does)]), false);
    else if (does === "next-open") this.walk(1, true);
    else if (does === "next") this.walk(1, false);
    else if (does === "previous") this.walk(-1, false);
    else if (does === "choose" && finding && this.tab === "finding") void this.chooseFor(finding, Number(key) - 1);
    else if (does === "suggested" && finding && this.tab === "finding") void this.chooseFor(finding, finding.chosen);
    else if (does === "play-evidence") this.listenTo(0);
    else if (does === "play-other") this.listenTo(1);
    else if (does.startsWith("play")) this.listen(/** @type {"play"} */ (does));
    else if (does === "stop") this.escape();
    else if (does === "undo") void this.change(server.undo);
    else if (does === "redo") void this.change(server.redo);
    else if (does.startsWith("tab-")) {
      this.show(/** @type {Tab} */ (does.slice(4)));
      byId("view", HTMLElement).focus();
    } else if (does.startsWith("zoom")) {
      this.zoom = does === "zoom-fit" ? 1 : within(this.zoom * (does === "zoom-in" ? 1.25 : 0.8), 0.5, 12);
      this.sheet.render();
    } else if (does === "keys") this.keys();
    else if (["keep", "borrow", "leave-out"].includes(does)) this.slot(does);
    else if (["edge-start", "edge-end", "gap", "caption", "chapter"].includes(does)) this.edit(does);
  }

  escape() {
    this.player.stop();
    this.sheet.select(this.stop, true);
  }

  /** Decides which reading plays at the place in hand. @param {string} does */
  slot(does) {
    const here = this.inHand();
    if (!here) return;
    if (here.row.kind === "aside") {
      const keep = does === "keep" || (does === "leave-out" && !here.row.plays);
      void this.decide({ about: { kind: "aside", start_ms: here.row.span[0] }, choice: keep ? "keep" : "leave_out" });
      return;
    }
    const { row, cell, reading } = here;
    if (!cell) return;
    const about = { kind: "slot", line: row.id, pass: cell.pass };
    if (does === "leave-out") void this.decide({ about, choice: "leave_out" });
    else if (does === "keep" && reading) void this.decide({ about, choice: "keep", reading: reading.id });
    else if (does === "borrow" && cell.borrowable.length) void this.decide({ about, choice: "borrow", reading: cell.borrowable.at(-1) });
    else say("There is nothing to do that with here.");
  }

  /** Puts the keyboard into a field of the line in hand. @param {string} what */
  edit(what) {
    this.tab = "line";
    this.panel.render();
    const names = /** @type {Record<string, string>} */ ({ gap: "own-gap", caption: "caption", chapter: "new-chapter", "edge-start": "edge-start", "edge-end": "edge-end" });
    const field = byId("view", HTMLElement).querySelector(`[data-name="${names[what]}"]`);
    if (!(field instanceof HTMLElement)) return;
    field.focus();
    if (field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement) field.select();
  }

  keys() {
    const dialog = byId("keys", HTMLDialogElement);
    if (dialog.open) {
      dialog.close();
      return;
    }
    /** @param {string} name */
    const shown = (name) => ({ " ": "space", ArrowUp: "\u2191", ArrowDown: "\u2193", ArrowLeft: "\u2190", ArrowRight: "\u2192", Escape: "esc", Enter: "enter" })[name] ?? name;
    dialog.replaceChildren(
      h("header", {}, h("h2", { id: "keys-title" }, "Keys"), button("Close", () => dialog.close(), { class: "small" }, "esc")),
      h("div", { class: "groups" }, ...KEYS.map(([title, keys]) => h(
        "section",
        {},
        h("h3", {}, title),
        h("dl", {}, ...keys.flatMap((key) => [
          h("dt", {}, ...(key.does === "choose" ? [h("kbd", {}, "1"), "\u2026", h("kbd", {}, "9")] : key.keys.map((one) => h("kbd", {}, shown(one))))),
          h("dd", {}, key.says),
        ])),
      ))),
      h("label", { class: "flag-line" }, h("input", { type: "checkbox", checked: this.single, onchange: (/** @type {Event} */ event) => this.setSingle(/** @type {HTMLInputElement} */ (event.target).checked) }), h("span", {}, "Listen to single keys. Without, everything is reached with tab; the arrow keys still go through the sheet.")),
    );
    dialog.showModal();
  }

  /** @param {boolean} on */
  setSingle(on) {
    this.single = on;
    localStorage.setItem("single-keys", on ? "on" : "off");
  }

  // -- the server's news ----------------------------------------------------------------------------------------

  async listenForNews() {
    for (;;) {
      await new Promise((resolve) => setTimeout(resolve, PULSE_MS));
      try {
        const pulse = await server.fetchPulse();
        const before = this.pulse;
        this.pulse = pulse;
        if (this.lost) location.reload();
        if (pulse.revision !== this.state.revision) await this.change(server.fetchState);
        if (this.tab === "export" && JSON.stringify(before?.export) !== JSON.stringify(pulse.export)) this.panel.render();
        if (!this.player.whole && (before?.preview !== null && pulse.preview?.every((one) => one.state === "done"))) this.setSource(true);
        this.notes();
      } catch (error) {
        if (error instanceof TypeError) this.lost = true;
        else if (error instanceof server.Refused) this.tell(error.message);
        else throw error;
        this.notes();
      }
    }
  }
}

async function start() {
  const app = new App(await server.fetchState());
  void app.listenForNews();
  setPeaks(readPeaks(await server.fetchPeaks()));
  app.setSource(await server.takeIsReady());
}

start().catch((error) => {
  byId("notes", HTMLElement).replaceChildren(h("p", { class: "wrong" }, error instanceof server.Refused ? error.message : "The page could not be shown; reload it."));
  throw error;
});
