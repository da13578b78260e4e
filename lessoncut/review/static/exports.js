// The export: what is to be written how far it is, and a link to each file.

/** @import {App} from "./app.js" */
/** @import {State, Step} from "./types.js" */
import { button, h } from "./dom.js";
import { wishesView } from "./wishes.js";

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
    wishesView(app),
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
