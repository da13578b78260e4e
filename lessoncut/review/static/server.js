// Talks to the server. What it does not accept comes back as a sentence to show.

/** @import {Choices, Pacing, Pulse, State, Totals, Gap, Wishes} from "./types.js" */

export class Refused extends Error {}

/** @param {string} path @returns {Promise<any>} */
async function get(path) {
  const answer = await fetch(path);
  if (!answer.ok) throw await refused(answer);
  return answer.json();
}

/** @param {string} path @param {unknown} body @returns {Promise<any>} */
async function post(path, body) {
  const file = body instanceof File;
  const answer = await fetch(path, {
    method: "POST",
    headers: { "content-type": file ? "application/octet-stream" : "application/json" },
    body: file ? body : JSON.stringify(body),
  });
  if (!answer.ok) throw await refused(answer);
  return answer.json();
}

/** @param {Response} answer */
async function refused(answer) {
  const text = await answer.text();
  try {
    const told = JSON.parse(text);
    return new Refused([told.where, told.what, told.hint && `Try: ${told.hint}`].filter(Boolean).join(" \u2013 "));
  } catch {
    return new Refused(text || `The server answered ${answer.status}.`);
  }
}

/** @returns {Promise<State>} */
export const fetchState = () => get("/state");
/** @returns {Promise<Pulse>} */
export const fetchPulse = () => get("/pulse");
/** @param {object} body @returns {Promise<State>} */
export const decide = (body) => post("/decisions", body);
/** @returns {Promise<State>} */
export const undo = () => post("/undo", {});
/** @returns {Promise<State>} */
export const redo = () => post("/redo", {});
/** @param {Partial<Pacing>} pacing @returns {Promise<State>} */
export const keepPacing = (pacing) => post("/pacing", { ...pacing, keep: true });
/** @param {Partial<Pacing>} pacing @returns {Promise<{totals: Totals, pacing: Pacing, gaps: (Gap & {line: string, pass: string, part: number})[]}>} */
export const tryPacing = (pacing) => post("/pacing", pacing);
/** @param {string} sounds @returns {Promise<State>} */
export const keepTargets = (sounds) => post("/targets", { sounds });
/** @param {Partial<Choices>} choices @returns {Promise<State>} */
export const keepChoices = (choices) => post("/choices", choices);
/** Keeps a picture for the practice tracks; none takes it away. @param {File} [file] @returns {Promise<State>} */
export const keepCover = (file) => (file ? post(`/cover?name=${encodeURIComponent(file.name)}`, file) : post("/cover", new File([], "")));
/** @param {string[]} outputs @param {Wishes} wishes @returns {Promise<Pick<Pulse, "export">>} */
export const startExport = (outputs, wishes) => post("/export", { outputs, ...wishes });
/** @param {File} file @returns {Promise<Pick<Pulse, "adding">>} */
export const addPickUp = (file) => post(`/pick-up?name=${encodeURIComponent(file.name)}`, file);

/** Where the take is, or its sound alone; another take has another address. @param {boolean} whole @param {State} state */
export const takeAddress = (whole, state) => `${whole ? "/take" : "/take.wav"}?${state.take.sound}`;

/** @param {State} state @returns {Promise<ArrayBuffer>} */
export async function fetchPeaks(state) {
  const answer = await fetch(`/peaks?${state.take.sound}`);
  if (!answer.ok) throw await refused(answer);
  return answer.arrayBuffer();
}

/** Whether the take can be played as it is, or its copy is ready. */
export async function takeIsReady() {
  const answer = await fetch("/take", { headers: { range: "bytes=0-0" }, cache: "no-store" });
  return answer.ok && answer.status !== 202;
}
