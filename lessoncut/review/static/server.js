// Talks to the server. What it does not accept comes back as a sentence to show.

/** @import {Pacing, Pulse, State, Totals, Gap} from "./types.js" */

export class Refused extends Error {}

/** @param {string} path @returns {Promise<any>} */
async function get(path) {
  const answer = await fetch(path);
  if (!answer.ok) throw await refused(answer);
  return answer.json();
}

/** @param {string} path @param {unknown} body @returns {Promise<any>} */
async function post(path, body) {
  const answer = await fetch(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
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
/** @param {string[]} outputs @returns {Promise<Pick<Pulse, "export">>} */
export const startExport = (outputs) => post("/export", { outputs });

/** @returns {Promise<ArrayBuffer>} */
export async function fetchPeaks() {
  const answer = await fetch("/peaks");
  if (!answer.ok) throw await refused(answer);
  return answer.arrayBuffer();
}

/** Whether the take can be played as it is, or its copy is ready. */
export async function takeIsReady() {
  return (await fetch("/take", { headers: { range: "bytes=0-0" } })).ok;
}
