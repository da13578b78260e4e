// The foot of the page: what is heard at this moment, and how long the learners still have.

/** @import {Now} from "./player.js" */
import { button, byId, h } from "./dom.js";
import { clock, seconds } from "./logic.js";

/** @param {Now | null} now @param {() => void} stop */
export function showNow(now, stop) {
  const place = byId("player", HTMLElement);
  place.classList.toggle("idle", !now);
  if (!now) {
    place.replaceChildren(h("span", { class: "quiet" }, "Nothing plays."));
    return;
  }
  if (!place.querySelector("button")) {
    place.replaceChildren(
      button("Stop", stop, { class: "small" }, "esc"),
      h("span", { class: "label" }),
      h("span", { class: "time" }),
      h("span", { class: "line", dir: "auto" }),
      h("span", { class: "turn" }),
    );
  }
  const [label, time, line, turn] = ["label", "time", "line", "turn"].map((name) => /** @type {HTMLElement} */ (place.querySelector(`.${name}`)));
  label.textContent = now.label;
  time.textContent = `${clock(now.ms)} ${now.from === "lesson" ? "of the lesson" : "of the take"}`;
  line.textContent = now.text;
  turn.textContent = now.turn ? `Learners: ${seconds(now.turn.ms)} left` : "";
  turn.style.setProperty("--left", String(now.turn ? now.turn.ms / now.turn.of : 0));
  turn.hidden = !now.turn;
}
