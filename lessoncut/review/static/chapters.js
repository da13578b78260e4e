// The chapters: rename, hide, show, take away one that was added.

/** @import {App} from "./app.js" */
/** @import {Chapter} from "./types.js" */
import { button, h } from "./dom.js";
import { clock } from "./logic.js";

/** @param {App} app @returns {Node[]} */
export function chaptersView(app) {
  return [
    h("h2", {}, "Chapters"),
    h("ol", { class: "chapters" }, ...app.state.chapters.map((chapter, at) => one(app, chapter, at))),
    h("p", { class: "quiet" }, "To begin a chapter elsewhere, go to its line and press t."),
  ];
}

/** @param {App} app @param {Chapter} chapter @param {number} at */
function one(app, chapter, at) {
  const { about } = chapter;
  const time = h("span", { class: "quiet" }, chapter.lesson ? clock(chapter.lesson[0]) : "hidden");
  if (!about) return h("li", {}, time, h("span", { dir: "auto" }, chapter.title));
  if (chapter.hidden) {
    return h("li", { class: "hidden" }, time, h("span", { dir: "auto" }, chapter.title), button("Show", () => app.decide({ about, choice: "show" }), { class: "small", "data-name": `show-${at}` }));
  }
  const input = h("input", { type: "text", "aria-label": `Title of chapter ${at + 1}`, "data-name": `chapter-${at}`, dir: "auto" });
  input.value = chapter.title;
  const set = () => {
    const title = input.value.trim();
    if (title && title !== chapter.title) app.decide({ about, choice: chapter.added ? "add" : "title", value: title });
    else input.value = chapter.title;
  };
  input.addEventListener("change", set);
  const last = app.state.chapters.filter((other) => !other.hidden).length < 2;
  return h(
    "li",
    {},
    time,
    input,
    chapter.added
      ? button("Take away", () => app.decide({ about, choice: "remove" }), { class: "small", "data-name": `remove-${at}` })
      : button("Hide", () => app.decide({ about, choice: "hide" }), { class: "small", disabled: last, "data-name": `hide-${at}` }),
  );
}
