// What has happened elsewhere: another tab, the command line, the long jobs, the server's end.

/** @import {App} from "./app.js" */
import { pickUpNews } from "./pickup.js";
import { Refused, fetchPulse } from "./server.js";
import { showNotes } from "./top.js";

const PULSE_MS = 700;

/** Asks the server again and again. @param {App} app */
export async function listenForNews(app) {
  for (;;) {
    await new Promise((resolve) => setTimeout(resolve, PULSE_MS));
    try {
      await news(app);
    } catch (error) {
      if (error instanceof TypeError) app.lost = true;
      else if (error instanceof Refused) app.tell(error.message);
      else throw error;
    }
    showNotes(app);
  }
}

/** @param {App} app */
async function news(app) {
  const { begun } = app;
  const pulse = await fetchPulse();
  if (begun !== app.begun) return; // it may be older than what has begun since
  const before = app.pulse;
  app.pulse = pulse;
  if (app.lost) location.reload();
  if (pulse.revision !== app.state.revision) await app.catchUp();
  pickUpNews(app, pulse.adding);
  if (app.tab === "export" && JSON.stringify(before?.export) !== JSON.stringify(pulse.export)) app.panel.render(true);
  if (!app.player.whole && before?.preview !== null && pulse.preview?.every((one) => one.state === "done")) app.setSource(true);
}
