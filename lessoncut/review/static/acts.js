// What keys and buttons ask for, done.

/** @import {App} from "./app.js" */
/** @import {Tab} from "./panel.js" */
import { byId, say } from "./dom.js";
import { listen, listenToEvidence } from "./listening.js";
import { step, within } from "./logic.js";
import { choosePickUp } from "./pickup.js";
import * as server from "./server.js";

const LEAST_ZOOM = 0.5;
const MOST_ZOOM = 12;

/** By what a key does (`KEYS` in keys.js). @type {Record<string, (app: App, key: string) => void>} */
const ACTS = {
  up: (app) => go(app, "up"),
  down: (app) => go(app, "down"),
  left: (app) => go(app, "left"),
  right: (app) => go(app, "right"),
  "next-open": (app) => app.walk(1, true),
  next: (app) => app.walk(1, false),
  previous: (app) => app.walk(-1, false),
  choose: (app, key) => choose(app, Number(key) - 1),
  suggested: (app) => choose(app, app.findingInHand()?.chosen ?? 0),
  "play-evidence": (app) => listenToEvidence(app, 0),
  "play-other": (app) => listenToEvidence(app, 1),
  play: (app) => listen(app, "play"),
  "play-pause": (app) => listen(app, "pause"),
  "play-cut": (app) => listen(app, "cut"),
  "play-gap": (app) => listen(app, "gap"),
  "play-lesson": (app) => listen(app, "lesson"),
  stop: (app) => {
    app.player.stop();
    app.sheet.select(app.stop, true);
  },
  undo: (app) => void app.change(server.undo),
  redo: (app) => void app.change(server.redo),
  "zoom-in": (app) => zoom(app, app.zoom * 1.25),
  "zoom-out": (app) => zoom(app, app.zoom * 0.8),
  "zoom-fit": (app) => zoom(app, 1),
  along: (app) => app.sheet.step(1),
  "back-along": (app) => app.sheet.step(-1),
  keys: (app) => app.keyboard.list(),
  "pick-up": choosePickUp,
  keep: (app) => slot(app, "keep"),
  borrow: (app) => slot(app, "borrow"),
  "leave-out": (app) => slot(app, "leave-out"),
  "edge-start": (app) => edit(app, "edge-start"),
  "edge-end": (app) => edit(app, "edge-end"),
  gap: (app) => edit(app, "own-gap"),
  caption: (app) => edit(app, "caption"),
  chapter: (app) => edit(app, "new-chapter"),
};

/** @param {App} app @param {string} does @param {string} [key] */
export function act(app, does, key = "") {
  if (does.startsWith("tab-")) {
    app.show(/** @type {Tab} */ (does.slice(4)));
    byId("view", HTMLElement).focus({ preventScroll: true });
    byId("panel", HTMLElement).scrollIntoView({ block: "nearest" });
  } else ACTS[does]?.(app, key);
}

/** @param {App} app @param {"up" | "down" | "left" | "right"} way */
function go(app, way) {
  if (app.stop) app.choose(step(app.state.rows, app.stop, way), false);
}

/** @param {App} app @param {number} at */
function choose(app, at) {
  const finding = app.findingInHand();
  if (finding && app.tab === "finding") void app.chooseFor(finding, at);
}

/** @param {App} app @param {number} zoom */
function zoom(app, zoom) {
  app.zoom = within(zoom, LEAST_ZOOM, MOST_ZOOM);
  app.sheet.zoom();
}

/** Decides which reading plays at the place in hand. @param {App} app @param {"keep" | "borrow" | "leave-out"} does */
function slot(app, does) {
  const here = app.inHand();
  if (!here) return;
  if (here.row.kind === "aside") {
    const keep = does === "keep" || (does === "leave-out" && !here.row.plays);
    void app.decide({ about: { kind: "aside", start_ms: here.row.span[0] }, choice: keep ? "keep" : "leave_out" });
    return;
  }
  const { row, cell, reading } = here;
  if (!cell) return;
  const about = { kind: "slot", line: row.id, pass: cell.pass };
  if (does === "leave-out") void app.decide({ about, choice: "leave_out" });
  else if (does === "keep" && reading) void app.decide({ about, choice: "keep", reading: reading.id });
  else if (does === "borrow" && cell.borrowable.length) void app.decide({ about, choice: "borrow", reading: cell.borrowable.at(-1) });
  else say("There is nothing to do that with here.");
}

/** Puts the keyboard into a field of the line in hand. @param {App} app @param {string} name */
function edit(app, name) {
  app.show("line");
  const field = byId("view", HTMLElement).querySelector(`[data-name="${name}"]`);
  if (!(field instanceof HTMLElement)) return;
  field.focus();
  if (field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement) field.select();
}
