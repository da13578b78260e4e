// How the files are to be: target sounds, loudness, what the handout shows. What is chosen for teaching is kept.

/** @import {App} from "./app.js" */
/** @import {Choices} from "./types.js" */
import { coverView } from "./cover.js";
import { h } from "./dom.js";
import { keepChoices, keepTargets } from "./server.js";

/** LUFS that are asked for somewhere, beside what is common for lessons. */
const LOUDNESS = [-14, -16, -18, -19, -20, -23, -24];

/** @type {["ipa" | "melody" | "bars" | "ties" | "room" | "slow", string][]} */
const SHOWN = [
  ["ipa", "Handout: phonetic signs under every line"],
  ["melody", "Handout: the melody drawn under every line"],
  ["bars", "Handout: bars between thought groups"],
  ["ties", "Handout: ties between words said as one"],
  ["room", "Handout: room to write under every line"],
  ["slow", "Practice pack: every line slowly, too"],
];

/** @param {App} app */
export function wishesView(app) {
  return h(
    "section",
    { class: "tool options" },
    ...text("targets", "Target sounds", app.state.targets, "such as v/w or \u03b8", (value) => app.change(() => keepTargets(value))),
    ...loudness(app),
    ...coverView(app),
    ...soundAndPicture(app),
    ...teaching(app),
  );
}

/** @param {App} app */
function loudness(app) {
  const { wishes } = app;
  const input = h(
    "select",
    { id: "loudness", "data-name": "loudness" },
    h("option", { value: "standard" }, "as usual: \u221216 (mono \u221219)"),
    h("option", { value: "off" }, "as it was recorded"),
    ...LOUDNESS.map((lufs) => h("option", { value: lufs }, `${String(lufs).replace("-", "\u2212")} LUFS`)),
  );
  input.value = String(wishes.loudness);
  input.addEventListener("change", () => {
    wishes.loudness = input.value === "standard" || input.value === "off" ? input.value : Number(input.value);
  });
  return [h("label", { for: "loudness" }, "Loudness"), input];
}

/** @param {App} app */
function soundAndPicture(app) {
  const { wishes } = app;
  /** @param {"high_pass" | "prompt" | "with_model"} name @param {string} title */
  const one = (name, title) => flag(name, title, wishes[name], (on) => { wishes[name] = on; });
  return [
    one("high_pass", "Take rumble away, under 80 Hz"),
    app.state.take.picture ? one("prompt", "Draw each line and the seconds left into the picture of its gap") : null,
    one("with_model", "Begin the practice tracks with the model reading"),
  ];
}

/** @param {App} app */
function teaching(app) {
  const { choices } = app.state;
  /** @param {Partial<Choices>} change */
  const keep = (change) => app.change(() => keepChoices(change));
  const paper = h("select", { id: "paper", "data-name": "paper" }, h("option", { value: "a4" }, "A4"), h("option", { value: "letter" }, "Letter"));
  paper.value = choices.paper;
  paper.addEventListener("change", () => void keep({ paper: paper.value === "letter" ? "letter" : "a4" }));
  return [
    h("label", { for: "paper" }, "Paper"),
    paper,
    ...text("url", "Lesson's address", choices.url ?? "", "for the handout's code", (url) => keep({ url })),
    ...text("your_turn", "Words in a gap", choices.your_turn, "", (words) => keep({ your_turn: words })),
    ...SHOWN.map(([name, title]) => flag(name, title, choices[name], (on) => keep({ [name]: on }))),
  ];
}

/** @param {string} name @param {string} title @param {string} value @param {string} hint @param {(value: string) => unknown} keep */
function text(name, title, value, hint, keep) {
  const input = h("input", { type: "text", id: name, "data-name": name, value, placeholder: hint, spellcheck: "false", dir: "auto" });
  input.addEventListener("change", () => void keep(input.value));
  return [h("label", { for: name }, title), input];
}

/** @param {string} name @param {string} title @param {boolean} on @param {(on: boolean) => unknown} set */
function flag(name, title, on, set) {
  const box = h("input", { type: "checkbox", "data-name": name, checked: on });
  box.addEventListener("change", () => void set(box.checked));
  return h("label", { class: "flag-line" }, box, h("span", {}, title));
}
