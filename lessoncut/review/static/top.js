// The head of the page: the lesson's name, how long it becomes, what can be undone, and what there is to know.

/** @import {App} from "./app.js" */
import { byId, h } from "./dom.js";
import { minutes } from "./logic.js";

const LOST = "The server has ended. Every decision you saw made is kept. Run lessoncut review again to go on.";

/** @param {App} app */
export function showTop({ state }) {
  document.title = `${state.title} \u2013 review`;
  const title = byId("title", HTMLElement);
  title.textContent = state.title;
  title.dir = "auto";
  const { totals } = state;
  /** @type {[string, string][]} */
  const shown = [
    ["Lesson", minutes(totals.lesson_ms)],
    ["Repeat pass", minutes(totals.repeat_ms)],
    ["Learners' time", minutes(totals.learner_ms)],
    ["Decided", `${totals.findings - totals.open} of ${totals.findings}`],
  ];
  byId("totals", HTMLElement).replaceChildren(...shown.map(([name, value]) => h("div", {}, h("dt", {}, name), h("dd", {}, value))));
  tool("undo", "Nothing to undo", state.undoes);
  tool("redo", "Nothing to redo", state.redoes);
}

/** @param {string} id @param {string} nothing @param {string | null} what */
function tool(id, nothing, what) {
  const element = byId(id, HTMLButtonElement);
  element.disabled = what === null;
  element.title = what ?? nothing;
}

/** @param {App} app */
export function showNotes(app) {
  const all = [...(app.lost ? [LOST] : []), ...(app.wrong ? [app.wrong] : []), ...(app.good ? [app.good] : []), ...app.state.notes];
  const making = app.pulse?.preview?.find((one) => one.state === "running");
  if (making) all.push(`A copy of the take that this browser can play is being made: ${Math.round(making.done * 100)} %. Until then there is sound alone.`);
  const adding = app.pulse?.adding?.find((one) => one.state === "running");
  if (adding) all.push(`${adding.name} \u2013 ${adding.says ?? "begins"}: ${Math.round(adding.done * 100)} %. You can go on deciding meanwhile.`);
  const place = byId("notes", HTMLElement);
  const text = all.join("\n");
  if (place.dataset.text === text) return;
  place.dataset.text = text;
  place.replaceChildren(...all.map((note) => h("p", { class: note === LOST || note === app.wrong ? "wrong" : "" }, note)));
}
