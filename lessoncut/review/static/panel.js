// The side panel: the finding in hand, the line in hand, the gaps, the chapters, the export.

/** @import {App} from "./app.js" */
import { byId, h } from "./dom.js";
import { chaptersView } from "./chapters.js";
import { exportView } from "./exports.js";
import { findingView } from "./finding.js";
import { gapsView } from "./gaps.js";
import { lineView } from "./line.js";

/** @typedef {"finding" | "line" | "gaps" | "chapters" | "export"} Tab */

/** @type {[Tab, string, (app: App) => Node[]][]} */
const TABS = [
  ["finding", "Finding", findingView],
  ["line", "Line", lineView],
  ["gaps", "Gaps", gapsView],
  ["chapters", "Chapters", chaptersView],
  ["export", "Export", exportView],
];

export class Panel {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.view = byId("view", HTMLElement);
    this.tabs = TABS.map(([tab, title]) => h(
      "button",
      { type: "button", role: "tab", id: `tab-${tab}`, "aria-controls": "view", onclick: () => app.show(tab) },
      title,
    ));
    const list = byId("tabs", HTMLElement);
    list.append(...this.tabs);
    list.addEventListener("keydown", (event) => this.walk(event));
    this.shown = "";
  }

  /** @param {boolean} [news]  of something that did not begin here: what is being written stays */
  render(news = false) {
    const { tab } = this.app;
    const written = news && this.view.contains(document.activeElement) ? fieldOf(document.activeElement) : null;
    TABS.forEach(([name], at) => {
      this.tabs[at].setAttribute("aria-selected", String(name === tab));
      this.tabs[at].tabIndex = name === tab ? 0 : -1;
    });
    this.view.setAttribute("aria-labelledby", `tab-${tab}`);
    const make = /** @type {(app: App) => Node[]} */ (TABS.find(([name]) => name === tab)?.[2]);
    const focus = this.view.contains(document.activeElement) ? focusName(document.activeElement) : null;
    const top = this.view.scrollTop;
    // A field that is taken away while it is written in says that it has changed. It has not, yet.
    if (written) this.view.addEventListener("change", hush, true);
    this.view.replaceChildren(...make(this.app));
    this.view.removeEventListener("change", hush, true);
    const what = `${tab} ${tab === "finding" ? this.app.finding : ""}`;
    this.view.scrollTop = what === this.shown ? top : 0;
    this.shown = what;
    if (focus) {
      const again = this.view.querySelector(`[data-name="${focus}"]`);
      (again instanceof HTMLElement ? again : this.view).focus({ preventScroll: true });
      const field = fieldOf(again);
      if (written && field) goOnWriting(field, written);
    }
  }

  /** @param {number | null} takeMs */
  light(takeMs) {
    for (const element of this.view.querySelectorAll("[data-from='take']")) {
      if (!(element instanceof HTMLElement)) continue;
      const [start, end] = [Number(element.dataset.start), Number(element.dataset.end)];
      const inside = takeMs !== null && takeMs >= start && takeMs < end;
      element.classList.toggle("sounding", inside);
      if (inside) element.style.setProperty("--at", `${(100 * (takeMs - start)) / (end - start)}%`);
    }
  }

  /** Left and right go from tab to tab. @param {KeyboardEvent} event */
  walk(event) {
    const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!way) return;
    event.preventDefault();
    event.stopPropagation();
    const at = (TABS.findIndex(([name]) => name === this.app.tab) + way + TABS.length) % TABS.length;
    this.app.show(TABS[at][0]);
    this.tabs[at].focus();
  }
}

/** @param {Event} event */
function hush(event) {
  event.stopImmediatePropagation();
}

/** @param {Element | null} element */
function fieldOf(element) {
  const field = element instanceof HTMLTextAreaElement || (element instanceof HTMLInputElement && ["text", "number"].includes(element.type));
  return field ? /** @type {HTMLTextAreaElement | HTMLInputElement} */ (element) : null;
}

/** The new field takes over from the old one; leaving it is the change that it would have been there. @param {HTMLTextAreaElement | HTMLInputElement} field @param {HTMLTextAreaElement | HTMLInputElement} before */
function goOnWriting(field, before) {
  if (field.value === before.value) return;
  field.value = before.value;
  if (before.selectionStart !== null) field.setSelectionRange(before.selectionStart, before.selectionEnd);
  let told = false;
  field.addEventListener("change", () => { told = true; });
  field.addEventListener("blur", () => { if (!told) field.dispatchEvent(new Event("change")); }, { once: true });
}

/** @param {Element | null} element */
function focusName(element) {
  return element instanceof HTMLElement ? element.dataset.name ?? null : null;
}
