// What there is to hear of the place in hand.

/** @import {App} from "./app.js" */
/** @import {Played} from "./types.js" */
import { say } from "./dom.js";
import { aroundJoin } from "./logic.js";

/** Before and after a stretch that is judged by ear. */
const AROUND_MS = 150;

/** @param {App} app @param {"play" | "pause" | "cut" | "gap" | "lesson"} what */
export function listen(app, what) {
  const { player } = app;
  const here = app.inHand();
  if (what === "play") {
    if (player.playing) player.stop();
    else if (here?.reading) void player.playTake(here.reading.cut[0], here.reading.cut[1], "Reading");
    else if (here?.row.kind === "aside") void player.playTake(here.row.span[0], here.row.span[1], "Talk outside the script");
    return;
  }
  const played = playedHere(app);
  if (!played) {
    say("The lesson does not play this.");
  } else if (what === "pause") {
    const end = played.span[1];
    if (played.gap.recorded_ms === null) say("The take has no pause here.");
    else void player.playTake(end, end + played.gap.recorded_ms, "Pause in the take");
  } else if (what === "cut") {
    const [start, end] = aroundJoin(played, app.state.lesson.duration_ms);
    void player.playLesson(start, end, "The cut as it will sound");
  } else if (what === "gap") {
    void player.playLesson(played.lesson[0], played.lesson[1] + played.gap.gap_ms, "The line with its gap");
  } else {
    void player.playLesson(played.lesson[0], null, "The lesson");
  }
}

/** @param {App} app @param {number} number */
export function listenToEvidence(app, number) {
  const strip = app.findingInHand()?.strips[number];
  if (strip) void app.player.playTake(strip.span[0] - AROUND_MS, strip.span[1] + AROUND_MS, strip.title);
}

/** The part of the lesson that the place in hand plays. @param {App} app @returns {Played | null} */
function playedHere(app) {
  const here = app.inHand();
  if (!here?.cell) return null;
  const mine = here.cell.plays.filter((one) => one.reading === here.reading?.id);
  return (mine.length ? mine : here.cell.plays).at(-1) ?? null;
}
