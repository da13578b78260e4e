// The export: what is to be written, how far it is, and a link to each file.

/** @import {App} from "./app.js" */
import { button, h } from "./dom.js";

/** @param {App} app @returns {Node[]} */
export function exportView(app) {
  const { outputs, totals } = app.state;
  const steps = new Map((app.pulse?.export ?? []).map((step) => [step.name, step]));
  const running = [...steps.values()].some((step) => step.state === "waiting" || step.state === "running");
  const done = [...steps.values()].filter((step) => step.state === "done" || step.state === "failed").length;
  const list = h(
    "ul",
    { class: "outputs" },
    ...outputs.map((output) => {
      const step = steps.get(output.name);
      const there = output.there || step?.state === "done";
      return h(
        "li",
        { class: step?.state ?? "" },
        h("input", { type: "checkbox", id: `out-${output.name}`, "data-name": `out-${output.name}`, checked: !app.unwanted.has(output.name), disabled: running, onchange: (/** @type {Event} */ event) => app.want(output.name, /** @type {HTMLInputElement} */ (event.target).checked) }),
        h("label", { for: `out-${output.name}` }, h("strong", {}, output.name), h("small", {}, output.says)),
        step ? h("span", { class: "state" }, stateOf(step)) : null,
        there && step?.state !== "running"
          ? h("a", { href: `/outputs/${encodeURIComponent(output.name)}`, target: "_blank", rel: "noopener", "data-name": `link-${output.name}` }, output.file)
          : null,
        step?.state === "failed" && step.says ? h("p", { class: "wrong" }, step.says) : null,
      );
    }),
  );
  return [
    h("h2", {}, "Export"),
    totals.open ? h("p", { class: "quiet" }, `${totals.open} of ${totals.findings} findings are not decided; what is suggested holds for them.`) : null,
    h("div", { class: "buttons" }, button(running ? `Writing: ${done} of ${steps.size}` : "Write the files", () => app.export(), { class: "strong", disabled: running, "data-name": "export" })),
    running ? h("progress", { max: steps.size, value: done, "aria-label": "Export" }) : null,
    list,
  ].filter((node) => node !== null);
}

/** @param {import("./types.js").Step} step */
function stateOf(step) {
  if (step.state === "done") return "\u2713 written";
  if (step.state === "failed") return "\u2715 not written";
  if (step.state === "running") return `\u2026 ${Math.round(step.done * 100)} %`;
  return "waiting";
}
