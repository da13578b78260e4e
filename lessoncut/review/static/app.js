// The page as a whole: what the server last said, what is in hand, and every change through the server.

/** @import {Stop} from "./logic.js" */
/** @import {Now} from "./player.js" */
/** @import {Tab} from "./panel.js" */
/** @import {Peaks} from "./peaks.js" */
/** @import {Cell, Finding, LineRow, AsideRow, Pacing, Pulse, Reading, State, Wishes} from "./types.js" */
import { act } from "./acts.js";
import { byId, say } from "./dom.js";
import { Keyboard } from "./keyboard.js";
import { listen } from "./listening.js";
import { lanes, nextFinding, placeOf, stops } from "./logic.js";
import { showNow } from "./now.js";
import { Overview } from "./overview.js";
import { Panel } from "./panel.js";
import { readPeaks } from "./peaks.js";
import { takePickUps } from "./pickup.js";
import { Player } from "./player.js";
import * as server from "./server.js";
import { Sheet } from "./sheet.js";
import { showNotes, showTop } from "./top.js";
import { drawAnew, onNewLook } from "./wave.js";

/** @typedef {{row: LineRow, cell: Cell, reading: Reading | null} | {row: AsideRow, cell: null, reading: null}} InHand */

export class App {
  /** @param {State} state */
  constructor(state) {
    /** @type {State} */
    this.state = state;
    /** @type {Pulse | null} */
    this.pulse = null;
    /** How many changes and long jobs have begun here: news that was asked for before may not know the last. */
    this.begun = 0;
    /** How many changes are not answered yet. */
    this.waiting = 0;
    this.awaitsPickUp = false;
    /** @type {Stop | null} */
    this.stop = stops(state.rows)[0] ?? null;
    /** @type {string | null} */
    this.finding = null;
    /** @type {Tab} */
    this.tab = "finding";
    this.zoom = 1;
    /** @type {Set<string>} */
    this.unwanted = new Set();
    /** @type {Wishes} */
    this.wishes = { loudness: "standard", high_pass: false, prompt: false, with_model: false };
    this.sound = "";
    this.good = "";
    this.lost = false;
    this.wrong = "";
    this.sheet = new Sheet(this);
    this.overview = new Overview(this);
    this.panel = new Panel(this);
    this.keyboard = new Keyboard(this);
    this.player = new Player(byId("take", HTMLVideoElement), byId("lesson", HTMLAudioElement), () => this.state, (now) => this.tick(now), (text) => this.tell(text));
    byId("undo", HTMLButtonElement).onclick = () => this.act("undo");
    byId("redo", HTMLButtonElement).onclick = () => this.act("redo");
    byId("show-keys", HTMLButtonElement).onclick = () => this.act("keys");
    takePickUps(this);
    onNewLook(() => this.redraw());
    const first = nextFinding(state.findings, null, 1, true) ?? state.findings[0];
    if (first) [this.finding, this.stop] = [first.id, placeOf(state.rows, first) ?? this.stop];
    this.render();
    this.tick(null);
  }

  // -- showing ------------------------------------------------------------------------------------------------

  /** @param {boolean} [news]  of something that did not begin here */
  render(news = false) {
    this.showPicture();
    showTop(this);
    showNotes(this);
    this.overview.render();
    this.sheet.render();
    this.panel.render(news);
    document.body.dataset.revision = this.state.revision;
    if (this.sound !== this.state.take.sound) {
      this.sound = this.state.take.sound;
      void this.asked(() => this.fetchTake());
    }
  }

  /** Something that went wrong, until the next thing goes well. @param {string} text */
  tell(text) {
    this.wrong = text;
    showNotes(this);
  }

  showPicture() {
    byId("picture", HTMLElement).hidden = !this.state.take.picture || !this.player.whole;
  }

  /** The outline of the take's sound, and the take itself where the browser can play it; until then, its sound. */
  async fetchTake() {
    this.redraw(readPeaks(await server.fetchPeaks(this.state)));
    this.setSource(await server.takeIsReady());
  }

