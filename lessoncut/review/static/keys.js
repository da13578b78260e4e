// The keys and what they ask for.

/** @typedef {{keys: string[], does: string, says: string}} Key */

/** What the keys do; `?` lists them. `keys` are names as in `KeyboardEvent.key`. @type {[string, Key[]][]} */
export const KEYS = [
  ["Findings", [
    { keys: ["n"], does: "next-open", says: "The next finding not decided yet" },
    { keys: ["."], does: "next", says: "The next finding" },
    { keys: [","], does: "previous", says: "The finding before" },
    { keys: ["1", "2", "3", "4", "5", "6", "7", "8", "9"], does: "choose", says: "Choose by its number, and go on" },
    { keys: ["Enter"], does: "suggested", says: "Take what is chosen now, and go on" },
    { keys: ["a"], does: "play-evidence", says: "Play what the finding is about" },
    { keys: ["s"], does: "play-other", says: "Play what it is compared with" },
  ]],
  ["Lines", [
    { keys: ["ArrowUp"], does: "up", says: "The line above" },
    { keys: ["ArrowDown"], does: "down", says: "The line below" },
    { keys: ["ArrowLeft"], does: "left", says: "The reading to the left" },
    { keys: ["ArrowRight"], does: "right", says: "The reading to the right" },
    { keys: ["k"], does: "keep", says: "Keep this reading" },
    { keys: ["b"], does: "borrow", says: "Borrow a reading from the other pass" },
    { keys: ["m"], does: "pick-up", says: "Add a pick-up: a later recording" },
    { keys: ["o"], does: "leave-out", says: "Leave the line out here; talk: keep it or leave it out" },
    { keys: ["["], does: "edge-start", says: "Move the beginning: arrow keys, 10 ms a step" },
    { keys: ["]"], does: "edge-end", says: "Move the end: arrow keys, 10 ms a step" },
    { keys: ["g"], does: "gap", says: "Type this line's gap" },
    { keys: ["e"], does: "caption", says: "Correct the caption's words" },
    { keys: ["t"], does: "chapter", says: "Begin a chapter here" },
  ]],
  ["Listening", [
    { keys: [" "], does: "play", says: "Play the reading, or stop" },
    { keys: ["p"], does: "play-pause", says: "Play the pause after it" },
    { keys: ["c"], does: "play-cut", says: "Play the cut after it, as it will sound" },
    { keys: ["w"], does: "play-gap", says: "Play the line with its gap" },
    { keys: ["l"], does: "play-lesson", says: "Play the lesson from here" },
    { keys: ["Escape"], does: "stop", says: "Stop; back to the sheet" },
  ]],
  ["The page", [
    { keys: ["u", "Ctrl+z"], does: "undo", says: "Undo" },
    { keys: ["r", "Ctrl+Z", "Ctrl+y"], does: "redo", says: "Redo" },
    { keys: ["f"], does: "tab-finding", says: "Show the finding" },
    { keys: ["i"], does: "tab-line", says: "Show the line" },
    { keys: ["G"], does: "tab-gaps", says: "Show the gaps" },
    { keys: ["C"], does: "tab-chapters", says: "Show the chapters" },
    { keys: ["x"], does: "tab-export", says: "Show the export" },
    { keys: ["+", "="], does: "zoom-in", says: "Draw time larger" },
    { keys: ["-"], does: "zoom-out", says: "Draw time smaller" },
    { keys: ["0"], does: "zoom-fit", says: "Draw all lines as wide as they fit" },
    { keys: [">"], does: "along", says: "Drawn large: go on along the lines" },
    { keys: ["<"], does: "back-along", says: "Drawn large: go back along the lines" },
    { keys: ["?"], does: "keys", says: "Show or hide this list" },
  ]],
];

/**
 * What a key asks for; null where it is none of ours.
 * @param {{key: string, ctrlKey: boolean, metaKey: boolean, altKey: boolean}} event
 * @param {boolean} single  whether keys without Ctrl are listened to
 */
export function actionOf(event, single) {
  if (event.altKey) return null;
  const held = event.ctrlKey || event.metaKey;
  const name = held ? `Ctrl+${event.key}` : event.key;
  if (!held && !single && event.key !== "Escape") return null;
  for (const [, keys] of KEYS) {
    const found = keys.find((one) => one.keys.includes(name));
    if (found) return found.does;
  }
  return null;
}
