// The finding in hand: its sentence, what speaks for it, and its choices, the suggested one first.

/** @import {App} from "./app.js" */
/** @import {Finding, Span, Strip} from "./types.js" */
import { button, h, sentence, style } from "./dom.js";
import { listenToEvidence } from "./listening.js";
import { clock, seconds } from "./logic.js";
import { pickUpTool } from "./pickup.js";
import { waveform } from "./wave.js";

/** @param {App} app @returns {Node[]} */
export function findingView(app) {
  const { findings } = app.state;
  if (!findings.length) return [h("p", { class: "empty" }, "Nothing was found that you would have to decide.")];
  const finding = findings.find((one) => one.id === app.finding);
  if (!finding) return [h("p", { class: "empty" }, "No finding is in hand."), ...walkers(app)];
  const at = findings.indexOf(finding);
  return [
    h(
      "div",
      { class: "over" },
      h("span", {}, `Finding ${at + 1} of ${findings.length}`),
      h("span", { class: `badge ${finding.decided ? "decided" : "open"}` }, finding.decided ? "\u2713 decided" : "\u25c7 open"),
    ),
    h("h2", {}, finding.kind_name, finding.pass_name ? h("small", {}, ` ${finding.pass_name}`) : null),
    h("p", { class: "says", dir: "auto" }, ...sentence(finding.says)),
    h("div", { class: "strips" }, ...finding.strips.map((strip, number) => evidence(app, strip, number))),
    ...compared(finding),
    choices(app, finding),
    ...walkers(app),
    ...(finding.kind === "dropped_line" ? [pickUpTool(app)] : []),
    facts(finding),
  ];
}

/** @param {App} app @param {Strip} strip @param {number} number */
function evidence(app, strip, number) {
  const [start, end] = strip.window;
  const wide = end - start;
  /** @param {HTMLElement} element @param {Span} span */
  const put = (element, span) => style(element, {
    left: `${(100 * (span[0] - start)) / wide}%`,
    width: `${(100 * (span[1] - span[0])) / wide}%`,
  });
  const speech = (app.state.take.speech ?? []).filter((span) => span[1] > start && span[0] < end);
  return h(
    "figure",
    { class: "evidence" },
    h(
      "figcaption",
      {},
      button("Play", () => listenToEvidence(app, number), { class: "small", "data-name": `evidence-${number}` }, ["a", "s"][number]),
      h("span", {}, strip.title),
      h("span", { class: "quiet" }, `${clock(strip.span[0])} \u00b7 ${seconds(strip.span[1] - strip.span[0])}`),
    ),
    h(
      "div",
      { class: "scene", "data-from": "take", "data-start": start, "data-end": end },
      strip.mark ? put(h("div", { class: "zone" }), strip.mark) : null,
      waveform(start, end),
      h("div", { class: "speech", title: "where somebody speaks" }, ...speech.map((span) => put(h("i"), [Math.max(start, span[0]), Math.min(end, span[1])]))),
      h("div", { class: "said", "aria-hidden": "true" }, ...strip.words.map((word, at) => style(h("span", { dir: "auto", class: at % 2 ? "lower" : "" }, word[0]), {
        left: `${(100 * (word[1] - start)) / wide}%`,
        "max-width": `${(100 * ((strip.words[at + 2]?.[1] ?? end) - word[1])) / wide}%`,
      }))),
    ),
  );
}

/** The script against what was heard. @param {Finding} finding */
function compared(finding) {
  if (!finding.words.length) return [];
  /** @param {"script" | "heard"} side @param {"del" | "ins"} tag */
  const row = (side, tag) => h(
    "dd",
    { dir: "auto" },
    ...finding.words.flatMap((piece) => [
      piece.same ? piece[side] : h(tag, { class: piece[side] ? "" : "nothing" }, piece[side] || (side === "heard" ? "not heard" : "nothing")),
      " ",
    ]),
  );
  return [h("dl", { class: "compared" }, h("dt", {}, "Script"), row("script", "del"), h("dt", {}, "Heard"), row("heard", "ins"))];
}

/** @param {App} app @param {Finding} finding */
function choices(app, finding) {
  return h(
    "div",
    { class: "choices", role: "group", "aria-label": "What is to become of it" },
    ...finding.choices.map((choice, at) => {
      const chosen = at === finding.chosen;
      const says = [chosen ? (finding.decided ? "\u25cf chosen" : "\u25d0 holds until you decide") : null, at === 0 ? "suggested" : null];
      return h(
        "button",
        {
          type: "button",
          class: "choice",
          "data-name": `choice-${at}`,
          "aria-pressed": String(chosen && finding.decided),
          onclick: () => app.chooseFor(finding, at),
        },
        h("kbd", {}, at + 1),
        h("span", {}, ...sentence(choice.says), h("small", {}, says.filter(Boolean).join(" \u00b7 "))),
      );
    }),
  );
}

/** @param {App} app */
function walkers(app) {
  const open = app.state.totals.open;
  return [h(
    "div",
    { class: "walkers" },
    button("Before", () => app.walk(-1, false), { class: "small", "data-name": "before" }, ","),
    button("Next", () => app.walk(1, false), { class: "small", "data-name": "after" }, "."),
    open
      ? button(`Next open (${open})`, () => app.walk(1, true), { class: "small", "data-name": "open" }, "n")
      : button("All are decided: export", () => app.act("tab-export"), { class: "small strong", "data-name": "export" }, "x"),
  )];
}

/** @param {Finding} finding */
function facts(finding) {
  return h(
    "dl",
    { class: "facts" },
    ...finding.facts.flatMap(([name, value]) => [h("dt", {}, name), h("dd", { dir: "auto" }, value)]),
    h("dt", {}, "how sure"),
    h("dd", {}, `${Math.round(finding.confidence * 100)} %`),
  );
}
