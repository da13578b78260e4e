// The export: what is to be written and how, how far it is, and a link to each file.

/** @import {App} from "./app.js" */
/** @import {State, Step} from "./types.js" */
import { button, h } from "./dom.js";
import { keepTargets } from "./server.js";

/** LUFS that are asked for somewhere, beside what is common for lessons. */
const LOUDNESS = [-14, -16, -18, -19, -20, -23, -24];

/** @param {App} app @returns {Node[]} */
export function exportView(app) {
  const { outputs, totals } = app.state;
  const steps = new Map((app.pulse?.export ?? []).map((step) => [step.name, step]));
  const running = [...steps.values()].some((step) => step.state === "waiting" || step.state === "running");
  const done = [...steps.values()].filter((step) => step.state === "done" || step.state === "failed").length;
  const wanted = outputs.filter((output) => !app.unwanted.has(output.name)).length;
  /** @param {boolean} all */
  const want = (all) => {
    for (const output of outputs) app.want(output.name, all);
    app.panel.render();
  };
  return [
    h("h2", {}, "Export"),
    totals.open ? h("p", { class: "quiet" }, `${totals.open} of ${totals.findings} findings are not decided; what is suggested holds for them.`) : null,
    h("div", { class: "buttons" }, button(running ? `Writing: ${done} of ${steps.size}` : wanted === 1 ? "Write the file" : `Write ${wanted} files`, () => app.export(), { class: "strong", disabled: running || !wanted, "data-name": "export" })),
    ...(running ? [h("progress", { max: steps.size, value: done, "aria-label": "Export" }), h("p", { class: "quiet" }, atWork([...steps.values()]))] : []),
    options(app),
    h(
      "div",
      { class: "buttons" },
      button("All files", () => want(true), { class: "small", disabled: running, "data-name": "all" }),
      button("No files", () => want(false), { class: "small", disabled: running, "data-name": "none" }),
    ),
    h("ul", { class: "outputs" }, ...outputs.map((output) => one(app, output, steps.get(output.name), running))),
  ].filter((node) => node !== null);
}

/** @param {App} app @param {State["outputs"][number]} output @param {Step | undefined} step @param {boolean} running */
function one(app, output, step, running) {
  const { name } = output;
  const box = h("input", { type: "checkbox", id: `out-${name}`, "data-name": `out-${name}`, checked: !app.unwanted.has(name), disabled: running });
  box.addEventListener("change", () => {
    app.want(name, box.checked);
    app.panel.render();
  });
  const there = (output.there || step?.state === "done") && step?.state !== "running";
  return h(
    "li",
    { class: step?.state ?? "" },
    box,
    h("label", { for: `out-${name}` }, h("strong", {}, name), h("small", {}, output.says)),
    step ? h("span", { class: "state" }, stateOf(step)) : null,
    there ? h("a", { href: `/outputs/${encodeURIComponent(name)}`, target: "_blank", rel: "noopener", "data-name": `link-${name}` }, output.file) : null,
    step?.says ? h("p", { class: step.state === "failed" ? "wrong" : "quiet" }, step.says) : null,
  );
}

/** Target sounds, loudness, and what is drawn and played beside the lesson. @param {App} app */
function options(app) {
  const { wishes } = app;
  const sounds = h("input", { type: "text", id: "targets", "data-name": "targets", value: app.state.targets, placeholder: "such as v/w or \u03b8", spellcheck: "false" });
  sounds.addEventListener("change", () => void app.change(() => keepTargets(sounds.value)));
  const loudness = h(
    "select",
    { id: "loudness", "data-name": "loudness" },
    h("option", { value: "standard" }, "common: \u221216 LUFS (mono \u221219)"),
    h("option", { value: "off" }, "as it was recorded"),
    ...LOUDNESS.map((lufs) => h("option", { value: lufs }, `${String(lufs).replace("-", "\u2212")} LUFS`)),
  );
  loudness.value = String(wishes.loudness);
  loudness.addEventListener("change", () => {
    const { value } = loudness;
    wishes.loudness = value === "standard" || value === "off" ? value : Number(value);
  });
  /** @param {"high_pass" | "prompt" | "with_model"} name @param {string} title */
  const flag = (name, title) => {
    const box = h("input", { type: "checkbox", "data-name": name, checked: wishes[name] });
    box.addEventListener("change", () => { wishes[name] = box.checked; });
    return h("label", { class: "flag-line" }, box, h("span", {}, title));
  };
  return h(
    "section",
    { class: "tool options" },
    h("label", { for: "targets" }, "Target sounds"),
    sounds,
    h("label", { for: "loudness" }, "Loudness"),
    loudness,
    flag("high_pass", "Take rumble away, under 80 Hz"),
    app.state.take.picture ? flag("prompt", "Draw each line and the seconds left into the picture of its gap") : null,
    flag("with_model", "Begin the practice tracks with the model reading"),
  );
}

/** What is being done at this moment. @param {Step[]} steps */
function atWork(steps) {
  const step = steps.findLast((one) => one.state === "running" && one.done < 1) ?? steps.findLast((one) => one.state === "running");
  return step ? [step.name, step.says, `${Math.round(step.done * 100)} %`].filter(Boolean).join(" \u2013 ") : "It begins.";
}

/** @param {Step} step */
function stateOf(step) {
  if (step.state === "done") return "\u2713 written";
  if (step.state === "failed") return "\u2715 not written";
  if (step.state === "running") return `\u2026 ${Math.round(step.done * 100)} %`;
  return "waiting";
}
