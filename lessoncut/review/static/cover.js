// The picture of the practice tracks: chosen here, copied into the lesson, seen small.

/** @import {App} from "./app.js" */
import { button, h } from "./dom.js";
import { keepCover } from "./server.js";

/** @param {App} app @returns {Node[]} */
export function coverView(app) {
  const { cover, revision } = app.state;
  const chooser = h("input", { type: "file", accept: "image/jpeg,image/png", hidden: true, "aria-label": "A picture for the practice tracks" });
  chooser.addEventListener("change", () => {
    const [file] = chooser.files ?? [];
    if (file) void app.change(() => keepCover(file));
  });
  return [
    h("span", { id: "cover-label" }, "Tracks\u2019 picture"),
    h(
      "div",
      { class: "cover", role: "group", "aria-labelledby": "cover-label" },
      cover ? h("img", { src: `/cover?${encodeURIComponent(revision)}`, alt: cover }) : null,
      button(cover ? "Choose another\u2026" : "Choose a picture\u2026", () => chooser.click(), { class: "small", "data-name": "cover" }),
      cover ? button("Take away", () => void app.change(() => keepCover()), { class: "small", "data-name": "no-cover", "aria-label": "Take the picture away" }) : null,
      chooser,
    ),
  ];
}