  /** Draws all sound again: it has been fetched, or the colours are others. @param {Peaks} [peaks] */
  redraw(peaks) {
    drawAnew(peaks);
    this.sheet.redraw();
  }

  /** @param {boolean} whole */
  setSource(whole) {
    this.player.setSource(whole);
    this.showPicture();
    const finding = this.findingInHand();
    if (finding) this.player.show(finding.span[0]);
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
    showNow(now, () => this.player.stop());
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

  /** @returns {Finding | undefined} */
  findingInHand() {
    return this.state.findings.find((one) => one.id === this.finding);
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
      this.overview.pins();
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
    if (same || !this.player.playing) listen(this, "play");
  }

  /** Takes a finding in hand. @param {string} id */
  hold(id) {
    const finding = this.state.findings.find((one) => one.id === id);
    if (!finding) return;
    this.finding = id;
    this.good = "";
    this.tab = "finding";
    this.stop = placeOf(this.state.rows, finding) ?? this.stop;
    this.overview.pins();
    this.sheet.select(this.stop, false);
    this.panel.render();
    this.player.show(finding.span[0]);
    byId("view", HTMLElement).focus({ preventScroll: true });
    byId("panel", HTMLElement).scrollIntoView({ block: "nearest" });
    say(`${finding.kind_name}. ${finding.says} ${finding.choices.map((choice, at) => `${at + 1}: ${choice.says}`).join(" ")}`);
  }

  /** @param {1 | -1} way @param {boolean} open */
  walk(way, open) {
    const next = nextFinding(this.state.findings, this.finding, way, open);
    if (next) this.hold(next.id);
    else say("All findings are decided.");
  }

  /** Does what a key or a button asks for. @param {string} does @param {string} [key] */
  act(does, key) {
    act(this, does, key);
  }

  // -- changing: the page shows only what the server has answered ---------------------------------------------------

  /** @template Answer @param {() => Promise<Answer>} ask @returns {Promise<Answer | null>} */
  async asked(ask) {
    try {
      const answer = await ask();
      this.wrong = "";
      return answer;
    } catch (error) {
      if (error instanceof server.Refused) this.tell(error.message);
      else if (error instanceof TypeError) this.tell("That was not stored: the server does not answer.");
      else throw error;
      return null;
    }
  }

  /** @param {() => Promise<State>} ask */
  async change(ask) {
    this.begun += 1;
    this.waiting += 1;
    const state = await this.asked(ask);
    this.waiting -= 1;
    if (state) {
      this.state = state;
      this.render();
    }
    return state !== null;
  }

  /** Shows what was changed elsewhere. While a change of its own is not answered, that answer is the news. */
  async catchUp() {
    if (this.waiting) return;
    const { begun } = this;
    const state = await this.asked(server.fetchState);
    if (!state || begun !== this.begun || state.revision === this.state.revision) return;
    this.state = state;
    this.render(true);
  }

  /** @param {object} body */
  decide(body) {
    this.good = "";
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
    else {
      this.good = "All findings are decided. l plays the lesson from here, x leads to the export.";
      showNotes(this);
    }
  }

  async export() {
    const names = this.state.outputs.map((output) => output.name).filter((name) => !this.unwanted.has(name));
    if (!names.length) return;
    const answer = await this.asked(() => server.startExport(names, this.wishes));
    if (answer) this.began(answer);
  }

  /** A long job has begun. @param {Partial<Pulse>} answer */
  began(answer) {
    this.begun += 1;
    this.pulse = { revision: this.state.revision, preview: null, export: null, adding: null, ...this.pulse, ...answer };
    showNotes(this);
    this.panel.render();
  }

  /** @param {string} name @param {boolean} wanted */
  want(name, wanted) {
    if (wanted) this.unwanted.delete(name);
    else this.unwanted.add(name);
  }
}
