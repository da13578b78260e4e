// Starts the page: what the server says first, then its news.

import { App } from "./app.js";
import { byId, h } from "./dom.js";
import { sinceAnswer } from "./frames.js";
import { listenForNews } from "./news.js";
import { Refused, fetchState } from "./server.js";

async function start() {
  const app = new App(await fetchState());
  sinceAnswer("first paint", "/state");
  void listenForNews(app);
}

start().catch((error) => {
  byId("notes", HTMLElement).replaceChildren(h("p", { class: "wrong" }, error instanceof Refused ? error.message : "The page could not be shown; reload it."));
  throw error;
});
