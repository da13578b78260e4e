// The keys: which are listened to when, and the list of them.

/** @import {App} from "./app.js" */
import { button, byId, h } from "./dom.js";
import { KEYS, actionOf } from "./keys.js";

const SHOWN = { " ": "space", ArrowUp: "\u2191", ArrowDown: "\u2193", ArrowLeft: "\u2190", ArrowRight: "\u2192", Escape: "esc", Enter: "enter" };

export class Keyboard {
  /** @param {App} app */
  constructor(app) {
    this.app = app;
    this.dialog = byId("keys", HTMLDialogElement);
    this.single = localStorage.getItem("single-keys") !== "off";
    document.addEventListener("keydown", (event) => this.press(event));
  }

  /** @param {KeyboardEvent} event */
  press(event) {
    const at = event.target instanceof HTMLElement ? event.target : document.body;
    if (isWriting(at)) {
      if (event.key === "Escape") this.app.sheet.select(this.app.stop, true);
      return;
    }
    if (event.defaultPrevented || (this.dialog.open && event.key !== "?")) return;
    const strip = at.hasAttribute("data-stop");
    const does = actionOf(event, this.single || (strip && (event.key.startsWith("Arrow") || event.key === " ")));
    if (!does) return;
    const presses = at.closest("button, a, input, summary, [role=slider]");
    if (presses && (event.key === "Enter" || (event.key === " " && !strip))) return;
    event.preventDefault();
    this.app.act(does, event.key);
  }

  /** Shows or hides the list of the keys. */
  list() {
    if (this.dialog.open) {
      this.dialog.close();
      return;
    }
    const switch_ = h("input", { type: "checkbox", checked: this.single });
    switch_.addEventListener("change", () => {
      this.single = switch_.checked;
      localStorage.setItem("single-keys", this.single ? "on" : "off");
    });
    this.dialog.replaceChildren(
      h("header", {}, h("h2", { id: "keys-title" }, "Keys"), button("Close", () => this.dialog.close(), { class: "small" }, "esc")),
      h("div", { class: "groups" }, ...KEYS.map(([title, keys]) => h("section", {}, h("h3", {}, title), h("dl", {}, ...keys.flatMap(entry))))),
      h("label", { class: "flag-line" }, switch_, h("span", {}, "Listen to single keys. Without, everything is reached with tab; the arrow keys still go through the sheet.")),
    );
    this.dialog.showModal();
  }
}

/** @param {import("./keys.js").Key} key */
function entry(key) {
  const names = key.does === "choose" ? [h("kbd", {}, "1"), "\u2026", h("kbd", {}, "9")] : key.keys.map((one) => h("kbd", {}, /** @type {Record<string, string>} */ (SHOWN)[one] ?? one));
  return [h("dt", {}, ...names), h("dd", {}, key.says)];
}

/** @param {HTMLElement} at */
function isWriting(at) {
  if (at instanceof HTMLInputElement) return at.type !== "checkbox" && at.type !== "file";
  return at instanceof HTMLTextAreaElement || at instanceof HTMLSelectElement;
}
