// How much time the learners get; the totals change while the controls move, the lesson when they are let go.

/** @import {App} from "./app.js" */
/** @import {Pacing, Totals} from "./types.js" */
import { button, h } from "./dom.js";
import { minutes, seconds } from "./logic.js";
import { Refused, tryPacing } from "./server.js";

/** @type {[keyof Pacing & string, string, number, number, number, (value: number) => string][]} */
const SLIDERS = [
  ["factor", "Times the line's length", 0.5, 4, 0.05, (value) => `${value.toFixed(2)} \u00d7`],
  ["reaction_ms", "Time to begin", 0, 3000, 100, seconds],
  ["least_ms", "No gap is shorter than", 0, 10000, 100, seconds],
  ["most_ms", "No gap is longer than", 1000, 30000, 500, seconds],
];

/** @param {App} app @returns {Node[]} */
export function gapsView(app) {
  const { pacing } = app.state;
  const totals = h("div", { class: "measures", role: "status" }, ...measures(app.state.totals));
  /** @type {Partial<Pacing>} */
  let wanted = {};
  let asking = false;
  const ask = async () => {
    if (asking) return;
    asking = true;
    try {
      /** @type {Partial<Pacing>} */
      let asked = {};
      do {
        asked = wanted;
        const tried = await tryPacing(asked);
        totals.replaceChildren(...measures(tried.totals, app.state.totals));
      } while (asked !== wanted);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      totals.replaceChildren(h("p", { class: "wrong" }, error.message));
    } finally {
      asking = false;
    }
  };
  /** @param {Partial<Pacing>} change */
  const keep = (change) => app.setPacing(change);
  const levels = h(
    "fieldset",
    { class: "levels" },
    h("legend", {}, "The learners' level"),
    ...pacing.levels.map((level) => h(
      "label",
      {},
      h("input", { type: "radio", name: "level", value: level, "data-name": `level-${level}`, checked: level === pacing.level, onchange: () => keep({ level }) }),
      h("span", {}, level),
    )),
  );
  const sliders = SLIDERS.map(([name, title, least, most, step, says]) => {
    const value = Number(pacing[name]);
    const output = h("output", {}, says(value));
    const input = h("input", { type: "range", min: least, max: most, step, "data-name": `pacing-${name}`, "aria-label": title });
    input.value = String(value);
    input.addEventListener("input", () => {
      output.textContent = says(Number(input.value));
      input.setAttribute("aria-valuetext", says(Number(input.value)));
      wanted = { ...wanted, [name]: Number(input.value) };
      void ask();
    });
    input.addEventListener("change", () => keep({ [name]: Number(input.value) }));
    return h("label", { class: "slider" }, h("span", {}, title), input, output);
  });
  /** @param {"split" | "build_up" | "hold"} name @param {string} title */
  const flag = (name, title) => h(
    "label",
    { class: "flag-line" },
    h("input", { type: "checkbox", "data-name": `pacing-${name}`, checked: pacing[name], onchange: (/** @type {Event} */ event) => keep({ [name]: /** @type {HTMLInputElement} */ (event.target).checked }) }),
    h("span", {}, title),
  );
  return [
    h("h2", {}, "Gaps for the learners"),
    totals,
    levels,
    ...sliders,
    flag("split", "Play long lines in parts, each with its own gap"),
    flag("build_up", "Say such a line again as a whole after its parts"),
    flag("hold", "Hold the picture through every gap, instead of its recorded pause"),
    h("p", { class: "quiet" }, "A single line's gap: drag its end on the sheet, or press g and type. Hear it with w."),
    button("Play this line with its gap", () => app.act("play-gap"), { "data-name": "with-gap" }, "w"),
  ];
}

/** @param {Totals} totals @param {Totals} [before] */
function measures(totals, before) {
  /** @param {string} name @param {"lesson_ms" | "repeat_ms" | "learner_ms"} key */
  const one = (name, key) => {
    const moved = before ? totals[key] - before[key] : 0;
    const change = moved ? ` (${moved > 0 ? "+" : "\u2212"}${seconds(Math.abs(moved))})` : "";
    return h("div", {}, h("span", {}, name), h("strong", {}, minutes(totals[key])), h("small", {}, change || "\u00a0"));
  };
  return [one("Lesson", "lesson_ms"), one("Repeat pass", "repeat_ms"), one("Learners' time", "learner_ms")];
}
