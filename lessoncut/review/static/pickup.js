// Pick-ups: a later recording of some lines, added here and heard in its place.

/** @import {App} from "./app.js" */
/** @import {PickUp, Step} from "./types.js" */
import { button, byId, h, say } from "./dom.js";
import { listen } from "./listening.js";
import { lanes } from "./logic.js";
import { addPickUp } from "./server.js";

/** Lets the teacher choose a recording. */
export function choosePickUp() {
  byId("pick-up-file", HTMLInputElement).click();
}

/** A recording comes from the file chooser, or is dropped on the page. @param {App} app */
export function takePickUps(app) {
  const chooser = byId("pick-up-file", HTMLInputElement);
  chooser.addEventListener("change", () => {
    const [file] = chooser.files ?? [];
    chooser.value = "";
    if (file) void add(app, file);
  });
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    const file = event.dataTransfer?.files[0];
    if (file) void add(app, file);
  });
}

/** @param {App} app @param {File} file */
async function add(app, file) {
  say(`${file.name} is being added.`);
  const answer = await app.asked(() => addPickUp(file));
  if (!answer) return;
  app.awaitsPickUp = true;
  app.began(answer);
}

/** Those that were added, and a way to add another. @param {App} app */
export function pickUpTool(app) {
  const { pick_ups: pickUps } = app.state;
  const busy = app.pulse?.adding?.some((one) => one.state === "running") ?? false;
  return h(
    "section",
    { class: "tool" },
    h("h3", {}, "Pick-ups"),
    pickUps.length ? h("ul", { class: "pick-ups" }, ...pickUps.map((one, at) => entry(app, one, at))) : null,
    h("div", { class: "buttons" }, button("Add a pick-up\u2026", choosePickUp, { "data-name": "pick-up", disabled: busy }, "m")),
    h("p", { class: "quiet" }, "A later recording of this line, or of several. It is copied into the lesson and matched at once; you can also drop it on the page."),
  );
}

/** @param {App} app @param {PickUp} pickUp @param {number} at */
function entry(app, pickUp, at) {
  const lines = pickUp.lines.map((id) => id.replace(/^L0*/, "")).join(", ");
  const says = !pickUp.span ? "not heard yet" : lines ? `line ${lines}` : "no line of the script";
  return h(
    "li",
    {},
    h("span", { dir: "auto" }, pickUp.name),
    h("span", { class: "quiet" }, says),
    button("Take out", () => app.decide({ about: pickUp.about, choice: "remove" }), { class: "small", "data-name": `take-out-${at}`, "aria-label": `Take out ${pickUp.name}` }),
  );
}

/** What has become of the one that is being heard. @param {App} app @param {Step[] | null} steps */
export function pickUpNews(app, steps) {
  const step = steps?.[0];
  if (!step) return;
  const awaited = app.awaitsPickUp;
  app.awaitsPickUp = step.state === "running" || step.state === "waiting";
  if (!awaited || app.awaitsPickUp) return;
  if (step.state === "failed") app.tell(`${step.name}: ${step.says}`);
  if (step.state !== "done") return;
  app.good = `${step.name}: ${step.says}`;
  say(app.good);
  const added = app.state.pick_ups.find((one) => one.name === step.name && one.lines.length);
  if (added) hear(app, added);
  else app.panel.render();
}

/** Takes the first line that it reads in hand, and plays it. @param {App} app @param {PickUp} pickUp */
function hear(app, pickUp) {
  const { rows } = app.state;
  const at = rows.findIndex((row) => row.kind === "line" && row.id === pickUp.lines[0]);
  const row = rows[at];
  if (row?.kind !== "line") return;
  for (const [cell, one] of row.cells.entries()) {
    const lane = lanes(one).findIndex(({ reading }) => reading.picked_up);
    if (lane < 0) continue;
    app.choose({ row: at, cell, lane }, false);
    if (!app.player.playing) listen(app, "play");
    return;
  }
}
